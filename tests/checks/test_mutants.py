"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.checks.context import Context, body_group, meetings
from massing.checks.entrances import leaf_angle
from massing.checks.fillers import read as read_fillers
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.leaves import opens_to
from massing.checks.motions import item_movers
from massing.checks.nudges import _rank, _whole_stack
from massing.checks.passage import _listed
from massing.checks.passage_ways import Plan
from massing.checks.rules import rules_of
from massing.checks.run import _worst_each, check_scheme
from massing.checks.verdicts import judge
from massing.project.read import parse_project
from massing.scheme.floor_plan import Block
from massing.scheme.place import place as place_scheme
from massing.survey.values import Values

HEAD = "massing: 1\nproject: p\nroom:\n"


def reading(gap, needs, unit="mm"):
    return Reading(
        check="c",
        items=("a", "b"),
        gap=np.array([float(gap)]),
        detail=lambda: Detail(says=""),
        needs=needs,
        unit=unit,
    )


def laid(text):
    return place_scheme(parse_project(HEAD + text), "only", Values())


def found(text, check, scheme="only"):
    answer = check_scheme(parse_project(text), scheme)
    return [finding for finding in answer.findings if finding.check == check]


@pytest.mark.parametrize("turned", [False, True])
def test_of_one_pair_the_reading_with_least_to_spare_is_told(turned):
    """Least to spare is not the least gap: 100 where 200 is needed is worse than 50 of 60."""
    both = [reading(100, 200), reading(50, 60)]
    judged = [(one, judge(one, ())) for one in (both[::-1] if turned else both)]
    ((told, _),) = _worst_each(judged)
    assert told is both[0]


@pytest.mark.parametrize(
    ("unit", "short", "verdict"),
    [("mm", 0.009, "clear"), ("mm", 0.011, "conflict"), ("degrees", 0.009, "conflict"),
     ("degrees", 1e-7, "clear")],
)  # fmt: skip
def test_only_a_length_may_fall_short_by_a_touch(unit, short, verdict):
    """A touch is 0.01 mm; an angle or a share has rounding to spare and no more."""
    assert judge(reading(90 - short, 90, unit), ()).verdict is Verdict(verdict)


def test_a_ceiling_that_stops_a_leaf_only_at_its_worst_is_measured_again():
    """Ceiling over the leaf's free end: 2100 - 600 x 762 / 4000 = 1986, 5 above the leaf, ± 20."""
    text = (
        HEAD + "  size: 4000 x 3000\n  ceiling: [{slopes: {west: 2100 ±20, east: 1500}}]\n"
        "  doors: [{name: entry, wall: west, along: 700, leaf: 762 x 1981 x 44}]\n"
        "schemes:\n  only: []\n"
    )
    told = [f for f in found(text, "door leaf") if "ceiling" in f.items]
    assert [f.verdict for f in told] == [Verdict.REMEASURE]


HUNG = (
    HEAD + "  size: 4000 x 3000\n  ceiling: [{flat: 2300}]\n"
    "  doors: [{name: entry, wall: west, along: 300, leaf: 762 x 1981 x 44}]\n"
    "items:\n  rack: {body: 900 x 700 x 400, mount: ceiling}\n  safe: {body: 500 x 500 x 700, "
    "weight: 900}\nschemes:\n  only:\n"
)


def test_a_hung_thing_too_low_goes_straight_up():
    """Its nudge has no part along the floor: so much up and nothing else.

    Hung at 1700 under 2300 it lacks 300: 300 high it goes up and hangs flush, 400 high it cannot.
    """
    text = HUNG + "    - {item: rack, at: [2000, 1000], height: 1700}\n"
    (low,) = [f for f in found(text, "under hung") if f.verdict is Verdict.CONFLICT]
    assert low.nudge is None
    text = text.replace("900 x 700 x 400", "900 x 700 x 300")
    told = [f for f in found(text, "under hung") if f.verdict is Verdict.CONFLICT]
    assert [f.nudge.by_mm for f in told if f.nudge is not None] == [(0.0, 0.0, 300.0)]


def test_a_weight_on_the_floor_is_told_where_it_stands():
    """At the middle of the thing: 2000..2500 x 1000..1500 x 0..700."""
    text = HUNG + "    - {item: safe, at: [2000, 1000]}\n"
    told = [f for f in found(text, "load") if "safe" in f.items]
    assert [f.at_mm for f in told] == [(2250.0, 1250.0, 350.0)]


