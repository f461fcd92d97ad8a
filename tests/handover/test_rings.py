"""Tests for rings: fans, ears, area vectors and open edges."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.solids import box, hull, prism
from massing.handover.rings import area_vectors, ear_clip, ring_pattern


@st.composite
def stars(draw):
    """Simple rings: one corner along each of several rays, so none crosses itself."""
    n = draw(st.integers(3, 12))
    reach = draw(st.lists(st.floats(10.0, 1000.0), min_size=n, max_size=n))
    turn = draw(st.floats(0.0, math.tau))
    angles = turn + np.arange(n) * math.tau / n
    return np.stack([np.cos(angles) * reach, np.sin(angles) * reach], axis=1)


def area(ring):
    x, y = np.asarray(ring).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0


def directed(triangles):
    return [(t[k], t[(k + 1) % 3]) for t in triangles for k in range(3)]


def check(plan, triangles):
    """Exact cover: same area, none flat or turned, sides of the ring once, inner sides twice."""
    n = len(plan)
    areas = [area(plan[list(t)]) for t in triangles]
    edges = directed(triangles)
    ring = [(k, (k + 1) % n) for k in range(n)]
    inner = [edge for edge in edges if edge not in ring]
    assert len(triangles) == n - 2
    assert min(areas) > 0
    assert sum(areas) == pytest.approx(area(plan), rel=1e-9)
    assert len(set(edges)) == len(edges)
    assert set(ring) <= set(edges)
    assert {edge[::-1] for edge in inner} == set(inner)


@given(stars())
def test_ears_cover_any_simple_ring_exactly(plan):
    check(plan, ear_clip(plan, 1e-9))


@given(st.integers(3, 6), st.integers(1, 3), st.integers(0, 20))
def test_corners_on_a_straight_side_make_no_flat_triangle(sides, between, roll):
    """Extra corners along every side of a regular ring, starting anywhere."""
    angles = np.arange(sides) * math.tau / sides
    main = np.stack([np.cos(angles), np.sin(angles)], axis=1) * 1000
    steps = np.arange(between + 1) / (between + 1)
    plan = np.concatenate(
        [a + steps[:, None] * (b - a) for a, b in zip(main, np.roll(main, -1, 0), strict=True)]
    )
    plan = np.roll(plan, roll, axis=0)
    triangles = ear_clip(plan, 1e-6)

    check(plan, triangles)
    assert min(area(plan[list(t)]) for t in triangles) > 1.0


@pytest.mark.parametrize(
    "ring",
    [
        [(0, 0), (4, 4), (4, 0), (0, 5)],
        [(0, 0), (4, 0), (4, 4), (1, -2), (0, 3)],
        [(0, 0), (1, 0), (2, 0)],
    ],
)
def test_rings_that_cross_themselves_are_refused(ring):
    with pytest.raises(GeometryError, match="crosses itself"):
        ear_clip(np.array(ring, dtype=float), 1e-9)


@pytest.mark.parametrize(
    "solid",
    [box([1, 2, 3], [40, 50, 60]), prism([(0, 0), (9, 0), (5, 7)], -4, 8),
     hull(np.random.default_rng(3).normal(size=(20, 3)) * 100)],
)  # fmt: skip
def test_area_vectors_of_a_closed_body_add_to_nothing_and_give_its_volume(solid):
    """Gauss: the sum over the faces is zero, and the flow of x/3 through them is the volume."""
    pattern = ring_pattern(solid.faces.rings)
    points = solid.corners[0][pattern.corners]
    vectors = area_vectors(points, pattern.starts, pattern.ring_of, pattern.following)

    np.testing.assert_allclose(vectors.sum(axis=0), 0.0, atol=1e-8)
    flow = float((points[pattern.starts] * vectors).sum() / 3.0)
    assert flow == pytest.approx(float(solid.volume[0]), rel=1e-12)
    assert pattern.unpaired is None


def test_an_edge_used_twice_the_same_way_is_named():
    assert ring_pattern(((0, 1, 2), (0, 1, 3))).unpaired == (0, 1)


def test_an_edge_without_its_opposite_is_named():
    assert ring_pattern(((0, 1, 2), (1, 0, 3), (3, 0, 2))).unpaired == (1, 2)
