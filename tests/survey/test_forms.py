"""Outlines with fewer freedoms, roofs and guesses from lengths, against independent answers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from massing.errors import GeometryError
from massing.survey.combine import standard_uncertainty
from massing.survey.forms import FixedTurns, Leaning, adjust_form, form_blunder
from massing.survey.readings import OutlineSurvey, length, turn
from massing.survey.roofs import RoofReading, RoofSurvey, adjust_roof
from massing.survey.trilateration import trilaterated, turns_of

LETTERS = "ABCDEFGH"


@given(st.integers(0, 2**32 - 1), st.integers(4, 8))
@settings(deadline=None, max_examples=25)
def test_fixed_turns_are_the_condition_adjustment_of_a_closed_walk(seed: int, count: int):
    """Two conditions, sums along x and y: l' = l - W B (B' W B)^-1 B' l, weights a² (textbook)."""
    rng = np.random.default_rng(seed)
    turns = rng.dirichlet(np.full(count, 4.0)) * 360.0
    bearings = np.concatenate([[0.0], np.cumsum(turns)[:-1]])
    ways = FixedTurns(tuple(bearings)).ways()
    sizes, halves = rng.uniform(1500, 4000, count), rng.uniform(1.0, 12.0, count)
    readings = tuple(
        length(k, (k + 1) % count, float(sizes[k]), float(halves[k])) for k in range(count)
    )
    survey = OutlineSurvey(tuple(LETTERS[:count]), readings)
    found = adjust_form(survey, FixedTurns(tuple(bearings)))

    weights = np.diag(halves**2)
    system = ways.T @ weights @ ways
    closed = sizes - weights @ ways @ np.linalg.solve(system, ways.T @ sizes)
    steps = np.roll(found.corners, -1, axis=0) - found.corners
    # A wall pulled past nothing reads its length the other way: only walks that stay rooms count.
    if (closed > 0).all():
        np.testing.assert_allclose((steps * ways).sum(axis=1), closed, atol=1e-5)
        moved = np.eye(count) - weights @ ways @ np.linalg.solve(system, ways.T)
        x = np.array([[(moved[:k, j] * ways[:k, 0]).sum() for j in range(count)]
                      for k in range(count)])  # fmt: skip
        np.testing.assert_allclose(found.influence[0::2], x, atol=1e-7)


