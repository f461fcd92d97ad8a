"""Ways on foot: boundaries to a hundredth, doors at published widths, heights, steps, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.context import Context
from massing.checks.entrances import entrances, obstacles_on_foot
from massing.checks.finding import Verdict
from massing.checks.passage import read
from massing.checks.passage_sure import Reached
from massing.checks.passage_ways import Plan, best_way, goals_of
from massing.checks.rules import Rules, rules_of
from massing.checks.run import check_scheme
from massing.project.read import parse_project
from massing.scheme.floor_plan import Block
from massing.scheme.place import place
from massing.survey.values import Values

ROOM = """
massing: 1
project: Way
{rules}
room:
  size: {size}
  floor: {floor}
  ceiling: [{ceiling}]
  doors: [{{name: door, wall: west, along: {along}, leaf: {leaf}, opens: out{hinge}}}]
items:
  bench: {{body: 1200 x 600 x 900, weight: 80, zone: {{front: 800}}}}
  rack: {{body: 400 x {rack} x {tall}, weight: 60, passable: {passable}}}
  chest:
    body: 600 x 450 x 900
    weight: 60
    motions: [{{name: drawer, kind: drawer, travel: {travel}}}]
schemes:
  a:
    - {{item: bench, at: [2800, 2000], facing: south}}
    - {{item: rack, at: [1500, 0{z}]}}
{more}
"""


def project(*, more=(), **changes):
    words = {
        "rules": "",
        "size": "4000 x 2600",
        "floor": "[{level: 0}]",
        "ceiling": "{flat: 2400}",
        "along": 800,
        "leaf": "838 x 1981 x 44",
        "hinge": "",
        "rack": 2000,
        "tall": 1500,
        "passable": "no",
        "travel": 400,
        "z": "",
    } | changes
    words["more"] = "\n".join(f"    - {line}" for line in more)
    return parse_project(ROOM.format(**words))


def ways(check="passage", **changes):
    answer = check_scheme(project(**changes), "a", nudges=False)
    return [f for f in answer.findings if f.check == check]


@pytest.mark.parametrize(
    ("rack", "verdict"),
    [
        (1850, Verdict.CLEAR),
        (2000, Verdict.CLEAR),
        (2001, Verdict.CAUTION),
        (2150, Verdict.CAUTION),
        (2151, Verdict.CONFLICT),
    ],
)
def test_a_gap_beside_a_rack(rack, verdict):
    """2600 wide less the rack: 600 passes, 599 is tight, 449 is closed."""
    (finding,) = ways(rack=rack)
    assert finding.verdict is verdict
    assert finding.gap_mm == pytest.approx(2600 - rack, abs=1e-6)
    assert finding.items == ("bench",)
    told = f"{2600 - rack} clear on the way to bench, between rack and the north wall"
    assert finding.says.startswith(told)
    assert finding.at_mm[1] == pytest.approx((2600 + rack) / 2, abs=1e-6)


def test_a_wide_way_is_no_news():
    """Beyond what is near, nothing is said."""
    assert ways(rack=1840) == []


def test_a_wall_to_wall_rack_closes_it():
    """No way at all, and no place to show."""
    (finding,) = ways(rack=2600)
    assert finding.verdict is Verdict.CONFLICT
    assert finding.gap_mm == 0.0
    assert finding.says == "no way on foot to bench; 600 asked for"


def test_a_move_that_opens_it_is_offered():
    """440 beside a chest moves it by what is missing to 600, and the move is found free."""
    more = ["{item: chest, at: [1500, 1710]}"]
    answer = check_scheme(project(rack=1270, more=more), "a")
    (finding,) = [f for f in answer.findings if f.check == "passage"]
    assert finding.gap_mm == pytest.approx(440.0, abs=1e-6)
    assert finding.nudge.item == "chest"
    assert finding.nudge.by_mm == pytest.approx((0.0, 160.0, 0.0), abs=0.1)
    assert finding.nudge.starts == ()


@pytest.mark.parametrize(
    "changes",
    [
        {"passable": "yes"},
        {"tall": 150},
        {"z": ", 2000"},
    ],
)
def test_what_does_not_stand_in_the_way(changes):
    """A mat, a thing low enough to step over, and a thing hung at the headroom."""
    assert ways(rack=2600, **changes) == []


@pytest.mark.parametrize("changes", [{"tall": 150.1}, {"z": ", 1899", "tall": 400}])
def test_what_does(changes):
    """A little higher than is stepped over; a little lower than may be stooped under."""
    assert ways(rack=2600, **changes)[0].verdict is Verdict.CONFLICT


def test_between_stoop_and_headroom_it_is_a_caution():
    """1950 under a hung thing: closed at 2000, open at 1900."""
    (finding,) = ways(rack=2600, z=", 1950", tall=400)
    assert finding.verdict is Verdict.CAUTION
    assert "no way on foot to bench at 2000 high" in finding.says
    assert "or 794 clear through door, stooping to 1900" in finding.says


@pytest.mark.parametrize(("step", "closed"), [(220, False), (221, True)])
def test_a_step_in_the_floor(step, closed):
    """Walked up to the rise, a barrier above it."""
    floor = f"[{{level: 0}}, {{from: east, depth: 2400, level: {step}}}]"
    found = ways(rack=400, floor=floor, ceiling="{flat: 3000}")
    assert [f.verdict for f in found] == ([Verdict.CONFLICT] if closed else [])


def test_a_slope_is_a_wall_of_its_own():
    """Ceiling 1500 + y at the south: 2000 from y 500; the rack leaves 620 of the rest."""
    ceiling = "{slopes: {south: 1500, north: 4100}}"
    chests = [f"{{item: chest, name: c{y}, at: [2000, {y}]}}" for y in (1120, 1570, 2020)]
    found = ways(rack=100, ceiling=ceiling, more=chests)
    (finding,) = found
    assert finding.gap_mm == pytest.approx(620.0, abs=0.05)
    assert "between c1120 and the low ceiling" in finding.says


INCH = 25.4


@pytest.mark.parametrize(("disc", "passes"), [(32 * INCH, True), (32 * INCH + 0.1, False)])
def test_the_published_doorway(disc, passes):
    """A door opening is at least 32 in clear, face of leaf to stop at 90 degrees.

    Source: ADA Standards 2010, 404.2.3, seen second-hand. 812.8 passes and 812.9 does not.
    """
    leaf = 32 * INCH + 44
    layout = place(project(leaf=f"{leaf} x 1981 x 44", rack=100), "a", Values())
    (door,) = entrances(layout, Rules())
    assert (door.clear >= disc - 1e-6) is passes


def test_a_narrow_door_is_said_once():
    """A 533 leaf 44 thick leaves 489: every way in is through it."""
    (finding,) = ways(leaf="533 x 1981 x 44", rack=100)
    assert finding.gap_mm == pytest.approx(489.0, abs=1e-6)
    assert finding.says.startswith("489 clear on the way to bench, through door")


@pytest.mark.parametrize(("x", "closed"), [(0, True), (300, True), (700, False)])
def test_a_thing_before_the_door(x, closed):
    """A chest 1400 wide across the doorway: against it or 300 off nobody comes in, 700 off they do.

    The chest stands between y 500 and y 1900, the doorway between 800 and 1638.
    """
    wide = ROOM.replace("600 x 450 x 900", "400 x 1400 x 900")
    words = {"rules": "", "size": "4000 x 2600", "floor": "[{level: 0}]", "z": "", "rack": 100}
    words |= {"ceiling": "{flat: 2400}", "along": 800, "leaf": "838 x 1981 x 44", "hinge": ""}
    words |= {"tall": 900, "passable": "no", "travel": 400}
    words["more"] = f"    - {{item: chest, at: [{x}, 500]}}"
    answer = check_scheme(parse_project(wide.format(**words)), "a", nudges=False)
    found = [f for f in answer.findings if f.check == "passage"]
    assert [f.verdict for f in found] == ([Verdict.CONFLICT] if closed else [Verdict.CLEAR])
    assert [f.gap_mm for f in found] == [x]


def test_an_inward_leaf_stands_open():
    """Its leaf at 90 degrees against the room's side leaves the rest of the room free."""
    text = {"hinge": ", hinge: left"}
    layout = place(project(rack=100, **text), "a", Values())
    assert [b.name for b in obstacles_on_foot(layout, Rules(), 2000.0)].count("door") == 0


