"""Tests for walking round a room: two published compass-rule examples and the laws of closing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.survey.adjust import Problem, adjust
from massing.survey.traverse import (
    balanced_turns,
    compass_rule,
    corners,
    directions,
    legs,
    misclosure,
    turn_misclosure,
    wrapped,
)


def compass(degrees: float, minutes: float, seconds: float = 0.0) -> float:
    """An azimuth from north, clockwise, as a direction from x = east, left positive."""
    return 90.0 - (degrees + minutes / 60.0 + seconds / 3600.0)


# Purdue University, ASM 215 course notes, "Traverse calculations"
# (engineering.purdue.edu/~asm215/topics/travcalc.html). Latitude is y, departure x, feet.
PURDUE_LENGTHS = [285.10, 610.45, 720.48, 203.00, 647.02]
PURDUE_AZIMUTHS = [(26, 10), (104, 35), (195, 30), (358, 18), (306, 54)]
PURDUE_LATITUDES = [255.88, -153.70, -694.28, 202.91, 388.48]
PURDUE_DEPARTURES = [125.72, 590.78, -192.54, -6.02, -517.41]
PURDUE_BALANCED_LAT = [255.96, -153.52, -694.07, 202.97, 388.66]
PURDUE_BALANCED_DEP = [125.66, 590.65, -192.69, -6.07, -517.55]
PURDUE_Y = [10000.00, 10255.96, 10102.44, 9408.37, 9611.34]
PURDUE_X = [10000.00, 10125.66, 10716.31, 10523.62, 10517.55]


def test_the_purdue_traverse_comes_out_figure_for_figure():
    """Latitudes, departures, misclosure, 1:2771, balanced legs and coordinates, all to 0.01 ft."""
    steps = legs(PURDUE_LENGTHS, [compass(*azimuth) for azimuth in PURDUE_AZIMUTHS])
    np.testing.assert_allclose(steps[:, 1], PURDUE_LATITUDES, atol=0.006)
    np.testing.assert_allclose(steps[:, 0], PURDUE_DEPARTURES, atol=0.006)

    # From here on with the printed, rounded legs, as the notes go on.
    printed = np.stack([PURDUE_DEPARTURES, PURDUE_LATITUDES], axis=1)
    closing = misclosure(printed, PURDUE_LENGTHS)
    assert (round(closing.y, 2), round(closing.x, 2)) == (-0.71, 0.53)
    assert round(closing.around, 2) == 2466.05
    assert round(closing.distance, 2) == 0.89
    assert round(closing.around / 0.89) == 2771  # the notes divide by the rounded 0.89

    balanced = compass_rule(printed, PURDUE_LENGTHS)
    np.testing.assert_allclose(balanced[:, 1], PURDUE_BALANCED_LAT, atol=0.0101)
    np.testing.assert_allclose(balanced[:, 0], PURDUE_BALANCED_DEP, atol=0.0101)
    found = corners(balanced, (10000.0, 10000.0))
    np.testing.assert_allclose(found[:, 1], PURDUE_Y, atol=0.0151)
    np.testing.assert_allclose(found[:, 0], PURDUE_X, atol=0.0151)


# J. Mahun, Open Access Surveying Library, self-study "Traverse Adjustment" problem 2
# (jerrymahun.com/index.php/home/open-access/99-soln-ss-trav-adj-2). Feet.
MAHUN_LENGTHS = [639.15, 523.69, 409.54, 815.93]
MAHUN_AZIMUTHS = [(226, 54, 23), (0, 0, 0), (235, 2, 29), (79, 35, 2)]
MAHUN_LATITUDES = [-436.662, 523.690, -234.660, 147.517]
MAHUN_DEPARTURES = [-466.732, 0.000, -335.645, 802.484]
MAHUN_ADJUSTED_LAT = [-436.631, 523.715, -234.640, 147.556]
MAHUN_ADJUSTED_DEP = [-466.761, -0.023, -335.663, 802.447]
MAHUN_ADJUSTED_LENGTHS = [639.150, 523.715, 409.544, 815.901]
MAHUN_ADJUSTED_AZIMUTHS = [(226, 54, 36.6), (359, 59, 50.8), (235, 2, 42.5), (79, 34, 50.5)]


def test_the_mahun_traverse_comes_out_figure_for_figure():
    """Legs, closure 0.157, 1/15,200, adjusted legs, lengths to 0.001 ft, directions to 0.5"."""
    steps = legs(MAHUN_LENGTHS, [compass(*azimuth) for azimuth in MAHUN_AZIMUTHS])
    # The page goes on from the printed, rounded legs.
    printed = np.stack([MAHUN_DEPARTURES, MAHUN_LATITUDES], axis=1)
    closing = misclosure(printed, MAHUN_LENGTHS)
    balanced = compass_rule(printed, MAHUN_LENGTHS)

    np.testing.assert_allclose(steps[:, 1], MAHUN_LATITUDES, atol=0.0006)
    np.testing.assert_allclose(steps[:, 0], MAHUN_DEPARTURES, atol=0.0006)
    assert round(closing.y, 3) == -0.115
    assert round(closing.x, 3) == 0.107
    assert round(closing.around, 2) == 2388.31
    assert round(closing.distance, 3) == 0.157
    assert round(closing.one_in, -2) == 15_200
    np.testing.assert_allclose(balanced[:, 1], MAHUN_ADJUSTED_LAT, atol=0.0011)
    np.testing.assert_allclose(balanced[:, 0], MAHUN_ADJUSTED_DEP, atol=0.0011)
    np.testing.assert_allclose(np.hypot(*balanced.T), MAHUN_ADJUSTED_LENGTHS, atol=0.0011)
    bearings = np.degrees(np.arctan2(balanced[:, 1], balanced[:, 0]))
    expected = [compass(*azimuth) for azimuth in MAHUN_ADJUSTED_AZIMUTHS]
    # The page worked with legs rounded to 0.001 ft: up to 0.001/410 rad, half a second.
    assert np.abs(wrapped(bearings - np.array(expected))).max() * 3600.0 < 0.5


