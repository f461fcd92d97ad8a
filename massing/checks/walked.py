"""Where does someone walk: a layout in, convex rings of its open floor out.

All is told in the nominal world.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from massing.checks.context import Context
from massing.checks.hung import LOW
from massing.geometry.offset import offset_by
from massing.geometry.plan_parts import convex_parts
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import FloorPiece
from massing.scheme.floor_plan import met_between

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["filled_rings", "near_rings", "polygons_of", "walked_floor"]

Found = TypeVar("Found")


def walked_floor(
    context: Context,
    floors: Sequence[FloorPiece],
    but: Sequence[Floats] = (),
    span: tuple[float, float] | None = None,
) -> list[tuple[str, Floats]]:
    """Floor that someone walks on, as a floor's name and a convex ring (1, n, 2).

    floors : those asked about; but : plan rings (n, 2) left out
    span : a stretch of x; floor beside it may be left out
    Floor that is filled up to a shoulder is not walked, nor is a strip too narrow to pass
    sideways.
    """
    from shapely import get_parts, union_all

    rules = context.rules
    wide = context.layout.kept(
        ("walked floor", rules.step_over, rules.sidestep), lambda _: _wide_floor(context)
    )
    wide = wide.difference(union_all(polygons_of(but)))
    found = []
    for floor, own in zip(floors, polygons_of([f.polygon[0] for f in floors]), strict=True):
        for part in get_parts(own.intersection(wide)):
            if part.geom_type == "Polygon" and part.area > 1.0:
                rings = [np.asarray(r.coords)[:-1] for r in (part.exterior, *part.interiors)]
                found += [(floor.name, ring[None]) for ring in convex_parts(*rings, span=span)]
    return found


def _wide_floor(context: Context) -> BaseGeometry:
    """All floor that is open, and wide enough to pass."""
    from shapely import union_all

    floors = context.layout.room.floors
    open_: list[BaseGeometry] = []
    for floor, own in zip(floors, polygons_of([f.polygon[0] for f in floors]), strict=True):
        rings = filled_rings(context, floor)
        near = _outermost(near_rings(rings, rings, floor.polygon[:1]))
        open_.append(own.difference(union_all(polygons_of([ring[0] for ring in near]))))
    half = context.rules.sidestep / 2.0
    whole: BaseGeometry = union_all(open_)
    core: BaseGeometry = offset_by(whole, -half, join_style="mitre")
    wide: BaseGeometry = offset_by(core, half + TOUCH, join_style="mitre")
    return wide.intersection(whole)


def _outermost(rings: list[Floats]) -> list[Floats]:
    """Plan rings (1, n, 2) but for those that lie within one of them that is its own bounds.

    Legs under a top and shelves above one another need no joining.
    """
    if not rings:
        return rings
    low, high = _bounds(rings)
    square = np.array([ring.shape[1] == 4 for ring in rings])
    corners = np.array([ring[0, :4] for ring in rings if ring.shape[1] == 4]).reshape(-1, 4, 2)
    on = (corners == low[square, None]) | (corners == high[square, None])
    square[square] = on.all(axis=(1, 2))
    inside = low[:, 0, None] >= low[square, 0]
    inside &= low[:, 1, None] >= low[square, 1]
    inside &= high[:, 0, None] <= high[square, 0]
    inside &= high[:, 1, None] <= high[square, 1]
    within = np.zeros((len(rings), len(rings)), dtype=bool)
    within[:, square] = inside
    # Of those alike the first is kept.
    within &= ~(within & within.T) | np.tri(len(rings), k=-1, dtype=bool)
    return [rings[k] for k in np.flatnonzero(~within.any(axis=1)).tolist()]


def _bounds(rings: list[Floats]) -> tuple[Floats, Floats]:
    """Plan bounds (rings, 2) of rings (worlds, n, 2) over every world."""
    flat = [ring.reshape(-1, 2) for ring in rings]
    first = np.cumsum([0, *(len(ring) for ring in flat[:-1])])
    points = np.concatenate(flat)
    return np.minimum.reduceat(points, first), np.maximum.reduceat(points, first)


def filled_rings(context: Context, floor: FloorPiece) -> list[Floats]:
    """Plan rings (1, n, 2) of what fills a level of the floor up to a shoulder."""
    level, over = float(floor.level[0]), context.rules.step_over

    def met(_: object) -> list[Floats]:
        found = met_between(context.layout, level + over, level + LOW, bare=True)
        return [block.ring[:1] for block in found]

    return context.layout.kept(("filled", level, over), met)


def near_rings(things: list[Found], rings: list[Floats], area: Floats) -> list[Found]:
    """The things whose plan rings (worlds, n, 2) have bounds not apart from those of an area.

    Bounds are over every world, so nothing is left out that comes near in some.
    """
    if not rings:
        return []
    low, high = _bounds(rings)
    least, most = (f(area[..., :2], axis=(0, 1)) for f in (np.min, np.max))
    near = ((low <= most) & (high >= least)).all(axis=1)
    return [things[k] for k in np.flatnonzero(near).tolist()]


def polygons_of(rings: Sequence[Floats]) -> list[Polygon]:
    """The polygon in each plan ring (n, 2), all made in one call."""
    from shapely import linearrings, polygons

    if not rings:
        return []
    numbers = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    made: Any = polygons(linearrings(np.concatenate(rings), indices=numbers))
    return list(made)
