"""Tests for naming the wrong measurement: planted slips, a textbook blunder, honest doubt."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.survey.adjust import Problem, adjust
from massing.survey.blunders import SUSPECT_ABOVE, find_blunder, outline_blunder
from massing.survey.outline import adjust_outline, outline_problem
from massing.survey.readings import OutlineSurvey, Reading, length, offset, predicted, turn
from massing.survey.slips import likely_slip, slips

QUAD = np.array([[0, 0], [5200, 0], [5100, 2700], [-100, 2600]], dtype=float)
DIAGONALS = [(0, 2), (1, 3)]
WALLS = [(0, 1), (1, 2), (2, 3), (3, 0)]


def braced(points, *, turns: bool = True, half_width: float = 4.0) -> list[Reading]:
    """Four walls, two diagonals, four offsets, and the four turns to half a degree."""
    readings = [length(i, j, 0.0, half_width) for i, j in WALLS + DIAGONALS]
    if turns:
        readings += [offset(2, 0, 1, 0.0, half_width), offset(3, 0, 1, 0.0, half_width)]
        readings += [offset(0, 2, 3, 0.0, half_width), offset(1, 2, 3, 0.0, half_width)]
        readings += [turn(i, 0.0, 0.5) for i in range(4)]
    return [Reading(r.kind, r.at, predicted(r, points)[0], r.half_width) for r in readings]


def slipped(readings: list[Reading], row: int, by: float) -> list[Reading]:
    out = list(readings)
    r = out[row]
    out[row] = Reading(r.kind, r.at, r.value + by, r.half_width)
    return out


def blunder_of(readings):
    survey = OutlineSurvey(tuple("ABCD"), tuple(readings))
    return outline_blunder(adjust_outline(survey))


@given(
    st.integers(0, 5),
    st.sampled_from([-100.0, 100.0]),
    st.integers(0, 2**32 - 1),
)
@settings(deadline=None, max_examples=30)
def test_a_planted_hundred_is_named_with_its_size(row: int, by: float, seed: int):
    """A well-redundant quadrilateral with errors inside every ±: the slip is found, and only it."""
    rng = np.random.default_rng(seed)
    points = QUAD + rng.uniform(-150.0, 150.0, (4, 2))
    points[0] = 0.0
    points[1, 1] = 0.0
    noisy = [
        Reading(r.kind, r.at, r.value + rng.uniform(-0.5, 0.5) * r.half_width, r.half_width)
        for r in braced(points)
    ]
    found = blunder_of(slipped(noisy, row, by))

    assert found is not None
    assert found.suspect is not None, found.says
    assert found.suspect.row == row
    assert found.suspect.disagrees == pytest.approx(by, abs=12.0)
    assert found.suspect.agrees
    assert found.suspect.slip is not None


@pytest.mark.parametrize("row", range(6))
def test_the_short_way_and_the_long_way_agree(row: int):
    """Starting from the adjusted shape or afresh, the same suspect by the same amount."""
    survey = OutlineSurvey(tuple("ABCD"), tuple(slipped(braced(QUAD), row, 100.0)))
    short = outline_blunder(adjust_outline(survey)).suspect
    long = find_blunder(outline_problem(survey)).suspect

    assert short.row == long.row == row
    assert short.disagrees == pytest.approx(long.disagrees, abs=1e-6)


@given(st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=25)
def test_a_survey_within_its_tolerances_is_not_accused(seed: int):
    rng = np.random.default_rng(seed)
    noisy = [
        Reading(r.kind, r.at, r.value + rng.uniform(-1.0, 1.0) * r.half_width, r.half_width)
        for r in braced(QUAD)
    ]
    found = blunder_of(noisy)

    # Baarda's 0.1 % a reading and the 5 % global test leave room for a rare false alarm; with
    # rectangular errors no reading can stray far enough to be named.
    assert found is None or found.suspect is None or abs(found.suspect.standardized) < 4.5


def test_the_words_say_who_how_much_and_why():
    found = blunder_of(slipped(braced(QUAD), 4, 85.0))

    assert found.says == (
        "the diagonal A-C reads 85 mm more than the other measurements give; they agree without it"
    )
    assert found.suspect.slip is None


@pytest.mark.parametrize(
    ("row", "by", "says"),
    [
        (0, 100.0, "read 100 too much"),
        (0, -1000.0, "read 1000 too little"),
        (1, 25.4, "read one inch too much"),
        (2, -304.8, "read one foot too little"),
    ],
)
def test_the_usual_slips_are_recognised(row: int, by: float, says: str):
    readings = braced(QUAD, half_width=1.5)
    found = blunder_of(slipped(readings, row, by))

    assert found.suspect is not None, found.says
    assert found.suspect.row == row
    assert found.suspect.slip.says == says
    assert found.suspect.slip.value == pytest.approx(readings[row].value)


def test_an_inch_between_parallel_walls_stays_in_doubt():
    """Only the diagonals and turns tie the long walls; an inch is too little to choose."""
    found = blunder_of(slipped(braced(QUAD, half_width=2.0), 0, 25.4))

    assert found.suspect is None
    assert "the wall A-B" in {rival.name for rival in found.rivals}
    assert len(found.rivals) > 1


def test_inches_read_as_centimetres_are_recognised():
    """2600 mm is 102.36 in; written as 102.36 cm it reads 1023.6 mm."""
    found = blunder_of(slipped(braced(QUAD), 6, 2700.0 / 2.54 - 2700.0))

    assert found.suspect.name == "the offset of C from A-B"
    assert found.suspect.slip.says == "inches written as centimetres"


def test_with_six_lengths_nothing_can_be_singled_out():
    """One spare measurement shows that something is wrong, never what."""
    found = blunder_of(slipped(braced(QUAD, turns=False), 4, 85.0))

    assert found.suspect is None
    assert len(found.rivals) == 6
    assert "cannot tell which of the wall A-B, the wall B-C" in found.says
    assert found.says.endswith("Measure one of them again")


def test_with_nothing_spare_nothing_is_claimed():
    found = blunder_of(braced(QUAD, turns=False)[:5])

    assert found.suspect is None
    assert found.rivals == ()
    assert found.says == "nothing is measured twice, so no slip would show"


def test_two_slips_are_not_passed_off_as_one():
    found = blunder_of(slipped(slipped(braced(QUAD), 0, 140.0), 5, -170.0))

    assert found.suspect is None
    assert found.says.startswith("more than one measurement disagrees")


def test_a_turn_out_by_ten_degrees_is_named_in_degrees():
    found = blunder_of(slipped(braced(QUAD), 11, 10.0))

    assert found.suspect.name == "the turn at B"
    assert "10.0 degrees more" in found.says


# Ghilani, Adjustment Computations, 5th ed. 2010, problem 21.10 (chapter on blunder detection),
# data as listed in F. Krumm, Geodetic Network Adjustment Examples, Stuttgart 2020: metres, and
# the angle at the first point from the second to the third; 2.1 seconds throughout.
AT = {
    "A": (5600.544, 4966.236),
    "B": (6061.624, 8043.173),
    "C": (9787.823, 8038.529),
    "D": (9260.886, 4843.911),
}
LENGTHS = {
    "AB": (3111.291, 0.010),
    "BC": (3726.220, 0.012),
    "CD": (3237.783, 0.010),
    "DA": (3662.372, 0.012),
    "AC": (5193.471, 0.016),
    "BD": (4524.471, 0.014),
}
ANGLES = {
    "ABC": (45, 12, 34),
    "ACD": (38, 10, 54),
    "BCD": (44, 55, 43),
    "BDA": (53, 31, 23),
    "CDA": (44, 21, 59),
    "CAB": (36, 20, 26),
    "DAB": (43, 6, 11),
    "DBC": (54, 22, 0),
}


def quadrilateral(angles) -> Problem:
    """The textbook's network with A and B held; clockwise angles in degrees."""
    order = "ABCD"
    free = [4, 5, 6, 7]

    def observe(x):
        points = np.array([*AT["A"], *AT["B"], *x]).reshape(4, 2)
        values, slopes = [], []
        for pair in LENGTHS:
            i, j = (order.index(c) for c in pair)
            value, slope = predicted(Reading("length", (i, j), 0, 1), points)
            values.append(value)
            slopes.append(slope.ravel()[free])
        for at, back, ahead in angles:
            i, j, k = (order.index(c) for c in (at, back, ahead))
            # the turn of the path back-at-ahead is 180° less the inside angle, on the right
            tri = points[[j, i, k]]
            value, slope = predicted(Reading("turn", (1,), 0, 1), tri)
            full = np.zeros((4, 2))
            full[[j, i, k]] = slope
            values.append((value + 180.0) % 360.0)
            slopes.append(full.ravel()[free])
        return np.array(values), np.array(slopes)

    degrees = [d + m / 60 + s / 3600 for d, m, s in angles.values()]
    observed = [v for v, _ in LENGTHS.values()] + [360.0 - d for d in degrees]
    sigma = [s for _, s in LENGTHS.values()] + [2.1 / 3600.0] * len(degrees)
    names = [f"the length {p}" for p in LENGTHS] + [f"the angle {a}" for a in angles]
    return Problem(
        observe=observe,
        observed=np.array(observed),
        sigma=np.array(sigma),
        names=tuple(names),
        unknowns=("C x", "C y", "D x", "D y"),
        starts=(np.array([*AT["C"], *AT["D"]]),),
        turning=np.array([False] * len(LENGTHS) + [True] * len(angles)),
    )


