"""An outline in; convex regions that together cover everything beyond it out.

Behind each wall on the convex hull lies a half-plane. Each pocket between hull and outline is cut
into convex pieces, and those that reach the hull run on through it. All are closed off
``FAR`` beyond, so they are plain polygons.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from massing.geometry.pieces import convex_parts, hull_corners
from massing.geometry.polygons import Ring, bounds_apart, line_through, meet, outside_of, side_lines
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import OutsidePiece

__all__ = ["FAR", "outside_pieces"]

FAR = 20_000.0
"""How far the pieces run out, mm. All is covered to half of it: more than any body sticks out."""
_LID = -2
"""Label of the side of a pocket that lies on the hull."""


def outside_pieces(outline: Floats) -> tuple[OutsidePiece, ...]:
    """Convex regions covering the outside of an outline to half of ``FAR`` around.

    outline : (worlds, n, 2), mm, counter-clockwise and simple in world 0

    >>> square = np.array([[[0.0, 0.0], [3000.0, 0.0], [3000.0, 3000.0], [0.0, 3000.0]]])
    >>> [piece.walls for piece in outside_pieces(square)]
    [(0,), (1,), (2,), (3,)]
    """
    hull = hull_corners(outline[0])
    count = outline.shape[1]
    pieces: list[OutsidePiece] = []
    lids: list[tuple[list[int], Floats, Floats]] = []
    for start, end in zip(hull, hull[1:] + hull[:1], strict=True):
        chain = [(start + k) % count for k in range((end - start) % count + 1)]
        out = _out(outline[:, start], outline[:, end])
        stops = _on_chord(outline[0], chain)
        for first, last in pairwise(stops):
            link = chain[first : last + 1]
            ends = outline[:, link[0]], outline[:, link[-1]]
            free = (1.0 if first == 0 else 0.0, 1.0 if last == len(chain) - 1 else 0.0)
            if len(link) == 2:
                pieces.append(OutsidePiece(_behind(ends, out, free, FAR), (link[0],)))
                continue
            pieces.extend(_pocket(outline, link))
            lids.append((link, _behind(ends, out, free, FAR), _behind(ends, out, free, FAR / 2)))
    bare = [OutsidePiece(lid, tuple(link[:-1])) for link, lid, near in lids if _bare(near, pieces)]
    return (*pieces, *bare)


def _unit(vector: Floats) -> Floats:
    length = np.hypot(vector[:, 0], vector[:, 1])
    return np.asarray(vector / np.where(length > 0, length, 1.0)[:, None])


def _out(start: Floats, end: Floats) -> Floats:
    """(worlds, 2) unit vector to the right of the walk from start to end."""
    way = _unit(end - start)
    return np.stack([way[:, 1], -way[:, 0]], axis=1)


def _behind(
    ends: tuple[Floats, Floats], out: Floats, free: tuple[float, float], reach: float
) -> Floats:
    """(worlds, 4, 2) what lies behind a stretch of the hull, closed off at a reach.

    It runs on past its free ends, but not past a joint with another wall in the same line: there
    it stops square, so that in a world where one wall stands a little back the next is not in
    front of it.
    """
    start, end = ends
    way = _unit(end - start)
    near, far = start - free[0] * reach * way, end + free[1] * reach * way
    return np.stack([near, near + reach * out, far + reach * out, far], axis=1)


def _on_chord(points: Floats, chain: list[int]) -> list[int]:
    """Places in a chain of corners that lie on its chord, in world 0, both ends included."""
    line = line_through(points[None, chain[0]], points[None, chain[-1]])[0]
    off = np.abs(points[chain] @ line[:2] + line[2])
    return [k for k in range(len(chain)) if off[k] <= TOUCH or k in (0, len(chain) - 1)]


def _pocket(outline: Floats, chain: list[int]) -> list[OutsidePiece]:
    """The pocket between a chain of walls and the hull, run on through the hull."""
    back = chain[::-1]
    # Walked backwards, the side from corner k + 1 to corner k is wall k; the last side is the lid.
    ring = Ring(outline[:, back], (*back[1:], _LID))
    pieces = []
    for part in convex_parts(ring):
        walls = tuple(sorted({side for side in part.sides if side >= 0}))
        pieces.append(OutsidePiece(_through_lid(part), walls))
    return pieces


def _through_lid(part: Ring) -> Floats:
    """The ring with its side on the lid, if any, moved out between its two neighbours."""
    if _LID not in part.sides:
        return part.points
    count = len(part.sides)
    k = part.sides.index(_LID)
    order = [(k + 1 + j) % count for j in range(count)]
    points = part.points[:, order]
    # Now the lid runs from the last corner back to the first.
    start, end = points[:, -1], points[:, 0]
    rising = _unit(start - points[:, -2])
    falling = _unit(end - points[:, 1])
    closing = falling[0, 0] * rising[0, 1] - falling[0, 1] * rising[0, 0]
    if closing > 1e-9:
        apex = meet(
            line_through(points[:, -2], start),
            line_through(points[:, 1], end),
        )
        if float(np.hypot(*(apex[0] - start[0]))) <= FAR:
            inner = points[:, 1:-1]
            return np.concatenate([apex[:, None], inner], axis=1)
    far_end, far_start = end + FAR * falling, start + FAR * rising
    return np.concatenate([far_end[:, None], points[:, 1:-1], far_start[:, None]], axis=1)


def _bare(lid: Floats, pieces: list[OutsidePiece]) -> bool:
    """Whether the pieces leave some of a region beyond a lid uncovered, in world 0."""
    left = [Ring.of(lid[:1])]
    for piece in pieces:
        lines = side_lines(Ring.of(piece.polygon[:1]))
        left = [
            part
            for ring in left
            for part in (
                (ring,) if bounds_apart(ring.points, piece.polygon[:1]) else outside_of(ring, lines)
            )
        ]
    return any(float(np.ptp(part.points[0], axis=0).min()) > TOUCH for part in left)
