"""Tests for the least-squares engine: published level nets, then the laws of least squares."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.survey.adjust import Problem, UndeterminedError, adjust, free_moves
from massing.survey.combine import chi_square_point


def linear(slopes, observed, sigma) -> Problem:
    slopes = np.asarray(slopes, dtype=float)
    m, n = slopes.shape
    return Problem(
        observe=lambda x: (slopes @ x, slopes),
        observed=np.asarray(observed, dtype=float),
        sigma=np.broadcast_to(np.asarray(sigma, dtype=float), (m,)),
        names=tuple(f"reading {i}" for i in range(m)),
        unknowns=tuple(f"unknown {i}" for i in range(n)),
        starts=(np.zeros(n),),
        turning=np.zeros(m, dtype=bool),
    )


# J. Mahun, Open Access Surveying Library, "Least Squares Lite": the level circuit of chapters
# B, D (jerrymahun.com, chapter-d-matrix-method) and, weighted by set-ups, E (chapter-e-weights).
# Feet. The bench marks follow from the published adjusted differences and elevations.
MARKS = {"A": 806.52, "B": 818.32, "C": 820.12, "D": 824.04}
RISES = [8.91, -2.92, -4.67, -8.66, -3.56, -17.12, -21.10, -12.47]
SETUPS = np.array([3, 2, 1, 3, 3, 4, 2, 3])
CIRCUIT = np.array([[1, 0]] * 4 + [[0, 1]] * 3 + [[-1, 1]], dtype=float)
HEIGHTS = [
    *(MARKS[m] + r for m, r in zip("ABCD", RISES[:4], strict=True)),
    *(MARKS[m] + r for m, r in zip("ACD", RISES[4:7], strict=True)),
    RISES[7],
]


def test_the_unweighted_level_circuit_comes_out_as_published():
    """Chapter D summary: elevations, adjusted rises, deviations in the published proportion.

    The page prints So = 0.028, which is the root of 0.004767/6: the squares of its version with
    seven readings over the freedom of that with eight. Its own residuals give 0.029.
    """
    found = adjust(linear(CIRCUIT, HEIGHTS, 1.0))
    so = (0.004767 / 6.0) ** 0.5
    rises = found.adjusted - np.array([*MARKS.values(), MARKS["A"], MARKS["C"], MARKS["D"], 0.0])
    spread = so * np.sqrt(np.diag(found.slopes @ found.covariance @ found.slopes.T))

    assert found.freedom == 6
    assert found.unknowns.round(3).tolist() == [815.418, 802.962]
    assert round(so, 3) == 0.028
    assert (so * found.uncertainty).round(3).tolist() == [0.013, 0.014]
    assert rises.round(3).tolist() == [
        *(8.898, -2.902, -4.702, -8.622),
        *(-3.558, -17.158, -21.078, -12.456),
    ]
    assert spread.round(3).tolist() == [0.013] * 4 + [0.014] * 3 + [0.017]
    assert round(found.unit_uncertainty, 3) == 0.029


def test_the_first_seven_readings_come_out_as_published():
    """Chapter B: the squared residuals of Q and R alone, 0.002900 and 0.001867."""
    found = adjust(linear(CIRCUIT[:7], HEIGHTS[:7], 1.0))

    assert found.residuals.round(3).tolist() == [-0.015, 0.015, -0.035, 0.035, 0.007, -0.033, 0.027]
    assert float((found.residuals[:4] ** 2).sum()) == pytest.approx(0.002900, abs=5e-7)
    assert float((found.residuals[4:] ** 2).sum()) == pytest.approx(0.001867, abs=5e-7)


def test_the_weighted_level_circuit_comes_out_as_published():
    """Chapter E: weights 12/set-ups; Q 815.424 ±0.012, R 802.958 ±0.016, So ±0.067.

    Elevations to one in the last figure: the page rounds on the way.
    """
    found = adjust(linear(CIRCUIT, HEIGHTS, np.sqrt(SETUPS / 12.0)))
    so = found.unit_uncertainty

    assert found.unknowns == pytest.approx([815.424, 802.958], abs=0.0015)
    assert round(so, 3) == 0.067
    assert (so * found.uncertainty).round(3).tolist() == [0.012, 0.016]


def test_a_textbook_level_net_comes_out_as_published():
    """Sum of squares 4.636, factor 1.243, chi-square passed between 0.268 and 1.765.

    Level net of Strang & Borre, Linear Algebra, Geodesy and GPS, as adjusted in a thread of
    rplstoday.com ("How would you adjust this leveling data?"): three bench marks, two unknowns,
    6 mm per root kilometre.
    """
    a, b, c = 10.021, 10.321, 11.002
    rises = np.array([0.732 + a, 1.978 + a, 0.420 + b, 0.988 + c, 1.258])
    slopes = np.array([[1, 0], [0, 1], [1, 0], [0, 1], [-1, 1]])
    sigma = 0.006 * np.sqrt(np.array([0.970, 1.002, 1.070, 1.110, 0.890]))
    found = adjust(linear(slopes, rises, sigma))

    assert sigma.round(4).tolist() == [0.0059, 0.0060, 0.0062, 0.0063, 0.0057]
    assert found.freedom == 3
    assert round(found.chi_square, 3) == 4.636
    assert round(found.unit_uncertainty, 3) == 1.243
    assert round((chi_square_point(3, 0.975) / 3.0) ** 0.5, 3) == 1.765
    assert round((chi_square_point(3, 0.025) / 3.0) ** 0.5, 3) == 0.268
    assert found.agrees


def test_a_level_loop_run_both_ways_comes_out_figure_for_figure():
    """vrmapper.com, sample 1D levelling adjustment: eight rises, 5 mm each, one fixed point.

    Published: heights 998.77513, 997.93325, 999.27487 with 3.1, 3.5, 3.1 mm; [pvv] 146.625 mm²,
    deviation of unit weight 5.42 mm; largest normalized residual 1.68 at observation 6.
    """
    slopes = np.array(
        [
            [1, 0, 0],
            [-1, 1, 0],
            [0, -1, 1],
            [0, 0, -1],
            [0, 0, 1],
            [0, 1, -1],
            [1, -1, 0],
            [-1, 0, 0],
        ]
    )
    rises = np.array([-1.225, -0.848, 1.342, 0.720, -0.724, -1.335, 0.842, 1.231])
    fixed = np.array([1000.0, 0, 0, -1000.0, 1000.0, 0, 0, -1000.0])
    found = adjust(linear(slopes, (rises + fixed) * 1000.0, 5.0))  # mm

    assert (found.unknowns / 1000.0).round(6) == pytest.approx(
        [998.77513, 997.93325, 999.27487], abs=6e-6
    )
    assert found.uncertainty.round(1).tolist() == [3.1, 3.5, 3.1]
    assert float(found.residuals @ found.residuals) == pytest.approx(146.625, abs=1e-3)
    assert round(5.0 * found.unit_uncertainty, 2) == 5.42
    assert int(np.abs(found.standardized).argmax()) == 5
    assert round(float(np.abs(found.standardized).max()), 2) == 1.68
    assert found.freedom == 5
    assert found.agrees


def random_problem(seed: int, m: int, n: int) -> Problem:
    rng = np.random.default_rng(seed)
    slopes = rng.normal(size=(m, n))
    return linear(slopes, rng.normal(size=m) * 100.0, rng.uniform(0.5, 5.0, m))


shapes = st.tuples(st.integers(1, 5), st.integers(0, 6))
seeds = st.integers(0, 2**32 - 1)


@given(seeds, shapes)
@settings(deadline=None)
def test_the_laws_of_least_squares(seed: int, shape):
    """Normal equations, redundancy sums to the freedom, influence reproduces the unknowns."""
    n, spare = shape
    problem = random_problem(seed, n + spare, n)
    found = adjust(problem)
    weight = 1.0 / problem.sigma**2

    np.testing.assert_allclose(found.slopes.T @ (weight * found.residuals), 0.0, atol=1e-5)
    assert found.redundancy.sum() == pytest.approx(spare, abs=1e-6)
    np.testing.assert_allclose(found.influence @ found.slopes, np.eye(n), atol=1e-6)
    carried = found.influence @ np.diag(problem.sigma**2) @ found.influence.T
    np.testing.assert_allclose(carried, found.covariance, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(found.influence @ problem.observed, found.unknowns, atol=1e-6)


@given(seeds, shapes)
@settings(deadline=None)
def test_numpy_solves_the_same_normal_equations(seed: int, shape):
    """An independent route: the pseudo-inverse of the whitened system."""
    n, spare = shape
    problem = random_problem(seed, n + spare, n)
    white = problem.observe(np.zeros(n))[1] / problem.sigma[:, None]

    expected = np.linalg.pinv(white) @ (problem.observed / problem.sigma)

    np.testing.assert_allclose(adjust(problem).unknowns, expected, rtol=1e-7, atol=1e-7)


@given(seeds, shapes)
@settings(deadline=None)
def test_one_more_perfect_reading_never_makes_anything_less_certain(seed: int, shape):
    n, spare = shape
    problem = random_problem(seed, n + spare, n)
    before = adjust(problem)
    row = np.random.default_rng(seed + 1).normal(size=n)
    more = linear(
        np.vstack([before.slopes, row]),
        np.append(problem.observed, row @ before.unknowns),
        np.append(problem.sigma, 2.0),
    )
    after = adjust(more)

    np.testing.assert_allclose(after.unknowns, before.unknowns, atol=1e-6)
    assert (np.diag(after.covariance) <= np.diag(before.covariance) * (1 + 1e-9)).all()
    gain = np.linalg.eigvalsh(before.covariance - after.covariance)
    assert gain.min() >= -1e-8 * max(1.0, float(np.abs(before.covariance).max()))


def test_without_redundancy_nothing_is_tested():
    found = adjust(linear(np.eye(2), [3.0, 4.0], 1.0))

    assert found.chi_square is None
    assert found.agrees is None
    assert found.unit_uncertainty is None
    assert found.says == "nothing is measured twice, so no slip would show"
    assert found.redundancy.tolist() == [0.0, 0.0]
    assert found.standardized.tolist() == [0.0, 0.0]


def test_too_few_readings_are_refused_with_the_count():
    with pytest.raises(UndeterminedError, match="1 measurement is missing: free are unknown 1"):
        adjust(linear([[1.0, 0.0], [1.0, 0.0]], [3.0, 3.1], 1.0))
    assert free_moves(np.zeros((1, 3))).shape == (3, 3)


def test_the_statement_says_both_ways():
    good = adjust(linear([[1.0], [1.0]], [3.0, 3.1], 1.0))
    bad = adjust(linear([[1.0], [1.0]], [3.0, 30.0], 1.0))

    assert "measurements agree within" in good.says
    assert "do not agree" in bad.says
    assert good.agrees
    assert not bad.agrees