def test_the_textbook_blunder_is_one_that_its_triangles_allow():
    """Triangles ACD and ABD miss 180° by 64 and 62 seconds, ABC and BCD by 6 and 8.

    So the blunder, about a minute, is in an angle that belongs to the first two alone: at A from
    C to D, or at D from A to B. The adjustment must name one of these two, and by that much.
    """
    seconds = {name: d * 3600 + m * 60 + s for name, (d, m, s) in ANGLES.items()}
    half_turn = 180 * 3600
    acd = seconds["ACD"] + seconds["CDA"] + seconds["DAB"] + seconds["DBC"] - half_turn
    abd = seconds["ABC"] + seconds["ACD"] + seconds["BDA"] + seconds["DAB"] - half_turn
    abc = seconds["ABC"] + seconds["BCD"] + seconds["BDA"] + seconds["CAB"] - half_turn
    bcd = seconds["BCD"] + seconds["CDA"] + seconds["CAB"] + seconds["DBC"] - half_turn
    assert (acd, abd, abc, bcd) == (64, 62, 6, 8)

    found = find_blunder(quadrilateral(ANGLES))

    assert found.suspect is not None, found.says
    assert found.suspect.name in {"the angle ACD", "the angle DAB"}
    assert abs(found.suspect.disagrees) * 3600.0 == pytest.approx(60.0, abs=8.0)
    assert found.suspect.agrees


