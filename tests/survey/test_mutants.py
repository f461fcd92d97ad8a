"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import chdtri

from massing.errors import InputError
from massing.survey.adjust import Problem, adjust, best_guess
from massing.survey.blunders import Suspect, _unsure, find_blunder
from massing.survey.buildups import inside_from_outside
from massing.survey.combine import chance_above, chi_square_point
from massing.survey.methods import method_named, method_names
from massing.survey.outline import adjust_outline, outline_problem
from massing.survey.readings import OutlineSurvey, length, offset, predicted, turn
from massing.survey.shapes import crosses_itself, flips, signed_area, widest_difference
from massing.survey.shortfall import contradiction
from massing.survey.slips import slips
from massing.survey.surveyed import Surveyed
from massing.survey.traverse import (
    balanced_turns,
    compass_rule,
    corners,
    directions,
    legs,
    misclosure,
    turn_misclosure,
)
from massing.survey.trilateration import trilaterated, turns_of, unlike_hints
from massing.survey.values import Values
from massing.survey.walks import first_guesses, way_round
from massing.units import Length


def suspect(name):
    return Suspect(0, name, 1000.0, 100.0, 5.0, 20.0, 0.1, agrees=True, slip=None)


@pytest.mark.parametrize(
    ("names", "listed"),
    [("ab", "a or b"), ("abc", "a, b or c"), ("abcd", "a, b, c or d")],
)
def test_every_rival_is_named_once(names, listed):
    assert f"which of {listed}" in _unsure(tuple(map(suspect, names)))


@pytest.mark.parametrize("name", method_names())
def test_no_method_is_surer_of_a_longer_length(name):
    """A half-width never shrinks with the length, and there is always one."""
    half = [method_named(name).half_width(length) for length in (1.0, 1000.0, 5000.0, 20_000.0)]
    assert half == sorted(half)
    assert half[0] > 0


# ---- chances and limits


@pytest.mark.parametrize("freedom", [1, 2, 3, 7, 20])
@pytest.mark.parametrize("level", [0.05, 0.5, 0.95, 1.0 - 1e-9])
def test_chi_square_points_are_those_of_another_library(freedom, level):
    assert chi_square_point(freedom, level) == pytest.approx(chdtri(freedom, 1.0 - level), rel=1e-6)


def test_chances_of_one_and_two_rectangles_in_closed_form():
    """One: (m + a) / 2a. Two equal: 1 - (2a - m)² / 8a². With nothing: whether m is below zero."""
    for m in (-7.0, -1.0, 0.0, 2.5, 9.0):
        assert chance_above(m, [10.0]) == pytest.approx((m + 10.0) / 20.0, abs=1e-12)
        short = (20.0 - abs(m)) ** 2 / 800.0
        assert chance_above(m, [10.0, -10.0]) == pytest.approx(
            short if m < 0 else 1.0 - short, abs=1e-12
        )
    assert [chance_above(m, []) for m in (-1e-9, 0.0, 1e-9)] == [0.0, 1.0, 1.0]
    assert chance_above(3.0, [4.0], "normal") == pytest.approx(
        0.5 * math.erfc(-1.5 / math.sqrt(2.0)), abs=1e-12
    )
    assert chance_above(-3.0, [9.0], "normal", k=3.0) == pytest.approx(
        0.5 * math.erfc(1.0 / math.sqrt(2.0)), abs=1e-12
    )


def test_walls_may_leave_a_hair_and_not_nothing():
    wall = Length(500.0, 3.0)
    assert inside_from_outside(Length(1000.5, 4.0), [wall, wall]).nominal == 0.5
    assert inside_from_outside(Length(1000.5, 4.0), [wall, wall]).worst == 10.0
    assert inside_from_outside(Length(1000.5, 4.0), [wall, wall]).likely == math.sqrt(34.0)
    with pytest.raises(InputError, match="walls of 1000 leave nothing of an outside 1000"):
        inside_from_outside(Length(1000.0), [wall, wall])


# ---- the engine


def straight(slopes, observed, sigma, starts=None, turning=None):
    slopes = np.array(slopes, dtype=float)
    m, n = slopes.shape
    return Problem(
        observe=lambda x: (slopes @ x, slopes),
        observed=np.array(observed, dtype=float),
        sigma=np.array(sigma, dtype=float),
        names=tuple(f"r{i}" for i in range(m)),
        unknowns=tuple(f"x{i}" for i in range(n)),
        starts=starts or (np.zeros(n),),
        turning=np.zeros(m, dtype=bool) if turning is None else np.array(turning),
    )


