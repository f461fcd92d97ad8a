"""What stands in a zone: how it is told, what is reached over, and what a re-check reads again."""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks import working_space
from massing.checks.context import Context
from massing.checks.finding import Verdict
from massing.checks.nudges import failures, moved_layout, recheck_moved
from massing.checks.registry import readings
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values

KITCHEN = """
massing: 1
project: Galley
room: {{size: 3600 x 3000, ceiling: [{{flat: 2400}}]}}
items:
  cupboard:
    body: 600 x 330 x 700
    mount: wall
    zone: {{front: 600}}
  unit: {{body: 600 x {deep} x {tall}, weight: 40}}
schemes:
  a:
    - {{item: cupboard, against: north, along: 1000, height: 1400}}
    - {{item: unit, against: north, along: {along}, off: {gap}}}
"""


def in_zone(deep=600, tall=900, along=1000, gap=0):
    text = KITCHEN.format(deep=deep, tall=tall, along=along, gap=gap)
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    return [f for f in found if f.check == "zone" and set(f.items) == {"cupboard", "unit"}]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, False),
        ({"deep": 650}, False),
        ({"deep": 650.1}, True),  # further out than one reaches over
        ({"tall": 1400}, False),
        ({"along": 1599}, False),  # a millimetre of it is below
        ({"along": 1610, "deep": 640}, False),  # beside it: not in the zone at all
        ({"gap": 331, "deep": 300}, True),  # before it, not below
        ({"gap": 50, "deep": 600}, False),
        ({"gap": 51, "deep": 600}, True),
    ],
)
def test_one_reaches_over_what_stands_below(changed, told):
    """650 from the wall: common practice, no source."""
    assert bool(in_zone(**changed)) is told


UNSURE = """
massing: 1
project: Tape
room: {size: 4000 x 3000, ceiling: [{flat: 2400}]}
items:
  desk: {body: 1200 x 600 x 720, zone: {front: 700}}
  chest: {body: 500 x 500 ±100 x 800, weight: 40}
schemes:
  a:
    - {item: desk, at: [1000, 2000], facing: south}
    - {item: chest, at: [1300, 725], facing: south}
"""


def test_what_may_stand_in_a_zone_is_told_as_clear_of_it():
    """Nothing is a negative length inside something."""
    found = check_scheme(parse_project(UNSURE), "a", nudges=False).findings
    (told,) = [f for f in found if f.check == "zone"]
    assert told.verdict is Verdict.REMEASURE
    assert told.gap_mm == 75.0
    assert told.says.startswith("chest is 75 clear of the use zone of desk")


BOARD = """
massing: 1
project: Switch room
room: {size: 4000 x 3000, ceiling: [{flat: 2400}]}
items:
  panel:
    body: 400 x 150 x 760
    mount: wall
    working-space: {width: 762, depth: 914, height: 1981}
  block: {body: 400 x 400 x 800, weight: 40}
schemes:
  a:
    - {item: panel, against: north, along: 1500, height: 1000}
    - {item: block, at: [300, 300]}
"""


def held_board():
    project = parse_project(BOARD)
    return Context(place(project, "a", Values()), rules_of(project), reach=150.01)


@pytest.mark.parametrize(("by", "fails"), [((1200, 1800), True), ((2600, 1800), False)])
def test_working_space_that_a_move_narrows_is_read_again(by, fails):
    held, by = held_board(), np.array([*by, 0.0])
    again = failures(recheck_moved(held, "block", by))
    assert (("working space", ("panel",)) in again) is fails
    whole = Context(moved_layout(held.layout, "block", by)[0], held.rules, held.reach)
    assert (("working space", ("panel",)) in failures(readings(whole))) is fails


