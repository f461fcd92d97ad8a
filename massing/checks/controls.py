"""Are switches, valves and filters where a hand reaches: a layout in, heights out."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.words import mm
from massing.geometry.outline import rectangle
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.items.spec import ControlSpec
from massing.scheme.ground import level_under
from massing.scheme.layout import Placed

__all__ = ["CHECK", "read"]

CHECK = "control height"


def read(context: Context) -> Iterator[Reading]:
    """Readings of the height of each control above the floor in front of it."""
    for item in context.items:
        for control in item.spec.controls:
            level = _floor_in_front(context, item)
            height = item.origin[:, 2] + float(control.height) - level
            if control.between is None:
                yield from _too_high(context, item, control, height)
                continue
            low, high = (float(end) for end in control.between)
            yield Reading(
                check=CHECK,
                items=(item.name,),
                gap=np.minimum(height - low, high - height),
                detail=_later(
                    item, control, float(height[0]), f"meant between {mm(low)} and {mm(high)}"
                ),
                weight=Verdict.CAUTION,
                noted=True,
                source=item.spec.basis.get("controls", "the item's own entry"),
            )


def _too_high(
    context: Context, item: Placed, control: ControlSpec, height: Floats
) -> Iterator[Reading]:
    """A reading where a control that says no heights of its own is hard to get at."""
    limit = context.rules.top_control
    gap = limit - height
    if float(gap.min()) >= -TOUCH:
        return
    yield Reading(
        check=CHECK,
        items=(item.name,),
        gap=gap,
        detail=_later(item, control, float(height[0]), f"hard to work above {mm(limit)}"),
        weight=Verdict.CAUTION,
        source=context.rules.source("top_control"),
    )


def _floor_in_front(context: Context, item: Placed) -> Floats:
    """(worlds,) level of the floor someone stands on to reach it: its zone's, else under it."""
    if item.zones:
        return item.zones[0].level
    room = context.layout.room
    ring = np.concatenate([part.solid.corners[:, :, :2] for part in item.parts], axis=1)
    low, high = ring.min(axis=1), ring.max(axis=1)
    return level_under(room, rectangle(low, high))


def _later(item: Placed, control: ControlSpec, height: float, meant: str) -> Callable[[], Detail]:
    says = f"{control.name} of {item.name} is {mm(height)} above the floor ({meant})"
    middle = (item.low[0] + item.high[0]) / 2.0
    at = (float(middle[0]), float(middle[1]), float(item.origin[0, 2]) + float(control.height))
    return lambda: Detail(says=says, at=at)
