"""Sampled odds: laws they must follow, executors that must not matter, and where odds bend."""

from __future__ import annotations

import importlib.util
import math
import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from uncertainties import ufloat, umath

from massing.checks.finding import Verdict
from massing.checks.run import Answer, check_scheme
from massing.project.read import parse_project, read_project
from massing.sureness.sampling import BATCH, moves, sample

TAPE = Verdict.REMEASURE
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def first() -> Answer:
    return check_scheme(read_project(EXAMPLES / "boathouse.yaml"), "first try", nudges=False)


@pytest.fixture(scope="module")
def skew() -> Answer:
    return check_scheme(read_project(EXAMPLES / "lean-to.yaml"), "drying room", nudges=False)


def numbers(found) -> list[tuple[float, ...]]:
    return [(row.chance, row.low, row.middle, row.high) for row in found]


def tape_decides(found):
    (row,) = [r for r in found if r.finding.verdict is Verdict.REMEASURE]
    return row


def triangular_below(x: float, half: float) -> float:
    """Chance that two equal rectangular errors, each of half-width half / 2, sum to below x."""
    share = min(max(x / half, -1.0), 1.0)
    return 0.5 * (1 + share) ** 2 if share < 0 else 1 - 0.5 * (1 - share) ** 2


def test_two_walls_of_twenty_make_a_triangle_of_forty(first):
    """Rectangular and rectangular is triangular, JCGM 101:2008 5.3.2; here through a project.

    The boathouse's screen has 20 to spare nominally, and two wall thicknesses of ±20 across it.
    """
    finding = tape_decides(sample(first, 1)).finding
    assert (finding.gap_mm, finding.worst_mm, finding.best_mm) == (20.0, -20.0, 60.0)
    assert finding.chance_clear == pytest.approx(1 - triangular_below(-20.0, 40.0), abs=2e-4)
    assert finding.plus_minus_mm == pytest.approx(2 * 40 / math.sqrt(6), abs=1e-3)


def test_sampled_points_are_those_of_the_exact_triangle(first):
    alone = replace(first, findings=tuple(f for f in first.findings if f.verdict is TAPE))
    row = tape_decides(sample(alone, 20_000, seed=3))

    assert row.chance == pytest.approx(0.875, abs=3.5 * math.sqrt(0.875 * 0.125 / 20_000))
    assert row.agrees
    for share, found in ((0.025, row.low), (0.5, row.middle), (0.975, row.high)):
        tail = min(share, 1 - share)
        exact = 20 + math.copysign(40 * (1 - math.sqrt(2 * tail)), share - 0.5)
        # The spread of a sampled quantile is sqrt(p q / n) over the density there.
        density = math.sqrt(2 * tail) / 40
        assert found == pytest.approx(
            exact, abs=4 * math.sqrt(tail * (1 - tail) / 20_000) / density
        )


def test_where_gaps_are_straight_the_odds_agree(first, skew):
    for answer in (first, skew):
        rows = sample(answer, 4000, seed=1)
        moved = [row for row in rows if moves(row.finding) and row.finding.linear]
        assert len(moved) >= 3
        assert [row.finding.says for row in moved if not row.agrees] == []
        for row in moved:
            finding = row.finding
            assert row.low >= finding.worst_mm - 0.05
            assert row.high <= finding.best_mm + 0.05


def test_a_finding_nothing_moves_is_not_sampled(first):
    for row in sample(first, 7):
        assert row.still == (not moves(row.finding))
        if row.still:
            assert (row.error, row.low) == (0.0, row.finding.gap_mm)


def test_the_seed_alone_decides(first):
    one = sample(first, BATCH + 40, seed=5)
    assert numbers(one) == numbers(sample(first, BATCH + 40, seed=5))
    assert numbers(one) != numbers(sample(first, BATCH + 40, seed=6))
    with pytest.raises(ValueError, match="at least one"):
        sample(first, 0)


def test_processes_of_their_own_give_the_same_numbers(skew):
    """Workers started afresh import everything again and share nothing."""
    here = sample(skew, 2 * BATCH + 10, seed=2)
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=fresh) as pool:
        there = sample(skew, 2 * BATCH + 10, seed=2, executor=pool)
    assert numbers(there) == numbers(here)