def test_a_move_far_from_working_space_asks_nothing_of_it(monkeypatch):
    held = held_board()
    found = list(recheck_moved(held, "block", np.array([0.0, 100.0, 0.0])))
    assert not [r for r in found if r.check == "working space"]
    monkeypatch.setattr(working_space, "_may_narrow", lambda *_: True)
    found = list(recheck_moved(held, "block", np.array([0.0, 100.0, 0.0])))
    assert [r for r in found if r.check == "working space"]


STEP_AND_SLOPE = """
massing: 1
project: p
room:
  size: 4000 x 3000
  floor: [{level: 0}, {from: south, depth: 1000, level: 200}]
  ceiling: [{slopes: {west: 2000, east: 2800}}]
items: {desk: {body: 700 x 400 x 700, zone: {front: 700, headroom: 2100}}}
schemes: {a: [{item: desk, centre: [1000, 1500], turn: 30}]}
"""


def test_height_is_above_the_floor_just_there():
    """The lowest of the slope lies over the low floor, the high floor under a higher part."""
    from shapely import Polygon, box

    project = parse_project(STEP_AND_SLOPE)
    (zone,) = place(project, "a", Values()).items[0].zones
    plan, mine = Polygon(zone.polygon[0]), []
    for level, floor in ((0, box(0, 1000, 4000, 3000)), (200, box(0, 0, 4000, 1000))):
        corners = plan.intersection(floor).exterior.coords
        mine.append(min(2000 + x / 5 - level for x, _ in corners))
    lowest = min(2000 + x / 5 for x, _ in plan.exterior.coords)
    (found,) = [f for f in check_scheme(project, "a").findings if f.check == "headroom"]
    assert found.gap_mm == pytest.approx(min(mine), abs=1e-3)
    assert found.gap_mm > lowest - 200 + 1


def over_a_step(*placed):
    """What is told of a bench whose zone lies half on a slab 180 higher, with more beside it."""
    text = (
        "massing: 1\nproject: p\nroom: {size: 4000 x 3000, ceiling: [{flat: 2600}], floor: "
        "[{name: low, level: 0}, {name: slab, from: east, depth: 2000, level: 180}]}\nitems:\n"
        "  bench: {body: 1000 x 500 x 900, zone: {front: 600}}\n"
        "  box: {body: 150 x 300 x 150, weight: 30}\n"
        "  lamp: {body: 300 x 300 x 300, mount: ceiling}\n"
        "  hatch: {body: 400 x 300 x 400, mount: wall, motions: [{name: panel, kind: overhead}]}\n"
        "schemes:\n  a:\n    - {item: bench, at: [1500, 2500], facing: south}\n"
    )
    rows = "".join(f"    - {row}\n" for row in placed)
    found = check_scheme(parse_project(text + rows), "a", nudges=False).findings
    return {f.check: f for f in found if "bench" in f.items and f.check != "support"}


def test_what_lies_on_the_lower_floor_of_a_zone_is_in_it():
    """A box lower than the slab beside it is stumbled over all the same."""
    told = over_a_step("{item: box, at: [1600, 2000]}")["zone"]
    assert (told.gap_mm, told.verdict) == (-150.0, Verdict.CONFLICT)


@pytest.mark.parametrize(("x", "clear"), [(1550, True), (2100, False)])
def test_what_hangs_over_a_zone_is_as_high_as_over_the_floor_there(x, clear):
    """2100 over the lower floor is 1920 over the slab; 2000 is asked for."""
    found = over_a_step(f"{{item: lamp, at: [{x}, 2000, 2100]}}")
    assert ("zone" not in found) is clear
    if not clear:
        assert "1920 above its floor" in found["zone"].says


@pytest.mark.parametrize(("x", "height"), [(1560, 1960.0), (2060, 1780.0)])
def test_what_opens_over_a_zone_is_as_high_as_over_the_floor_there(x, height):
    """A panel that opens level at 1960 above the lower floor, before a thing fixed at 1580."""
    found = over_a_step(f"{{item: hatch, at: [{x}, 2200, 1580], facing: south}}")
    assert found["open panel"].gap_mm == height
