"""What two convex rings share at once is what is left when one is cut by the other's sides."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.geometry.pieces import hull_corners
from massing.geometry.plan_common import _few, _many, common_extent
from massing.geometry.polygons import Ring, area, overlap


def ring(seed, whole):
    """A convex ring of 3 to 60 corners; on whole millimetres, so that sides run alike and meet."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(-500.0, 500.0, (int(rng.integers(4, 60)), 2))
    if rng.random() < 0.5:
        turn = np.sort(rng.uniform(0, 2 * np.pi, len(points)))
        points = 400.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    if whole:
        points = np.round(points, -2)
    return points[list(hull_corners(points))]


def cut(one, other):
    """The plain form."""
    found = overlap(Ring.of(one), Ring.of(other))
    if found is None:
        return 0.0, np.zeros(2)
    return float(area(found.points)[0]), np.ptp(found.points[0], axis=0)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6), st.booleans(), st.floats(-900.0, 900.0))
def test_it_is_what_cutting_leaves(first, second, whole, along):
    one, other = ring(first, whole), ring(second, whole)
    if min(len(one), len(other)) < 3:
        return
    other = other + np.array([round(along, -2) if whole else along, 0.0])
    size, extent = cut(one, other)
    found = common_extent(one, other)
    if found is None:
        assert size <= 1e-2
        return
    assert found[0] == pytest.approx(size, abs=1e-2)
    if size > 1.0:
        assert found[1] == pytest.approx(extent, abs=2e-5)
    back = common_extent(other, one)
    assert back is not None
    assert back[0] == pytest.approx(found[0], abs=1e-6)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6), st.booleans(), st.floats(-900.0, 900.0))
def test_plain_numbers_find_the_points_that_arrays_find(first, second, whole, along):
    """To the bit and in the same order."""
    one, other = ring(first, whole), ring(second, whole)
    if min(len(one), len(other)) < 3:
        return
    other = other + np.array([round(along, -2) if whole else along, 0.0])
    assert np.array_equal(_few(one, other), _many(one, other))


def test_rings_that_only_touch_share_nothing():
    square = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])
    assert common_extent(square, square + np.array([9.0, 0.0])) is None
    assert common_extent(square, square + np.array([9.0, 9.0])) is None
    assert common_extent(square, square + np.array([20.0, 0.0])) is None


def test_one_within_the_other_is_all_of_it():
    square = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])
    found = common_extent(square, square / 3.0 + 1.0)
    assert found is not None
    assert found[0] == pytest.approx(9.0)
    assert found[1].tolist() == pytest.approx([3.0, 3.0])
