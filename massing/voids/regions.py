"""Which floor is how high, and what stands in the way there: a room or layout in, plan regions out.

Regions are shapely geometries in mm. Heights are above the floor under each place. Net floor: what
stands on the floor, such as a chimney breast, is not floor.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

import numpy as np

from massing.geometry.offset import offset_by
from massing.geometry.outline import outline_of
from massing.geometry.polygons import Ring, overlap, split
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.cells import columns_of
from massing.room.lowest import where_higher
from massing.room.shape import Room
from massing.scheme.layout import Layout

__all__ = [
    "MITRE",
    "convex_pieces",
    "fabric_shadows",
    "floor_region",
    "item_shadows",
    "joined",
    "polygons_of",
    "tall_rings",
    "wide_parts",
]

MITRE = 20.0
"""A corner of an offset line is drawn out to this many offsets at most."""

_SPECK = 1e-3  # mm²; smaller pieces are the crumbs of rounding
_GRID = 1e-6  # mm; corners are snapped to this when rings are joined, so that no hair-line stays


def joined(rings: Iterable[Floats]) -> Any:
    """The union of plan rings (n, 2) as one shapely geometry."""
    from shapely import Polygon, union_all

    return union_all([Polygon(ring) for ring in rings], grid_size=_GRID)


def tall_rings(
    room: Room,
    *,
    at_least: float = 0.0,
    below: float = math.inf,
    sloped: bool | None = None,
    world: int = 0,
) -> tuple[Floats, ...]:
    """Disjoint convex rings (n, 2) of net floor whose ceiling is so high above it.

    at_least, below : mm, the lower limit counted in and the upper left out
    sloped : only under sloping ceiling, only under level ceiling, or either when None
    """
    rings = []
    for column in columns_of(room, world):
        clear = (column.ceiling - column.floor)[None]
        steep = bool(np.hypot(clear[0, 0], clear[0, 1]) > 1e-9)
        if column.filled or (sloped is not None and steep is not sloped):
            continue
        ring = _cut(Ring.of(column.polygon), clear, at_least, above=True) if at_least > 0 else None
        ring = Ring.of(column.polygon) if at_least <= 0 else ring
        if ring is not None and math.isfinite(below):
            ring = _cut(ring, clear, below, above=False)
        if ring is not None:
            rings.append(ring.points[0])
    return tuple(rings)


def _cut(ring: Ring, clear: Floats, height: float, *, above: bool) -> Ring | None:
    """The part of a ring where a height plane is at least, or less than, a height."""
    line = where_higher(clear, np.array([[0.0, 0.0, height]]))
    if isinstance(line, bool):
        # A level clear height within rounding of the limit is at the limit, and counts.
        reaches = line or float(clear[0, 2]) >= height - TOUCH / 1000
        return ring if reaches == above else None
    return split(ring, line)[0 if above else 1]


def floor_region(room: Room, at_least: float = 0.0, below: float = math.inf) -> Any:
    """Net floor whose ceiling is at least so high and lower than so high, mm, as one geometry."""
    return joined(tall_rings(room, at_least=at_least, below=below))


def item_shadows(layout: Layout, height: float) -> tuple[tuple[str, Floats], ...]:
    """Convex rings of floor under bodies that start below a height above it, with whose they are.

    A body over a step is judged on each level by itself.
    """
    return tuple(
        (item.name, ring)
        for item in layout.items
        for part in item.parts
        for ring in _shadows(layout.room, part.solid, height)
    )


def fabric_shadows(room: Room, height: float) -> tuple[tuple[str, Floats], ...]:
    """The same for the fabric of the building, such as a beam that hangs low."""
    return tuple(
        (fabric.name, ring)
        for fabric in room.fabric
        for part in fabric.parts
        for ring in _shadows(room, part, height)
    )


def _shadows(room: Room, solid: Convex, height: float) -> Iterable[Floats]:
    outline = Ring.of(outline_of(solid)[0])
    bottom = float(solid.low[0, 2])
    for floor in room.floors:
        if bottom - float(floor.level[0]) < height - TOUCH:
            shared = overlap(outline, Ring.of(floor.polygon[:1]))
            if shared is not None:
                yield shared.points[0]


def wide_parts(region: Any, width: float) -> Any:
    """The parts of a region over which a square-cornered strip of that width fits."""
    from shapely import MultiPolygon

    kept = []
    for piece in polygons_of(region):
        core = offset_by(piece, -(width / 2.0 - 1e-6), join_style="mitre", mitre_limit=MITRE)
        if core.is_empty:
            continue
        grown = offset_by(core, width / 2.0 - 1e-6, join_style="mitre", mitre_limit=MITRE)
        # Where nothing is lost but rounding, the piece stays as it was, corner for corner.
        same = piece.area - grown.intersection(piece).area < 1e-3 * width
        kept.extend([piece] if same else polygons_of(grown.intersection(piece)))
    return MultiPolygon(kept)


def convex_pieces(region: Any) -> tuple[Floats, ...]:
    """Disjoint convex rings (n, 2), counter-clockwise, that make up a region with straight sides.

    The region is cut level at every corner, so that each piece is a triangle or a trapezium.

    >>> from shapely import box
    >>> ell = box(0, 0, 4, 4).difference(box(2, 2, 4, 4))
    >>> [round(float(np.ptp(ring[:, 0]))) for ring in convex_pieces(ell)]
    [4, 2]
    """
    from shapely import box, get_coordinates
    from shapely.geometry.polygon import orient

    if region.is_empty:
        return ()
    west, _, east, _ = region.bounds
    levels: list[float] = []
    for level in sorted(get_coordinates(region)[:, 1].tolist()):
        if not levels or level > levels[-1] + _GRID:
            levels.append(level)
    rings: list[Floats] = []
    for low, high in pairwise(levels):
        band = region.intersection(box(west - 1.0, low, east + 1.0, high))
        rings.extend(
            np.array(orient(piece.convex_hull).exterior.coords)[:-1]
            for piece in polygons_of(band)
            if piece.area > _SPECK
        )
    return tuple(rings)


def polygons_of(region: Any) -> list[Any]:
    """The polygons a region is made of; lines and points left by a cut are dropped."""
    found = getattr(region, "geoms", [region])
    return [piece for piece in found if piece.geom_type == "Polygon" and not piece.is_empty]