def test_a_weighted_mean_in_every_figure():
    """Readings 10 ± 1, 16 ± 2, 13 ± 2 sigma: weights 4, 1, 1 over 6; mean 69/6 = 11.5."""
    found = adjust(straight([[1], [1], [1]], [10, 16, 13], [1, 2, 2]))
    assert found.unknowns == pytest.approx([11.5])
    assert found.covariance == pytest.approx(np.array([[4.0 / 6.0]]))
    assert found.uncertainty == pytest.approx([math.sqrt(4.0 / 6.0)])
    assert found.adjusted == pytest.approx([11.5] * 3)
    assert found.residuals == pytest.approx([1.5, -4.5, -1.5])
    assert found.redundancy == pytest.approx([2 / 6, 5 / 6, 5 / 6])
    assert found.standardized == pytest.approx(
        [1.5 / math.sqrt(2 / 6), -2.25 / math.sqrt(5 / 6), -0.75 / math.sqrt(5 / 6)]
    )
    assert found.influence == pytest.approx(np.array([[4.0, 1.0, 1.0]]) / 6.0)
    assert found.chi_square == pytest.approx(1.5**2 + 2.25**2 + 0.75**2)
    assert found.chi_limit == pytest.approx(chdtri(2, 0.05))
    assert found.unit_uncertainty == pytest.approx(math.sqrt(7.875 / 2))
    assert "limit 5.99, 2 spare measurements" in found.says
    one = adjust(straight([[1], [1]], [10, 16], [1, 2]))
    assert one.says.endswith("(chi-square 7.20, limit 3.84, 1 spare measurement)")


def test_angles_wrap_at_a_full_turn_whichever_way():
    for read in (179.0, -179.0 - 360.0, 179.0 + 720.0):
        problem = straight([[1.0], [1.0]], [read, -179.0], [1, 1], turning=[True, True])
        off, slopes = problem.misfit(np.array([-179.0]))
        assert off == pytest.approx([read % 360.0 - 181.0, 0.0])
        assert slopes.tolist() == [[1.0], [1.0]]
    plain = straight([[1.0]], [179.0], [2.0])
    assert plain.misfit(np.array([-179.0]))[0].tolist() == [179.0]


def test_the_better_of_two_starts_wins_and_the_earlier_of_alike():
    """The square of x and x itself are read: one start finds the minimum, the other is worse."""

    def curved(x):
        return np.array([x[0] ** 2, x[0]]), np.array([[2.0 * x[0]], [1.0]])

    def problem(starts, observed):
        return Problem(curved, np.array(observed), np.array([1.0, 5.0]), ("a", "b"), ("x",),
                       tuple(np.array([s]) for s in starts), np.zeros(2, dtype=bool))  # fmt: skip

    assert best_guess(problem((-1.5, 1.5), [4.0, 2.0])) == pytest.approx([2.0])
    assert best_guess(problem((1.5, -1.5), [4.0, -2.0])) == pytest.approx([-2.0])
    assert best_guess(problem((-1.5, 1.5), [4.0, 0.0])).item() < 0.0
    assert best_guess(problem((1.5, -1.5), [4.0, 0.0])).item() > 0.0


def test_a_reading_left_out_is_the_problem_without_its_row():
    whole = straight([[1, 0], [0, 1], [1, 1]], [3, 4, 8], [1, 2, 3], turning=[True, False, True])
    less = whole.without(1)
    assert less.names == ("r0", "r2")
    assert less.observed.tolist() == [3.0, 8.0]
    assert less.sigma.tolist() == [1.0, 3.0]
    assert less.turning.tolist() == [True, True]
    values, slopes = less.observe(np.array([5.0, 7.0]))
    assert (values.tolist(), slopes.tolist()) == ([5.0, 12.0], [[1.0, 0.0], [1.0, 1.0]])


def test_the_one_wrong_of_four_is_named_with_the_difference_and_its_doubt():
    """Three read 1000, one 1100, all sigma 5: without it 1000; spread 5 / sqrt(3/4)."""
    found = find_blunder(straight([[1]] * 4, [1000, 1000, 1100, 1000], [5] * 4))
    told = found.suspect
    assert (told.row, told.name, told.observed, told.agrees) == (2, "r2", 1100.0, True)
    assert told.disagrees == pytest.approx(100.0)
    assert told.spread == pytest.approx(5.0 / math.sqrt(0.75))
    assert told.standardized == pytest.approx(100.0 / told.spread)
    assert told.chi_square == pytest.approx(0.0, abs=1e-12)
    assert told.slip.says == "read 100 too much"
    assert "r2 reads 100 mm more than the other measurements give" in found.says
    less = find_blunder(straight([[1]] * 4, [1000, 1000, 900, 1000], [5] * 4))
    assert "r2 reads 100 mm less than" in less.says
    assert less.suspect.slip.says == "read 100 too little"


