"""Is there room to work on a thing, centred or to one side: a layout in, free widths out.

The space need not be centred on the thing unless its entry says so; it may be shared with a
neighbour's. So the question has one dimension: how far the floor before it stays free to the
left and to the right, at the depth and height asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading
from massing.checks.moved import may_matter
from massing.checks.strip import FAR, Band, Stretch, Strip, item_strip, stretches
from massing.checks.words import mm
from massing.geometry.tolerance import TOUCH
from massing.items.spec import WorkingSpaceSpec
from massing.scheme.layout import Layout, Placed

__all__ = ["CHECK", "free_width", "read"]

CHECK = "working space"


def read(context: Context) -> Iterator[Reading]:
    """Readings of the width free before each thing that asks for working space.

    The width is found world by world: what narrows it may change from one to the next.
    """
    for item in context.layout.items:
        spec = item.spec.working_space
        if spec is None or not (context.wanted(item.name) or _may_narrow(context, item, spec)):
            continue
        worlds = range(context.layout.worlds)
        widths = np.array([free_width(context.layout, item, spec, world)[0] for world in worlds])
        need = np.maximum(float(spec.width), item_strip(item, spec.side, 0).width)
        yield Reading(
            check=CHECK,
            items=(item.name,),
            gap=widths,
            needs=float(need),
            detail=_later(context.layout, item, spec, float(widths[0]), float(need)),
            noted=True,
            source=item.spec.basis.get("working space", "the item's own entry"),
        )


def _may_narrow(context: Context, item: Placed, spec: WorkingSpaceSpec) -> bool:
    """Whether what is in focus stands, or stood, where it takes of another thing's space."""
    strip = item_strip(item, spec.side, 0)
    plan = strip.rectangle(-FAR, strip.width + FAR, float(spec.depth))
    return bool(
        may_matter(context.layout, context.focus, plan.min(axis=0)[None], plan.max(axis=0)[None])[0]
    )


def _later(
    layout: Layout, item: Placed, spec: WorkingSpaceSpec, width: float, need: float
) -> Callable[[], Detail]:
    def told() -> Detail:
        _, stops = free_width(layout, item, spec, 0)
        between = " and ".join(dict.fromkeys(name for name in stops if name))
        says = f"{spec.why} before {item.name}: {mm(width)} wide, {mm(need)} asked for"
        if between:
            says += f", between {between}" if width > TOUCH else f", taken by {between}"
        middle = (item.low[0] + item.high[0]) / 2.0
        return Detail(says=says, at=(float(middle[0]), float(middle[1]), float(item.low[0, 2])))

    return told


def free_width(
    layout: Layout, item: Placed, spec: WorkingSpaceSpec, world: int
) -> tuple[float, tuple[str, str]]:
    """Free width that takes in the whole thing, mm, and what ends it left and right.

    A centred space is twice its shorter half. 0 when something stands before the thing itself.
    """
    front = item_strip(item, spec.side, world)
    left, right, names = -FAR, front.width + FAR, ["", ""]
    for name, low, high in _blocked(layout, item, spec, front, world):
        if high > TOUCH and low < front.width - TOUCH:
            return 0.0, (name, name)
        if high <= TOUCH and high > left:
            left, names[0] = high, name
        elif low >= front.width - TOUCH and low < right:
            right, names[1] = low, name
    if spec.centred:
        half = min(front.width / 2.0 - left, right - front.width / 2.0)
        return 2.0 * half, (names[0], names[1])
    return right - left, (names[0], names[1])


def _blocked(
    layout: Layout, item: Placed, spec: WorkingSpaceSpec, front: Strip, world: int
) -> Iterator[Stretch]:
    """Stretches along the strip that something takes, with its name."""
    depth = float(spec.depth)
    level = front.level(layout.room, depth, world)
    top = max(level + float(spec.height), float(item.high[min(world, len(item.high) - 1), 2]))
    band = Band(depth, level, top)
    return stretches(layout, frozenset({item.name}), front, band, world)
