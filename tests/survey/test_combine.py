"""Tests for combining tolerances: published budgets, the uncertainties package, chances."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import umath

from massing.survey.combine import (
    SHAPES,
    chance_above,
    chi_square_point,
    coverage_factor,
    effective_freedom,
    expanded,
    root_sum_square,
    standard_uncertainty,
    worst_case,
)

# JCGM 100:2008 example H.1, end gauge: contributions in nm and their degrees of freedom.
# Figures as reproduced by a national metrology institute's published worked script (secondary).
H1_PARTS = [25.0, 9.7, 2.9, 16.6]
H1_FREEDOMS = [18.0, 25.6, 50.0, 2.0]


def test_the_end_gauge_example_comes_out_as_published():
    """JCGM 100:2008 H.1: u = 32 nm, 16 degrees of freedom, k = 2.92, U99 = 93 nm."""
    u = root_sum_square(H1_PARTS)
    freedom = effective_freedom(H1_PARTS, H1_FREEDOMS)
    k = coverage_factor(freedom, 0.99)

    assert round(u, 2) == 31.67  # the root-sum-square of the four rounded contributions
    assert round(u) == 32
    assert math.floor(freedom) == 16
    assert round(k, 2) == 2.92
    assert round(k * 32.0) == 93


def test_the_comparator_of_the_end_gauge_example_comes_out_as_published():
    """JCGM 100:2008 H.1.3.2: 5.8, 3.9 and 6.7 nm give 9.7 nm with 25.6 degrees of freedom."""
    parts, freedoms = [5.8, 3.9, 6.7], [24.0, 5.0, 8.0]

    u = root_sum_square(parts)

    assert round(u, 1) == 9.7
    # H.1.6 puts the rounded 9.7 into the formula.
    assert round(effective_freedom(parts, freedoms) * (9.7 / u) ** 4, 1) == 25.6


def test_a_published_small_budget_comes_out():
    """Calibration budget (secondary): 0.00033, 0.00029, 0.00025 mm give 0.00051, U 0.0010."""
    parts = [0.00033, 0.00029, 0.00025]

    assert round(root_sum_square(parts), 5) == 0.00051
    assert round(expanded(parts), 4) == 0.0010


def test_a_room_size_budget():
    """Worked by hand: reading to 1 mm, tape ±0.7, floor ±3 triangular give 1.3216 and 2.6432."""
    parts = [
        standard_uncertainty(0.5),
        standard_uncertainty(0.7),
        standard_uncertainty(3.0, "triangular"),
    ]

    assert [round(part, 4) for part in parts] == [0.2887, 0.4041, 1.2247]
    assert round(root_sum_square(parts), 4) == 1.3216
    assert round(expanded(parts), 4) == 2.6432


@given(st.floats(0.0, 1e4))
def test_two_equal_rectangles_are_a_triangle_twice_as_wide(a: float):
    """2a/√6 = √2·a/√3: the sum of two uniforms is triangular."""
    two = root_sum_square([standard_uncertainty(a), standard_uncertainty(a)])

    assert two == pytest.approx(standard_uncertainty(2 * a, "triangular"), rel=1e-12, abs=1e-12)


def test_coverage_factors_of_the_published_table():
    """JCGM 100:2008 table G.2 (from memory): t95 for 1, 5, 20; t99 for 10."""
    assert [round(coverage_factor(v), 2) for v in (1, 5, 20)] == [12.71, 2.57, 2.09]
    assert round(coverage_factor(10, 0.99), 2) == 3.17


def test_chi_square_points_match_scipy():
    from scipy.stats import chi2

    for freedom in range(1, 40):
        for level in (0.05, 0.5, 0.95, 0.999):
            expected = chi2.ppf(level, freedom)
            assert chi_square_point(freedom, level) == pytest.approx(expected, rel=1e-9)


@given(st.lists(st.floats(0.01, 50.0), min_size=3, max_size=3), st.floats(0.1, 5.0))
def test_propagation_matches_the_uncertainties_package(widths: list[float], scale: float):
    """Slope length of a rafter from rise, run and a scale: same first-order uncertainty."""
    sizes = [1500.0, 2000.0, scale]
    parts = [standard_uncertainty(w) for w in widths]
    rise, run, factor = (uncertainties.ufloat(v, u) for v, u in zip(sizes, parts, strict=True))
    theirs = factor * umath.hypot(rise, run)
    slopes = [scale * 1500.0 / 2500.0, scale * 2000.0 / 2500.0, 2500.0]

    ours = root_sum_square(s * u for s, u in zip(slopes, parts, strict=True))

    assert ours == pytest.approx(theirs.std_dev, rel=1e-9)


@given(st.lists(st.floats(-100.0, 100.0), max_size=12))
def test_likely_never_exceeds_worst(parts: list[float]):
    assert root_sum_square(parts) <= worst_case(parts) * (1 + 1e-12)


def test_bad_input_is_refused():
    with pytest.raises(ValueError, match="cannot be -1"):
        standard_uncertainty(-1.0)
    with pytest.raises(ValueError, match="no such shape"):
        standard_uncertainty(1.0, "round")
    with pytest.raises(ValueError, match="between 0 and 1"):
        coverage_factor(5, 1.0)
    with pytest.raises(ValueError, match="finite"):
        chance_above(0.0, [math.nan])
    with pytest.raises(ValueError, match="chi-square"):
        chi_square_point(0)


shares = st.lists(st.floats(0.0, 60.0), max_size=14)
kinds = st.sampled_from(SHAPES)


@given(st.floats(-200.0, 200.0), shares, kinds)
def test_chances_of_a_gap_and_its_mirror_add_to_one(mean: float, widths, shape):
    """Symmetric errors: P(m + e >= 0) + P(-m + e >= 0) = 1 unless everything is exact."""
    both = chance_above(mean, widths, shape) + chance_above(-mean, widths, shape)

    if any(widths) or mean != 0.0:
        assert both == pytest.approx(1.0, abs=1e-9)


@given(st.floats(-80.0, 80.0), st.floats(0.0, 20.0), shares, kinds)
def test_a_larger_gap_is_never_less_likely_clear(mean: float, more: float, widths, shape):
    assert chance_above(mean + more, widths, shape) >= chance_above(mean, widths, shape) - 1e-9


@given(shares, st.floats(1e-6, 10.0))
def test_beyond_the_worst_case_the_chance_is_certain(widths, beyond: float):
    """A rectangular error cannot exceed its half-width."""
    limit = worst_case(widths) + beyond

    assert chance_above(limit, widths) == 1.0
    assert chance_above(-limit, widths) == 0.0


@given(st.floats(-30.0, 30.0), st.floats(0.5, 20.0))
def test_a_triangle_is_two_rectangles(mean: float, a: float):
    assert chance_above(mean, [2 * a], "triangular") == pytest.approx(
        chance_above(mean, [a, a]), abs=1e-12
    )


def test_normal_shares_follow_the_normal_law():
    """One sigma: 0.841344746 (tables of the normal distribution)."""
    assert chance_above(10.0, [20.0], "normal") == pytest.approx(0.841344746, abs=1e-9)
    assert chance_above(10.0, [12.0, 16.0], "normal") == pytest.approx(0.841344746, abs=1e-9)


def test_a_mixture_agrees_with_sampling():
    """Tape, two wall build-ups, floor and a catalogue body, a million seeded draws."""
    widths = [4.0, 20.0, 20.0, 6.0, 5.0]
    shapes = ["rectangular", "rectangular", "triangular", "normal", "rectangular"]
    rng = np.random.default_rng(20)
    n = 1_000_000
    total = np.full(n, 9.0)
    for width, shape in zip(widths, shapes, strict=True):
        if shape == "rectangular":
            total += rng.uniform(-width, width, n)
        elif shape == "triangular":
            total += rng.triangular(-width, 0.0, width, n)
        else:
            total += rng.normal(0.0, width / 2.0, n)
    share = float((total >= 0.0).mean())

    found = chance_above(9.0, widths, shapes)

    assert abs(found - share) < 4.0 * math.sqrt(0.25 / n)
    assert abs(found - chance_above(9.0, widths)) > 1e-3  # the shapes are not ignored
