"""Reach: what is stored too high, lifted over the shoulder, hidden from an arm, reached over."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.finding import Verdict
from massing.checks.people import grip_reach, shoulder_height
from massing.checks.reach import ACCESS, LIFT, OVER, STORE
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.project.read import parse_project

ROOM = """
massing: 1
project: Box room
{more}
room:
  size: 5000 x 4000
  floor: {floor}
  ceiling: [{{flat: 3000}}]
items:
  shelf: {{body: 900 x 400 x 300, mount: wall, stores: yes}}
  box: {{body: 500 x 380 x 300, weight: {weight}, stores: yes, stack: {{on: [stand, box]}}}}
  stand: {{body: 600 x 400 x {stand}, weight: 60}}
  tap:
    body: 200 x 100 x 200
    mount: wall
    weight: 1
    controls: [{{name: handle, height: 100{shift}}}]
  block: {{body: 400 x 400 x 1500, weight: {heavy}}}
  ledge: {{body: 1000 x {deep} x 800, weight: 60}}
  rug: {{body: 1000 x 500 x 20, weight: 60, passable: yes}}
schemes:
  a:
{placed}
"""


def project(*placed, **changes):
    words = {
        "more": "",
        "floor": "[{level: 0}]",
        "weight": 15,
        "stand": 800,
        "shift": "",
        "heavy": 60,
        "deep": 500,
        **changes,
    }
    return parse_project(ROOM.format(placed="\n".join(f"    - {p}" for p in placed), **words))


def found(check, *placed, **changes):
    answer = check_scheme(project(*placed, **changes), "a", nudges=False)
    return [finding for finding in answer.findings if finding.check == check]


def shelf(height):
    return f"{{item: shelf, against: north, along: 2000, height: {height}}}"


def test_a_shelf_at_the_reach_passes_and_a_tenth_above_is_told():
    assert found(STORE, shelf(1800)) == []
    (finding,) = found(STORE, shelf(1800.1))
    assert finding.verdict is Verdict.CAUTION
    assert finding.gap_mm == pytest.approx(-0.1)
    assert finding.says == "shelf begins 1800.1 above the floor, out of reach beyond 1800"
    assert "1806" in finding.source


def test_height_is_from_the_floor_one_stands_on():
    """A raised floor under it brings it within reach."""
    floor = "[{level: 0}, {from: north, depth: 1000, level: 150}]"
    put = "{item: shelf, at: [2000, 3600, 1950]}"
    assert found(STORE, put, floor=floor) == []
    assert len(found(STORE, put)) == 1


@pytest.mark.parametrize("stature", [1400, 1450, 1500])
def test_short_people_reach_less_high(stature):
    """The tallest user's own grip, 1.2 of stature, where it is under the usual shelf."""
    more = f"people: {{stature: {stature}}}"
    limit = 1.2 * stature
    assert found(STORE, shelf(limit), more=more) == []
    assert len(found(STORE, shelf(limit + 0.1), more=more)) == 1


def test_tall_people_do_not_raise_everyones_shelf():
    assert rules_of(project(shelf(1000), more="people: {stature: 1950}")).top_shelf == 1800
    set_by_hand = rules_of(project(shelf(1000), more="rules: {top-shelf: 2000}"))
    assert set_by_hand.top_shelf == 2000
    assert found(STORE, shelf(1900), more="rules: {top-shelf: 2000}") == []


def test_body_shares_follow_the_adult_tables():
    """5th percentile woman 1505 tall grips at 1806; 95th percentile man 1855 at 2210 (1.19)."""
    assert grip_reach(1505) == 1806
    assert grip_reach(1855) == pytest.approx(2210, rel=0.01)
    assert shoulder_height(1755) == pytest.approx(1439.1)


def stacked(count):
    """Boxes of 300 one on another on a stand of 800."""
    lines = ["{item: stand, against: north, along: 2000}"]
    below = "stand"
    for number in range(count):
        lines.append(f"{{item: box, name: box {number}, on: {below}}}")
        below = f"box {number}"
    return lines


def test_heavy_boxes_over_the_shoulder():
    """On 800 they begin at 800, 1100 and 1400: at the shoulder is not over it."""
    assert found(LIFT, *stacked(3)) == []
    (finding,) = found(LIFT, *stacked(3), stand=800.5)
    assert finding.items == ("box 2",)
    assert finding.gap_mm == pytest.approx(-0.5)
    assert "between 700 and 1200" in finding.says


def test_light_boxes_are_lifted_anywhere_within_reach():
    assert found(LIFT, *stacked(4), weight=10) == []
    assert [f.items for f in found(LIFT, *stacked(4), weight=10.1)] == [("box 3",)]


def test_out_of_reach_is_not_told_twice():
    """At 2000 the box is out of reach: one finding, not two."""
    assert [f.items for f in found(STORE, *stacked(5))] == [("box 4",)]
    assert [f.items for f in found(LIFT, *stacked(5))] == [("box 3",)]


def test_a_shoulder_follows_stature():
    more = "people: {stature: 1500}"
    assert rules_of(project(shelf(1000), more=more)).shoulder == 1230
    assert len(found(LIFT, *stacked(3), more=more)) == 1


def tap(along=2000, height=900):
    return f"{{item: tap, against: north, along: {along}, height: {height}}}"


def block(along, off, height=None):
    up = "" if height is None else f", height: {height}, mount: wall"
    return f"{{item: block, against: north, along: {along}, off: {off}{up}}}"


