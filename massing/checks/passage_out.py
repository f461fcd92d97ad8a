"""Which zones is a person surely let out of? A layout and its zones in, those that are not out.

What opens is taken whole, wherever it is on its travel, and all that meets someone who stands high:
more floor than a way out is measured on. Zones told by that are read neither as tight to get out of
nor, where the disc let out is wide enough for it, as tight to get to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice

import numpy as np

from massing.checks.context import Context
from massing.checks.entrances import (
    Entrance,
    entrances,
    obstacles_on_foot,
    opened_hulls,
    surely_covered,
)
from massing.checks.passage_sure import Reached, Rough, past_doorway
from massing.checks.passage_ways import Plan
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Zone

__all__ = [
    "but",
    "doorways_out",
    "not_out",
    "out_by",
    "plan_on_foot",
    "tight_out",
    "well_let_out",
]

_ALIKE = 1e-6  # mm; widths this near are one width


def plan_on_foot(context: Context, high: float) -> Plan:
    """The floor at a walking height with room doors open, worked out once for a layout."""
    rules = context.rules
    key = ("floor on foot", high, rules.step_over, rules.rise, rules.door_angle)
    return context.layout.kept(
        key, lambda layout: Plan(layout.room, obstacles_on_foot(layout, rules, high))
    )


def out_by(context: Context, plan: Plan | Rough) -> Iterator[Reached]:
    """What discs that are surely let out get to: one to show the doorway narrowest, one to do.

    A disc that has more to spare than the doorway is drawn wider takes in the smaller one.
    """
    rules, layout = context.rules, context.layout
    wide = rules.escape + context.reach - rules.near
    past = past_doorway(plan, doorways_out(context), wide, rules.escape / 2.0)
    if past is not None:
        yield past
    yield Reached.of(plan, entrances(layout, rules, wide), wide, rules.escape / 2.0)


def doorways_out(context: Context) -> list[Entrance]:
    """The room's doorways as ways out: one narrower than a way out is to be was built so.

    No furniture changes how wide a doorway is, so none is narrower than it is drawn.
    """
    found = entrances(context.layout, context.rules, context.rules.escape + TOUCH)
    return [replace(door, clear=np.inf) for door in found]


def _first_out(context: Context) -> tuple[Rough, Reached] | None:
    """What a disc is surely let out of with all that opens taken whole, and the plan met higher."""
    rules = context.rules
    if rules.route < rules.stoop:
        return None
    names = ("route", "stoop", "step_over", "rise", "door_angle", "escape", "near")
    key = ("let out", context.reach, *(getattr(rules, name) for name in names))

    def first(layout: Layout) -> tuple[Rough, Reached]:
        hulls = opened_hulls(layout, rules.step_over, rules.stoop)
        rough = Rough(plan_on_foot(context, rules.route), hulls)
        return rough, next(out_by(context, rough))

    return context.layout.kept(key, first)


def tight_out(context: Context, zones: list[Zone]) -> list[Zone]:
    """The zones not surely let out of by ``_first_out``, nor by whatever else gets out there."""
    found = _first_out(context)
    if found is None:
        return zones
    rough, first = found
    left = but(zones, first.met([zone.polygon[0] for zone in zones]))
    left = but(left, _covered(context, left))
    left = but(left, first.sure([zone.polygon[0] for zone in left]))
    return not_out(left, islice(out_by(context, rough), 1, None)) if left else left


def _covered(context: Context, zones: list[Zone]) -> list[bool]:
    """Which zones surely have no floor left with everything open: none comes out of them."""
    rings = [zone.polygon[0] for zone in zones]
    return surely_covered(context.layout, context.rules, context.rules.stoop, rings)


def not_out(zones: list[Zone], outs: Iterable[Reached]) -> list[Zone]:
    """The zones that none of some discs surely gets out of."""
    for out in outs:
        zones = but(zones, out.sure([zone.polygon[0] for zone in zones]))
        if not zones:
            break
    return zones


def but(zones: list[Zone], done: Iterable[bool]) -> list[Zone]:
    """The zones of which something is not told."""
    return [zone for zone, told in zip(zones, done, strict=True) if not told]


def well_let_out(context: Context, zones: list[Zone]) -> list[bool]:
    """Which zones that are surely let out of with all open are surely got to as well.

    With nothing open there is only more floor. It is told where the disc let out is wider than the
    one doorway, which is itself wide enough; and where it comes in by every doorway as it is, and
    is no narrower than a wide way. Those left are tried by one step more, with nothing open.
    """
    rules = context.rules
    clear = [door.clear for door in entrances(context.layout, rules)]
    alone = len(clear) == 1 and clear[0] >= max(rules.passage, rules.escape + TOUCH)
    out, wide = rules.escape + context.reach - rules.near, rules.passage + context.reach
    through = min(clear) >= max(out, wide) and out >= wide - _ALIKE
    found = _first_out(context) if through or (alone and clear[0] < out) else None
    if found is None or (found[1].width < out) == through:
        return [False] * len(zones)
    reached = replace(found[1], reach=rules.passage / 2.0)
    rings = [zone.polygon[0] for zone in zones]
    told = reached.met(rings)
    if through and not all(told):
        plan = plan_on_foot(context, rules.route)
        left = iter(
            reached.straight_to(plan, [r for r, met in zip(rings, told, strict=True) if not met])
        )
        told = [met or next(left) for met in told]
    return told
