"""Is the door of what stands on another low enough to load: a layout in, heights out.

A machine that stands on another is loaded by its door at the height of the arms. Cupboards are
reached into from below, and are for the stores' own check to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.words import mm, place
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Motion, Placed

__all__ = ["CHECK", "read"]

CHECK = "door height"


def read(context: Context) -> Iterator[Reading]:
    """Readings of doors of stacked machines whose middle is higher than controls are worked at.

    Above the floor before the lowest of the stack; the highest door of each machine.
    """
    limit = context.rules.top_control
    for item in context.items:
        if item.mounted != "on" or item.spec.stores:
            continue
        doors = [motion for motion in item.motions if motion.kind == "leaf"]
        if not doors:
            continue
        bottom = context.layout.item(context.layout.bottom_of(item.name))
        zones = item.zones or bottom.zones
        level = zones[0].level if zones else bottom.low[:, 2]
        door = max(
            doors, key=lambda motion: float(motion.solid.low[0, 2] + motion.solid.high[0, 2])
        )
        gap = limit - ((door.solid.low[:, 2] + door.solid.high[:, 2]) / 2.0 - level)
        if float(gap.min()) < -TOUCH:
            yield Reading(
                check=CHECK,
                items=(item.name,),
                gap=gap,
                detail=_later(item, door, limit - float(gap[0]), limit),
                weight=Verdict.CAUTION,
                source=context.rules.source("top_control"),
            )


def _later(item: Placed, door: Motion, height: float, limit: float) -> Callable[[], Detail]:
    says = (
        f"the middle of the {door.name} of {item.name} is {mm(height)} above the floor, hard to "
        f"load above {mm(limit)}"
    )
    return lambda: Detail(says=says, at=place(door.solid.corners[0].mean(axis=0)))
