"""Tests for sums of rectangular errors: exact fractions, and three methods against one another."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import factorial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.survey.combine import chance_above
from massing.survey.convolve import below_closed, below_pieces, below_series, series_terms


def exact_below(x: Fraction, widths: list[Fraction]) -> Fraction:
    """P(S <= x) in exact rational arithmetic: the slow oracle, no rounding at all."""
    n = len(widths)
    total = Fraction(0)
    for signs in product((-1, 1), repeat=n):
        base = x + sum(s * w for s, w in zip(signs, widths, strict=True))
        if base > 0:
            sign = 1
            for s in signs:
                sign *= s
            total += sign * base**n
    scale = Fraction(factorial(n))
    for width in widths:
        scale *= 2 * width
    return total / scale


def test_the_oracle_knows_two_dice_of_the_continuum():
    """Irwin-Hall: three unit uniforms, P(sum <= 1) = 1/6; a wrong width must show."""
    half = Fraction(1, 2)

    assert exact_below(Fraction(-1, 2), [half] * 3) == Fraction(1, 6)
    assert exact_below(Fraction(-1, 2), [half, half, Fraction(3, 4)]) != Fraction(1, 6)


widths = st.lists(st.integers(1, 40_000), min_size=1, max_size=6)


@given(widths, st.integers(-999, 999))
@settings(max_examples=60, deadline=None)
def test_every_method_agrees_with_exact_fractions(thousandths: list[int], permille: int):
    """Half-widths from 0.001 to 40, so ratios to 40,000; the promise is 1e-9."""
    exact = [Fraction(w, 1000) for w in thousandths]
    x = sum(exact) * Fraction(permille, 1000)
    truth = float(exact_below(x, exact))
    floats = np.array([float(w) for w in exact])

    value, slack = below_closed(float(x), floats)
    series = below_series(float(x), floats, 0.0)

    assert abs(value - truth) <= slack + 1e-12
    assert below_pieces(float(x), floats) == pytest.approx(truth, abs=1e-10)
    assert chance_above(float(x), floats.tolist()) == pytest.approx(truth, abs=1e-9)
    if series is not None:
        assert series == pytest.approx(truth, abs=1e-9)


@pytest.mark.parametrize("tiny", [1e-3, 1e-5, 6e-8, 1e-8])
@pytest.mark.parametrize("x", [-2.0, 0.0, 2.0, 3.999])
def test_a_share_millions_of_times_smaller_does_no_harm(tiny: float, x: float):
    """Beside ±3 and ±1 it rounds the corners of the distribution by a hair, no more."""
    sizes = [Fraction(3), Fraction(1), Fraction(tiny)]
    truth = float(exact_below(Fraction(x), sizes))
    floats = [float(size) for size in sizes]

    assert below_pieces(x, np.array(floats)) == pytest.approx(truth, abs=1e-10)
    assert chance_above(x, floats) == pytest.approx(truth, abs=1e-9)


@given(
    st.lists(st.floats(0.01, 30.0), min_size=1, max_size=5),
    st.floats(0.01, 30.0),
    st.floats(-0.95, 0.95),
)
@settings(max_examples=60, deadline=None)
def test_series_and_pieces_agree_with_a_normal_part(sizes, sigma: float, place: float):
    array = np.array(sizes)
    x = place * (float(array.sum()) + 3.0 * sigma)
    series = below_series(x, array, sigma)

    if series is not None:
        assert below_pieces(x, array, sigma) == pytest.approx(series, abs=1e-9)


def test_the_closed_form_knows_when_it_cannot_be_trusted():
    """Eight shares a million to one cancel to nothing; the bound says so, the answer holds."""
    sizes = np.array([100.0, *[1e-4] * 7])
    truth = float(exact_below(Fraction(1), [Fraction(100), *[Fraction(1, 10_000)] * 7]))

    assert below_closed(1.0, sizes)[1] > 1e-6
    assert chance_above(1.0, sizes.tolist()) == pytest.approx(truth, abs=1e-9)


def test_many_shares_beside_one_giant_still_answer():
    """One wall ±100 and twelve shares of a ten-thousandth: all but the wall's own 0.5 + 7/200."""
    assert chance_above(7.0, [100.0] + [1e-4] * 12) == pytest.approx(0.535, abs=1e-9)


def test_a_series_that_would_be_too_long_is_declined():
    assert series_terms(np.array([1.0]), 0.0, 1.0, 1 << 16) is None
    assert below_series(0.5, np.array([1.0]), 0.0) is None
