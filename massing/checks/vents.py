"""Is the air before every vent, flue and gas face free? A layout in, clear depths out.

Nothing may stand there, however light, and nothing shares it: not what stands on the thing, not
what it stands on. The file cannot accept such a finding away. The building itself does not
count: a flue goes out through a wall, and an air brick is set in one. A new partition does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.ahead import Air, Thing, free_depths, level_air, pushes_out, side_face
from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading
from massing.checks.words import mm, place
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Placed

__all__ = ["CHECK", "read"]

CHECK = "vent"
_WHERE = {"top": "over", "under": "under", "front": "in front of", "back": "behind"}


def read(context: Context) -> Iterator[Reading]:
    """Readings of every thing that comes before a face an item says it vents by."""
    need = context.rules.vent
    for item in context.layout.items:
        for side in dict.fromkeys(item.spec.vents):
            air = _air(context, item, side)
            for thing, free in free_depths(context.layout, air, _counts(context, item)):
                yield Reading(
                    check=CHECK,
                    items=(item.name, thing.name),
                    gap=free,
                    needs=need,
                    detail=_later(item, side, air, thing, float(free[0]), need),
                    source=item.spec.basis.get(f"vent {side}", context.rules.source("vent")),
                    firm=True,
                )


def _air(context: Context, item: Placed, side: str) -> Air:
    worlds, need = context.layout.worlds, context.rules.vent
    deep = np.full(worlds, need)
    if side in {"top", "under"}:
        return level_air(item, side, deep)
    low, high = item.low[:, 2], item.high[:, 2]
    return side_face(item, side).air(np.zeros(worlds), deep, low, high)


def _counts(context: Context, item: Placed) -> Callable[[Thing], bool]:
    def counts(thing: Thing) -> bool:
        own = thing.built or thing.item is item
        return not own and context.wanted(item.name, thing.name)

    return counts


def _later(
    item: Placed, side: str, air: Air, thing: Thing, free: float, need: float
) -> Callable[[], Detail]:
    def told() -> Detail:
        where = _WHERE.get(side, f"to the {side} of")
        says = (
            f"{thing.words} is {mm(free)} {where} the vent of {item.name}, {mm(need)} kept free; "
            "nothing shares that air"
        )
        return Detail(says=says, at=place(air.solid.corners[0].mean(axis=0)), pushes=_pushes())

    def _pushes() -> tuple[Push, ...]:
        if side not in {"top", "under"}:
            return pushes_out(item, thing.item, max(need - free, 0.0) * air.way[0, :2])
        hung = thing.item is not None and thing.item.footing in {"wall", "ceiling"}
        if thing.item is None or thing.item.stays or not hung or need - free <= TOUCH:
            return ()
        return (Push(thing.name, (0.0, 0.0, float(air.way[0, 2]) * (need - free))),)

    return told