def test_how_much_of_a_window_is_hidden():
    """A box over 300, 500 or 200 of 900 mm of glass, and 450 of its 700 mm height."""
    light = "  windows: [{name: light, wall: north, along: 1000, size: 900 x 700, sill: 900}]\n"
    text = HUNG.replace("items:", f"{light}items:", 1)
    text += "    - {item: safe, name: box, at: [1000, 2500], height: 650}\n"
    for place, share in (
        ("[800, 2500]", "21 %"),
        ("[1200, 2500]", "36 %"),
        ("[1700, 2500]", "14 %"),
    ):
        told = found(text.replace("[1000, 2500]", place), "window")
        assert [f"hides {share}" in f.says for f in told if "box" in f.items] == [True], place


def test_a_drawer_that_only_a_short_room_stops_is_measured_again():
    """150 mm before the wall when out, in a room 4000 ± 180: not near at best, and in doubt."""
    text = (
        HEAD + "  size: 4000 ±180 x 3000\n  ceiling: [{flat: 2300}]\n"
        "items:\n  chest:\n    body: 600 x 600 x 900\n"
        "    motions: [{name: drawer, kind: drawer, travel: 500}]\n"
        "schemes:\n  only:\n    - {item: chest, at: [2750, 1000], facing: east}\n"
    )
    told = [f for f in found(text, "motion") if "chest" in " ".join(f.items)]
    assert [f.verdict for f in told] == [Verdict.REMEASURE]


def test_what_is_clear_and_far_from_all_is_not_news():
    """A crate in the middle of a room without doors: nothing is found, so nothing is said."""
    text = (
        HEAD + "  size: 6000 x 5000\n  ceiling: [{flat: 2400}]\n"
        "items:\n  crate: {body: 600 x 400 x 500}\nschemes:\n  only:\n"
        "    - {item: crate, at: [2700, 2300]}\n"
    )
    answer = check_scheme(parse_project(text), "only")
    assert [(f.check, f.verdict.value) for f in answer.findings] == []


def test_zones_that_share_no_more_than_a_touch_share_nothing():
    """Zones to y 1600 and from there, or 0.005 or 0.02 before there."""
    for deep, told in ((0.005, 0), (0.02, 1)):
        text = (
            HEAD + "  size: 4000 x 3000\n  ceiling: [{flat: 2500}]\nitems:\n"
            "  desk: {body: 1200 x 600 x 720, zone: {front: 800}}\n"
            "  bench: {body: 900 x 500 x 850, zone: {front: 700}}\nschemes:\n  only:\n"
            "    - {item: desk, at: [500, 2400], facing: south}\n"
            f"    - {{item: bench, at: [900, {400 + deep}], facing: north}}\n"
        )
        assert len(found(text, "shared floor")) == told


def test_a_filler_short_by_twenty_moves_by_twenty():
    """Two cabinets at right angles, 30 from one front to the other drawer's way; 50 asked for."""
    text = (
        HEAD + "  size: 4000 x 4000\n  ceiling: [{flat: 2400}]\nitems:\n  cabinet:\n"
        "    body: 600 x 600 x 900\n    weight: 50\n    motions: [{name: drawer, kind: drawer, "
        "low: 600, height: 200, travel: 450, needs: 300}]\nschemes:\n  only:\n"
        "    - {item: cabinet, name: first, at: [2770, 3400], facing: south}\n"
        "    - {item: cabinet, name: second, at: [3400, 2600], facing: west, stays: true}\n"
    )
    project = parse_project(text)
    context = Context(place_scheme(project, "only", Values()), rules_of(project), reach=150.0)
    told = [one for one in read_fillers(context) if float(one.gap[0]) == pytest.approx(30.0)]
    assert told
    for one in told:
        pushes = {push.item: push.by for push in one.detail().pushes}
        assert pushes == {"first": pytest.approx((-20.0, 0.0, 0.0))}


@pytest.mark.parametrize("check", ["shut in", "working space", "out of reach", "control access"])
def test_sizes_in_doubt_move_no_nominal_gap(check):
    """A room and a thing each ± 10 read as they do without, and no world asks for what is not."""
    plain = (
        HEAD + "  size: 4000 x 3000\n  ceiling: [{flat: 2400}]\nitems:\n"
        "  dryer: {body: 600 x 600 x 850, weight: 40, breathes: yes}\n"
        "  board: {body: 620 x 20 x 1000, weight: 8}\n"
        "  unit: {body: 600 x 200 x 800, mount: wall, stores: yes, controls: [{name: dial, "
        "height: 300}], working-space: {width: 900, depth: 700, height: 2000, why: work}}\n"
        "schemes:\n  only:\n    - {item: dryer, at: [1000, 1000], facing: south}\n"
        "    - {item: board, at: [990, 970]}\n    - {item: board, name: back, at: [990, 1605]}\n"
        "    - {item: unit, against: north, along: 1500, height: 1850}\n"
        "    - {item: board, name: near, at: [1300, 2500]}\n"
    )
    doubt = plain.replace("4000 x 3000", "4000 ±10 x 3000 ±10").replace("620 x", "620 ±10 x")
    one, other = found(plain, check), found(doubt, check)
    gaps = {f.items: f.gap_mm for f in other}
    assert all(gaps[f.items] == pytest.approx(f.gap_mm, abs=1e-3) for f in one)


