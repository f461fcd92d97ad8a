"""Tests for tests.oracles_corners."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.errors import GeometryError
from tests.oracles_corners import (
    rectangle_round_corner,
    rod_round_corner,
    rod_round_corner_tilting,
    stands_that_tilt,
    tilt_up,
    tilt_up_height,
)

widths = st.floats(600, 3000)


@pytest.mark.parametrize(
    ("a", "b", "longest"),
    [
        (3, 4, 9.865663),
        (3, 5, 11.194100),
        (1.2, 0.9, 2.959699),
        (1, 1, 2 * math.sqrt(2)),
    ],
)
def test_rod_against_the_ladder_problem(a: float, b: float, longest: float) -> None:
    """Classical ladder problem, (a^(2/3) + b^(2/3))^(3/2), worked by hand."""
    assert rod_round_corner(a, b) == pytest.approx(longest, abs=5e-7)


def test_rod_that_tilts() -> None:
    """The level limit and the height are legs of a right triangle (worked by hand)."""
    assert rod_round_corner_tilting(1.2, 0.9, 2.1) == pytest.approx(3.629024, abs=5e-7)


@pytest.mark.parametrize(
    ("a", "b", "t", "longest"),
    [(0.9, 0.9, 0.3, 1.945584), (1.2, 0.9, 0.6, 1.747413), (3, 4, 0, 9.865663)],
)
def test_rectangle_against_worked_values(a: float, b: float, t: float, longest: float) -> None:
    """Equal corridors: 2 sqrt(2) w - 2 t; the others from the same minimum, worked by hand."""
    assert rectangle_round_corner(a, b, t) == pytest.approx(longest, abs=5e-7)


@pytest.mark.parametrize(("h", "d", "needs"), [(1850, 600, 1944.87), (2000, 600, 2088.06)])
def test_tilting_up_needs_the_diagonal(h: float, d: float, needs: float) -> None:
    """sqrt(h^2 + d^2), by Pythagoras; a level ceiling just there is touched and no more."""
    assert tilt_up_height(h, d) == pytest.approx(needs, abs=0.005)
    assert tilt_up(h, d, 100, [[tilt_up_height(h, d), 0.0]]).gap == pytest.approx(0, abs=1e-9)


@given(a=widths, b=widths, share=st.floats(0, 1))
def test_rectangle_is_never_longer_than_the_rod(a: float, b: float, share: float) -> None:
    """Thickness costs length, never below the wider passage taken sideways; mirror symmetric."""
    t = share * min(a, b)

    longest = rectangle_round_corner(a, b, t)

    assert max(a, b) <= longest <= rod_round_corner(a, b) + 1e-6
    assert longest == pytest.approx(rectangle_round_corner(b, a, t), rel=1e-9)


@given(a=widths, b=widths, share=st.floats(0.05, 0.95))
def test_rectangle_turns_against_a_corner_sampled_pose_by_pose(
    a: float, b: float, share: float
) -> None:
    """Slide a rectangle round with both ends on the outer walls: the inner corner stays out."""
    t = share * min(a, b)
    longest = rectangle_round_corner(a, b, t)
    theta = np.linspace(0.001, math.pi / 2 - 0.001, 4001)

    # outer side from (L cos, 0) to (0, L sin); signed distance of the inner corner (a, b) off it
    def least_room(length: float) -> float:
        sine, cosine = np.sin(theta), np.cos(theta)
        off = a * sine + b * cosine - length * sine * cosine
        return float(off.min())

    if longest > max(a, b):  # else the wider passage takes it sideways, without turning
        assert least_room(longest * 0.999) > t
    assert least_room(longest * 1.001) < t


@given(
    h=st.floats(900, 2400),
    d=st.floats(200, 800),
    stand=st.floats(0, 1500),
    low=st.floats(600, 2600),
    rise=st.floats(-0.8, 1.5),
    flat=st.floats(1500, 2800),
)
def test_tilt_up_against_dense_angles(
    h: float, d: float, stand: float, low: float, rise: float, flat: float
) -> None:
    """The exact least equals the least over a dense turn of the cabinet's four corners."""
    ceiling = [[low, rise], [flat, 0.0]]
    turn = np.linspace(0, math.pi / 2, 5001)
    dense = np.inf
    for x, z in ((-d, 0.0), (0.0, 0.0), (0.0, h), (-d, h)):
        at = stand + d + x * np.cos(turn) + z * np.sin(turn)
        up = -x * np.sin(turn) + z * np.cos(turn)
        dense = min(dense, float((np.minimum(low + rise * at, flat) - up).min()))

    exact = tilt_up(h, d, stand, ceiling).gap

    assert exact <= dense + 1e-9
    assert exact == pytest.approx(dense, abs=1e-3)


@given(h=st.floats(900, 2400), d=st.floats(200, 800), low=st.floats(900, 2600))
def test_least_stand_under_a_slope_just_touches(h: float, d: float, low: float) -> None:
    """At the least stand the gap is zero (or the wall comes first); nearer it is negative."""
    ceiling = [[low, 0.7]]
    found = stands_that_tilt(h, d, ceiling)

    assert found is not None
    assert found[1] == math.inf
    gap = tilt_up(h, d, found[0], ceiling).gap
    assert gap == pytest.approx(0, abs=1e-6) or (found[0] == 0 and gap > 0)


def test_no_stand_between_a_slope_and_a_falling_one() -> None:
    assert stands_that_tilt(1850, 600, [[1500, 0.5], [2500, -0.5]]) is None


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_sizes_must_be_positive(bad: float) -> None:
    with pytest.raises(GeometryError):
        rod_round_corner(bad, 900)
    with pytest.raises(GeometryError):
        tilt_up_height(900, bad)


def test_a_ceiling_needs_rows() -> None:
    with pytest.raises(GeometryError):
        tilt_up(1800, 600, 0, np.empty((0, 2)))


def test_the_worked_values_notice_a_planted_fault() -> None:
    """A thousandth more of one width, height or depth is told from the worked value by each."""
    assert rod_round_corner(3.001, 4) != pytest.approx(9.865663, abs=5e-7)
    assert rod_round_corner_tilting(1.2, 0.9, 2.101) != pytest.approx(3.629024, abs=5e-7)
    assert rectangle_round_corner(0.9, 0.9, 0.301) != pytest.approx(1.945584, abs=5e-7)
    assert tilt_up_height(1851, 600) != pytest.approx(1944.87, abs=0.005)
    sure = stands_that_tilt(1850, 600, [[1950.0, 0.0]])
    assert sure is not None
    assert stands_that_tilt(1860, 600, [[1950.0, 0.0]]) is None
