"""Tests for adjusting an outline: an independent optimizer, planted shapes, what is missing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.survey.adjust import UndeterminedError
from massing.survey.outline import adjust_outline, outline_problem
from massing.survey.readings import (
    OutlineSurvey,
    Reading,
    corner_angle,
    length,
    offset,
    predicted,
    turn,
)
from massing.survey.shapes import crosses_itself, signed_area
from massing.survey.walks import first_guesses

LETTERS = "ABCDEFGHIJ"
ELL = np.array(
    [[0, 0], [4000, 0], [4000, 1500], [2500, 1500], [2500, 3000], [0, 3000]], dtype=float
)


def distance(points, i: int, j: int) -> float:
    return float(np.hypot(*(points[j] - points[i])))


def perfect(points, reading: Reading) -> Reading:
    value = predicted(reading, points)[0]
    if reading.kind == "turn":
        value = (value + 180.0) % 360.0 - 180.0
    return Reading(reading.kind, reading.at, value, reading.half_width)


def walls(points, half_width: float = 4.0) -> list[Reading]:
    n = len(points)
    return [perfect(points, length(i, (i + 1) % n, 0.0, half_width)) for i in range(n)]


def survey_of(points, readings) -> OutlineSurvey:
    return OutlineSurvey(tuple(LETTERS[: len(points)]), tuple(readings))


def laid_along_x(points) -> np.ndarray:
    """Move the first corner to the origin and turn the first wall along +x."""
    points = points - points[0]
    angle = np.arctan2(points[1, 1], points[1, 0])
    cos, sin = np.cos(angle), np.sin(angle)
    return points @ np.array([[cos, -sin], [sin, cos]])


@st.composite
def star_rooms(draw) -> np.ndarray:
    """Simple polygons, counter-clockwise, 4 to 7 corners, walls from about 0.5 to 9 m."""
    n = draw(st.integers(4, 7))
    radii = [draw(st.floats(2000.0, 4500.0)) for _ in range(n)]
    wobble = [draw(st.floats(-0.15, 0.15)) for _ in range(n)]
    angles = [2.0 * np.pi * (i + w) / n for i, w in enumerate(wobble)]
    points = [[r * np.cos(a), r * np.sin(a)] for r, a in zip(radii, angles, strict=True)]
    return laid_along_x(np.array(points))


@given(star_rooms())
@settings(deadline=None, max_examples=40)
def test_an_exact_survey_adjusts_to_itself(points):
    """Walls, every turn and one diagonal, all exact: the same corners, nothing left over."""
    n = len(points)
    readings = walls(points) + [perfect(points, turn(i, 0.0, 0.5)) for i in range(n)]
    readings.append(perfect(points, length(0, 2, 0.0, 4.0)))
    found = adjust_outline(survey_of(points, readings))

    np.testing.assert_allclose(found.corners, points, atol=1e-6)
    assert np.abs(found.adjustment.residuals).max() < 1e-6
    assert found.adjustment.chi_square == pytest.approx(0.0, abs=1e-9)
    assert found.closing.distance < 1e-6
    assert found.turn_error == pytest.approx(0.0, abs=1e-9)


@given(star_rooms(), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=25)
def test_noisy_surveys_match_an_independent_optimizer(points, seed: int):
    """The trust-region solver of scipy, with numeric derivatives, finds the same minimum."""
    from scipy.optimize import least_squares

    rng = np.random.default_rng(seed)
    n = len(points)
    exact = walls(points) + [perfect(points, turn(i, 0.0, 0.5)) for i in range(n)]
    exact += [perfect(points, length(0, 2, 0.0, 4.0)), perfect(points, offset(3, 0, 1, 0.0, 4.0))]
    noisy = [
        Reading(r.kind, r.at, r.value + rng.uniform(-1, 1) * r.half_width, r.half_width)
        for r in exact
    ]
    problem = outline_problem(survey_of(points, noisy))
    found = adjust_outline(survey_of(points, noisy))
    theirs = least_squares(
        lambda x: problem.misfit(x)[0],
        found.adjustment.unknowns + rng.normal(size=2 * n - 3),
        x_scale=1000.0,
        xtol=1e-14,
        ftol=1e-14,
        gtol=1e-14,
    )

    np.testing.assert_allclose(found.adjustment.unknowns, theirs.x, atol=2e-3)
    assert found.adjustment.chi_square <= 2.0 * theirs.cost * (1 + 1e-9)
    weight = 1.0 / problem.sigma**2
    pull = found.adjustment.slopes.T @ (weight * found.adjustment.residuals)
    assert np.abs(pull).max() < 1e-6


@given(star_rooms(), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=20)
def test_influence_predicts_what_a_shifted_reading_does(points, seed: int):
    """The map from readings to corners against re-adjusting with one reading a hair longer."""
    rng = np.random.default_rng(seed)
    n = len(points)
    readings = walls(points) + [perfect(points, turn(i, 0.0, 0.5)) for i in range(n)]
    found = adjust_outline(survey_of(points, readings))
    row = int(rng.integers(len(readings)))
    step = 1e-3
    moved = list(readings)
    r = moved[row]
    moved[row] = Reading(r.kind, r.at, r.value + step, r.half_width)
    shifted = adjust_outline(survey_of(points, moved))

    change = (shifted.corners - found.corners).ravel() / step

    scale = max(1.0, float(np.abs(change).max()))
    np.testing.assert_allclose(found.influence[:, row], change, atol=2e-4 * scale)
    assert found.influence[[0, 1, 3]].tolist() == np.zeros((3, len(readings))).tolist()


@given(star_rooms())
@settings(deadline=None, max_examples=20)
def test_a_clockwise_listing_is_the_mirror_image(points):
    n = len(points)
    mirrored = points * np.array([1.0, -1.0])
    readings = walls(points) + [perfect(points, turn(i, 0.0, 0.5)) for i in range(n)]
    other = walls(mirrored) + [perfect(mirrored, turn(i, 0.0, 0.5)) for i in range(n)]

    left = adjust_outline(survey_of(points, readings))
    right = adjust_outline(survey_of(mirrored, other))

    np.testing.assert_allclose(left.corners * [1.0, -1.0], right.corners, atol=1e-6)
    np.testing.assert_allclose(
        np.diag(left.covariance), np.diag(right.covariance), rtol=1e-6, atol=1e-9
    )


def test_derivatives_of_every_kind_of_reading():
    rng = np.random.default_rng(4)
    points = ELL + rng.normal(size=ELL.shape) * 50.0
    for reading in (length(0, 3, 0, 1), turn(0, 0, 1), turn(3, 0, 1), offset(4, 1, 2, 0, 1)):
        slope = predicted(reading, points)[1]
        for i in range(len(points)):
            for axis in (0, 1):
                ahead, behind = points.copy(), points.copy()
                ahead[i, axis] += 0.01
                behind[i, axis] -= 0.01
                rise = predicted(reading, ahead)[0] - predicted(reading, behind)[0]
                assert slope[i, axis] == pytest.approx(rise / 0.02, abs=1e-6)


def test_an_ell_from_walls_and_three_diagonals_only():
    """Nine lengths, no angle measured: the re-entrant corner is found, nothing is spare."""
    readings = walls(ELL) + [
        length(i, j, distance(ELL, i, j), 4.0) for i, j in ((0, 2), (0, 3), (3, 5))
    ]
    found = adjust_outline(survey_of(ELL, readings))

    np.testing.assert_allclose(found.corners, ELL, atol=1e-5)
    assert "no slip would show" in found.adjustment.says


def test_a_shape_the_lengths_leave_open_is_reported_with_what_would_tell():
    """Four walls and a diagonal: the far corner may be in or out; here both are real rooms."""
    dented = np.array([[0, 0], [5000, 0], [2200, 1500], [0, 4000]], dtype=float)
    readings = [*walls(dented), length(1, 3, distance(dented, 1, 3), 4.0)]
    found = adjust_outline(survey_of(dented, readings))
    both = [found.corners, *found.others]

    assert len(both) == 2
    assert min(float(np.abs(shape - dented).max()) for shape in both) < 1e-4
    assert found.says.endswith("2 different shapes fit, the diagonal A-C would tell")
    settled = adjust_outline(
        survey_of(dented, [*readings, length(0, 2, distance(dented, 0, 2), 4.0)])
    )
    assert settled.others == ()
    np.testing.assert_allclose(settled.corners, dented, atol=1e-5)


def test_a_shape_that_a_rough_turn_rules_out_is_not_offered():
    """The dent again, with a turn read to ±5 degrees: the mirrored corner is many sigmas off."""
    dented = np.array([[0, 0], [5000, 0], [2200, 1500], [0, 4000]], dtype=float)
    readings = [*walls(dented), length(1, 3, distance(dented, 1, 3), 4.0)]
    found = adjust_outline(survey_of(dented, [*readings, perfect(dented, turn(2, 0.0, 5.0))]))

    assert found.others == ()
    np.testing.assert_allclose(found.corners, dented, atol=1e-4)


def test_guesses_without_any_turn_include_the_square_cornered_ell():
    lengths = [r.value for r in walls(ELL)]
    guesses = first_guesses(lengths, [None] * 6)

    assert min(float(np.abs(guess - ELL).max()) for guess in guesses) < 1e-6
    for guess in guesses:
        assert guess[0].tolist() == [0.0, 0.0]
        assert guess[1, 1] == 0.0


@given(st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=15)
def test_an_ell_with_its_corner_angles_has_only_one_shape(seed: int):
    rng = np.random.default_rng(seed)
    points = laid_along_x(ELL + rng.uniform(-200.0, 200.0, ELL.shape))
    readings = walls(points) + [perfect(points, turn(i, 0.0, 0.5)) for i in range(6)]
    found = adjust_outline(survey_of(points, readings))

    assert found.others == ()
    np.testing.assert_allclose(found.corners, points, atol=1e-5)


def test_crossing_and_area():
    bow = np.array([[0, 0], [2, 2], [2, 0], [0, 2]], dtype=float)

    assert crosses_itself(bow)
    assert not crosses_itself(ELL)
    assert signed_area(ELL) == 4000 * 1500 + 2500 * 1500
    assert signed_area(ELL[::-1]) == -signed_area(ELL)


def test_a_missing_wall_is_worked_out():
    readings = walls(ELL)[:-1] + [perfect(ELL, turn(i, 0.0, 0.5)) for i in range(1, 6)]
    found = adjust_outline(survey_of(ELL, readings))

    np.testing.assert_allclose(found.corners, ELL, atol=1e-5)
    assert found.closing is None
    assert found.turn_error is None


def test_four_walls_alone_need_one_more_measurement():
    square = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]], dtype=float)
    with pytest.raises(UndeterminedError) as caught:
        adjust_outline(survey_of(square, walls(square)))

    assert caught.value.missing == 1
    assert caught.value.settles[:2] == ("the diagonal A-C", "the diagonal B-D")
    assert "corners C and D can still move" in str(caught.value)
    for name in caught.value.settles:  # each one really settles it
        kind = name.split()[1]
        ends = [LETTERS.index(c) for c in name.split()[-1].split("-")]
        extra = turn(ends[0], 0, 0.5) if kind == "turn" else length(*ends, 0, 4.0)
        adjust_outline(survey_of(square, [*walls(square), perfect(square, extra)]))


def test_a_measurement_that_would_not_help_is_not_offered():
    """Triangle A-B-C is fixed; only what ties D helps: not the turn at B, nor a repeat."""
    square = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]], dtype=float)
    readings = [*walls(square)[:3], length(0, 2, distance(square, 0, 2), 4.0)]
    with pytest.raises(UndeterminedError) as caught:
        adjust_outline(survey_of(square, readings))

    assert caught.value.settles == (
        "the wall A-D",
        "the diagonal B-D",
        "the turn at A",
        "the turn at C",
        "the turn at D",
    )


def test_inside_angles_are_turns_seen_from_inside():
    """A square listed either way round has four inside angles of 90."""
    square = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]], dtype=float)
    left = [corner_angle(i, 90.0, 0.5) for i in range(4)]
    right = [corner_angle(i, 90.0, 0.5, clockwise=True) for i in range(4)]

    there = adjust_outline(survey_of(square, walls(square) + left))
    back = adjust_outline(
        OutlineSurvey(tuple("ABCD"), tuple(walls(square) + right), clockwise=True)
    )

    np.testing.assert_allclose(there.corners, square, atol=1e-6)
    np.testing.assert_allclose(back.corners, square * [1.0, -1.0], atol=1e-6)


@given(star_rooms())
@settings(deadline=None, max_examples=15)
def test_what_is_said_to_settle_several_does_settle_them(points):
    with pytest.raises(UndeterminedError) as caught:
        adjust_outline(survey_of(points, walls(points)))
    extra = []
    for name in caught.value.settles if caught.value.missing > 1 else caught.value.settles[:1]:
        ends = [LETTERS.index(c) for c in name.split()[-1].split("-")]
        new = turn(ends[0], 0, 0.5) if "turn" in name else length(*ends, 0, 4.0)
        extra.append(perfect(points, new))

    found = adjust_outline(survey_of(points, walls(points) + extra))

    assert caught.value.missing == len(points) - 3
    assert found.adjustment.freedom == 0


def test_a_diagonal_longer_than_the_way_round_is_named():
    square = np.array([[0, 0], [4000, 0], [4000, 3000], [0, 3000]], dtype=float)
    readings = [*walls(square), length(0, 2, 9000.0, 5.0)]
    with pytest.raises(GeometryError, match=r"the diagonal A-C \(9000\) is longer than"):
        adjust_outline(survey_of(square, readings))
    within = [*walls(square), length(0, 2, 7005.0, 5.0)]  # a flat room, just within the ±
    adjust_outline(survey_of(square, within))


def test_bad_surveys_are_refused():
    with pytest.raises(GeometryError, match="three corners"):
        adjust_outline(OutlineSurvey(("A", "B"), ()))
    with pytest.raises(GeometryError, match="names corners"):
        adjust_outline(survey_of(ELL, [length(0, 9, 100.0, 1.0)]))
    with pytest.raises(GeometryError, match="names corners"):
        adjust_outline(survey_of(ELL, [length(2, 2, 100.0, 1.0)]))
    with pytest.raises(GeometryError, match="the wall A-B needs a ± above zero"):
        adjust_outline(survey_of(ELL, [length(0, 1, 100.0, 0.0)]))
    with pytest.raises(UndeterminedError, match="9 measurements are missing"):
        adjust_outline(survey_of(ELL, []))


def test_closing_error_of_the_raw_walk_is_reported():
    """A 10 mm slip in one wall: 10 mm misclosure over 14,010 mm, 1 in 1401; turns 1 degree over."""
    readings = walls(ELL) + [perfect(ELL, turn(i, 0.0, 0.5)) for i in range(6)]
    readings[0] = length(0, 1, 4010.0, 4.0)
    readings[6] = turn(0, 91.0, 0.5)
    found = adjust_outline(survey_of(ELL, readings))

    assert found.closing.distance == pytest.approx(10.0)
    assert found.closing.one_in == pytest.approx(1401.0)
    assert found.turn_error == pytest.approx(1.0)