def test_the_nearest_of_two_ceilings_counts_whichever_bounds_come_first():
    """Under a flat of 2300; a slope that ends 300 off would be lower if it went on."""
    text = (
        HEAD + "  size: 4000 x 3000\n  ceiling:\n    - {slopes: {west: 1200, east: 2700}}\n"
        "    - {from: east, depth: 1800, flat: 2300}\nitems:\n"
        "  case: {body: 500 x 500 x 2250}\nschemes:\n"
        "  only:\n    - {item: case, at: [2500, 1000]}\n"
    )
    (told,) = found(text, "ceiling")
    assert told.gap_mm == pytest.approx(50.0)


FLAT = "  size: 4000 x 3000\n  ceiling: [{flat: 2400}]\n"
# Facing the south wall from inside, its left end is east: pinned at x 3300, shut to x 2538.
DOOR = "  doors: [{{name: entry, wall: south, along: 700, leaf: 762 x 1981 x 44, hinge: left{}}}]\n"


@pytest.mark.parametrize("reach", [0.0, 150.0])
def test_nothing_meets_nothing(reach):
    layout = laid(
        FLAT + "items:\n  box: {body: 300 x 300 x 300}\nschemes:\n  only:\n"
        "    - {item: box, at: [1000, 1000]}\n    - {item: box, name: other, at: [1200, 1000]}\n"
    )
    one, other = map(body_group, layout.items)
    assert [list(meetings(a, b, reach)) for a, b in (([one], []), ([], [one]), ([], []))] == [
        []
    ] * 3
    assert [m.gap[0] for m in meetings([one], [other], reach)] == [pytest.approx(-100.0)]


def test_only_what_lies_between_its_foot_and_its_head_stops_a_leaf():
    """A ramp from 0 at x 2600 to 300 at 2900, and a sill of 150: from x 2750, y 300 on.

    A log of 400 across hangs with its axis at x 3000 and 120 above the head: what is below it is
    a chord of 160 each side, drawn at most half a millimetre wider, from y 350 on.
    """
    ramp = (
        FLAT + DOOR.format(", sill: 150") + "items:\n  ramp: {parts: [{name: w, wedge: {box: "
        "0..300 x 0..200 x 0..300, low-side: left, edge-height: 0}}]}\nschemes:\n"
        "  only: [{item: ramp, at: [2600, 300], facing: south}]\n"
    )
    log = (
        FLAT + DOOR.format("") + "items:\n  log: {mount: ceiling, parts: [{name: log, cylinder: "
        "{at: [200, 0, 200], diameter: 400, length: 250, axis: y}}]}\nschemes:\n"
        "  only: [{item: log, at: [2800, 350, 1901], facing: south}]\n"
    )
    for text, expected in ((ramp, math.atan2(300.0, 550.0)), (log, math.atan2(350.0, 460.0))):
        layout = laid(text)
        reach, name = opens_to(layout, layout.leaves[0])
        assert (name, reach) == (layout.items[0].name, pytest.approx(expected, abs=6e-4))


@pytest.mark.parametrize(
    ("asked", "accept", "told"), [(90, "", True), (110, "", False), (110, "entry", True)]
)
def test_how_far_a_leaf_is_taken_to_stand_open(asked, accept, told):
    """Of 120° a box's corner 100 beyond the pin and 500 in leaves 180° - atan 5 = 101.3°.

    That is how far it stands where it is enough or accepted; else it is a finding of its own.
    """
    layout = laid(
        FLAT + DOOR.format(", angle: 120") + "items:\n  box: {body: 300 x 100 x 500}\n"
        f"schemes:\n  only: [{{item: box, at: [3400, 400], accept: [{accept}]}}]\n"
    )
    angle = math.degrees(leaf_angle(layout, layout.leaves[0], asked))
    assert angle == pytest.approx(180.0 - math.degrees(math.atan(5.0)) if told else 120.0)


