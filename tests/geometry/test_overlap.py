"""Shared, joint and outlying volumes: closed forms and half-space geometry."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import ConvexHull, HalfspaceIntersection

from massing.errors import GeometryError
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.overlap import overlap_volume, union_volume
from massing.geometry.solids import Convex, box, prism, prism_to_planes
from tests.convex_pairs import flush_pairs, scattered_pairs


def by_half_spaces(a: Convex, b: Convex, inside: np.ndarray) -> float:
    """Volume of the intersection of all face planes, from a point inside it."""
    planes = np.concatenate([ConvexHull(s.corners[0]).equations for s in (a, b)])
    planes[:, 3] += planes[:, :3] @ inside
    corners = HalfspaceIntersection(planes, np.zeros(3)).intersections
    return float(ConvexHull(corners).volume)


def test_two_unit_squares_at_45_degrees() -> None:
    # A square of side 2 and one of half-diagonal sqrt 2 about one centre share all but four
    # corners: the octagon has area 8 (sqrt 2 - 1).
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    turn = np.array([[1, -1], [1, 1]]) / np.sqrt(2)
    shared = overlap_volume(prism(square, 0, 3), prism(square @ turn.T, 1, 9))
    assert shared == pytest.approx(2 * 8 * (np.sqrt(2) - 1), rel=1e-12)


def test_random_pairs_against_half_spaces() -> None:
    found = scattered_pairs(np.random.default_rng(6), 150)
    pairs = np.stack([np.arange(150), np.arange(150) + 150], axis=1)
    gaps = signed_gaps(found.firsts + found.seconds, pairs)
    seen = 0
    for k, (a, b) in enumerate(zip(found.firsts, found.seconds, strict=True)):
        shared = overlap_volume(a, b)
        assert (shared > 0.0) == (gaps.gap[0, k] < 0.0)
        assert shared == pytest.approx(overlap_volume(b, a), rel=1e-9)
        if gaps.gap[0, k] < -1.0:
            seen += 1
            # The reported point is inside, which is all half-space geometry needs.
            assert shared == pytest.approx(by_half_spaces(a, b, gaps.at[0, k]), rel=1e-7)
            joint = union_volume([a, b])
            assert joint == pytest.approx(float(a.volume[0] + b.volume[0]) - shared, rel=1e-9)
    assert seen > 40


def test_touching_shares_nothing() -> None:
    found = flush_pairs(np.random.default_rng(9), 400)
    for a, b, gap in zip(found.firsts, found.seconds, found.built, strict=True):
        if gap >= 0.0:
            assert overlap_volume(a, b) == 0.0
        elif gap <= -1e-4:
            assert overlap_volume(a, b) > 0.0


def test_a_wardrobe_under_a_slope() -> None:
    """The slope x + z = 2500 cuts a triangle of 500 by 500 off the top."""
    wardrobe = box([0, 0, 0], [1000, 600, 2000])
    ring = [[0, 0], [1000, 0], [1000, 600], [0, 600]]
    rest = overlap_volume(wardrobe, prism_to_planes(ring, 0, [2500, 1500, 1500, 2500]))
    assert rest + 500 * 500 / 2 * 600 == pytest.approx(1.2e9, rel=1e-12)


def test_many_worlds_are_refused() -> None:
    many = box(np.zeros((2, 3)), np.ones((2, 3)))
    with pytest.raises(GeometryError, match="one world at a time, not 2"):
        overlap_volume(many, many)
    assert union_volume([]) == 0.0
