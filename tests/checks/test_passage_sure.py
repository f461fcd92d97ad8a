"""What a disc is said to get to is what the exact width of the way says, and no more."""

from __future__ import annotations

import warnings
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import box

from massing.checks import passage
from massing.checks.context import Context
from massing.checks.entrances import Entrance, entrances, obstacles_on_foot, opened_hulls
from massing.checks.passage_out import well_let_out
from massing.checks.passage_sure import Less, Reached, Rough, past_doorway
from massing.checks.passage_ways import Plan, best_way, goals_of
from massing.checks.rules import rules_of
from massing.geometry.passage.ways import joined
from massing.geometry.tolerance import TOUCH
from massing.scheme.floor_plan import Block
from massing.scheme.place import place
from massing.survey.values import Values
from tests.bench.checks_at_forty import nominal, room
from tests.catalogue_rooms import projects_by_chance
from tests.zoo import named_room

DOOR = Entrance("door", np.array([[2000.0, 0.0], [1200.0, 0.0]]), 800.0)


def rooms(count, first):
    for project in projects_by_chance(count, first=first):
        rules = rules_of(project)
        yield Context(place(project, "only", Values()), rules, reach=rules.near + TOUCH)


def plans(count, first):
    """Floors on foot with everything shut and their doors."""
    for held in rooms(count, first):
        blocks = obstacles_on_foot(held.layout, held.rules, held.rules.route)
        yield held, Plan(held.layout.room, blocks), entrances(held.layout, held.rules)


def test_joined_covers_what_the_shapes_cover():
    shapely = pytest.importorskip("shapely")
    for _, plan, _ in plans(12, first=140):
        one, other = joined(plan.shapes), shapely.union_all(plan.shapes)
        assert one.is_valid
        assert one.symmetric_difference(other).area < 1e-3


def test_nothing_is_joined_to_nothing():
    assert joined(np.empty(0, dtype=np.object_)).is_empty


def test_ways_past_the_doorway_are_narrowest_in_it():
    """The exact way to each zone told has the doorway's width and nothing else to pinch it."""
    told = 0
    for held, plan, doors in plans(30, first=160):
        past = past_doorway(plan, doors, np.inf, held.rules.passage / 2.0) if doors else None
        zones = passage._zones(held.layout)
        sure = past.sure([zone.polygon[0] for zone in zones]) if past else []
        for zone, reached in zip(zones, sure, strict=False):
            if reached:
                goals = goals_of(plan, zone.polygon[0], held.rules.passage / 2.0)
                way = best_way(plan, doors, goals)
                assert way.things == ()
                narrow = min(past.width - 1.0, max(door.clear for door in doors))
                assert way.width == pytest.approx(narrow, abs=1e-5)
                told += 1
    assert told > 5


def reached_past(block, *more, wide=np.inf):
    """What is reached in a bare room past a doorway with something in it."""
    blocks = [] if block is None else [Block("bin", "body", ring(*block)[None])]
    plan = Plan(named_room("plain"), blocks)
    return past_doorway(plan, [DOOR, *more], wide, 300.0)


def ring(x0, y0, x1, y1):
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def test_a_bare_room_is_reached_past_its_doorway():
    found = reached_past(None)
    assert found is not None
    assert found.sure([ring(300, 1000, 900, 1500)]) == [True]


def test_nothing_is_told_of_what_stands_in_the_doorway():
    """Beside the way straight in it may stand, and further off than half the doorway and a step."""
    assert reached_past((1990, 0, 2100, 300)) is None
    assert reached_past((2000.02, 0, 2100, 300)) is not None
    assert reached_past((1500, 460, 1700, 500)) is None
    assert reached_past((1500, 480, 1700, 500)) is not None


def test_nothing_is_told_of_two_doorways_alike_or_of_a_wider_disc():
    other = Entrance("other", DOOR.threshold + np.array([900.0, 0.0]), 800.0)
    assert reached_past(None, other) is None
    assert reached_past(None, wide=801.0) is None
    assert reached_past(None, wide=801.1) is not None


