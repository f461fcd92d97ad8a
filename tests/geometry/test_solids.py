"""Convex solids: volumes, faces and hulls."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.solids import box, hull, prism, prism_to_planes


def _closed(solid):
    """Every edge is used once each way, and every face looks outwards."""
    seen = set()
    middle = solid.corners[0].mean(axis=0)
    for ring in solid.faces.rings:
        points = solid.corners[0, list(ring)]
        normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
        assert normal @ (points[0] - middle) > 0
        for pair in zip(ring, ring[1:] + ring[:1], strict=True):
            assert pair not in seen
            seen.add(pair)
    assert all((b, a) in seen for a, b in seen)


def test_box_and_prisms_are_closed():
    """Constructors give closed solids with the right volumes."""
    for solid, volume in (
        (box([1, 2, 3], [4, 6, 9]), 72.0),
        (prism([[0, 0], [10, 0], [0, 10]], 0, 5), 250.0),
        (prism_to_planes([[0, 0], [4, 0], [4, 2], [0, 2]], 0, [1, 3, 3, 1]), 16.0),
    ):
        _closed(solid)
        assert float(solid.volume[0]) == pytest.approx(volume, rel=1e-12)


def test_many_worlds_at_once():
    """Each world has its own volume."""
    solid = box(np.zeros((3, 3)), [[1, 1, 1], [2, 1, 1], [3, 2, 1]])
    assert solid.volume.tolist() == [1.0, 2.0, 6.0]
    assert solid.world(2).volume.tolist() == [6.0]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(5, 40), st.booleans())
def test_hull_volume_and_faces(seed, count, flat):
    """The hull is closed and has qhull's own volume, flush faces and all."""
    from scipy.spatial import ConvexHull

    random = np.random.default_rng(seed)
    cloud = random.uniform(-1000, 1000, (count, 3))
    if flat:
        turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
        cloud = np.clip(cloud, -400, 400) @ turn
    solid = hull(cloud)
    _closed(solid)
    assert float(solid.volume[0]) == pytest.approx(ConvexHull(cloud).volume, rel=1e-9)


def test_no_volume_is_refused():
    """Points in one plane make no solid."""
    with pytest.raises(GeometryError, match="no volume"):
        hull([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0]])