def test_where_two_are_wrong_the_rivals_begin_with_the_furthest_out():
    """Three read 1000, one 1100 and one 1300, sigma 5.

    Without the last, four of mean 1025 are off by 25, 25, 25 and 75: chi-square 7500 / 25 = 300.
    """
    found = find_blunder(straight([[1]] * 5, [1000, 1000, 1000, 1100, 1300], [5] * 5))
    assert found.suspect is None
    (rival,) = found.rivals
    assert (rival.name, rival.agrees) == ("r4", False)
    assert rival.chi_square == pytest.approx(300.0)
    assert "r4 is the furthest out (275 mm)" in found.says


# ---- outlines


SQUARE = np.array([[0.0, 0.0], [4000.0, 0.0], [4000.0, 3000.0], [0.0, 3000.0]])


def all_round(half=(3.0, 3.0, 3.0, 3.0), diagonal=5000.0):
    sizes = (4000.0, 3000.0, 4000.0, 3000.0)
    walls = tuple(length(k, (k + 1) % 4, sizes[k], half[k]) for k in range(4))
    return OutlineSurvey(tuple("ABCD"), (*walls, length(0, 2, diagonal, 4.0)))


def test_an_adjusted_outline_in_every_part():
    """Nothing spare: the corners are those of the readings, the doubt of B is that of wall A-B."""
    found = adjust_outline(all_round())
    assert found.corners == pytest.approx(SQUARE, abs=1e-6)
    assert found.covariance.shape == (8, 8)
    assert found.influence.shape == (8, 5)
    assert np.abs(found.covariance[[0, 1, 3]]).max() == 0.0
    assert found.covariance[2, 2] == pytest.approx(3.0)  # 3 mm rectangular: 3²/3
    assert found.influence[2] == pytest.approx([1.0, 0.0, 0.0, 0.0, 0.0], abs=1e-9)
    # C lies where circles about A (5000) and B (3000) cross: dy = dBC, dx = (5 dAC - 3 dBC)/4
    # plus what the moved B takes along.
    assert found.influence[5] == pytest.approx([0.0, 1.0, 0.0, 0.0, 0.0], abs=1e-9)
    assert found.influence[4] == pytest.approx([0.0, -0.75, 0.0, 0.0, 1.25], abs=1e-9)
    assert (found.closing, found.turn_error, found.others) == (None, None, ())


def test_turns_and_walls_close_or_tell_by_how_much():
    readings = (*all_round().readings[:4], *(turn(k, 90.0 + 0.5 * (k == 2), 0.5) for k in range(4)))
    found = adjust_outline(OutlineSurvey(tuple("ABCD"), readings))
    assert found.turn_error == pytest.approx(0.5)
    # The last two walls run half a degree round: -4000 cos, -4000 sin, then 3000 sin, -3000 cos.
    c, s = math.cos(math.radians(0.5)), math.sin(math.radians(0.5))
    x, y = 4000.0 - 4000.0 * c + 3000.0 * s, 3000.0 - 4000.0 * s - 3000.0 * c
    assert (found.closing.x, found.closing.y) == pytest.approx((x, y), abs=1e-9)
    assert found.closing.around == 14_000.0
    assert found.closing.one_in == pytest.approx(14_000.0 / math.hypot(x, y))


def test_values_and_slopes_of_readings_worked_by_hand():
    """At (0,0) (4,0) (4,3): the turn at B is 90°, C stands 3 left of A-B, 2.4 from B to A-C."""
    points = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]])
    assert predicted(turn(1, 0, 1), points)[0] == pytest.approx(90.0)
    assert predicted(offset(2, 0, 1, 0, 1), points)[0] == pytest.approx(3.0)
    assert predicted(offset(1, 0, 2, 0, 1), points)[0] == pytest.approx(-2.4)
    assert predicted(length(0, 2, 0, 1), points)[1].tolist() == [[-0.8, -0.6], [0, 0], [0.8, 0.6]]
    slope = predicted(offset(2, 0, 1, 0, 1), points)[1]
    assert slope == pytest.approx(np.array([[0, 0.0], [0, -1.0], [0, 1.0]]))
    per = math.degrees(1.0)
    assert predicted(turn(1, 0, 1), points)[1] == pytest.approx(
        per * np.array([[0.0, 1 / 4], [1 / 3, -1 / 4], [-1 / 3, 0.0]])
    )


