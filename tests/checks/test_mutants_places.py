"""Mistakes that planted changes showed no test would notice, in places, moves and words."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.checks.ceiling import read as read_ceiling
from massing.checks.context import Context
from massing.checks.finding import Verdict
from massing.checks.motions import item_movers, parked
from massing.checks.motions_blocks import comes_up_to
from massing.checks.motions_doors import door_movers
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.checks.strip import Band, Strip, stretches
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values

HEAD = "massing: 1\nproject: p\nroom:\n  size: 4000 x 3000\n"
FLAT = HEAD + "  ceiling: [{flat: 2400}]\n"


def context(text):
    project = parse_project(text)
    rules = rules_of(project)
    return Context(place(project, "only", Values()), rules, reach=rules.near + 0.01)


def found(text, check):
    answer = check_scheme(parse_project(text), "only")
    return [finding for finding in answer.findings if finding.check == check]


def test_what_stands_on_a_thing_of_two_heights_is_no_near_miss():
    """A ledge of 850 beside a post of 900; what stands on it, 100 beyond the post, is 50 above."""
    text = FLAT + (
        "items:\n  ledge: {parts: [{name: post, box: 0..100 x 0..400 x 0..900}, "
        "{name: shelf, box: 100..1000 x 0..400 x 0..850}]}\n"
        "  box: {body: 300 x 300 x 300}\nschemes:\n  only:\n"
        "    - {item: ledge, at: [1000, 1000]}\n    - {item: box, on: ledge, shift: [300, 0]}\n"
    )
    laid = context(text).layout
    ledge, box = laid.items
    assert (box.low[0, 2], box.low[0, 0] - ledge.low[0, 0]) == (900.0, pytest.approx(650.0))
    assert found(text, "bodies") == []


def test_a_thing_through_the_slope_is_moved_clear_and_clear_of_its_air():
    """100 through a slope of 1 in 2, and 60 of air asked for above: 200 and 320 up the floor."""
    text = HEAD + (
        "  ceiling: [{slopes: {south: 1500, north: 3000}}]\n"
        "items:\n  case: {body: 500 x 600 x 1800, gaps: {top: 60}}\nschemes:\n"
        "  only: [{item: case, at: [1000, 400]}]\n"
    )
    (told,) = read_ceiling(context(text))
    pushes = [push.by for push in told.detail().pushes]
    assert pushes == [pytest.approx((0.0, 200.0, 0.0)), pytest.approx((0.0, 320.0, 0.0))]


def test_beside_a_step_a_thing_is_told_of_at_its_own_corner():
    """A rack hung at 100, and 100 west of a step of 150: nothing of it is over that level."""
    text = HEAD + (
        "  floor: [{level: 0}, {from: east, depth: 1700, level: 150}]\n"
        "  ceiling: [{flat: 2400}]\nitems:\n  rack: {body: 600 x 300 x 400, mount: wall}\n"
        "schemes:\n  only: [{item: rack, against: north, along: 1600, height: 100}]\n"
    )
    told = {finding.gap_mm: finding.at_mm for finding in found(text, "floor")}
    assert told[100.0] == (1600.0, 2700.0, 100.0)
    # Over it, 50 above: in the middle of what is over it, from x 2300 to 2600.
    over = text.replace("along: 1600, height: 100", "along: 2000, height: 50")
    told = {finding.gap_mm: finding.at_mm for finding in found(over, "floor")}
    assert told[50.0] == (2450.0, 2850.0, 200.0)


@pytest.mark.parametrize("hinge", ["left", "right"])
@pytest.mark.parametrize(
    ("wall", "slopes", "inward"),
    [
        ("south", "south: 2100, north: 600", (0.0, 1.0)),
        ("west", "west: 2100, east: 100", (1.0, 0.0)),
    ],
)
def test_a_leaf_stopped_by_a_slope_is_told_of_at_its_tip(hinge, wall, slopes, inward):
    """2100 less a half of the way in is a head of 1981 at 238, where the tip is at 18.2°."""
    text = HEAD + (
        f"  ceiling: [{{slopes: {{{slopes}}}}}]\n"
        f"  doors: [{{name: entry, wall: {wall}, along: 700, leaf: 762 x 1981 x 44, "
        f"hinge: {hinge}}}]\nschemes: {{only: []}}\n"
    )
    (told,) = found(text, "door leaf")
    assert told.reaches == pytest.approx(math.degrees(math.asin(238.0 / 762.0)), abs=0.01)
    (leaf,) = context(text).layout.leaves
    tip = leaf.pin[0] + math.sqrt(762.0**2 - 238.0**2) * leaf.shut[0] + 238.0 * np.array(inward)
    assert told.at_mm == pytest.approx((*tip, 0.0), abs=0.1)


def test_what_a_leaf_passes_does_not_stop_it():
    """A post at 500, 500 from the pin lies beyond a leaf of 600, within its bounds."""
    text = FLAT + (
        "items:\n  press: {body: 600 x 500 x 900, motions: [{name: door, kind: leaf, angle: 90}]}\n"
        "  post: {body: 90 x 90 x 900}\nschemes:\n  only:\n"
        "    - {item: press, at: [1000, 1500], facing: south}\n"
        "    - {item: post, at: [1500, 910]}\n"
    )
    here = context(text)
    (mover,) = item_movers(here.layout)
    reach, by = parked(here, mover)
    assert (reach.tolist(), by) == (mover.full.tolist(), frozenset())
    nearer = context(text.replace("1500, 910", "1400, 1010"))
    (mover,) = item_movers(nearer.layout)
    reach, by = parked(nearer, mover)
    assert by == frozenset({"post"})
    # Its near side, 400 out from the pin, is met by the tip between x 1400 and 1490.
    assert float(reach[0]) == pytest.approx(math.asin(400.0 / 600.0), abs=1e-4)


def test_what_stops_a_drawer_in_another_world_only_does_not_stop_it_here():
    """455 clear of a travel of 450, and 445 where the case before it is 10 deeper."""
    text = FLAT + (
        "items:\n  chest: {body: 600 x 500 x 900, motions: [{name: drawer, kind: drawer, travel: "
        "450}]}\n  case: {body: 600 x 1045 ±10 x 900}\nschemes:\n  only:\n"
        "    - {item: chest, at: [1000, 1500], facing: south}\n    - {item: case, at: [1000, 0]}\n"
    )
    project, sizes = parse_project(text), Values()
    place(project, "only", sizes)
    shifts = np.array([[0.0], [10.0], [-10.0]])
    layout = place(project, "only", Values.shifted(sizes.measures, shifts))
    rules = rules_of(project)
    reach, by = parked(Context(layout, rules, reach=rules.near), item_movers(layout)[0])
    assert reach == pytest.approx([450.0, 445.0, 450.0])
    assert by == frozenset()


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.25), (-0.5, 0.25), (0.5, -0.25), (-0.5, -0.25)])
def test_bounds_come_up_to_a_slope_at_its_lowest_over_them(a, b):
    """2500 + a x + b y over x 1000 to 2000 and y 400 to 800, in two worlds 10 apart."""
    least = 2500.0 + min(a * 1000, a * 2000) + min(b * 400, b * 800)
    plane = np.array([[a, b, 2510.0], [a, b, 2500.0]])
    low = np.array([[1000.0, 400.0, 0.0]] * 2)
    high = np.array([[2000.0, 800.0, least - 1e-6], [2000.0, 800.0, least + 1e-6]])
    assert comes_up_to(plane, low, high).tolist() == [False, True]


WAY = """massing: 1
project: Way
room:
  size: 4000 x 2600
  ceiling: [{{flat: 2400}}]
  doors: [{{name: door, wall: west, along: 800, leaf: 838 x 1981 x 44, opens: out}}]
