"""Tests for massing.voids.compare, open_floor and store.

The boathouse's figures are this project's own worked example, from its sizes by hand.
"""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.run import check_scheme
from massing.cli.compare_command import command
from massing.project.project import Project
from massing.project.read import parse_project, read_project
from massing.voids.compare import Comparison, compare
from massing.voids.open_floor import largest_circle, largest_rectangle, open_circle
from massing.voids.store import reach_words, store_by_reach
from massing.voids.tally import tally
from tests.voids.rooms import EXAMPLES, boxes, laid, project_of

FILE = EXAMPLES / "boathouse.yaml"
NO_SCREEN = "  no screen: {from: first try, remove: [screen]}\n"


@pytest.fixture(scope="module")
def project() -> Project:
    return parse_project(FILE.read_text().rstrip("\n") + "\n" + NO_SCREEN, FILE)


@pytest.fixture(scope="module")
def found(project: Project) -> Comparison:
    return compare(
        check_scheme(project, "as found", nudges=False),
        check_scheme(project, "no screen", nudges=False),
    )


def test_floor_obstructed_and_freed(found: Comparison):
    """4.696 before, 2.658 after (rack over compressor counted once), 2.038 freed."""
    assert found.before.obstructed / 1e6 == pytest.approx(4.696, abs=1e-6)
    assert found.after.obstructed / 1e6 == pytest.approx(2.658, abs=1e-6)
    assert found.freed / 1e6 == pytest.approx(2.038, abs=1e-6)


def test_store_in_bands(found: Comparison):
    """Rack 900 and chest 315.6 litres; the rack hangs 900 to 1900, the chest is 980 high."""
    assert sum(found.after.store) / 1e6 == pytest.approx(900 + 315.56, abs=1e-9)
    plan = 0.7 * 0.46
    expected = [plan * 600, plan * 380 + 540, 270.0, 90.0]
    assert [v / 1e6 for v in found.after.store] == pytest.approx(expected, abs=1e-6)
    assert sum(found.before.store) == 0.0


def test_items_and_findings(found: Comparison):
    """What comes and goes, and the findings that do."""
    assert found.coming == ("kayak", "bench", "chest", "rack", "bin")
    assert found.going == ("kayak on trestles", "low table")
    assert found.moved == ()
    assert ("ceiling", ("kayak",)) in [(f.check, f.items) for f in found.gained]
    assert any("kayak on trestles" in f.items for f in found.lost)
    assert found.turned == ()


def test_open_shapes_by_hand(found: Comparison):
    """As found the kayak parts the floor: 850 of it from the 2000 line at y 150 to the kayak.

    Beyond the kayak 680 is left to the wall unit, the whole length of the room.
    """
    assert found.before.circle.diameter == pytest.approx(850.0, abs=0.1)
    assert found.before.rectangle.low == pytest.approx((0.0, 1600.0), abs=1e-6)
    assert found.before.rectangle.high == pytest.approx((6000.0, 2280.0), abs=1e-6)
    assert found.before.rectangle.proved


def test_nothing_changes_against_itself(project: Project):
    """A scheme against itself: nothing in, out, moved, gained or lost."""
    answer = check_scheme(project, "no screen", nudges=False)
    same = compare(answer, answer)
    assert (same.freed, same.coming, same.going, same.moved) == (0.0, (), (), ())
    assert (same.gained, same.lost, same.turned) == ((), (), ())


def test_moves_are_told():
    """A move and a turn, and one that comes back to its place is none."""
    text = (
        "massing: 1\nproject: try\nroom: {size: 4000 x 3000, ceiling: [{flat: 2400}]}\n"
        "items: {bench: {body: 1200 x 600 x 900}}\n"
        "schemes:\n"
        "  one: [{item: bench, against: south, along: 500}]\n"
        "  two: {from: one, move: {bench: {by: [300, 0]}}}\n"
        "  three: {from: one, move: {bench: {against: west, along: 500}}}\n"
    )
    project = parse_project(text)
    one, two, three = (check_scheme(project, n, nudges=False) for n in ("one", "two", "three"))
    (move,) = compare(one, two).moved
    assert (move.name, move.by, move.turned_deg) == ("bench", (300.0, 0.0, 0.0), 0.0)
    (turn,) = compare(one, three).moved
    assert abs(turn.turned_deg) == 90.0
    assert compare(one, one).moved == ()


def brute_rectangle(places: list[tuple[float, ...]]) -> float:
    """Largest empty rectangle by trying every pair of sides (slow, independent)."""
    rows = np.array([[x, y, x + w, y + d] for x, y, _, w, d, _ in places]).reshape(-1, 4)
    xs = np.unique(np.clip(np.concatenate([[0, 4000], rows[:, 0], rows[:, 2]]), 0, 4000))
    ys = np.unique(np.clip(np.concatenate([[0, 3000], rows[:, 1], rows[:, 3]]), 0, 3000))
    best = 0.0
    for x0, x1 in combinations(xs, 2):
        for y0, y1 in combinations(ys, 2):
            met = (
                (rows[:, 0] < x1) & (rows[:, 2] > x0) & (rows[:, 1] < y1) & (rows[:, 3] > y0)
            ).any()
            if not met:
                best = max(best, (x1 - x0) * (y1 - y0))
    return float(best)