def test_the_first_shape_is_the_hint_and_a_wrong_one_is_counted():
    survey = all_round()
    (first, *_) = trilaterated(survey)
    assert first == pytest.approx(SQUARE)
    assert turns_of(SQUARE) == pytest.approx([90.0] * 4)
    hinted = OutlineSurvey(survey.corners, survey.readings, hints=(90.0, -90.0, None, 90.0))
    assert unlike_hints(hinted, SQUARE) == 1
    assert unlike_hints(survey, SQUARE) == 0
    mirrored = OutlineSurvey(survey.corners, survey.readings, clockwise=True)
    assert trilaterated(mirrored)[0] == pytest.approx(SQUARE * [1.0, -1.0])


def test_a_length_longer_than_the_way_round_is_named_beyond_its_slack():
    """Walls 4000 ± 3 and 3000 ± 3: a diagonal of 7010 ± 4 is at the limit, 7010.5 beyond."""
    assert contradiction(all_round(diagonal=7010.0)) is None
    told = contradiction(all_round(diagonal=7010.5))
    assert told == (
        "the diagonal A-C (7010) is longer than the wall A-B and the wall B-C together (7000)"
    )


def test_plain_shapes():
    assert signed_area(SQUARE) == 12e6
    assert signed_area(SQUARE[::-1]) == -12e6
    assert not crosses_itself(SQUARE)
    for order in ([0, 2, 1, 3], [0, 1, 3, 2], [1, 0, 2, 3]):
        assert crosses_itself(SQUARE[order])
    # An L never crosses; with a far corner pulled through the other arm, it does.
    ell = np.array([[0.0, 0], [4, 0], [4, 1], [1, 1], [1, 4], [0, 4]])
    assert not crosses_itself(ell)
    assert crosses_itself(np.array([[0.0, 0], [4, 0], [4, 1], [-2, 1], [1, 4], [0, 4]]))
    moved = SQUARE.copy()
    moved[2] = [4500.0, 3500.0]
    assert widest_difference(SQUARE, moved) == (0, 2)


def test_every_flip_keeps_the_walls_and_begins_along_x():
    room = np.array([[0.0, 0], [5000, 0], [5200, 2500], [3000, 3900], [-300, 2000]])
    sizes = np.hypot(*(np.roll(room, -1, axis=0) - room).T)
    found = list(flips(room, [(1, 3), (4, 2)]))
    assert len(found) == 7
    for shape in found:
        assert np.hypot(*(np.roll(shape, -1, axis=0) - shape).T) == pytest.approx(sizes)
        assert shape[0].tolist() == [0.0, 0.0]
        assert shape[1] == pytest.approx([5000.0, 0.0])
    # Mirrored in the diagonal 1-3 only corner 2 moves; twice mirrored it is back.
    assert np.flatnonzero(np.abs(found[5] - room).max(axis=1) > 1e-6).tolist() == [2]
    assert list(flips(found[5], [(1, 3)]))[5] == pytest.approx(room)


# ---- walks


def test_a_walk_with_its_errors_shared_out():
    """Turns 91, 90, 92, 91 miss by 4; by variance 1, 1, 4, 4 of 10 the error goes out."""
    assert directions([91, 90, 92, 91], 10.0).tolist() == [10.0, 100.0, 192.0, 283.0]
    assert turn_misclosure([91, 90, 92, 91]) == 4.0
    assert balanced_turns([91, 90, 92, 91], [1, 1, 2, 2]) == pytest.approx([90.6, 89.6, 90.4, 89.4])
    steps = legs([100.0, 200.0], [60.0, 270.0])
    assert steps == pytest.approx(np.array([[50.0, 86.602540378], [0.0, -200.0]]))
    assert corners(steps, (7.0, 8.0)) == pytest.approx(np.array([[7.0, 8.0], [57.0, 94.602540378]]))
    assert compass_rule(np.array([[10.0, 3.0], [-9.0, 0.0]]), [30.0, 10.0]).tolist() == [
        [9.25, 0.75], [-9.25, -0.75],
    ]  # fmt: skip
    closed = misclosure(np.array([[1.0, 2.0], [-1.0, -2.0]]), [5.0, 5.0])
    assert (closed.one_in, closed.around) == (math.inf, 10.0)


