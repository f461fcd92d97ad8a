"""Head height under what hangs, where the tape may take it off a floor level altogether."""

from __future__ import annotations

import numpy as np

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Two levels
room:
  size: 4000 x 2000
  floor: [{{name: low, level: 0}}, {{name: high, from: east, depth: 2000 ±20, level: 200}}]
  ceiling: [{{flat: 2600}}]
items: {{shelf: {{body: 1010 x 500 x 200, mount: ceiling}}}}
schemes:
  a: [{{item: shelf, at: [{x}, 500, 2150]}}]
"""


def _under(x):
    answer = check_scheme(parse_project(TEXT.format(x=x)), "a", nudges=False)
    return {f.items[1]: f for f in answer.findings if f.check == "under hung"}


def test_a_step_that_may_slip_from_under_it_keeps_its_odds():
    """10 over a step known to ±20: some worlds have nothing above the step, none is endless."""
    found = _under(1000)
    assert found["high"].verdict is Verdict.CONFLICT
    assert found["high"].gap_mm == 1950.0
    for finding in found.values():
        assert np.isfinite([finding.worst_mm, finding.best_mm, finding.plus_minus_mm]).all()


def test_well_clear_of_the_step_only_the_low_floor_counts():
    """2150 above the low floor passes."""
    assert set(_under(500)) <= {"low"}


def test_the_area_short_is_of_what_hangs_too_low():
    """Of two parts one over the other, and a third high enough, the low ones count, once."""
    parts = (
        "[{name: low, box: 0..1000 x 0..500 x 0..100}, {name: over it, box: 0..600 x 0..500 x "
        "50..200}, {name: high, box: 1000..2000 x 0..500 x 110..200}]"
    )
    text = (
        "massing: 1\nproject: p\nroom: {size: 4000 x 2000, ceiling: [{flat: 2600}]}\n"
        f"items: {{rack: {{mount: ceiling, parts: {parts}}}}}\n"
        "schemes: {a: [{item: rack, at: [1000, 500, 1900]}]}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    (under,) = [f for f in found if f.check == "under hung"]
    assert (under.gap_mm, under.area_m2) == (1900.0, 0.5)


def test_what_rises_above_the_need_is_short_only_below_it():
    """A round bar is too low over a chord of it, not over its whole width."""
    text = (
        "massing: 1\nproject: p\nroom: {size: 4000 x 2000, ceiling: [{flat: 2600}]}\n"
        "items: {rack: {mount: ceiling, parts: [{name: n, cylinder: {at: [0, 0, 0], "
        "diameter: 400, length: 1000, axis: x}}]}}\n"
        "schemes: {a: [{item: rack, at: [1000, 500, 1900]}]}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    (under,) = [f for f in found if f.check == "under hung"]
    # A round bar of radius 200 is below a level 100 above its foot over a chord of 2 sqrt(30000).
    assert under.area_m2 is not None
    assert abs(under.area_m2 - 2 * 30000**0.5 / 1000) < 0.01


def test_the_area_short_is_of_the_whole_level():
    """Round the inner corner of an L one level of floor is one floor, whatever pieces it is in."""
    text = (
        "massing: 1\nproject: p\nroom:\n"
        "  corners: [[0, 0], [4000, 0], [4000, 1500], [2000, 1500], [2000, 3000], [0, 3000]]\n"
        "  names: [south, east, notch, side, north, west]\n  ceiling: [{flat: 2400}]\n"
        "items: {shelf: {body: 2000 x 1000 x 200, mount: ceiling}}\n"
        "schemes: {a: [{item: shelf, at: [1000, 500, 1900]}]}\n"
    )
    found = check_scheme(parse_project(text), "a", nudges=False).findings
    (under,) = [f for f in found if f.check == "under hung"]
    assert under.area_m2 == 2.0
