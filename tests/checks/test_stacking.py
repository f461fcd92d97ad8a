"""Stacks and loads: what may stand on what, and what is flagged.

Habits of the trade throughout: common practice, no source.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Scullery
room: {{size: 3000 x 2400, ceiling: [{{flat: 2400}}]}}
items:
  base: {{body: 600 x 600 x 850, weight: 75, motions: [{{name: door, kind: leaf, hinge: left}}]}}
  light: {{body: 600 x 600 x 800, weight: 40, motions: [{{name: door, kind: leaf, hinge: {hand}}}]}}
  heavy: {{body: 600 x 600 x 800, weight: 90}}
  picky: {{body: 500 x 500 x 400, weight: 9, stack: {{on: [light]}}}}
  tray: {{body: 600 x 600 x 40, weight: 5, stack: {{carries: 30}}}}
  cupboard: {{body: 600 x 300 x 700, weight: {weight}, mount: wall}}
schemes:
  a:
    - {{item: base, at: [1000, 1800], facing: south}}
{more}
"""


def _findings(*more, hand="left", weight="10"):
    lines = "\n".join(f"    - {line}" for line in more)
    project = parse_project(TEXT.format(hand=hand, weight=weight, more=lines))
    answer = check_scheme(project, "a", nudges=False)
    return [f for f in answer.findings if f.check in {"stack", "load"} and f.items[0] != "base"]


def test_a_sound_stack_says_nothing():
    """Lighter above, same hand."""
    assert _findings("{item: light, on: base}") == []


def test_the_lighter_goes_above():
    """90 kg over 75 kg is a conflict."""
    (finding,) = [f for f in _findings("{item: heavy, on: base}") if f.check == "stack"]
    assert finding.verdict is Verdict.CONFLICT
    assert "the lighter goes above" in finding.says


def test_doors_of_a_stack_want_one_hand():
    """A left door over a right one is a caution."""
    (finding,) = _findings("{item: light, on: base}", hand="right")
    assert finding.verdict is Verdict.CAUTION
    assert "stacked doors want one hand" in finding.says


def test_what_it_is_made_to_stand_on():
    """An item that names what it may stand on stands on nothing else."""
    (finding,) = _findings("{item: picky, on: base}")
    assert finding.verdict is Verdict.CONFLICT
    assert "made to stand on light" in finding.says
    assert _findings("{item: light, on: base}", "{item: picky, on: light}") == []


def test_what_it_carries():
    """40 kg on a tray for 30."""
    says = [f.says for f in _findings("{item: tray, on: base}", "{item: light, on: tray}")]
    assert any("carries 30 kg" in words for words in says)


@pytest.mark.parametrize(("weight", "flagged"), [("15", False), ("15.1", True)])
def test_hung_loads_are_flagged(weight, flagged):
    """Over 25 kg a metre of wall: 15 kg on 600 is at the limit and passes."""
    found = _findings("{item: cupboard, against: west, along: 500, height: 1200}", weight=weight)
    assert bool(found) is flagged
    assert all(f.verdict is Verdict.CAUTION for f in found)


def _doubled(*placed):
    """What the checks say of things made of two parts, the one drawn within the other."""
    text = (
        "massing: 1\nproject: p\nroom: {size: 4000 x 3000, ceiling: [{flat: 2400}]}\nitems:\n"
        "  twice: {parts: [{name: whole, box: 0..600 x 0..400 x 0..700}, "
        "{name: top, box: 0..600 x 0..400 x 300..700}]}\n"
        "  feet: {parts: [{name: board, box: 0..600 x 0..400 x 0..20}, "
        "{name: foot, box: 0..300 x 0..400 x 0..50}]}\n"
        "  box: {body: 600 x 400 x 300}\nschemes:\n  a:\n"
    )
    rows = "".join(f"    - {row}\n" for row in placed)
    found = check_scheme(parse_project(text + rows), "a", nudges=False).findings
    return {f.check: f for f in found if f.verdict is not Verdict.CLEAR}


def test_a_top_drawn_twice_carries_once():
    """Half of a base over the edge of a thing is half unsupported, however the thing is drawn."""
    found = _doubled("{item: twice, at: [1000, 1000]}", "{item: box, on: twice, shift: [300, 0]}")
    assert found["support"].gap_mm == pytest.approx(50.0)