items:
  bench: {{body: 1200 x 600 x 900, weight: 80, zone: {{front: 800}}}}
  rack: {{body: 400 x {rack} x 1500, weight: 60}}
schemes:
  only:
    - {{item: bench, at: [2800, 2000], facing: south}}
    - {{item: bench, name: other, at: [2800, 0], facing: north}}
    - {{item: rack, at: [1500, 0]}}
"""


def test_all_that_is_shut_off_is_told_of_once():
    """A rack from wall to wall before two benches; of 500 left what is beside it is named."""
    (told,) = found(WAY.format(rack=2600), "passage")
    assert (told.items, told.verdict) == (("bench", "other"), Verdict.CONFLICT)
    assert told.says.startswith("no way on foot to bench and other")
    parts = [f"{{name: y{y}, box: 0..400 x {y} x 0..1500}}" for y in ("0..1000", "1500..2600")]
    halves = f"parts: [{', '.join(parts)}]"
    for text, beside in (
        (WAY.format(rack=2100), "between rack and the north wall"),
        (WAY.format(rack=2600).replace("body: 400 x 2600 x 1500", halves), "beside rack"),
    ):
        (told,) = found(text, "passage")
        assert (told.gap_mm, told.items) == (pytest.approx(500.0), ("bench", "other"))
        assert "bench and other" in told.says
        assert beside in told.says


def test_ways_of_different_widths_are_told_one_by_one():
    """500 beside the first rack leads to one bench, and 480 beside the second to the other."""
    text = WAY.format(rack=2100).replace("4000 x 2600", "6400 x 2600")
    text = text.replace(
        "bench, at: [2800, 2000], facing: south", "bench, at: [2500, 0], facing: north"
    )
    text = text.replace("name: other, at: [2800, 0]", "name: other, at: [5200, 0]")
    text = text.replace("items:", "items:\n  long: {body: 400 x 2120 x 1500, weight: 60}")
    told = found(f"{text}    - {{item: long, at: [4000, 0]}}\n", "passage")
    assert {f.items: f.gap_mm for f in told} == {
        ("bench",): pytest.approx(500.0),
        ("other",): pytest.approx(480.0),
    }


@pytest.mark.parametrize(
    ("x", "y", "gap", "wall"),
    [(1940, 1400, -60.0, "notch end"), (2030, 1400, 30.0, "notch end"),
     (1800, 1260, -60.0, "notch side"), (1800, 1170, 30.0, "notch side")],
)  # fmt: skip
def test_at_a_notch_the_wall_with_the_shorter_way_back_counts(x, y, gap, wall):
    """A box of 300 at a corner at (2000, 1500): 200 in by one wall, 60 by the other."""
    text = (
        "massing: 1\nproject: p\nroom:\n  names: [a, b, c, notch end, notch side, f]\n"
        "  corners: [[0, 0], [4000, 0], [4000, 3000], [2000, 3000], [2000, 1500], [0, 1500]]\n"
        "  ceiling: [{flat: 2400}]\nitems:\n  box: {body: 300 x 300 x 400}\nschemes:\n"
        f"  only: [{{item: box, at: [{x}, {y}]}}]\n"
    )
    (told,) = found(text, "walls")
    assert (told.items, told.gap_mm) == (("box", wall), pytest.approx(gap))


@pytest.mark.parametrize("side", ["front", "back", "left", "right"])
@pytest.mark.parametrize(("left", "told"), [(900.0, False), (899.9, True)])
def test_a_zone_on_any_side_is_cut_by_the_wall_before_it(side, left, told):
    """1000 asked for and nine tenths will do, before whichever side it lies."""
    at = {"front": (1000, left), "back": (1000, 3000 - 600 - left),
          "left": (left, 1000), "right": (4000 - 600 - left, 1000)}[side]  # fmt: skip
    text = FLAT + (
        f"items:\n  bench: {{body: 600 x 600 x 900, zone: {{{side}: 1000}}}}\nschemes:\n"
        f"  only: [{{item: bench, at: [{at[0]}, {at[1]}], facing: south}}]\n"
    )
    wall = {"front": "south", "back": "north", "left": "west", "right": "east"}[side]
    expected = [(("bench", wall), pytest.approx(left, abs=1e-3))] if told else []
    assert [(f.items, f.gap_mm) for f in found(text, "zone")] == expected


def test_a_step_takes_of_a_strip_in_the_worlds_where_it_is_too_high():
    """A step of 148 and of 160 where 150 is stepped over."""
    text = HEAD + (
        "  floor: [{level: 0}, {from: east, depth: 1000, level: 148 ±20}]\n"
        "  ceiling: [{flat: 2400}]\nschemes: {only: []}\n"
    )
    project, sizes = parse_project(text), Values()
    place(project, "only", sizes)
    for levels in ([0.0, 0.0, 12.0], [0.0, 12.0, 0.0], [12.0, 0.0, 0.0]):
        shifts = np.array(levels)[:, None]
        layout = place(project, "only", Values.shifted(sizes.measures, shifts))
        strip = Strip(
            np.array([1000.0, 2000.0]), np.array([1.0, 0.0]), np.array([0.0, -1.0]), 800.0
        )
        band = Band(900.0, 150.0, 1800.0)
        taken = [
            {name for name, *_ in stretches(layout, frozenset(), strip, band, world)}
            for world in range(3)
        ]
        assert ["the step" in names for names in taken] == [level > 2.0 for level in levels]


@pytest.mark.parametrize(("x", "y"), [(200, 200), (3500, 200), (200, 2500), (3500, 2500)])
def test_what_hangs_too_low_is_told_of_wherever_it_hangs(x, y):
    """1900 clear under a lamp in each corner, of 2000 asked for, over its own 0.12 m²."""
    text = FLAT + (
        "items:\n  lamp: {body: 400 x 300 x 400, mount: ceiling}\nschemes:\n"
        f"  only: [{{item: lamp, at: [{x}, {y}, 1900]}}]\n"
    )
    (told,) = found(text, "under hung")
    assert (told.gap_mm, told.needs_mm, told.verdict) == (1900.0, 2000.0, Verdict.CONFLICT)
    assert told.area_m2 == pytest.approx(0.12)
    assert told.at_mm == (x + 200.0, y + 150.0, 1900.0)


def test_a_panel_narrower_than_its_opening_hangs_in_the_middle_of_it():
    """3000 of 3200 from 300 along the south wall, whose left end is east: x 500 to 3700."""
    text = FLAT + (
        "  doors: [{name: entry, wall: south, along: 300, opening: 3200 x 2100, "
        "leaf: 3000 x 2000 x 40, kind: overhead}]\nschemes: {only: []}\n"
    )
    here = context(text)
    (mover,) = door_movers(here, here.layout.room.openings[0])
    solid = mover.paths[0].solid
    assert (solid.low[0, 0], solid.high[0, 0]) == pytest.approx((600.0, 3600.0))
    assert (solid.low[0, 2], solid.high[0, 2]) == pytest.approx((0.0, 2000.0))


def test_a_control_no_arm_gets_to_is_told_of_on_its_own_face():
    """A tap over x 3000 to 3200 on the north wall, its face at y 2900, a block close before it."""
    text = FLAT + (
        "items:\n  tap: {body: 200 x 100 x 200, mount: wall, weight: 1, controls: [{name: handle, "
        "height: 100}]}\n  block: {body: 600 x 400 x 1500, weight: 60}\nschemes:\n  only:\n"
        "    - {item: tap, against: north, along: 3000, height: 900}\n"
        "    - {item: block, at: [2800, 2450]}\n"
    )
    (told,) = found(text, "control access")
    assert told.at_mm == (3100.0, 2900.0, 1000.0)
