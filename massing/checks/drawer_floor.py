"""Is there floor for someone before a drawer pulled right out: a layout in, free depths out.

How far a drawer pulls is for ``motions`` to say. Here it stands open, and whoever looks into it
stands before it, a person's width of them somewhere along it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.ahead import Air, face_of, in_the_way, pushes_out
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.hung import LOW
from massing.checks.spots import Spot, deepest, spot_air
from massing.checks.words import mm, place
from massing.geometry.outline import outline_of
from massing.geometry.tolerance import TOUCH
from massing.scheme.ground import level_under
from massing.scheme.layout import Motion, Placed

__all__ = ["CHECK", "read"]

CHECK = "before drawer"


def read(context: Context) -> Iterator[Reading]:
    """A reading of each item whose open drawers leave too little floor before them.

    That of the drawer with least. A caution, since one may stand beside a drawer and look in.
    """
    for item in context.layout.items:
        worst: tuple[Spot, Motion, Air] | None = None
        for motion in item.motions:
            if motion.kind != "drawer":
                continue
            air = _air(context, item, motion)
            spot = deepest(context.layout, item, air, in_the_way(context, item))
            if spot is not None and (worst is None or spot.depth[0] < worst[0].depth[0]):
                worst = (spot, motion, air)
        if worst is None or float(worst[0].depth.min()) >= context.rules.drawer - TOUCH:
            continue
        spot, motion, air = worst
        yield Reading(
            check=CHECK,
            items=(item.name, *(thing.name for thing in spot.things[:1])),
            gap=spot.depth,
            needs=context.rules.drawer,
            detail=_later(context, item, motion, air, spot),
            weight=Verdict.CAUTION,
            source=context.rules.source("drawer"),
        )


def _air(context: Context, item: Placed, motion: Motion) -> Air:
    """Where someone stands before one open drawer, from the ankle to the shoulder."""
    worlds, rules = context.layout.worlds, context.rules
    outline = outline_of(motion.solid)
    face = face_of(
        np.broadcast_to(outline, (worlds, *outline.shape[1:])),
        np.broadcast_to(motion.axis[:, :2], (worlds, 2)),
    )
    travel = np.broadcast_to(motion.full, (worlds,))
    level = item.zones[0].level if item.zones else level_under(context.layout.room, outline)
    level = np.broadcast_to(level, (worlds,))
    return spot_air(face, travel, travel + rules.drawer, (level + rules.step_over, level + LOW))


def _later(
    context: Context, item: Placed, motion: Motion, air: Air, spot: Spot
) -> Callable[[], Detail]:
    need, free, travel = context.rules.drawer, float(spot.depth[0]), float(motion.full[0])

    def told() -> Detail:
        says = (
            f"{mm(free)} of floor to stand on before {motion.name} of {item.name}, pulled "
            f"{mm(travel)}; {mm(need)} asked for"
        )
        if spot.things:
            says += f", {' and '.join(thing.words for thing in spot.things)} in the way"
        other = spot.things[0].item if spot.things else None
        pushes = pushes_out(item, other, max(need - free, 0.0) * air.way[0, :2])
        return Detail(says=says, at=place(air.solid.corners[0].mean(axis=0)), pushes=pushes)

    return told