def test_a_base_drawn_twice_is_counted_once():
    """Half of the board is over the edge; the foot under the other half counts no more for it."""
    found = _doubled("{item: box, at: [1000, 1000]}", "{item: feet, on: box, shift: [300, 0]}")
    assert found["support"].gap_mm == pytest.approx(50.0)


def test_litres_of_parts_that_overlap_are_counted_once():
    """200 above the ceiling, 100 behind the wall, of 600 x 400 and 400 x 700."""
    assert _doubled("{item: twice, at: [1000, 1000, 1900]}")["ceiling"].overlap_l == 48.0
    assert _doubled("{item: twice, at: [-100, 1000]}")["walls"].overlap_l == 28.0
    sunk = _doubled("{item: feet, at: [1000, 1000, -40]}")["floor"]
    assert sunk.overlap_l == pytest.approx((600 * 20 + 300 * 20) * 400 / 1e6, abs=1e-3)


def test_litres_behind_a_wall_leave_out_the_room_beyond_its_end():
    """Round the inner corner of an L what is past the line of a wall may still be in the room."""
    text = (
        "massing: 1\nproject: p\nroom:\n"
        "  corners: [[0, 0], [4000, 0], [4000, 1500], [2000, 1500], [2000, 3000], [0, 3000]]\n"
        "  names: [south, east, notch, side, north, west]\n  ceiling: [{flat: 2400}]\n"
        "items: {box: {body: 600 x 1000 x 500}}\n"
        "schemes: {a: [{item: box, at: [1500, 700]}]}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    (wall,) = [f for f in found if f.check == "walls" and f.gap_mm < 0]
    assert wall.gap_mm == -100.0
    assert wall.overlap_l == pytest.approx(100 * 200 * 500 / 1e6, abs=1e-3)


@pytest.mark.parametrize(("x", "sure"), [(2020, True), (2010, False), (2000, False), (1990, False)])
def test_a_base_at_a_step_that_may_slip_from_under_it(x, sure):
    """A step known to ±20 may leave 20 of 300 bare where a base begins just on it, 10 at 2010."""
    text = (
        "massing: 1\nproject: p\nrules: {support: 99}\nroom: {size: 4000 x 3000, ceiling: "
        "[{flat: 2400}], floor: [{level: 0}, {from: east, depth: 2000 ±20, level: 180}]}\n"
        "items: {box: {body: 300 x 300 x 300}}\n"
        f"schemes: {{a: [{{item: box, at: [{x}, 900]}}]}}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    told = [f for f in found if f.check == "support"]
    assert bool(told) is not sure
    for finding in told:
        worst = 100 - max(2020 - x, 0) / 3
        assert finding.worst_mm <= worst + 1e-3
        assert finding.verdict is Verdict.REMEASURE
        assert "180 drop" in finding.says


@pytest.mark.parametrize(
    ("height", "hint"), [(900, True), (905, True), (906, False), (1200, False)]
)
def test_what_lies_on_a_top_by_its_numbers_alone_is_told_what_to_write(height, hint):
    """A lamp put at the height of a bench's top stands on nothing until the file says on what."""
    text = (
        "massing: 1\nproject: p\nroom: {size: 3000 x 2000, ceiling: [{flat: 2400}]}\n"
        "items: {bench: {body: 1200 x 600 x 900}, lamp: {body: 200 x 200 x 400}}\n"
        "schemes: {a: [{item: bench, at: [0, 0]}, "
        f"{{item: lamp, at: [300, 100, {height}]}}, "
        "{item: lamp, name: other lamp, at: [2000, 100, 900]}]}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    told = {f.items[0]: f.says for f in found if f.check == "support"}
    words = "; to stand it on bench, write on: bench" if hint else ""
    assert told == {
        "lamp": f"lamp rests on nothing{words}",
        "other lamp": "other lamp rests on nothing",
    }


def test_a_share_is_never_told_above_all_or_below_nothing():
    """A dryer 630 ±30 deep on a washer 600 ±50: shares added up would come to more than 100 %."""
    text = (
        "massing: 1\nproject: p\nroom: {size: 3000 x 2000, ceiling: [{flat: 2400}]}\n"
        "items: {low: {body: 600 x 600 ±50 x 850}, high: {body: 600 x 630 ±30 x 850}}\n"
        "schemes: {a: [{item: low, at: [0, 0]}, {item: high, on: low}]}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    (told,) = [f for f in found if f.check == "support"]
    assert told.best_mm == 100.0
    assert told.summed_mm is not None
    assert told.summed_mm[1] > 100.0
    assert told.worst_mm >= 0.0