@pytest.mark.parametrize(("travel", "out"), [(500, []), (620, [Verdict.CAUTION])])
def test_the_way_out_counts_open_drawers(travel, out):
    """Chest front at y 2150, drawer open to 2150 - travel; the rack ends at 800."""
    more = ["{item: chest, at: [1400, 2150], facing: south}"]
    found = ways("escape", rack=800, travel=travel, more=more)
    assert [f.verdict for f in found] == out
    if out:
        assert found[0].gap_mm == pytest.approx(2150 - travel - 800, abs=1e-6)
        assert "local codes govern" in found[0].says


def test_the_tape_moves_the_gap():
    """600 nominal with the room 20 either way: a caution that may fall to 580."""
    (finding,) = ways(size="4000 x 2600 ±20")
    assert (finding.worst_mm, finding.best_mm) == (580.0, 620.0)
    assert finding.verdict is Verdict.CAUTION


def surely_wide(plan, doors, goals, width):
    """Whether a disc of a width certainly gets from some door to floor of a zone."""
    floor = Reached.of(plan, doors, width, width / 2).floor
    return any(goal.intersects(floor) for goal in goals)


def _widths(layout, rules=None, headroom=2000.0):
    rules = rules or Rules()
    doors = entrances(layout, rules)
    plan = Plan(layout.room, obstacles_on_foot(layout, rules, headroom))
    found = []
    for item in layout.items:
        for zone in item.zones:
            goals = goals_of(plan, zone.polygon[0], rules.passage / 2)
            found.append(best_way(plan, doors, goals).width if goals else math.nan)
            if goals:
                by_door = found[-1] >= doors[0].clear - 1e-6
                assert by_door or not surely_wide(plan, doors, goals, found[-1] + 0.1)
                slow = found[-1] - 1.0
                assert slow < 20 or surely_wide(plan, doors, goals, slow)
    return found