def test_with_the_minute_put_right_the_textbook_network_agrees():
    found = find_blunder(quadrilateral(ANGLES))
    name = found.suspect.name.split()[-1]
    d, m, s = ANGLES[name]
    mended = {**ANGLES, name: (d, m - 1, s)}

    assert find_blunder(quadrilateral(mended)) is None
    assert adjust(quadrilateral(mended)).agrees


def test_the_thresholds_are_the_published_points():
    """Baarda: 3.29 is the two-sided 0.1 % point of the normal distribution."""
    assert math.erfc(SUSPECT_ABOVE / math.sqrt(2.0)) == pytest.approx(0.001, rel=1e-3)


def test_slips_of_a_reading():
    values = {slip.says: slip.value for slip in slips(2470.0)}

    assert values["digits 24 swapped"] == 4270.0
    assert values["digits 47 swapped"] == 2740.0
    assert values["read one foot too much"] == pytest.approx(2165.2)
    assert values["inches written as centimetres"] == pytest.approx(6273.8)
    assert values["centimetres written as millimetres"] == 24_700.0
    assert "digits 44 swapped" not in {slip.says for slip in slips(4440.0)}


def test_a_slip_never_makes_a_length_negative():
    assert likely_slip(60.0, -40.0, 1.0) is None


def test_the_nearest_slip_wins():
    assert likely_slip(2470.0, 2569.0, 30.0).says == "read 100 too little"
