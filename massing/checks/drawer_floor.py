"""Is there floor for someone before a drawer pulled right out: a layout in, free depths out.

How far a drawer pulls is for ``motions`` to say. Here it stands open, and whoever looks into it
stands before it, a person's width of them somewhere along it. A drawer that comes out less than
an arm's reach past where one stands anyway (a machine's soap drawer) wants no floor of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.ahead import face_of, pushes_out
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.hung import LOW
from massing.checks.moved import as_before, asked_about
from massing.checks.spots import PERSON, Spot, spots_before
from massing.checks.words import mm, place
from massing.geometry.outline import outline_of
from massing.geometry.solids import Floats, spread
from massing.geometry.tolerance import TOUCH
from massing.scheme.ground import level_under
from massing.scheme.layout import Layout, Motion, Placed

__all__ = ["CHECK", "read"]

CHECK = "before drawer"
_Drawer = tuple[Placed, Motion]
_SHALLOW = 300.0  # mm of travel below which a drawer is used standing as one does; common practice


def read(context: Context) -> Iterator[Reading]:
    """A reading of each item whose open drawers leave too little floor before them.

    That of the drawer with least. A caution, since one may stand beside a drawer and look in.
    """
    known = as_before(context.layout, "deep drawers", lambda layout: layout.items, _drawers)
    pairs = _asked(context, [pair for own in known.values() for pair in own])
    if not pairs:
        return
    worst: dict[str, tuple[Spot, Placed, Motion]] = {}
    for number, spot in _spots(context, pairs):
        item, motion = pairs[number]
        held = worst.get(item.name)
        # Of drawers that have as little, but for rounding, the first in the entry is told.
        if held is None or float(spot.depth[0]) < float(held[0].depth[0]) - TOUCH:
            worst[item.name] = (spot, item, motion)
    for spot, item, motion in worst.values():
        if float(spot.depth.min()) >= context.rules.drawer - TOUCH:
            continue
        yield Reading(
            check=CHECK,
            items=(item.name, *spot.names),
            gap=spot.depth,
            needs=context.rules.drawer,
            detail=_later(context, item, motion, spot),
            weight=Verdict.CAUTION,
            source=context.rules.source("drawer"),
        )


def _drawers(_: Layout, items: list[Placed]) -> list[list[_Drawer]]:
    """The drawers of each of some items that want floor of their own."""
    return [
        [
            (item, motion)
            for motion in item.motions
            if motion.kind == "drawer" and float(motion.full[0]) >= _SHALLOW - TOUCH
        ]
        for item in items
    ]


def _asked(context: Context, pairs: list[_Drawer]) -> list[_Drawer]:
    """The drawers asked about: all, or those in focus, and those it may stand before."""
    far = context.rules.drawer + PERSON
    return asked_about(
        context.layout,
        context.focus,
        pairs,
        lambda pair: pair[1].solid.corners[..., :2],
        lambda pair: far + float(pair[1].full.max()),
    )


def _spots(context: Context, pairs: list[tuple[Placed, Motion]]) -> Iterator[tuple[int, Spot]]:
    """The deepest spot before each open drawer, from the ankle to the shoulder."""
    worlds, rules, room = context.layout.worlds, context.rules, context.layout.room
    corners = np.stack([spread(motion.solid.corners, worlds) for _, motion in pairs])
    out = np.stack([spread(motion.axis[:, :2], worlds) for _, motion in pairs])
    faces = face_of(corners[..., :2], out)
    travel = np.stack([np.broadcast_to(motion.full, (worlds,)) for _, motion in pairs])
    levels: dict[str, Floats] = {}
    for item, motion in pairs:
        if item.name not in levels:
            ring = outline_of(motion.solid)
            levels[item.name] = item.zones[0].level if item.zones else level_under(room, ring)
    level = np.stack([np.broadcast_to(levels[item.name], (worlds,)) for item, _ in pairs])
    items = [item for item, _ in pairs]
    depths, heights = (travel, travel + rules.drawer), (level + rules.step_over, level + LOW)
    return spots_before(context, items, faces, depths, heights)


def _later(context: Context, item: Placed, motion: Motion, spot: Spot) -> Callable[[], Detail]:
    need, free, travel = context.rules.drawer, float(spot.depth[0]), float(motion.full[0])

    def told() -> Detail:
        says = (
            f"{mm(free)} of floor to stand on before {motion.name} of {item.name}, pulled "
            f"{mm(travel)}; {mm(need)} asked for"
        )
        if spot.things:
            says += f", {' and '.join(thing.words for thing in spot.things)} in the way"
        other = spot.things[0].item if spot.things else None
        pushes = pushes_out(item, other, max(need - free, 0.0) * spot.air.way[0, :2])
        return Detail(says=says, at=place(spot.air.solid.corners[0].mean(axis=0)), pushes=pushes)

    return told
