"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.run import _worst_each, check_scheme
from massing.checks.verdicts import judge
from massing.project.read import parse_project

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