@given(st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=25)
def test_a_leaning_room_matches_an_independent_optimizer(seed: int):
    rng = np.random.default_rng(seed)
    width, depth, lean = rng.uniform(2000, 6000), rng.uniform(1500, 4000), rng.uniform(80, 100)
    cos = np.cos(np.radians(lean))
    long = np.sqrt(width**2 + depth**2 + 2 * width * depth * cos)
    short = np.sqrt(width**2 + depth**2 - 2 * width * depth * cos)
    true = np.array([width, depth, long, short, lean])
    half = np.array([4.0, 4.0, 5.0, 5.0, 1.0])
    read = true + rng.uniform(-1, 1, 5) * half
    readings = (
        length(0, 1, read[0], 4.0),
        length(1, 2, read[1], 4.0),
        length(0, 2, read[2], 5.0),
        length(1, 3, read[3], 5.0),
        turn(0, float(read[4] - 2 * (read[4] - 90.0)), 1.0),
    )
    survey = OutlineSurvey(tuple("ABCD"), readings)
    found = adjust_form(survey, Leaning(float(read[0]), float(read[1])))

    def misfit(x):
        c = np.cos(np.radians(x[2]))
        two = x[0] ** 2 + x[1] ** 2
        both = 2 * x[0] * x[1] * c
        return (
            np.array([x[0], x[1], np.sqrt(two + both), np.sqrt(two - both), x[2]]) - read
        ) / half

    # The turn at the first corner is 180 less the angle inside.
    theirs = least_squares(misfit, [read[0], read[1], 90.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    np.testing.assert_allclose(found.adjustment.unknowns, theirs.x, atol=2e-3)
    assert found.adjustment.freedom == 2


def test_the_leaning_oracle_would_notice_a_wrong_weight():
    """Planted: the same survey with the diagonals' ± exchanged is another answer."""

    def corner(first: float, second: float):
        readings = (
            length(0, 1, 4000.0, 4.0),
            length(1, 2, 3000.0, 4.0),
            length(0, 2, 5020.0, first),
            length(1, 3, 5010.0, second),
        )
        form = Leaning(4000.0, 3000.0)
        return adjust_form(OutlineSurvey(tuple("ABCD"), readings), form).adjustment.unknowns

    assert np.abs(corner(3.0, 9.0) - corner(9.0, 3.0)).max() > 0.05


@given(st.integers(0, 2**32 - 1), st.booleans())
@settings(deadline=None, max_examples=25)
def test_a_roof_matches_an_independent_optimizer(seed: int, double: bool):
    rng = np.random.default_rng(seed)
    sides = 2 if double else 1
    ridge = rng.uniform(2300, 3200)
    eaves, runs = rng.uniform(800, 2000, sides), rng.uniform(1200, 2600, sides)
    rows: list[tuple[str, int, float, float]] = [("ridge", 0, ridge, 5.0),
                                                 ("width", 0, runs.sum(), 0.1)]  # fmt: skip
    for k in range(sides):
        rise = ridge - eaves[k]
        rows += [
            ("eaves", k, eaves[k], 5.0),
            ("slope", k, float(np.hypot(rise, runs[k])), 8.0),
            ("pitch", k, float(np.degrees(np.arctan2(rise, runs[k]))), 0.5),
        ]
    rows = [(kind, k, value + float(rng.uniform(-h, h)), h) for kind, k, value, h in rows]
    readings = tuple(RoofReading(kind, k, value, h) for kind, k, value, h in rows)
    found = adjust_roof(RoofSurvey(("south", "north")[:sides], readings))

    def misfit(x):
        off = []
        for kind, k, value, h in rows:
            low, run = x[1 + 2 * k], x[2 + 2 * k]
            rise = x[0] - low
            reads = {
                "ridge": x[0],
                "width": x[2::2].sum(),
                "eaves": low,
                "slope": np.hypot(rise, run),
                "pitch": np.degrees(np.arctan2(rise, run)),
            }[kind]
            off.append((reads - value) / standard_uncertainty(h))
        return np.array(off)

    start = np.array([ridge, *(v for pair in zip(eaves, runs, strict=True) for v in pair)])
    scale = np.full(len(start), 1.0)
    theirs = least_squares(misfit, start, x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    np.testing.assert_allclose(found.unknowns, theirs.x, atol=5e-3)


def test_a_roof_reading_without_a_tolerance_is_refused():
    with pytest.raises(GeometryError, match="needs a ± above zero"):
        adjust_roof(RoofSurvey(("south",), (RoofReading("eaves", 0, 900.0, 0.0),)))


def slipped(square: float):
    """A size whose first diagonal reads 100 too much; its corners square within so many degrees."""
    readings = (
        length(0, 1, 5200.0, 4.0),
        length(1, 2, 2600.0, 4.0),
        length(0, 2, 5813.8 + 100.0, 4.0),
        length(1, 3, 5813.8, 4.0),
        turn(0, 90.0, square),
    )
    form = Leaning(5200.0, 2600.0)
    found = form_blunder(adjust_form(OutlineSurvey(tuple("ABCD"), readings), form), form)
    assert found is not None
    return found


def test_a_size_with_one_wrong_diagonal_names_it_where_the_corners_are_known_to_be_square():
    found = slipped(0.4)
    assert found.suspect is not None
    assert found.suspect.name == "the diagonal A-C"
    assert found.suspect.disagrees == pytest.approx(100.0, abs=1.0)


def test_a_room_that_may_lean_leaves_it_open_and_says_what_would_explain_it():
    """Leaning 1.2 degrees with a width 56 short would do as well: neither is accused."""
    found = slipped(1.0)
    assert found.suspect is None
    assert "the diagonal A-C would fit if read 100 too much (5814)" in found.says
    assert {"the wall A-B", "the diagonal A-C"} <= {rival.name for rival in found.rivals}


@given(st.integers(0, 2**32 - 1), st.integers(4, 7))
@settings(deadline=None, max_examples=25)
def test_lengths_and_the_way_each_corner_turns_give_the_room_back(seed: int, count: int):
    """Among the rooms made of exact lengths, the true one is there, and first if its turns are."""
    rng = np.random.default_rng(seed)
    angle = (np.arange(count) + rng.uniform(-0.25, 0.25, count)) * 2 * np.pi / count
    points = rng.uniform(1500, 3000, count)[:, None] * np.stack(
        [np.cos(angle), np.sin(angle)], axis=1
    )
    pairs = [(k, (k + 1) % count) for k in range(count)]
    pairs += [(0, k) for k in range(2, count - 1)]
    readings = tuple(length(a, b, float(np.hypot(*(points[a] - points[b]))), 4.0) for a, b in pairs)
    hints = tuple(float(t) for t in turns_of(points))
    survey = OutlineSurvey(tuple(LETTERS[:count]), readings, hints=hints)

    apart = np.linalg.norm(points[:, None] - points[None], axis=2)
    tried = trilaterated(survey, 64)
    off = [np.abs(np.linalg.norm(t[:, None] - t[None], axis=2) - apart).max() for t in tried]
    assert min(off) < 1e-5
    np.testing.assert_array_equal(np.sign(turns_of(tried[0])), np.sign(hints))