spots = st.lists(
    st.tuples(st.integers(2, 20), st.integers(0, 20), st.sampled_from([0, 90])),
    min_size=1,
    max_size=4,
)


def _scattered(places):
    more = []
    for k, (i, j, turn) in enumerate(places):
        more.append(f"{{item: chest, name: c{k}, at: [{100 * i}, {100 * j}], turn: {turn}}}")
    return project(rack=100, more=more)


@settings(max_examples=25, deadline=None)
@given(spots)
def test_more_things_never_widen_a_way(places):
    """Each further chest leaves every width as it was or less; and the quick test agrees."""
    last = math.inf
    for count in range(len(places) + 1):
        layout = place(_scattered(places[:count]), "a", Values())
        width = _widths(layout)[0]
        if math.isnan(width):
            return
        assert width <= last + 1e-6
        last = width


@settings(max_examples=15, deadline=None)
@given(spots, st.sampled_from([700, 800, 900]))
def test_asking_more_clears_nothing(places, more):
    """What fails at 600 fails at a larger need."""
    layout = place(_scattered(places), "a", Values())

    def failing(need):
        rules = Rules(passage=float(need))
        readings = read(Context(layout, rules, reach=rules.near))
        return sum(float(r.gap[0]) < r.needs - 0.01 for r in readings)

    assert bool(failing(more)) >= bool(failing(600))