def test_first_guesses_are_the_room_where_it_is_known():
    """An L with its turns; with one wall of a square unknown it is the one that closes."""
    ell = [4000.0, 1000.0, 3000.0, 2000.0, 1000.0, 3000.0]
    (first,) = first_guesses(ell, [90, 90, 90, -90, 90, 90])
    assert first == pytest.approx(
        1000.0 * np.array([[0, 0], [4, 0], [4, 1], [1, 1], [1, 3], [0, 3]]), abs=1e-9
    )
    for gap in range(4):
        walls = [4000.0, 3000.0, 4000.0, 3000.0]
        walls[gap] = None
        assert first_guesses(walls, [90] * 4)[0] == pytest.approx(SQUARE)
        turns = [90.0] * 4
        turns[gap] = None
        assert first_guesses([4000.0, 3000.0, 4000.0, 3000.0], turns)[0] == pytest.approx(SQUARE)
    (left,) = first_guesses([4000.0, 3000.0, 4000.0, 3000.0], [-90] * 4)
    assert left == pytest.approx(SQUARE * [1.0, -1.0])
    assert way_round([90.0, 90.0, None, None]) == 1
    assert way_round([-90.0, -90.0, None, None], clockwise=False) == -1
    assert [way_round([90.0, None, None, None], clockwise=turned) for turned in (True, False)] == [
        -1, 1,
    ]  # fmt: skip


def test_slips_in_their_order_and_size():
    found = {slip.says: slip.value for slip in slips(1234.5)}
    assert found["read one inch too much"] == pytest.approx(1234.5 - 25.4)
    assert found["read one foot too little"] == pytest.approx(1234.5 + 304.8)
    assert found["inches written as centimetres"] == pytest.approx(1234.5 * 2.54)
    assert found["centimetres written as inches"] == pytest.approx(1234.5 / 2.54)
    assert found["centimetres written as millimetres"] == 12345.0
    assert found["millimetres written as centimetres"] == 123.45
    assert found["digits 34 swapped"] == pytest.approx(1243.5)
    assert found["digits 12 swapped"] == pytest.approx(2134.5)


def test_the_best_starts_of_an_outline_are_kept_and_the_first_stays_first():
    survey = all_round()
    problem = outline_problem(survey)
    assert problem.starts[0] == pytest.approx(SQUARE.ravel()[[2, 4, 5, 6, 7]], rel=0.2)
    assert problem.observed.tolist() == [4000.0, 3000.0, 4000.0, 3000.0, 5000.0]
    assert problem.sigma == pytest.approx(np.array([3, 3, 3, 3, 4]) / math.sqrt(3.0))
    assert problem.unknowns == ("B x", "C x", "C y", "D x", "D y")


def test_a_length_nothing_is_said_of_was_got_with_a_tape():
    """3 mm and 0.2 in a thousand; what has a ± of its own, or by default, is left as it is."""
    values = Values()
    taped = values.taped(Length(2000.0))
    assert (taped.pm, taped.method) == (pytest.approx(3.4), "tape")
    for kept in (Length(2000.0, 0.0), Length(2000.0, 7.0)):
        assert values.taped(kept) is kept
    assert [m.key for m in values.measures] == []
    values(Length(2000.0, 0.0, path="firm"))
    values(Length(2000.0, 0.5, path="loose"))
    assert [(m.key, m.half_width) for m in values.measures] == [("loose", 0.5)]
    shifted = Values.shifted(values.measures, np.array([[0.0], [-0.5], [0.5]]))
    assert shifted(Length(2000.0, 0.5, path="loose")).tolist() == [2000.0, 1999.5, 2000.5]
    assert shifted(Length(700.0, path="firm")).tolist() == [700.0] * 3
    assert shifted.worlds == 3


def test_what_is_said_unasked():
    """Two shapes that fit, or what disagrees; nothing where all is well or nothing was tested."""
    good = adjust(straight([[1], [1]], [10.0, 10.5], [1, 1]))
    bad = adjust(straight([[1], [1]], [10.0, 30.0], [1, 1]))
    loose = adjust(straight([[1]], [10.0], [1]))

    def notes(found, **more):
        return Surveyed("the outline", (), found, "as said", lambda: None, **more).notes

    assert notes(good, others=1) == notes(loose, others=2) == ("the outline: as said",)
    assert notes(good) == notes(loose) == notes(bad, tested=False) == ()
    assert notes(bad) == notes(bad, others=1) == ("the outline: as said",)