PLACES = st.lists(
    st.tuples(
        st.integers(0, 35).map(lambda v: v * 100),
        st.integers(0, 25).map(lambda v: v * 100),
        st.just(0),
        st.integers(1, 15).map(lambda v: v * 100),
        st.integers(1, 12).map(lambda v: v * 100),
        st.integers(5, 19).map(lambda v: v * 100),
    ),
    max_size=5,
)


@given(PLACES)
@settings(max_examples=30, deadline=None)
def test_largest_rectangle_against_every_pair_of_sides(places: list[tuple[float, ...]]):
    """The kernel's rectangle is as large as any that stands on sides of boxes and walls."""
    found = largest_rectangle(laid(boxes(*places)))
    assert found.proved
    area = found.size[0] * found.size[1]
    assert area == pytest.approx(brute_rectangle(places), rel=1e-6, abs=1.0)


def test_the_rectangle_oracle_would_notice():
    """A rectangle one box narrower than the truth is told from it."""
    places = [(1000, 0, 0, 500, 3000, 900)]
    assert brute_rectangle(places) == 2500 * 3000
    assert brute_rectangle([(1000, 0, 0, 600, 3000, 900)]) < 2500 * 3000


@given(PLACES)
@settings(max_examples=20, deadline=None)
def test_largest_circle_against_another_library(places: list[tuple[float, ...]]):
    """The diameter agrees with GEOS' own search, and the circle is clear of everything."""
    layout = laid(boxes(*places))
    free = shapely.box(0, 0, 4000, 3000).difference(
        shapely.union_all([shapely.box(x, y, x + w, y + d) for x, y, _, w, d, _ in places])
    )
    found = open_circle(layout)
    if free.area < 1e3:
        return
    line = shapely.maximum_inscribed_circle(free, tolerance=0.02)
    assert found.diameter == pytest.approx(2 * line.length, abs=0.15)
    spot = shapely.Point(found.centre)
    assert free.contains(spot)
    assert free.boundary.distance(spot) >= found.diameter / 2 - 1e-6


def test_circle_in_a_triangle():
    """The incircle of 3-4-5 has radius 1 (classical)."""
    triangle = shapely.Polygon([(0, 0), (4000, 0), (0, 3000)])
    found = largest_circle(triangle)
    assert found.diameter == pytest.approx(2000.0, abs=0.1)
    assert found.diameter <= 2000.0 + 1e-9
    assert found.centre == pytest.approx((1000.0, 1000.0), abs=0.5)


def test_low_and_high_things():
    """What starts at 2000 is not in the way; what starts a little lower is."""
    at_limit = laid(boxes((0, 0, 2000, 1000, 3000, 300)))
    below = laid(boxes((0, 0, 1999, 1000, 3000, 300)))
    assert largest_rectangle(at_limit).size == pytest.approx((4000.0, 3000.0))
    assert largest_rectangle(below).size == pytest.approx((3000.0, 3000.0))
    assert tally(at_limit).obstructed_m2 == 0.0


def test_no_headroom_anywhere():
    """Under 2000 nothing is open floor, and nothing fails for it."""
    layout = laid(boxes(room="size: 4000 x 3000\nceiling: [{flat: 1900}]"))
    assert open_circle(layout).diameter == 0.0
    assert largest_rectangle(layout).size == (0.0, 0.0)


def test_store_of_overlapping_parts_counts_once():
    """A compound item's bands add up to its own volume."""
    text = (
        "items:\n  case:\n    stores: yes\n    parts:\n"
        "      - {name: low, box: 0..1000 x 0..500 x 0..1600}\n"
        "      - {name: wide, box: 0..600 x 0..800 x 1400..2000}\n"
        "schemes: {one: [{item: case, at: [0, 0]}]}\n"
    )
    layout = laid(project_of(text))
    assert sum(store_by_reach(layout)) / 1e6 == pytest.approx(tally(layout).store_l, abs=1e-9)
    assert len(reach_words()) == len(store_by_reach(layout)) == 4


def test_command_in_both_forms(tmp_path: Path):
    """`massing compare` prints a table; JSON carries the same figures."""
    file = tmp_path / "boathouse.yaml"
    file.write_text(FILE.read_text().rstrip("\n") + "\n" + NO_SCREEN)
    words = [str(file), "as found", "no screen"]
    told = CliRunner().invoke(command, words, standalone_mode=False)
    assert told.exception is None
    assert "floor freed: 2.038 m²" in told.output
    answer = json.loads(
        CliRunner().invoke(command, [*words, "--format", "json"], standalone_mode=False).output
    )
    assert answer["freed_m2"] == pytest.approx(2.038)
    assert answer["after"]["store_l"] == 1215.56
    assert answer["items_out"] == ["kayak on trestles", "low table"]


def test_example_reads(project: Project):
    """The example itself still has the schemes this file leans on."""
    assert set(read_project(FILE).arrangements) <= set(project.arrangements)
