"""The boathouse, worked by hand: every figure a correct checker must report.

The figures are this project's own worked example, from the room's sizes by hand, re-checked by
sums over a fine grid. Rounded as they are quoted.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import Answer, check_scheme
from massing.handover.answer import answer_dict
from massing.project.read import parse_project, read_project
from massing.room.measure import area_where, floor_area, volume

FILE = Path(__file__).resolve().parents[2] / "examples" / "boathouse.yaml"


@pytest.fixture(scope="module")
def project():
    return read_project(FILE)


@pytest.fixture(scope="module")
def first(project) -> Answer:
    return check_scheme(project, "first try")


@pytest.fixture(scope="module")
def lowered(project) -> Answer:
    return check_scheme(project, "kayak lowered")


def one(answer: Answer, check: str, *items: str):
    """The single finding of a check that names these items."""
    found = [f for f in answer.findings if f.check == check and set(items) <= set(f.items)]
    assert len(found) == 1, [f.says for f in found]
    return found[0]


def test_room_sizes(first):
    """Volume, floor and height bands."""
    room = first.layout.room
    assert volume(room) / 1e9 == pytest.approx(32.8032, abs=5e-5)
    assert floor_area(room) / 1e6 == pytest.approx(14.40, abs=1e-9)
    assert area_where(room, at_least=2000) / 1e6 == pytest.approx(12.204, abs=1e-9)
    assert area_where(room, at_least=1900) / 1e6 == pytest.approx(13.464, abs=1e-9)


def test_kayak_through_the_slope(first):
    """50 into the slope at y 1800, 19.5 litres above it."""
    finding = one(first, "ceiling", "kayak")
    assert finding.verdict is Verdict.CONFLICT
    assert finding.gap_mm == pytest.approx(-50.0, abs=1e-6)
    assert finding.overlap_l == pytest.approx(19.5, abs=1e-6)
    assert finding.at_mm[1] == 1800.0


def test_kayak_as_drawn_clears_the_leaf_and_the_walker(first):
    """39 over the leaf; 2200 above the low slab and 2020 above the high one."""
    assert one(first, "door leaf", "kayak").gap_mm == pytest.approx(39.0, abs=1e-6)
    assert one(first, "under hung", "kayak").gap_mm == pytest.approx(2020.0, abs=1e-6)
    kayak = first.layout.item("kayak")
    assert kayak.low[0, 2] == pytest.approx(2200.0)


def test_lowering_the_kayak_starts_two_more(first):
    """The nudge that clears the slope is re-checked, and says what it sets off."""
    nudge = one(first, "ceiling", "kayak").nudge
    assert nudge.item == "kayak"
    assert nudge.by_mm == pytest.approx((0.0, 0.0, -50.0))
    told = " / ".join(nudge.starts)
    assert "side door" in told
    assert "overlap 11" in told
    assert "1970 clear under kayak" in told


def test_kayak_lowered(lowered):
    """Overlaps the leaf by 11 and 0.367 m² in plan; 1970 over the high slab, over 1.02 m²."""
    leaf = one(lowered, "door leaf", "kayak")
    assert leaf.verdict is Verdict.CONFLICT
    assert leaf.gap_mm == pytest.approx(-11.0, abs=1e-6)
    assert leaf.area_m2 == pytest.approx(0.367, abs=5e-4)
    under = one(lowered, "under hung", "kayak", "high slab")
    assert under.gap_mm == pytest.approx(1970.0, abs=1e-6)
    assert under.area_m2 == pytest.approx(1.02, abs=1e-9)


def test_no_depth_and_height_on_that_wall_meets_both():
    """A full fix needs w/3 + h <= 570 under the slope; 200 + 400 is short by 30."""
    top = 1950 + (2400 - 600) / 3  # the slope over the kayak's outer edge
    lowest = 180 + 2000  # head height over the high slab
    assert top - lowest - 400 == pytest.approx(-30.0)


def test_bench_zone_is_too_low(first):
    """1986.7 at least, short 13.3 over 0.072 m²; moving the bench 40 clears it."""
    finding = one(first, "headroom", "bench")
    assert finding.verdict is Verdict.CONFLICT
    assert finding.gap_mm == pytest.approx(1986.6667, abs=1e-3)
    assert finding.needs_mm - finding.gap_mm == pytest.approx(13.3333, abs=1e-3)
    assert finding.area_m2 == pytest.approx(0.072, abs=1e-6)
    assert finding.nudge.item == "bench"
    assert finding.nudge.by_mm == pytest.approx((0.0, 40.0, 0.0), abs=0.05)
    assert finding.nudge.starts == ()


def test_chest_straddles_the_step(first):
    """300 of 700 unsupported, 42.9 %, over a drop of 180."""
    finding = one(first, "support", "chest")
    assert finding.verdict is Verdict.CONFLICT
    assert 100 - finding.gap_mm == pytest.approx(42.857, abs=1e-2)
    assert "300 of 700 (42.9 %) unsupported, 180 drop" in finding.says


def test_bin_stops_the_door(first):
    """The leaf opens 31.7° of 90°: its tip meets y 2000."""
    finding = one(first, "door leaf", "bin")
    assert finding.verdict is Verdict.CONFLICT
    assert finding.reaches == pytest.approx(31.66, abs=0.02)
    assert finding.of == 90.0


def test_screen_hangs_on_the_tape(first):
    """+20 nominal, -20 worst, +60 best: re-measure."""
    finding = one(first, "walls", "screen", "north")
    assert finding.verdict is Verdict.REMEASURE
    assert finding.gap_mm == pytest.approx(20.0, abs=1e-6)
    assert finding.worst_mm == pytest.approx(-20.0, abs=1e-6)
    assert finding.best_mm == pytest.approx(60.0, abs=1e-6)
    # Two rectangular ±20: P(sum > -20) on a triangle of half-width 40 is 1 - 20²/(2·40²).
    assert finding.chance_clear == pytest.approx(1 - 20**2 / (2 * 40**2), abs=1e-3)


def test_switches_are_measured_from_the_local_floor(first):
    """1400 above the high slab passes; 1580 from the datum would not."""
    finding = one(first, "control height", "wall unit")
    assert finding.verdict is Verdict.CLEAR
    assert "is 1400 above the floor" in finding.says


def test_shared_floor_is_allowed(first):
    """Bench and wall unit share 530 x 170, 0.090 m²."""
    finding = one(first, "shared floor", "bench", "wall unit")
    assert finding.verdict is Verdict.CLEAR
    assert "530 x 170" in finding.says
    assert finding.area_m2 == pytest.approx(0.0901, abs=1e-6)


def test_rack_clears_the_compressor(first):
    """150 between them."""
    assert one(first, "bodies", "rack", "air compressor").gap_mm == pytest.approx(150.0, abs=1e-6)


def test_height_over_the_bench_and_stores(first):
    """1144.7 L over the bench; 900 + 315.6 L of store."""
    told = answer_dict(first)
    items = {row["item"]: row for row in told["items"]}
    assert items["bench"]["above_l"] == pytest.approx(1144.65, abs=1e-2)
    assert told["room"]["store_l"] == pytest.approx(900 + 315.56, abs=1e-2)


def test_obstructed_floor_before_and_after(project):
    """4.696 before, 2.658 after (the screen put away), freed 2.038 m²."""
    before = answer_dict(check_scheme(project, "as found", nudges=False))["room"]["obstructed_m2"]
    away = FILE.read_text() + "  screen away: {from: first try, remove: [screen]}\n"
    after = answer_dict(check_scheme(parse_project(away), "screen away", nudges=False))
    after_m2 = after["room"]["obstructed_m2"]
    assert before == pytest.approx(4.696, abs=1e-6)
    assert after_m2 == pytest.approx(2.658, abs=1e-6)
    assert before - after_m2 == pytest.approx(2.038, abs=1e-6)


def test_worked_out_scheme_has_no_conflict(project):
    """What the file proposes at the end passes, with what the client accepts said as cautions."""
    answer = check_scheme(project, "worked out")
    assert answer.conflicts == ()
    assert not [f for f in answer.findings if f.verdict is Verdict.REMEASURE]
    assert {f.check for f in answer.findings if f.verdict is Verdict.CAUTION} == {
        "doorway",
        "load",
        "under hung",
        "zone",
    }


def test_wall_lengths_are_said_to_be_derived(first):
    """Inside sizes guessed from outside ones say so, worst ±40."""
    assert all(w.provenance == "derived" for w in first.layout.room.walls)
    keys = {m.key for m in first.measures}
    assert {f"wall {w} thickness" for w in ("north", "south", "east", "west")} <= keys