HERE = importlib.util.find_spec("distributed") is not None


@pytest.mark.skipif(
    not HERE and os.environ.get("MASSING_REQUIRE_ALL") != "1", reason="distributed is not installed"
)
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_cluster_gives_the_same_numbers(skew):
    from distributed import Client, LocalCluster

    here = sample(skew, BATCH + 10, seed=2)
    with (
        LocalCluster(
            n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        Client(cluster) as client,
    ):
        there = sample(skew, BATCH + 10, seed=2, executor=client.get_executor())
    assert numbers(there) == numbers(here)


CORNERS = """
massing: 1
project: two crates corner to corner
room: {size: 3000 x 3000, ceiling: [{flat: 2400}]}
items:
  first: {body: 500 ±8 x 500 ±8 x 500}
  second: {body: 400 x 400 x 400}
schemes:
  only:
    - {item: first, at: [0, 0]}
    - {item: second, at: [498, 498]}
"""


def test_where_the_gap_bends_it_is_said_and_the_sampled_odds_are_right():
    """Corner to corner each way counts alone: clear unless both sizes stay over 498.

    Each is over 498 with chance 10/16, so it is clear with chance 1 - (10/16)², which no
    first-order figure can give.
    """
    answer = check_scheme(parse_project(CORNERS), nudges=False)
    (row,) = [r for r in sample(answer, 8000, seed=4) if r.finding.check == "bodies"]

    exact = 1 - (10 / 16) ** 2
    assert row.chance == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 8000))
    assert not row.finding.linear
    assert not row.agrees
    assert abs(row.finding.chance_clear - exact) > 0.05


def test_straight_gaps_are_said_to_be_straight(first):
    assert all(f.linear for f in first.findings if f.verdict is Verdict.REMEASURE)


TRIANGLE = """
massing: 1
project: a crate near a leaning wall
room:
  walls:
    - {name: north, length: 3600 ±6}
    - {name: east, length: 2200 ±5}
    - {name: south, length: 3500 ±6}
    - {name: west, length: 2250 ±5}
  diagonals: [{from: north/west, to: south/east, length: 4150 ±7}]
  ceiling: [{flat: 2400}]
items:
  crate: {body: 1500 ±3 x 800 ±4 x 600}
schemes:
  only: [{item: crate, against: north, along: 2010}]
"""


def test_the_doubt_of_a_placed_gap_is_that_of_the_uncertainties_package():
    """No spare measurement, so the leaning wall follows from the cosine rule in closed form."""
    answer = check_scheme(parse_project(TRIANGLE), nudges=False)
    (finding,) = [f for f in answer.findings if f.check == "walls" and "east" in f.items]

    def size(value: float, half: float):
        return ufloat(value, half / math.sqrt(3))

    a, b, d = size(3600, 6), size(2200, 5), size(4150, 7)
    width, depth = size(1500, 3), size(800, 4)
    cos = (a**2 + b**2 - d**2) / (2 * a * b)
    gap = umath.sqrt(1 - cos**2) * (a - 2010 - width) - depth * cos
    assert finding.gap_mm == pytest.approx(gap.nominal_value, abs=0.01)
    assert finding.plus_minus_mm == pytest.approx(2 * gap.std_dev, rel=0.01)
    keys = {key for key, _ in finding.turns_on}
    assert "room.diagonals[0].length" in keys
    # The south and west walls only place the far corner.
    assert not keys & {"room.walls[2].length", "room.walls[3].length"}


def test_what_is_left_out_changes_no_number(first, monkeypatch):
    """Against running every check on everything in every world."""
    import massing.sureness.sampling as module

    lean = sample(first, 64, seed=9)
    monkeypatch.setattr(
        module,
        "_looks",
        lambda *_: [module._Look(k, None, None) for k in range(len(module.CHECKS))],
    )
    module._setup.cache_clear()
    full = sample(first, 64, seed=9)
    module._setup.cache_clear()
    np.testing.assert_allclose(numbers(lean), numbers(full), atol=1e-6)
