"""Sections and elevations share this: what an upright view cuts, sees and sets heights on."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeAlias

import numpy as np

from massing.checks.words import mm
from massing.geometry.offset import offset_by
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.board import Board
from massing.handover.drawings.dimensions import Line, chain
from massing.handover.drawings.lettering import width_of
from massing.handover.drawings.shapes import (
    Facing,
    Placing,
    draw_lines,
    rings_in,
)
from massing.handover.drawings.sheet import HEADROOM, HIDDEN, Box, Pen, Words
from massing.handover.shell import shell_surfaces
from massing.room.measure import cells
from massing.room.shape import Room, Wall

__all__ = [
    "HEADROOMS",
    "Span",
    "Thing",
    "clearest",
    "draw_things",
    "facing_wall",
    "floor_runs",
    "head_figures",
    "head_lines",
    "heights_at",
    "profile",
    "shade",
    "spans",
    "wall_faces",
]

HEADROOMS = (900.0, 1500.0, 2000.0)
"""Heights above the floor worth a line. Common practice, no source."""


Run: TypeAlias = tuple[float, float, float, float]
"""A line at a height: from u, to u, z, and the height above the floor."""


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the picture plane in the room: its ends u, its floor, its ceiling at each."""

    start: float
    end: float
    floor: float
    ceiling: tuple[float, float]

    def top(self, u: float) -> float:
        """Ceiling z at u."""
        share = (u - self.start) / max(self.end - self.start, 1e-9)
        return self.ceiling[0] + share * (self.ceiling[1] - self.ceiling[0])


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """Something seen: how near it begins, its outline, its pen; fill covers what is behind."""

    depth: float
    shape: Any
    pen: Pen
    fill: str | None = None
    dashed: bool = False
    name: str = ""


def facing_wall(wall: Wall) -> Facing:
    """Square to a wall, seen from inside, u from its left end."""
    along, out = wall.along[0], wall.outward[0]
    return Facing(
        np.array([*along, 0.0]),
        np.array([0.0, 0.0, 1.0]),
        np.array([*out, 0.0]),
        np.array([*wall.left[0], 0.0]),
    )


def spans(room: Room, view: Facing) -> tuple[Span, ...]:
    """The room along the picture plane, left to right."""
    found = []
    for cell in cells(room):
        ends = _crossing(cell.polygon, view)
        if ends is None:
            continue
        points = view.at[:2] + np.array(ends)[:, None] * view.right[:2]
        tops = points @ cell.plane[:2] + cell.plane[2]
        found.append(Span(ends[0], ends[1], cell.floor, (float(tops[0]), float(tops[1]))))
    return tuple(sorted(found, key=lambda s: (s.start, s.end)))


def _crossing(ring: Floats, view: Facing) -> tuple[float, float] | None:
    """Where a convex ring crosses the picture plane, as distances to the right."""
    flat = np.hstack([ring, np.zeros((len(ring), 1))])
    depth, u = view.depth(flat), view.flat(flat)[:, 0]
    found = []
    for k in range(len(ring)):
        a, b = depth[k], depth[(k + 1) % len(ring)]
        if (a < 0) != (b < 0):
            found.append(float(u[k] + a / (a - b) * (u[(k + 1) % len(ring)] - u[k])))
    if len(found) < 2 or max(found) - min(found) <= TOUCH:
        return None
    return min(found), max(found)


def profile(held: Iterable[Span]) -> Any:
    """Union of spans as an area of the picture plane."""
    from shapely import Polygon, unary_union

    rings = []
    for s in held:
        corners = [(s.start, s.floor), (s.end, s.floor), (s.end, s.ceiling[1])]
        rings.append(Polygon(np.round([*corners, (s.start, s.ceiling[0])], 4)))
    return unary_union([r for r in rings if r.area > TOUCH]).buffer(0)


def wall_faces(room: Room, view: Facing) -> list[tuple[float, Any]]:
    """Faces of the shell turned to the eye beyond the plane: nearest depth and shape, by wall."""
    from shapely import Polygon, unary_union

    named: dict[str, list[tuple[float, Any]]] = {}
    for surface in shell_surfaces(room):
        ring = surface.ring
        normal = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)
        normal = normal / max(float(np.linalg.norm(normal)), 1e-9)
        depth = view.depth(ring)
        if float(normal @ view.away) > -0.05 or float(depth.max()) <= TOUCH:
            continue
        if surface.name in {"floor", "ceiling"}:
            continue
        kept = _beyond(ring, depth)
        if len(kept) < 3:
            continue
        shape = Polygon(np.round(view.flat(kept), 4)).buffer(0)
        if shape.area > TOUCH:
            named.setdefault(surface.name, []).append((float(view.depth(kept).min()), shape))
    return [
        (
            min(d for d, _ in held),
            offset_by(offset_by(unary_union([s for _, s in held]), 0.01), -0.01),
        )
        for held in named.values()
    ]


def _closed(shape: Any) -> Any:
    """Without the slits that rounding leaves between its pieces."""
    return offset_by(offset_by(shape, 0.01), -0.01)


def _beyond(ring: Floats, depth: Floats) -> Floats:
    """The part of a ring at a depth of 0 or more."""
    kept = []
    for k in range(len(ring)):
        a, b = depth[k], depth[(k + 1) % len(ring)]
        if a >= 0:
            kept.append(ring[k])
        if (a < 0) != (b < 0):
            kept.append(ring[k] + a / (a - b) * (ring[(k + 1) % len(ring)] - ring[k]))
    return np.array(kept).reshape(-1, 3)


