"""Pieces of outlines: together the whole, and those in a stretch of x the same as without it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box, get_parts, union_all

from massing.geometry.plan_parts import _clean, _trapezium, convex_parts
from massing.geometry.polygons import area


def floors(seed):
    """What blocks by chance leave of a floor: rings with holes; blocks meet and stand in line."""
    rng = np.random.default_rng(seed)
    low = rng.integers(0, 18, (int(rng.integers(1, 14)), 2)) * 100.0
    size = rng.integers(1, 6, low.shape) * 100.0
    blocks = [box(*a, *(a + b)) for a, b in zip(low, size, strict=True)]
    if seed % 2:
        blocks.append(Polygon(rng.uniform(0.0, 2000.0, (3, 2))))
    left = box(0, 0, 2000, 2000).difference(union_all(blocks))
    for part in get_parts(left):
        if part.area > 1.0:
            yield [np.asarray(r.coords)[:-1] for r in (part.exterior, *part.interiors)]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.floats(-100.0, 2100.0), st.floats(0.0, 900.0))
def test_a_span_leaves_out_only_what_is_beside_it(seed, start, wide):
    for rings in floors(seed):
        every = convex_parts(*rings)
        some = convex_parts(*rings, span=(start, start + wide))
        own = [p for p in every if p[:, 0].max() >= start and p[:, 0].min() <= start + wide]
        if len(every) == 1 and len(rings) == 1:
            own = every
        assert len(some) == len(own)
        assert all(np.array_equal(a, b) for a, b in zip(some, own, strict=True))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_the_pieces_are_the_whole(seed):
    for rings in floors(seed):
        whole = Polygon(rings[0], rings[1:]).area
        pieces = sum(float(area(part[None])[0]) for part in convex_parts(*rings))
        assert pieces == pytest.approx(whole, rel=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(0, 4), min_size=6, max_size=6))
def test_a_trapezium_is_what_tidying_its_corners_leaves(steps):
    """With corners that fall together, and one above the other by nothing."""
    x0, x1, a, b, c, d = (float(step) for step in steps)
    ends = np.array([[[0.0, a], [5.0, b]], [[0.0, a + c], [5.0, b + d]]])
    left, right = min(x0, x1), max(x0, x1)
    found = _trapezium(ends, (0, 1), (left, right))
    heights = [
        [y0 + (x - 0.0) / 5.0 * (y1 - y0) for (_, y0), (_, y1) in ends] for x in (left, right)
    ]
    ring = np.array(
        [
            [left, heights[0][0]],
            [right, heights[1][0]],
            [right, heights[1][1]],
            [left, heights[0][1]],
        ]
    )
    if len(found):
        assert np.array_equal(found, _clean(ring))
    else:
        assert abs(float(area(ring[None])[0])) < 1e-6
