"""Checking one moved thing again says of it what a check of the whole moved room says."""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks import bodies, nudges
from massing.checks.context import Context
from massing.checks.nudges import failures, moved_layout, recheck_moved
from massing.checks.registry import CHECKS, WAYS, readings
from massing.checks.rules import rules_of
from massing.geometry.tolerance import TOUCH
from massing.scheme.place import place
from massing.survey.values import Values
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


def test_closed_ways_are_those_of_the_whole_room():
    """Whether any way on foot is closed after a move is told alike.

    The whole check also names all that share a closed place; one is enough to know a move by.
    """
    rng = np.random.default_rng(5)
    closed = 0
    for held in rooms(8, first=60):
        for name, by in moves(held, rng):
            layout, _ = moved_layout(held.layout, name, by)
            whole = failures(readings(Context(layout, held.rules, reach=held.reach), WAYS))
            again = failures(r for r in recheck_moved(held, name, by) if r.check == "passage")
            every = {item for _, items in whole for item in items}
            closed += len(every)
            assert {item for _, items in again for item in items} <= every
            assert bool(again) == bool(whole)
    assert closed > 0
