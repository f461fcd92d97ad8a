"""What planted changes must not get past: verdicts, strips, faces and reaches in exact figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.checks.ahead import face_of, level_air, pushes_out, side_face
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.openings import hidden_share, opening_way
from massing.checks.people import body_size, grip_reach, height_needed, shoulder_height
from massing.checks.published import forward_reach_over, side_reach_over
from massing.checks.rules import RULES, rules_of
from massing.checks.run import check_scheme
from massing.checks.standing import low_area, lowest_point
from massing.checks.strip import FAR, Band, Strip, free_runs, item_strip, stretches
from massing.checks.strip_bounds import block_bounds, surely_within
from massing.checks.verdicts import extreme_shifts, judge
from massing.checks.words import mm, move_words, place
from massing.project.read import parse_project
from massing.scheme.place import place as place_scheme
from massing.survey.values import Measure, Values

HEAD = "massing: 1\nproject: p\nroom:\n  size: 4000 x 3000\n"
FLAT = "  ceiling: [{flat: 2400}]\n"


def laid(text):
    return place_scheme(parse_project(HEAD + text), "only", Values())


def found(text, check):
    answer = check_scheme(parse_project(HEAD + text), "only")
    return [finding for finding in answer.findings if finding.check == check]


def reading(gap, needs=0.0, **more):
    return Reading(check="c", items=("a",), gap=np.array(gap, dtype=float), needs=needs,
                   detail=lambda: Detail(says=""), **more)  # fmt: skip


MEASURES = (
    Measure("a", "a", 100.0, 3.0),
    Measure("b", "b", 50.0, 8.0),
    Measure("c", "c", 1.0, 1.0),
)


def test_a_verdict_in_every_part():
    """Gap 10; a: 13 and 7; b: 2 and 18; c moves nothing. Shares -3 and 8."""
    told = judge(reading([10, 13, 7, 2, 18, 10, 10], 0.0), MEASURES)
    assert (told.nominal, told.worst, told.best) == (10.0, -1.0, 21.0)
    assert told.shares == (("b", 8.0), ("a", -3.0))
    assert told.plus_minus == pytest.approx(2.0 * math.sqrt((9.0 + 64.0) / 3.0))
    # Below zero only in a corner of the rectangle 6 x 16: a triangle of legs 1 (to -0.01).
    assert told.chance == pytest.approx(1.0 - 0.5 * (1.0 - 0.01) ** 2 / (6.0 * 16.0))
    assert (told.verdict, told.bent) == (Verdict.REMEASURE, False)
    assert judge(reading([10, 13, 7, 2, 18, 10, 10], 30.0), MEASURES).verdict is Verdict.CONFLICT
    assert judge(reading([10, 13, 7, 2, 18, 10, 10], -2.0), MEASURES).verdict is Verdict.CLEAR
    caution = reading([10, 13, 7, 2, 18, 10, 10], 0.0, weight=Verdict.CAUTION)
    assert judge(caution, MEASURES).verdict is Verdict.CAUTION
    bent = judge(reading([10, 10.2, 10, 10, 10, 10, 10]), MEASURES)
    assert bent.bent
    assert bent.shares == (("a", pytest.approx(-0.1)),)
    assert (bent.worst, bent.best) == (10.0, pytest.approx(10.2))
    assert not judge(reading([10, 10.05, 10, 10, 10, 10, 10]), MEASURES).bent
    alone = judge(reading([10.0]), ())
    assert (alone.worst, alone.best, alone.chance, alone.shares) == (10.0, 10.0, 1.0, ())


def test_the_worlds_are_each_measure_at_its_ends():
    assert extreme_shifts(MEASURES).tolist() == [
        [0, 0, 0], [-3, 0, 0], [3, 0, 0], [0, -8, 0], [0, 8, 0], [0, 0, -1], [0, 0, 1],
    ]  # fmt: skip


def test_every_share_of_a_room_measured():
    """A chest 40 from the east wall of 4000 ± 30, its size ± 20: worst -10, best 90."""
    text = (
        "  ceiling: [{flat: 2400}]\nitems:\n  chest: {body: 960 ±20 x 400 x 900}\n"
        "schemes:\n  only: [{item: chest, at: [3000, 500]}]\n"
    )
    (told,) = [
        f
        for f in check_scheme(
            parse_project((HEAD + text).replace("4000 x", "4000 ±30 x")), "only"
        ).findings
        if f.check == "walls"
    ]
    assert (told.gap_mm, told.worst_mm, told.best_mm) == pytest.approx((40.0, -10.0, 90.0))
    assert [share for _, share in told.turns_on] == pytest.approx([30.0, -20.0])
    assert told.plus_minus_mm == pytest.approx(2.0 * math.sqrt((900.0 + 400.0) / 3.0), abs=1e-3)
    assert told.chance_clear == pytest.approx(
        1.0 - 0.5 * (10.0 - 0.01) ** 2 / (60.0 * 40.0), abs=1e-4
    )
    assert told.verdict is Verdict.REMEASURE


# ---- strips


@pytest.mark.parametrize("facing", ["south", "east", "north", "west"])
def test_the_strip_before_each_side_of_a_turned_thing(facing):
    """A body 800 wide and 300 deep, in its own axes wherever it looks."""
    text = FLAT + (
        "items:\n  chest: {body: 800 x 300 x 900}\nschemes:\n  only:\n"
        f"    - {{item: chest, at: [1000, 1200], facing: {facing}}}\n"
    )
    item = laid(text).item("chest")
    out = {"south": (0, -1), "east": (1, 0), "north": (0, 1), "west": (-1, 0)}[facing]
    for side, width in (("front", 800.0), ("back", 800.0), ("left", 300.0), ("right", 300.0)):
        strip = item_strip(item, side, 0)
        assert strip.width == pytest.approx(width)
        face = side_face(item, side)
        assert face.level[0] == pytest.approx(float(strip.corner @ strip.out))
        assert face.right[0] - face.left[0] == pytest.approx(width)
        assert strip.along == pytest.approx([-strip.out[1], strip.out[0]])
        own = strip.own(item.parts[0].solid.corners[0, :, :2])
        assert (own[:, 0].min(), own[:, 0].max()) == pytest.approx((0.0, width), abs=1e-9)
        assert own[:, 1].max() == pytest.approx(0.0, abs=1e-9)
        assert strip.room(own) == pytest.approx(item.parts[0].solid.corners[0, :, :2])
    front, left = item_strip(item, "front", 0), item_strip(item, "left", 0)
    assert front.out == pytest.approx(out)
    # Looking at its front, its left hand side is where along the strip begins.
    assert left.out == pytest.approx(-front.along)
    for side, low, high in (("top", 900.0, 1000.0), ("under", -100.0, 0.0)):
        air = level_air(item, side, np.array([100.0]))
        assert (air.solid.low[0, 2], air.solid.high[0, 2]) == pytest.approx((low, high), abs=0.011)
        plan = (air.solid.high - air.solid.low)[0, :2]
        assert sorted(plan) == pytest.approx([300.0, 800.0], abs=0.03)
        assert air.way[0].tolist() == [0.0, 0.0, 1.0 if side == "top" else -1.0]


STRIP = Strip(np.array([1000.0, 2000.0]), np.array([1.0, 0.0]), np.array([0.0, -1.0]), 800.0)


def test_what_takes_of_a_strip_and_what_is_surely_within():
    """A crate, a slope, a step and the walls, to 900 before y 2000 and between 100 and 1800."""
    text = (
        "  floor: [{level: 0}, {from: east, depth: 1000, level: 150}]\n"
        "  ceiling: [{slopes: {west: 1500, east: 3500}}]\n"
        "items:\n  crate: {body: 300 x 400 x 500}\n  mat: {body: 300 x 400 x 90}\nschemes:\n"
        "  only:\n    - {item: crate, at: [1200, 1500]}\n    - {item: mat, at: [1700, 1500]}\n"
        "    - {item: crate, name: off, at: [2300, 600]}\n"
    )
    layout = laid(text)
    band = Band(900.0, 100.0, 1800.0)
    taken = {name: (low, high) for name, low, high in
             stretches(layout, frozenset(), STRIP, band, 0)}  # fmt: skip
    assert taken["crate"] == pytest.approx((200.0, 500.0))
    assert "mat" not in taken
    assert "off" not in taken
    # 1500 + x/2 is 1800 at x 600: from the west on to there, 400 before the strip begins.
    assert taken["the ceiling"][1] == pytest.approx(-400.0)
    assert taken["the step"][0] == pytest.approx(2000.0)
    assert taken["the west wall"][1] == pytest.approx(-1000.0)
    assert taken["the east wall"][0] == pytest.approx(3000.0)
    assert "crate" not in {name for name, *_ in
                           stretches(layout, frozenset({"crate"}), STRIP, band, 0)}  # fmt: skip
    bound = sorted((low, high) for _, low, high in
                   surely_within(layout, frozenset(), STRIP, band, 0))  # fmt: skip
    for name, (low, high) in taken.items():
        assert any(a <= low + 1e-6 and high - 1e-6 <= b for a, b in bound), name
    assert (200.0, 500.0) in [(pytest.approx(a), pytest.approx(b)) for a, b in bound]
    assert not any(a < 700.0 < b for a, b in bound)
    low, high = block_bounds(STRIP, band)
    assert low.tolist() == [1000.0 - FAR, 1100.0, 100.0]
    assert high.tolist() == [1800.0 + FAR, 2000.0, 1800.0]
    assert STRIP.level(layout.room, 900.0, 0) == 0.0
    assert STRIP.rectangle(0.0, 800.0, 900.0).tolist() in (
        [[1000, 1100], [1800, 1100], [1800, 2000], [1000, 2000]],
        [[1000, 2000], [1000, 1100], [1800, 1100], [1800, 2000]],
        [[1800, 2000], [1000, 2000], [1000, 1100], [1800, 1100]],
        [[1800, 1100], [1800, 2000], [1000, 2000], [1000, 1100]],
    )


def test_what_is_left_between_what_is_taken():
    runs = free_runs([("b", 300.0, 500.0), ("a", 100.0, 350.0), ("in", 320.0, 400.0),
                      ("end", 900.0, 9000.0)], 1000.0)  # fmt: skip
    assert runs == [(-FAR, 100.0, "", "a"), (500.0, 900.0, "b", "end")]
    assert free_runs([], 10.0) == [(-FAR, 10.0 + FAR, "", "")]
    assert free_runs([("a", -FAR, 0.0), ("b", 0.005, 5.0)], 10.0) == [(5.0, 10.0 + FAR, "b", "")]
    assert free_runs([("a", -FAR, 0.0), ("b", 0.02, 5.0)], 10.0)[0] == (0.0, 0.02, "a", "b")


# ---- faces, openings, heights


def test_a_face_its_ring_and_what_is_free_before_it():
    square = np.array([[[0.0, 0], [600, 0], [600, 500], [0, 500]]])
    face = face_of(square, np.array([[0.0, -1.0]]))
    ring = face.ring(np.array([10.0]), np.array([300.0]))[0]
    assert ring == pytest.approx(
        np.array([[0.01, -10.01], [0.01, -300], [599.99, -300], [599.99, -10.01]])
    )
    air = face.air(np.zeros(1), np.array([300.0]), np.array([0.0]), np.array([900.0]))
    assert (air.deep.tolist(), air.way.tolist()) == ([300.0], [[0.0, -1.0, 0.0]])
    assert (air.solid.low[0, 2], air.solid.high[0, 2]) == pytest.approx((0.01, 899.99))


def test_moves_that_widen_what_lies_between():
    text = FLAT + (
        "items:\n  a: {body: 300 x 300 x 300}\nschemes:\n  only:\n    - {item: a, at: [1000, 1000]}"
        "\n    - {item: a, name: b, at: [2000, 1000]}\n    - {item: a, name: kept, at: [3000, 1000]"
        ", stays: true}\n"
    )
    layout = laid(text)
    a, b, kept = (layout.item(name) for name in ("a", "b", "kept"))
    by = np.array([30.0, -40.0])
    assert pushes_out(a, b, by) == (Push("a", (-30.0, 40.0, 0.0)), Push("b", (30.0, -40.0, 0.0)))
    assert pushes_out(a, kept, by) == (Push("a", (-30.0, 40.0, 0.0)),)
    assert pushes_out(None, b, by) == (Push("b", (30.0, -40.0, 0.0)),)
    assert pushes_out(a, b, np.array([0.006, 0.006])) == ()


def test_the_way_before_an_opening_and_the_glass_hidden():
    """A door 762 wide from 700 along the west wall, faced from inside: y 3000 - 700 - 762."""
    text = FLAT + (
        "  doors: [{name: entry, wall: west, along: 700, leaf: 762 x 1981 x 44}]\n"
        "  windows: [{name: light, wall: north, along: 1500, size: 900 x 700, sill: 900}]\n"
        "items:\n  box: {body: 300 x 300 x 1250}\nschemes:\n  only:\n"
        "    - {item: box, at: [1800, 2600]}\n"
    )
    layout = laid(text)
    room = layout.room
    door, window = (next(o for o in room.openings if o.name == n) for n in ("entry", "light"))
    (way,) = opening_way(room, door, 600.0).solids
    wall = room.wall("west")
    y = float(wall.left[0, 1] + wall.along[0, 1] * 700.0)
    other = y + float(wall.along[0, 1]) * float(door.width[0])
    assert way.low[0, 1:].tolist() == pytest.approx([min(y, other), 0.0])
    assert way.high[0].tolist() == pytest.approx([600.0, max(y, other), float(door.height[0])])
    assert way.low[0, 0] == pytest.approx(-float(np.ravel(wall.thickness)[0]))
    assert float(way.volume[0]) > 0.0
    assert hidden_share(room, window, layout.item("box"), 300.0) == pytest.approx(
        300.0 * 350.0 / (900.0 * 700.0)
    )


def test_floor_that_is_too_low_and_where_it_is_lowest():
    """Under 1500 + y/2 over a ring 800 x 700 from y 800: below 2000 to y 1000."""
    text = "  ceiling: [{slopes: {south: 1500, north: 3000}}]\nschemes: {only: []}\n"
    room = laid(text).room
    ring = np.array([[[1000.0, 800], [1800, 800], [1800, 1500], [1000, 1500]]])
    assert low_area(room, ring, 2000.0) == pytest.approx(800.0 * 200.0)
    assert low_area(room, ring, 1900.0) == pytest.approx(0.0, abs=1e-6)
    assert low_area(room, ring, 3000.0) == pytest.approx(800.0 * 700.0)
    at, slope = lowest_point(room, ring)
    assert (at[1], at[2]) == pytest.approx((800.0, 1900.0))
    assert slope == pytest.approx([0.0, 0.5])


def test_a_kit_between_two_is_seen_through():
    """On a stacking kit the heavier still stands over the lighter, by the name below the kit."""
    text = FLAT + (
        "items:\n  low: {body: 600 x 600 x 850, weight: 40}\n  a kit: {body: 600 x 600 x 50}\n"
        "  high: {body: 600 x 600 x 850, weight: 70, stack: {kit: a kit}}\nschemes:\n  only:\n"
        "    - {item: low, at: [1000, 1000]}\n    - {item: a kit, on: low}\n"
        "    - {item: high, on: a kit}\n"
    )
    assert [f.says for f in found(text, "stack")] == [
        "high (70 kg) stands over low (40 kg); the lighter goes above"
    ]


# ---- people and published limits


def test_people_by_percentile_and_posture():
    assert body_size("stature", "man", 5) == 1648.0
    assert body_size("stature", "man", 95) == 1870.0
    every = [body_size("reach", "woman", p) for p in range(1, 100)]
    assert every == sorted(every)
    assert every[0] < 674.0 < every[98] == 852.0
    with pytest.raises(ValueError, match="percentile"):
        body_size("stature", "man", 0.9)
    with pytest.raises(ValueError, match="percentile"):
        body_size("stature", "man", 99.1)
    assert (grip_reach(1600.0), shoulder_height(1600.0)) == (1920.0, 1312.0)
    assert height_needed("jumping", 1700.0)[0] == 2100.0
    assert height_needed("pressing", 1700.0)[0] == 1.25 * 1700.0 + 100.0
    assert height_needed("kneeling", 1700.0)[0] == 1300.0


def test_published_reaches_at_their_limits():
    """ADA Standards 2010, 308.2 and 308.3, in inches."""
    for inches, high in ((0, 48), (20, 48), (20.01, 44), (25, 44), (25.01, None)):
        told = forward_reach_over(inches * 25.4)
        assert told == (None if high is None else pytest.approx(high * 25.4)), inches
    for inches, high in ((10, 48), (10.01, 46), (24, 46), (24.01, None)):
        told = side_reach_over(inches * 25.4)
        assert told == (None if high is None else pytest.approx(high * 25.4)), inches


def test_rules_have_sizes_and_follow_the_people():
    assert all(rule.default >= 0.0 for rule in RULES.values())
    text = HEAD.replace("room:", "people: {stature: 1600}\nroom:") + FLAT + "schemes: {only: []}\n"
    rules = rules_of(parse_project(text))
    assert rules.headroom == height_needed("standing", 1600.0)[0]
    assert (rules.shoulder, rules.top_control) == (1312.0, 1512.0)
    assert rules.top_shelf == min(RULES["top_shelf"].default, 1920.0)


def test_numbers_and_moves_in_words():
    assert [mm(v) for v in (1.04, 1.05, 12.0, -0.04, -2.5)] == ["1", "1.1", "12", "0", "-2.5"]
    assert move_words((0.5, -0.04, -1.0)) == "0.5 east and 1 down"
    assert move_words((-0.05, 0.06, 2.0)) in {"0.1 west and 0.1 north and 2 up",
                                              "0 west and 0.1 north and 2 up"}  # fmt: skip
    assert move_words((0.0, -40.0, 0.04)) == "40 south"
    assert place(np.array([1.04, -0.04, 2.26])) == (1.0, 0.0, 2.3)


# Common practice, no source, but for the published ones that tests/checks/test_published.py and
# the rules' own sources name: whoever changes one changes answers, and says so here.
SIZES = {
    "headroom": 2000, "under": 2000, "doorway": 400, "window": 300, "near": 150, "support": 95,
    "door_angle": 90, "step_by_door": 400, "hinge_side": 20, "passage": 600, "sidestep": 450,
    "route": 2000, "stoop": 1900, "step_over": 150, "rise": 220, "escape": 750, "knuckles": 0,
    "top_shelf": 1800, "shoulder": 1400, "top_control": 1650, "breadth": 567, "zone_lost": 10,
    "water": 300, "aisle": 1200, "aisle_least": 1050, "seat": 600, "seat_passing": 900,
    "drawer": 600, "filler": 50, "vent": 300, "shut_in": 150, "air_opening": 645,
}  # fmt: skip


def test_no_rule_changes_its_size_unsaid():
    assert {name: RULES[name].default for name in SIZES} == SIZES


def test_flush_in_doubt_is_told_as_nothing_between():
    text = FLAT + (
        "items:\n  desk: {body: 1200 ±10 x 600 x 720}\n  bin: {body: 300 x 300 x 400}\nschemes:\n"
        "  only:\n    - {item: desk, at: [1000, 500]}\n    - {item: bin, at: [2200, 600]}\n"
    )
    (told,) = found(text, "bodies")
    assert (told.verdict, told.gap_mm, told.worst_mm, told.best_mm) == (
        Verdict.REMEASURE, 0.0, -10.0, 10.0,
    )  # fmt: skip
    assert (told.says, told.overlap_l, told.nudge) == ("0 between desk and bin", None, None)


def test_what_was_asked_for_is_told_when_it_is_met():
    """A dial 550 from both its ends, and 3000 from wall to wall before a board, in doubt."""
    text = FLAT + (
        "items:\n  unit: {body: 500 x 300 x 400, mount: wall, controls: [{name: dial, height: 200, "
        "between: 900..2000}]}\n  board: {body: 600 x 200 x 800, mount: wall, working-space: "
        "{width: 900, depth: 1000, height: 2000, why: room to work}}\nschemes:\n  only:\n"
        "    - {item: unit, against: north, along: 300, height: 1250}\n"
        "    - {item: board, against: east, along: 1000, height: 1000}\n"
    )
    answer = check_scheme(parse_project((HEAD + text).replace("4000 x", "4000 ±20 x")), "only")
    told = {f.check: (f.verdict, f.gap_mm, f.needs_mm) for f in answer.findings}
    assert told["control height"] == (Verdict.CLEAR, 550.0, 0.0)
    assert told["working space"] == (Verdict.CLEAR, pytest.approx(3000.0), 900.0)


def test_the_door_of_what_stands_on_another_is_loaded_in_reach():
    """On 1300, the middle of a door 850 high is at 1725: 75 over 1650. On 1200 it is not."""
    for high, gaps in ((1300, [-75.0]), (1200, [])):
        text = FLAT + (
            f"items:\n  low: {{body: 600 x 600 x {high}}}\n  drum: {{body: 600 x 600 x 850, "
            "motions: [{name: door, kind: leaf, hinge: left, angle: 90}]}\nschemes:\n  only:\n"
            "    - {item: low, at: [1000, 1000]}\n    - {item: drum, on: low}\n"
        )
        assert [f.gap_mm for f in found(text, "door height")] == gaps


def test_a_leaf_stopped_by_a_corner():
    """Pinned at x 3300, the corner (2600, 300) is met at atan(300 / 700) of its 762."""
    text = (
        "  ceiling: [{flat: 2400}]\n  doors: [{name: entry, wall: south, along: 700, leaf: "
        "762 x 1981 x 44, hinge: left, opens: in}]\nitems:\n  box: {body: 300 x 200 x 500}\n"
        "schemes:\n  only: [{item: box, at: [2600, 300]}]\n"
    )
    (told,) = found(text, "door leaf")
    assert told.reaches == pytest.approx(math.degrees(math.atan2(300, 700)), abs=0.01)
    assert told.of == 90.0
    assert told.says.startswith("entry opens 23.2° of 90°, stopped by box (overlap 262, ")
    # What it shares of the sector, by a fine sum over the box's plan, and 500 high.
    x, y = np.meshgrid(np.arange(2600.5, 2900), np.arange(300.5, 500))
    shared = float((np.hypot(3300 - x, y) <= 762.0).sum())
    assert told.area_m2 == pytest.approx(shared / 1e6, abs=2e-4)
    assert told.overlap_l == pytest.approx(shared * 500.0 / 1e6, abs=0.1)


def test_a_reading_is_plain_unless_it_says_more():
    told = reading([1.0])
    assert (told.touching, told.noted, told.firm, told.reach) == (False, False, False, False)
    assert (told.weight, told.unit, told.needs) == (Verdict.CONFLICT, "mm", 0.0)
