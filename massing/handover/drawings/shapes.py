"""Solids in; what a view shows of them out: silhouettes, cuts, hatching. Loads shapely."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.board import Board
from massing.handover.drawings.sheet import HATCH, Pen, Point

__all__ = [
    "PLAN",
    "Facing",
    "Placing",
    "cut_of",
    "draw_lines",
    "draw_rings",
    "hatch",
    "lines_in",
    "rings_in",
    "silhouette",
]


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a view lies on the paper: true (u, v) over the scale, from (left, bottom)."""

    scale: float
    left: float
    bottom: float

    def points(self, true: Floats) -> Floats:
        """(n, 2) paper points of (n, 2) true ones."""
        return np.asarray(true / self.scale + np.array([self.left, self.bottom]))

    def point(self, u: float, v: float) -> Point:
        """Paper point of a true one."""
        return (self.left + u / self.scale, self.bottom + v / self.scale)


@dataclass(frozen=True, slots=True, eq=False)
class Facing:
    """A flat view: right, up and away are unit vectors; depth is 0 at the point ``at``."""

    right: Floats
    up: Floats
    away: Floats
    at: Floats

    def flat(self, points: Floats) -> Floats:
        """(n, 2) view coordinates of (n, 3) room points, from the point ``at``."""
        off = points - self.at
        return np.stack([off @ self.right, off @ self.up], axis=-1)

    def depth(self, points: Floats) -> Floats:
        """(n,) how far beyond the picture plane."""
        return np.asarray((points - self.at) @ self.away)


PLAN = Facing(np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, -1.0]), np.zeros(3))
"""Straight down, y up the sheet."""


def silhouette(parts: Iterable[Convex], view: Facing, *, beyond: float = -np.inf) -> Any:
    """Union of the shadows of solids; with ``beyond`` only of those that reach past that depth."""
    from shapely import MultiPoint, Polygon, unary_union

    held = []
    for part in parts:
        corners = part.corners[0]
        if float(view.depth(corners).max()) > beyond:
            held.append(MultiPoint(np.round(view.flat(corners), 4)).convex_hull)
    flat = [shape for shape in held if shape.area > TOUCH]
    return unary_union(flat) if flat else Polygon()


def cut_of(parts: Iterable[Convex], view: Facing) -> Any:
    """Union of the cuts of solids by the picture plane."""
    from shapely import MultiPoint, Polygon, unary_union

    held = []
    for part in parts:
        corners = part.corners[0]
        edges = part.faces.edges
        depth = view.depth(corners)
        a, b = depth[edges[:, 0]], depth[edges[:, 1]]
        over = (a < 0) != (b < 0)
        if over.sum() < 3:
            continue
        share = (a[over] / (a[over] - b[over]))[:, None]
        one, two = corners[edges[over, 0]], corners[edges[over, 1]]
        hull = MultiPoint(np.round(view.flat(one + share * (two - one)), 4)).convex_hull
        if hull.area > TOUCH:
            held.append(hull)
    return unary_union(held) if held else Polygon()


def rings_in(shape: Any) -> Iterator[Floats]:
    """(n, 2) rings of a polygon or several, outer ones and holes, not closed."""
    for one in getattr(shape, "geoms", [shape]):
        if one.geom_type != "Polygon" or one.is_empty:
            continue
        for ring in (one.exterior, *one.interiors):
            yield np.asarray(ring.coords)[:-1, :2]


def lines_in(shape: Any) -> Iterator[Floats]:
    """(n, 2) points of each line in a geometry, those that run on joined."""
    from shapely import line_merge

    for one in getattr(shape, "geoms", [shape]):
        if one.geom_type in {"LineString", "LinearRing"} and one.length > TOUCH:
            yield np.asarray(one.coords)[:, :2]
        elif one.geom_type == "MultiLineString":
            merged = line_merge(one)
            yield from (np.asarray(x.coords) for x in getattr(merged, "geoms", [merged]))


def draw_rings(
    board: Board, placing: Placing, shape: Any, pen: Pen, fill: str | None = None
) -> None:
    """Every ring of a shape, closed."""
    for ring in rings_in(shape):
        board.area(placing.points(ring), pen, fill)


def draw_lines(board: Board, placing: Placing, shape: Any, pen: Pen) -> None:
    """Every line of a geometry."""
    from shapely import line_merge

    merged = line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    for line in lines_in(merged):
        board.line(placing.points(line), pen)


def hatch(board: Board, rings: Iterable[Floats], apart: float = 2.0, way: float = 1.0) -> None:
    """Lines at 45 degrees across paper rings, inside by the even-odd rule.

    way : 1 rising to the right, -1 falling
    """
    held = [np.asarray(ring) for ring in rings]
    if not held:
        return
    along = np.array([1.0, way]) / np.sqrt(2.0)
    across = np.array([-along[1], along[0]])
    starts = np.vstack(held)
    ends = np.vstack([np.roll(ring, -1, axis=0) for ring in held])
    a, b = starts @ across, ends @ across
    first, last = np.ceil(min(a.min(), b.min()) / apart), np.floor(max(a.max(), b.max()) / apart)
    for level in np.arange(first, last + 1) * apart + 1e-7:
        over = (a < level) != (b < level)
        share = (level - a[over]) / (b[over] - a[over])
        places = np.sort((starts[over] + share[:, None] * (ends[over] - starts[over])) @ along)
        for p, q in zip(places[::2], places[1::2], strict=False):
            if q - p > 0.3:
                board.line([level * across + p * along, level * across + q * along], HATCH)