def test_a_disc_that_is_stopped_gets_no_further():
    found = reached_past((0, 900, 3000, 1000))
    assert found is not None
    assert found.sure([ring(300, 1100, 900, 1600)]) == [False]


def test_all_taken_off_at_once_leaves_what_taking_it_off_in_turn_does():
    for held, plan, _ in plans(8, first=200):
        hulls = opened_hulls(held.layout, held.rules.step_over, held.rules.stoop)
        at_once, in_turn = Rough(plan, hulls).free, Less(plan, hulls).free
        assert at_once.symmetric_difference(in_turn).area < 1e-3


def test_what_is_well_let_out_is_reached():
    """What is told by the way out alone is as wide as the doorway, all shut."""
    held = nominal(room(exact=True))
    held = Context(held.layout, held.rules, reach=470.0)
    plan = Plan(held.layout.room, obstacles_on_foot(held.layout, held.rules, held.rules.route))
    zones, doors = passage._zones(held.layout), entrances(held.layout, held.rules)
    out = well_let_out(held, zones)
    for zone, told in list(zip(zones, out, strict=True))[::4]:
        if told:
            way = best_way(plan, doors, goals_of(plan, zone.polygon[0], held.rules.passage / 2.0))
            assert not way.things
    assert sum(out) > 20


def test_where_two_doorways_are_nearly_alike_the_clearer_one_counts():
    """A leaf that leaves less of the longer doorway makes the other the widest."""
    less = Entrance("door", DOOR.threshold, 700.0)
    other = Entrance("other", np.array([[940.0, 0.0], [200.0, 0.0]]), 740.0)
    plan = Plan(named_room("plain"), [])
    found = past_doorway(plan, [less, other], np.inf, 300.0)
    assert found is None or found.width == 741.0


def stepped_to(count, first, width):
    """Zones with what a step tells of them, a disc let in with all open, nothing open after."""
    for held, plan, doors in plans(count, first):
        some = [door for door in doors if door.clear >= width]
        hulls = opened_hulls(held.layout, held.rules.step_over, held.rules.stoop)
        reached = Reached.of(Rough(plan, hulls), some, width, held.rules.passage / 2.0)
        rings = [zone.polygon[0] for zone in passage._zones(held.layout)]
        met = reached.met(rings)
        for one, far, told in zip(rings, met, reached.straight_to(plan, rings), strict=True):
            yield held, plan, doors, one, far, told


def test_one_straight_step_leads_to_what_the_exact_way_does():
    width, beyond = 620.0, 0
    for held, plan, doors, one, met, told in stepped_to(30, 200, width):
        if told:
            goals = goals_of(plan, one, held.rules.passage / 2.0)
            assert best_way(plan, doors, goals).width >= width
            beyond += not met
    assert beyond > 0


def test_no_step_leads_through_what_stands_in_its_way():
    wall = Block("wall", "body", ring(1000.0, 0.0, 1100.0, 2000.0)[None])
    plan, bare = (Plan(named_room("plain"), blocks) for blocks in ([wall], []))
    zone = ring(200.0, 700.0, 700.0, 1300.0)
    floor = Reached.of(plan, [DOOR], 600.0, 300.0)
    assert floor.straight_to(bare, [zone]) == [True]
    assert floor.straight_to(plan, [zone]) == [False]


def test_a_doorway_its_own_leaf_fills_tells_nothing():
    """A leaf that stands across all of the threshold leaves no run of it to go in by."""
    door = SimpleNamespace(
        name="entry", threshold=np.array([[500.0, 0], [1262, 0]]), size=762.0, clear=762.0
    )
    leaf = box(500, 0, 1262, 44)
    plan = SimpleNamespace(
        blocks=[SimpleNamespace(kind="leaf", name="entry")], shapes=np.array([leaf])
    )
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert past_doorway(plan, [door], 900.0, 600.0) is None