def test_mirrored_rooms_have_mirrored_ways():
    """The same room turned over in y: same width, pinch turned over."""
    one = project(rack=700, more=["{item: chest, at: [1900, 1300]}"])
    text = """
massing: 1
project: Way
room:
  size: 4000 x 2600
  ceiling: [{flat: 2400}]
  doors: [{name: door, wall: west, along: 962, leaf: 838 x 1981 x 44, opens: out, hinge: right}]
items:
  bench: {body: 1200 x 600 x 900, zone: {front: 800}}
  rack: {body: 400 x 700 x 1500}
  chest: {body: 600 x 450 x 900}
schemes:
  a:
    - {item: bench, at: [2800, 0], facing: north}
    - {item: rack, at: [1500, 1900]}
    - {item: chest, at: [1900, 850]}
"""
    first = _widths(place(one, "a", Values()))
    second = _widths(place(parse_project(text), "a", Values()))
    assert first == pytest.approx(second, abs=1e-6)


def test_the_rules_are_the_projects():
    """`passage: 900` makes the 600 way tight; the source says who asked."""
    (finding,) = ways(rules="rules: {passage: 900}")
    assert (finding.needs_mm, finding.verdict) == (900.0, Verdict.CAUTION)
    assert finding.source.startswith("set in the project file (default 600 mm")
    assert rules_of(project(rules="rules: {rise: 100}")).rise == 100.0


def test_a_goal_behind_a_screen_is_not_reached():
    """A screen along the zone's front parts it from the floor just before it."""
    layout = place(project(rack=100, more=["{item: chest, at: [1800, 0]}"]), "a", Values())
    plan = Plan(layout.room, obstacles_on_foot(layout, Rules(), 2000.0))
    zone = layout.item("bench").zones[0].polygon[0]
    assert min(goal.bounds[1] for goal in goals_of(plan, zone, 300.0)) == pytest.approx(900.0)
    screen = Block(
        "screen", "body", np.array([[[2400.0, 1180], [4000, 1180], [4000, 1200], [2400, 1200]]])
    )
    plan = Plan(layout.room, (*plan.blocks, screen))
    assert min(goal.bounds[1] for goal in goals_of(plan, zone, 300.0)) == pytest.approx(1200.0)


PARTED = """
massing: 1
project: Parted
room:
  size: 5000 x 2600
  ceiling: [{{flat: 2400}}]
  doors: [{{name: door, wall: west, along: 800, leaf: 838 x 1981 x 44, opens: out}}]
items:
  bench: {{body: 1200 x 600 x 900, weight: 50, zone: {{front: 800}}}}
schemes:
  a:
    partitions:
      - name: divide
        from: {{wall: north, along: 2500}}
        to: {{wall: south, along: 2500}}
        thickness: 100
        openings: [{{name: inner, along: 900, leaf: {leaf} x 1981 x 44}}]
    add:
      - {{item: bench, at: [3700, 2000], facing: south}}
"""


@pytest.mark.parametrize(("leaf", "verdict"), [(762, Verdict.CLEAR), (457, Verdict.CONFLICT)])
def test_through_a_partitions_door(leaf, verdict):
    """Its head, 1981 up, is ducked under; its leaf takes 44 off; the way out leaves it alone."""
    answer = check_scheme(parse_project(PARTED.format(leaf=leaf)), "a", nudges=False)
    ((gap, found),) = [(f.gap_mm, f.verdict) for f in answer.findings if f.check == "passage"]
    assert (gap, found) == (pytest.approx(leaf - 44, abs=1e-6), verdict)
    assert [f for f in answer.findings if f.check == "escape"] == []


def test_a_leaf_in_a_partition_is_not_stopped_by_it():
    """The partition round a leaf is to it what a wall of the room is to its own doors."""
    from massing.checks.leaves import opens_to

    text = """
massing: 1
project: Partitioned
room: {size: 5000 x 3000, ceiling: [{flat: 2400}]}
items: {crate: {body: 400 x 400 x 400}}
schemes:
  a:
    partitions:
      - name: screen
        build-up: stud 63
        from: [3000, 0]
        to: [3000, 3000]
        openings: [{name: inner door, along: 800, leaf: 762 x 1981 x 44, hinge: left, opens: in}]
    add: [{item: crate, at: [100, 100]}]
"""
    layout = place(parse_project(text), "a", Values())
    (leaf,) = layout.leaves
    reach, stopped = opens_to(layout, leaf)
    assert (reach, stopped) == (leaf.full, "")