sizes = st.lists(st.floats(200.0, 9000.0), min_size=3, max_size=9)


@given(sizes, st.integers(0, 2**32 - 1))
def test_the_compass_rule_is_least_squares_with_weights_by_length(lengths, seed: int):
    """Leg errors of variance proportional to length give exactly Bowditch's legs."""
    rng = np.random.default_rng(seed)
    steps = legs(lengths, rng.uniform(0.0, 360.0, len(lengths)))
    n = len(lengths)
    # unknowns: the corners but the first, one axis at a time; leg i = corner i+1 - corner i
    slopes = np.zeros((n, n - 1))
    for i in range(n):
        if i > 0:
            slopes[i, i - 1] -= 1.0
        if i + 1 < n:
            slopes[i, i] += 1.0
    closed = compass_rule(steps, lengths)
    for axis in (0, 1):
        problem = Problem(
            observe=lambda x: (slopes @ x, slopes),
            observed=steps[:, axis],
            sigma=np.sqrt(np.array(lengths)),
            names=tuple("leg" for _ in range(n)),
            unknowns=tuple("corner" for _ in range(n - 1)),
            starts=(np.zeros(n - 1),),
            turning=np.zeros(n, dtype=bool),
        )
        np.testing.assert_allclose(adjust(problem).adjusted, closed[:, axis], atol=1e-6)


@given(sizes, st.integers(0, 2**32 - 1))
def test_the_compass_rule_closes_and_leaves_a_closed_walk_alone(lengths, seed: int):
    steps = legs(lengths, np.random.default_rng(seed).uniform(0.0, 360.0, len(lengths)))
    closed = compass_rule(steps, lengths)

    assert misclosure(closed, lengths).distance < 1e-8
    np.testing.assert_allclose(compass_rule(closed, lengths), closed, atol=1e-8)


def test_balanced_turns_take_more_from_the_doubtful():
    turns = balanced_turns([90.0, 90.0, 90.0, 93.0], [0.1, 0.1, 0.1, 1.0])

    assert math.fsum(turns) == pytest.approx(360.0)
    assert turns[3] == pytest.approx(93.0 - 3.0 * 1.0 / 1.03)


def test_a_clockwise_room_turns_the_other_way():
    steps = legs([4.0, 3.0, 4.0, 3.0], directions([-90.0] * 4))

    np.testing.assert_allclose(corners(steps), [[0, 0], [4, 0], [4, -3], [0, -3]], atol=1e-12)
    assert turn_misclosure([-90.0, -90.0, -90.0, -91.5]) == -1.5
    assert misclosure(np.zeros((2, 2)), [1.0, 1.0]).one_in == math.inf
