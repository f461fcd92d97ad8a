"""A drawer in an inside corner: a filler of 50 (common practice, no source), or the handles drawn.

Two cabinets at right angles: the drawer of one runs past the front of the other.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Corner
room: {{size: 4000 x 4000, ceiling: [{{flat: 2400}}]}}
rules: {{{rules}}}
items:
  cabinet:
    body: 600 x 600 x 900
    weight: 50
    motions: [{{name: drawer, kind: drawer, low: 600, height: 200, travel: 450, needs: 300}}]
  handled:
    weight: 50
    parts:
      - {{name: box, box: 0..600 x {handle}..600 x 0..900}}
      - {{name: bar, kind: handle, box: 100..500 x 0..{handle} x 690..710}}
    motions: [{{name: door, kind: leaf, low: 100, height: 700}}]
  low:
    body: 600 x 600 x 900
    weight: 50
    motions: [{{name: door, kind: leaf, low: {foot}, height: {low}}}]
  plain: {{body: 600 x 600 x 900, weight: 50}}
  cooker: {{body: 600 x 600 x 900, weight: 50, motions: [{{name: door, kind: flap}}]}}
  frame: {{body: 100 x 60 x 2000, weight: 20}}
schemes:
  a: [{rows}]
"""


def answer(*rows, rules="", handle=40, foot=0, low=700):
    text = TEXT.format(rows=", ".join(rows), rules=rules, handle=handle, foot=foot, low=low)
    return check_scheme(parse_project(text), "a").findings


def fillers(*rows, **more):
    return [f for f in answer(*rows, **more) if f.check == "filler"]


# The first faces south from the north wall, its drawer running over y 2950..3400; the second
# faces west from the east wall, its front at x 3400.
SECOND = "{item: cabinet, name: second, at: [3400, 2600], facing: west}"


def first(gap, item="cabinet"):
    return f"{{item: {item}, name: first, at: [{3400 - gap - 600}, 3400], facing: south}}"


@pytest.mark.parametrize(("gap", "told"), [(50, False), (49.9, True), (0, True)])
def test_a_filler_in_the_corner(gap, told):
    """A tenth of a millimetre under the filler is a caution, told once for the pair."""
    found = fillers(first(gap), SECOND)
    assert [f.verdict for f in found] == ([Verdict.CAUTION] if told else [])
    if told:
        assert found[0].gap_mm == pytest.approx(gap, abs=1e-4)
        assert set(found[0].items) == {"first", "second"}
        assert "50 to 75" in found[0].source


@pytest.mark.parametrize("item", ["cooker", "low"])
def test_a_door_or_a_flap_beside_it(item):
    """Whatever opens there has a handle; a plain side has none."""
    assert len(fillers(first(10), SECOND.replace("cabinet", item))) == 1
    assert fillers(first(10), SECOND.replace("cabinet", "plain")) == []


@pytest.mark.parametrize(
    ("foot", "low", "told"),
    [(0, 600, False), (0, 600.1, True), (800, 100, False), (799.9, 100.1, True)],
)
def test_only_fronts_as_high_as_the_drawer(foot, low, told):
    """A door that ends at 600, where the drawer begins, or begins at 800 is not passed."""
    row = SECOND.replace("cabinet", "low")
    assert bool(fillers(first(10), row, foot=foot, low=low)) is told


@pytest.mark.parametrize(("gap", "stopped"), [(40, False), (39.9, True)])
def test_drawn_handles_are_met_as_they_are(gap, stopped):
    """A bar 40 deep before the second's door: at 40 the drawer passes, a tenth nearer it stops."""
    second = "{item: handled, name: second, at: [3360, 2700], facing: west}"
    found = answer(
        f"{{item: cabinet, name: first, at: [{2800 - gap}, 3400], facing: south}}", second
    )
    told = [f for f in found if f.check == "motion" and f.verdict is Verdict.CONFLICT]
    assert bool(told) is stopped
    assert not [f for f in found if f.check == "filler"]


def test_a_front_that_looks_the_same_way_is_no_corner():
    """Cabinets in a row touch, and their drawers pass nothing."""
    row = "{item: cabinet, name: second, at: [3400, 3400], facing: south}"
    assert fillers(first(0), row) == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("at: [2790, 3400], facing: south", "at: [3400, 2600], facing: west"),
        ("at: [610, 3400], facing: south", "at: [0, 2600], facing: east"),
        ("at: [2790, 0], facing: north", "at: [3400, 800], facing: west"),
        ("at: [610, 0], facing: north", "at: [0, 800], facing: east"),
        ("at: [3400, 2790], facing: west", "at: [2600, 3400], facing: south"),
        ("at: [0, 2790], facing: east", "at: [800, 3400], facing: south"),
    ],
)
def test_every_corner_is_the_same(one, other):
    """Turned and mirrored: 10 past the front each time."""
    (found,) = fillers(f"{{item: cabinet, name: a, {one}}}", f"{{item: cabinet, name: b, {other}}}")
    assert found.gap_mm == pytest.approx(10.0, abs=1e-4)


def test_another_thing_frees_nothing_and_a_larger_need_clears_nothing():
    """A third cabinet leaves it; a wider filler keeps it; a narrower one ends it."""
    third = "{item: cabinet, name: third, at: [0, 0], facing: north}"
    assert len(fillers(first(10), SECOND, third)) == 1
    assert fillers(first(10), SECOND, rules="filler: 10") == []
    for asked in (11, 75, 300):
        (found,) = fillers(first(10), SECOND, rules=f"filler: {asked}")
        assert (found.gap_mm, found.needs_mm) == (pytest.approx(10.0, abs=1e-4), asked)


@pytest.mark.parametrize(("gap", "stopped"), [(0, False), (-0.1, True)])
def test_a_door_frame_stops_a_drawer(gap, stopped):
    """Frame, radiator or pan: whatever stands into the drawer's way stops it, by a tenth."""
    frame = f"{{item: frame, at: [{3400 + gap}, 3100]}}"
    found = answer(first(0), frame)
    told = [f for f in found if f.check == "motion" and f.verdict is Verdict.CONFLICT]
    assert bool(told) is stopped
    if stopped:
        assert told[0].reaches == pytest.approx(3400 - 3160, abs=1e-6)
