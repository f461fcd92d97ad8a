"""The loft, worked by hand: every figure a correct checker must report.

The figures are this project's own worked example, from the room's sizes by hand, re-checked by
sums over a fine grid. Rounded as they are quoted. What moves is in test_motions.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.handover.answer import answer_dict
from massing.project.read import parse_project, read_project
from massing.room.measure import area_where, floor_area, volume

FILE = Path(__file__).resolve().parents[2] / "examples" / "loft.yaml"


@pytest.fixture(scope="module")
def first():
    return check_scheme(read_project(FILE), "first try")


def one(answer, check, *items):
    """The single finding of a check that names these items."""
    found = [f for f in answer.findings if f.check == check and set(items) <= set(f.items)]
    assert len(found) == 1, [f.says for f in found]
    return found[0]


def test_room_sizes(first):
    """Net floor and volume, and the height bands."""
    room = first.layout.room
    assert floor_area(room) / 1e6 == pytest.approx(18.24, abs=1e-9)
    assert volume(room) / 1e9 == pytest.approx(29.726, abs=5e-4)
    for least, area in ((2000, 4.608), (1900, 5.760), (1500, 10.752)):
        assert area_where(room, at_least=least) / 1e6 == pytest.approx(area, abs=1e-9)
    low = area_where(room, at_least=900, below=1500) / 1e6
    assert low == pytest.approx(7.488, abs=1e-9)
    counted = area_where(room, at_least=1500) / 1e6 + low / 2
    assert counted == pytest.approx(14.496, abs=1e-9)


def test_tank_gap_is_met_with_nothing_to_spare(first):
    """Exactly 300 over the tank: passes, margin 0."""
    finding = one(first, "clearance", "tank", "ceiling")
    assert finding.verdict is Verdict.CLEAR
    assert finding.gap_mm == pytest.approx(300.0, abs=1e-6)
    assert finding.needs_mm == 300.0


def test_stack_through_the_slope(first):
    """246.7 through at y 700, 21.904 L; with its 50 of air the stack must move 356."""
    finding = one(first, "ceiling", "dryer")
    assert finding.gap_mm == pytest.approx(-246.667, abs=1e-3)
    assert finding.overlap_l == pytest.approx(21.904, abs=1e-3)
    assert finding.at_mm[1] == 700.0
    assert finding.nudge.item == "washer"
    assert finding.nudge.by_mm == pytest.approx((0.0, 356.0, 0.0), abs=0.06)


def test_screen_through_the_slope(first):
    """235 through, 18.2 L; its back must stay at y 3168 or less: 282 from 3450."""
    finding = one(first, "ceiling", "screen")
    assert finding.gap_mm == pytest.approx(-235.0, abs=1e-6)
    assert finding.overlap_l == pytest.approx(18.2, abs=0.05)
    assert finding.nudge.by_mm == pytest.approx((0.0, -282.0, 0.0), abs=0.06)


def test_head_over_the_desk(first):
    """1483.3 where 1500 is needed, short 16.7; the desk 20 toward the ridge."""
    finding = one(first, "headroom", "desk")
    assert finding.gap_mm == pytest.approx(1483.333, abs=1e-3)
    assert finding.nudge.item == "desk"
    assert finding.nudge.by_mm == pytest.approx((0.0, -20.0, 0.0), abs=0.06)


@pytest.mark.parametrize(("item", "area"), [("washer", 0.012), ("bench", 0.036)])
def test_standing_zones_are_too_low(first, item, area):
    """Short 16.7 of 2000 over a strip 20 deep."""
    finding = one(first, "headroom", item)
    assert finding.verdict is Verdict.CONFLICT
    assert finding.needs_mm - finding.gap_mm == pytest.approx(16.667, abs=1e-3)
    assert finding.area_m2 == pytest.approx(area, abs=1e-6)


def test_airer_corners(first):
    """58.3 each side, 9.8 L; 1900 under it."""
    finding = one(first, "ceiling", "airer")
    assert finding.gap_mm == pytest.approx(-58.333, abs=1e-3)
    assert finding.overlap_l == pytest.approx(9.8, abs=0.05)
    assert one(first, "under hung", "airer").gap_mm == pytest.approx(1900.0, abs=1e-6)


def test_airer_takes_standing_floor():
    """4.608 falls by 1.200 to 3.408 m² under the airer alone."""
    text = FILE.read_text() + (
        "  airer only:\n    from: as found\n    add:\n"
        "      - {item: long airer, name: airer, at: [1200, 1550, 1900]}\n"
    )
    told = answer_dict(check_scheme(parse_project(text), "airer only", nudges=False))
    assert told["room"]["standing_m2"] == pytest.approx(3.408, abs=1e-6)


def test_boxes_along_the_eaves(first):
    """Eight boxes in two layers hold 672 L and touch; a third layer fails at the wall."""
    told = answer_dict(first)
    assert told["room"]["store_l"] == pytest.approx(672.0, abs=1e-6)
    boxes = {f"box {k}" for k in range(1, 9)}
    assert not [f for f in first.conflicts if set(f.items) & boxes]
    for by, verdict in ((0, Verdict.CONFLICT), (179, Verdict.CONFLICT), (180, Verdict.CLEAR)):
        text = FILE.read_text() + (
            f"  third layer:\n    from: as found\n    add:\n"
            f"      - {{item: dye box, name: one, at: [1000, {by}]}}\n"
            f"      - {{item: dye box, name: two, on: one}}\n"
            f"      - {{item: dye box, name: three, on: two}}\n"
        )
        answer = check_scheme(parse_project(text), "third layer", nudges=False)
        failing = [f for f in answer.conflicts if "three" in f.items]
        assert bool(failing) is (verdict is Verdict.CONFLICT), by
