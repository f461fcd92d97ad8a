"""Checking one moved thing again says of it what a check of the whole moved room says."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from massing.checks import bodies, nudges, passage
from massing.checks.ahead import things_in
from massing.checks.context import Context, bodies_of, fabric_of
from massing.checks.entrances import entrances, obstacles_on_foot
from massing.checks.motions import item_movers
from massing.checks.nudges import failures, moved_context, moved_layout, recheck_moved
from massing.checks.passage_sure import Reached
from massing.checks.passage_ways import Plan, goals_of
from massing.checks.registry import CHECKS, WAYS, readings
from massing.checks.rules import rules_of
from massing.geometry.tolerance import TOUCH
from massing.project.read import parse_project
from massing.scheme.extents import extents_of
from massing.scheme.layout import Placed
from massing.scheme.place import place
from massing.survey.values import Values
from tests.bench.checks_at_forty import BY, FILE, nominal
from tests.catalogue_rooms import projects_by_chance

BUT_WAYS = tuple(check for check in CHECKS if check not in WAYS)


def rooms(count, first=0):
    for project in projects_by_chance(count, first=first):
        rules = rules_of(project)
        yield Context(place(project, "only", Values()), rules, reach=rules.near + TOUCH)


def moves(held, rng):
    """A few things of a room, and where each goes."""
    for number in rng.choice(len(held.layout.items), 2):
        by = np.append(rng.integers(-600, 600, 2), 0.0)
        yield held.layout.items[number].name, by


def told(found, names):
    """What is read of some things, apart from the ways; either named first."""
    return sorted(
        (r.check, tuple(sorted(r.items)), round(r.needs, 6), round(float(r.gap[0]), 6) + 0.0)
        for r in found
        if names & set(r.items) and r.check not in {"passage", "escape"}
    )


def differences(seed, first=0, count=6):
    """What one of the two says of the moved things and the other does not."""
    rng = np.random.default_rng(seed)
    found = []
    for held in rooms(count, first):
        for name, by in moves(held, rng):
            layout, names = moved_layout(held.layout, name, by)
            whole = Context(layout, held.rules, reach=held.reach, nudges=False)
            every = told(readings(whole, BUT_WAYS), names)
            again = told(recheck_moved(held, name, by), names)
            found += [each for each in every if each not in again]
            found += [each for each in again if each not in every]
    return found


@pytest.mark.parametrize("seed", [1, 2])
def test_moved_thing_is_read_as_in_a_check_of_the_whole_room(seed):
    assert not differences(seed, first=20 * seed)


def test_a_pair_left_out_is_seen(monkeypatch):
    def without(context):
        return (r for k, r in enumerate(bodies.read(context)) if context.focus is None or k % 2)

    monkeypatch.setattr(nudges, "_BUT_WAYS", (without, *BUT_WAYS[1:]))
    assert BUT_WAYS[0] is bodies.read
    assert differences(1, first=20)


def closed_otherwise(count=8):
    """Moves of which the two tell otherwise whether a way is closed; and how many ways are."""
    rng = np.random.default_rng(5)
    closed, odd = 0, []
    for held in rooms(count, first=60):
        for name, by in moves(held, rng):
            layout, _ = moved_layout(held.layout, name, by)
            whole = failures(readings(Context(layout, held.rules, reach=held.reach), WAYS))
            again = failures(r for r in recheck_moved(held, name, by) if r.check == "passage")
            every = {item for _, items in whole for item in items}
            closed += len(every)
            told = {item for _, items in again for item in items}
            if not told <= every or bool(again) != bool(whole):
                odd.append((held.layout.name, name))
    return closed, odd


def test_closed_ways_are_those_of_the_whole_room():
    """Whether any way on foot is closed after a move is told alike.

    The whole check also names all that share a closed place; one is enough to know a move by.
    """
    closed, odd = closed_otherwise()
    assert closed > 0
    assert not odd


def test_a_way_taken_for_open_is_seen(monkeypatch):
    monkeypatch.setattr(passage, "still_open", lambda *_: True)
    assert closed_otherwise()[1]


def test_what_is_said_to_be_still_open_is_open():
    """Every move said to close nothing is looked at again in a plan of the moved room alone."""
    rng = np.random.default_rng(6)
    open_ = 0
    for held in rooms(4, first=86):
        for name, by in moves(held, rng):
            moved = moved_context(held, name, by)
            zones = passage._zones(moved.layout)
            doors = passage.entrances(moved.layout, moved.rules)
            if zones and doors and passage.still_open(moved, doors, zones):
                alone, _ = moved_layout(held.layout, name, by)
                plain = Context(alone, held.rules, reach=held.reach)
                assert [e.clear for e in passage.entrances(alone, held.rules)] == [
                    e.clear for e in doors
                ]
                assert not failures(readings(plain, WAYS))
                open_ += 1
    assert open_ > 3


def test_bounds_kept_over_a_move_are_those_found_anew():
    rng = np.random.default_rng(7)
    for held in rooms(4, first=90):
        for name, by in moves(held, rng):
            kept = extents_of(moved_context(held, name, by).layout)
            anew = extents_of(moved_layout(held.layout, name, by)[0])
            for one, other in zip(kept.solids, anew.solids, strict=True):
                assert (one.corners == other.corners).all()
            for what in ("owner", "first", "low", "high", "least", "most"):
                assert (getattr(kept, what) == getattr(anew, what)).all()


def alike(one, other):
    """Whether two values have the same solids, arrays and plain values in them."""
    if isinstance(one, np.ndarray):
        return one.shape == other.shape and bool((one == other).all())
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    if dataclasses.is_dataclass(one) and not isinstance(one, Placed):
        return all(
            alike(getattr(one, f.name), getattr(other, f.name)) for f in dataclasses.fields(one)
        )
    return one.name == other.name if isinstance(one, Placed) else one == other


def test_lists_kept_over_a_move_are_those_made_anew():
    """The same numbers to the last bit, and the very objects of before of all that stays."""
    rng = np.random.default_rng(8)
    rising = 0
    text = FILE.read_text(encoding="utf-8").replace(
        "screen, on: desk", "screen, on: sit stand desk"
    )
    forty = nominal(parse_project(text, FILE))
    shifts = [("desk screen", BY), ("sit stand desk", BY), ("washer", BY)]
    some = [(held, list(moves(held, rng))) for held in rooms(8, first=110)]
    for held, shifted in [(forty, shifts), *some]:
        for name, by in shifted:
            layout = moved_context(held, name, by).layout
            anew, names = moved_layout(held.layout, name, by)
            for lists in (bodies_of, fabric_of, item_movers):
                assert alike(lists(layout), lists(anew))
                stays = [one for one in lists(held.layout) if one in lists(layout)]
                assert len(stays) >= sum(
                    getattr(one, "owner", getattr(one, "name", "")) not in names
                    and not getattr(one, "free", frozenset()) & names
                    for one in lists(held.layout)
                )
            rising += sum(len(mover.free & names) > 1 for mover in item_movers(layout))
            kept, fresh = things_in(layout), things_in(anew)
            assert [t.name for t in kept.every] == [t.name for t in fresh.every]
            assert [t.item for t in kept.every if t.item] == list(layout.items)
            for what in ("solids", "owner", "least", "most"):
                assert alike(getattr(kept, what), getattr(fresh, what))
    assert rising > 0


def test_a_zone_said_to_be_met_has_a_goal_that_is_met():
    met = 0
    for held in rooms(5, first=100):
        rules, layout = held.rules, held.layout
        zones = [zone.polygon[0] for zone in passage._zones(layout)]
        for width in (rules.sidestep, rules.passage, rules.passage + held.reach):
            plan = Plan(layout.room, obstacles_on_foot(layout, rules, rules.route))
            doors = entrances(layout, rules, width)
            reached = Reached.of(plan, doors, width, rules.passage / 2.0)
            for ring, told in zip(zones, reached.met(zones), strict=True):
                goals = goals_of(plan, ring, rules.passage / 2.0)
                assert not told or any(goal.intersects(reached.floor) for goal in goals)
                met += told
    assert met > 10