def draw_things(
    board: Board, placing: Placing, things: Iterable[Thing], window: Any
) -> dict[str, Any]:
    """The nearest first; each hides what lies behind it. Only what is in the window is seen.

    Returns what is seen of each by its name.
    """
    from shapely import Polygon

    cover: Any = Polygon()
    found: dict[str, Any] = {}
    for thing in sorted(things, key=lambda held: held.depth):
        shape = thing.shape.intersection(window) if window is not None else thing.shape
        if thing.fill:
            for ring in rings_in(shape.difference(offset_by(cover, 0.02))):
                board.area(
                    placing.points(ring), Pen("fill", 0.0, tone=thing.fill), thing.fill, weight=0.3
                )
        edge = thing.shape.boundary
        if window is not None:
            edge = edge.intersection(offset_by(window, 0.02))
        draw_lines(board, placing, edge.difference(offset_by(cover, -0.02)), thing.pen)
        if thing.dashed:
            draw_lines(board, placing, edge.intersection(offset_by(cover, -0.02)), HIDDEN)
        if thing.name:
            seen = shape.difference(cover)
            found[thing.name] = found[thing.name].union(seen) if thing.name in found else seen
        cover = cover.union(shape)
    return found


def head_lines(board: Board, placing: Placing, held: Iterable[Span]) -> list[Run]:
    """Fine lines at the heights a head or a hand counts from, above each floor; returns them."""
    found: list[Run] = []
    for height in HEADROOMS:
        runs: list[Run] = []
        for s in held:
            z = s.floor + height
            low, high = s.start, s.end
            a, b = s.ceiling
            if max(a, b) <= z:
                continue
            if min(a, b) < z:
                cross = s.start + (z - a) / (b - a) * (s.end - s.start)
                low, high = (cross, high) if a < z else (low, cross)
            if runs and abs(runs[-1][1] - low) < TOUCH and abs(runs[-1][2] - z) < TOUCH:
                runs[-1] = (runs[-1][0], high, z, height)
            else:
                runs.append((low, high, z, height))
        for low, high, z, _ in runs:
            board.line([placing.point(low, z), placing.point(high, z)], HEADROOM)
        found += runs
    return found


def head_figures(board: Board, placing: Placing, runs: Iterable[Run]) -> None:
    """Say how high each fine line is, where least is drawn over it."""
    for low, high, z, height in runs:
        words = Words((0.0, 0.0), f"{height:.0f}", 1.8, tone="#5A5A5A", halo=True)
        half = words.width / 2.0
        (x0, y), (x1, _) = placing.point(low, z), placing.point(high, z)
        if x1 - x0 < 2 * half + 4.0:
            continue
        spots = [x0 + half + 1.0 + k / 24.0 * (x1 - x0 - 2 * half - 2.0) for k in range(24, -1, -1)]
        tries = [replace(words, middle=(x, y + off)) for off in (1.6, -1.8) for x in spots]
        free = [w for w in tries if board.free(w.box)]
        if free:
            board.words(min(free, key=lambda w: board.crowd(w.box) + (w.middle[1] < y)))


def floor_runs(held: Iterable[Span]) -> list[tuple[float, float, float]]:
    """Stretches of one floor level, from u to u, whatever the ceiling does over them."""
    runs: list[tuple[float, float, float]] = []
    for span in held:
        joined = runs and abs(runs[-1][2] - span.floor) < TOUCH
        if joined and abs(runs[-1][1] - span.start) < TOUCH:
            runs[-1] = (runs[-1][0], span.end, span.floor)
        else:
            runs.append((span.start, span.end, span.floor))
    return runs


def shade(board: Board, placing: Placing, shape: Any) -> None:
    """Make what is seen of a body less welcome to the lettering of other things."""
    if not shape.is_empty:
        left, low, right, high = shape.bounds
        board.shade((*placing.point(left, low), *placing.point(right, high)), 0.3)


def clearest(
    board: Board, placing: Placing, ends: tuple[float, float], stops: Callable[[float], list[float]]
) -> float | None:
    """The u between two where a chain of heights covers least of what is drawn already."""
    best: tuple[float, float] | None = None
    for share in (0.1, 0.9, 0.16, 0.84, 0.22, 0.78, 0.3, 0.7, 0.38, 0.62, 0.5):
        u = ends[0] + share * (ends[1] - ends[0])
        held = stops(u)
        crowd = 0.0
        for low, high in pairwise(held):
            x, y = placing.point(u, (low + high) / 2.0)
            half = width_of(mm(high - low), 2.5) / 2.0
            crowd += board.crowd((x - 4.2, y - half, x - 0.6, y + half))
            crowd += 40.0 if (high - low) / placing.scale < 2 * half + 1.6 else 0.0
        if held:
            lower, upper = placing.point(u, held[0]), placing.point(u, held[-1])
            crowd += 0.3 * board.crowd((upper[0] - 1.0, lower[1] + 1, upper[0] + 1.0, upper[1] - 1))
            if best is None or crowd < best[0] - 1e-9:
                best = (crowd, u)
    return None if best is None else best[1]


def heights_at(board: Board, placing: Placing, u: float, stops: list[float], area: Box) -> bool:
    """A chain of heights at u, through the given z, its figures on the clearer side."""
    x, _ = placing.point(u, 0.0)
    crowds = {}
    for side in (-1.0, 1.0):
        crowds[side] = 0.0
        for low, high in pairwise(stops):
            _, y = placing.point(u, (low + high) / 2.0)
            half = width_of(mm(abs(high - low)), 2.5) / 2.0
            middle = x + side * 2.2
            crowds[side] += board.crowd((middle - 1.6, y - half, middle + 1.6, y + half))
    side = -1.0 if crowds[-1.0] <= crowds[1.0] else 1.0
    line = Line(upright=True, at=x, origin=placing.bottom, scale=placing.scale, side=side)
    return chain(board, line, stops, area, x)
