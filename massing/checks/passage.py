"""How wide is the way in to each thing in use, and the way out: a layout in, readings out.

A way is measured in plan from the best of the room's doors, past everything that meets the
height of someone walking; see ``massing.checks.passage_ways`` for what counts as reached.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from massing.checks.context import Context
from massing.checks.entrances import Entrance, entrances, obstacles_on_foot
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.passage_out import (
    but,
    doorways_out,
    not_out,
    out_by,
    plan_on_foot,
    tight_out,
    well_let_out,
)
from massing.checks.passage_sure import Reached, past_doorway
from massing.checks.passage_ways import Plan, Thing, Way, best_way, goals_of
from massing.checks.still_open import still_open
from massing.checks.words import mm, place
from massing.geometry.tolerance import TOUCH
from massing.room.heights import floor_level
from massing.scheme.layout import Layout, Zone

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["CHECK", "ESCAPE", "read", "read_escape"]

CHECK = "passage"
ESCAPE = "escape"
_CODES = "local codes govern ways out"


@dataclass(slots=True, eq=False)
class _Group:
    """Zones that share one tightest place."""

    way: Way
    low: bool
    stoop: Way | None
    items: list[str] = field(default_factory=list)


def read(context: Context) -> Iterator[Reading]:
    """Readings of the ways to zones where someone works, where they are tight or nearly so.

    Ways that share their tightest place are one reading. Wider ways give none.
    """
    rules = context.rules
    zones = _zones(context.layout)
    doors = entrances(context.layout, rules)
    if not zones or not doors:
        return
    if context.focus is not None and (
        still_open(context, doors, zones) or _none_closed(context, doors, zones)
    ):
        return
    wide = rules.passage + context.reach
    # Closed is closed at the stooping height; while moves are tried out no more is asked.
    high = rules.route if context.focus is None else min(rules.stoop, rules.route)
    plan = plan_on_foot(context, high)
    groups = _grouped(context, plan, doors, zones, wide)
    tightest = min((group.way.width for group in groups), default=0.0)
    for group in groups:
        noted = group.way.width <= tightest and group.way.width <= rules.passage + rules.near
        yield _reading(context, group, noted=noted)


def _none_closed(context: Context, doors: tuple[Entrance, ...], zones: list[Zone]) -> bool:
    """Whether every way is surely open; while moves are tried out only closed ways count."""
    rules = context.rules
    plan = plan_on_foot(context, min(rules.stoop, rules.route))
    open_ = [door for door in doors if door.clear >= rules.sidestep]
    reached = Reached.of(plan, open_, rules.sidestep, rules.passage / 2.0)
    return next(reached.unsure([zone.polygon[0] for zone in zones]), None) is None


def _zones(layout: Layout) -> list[Zone]:
    return [
        zone
        for item in layout.items
        for zone in item.zones
        if zone.kind == "person" and zone.posture != "none"
    ]


def _grouped(
    context: Context, plan: Plan, doors: tuple[Entrance, ...], zones: list[Zone], wide: float
) -> list[_Group]:
    """Ways to zones that are not surely wide, those with one pinch together."""
    rules = context.rules
    stooped: Plan | None = None
    groups: dict[tuple[float, ...], _Group] = {}
    for zone, goal in _perhaps_tight(context, plan, doors, zones, wide):
        way = best_way(plan, doors, goal)
        if way.width > wide or (not way.things and way.width >= rules.passage - TOUCH):
            continue
        low: Way | None = None
        lower = context.focus is None and rules.stoop < rules.route
        if way.width < rules.passage - TOUCH and lower:
            stooped = stooped or plan_on_foot(context, rules.stoop)
            low = best_way(stooped, doors, goals_of(stooped, zone.polygon[0], rules.passage / 2.0))
            low = low if low.width > way.width + TOUCH else None
        key = _key(way)
        group = groups.setdefault(key, _Group(way, low is not None, low))
        if low is not None and (group.stoop is None or low.width < group.stoop.width):
            group.stoop, group.low = low, True
        if zone.item not in group.items:
            group.items.append(zone.item)
    return list(groups.values())


def _perhaps_tight(
    context: Context, plan: Plan, doors: tuple[Entrance, ...], zones: list[Zone], wide: float
) -> Iterator[tuple[Zone, list[Polygon]]]:
    """Zones that have goals and to which the way is not surely wide, or the doorway's own width.

    A doorway that is itself wide enough is no reading, whatever leads on from it.
    """
    rules = context.rules
    if context.focus is None:
        zones = but(zones, well_let_out(context, zones))
    widest = max(door.clear for door in doors)
    if not zones:
        return
    if context.focus is None and rules.passage <= widest < wide:
        past = past_doorway(plan, doors, wide, rules.passage / 2.0)
        if past is not None:
            zones = but(zones, past.sure([zone.polygon[0] for zone in zones]))
    # A doorway drawn wider by less than a disc has to spare hides nothing from that disc.
    spare = (rules.passage + wide) / 2.0
    some = [door for door in entrances(context.layout, rules, wide) if door.clear >= spare]
    reached = Reached.of(plan, some, wide, rules.passage / 2.0)
    for number, goal in reached.unsure([zone.polygon[0] for zone in zones]):
        yield zones[number], goal


def _key(way: Way) -> tuple[float, ...]:
    if way.width <= 0.0:
        return (0.0,)
    return (round(way.width, 1), *np.round(way.pinch, 0).tolist())


def _reading(context: Context, group: _Group, *, noted: bool) -> Reading:
    """Closed below the side-step width even when stooping; else tight, worth a look."""
    rules = context.rules
    best = group.stoop or group.way
    closed = best.width < rules.sidestep - TOUCH
    return Reading(
        check=CHECK,
        items=tuple(group.items),
        gap=np.broadcast_to(group.way.widths, (context.layout.worlds,)),
        needs=rules.passage,
        weight=Verdict.CONFLICT if closed else Verdict.CAUTION,
        detail=_later(context, group),
        noted=noted,
        source=rules.source("passage"),
    )


def _later(context: Context, group: _Group) -> Callable[[], Detail]:
    return lambda: _detail(context, group)


def _detail(context: Context, group: _Group) -> Detail:
    rules, way = context.rules, group.way
    to = _listed(group.items)
    if group.stoop is not None:
        lower = f"{_clear(group.stoop)}, stooping to {mm(rules.stoop)}"
        says = f"{_told(way, to)} at {mm(rules.route)} high, or {lower}"
    else:
        says = _told(way, to)
    if way.width < rules.passage - TOUCH:
        says += f"; {mm(rules.passage)} asked for"
    shown = group.stoop if way.width <= 0.0 and group.stoop is not None else way
    return Detail(says=says, at=_spot(context.layout, shown), pushes=_pushes(context, way))


def _listed(names: list[str]) -> str:
    if len(names) > 3:
        return f"{', '.join(names[:2])} and {len(names) - 2} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _told(way: Way, to: str) -> str:
    if way.width <= 0.0:
        return f"no way on foot to {to}"
    return f"{mm(way.width)} clear on the way to {to}, {_between(way)}"


def _clear(way: Way) -> str:
    return "no way" if way.width <= 0.0 else f"{mm(way.width)} clear {_between(way)}"


def _between(way: Way) -> str:
    """What the tightest place lies between, in words."""
    if not way.things:
        return f"through {way.door}"
    names = list(dict.fromkeys(_word(thing) for thing in way.things))
    return f"between {' and '.join(names)}" if len(names) > 1 else f"beside {names[0]}"


def _word(thing: Thing) -> str:
    if thing.kind == "ceiling":
        return "the low ceiling"
    if thing.kind == "leaf":
        return f"the open leaf of {thing.name}"
    return f"the {thing.name}" if thing.kind in {"wall", "step"} else thing.name


def _spot(layout: Layout, way: Way) -> tuple[float, float, float] | None:
    if not np.isfinite(way.pinch).all():
        return None
    points = np.broadcast_to(way.pinch, (layout.worlds, 1, 2))
    level = float(floor_level(layout.room, points)[0, 0])
    return place(np.array([*way.pinch, 0.0 if np.isnan(level) else level]))


def _pushes(context: Context, way: Way) -> tuple[Push, ...]:
    """Moving either side of the pinch straight back by what is missing."""
    if len(way.things) != 2:
        return ()
    one, other = way.things[0].at[0], way.things[1].at[0]
    size = float(np.hypot(*(other - one)))
    if size <= 0.0:
        return ()
    back = (other - one) / size * (context.rules.passage - way.width)
    stays = {item.name: item.stays for item in context.layout.items}
    return tuple(
        Push(thing.name, (float(by[0]), float(by[1]), 0.0))
        for thing, by in zip(way.things, (-back, back), strict=True)
        if thing.kind == "body" and not stays[thing.name]
    )


def read_escape(context: Context) -> Iterator[Reading]:
    """Readings of the way out with all doors, drawers and lids open; only where it is too narrow.

    A zone whose way in is already too narrow is left to ``read``: one cause, one finding.
    """
    if context.focus is not None:
        return
    rules, layout = context.rules, context.layout
    zones, need = _zones(layout), rules.escape
    if not zones or not entrances(layout, rules):
        return
    zones = tight_out(context, zones)
    if not zones:
        return
    opened = Plan(layout.room, obstacles_on_foot(layout, rules, rules.stoop, everything_open=True))
    zones = not_out(zones, out_by(context, opened))
    doors = doorways_out(context)
    plain: Plan | None = None
    groups: dict[tuple[float, ...], _Group] = {}
    for zone in zones:
        goals = goals_of(opened, zone.polygon[0], need / 2.0)
        way = best_way(opened, doors, goals)
        if not goals or float(way.widths.min()) >= need - TOUCH or _inner_doorway(layout, way):
            continue
        plain = plain or plan_on_foot(context, rules.stoop)
        own = best_way(
            plain,
            entrances(layout, rules, need + TOUCH),
            goals_of(plain, zone.polygon[0], rules.passage / 2.0),
        )
        if own.width < rules.passage - TOUCH:
            continue
        group = groups.setdefault(_key(way), _Group(way, low=False, stoop=None))
        if zone.item not in group.items:
            group.items.append(zone.item)
    for group in groups.values():
        yield Reading(
            check=ESCAPE,
            items=tuple(group.items),
            gap=np.broadcast_to(group.way.widths, (layout.worlds,)),
            needs=need,
            weight=Verdict.CAUTION,
            detail=_out(context, group),
            source=rules.source("escape"),
        )


def _inner_doorway(layout: Layout, way: Way) -> bool:
    """Whether the tightest place is a partition's own doorway: its leaf and its jamb."""
    kinds = {thing.kind: thing.name for thing in way.things}
    walls = {leaf.name: leaf.wall for leaf in layout.leaves}
    return set(kinds) == {"leaf", "fabric"} and walls[kinds["leaf"]].startswith(
        f"{kinds['fabric']} "
    )


def _out(context: Context, group: _Group) -> Callable[[], Detail]:
    def told() -> Detail:
        way, from_ = group.way, _listed(group.items)
        width = f"{mm(way.width)} clear {_between(way)}" if way.width > 0.0 else "no way"
        # Nobody gets out by the gap behind a machine: it is told, but not as if it were a way.
        if 0.0 < way.width < context.rules.sidestep - TOUCH:
            width = f"no way, {mm(way.width)} at most {_between(way)}"
        says = (
            f"way out from {from_} with doors and drawers open: {width}; "
            f"{mm(context.rules.escape)} asked for, {_CODES}"
        )
        return Detail(says=says, at=_spot(context.layout, way))

    return told