def test_an_arm_reaches_a_bare_tap():
    assert found(ACCESS, tap()) == found(OVER, tap()) == []


@pytest.mark.parametrize(("off", "count"), [(700, 0), (699.9, 1), (100, 1)])
def test_the_arm_is_six_hundred_deep(off, count):
    """The tap stands out 100; a block before it is out of the way 600 further on."""
    told = found(ACCESS, tap(), block(1900, off))
    assert len(told) == count
    if told:
        assert told[0].items == ("tap", "block")
        assert told[0].verdict is Verdict.CAUTION
        assert "taken by block" in told[0].says


@pytest.mark.parametrize(("right", "count"), [(1800 + 300, 0), (1800 + 299.9, 1)])
def test_the_arm_is_three_hundred_wide_and_need_not_be_centred(right, count):
    """Between two blocks; the tap's handle is at 2100 across, hard by the right one."""
    blocks = [block(1400, 100), block(right, 100).replace("{item: block", "{item: block, name: b")]
    told = found(ACCESS, tap(1950), *blocks)
    assert len(told) == count
    if told:
        assert "between block and b" in told[0].says


def test_a_control_may_be_off_the_middle():
    """Its own place counts: to the left of a block that covers the right half."""
    covered = block(2110, 100)
    assert found(ACCESS, tap(), covered, shift=", shift: 20") == []
    assert len(found(ACCESS, tap(), covered, shift=", shift: 180")) == 1


def test_a_wall_before_it_counts():
    """A tap on a wall 500 from a fixed wall opposite: a room 600 wide."""
    text = """
massing: 1
project: Slot
room: {{size: 3000 x {wide}, ceiling: [{{flat: 2400}}]}}
items:
  tap: {{body: 200 x 100 x 200, mount: wall, controls: [{{name: handle, height: 100}}]}}
schemes: {{a: [{{item: tap, against: north, along: 1000, height: 900}}]}}
"""
    for wide, count in ((700, 0), (699.9, 1)):
        answer = check_scheme(parse_project(text.format(wide=wide)), "a", nudges=False)
        told = [f for f in answer.findings if f.check == ACCESS]
        assert len(told) == count
        assert all("the south wall" in f.says for f in told)


def test_what_one_hand_moves_is_not_in_the_way():
    assert found(ACCESS, tap(), block(1900, 100), heavy=14.9) == []
    stays = block(1900, 100).replace("}", ", stays: yes}")
    assert len(found(ACCESS, tap(), stays, heavy=14.9)) == 1


def test_reached_over_a_ledge():
    """Handle at 1219.2 over a ledge to 20 in (508) beyond the tap's face; source: ADA 308.2.2."""
    ledge = "{item: ledge, against: north, along: 1600}"
    at_limit = tap(height=1219.2 - 100)
    assert found(OVER, at_limit, ledge, deep=608) == []
    (finding,) = found(OVER, at_limit, ledge, deep=608.1)
    assert finding.gap_mm == pytest.approx(1117.6 - 1219.2, abs=1e-3)
    assert "1117.6" in finding.says
    (finding,) = found(OVER, tap(height=900), ledge, deep=100 + 635.1)
    assert "too deep to reach over" in finding.says
    assert found(OVER, tap(height=900), ledge, deep=100 + 635) == []


def test_what_is_stepped_on_or_lies_flat_is_not_reached_over():
    rug = "{item: rug, against: north, along: 1600}"
    assert found(OVER, tap(height=1300), rug) == []


def test_what_one_can_stand_before_is_not_reached_over():
    ledge = "{item: ledge, against: north, along: 1600, off: 700}"
    assert found(OVER, tap(height=1300), ledge) == []
    assert len(found(OVER, tap(height=1300), ledge.replace("700", "690"))) == 1


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from(["east", "south", "west"]),
    st.integers(100, 800),
)
def test_the_wall_it_is_on_changes_nothing(side, off):
    """The same tap and block on each wall: the same width, whichever way it faces."""
    one = found(ACCESS, tap(), block(2050, off))
    other = found(ACCESS, tap().replace("north", side), block(2050, off).replace("north", side))
    assert [f.gap_mm for f in one] == [f.gap_mm for f in other]


def test_a_control_too_high_to_work():
    """1650 where the control says no heights of its own; 200 over a short user's shoulder."""
    assert found("control height", tap(height=1550)) == []
    (finding,) = found("control height", tap(height=1550.1))
    assert finding.says == "handle of tap is 1650.1 above the floor (hard to work above 1650)"
    short = "people: {stature: 1500}"
    assert rules_of(project(tap(), more=short)).top_control == 1430
    assert found("control height", tap(height=1330), more=short) == []
    assert len(found("control height", tap(height=1331), more=short)) == 1


@pytest.mark.parametrize("check", [STORE, LIFT, ACCESS, OVER])
def test_the_tape_is_carried(check):
    """A ± that reaches over the limit is told, with what it turns on."""
    cases = {
        STORE: (shelf("1795 ±10"),),
        LIFT: stacked(3),
        ACCESS: (tap(), block(1900, "705 ±10")),
        OVER: (tap(height="1110 ±20"), "{item: ledge, against: north, along: 1600}"),
    }
    changes = {"stand": "795 ±10"} if check == LIFT else {}
    (finding,) = found(check, *cases[check], **changes)
    assert finding.worst_mm < finding.needs_mm <= finding.gap_mm
    assert finding.turns_on
