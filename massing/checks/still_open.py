"""Is every way on foot surely still open after a move? A moved layout in, a plain yes out.

What people get to before the move is known; what is moved takes of it where it now stands, and
what it leaves is given back only where the floor without it is looked at. No answer but yes is one.
"""

from __future__ import annotations

from collections.abc import Sequence

from massing.checks.context import Context
from massing.checks.entrances import (
    Entrance,
    obstacles_on_foot,
    plan_hulls,
    same_doors,
    stand_open,
)
from massing.checks.moved import Move, move_of, without
from massing.checks.passage_sure import Reached
from massing.checks.passage_ways import Plan, goals_of
from massing.geometry.passage.ways import Shapes
from massing.scheme.layout import Layout, Zone

__all__ = ["still_open"]


def still_open(context: Context, doors: Sequence[Entrance], zones: Sequence[Zone]) -> bool:
    """Whether no way is closed, by what was reached before the move and what now stands in it.

    doors : those of the moved layout; False says nothing
    """
    move = move_of(context.layout)
    if move is None or not same_doors(context.layout, move, context.rules):
        return False
    taken = _taken(context, move)
    return any(
        _open(context, move, gone, taken, doors, zones) for gone in (frozenset(), move.names)
    )


def _open(
    context: Context,
    move: Move,
    gone: frozenset[str],
    taken: Shapes,
    doors: Sequence[Entrance],
    zones: Sequence[Zone],
) -> bool:
    """The same by the layout before the move with some of what moves taken out of it."""
    rules = context.rules
    key = ("reached", gone, rules.stoop, rules.route, rules.sidestep, rules.passage)
    before = move.before.kept(key, lambda layout: _before(layout, context, gone, doors))
    after = before.less(doors, taken)
    left = [
        zone
        for zone, met in zip(zones, after.met([z.polygon[0] for z in zones]), strict=True)
        if not met
    ]
    for zone in left:
        ring = zone.polygon[0]
        # With all that moves gone, a zone that has no goal then has none now.
        if gone == move.names and not _goals(move.before, before, gone, zone):
            continue
        if not any(
            after.floor.intersects(goal) for goal in goals_of(after.plan, ring, after.reach)
        ):
            return False
    return True


def _goals(layout: Layout, before: Reached, gone: frozenset[str], zone: Zone) -> bool:
    key = ("has a goal", gone, zone)
    return layout.kept(key, lambda _: bool(goals_of(before.plan, zone.polygon[0], before.reach)))


def _before(
    layout: Layout, context: Context, gone: frozenset[str], doors: Sequence[Entrance]
) -> Reached:
    """Everything reached before, by a disc that just gets by sideways, through open doors."""
    rules = context.rules
    rest = without(layout, gone) if gone else layout
    # A leaf stands as it does with everything in its place.
    stand_open(rest, layout, rules)
    plan = Plan(layout.room, obstacles_on_foot(rest, rules, min(rules.stoop, rules.route)))
    some = [door for door in doors if door.clear >= rules.sidestep]
    return Reached.of(plan, some, rules.sidestep, rules.passage / 2.0)


def _taken(context: Context, move: Move) -> Shapes:
    """Plan hulls of what is moved where it now stands, of all that lies at walking height."""
    layout, rules = context.layout, context.rules
    levels = [float(floor.level[0]) for floor in layout.room.floors]
    low, high = min(levels) + rules.step_over, max(levels) + min(rules.stoop, rules.route)
    corners = [
        part.solid.corners[0]
        for item in layout.items
        if item.name in move.names and not item.spec.passable
        for part in item.parts
    ]
    return plan_hulls([c for c in corners if c[:, 2].max() > low and c[:, 2].min() < high])
