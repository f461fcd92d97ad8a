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
