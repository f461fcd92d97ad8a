"""What an upright plane cuts: solids or a room and a line in plan in, outlines in the plane out.

In the plane s runs along the line from its start and z is up; all nominal, mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.measure import cells
from massing.room.shape import Room

__all__ = ["Line", "cut_room", "cut_solid"]


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A line in plan: a point on it, and its direction, a unit vector."""

    at: Floats
    way: Floats

    def along(self, points: Floats) -> Floats:
        """(n,) how far plan points (n, 2) lie along the line, mm."""
        return np.asarray((points - self.at) @ self.way)

    def beside(self, points: Floats) -> Floats:
        """(n,) how far plan points (n, 2) lie to the left of the line, mm."""
        left = np.array([-self.way[1], self.way[0]])
        return np.asarray((points - self.at) @ left)


def cut_solid(solid: Convex, line: Line) -> Floats:
    """(n, 2) outline s, z where the plane cuts a solid; n is 0 where it misses or only touches.

    >>> from massing.geometry.solids import box
    >>> cut = cut_solid(box([0, 0, 0], [10, 20, 30]), Line(np.zeros(2), np.array([0.6, 0.8])))
    >>> cut.round(3).tolist()
    [[0.0, 0.0], [16.667, 0.0], [16.667, 30.0], [0.0, 30.0]]
    """
    corners = solid.corners[0]
    s, off = line.along(corners[:, :2]), line.beside(corners[:, :2])
    if off.min() > -TOUCH or off.max() < TOUCH:
        return np.zeros((0, 2))
    found = [(float(s[k]), float(corners[k, 2])) for k in range(len(s)) if abs(off[k]) <= TOUCH]
    for ring in solid.faces.rings:
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            if a < b and min(off[a], off[b]) < -TOUCH and max(off[a], off[b]) > TOUCH:
                t = off[a] / (off[a] - off[b])
                z = corners[a, 2] + t * (corners[b, 2] - corners[a, 2])
                found.append((float(s[a] + t * (s[b] - s[a])), float(z)))
    return _hull(found)


def _hull(points: list[tuple[float, float]]) -> Floats:
    """Convex outline, counter-clockwise from its lowest left corner (monotone chain)."""
    rows = sorted({(round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in points})
    if len(rows) < 3:
        return np.zeros((0, 2))

    def half(chain: list[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for p in chain:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], p) <= 1e-6:
                kept.pop()
            kept.append(p)
        return kept[:-1]

    ring = half(rows) + half(rows[::-1])
    return np.array(ring) if len(ring) > 2 else np.zeros((0, 2))


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def cut_room(room: Room, line: Line) -> list[tuple[float, float, float, float, float, float]]:
    """Pieces of the room's air the plane cuts, by s: from, to, floor at each, ceiling at each."""
    pieces = []
    for cell in cells(room):
        span = _span(cell.polygon, line)
        if span is None:
            continue
        ends = [line.at + s * line.way for s in span]
        tops = [float(p @ cell.plane[:2] + cell.plane[2]) for p in ends]
        pieces.append((span[0], span[1], cell.floor, cell.floor, tops[0], tops[1]))
    return sorted(pieces)


def _span(ring: Floats, line: Line) -> tuple[float, float] | None:
    """Where a line runs inside a convex ring."""
    off, s = line.beside(ring), line.along(ring)
    hits: list[float] = [float(v) for v, o in zip(s, off, strict=True) if abs(o) <= TOUCH]
    for k in range(len(ring)):
        a, b = k - 1, k
        if off[a] * off[b] < 0 and min(abs(off[a]), abs(off[b])) > TOUCH:
            hits.append(float(s[a] + off[a] / (off[a] - off[b]) * (s[b] - s[a])))
    if not hits or max(hits) - min(hits) <= TOUCH:
        return None
    return min(hits), max(hits)
