"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks.context import Context
from massing.checks.fillers import read as read_fillers
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.rules import rules_of
from massing.checks.run import _worst_each, check_scheme
from massing.checks.verdicts import judge
from massing.project.read import parse_project
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
    """Its nudge has no part along the floor: 150 mm up and nothing else."""
    text = HUNG + "    - {item: rack, at: [2000, 1000], height: 1700}\n"
    told = [f for f in found(text, "under hung") if f.verdict is Verdict.CONFLICT]
    assert [f.nudge.by_mm[:2] for f in told if f.nudge is not None] == [(0.0, 0.0)]


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
