"""Does what takes its air from the room get any? A layout in, open areas round it out.

Seen square to each of its sides and from above, a thing in a shut cupboard is hidden all round by
boards, walls and doors close by. What they leave open, all sides together, is the way its air
comes. How a door is made, of louvres or of board, geometry does not know: so it is a caution.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from massing.checks.ahead import Air, Face, level_air, side_face, things_in
from massing.checks.alike import alike, by_world, item_arrays, room_arrays
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.motions_blocks import Blocks, blocks_of
from massing.checks.words import place
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.items.zones import SIDES
from massing.scheme.layout import Layout, Placed

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["CHECK", "open_area", "read"]

CHECK = "shut in"


def read(context: Context) -> Iterator[Reading]:
    """Readings of the open area round each thing that breathes, where it is too small, cm²."""
    layout, need = context.layout, context.rules.air_opening
    for item in context.items:
        if not item.spec.breathes or _surely_open(layout, item, context.rules.shut_in):
            continue
        every = (item_arrays(layout.items), room_arrays(layout.room))
        same = alike(layout.worlds, (array for arrays in every for array in arrays))
        blocks, deep = blocks_of(layout), context.rules.shut_in

        def area(
            world: int, item: Placed = item, blocks: Blocks = blocks, deep: float = deep
        ) -> float:
            return open_area(item, blocks, deep, world)[0] / 100.0

        gap = by_world(same, area)
        if float(gap.min()) >= need - 1e-6:
            continue
        yield Reading(
            check=CHECK,
            items=(item.name,),
            gap=gap,
            needs=need,
            unit="cm2",
            detail=_later(item, blocks, deep, float(gap[0]), need),
            weight=Verdict.CAUTION,
            source=context.rules.source("air_opening"),
        )


def _sides(item: Placed, deep: float) -> Iterator[tuple[Air, Face | None]]:
    """The air before each upright side, and over the top, with its face; None for the top."""
    none = np.zeros(len(item.low))
    for side in SIDES:
        face = side_face(item, side)
        yield face.air(none, none + deep, item.low[:, 2], item.high[:, 2]), face
    yield level_air(item, "top", none + deep), None


def _surely_open(layout: Layout, item: Placed, deep: float) -> bool:
    """Whether, by bounds alone, some whole side has nothing before it in any world."""
    ceiling = min(float(c.height(c.polygon).min()) for c in layout.room.ceilings)
    for air, face in _sides(item, deep):
        low, high = air.solid.low.min(axis=0), air.solid.high.max(axis=0)
        things = things_in(layout)
        met = (things.every[things.owner[k]].item for k in things.near(low, high).tolist())
        under = face is None and float(high[2]) > ceiling
        if not under and all(other is item for other in met):
            return True
    return False


def open_area(
    item: Placed, blocks: Blocks, deep: float, world: int = 0
) -> tuple[float, tuple[str, ...]]:
    """What of a thing's sides and top nothing within a depth hides, mm², and what hides the rest.

    Seen square to each side. Only what comes into the air before it casts a shadow.
    """
    left, names = 0.0, dict[str, None]()
    for air, face in _sides(item, deep):
        pane, shadows = _pane(air, face, world), []
        for number, solid in enumerate(blocks.solids):
            if blocks.names[number] != item.name:
                shadow = _shadow(air, face, solid.world(min(world, solid.worlds - 1)), world)
                if shadow is not None:
                    shadows.append(shadow)
                    names.setdefault(blocks.words[number])
        left += _uncovered(pane, shadows)
    return left, tuple(names)


def _seen(points: Floats, face: Face | None, world: int) -> Floats:
    """(n, 2) points as seen square to a side; from above for the top."""
    if face is None:
        return points[:, :2]
    w = min(world, len(face.along) - 1)
    return np.stack([points[:, :2] @ face.along[w], points[:, 2]], axis=1)


def _pane(air: Air, face: Face | None, world: int) -> BaseGeometry:
    from shapely.geometry import MultiPoint

    solid = air.solid.world(min(world, air.solid.worlds - 1))
    return MultiPoint(_seen(solid.corners[0], face, world)).convex_hull


def _shadow(air: Air, face: Face | None, solid: Convex, world: int) -> BaseGeometry | None:
    from shapely.geometry import MultiPoint

    block = air.solid.world(min(world, air.solid.worlds - 1))
    if np.any(solid.high[0] <= block.low[0]) or np.any(solid.low[0] >= block.high[0]):
        return None
    ends = [[0.0, 0.0, 1.0, block.high[0, 2]], [0.0, 0.0, -1.0, -block.low[0, 2]]]
    cut = clip_solid(solid, np.vstack([prism_planes(outline_of(block)[0]), ends]))
    return None if cut is None else MultiPoint(_seen(cut.corners[0], face, world)).convex_hull


def _uncovered(pane: BaseGeometry, shadows: list[BaseGeometry]) -> float:
    from shapely import union_all

    return float(pane.area - union_all(shadows).intersection(pane).area)


def _later(
    item: Placed, blocks: Blocks, deep: float, area: float, need: float
) -> Callable[[], Detail]:
    def told() -> Detail:
        _, names = open_area(item, blocks, deep)
        says = (
            f"{item.name} is shut in: {area:.0f} cm² open round it, {need:.0f} asked for; "
            f"{', '.join(names)} close it off"
        )
        return Detail(says=says, at=place((item.low[0] + item.high[0]) / 2.0))

    return told