@pytest.mark.parametrize(
    ("doors", "middle"),
    [(((100, 700), (500, 250)), 625), (((300, 100), (200, 600)), 500), (((200, 600),), 500)],
)
def test_the_door_whose_middle_is_highest_is_the_one_loaded(doors, middle):
    """On 1300 high; the limit is 1650, so the middle may lie 350 up."""
    motions = ", ".join(
        f"{{name: door {k}, kind: leaf, low: {low}, height: {high}}}"
        for k, (low, high) in enumerate(doors)
    )
    text = (
        FLAT + "items:\n  low: {body: 600 x 600 x 1300}\n"
        f"  drum: {{body: 600 x 600 x 850, motions: [{motions}]}}\nschemes:\n  only:\n"
        "    - {item: low, at: [1000, 1000]}\n    - {item: drum, on: low}\n"
    )
    (told,) = found(HEAD + text, "door height")
    assert told.gap_mm == pytest.approx(350.0 - middle)


def test_what_is_one_and_what_is_several():
    """A glass is one, doors are several, whatever it is called that has them."""
    layout = laid(
        FLAT
        + "items:\n  press: {body: 600 x 600 x 900, motions: [{name: glass, kind: leaf, low: 0, "
        "height: 300}, {name: doors, kind: leaf, low: 300, height: 300}, {name: drawer, kind: "
        "drawer, low: 600, height: 200, travel: 300}]}\n"
        "schemes: {only: [{item: press, at: [1000, 1000]}]}\n"
    )
    assert [mover.plural for mover in item_movers(layout)] == [False, True, False]


def test_names_in_a_row():
    assert [_listed(list("abcde")[:n]) for n in range(1, 6)] == [
        "a", "a and b", "a, b and c", "a, b and 2 more", "a, b and 3 more",
    ]  # fmt: skip


@pytest.mark.parametrize("stays", [False, True])
def test_a_level_move_of_what_is_stacked_moves_the_stack_unless_its_foot_stays(stays):
    layout = laid(
        FLAT + "items:\n  low: {body: 600 x 600 x 850}\n  high: {body: 600 x 600 x 850}\nschemes:\n"
        f"  only:\n    - {{item: low, at: [1000, 1000], stays: {str(stays).lower()}}}\n"
        "    - {item: high, on: low}\n"
    )
    mover = "high" if stays else "low"
    level, up = (30.0, 40.0, 0.0), (0.0, 0.0, 20.0)
    assert _whole_stack(layout, Push("high", level)) == Push(mover, level)
    for by in (up, (30.0, 0.0, 20.0)):
        assert _whole_stack(layout, Push("high", by)) == Push("high", by)
    assert _whole_stack(layout, Push("low", level)) == Push("low", level)
    # The shortest first; of two as short the whole stack, though its name comes later.
    moves = [Push("high", level), Push("low", level), Push("high", up), Push("low", (60.0, 0, 0))]
    ranked = sorted(moves, key=lambda push: _rank(layout, push))
    assert ranked == [moves[2], moves[1], moves[0], moves[3]]


@pytest.mark.parametrize("apart", [140, 150])
@pytest.mark.parametrize("doubt", ["", " ±30"])
def test_doubt_elsewhere_takes_no_finding_away(doubt, apart):
    """Crates up to 150 apart are told of, though the east wall is anywhere by 30."""
    text = (
        f"  size: 4000{doubt} x 3000\n  ceiling: [{{flat: 2400}}]\nitems:\n"
        "  crate: {body: 300 x 300 x 300}\nschemes:\n  only:\n"
        "    - {item: crate, at: [500, 500]}\n"
        f"    - {{item: crate, name: other, at: [{800 + apart}, 500]}}\n"
    )
    assert [f.gap_mm for f in found(HEAD + text, "bodies")] == [pytest.approx(apart)]


def test_of_what_meets_in_one_place_the_body_is_named_first():
    """Corners of one of each kind in one spot of a wall; the better known is named, then gone."""
    room = laid(FLAT + "schemes: {only: []}\n").room
    order = ["body", "fabric", "leaf", "step", "wall", "ceiling"]
    ring = np.array([[[1000.0, 0.0], [1400.0, 0.0], [1400.0, 300.0], [1000.0, 300.0]]])
    blocks = [Block(f"a {kind}", kind, ring) for kind in order[::-1] if kind != "wall"]
    for kind in order[:-1]:
        (told,) = Plan(room, tuple(blocks)).things_at(np.array([[1000.0, 0.0]]))
        assert told.kind == kind
        blocks = [block for block in blocks if block.kind != kind]
