"""Working space before equipment, at the published boundaries.

NEC 110.26(A)(1)-(3) (up to 150 V to ground): depth 36 in from the front, width 30 in or the
equipment's own, height 6 ft 6 in. The four worked cases (it need not be centred, neighbours may
share it, a 16 in panel still needs 30 in, a 52 in board needs 52 in) are those of trade-press
explanations of the clause, seen second-hand. IRC M1305.1: a level space of 30 x 30 in at the
control side of an appliance.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

ROOM = """
massing: 1
project: Switch room
room:
  size: 12 ft x 10 ft
  ceiling: [{{flat: {ceiling}}}]
items:
  panel:
    body: {width} x 6 in x 30 in
    mount: wall
    working-space: {{width: 30 in, depth: 36 in, height: 6 ft 6 in}}
  block: {{body: 400 x 400 x {tall}}}
schemes:
  a:
    - {{item: panel, against: north, along: {along}, height: 40 in}}
{more}
"""


def _check(*, width="16 in", along="50 in", ceiling="8 ft", tall="800", more=()):
    lines = "\n".join(f"    - {line}" for line in more)
    text = ROOM.format(width=width, along=along, ceiling=ceiling, tall=tall, more=lines)
    answer = check_scheme(parse_project(text), "a", nudges=False)
    return {f.items[0]: f for f in answer.findings if f.check == "working space"}


INCH = 25.4


def test_a_narrow_panel_still_needs_thirty_inches():
    """16 in wide, 30 in asked for."""
    finding = _check()["panel"]
    assert finding.needs_mm == pytest.approx(30 * INCH, abs=1e-3)
    assert finding.verdict is Verdict.CLEAR


def test_a_wide_board_needs_its_own_width():
    """52 in wide, 52 in asked for."""
    finding = _check(width="52 in")["panel"]
    assert finding.needs_mm == pytest.approx(52 * INCH, abs=1e-3)
    assert finding.verdict is Verdict.CLEAR


@pytest.mark.parametrize(("along", "verdict"), [("0 in", Verdict.CLEAR), ("128 in", Verdict.CLEAR)])
def test_it_need_not_be_centred(along, verdict):
    """Hard in a corner, all of the width lies to the other side."""
    assert _check(along=along)["panel"].verdict is verdict


@pytest.mark.parametrize(
    ("gap", "verdict"), [("14 in", Verdict.CLEAR), ("13.99 in", Verdict.CONFLICT)]
)
def test_the_boundary_in_width(gap, verdict):
    """In a corner with a block to the right: 16 + 14 in passes, a hundredth less does not."""
    block = f"{{item: block, against: north, along: 16 in, by: [{gap}, -10 in]}}"
    found = _check(along="0 in", more=[block])["panel"]
    assert found.verdict is verdict


@pytest.mark.parametrize(
    ("off", "verdict"), [("36 in", Verdict.CLEAR), ("35.99 in", Verdict.CONFLICT)]
)
def test_the_boundary_in_depth(off, verdict):
    """A block before the panel is out of the way at 36 in from its front."""
    block = f"{{item: block, against: north, along: 50 in, off: 6 in, by: [0, -{off}]}}"
    assert _check(more=[block])["panel"].verdict is verdict


@pytest.mark.parametrize(
    ("ceiling", "verdict"), [("6 ft 6 in", Verdict.CLEAR), ("77.99 in", Verdict.CONFLICT)]
)
def test_the_boundary_in_height(ceiling, verdict):
    """6 ft 6 in is 78 in = 1981.2 mm, not the printed 1.98 m or 6 ft 5 in."""
    assert _check(ceiling=ceiling)["panel"].verdict is verdict


def test_neighbours_may_share():
    """Two panels side by side in 32 in of free wall each find their 30 in."""
    blocks = [
        "{item: panel, name: other, against: north, along: 66 in, height: 40 in}",
        "{item: block, against: north, along: 50 in, by: [-400, -10 in]}",
        "{item: block, name: block 2, against: north, along: 82 in, by: [0, -10 in]}",
    ]
    found = _check(more=blocks)
    assert found["panel"].gap_mm == pytest.approx(32 * INCH, abs=1e-3)
    assert found["panel"].verdict is found["other"].verdict is Verdict.CLEAR


def test_something_before_it_takes_it_all():
    """A block right before the panel leaves nothing, and is named."""
    block = "{item: block, against: north, along: 52 in, off: 20 in}"
    finding = _check(more=[block])["panel"]
    assert finding.gap_mm == 0.0
    assert "taken by block" in finding.says


def test_appliance_service_space():
    """IRC M1305.1: 30 x 30 in at the control side, at its boundary."""
    text = """
massing: 1
project: Plant room
room: {{size: 8 ft x {depth}, ceiling: [{{flat: 2400}}]}}
items:
  heater:
    body: 24 in x 24 in x 60 in
    working-space: {{width: 30 in, depth: 30 in, height: 30 in}}
schemes:
  a: [{{item: heater, against: north, along: 1 ft}}]
"""
    for depth, verdict in (("54 in", Verdict.CLEAR), ("53.99 in", Verdict.CONFLICT)):
        answer = check_scheme(parse_project(text.format(depth=depth)), "a", nudges=False)
        (finding,) = [f for f in answer.findings if f.check == "working space"]
        assert finding.verdict is verdict
