"""Tests for slips that others let through: limits exactly met, thin shares, faces put together."""

from __future__ import annotations

import numpy as np
import pytest

from massing.errors import GeometryError
from massing.geometry.gaps.compiled import signed_gaps_compiled
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.overlap import overlap_volume
from massing.geometry.solids import box, hull


@pytest.mark.parametrize("measure", [signed_gaps, signed_gaps_compiled])
def test_pairs_name_the_first_and_the_last_and_no_other(measure) -> None:
    solids = [box([100.0 * k, 0, 0], [100.0 * k + 40, 10, 10]) for k in range(3)]

    assert measure(solids, np.array([[0, 2], [2, 0], [0, 1]])).gap[0].tolist() == [160, 160, 60]
    assert measure(solids, np.zeros((0, 2), dtype=np.int64)).gap.shape == (1, 0)
    for pair in ([0, 3], [3, 0], [-1, 0], [0, -1]):
        with pytest.raises(GeometryError, match="not among the 3 given"):
            measure(solids, np.array([[0, 1], pair]))


@pytest.mark.parametrize("axis", range(3))
def test_a_thin_share_is_shared(axis: int) -> None:
    """Half a millimetre of overlap along any axis is 0.5 x 20 x 30, or as the axes fall."""
    size = np.array([10.0, 20.0, 30.0])
    shift = np.zeros(3)
    for thin in (0.5, 0.001, 0.0, -0.001):
        shift[axis] = size[axis] - thin
        shares = max(thin, 0.0) * size.prod() / size[axis]
        for at in (0.0, -1000.0, 1000.0):
            volume = overlap_volume(box([at] * 3, size + at), box(shift + at, shift + size + at))
            assert volume == pytest.approx(shares, rel=1e-6, abs=0.0)


@pytest.mark.parametrize("seed", range(4))
def test_a_hull_has_the_faces_it_was_made_with(seed: int) -> None:
    """A turned box from its corners and many points on its faces and edges is six rectangles."""
    rng = np.random.default_rng([81, seed])
    size = rng.uniform(50, 900, 3)
    own = rng.uniform(0, 1, (40, 3))
    own[np.arange(40), rng.integers(0, 3, 40)] = rng.integers(0, 2, 40)
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    cloud = np.concatenate([own, corners])[rng.permutation(48)] * size

    solid = hull(cloud @ turn.T)

    middle = solid.corners[0].mean(axis=0)
    assert solid.corners.shape == (1, 8, 3)
    assert sorted(len(ring) for ring in solid.faces.rings) == [4] * 6
    areas = []
    for ring in solid.faces.rings:
        p = solid.corners[0][list(ring)]
        normal = np.cross(p[1] - p[0], p[2] - p[1])
        assert normal @ (p[0] - middle) > 0.0  # counter-clockwise seen from outside
        areas.append(np.linalg.norm(normal))
    x, y, z = size
    assert np.sort(areas) == pytest.approx(np.sort([x * y, y * z, x * z] * 2))
    assert solid.volume[0] == pytest.approx(x * y * z)


@pytest.mark.parametrize("seed", range(6))
def test_slivers_lead_no_face(seed: int) -> None:
    """Points a hair apart along the edges make triangles of no size; the faces are six still."""
    rng = np.random.default_rng([83, seed])
    size = rng.uniform(300, 900, 3)
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    along = rng.uniform(0.3, 0.7, (24, 1)) + np.array([[0.0, 1e-6, 2e-6]])
    ways = rng.integers(0, 3, 24)
    own = rng.integers(0, 2, (24, 3, 3)).astype(float)
    own[:] = own[:, :1]
    own[np.arange(24), :, ways] = along
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    cloud = (np.concatenate([own.reshape(-1, 3), corners]) * size) @ turn.T

    solid = hull(cloud)

    assert sorted(len(ring) for ring in solid.faces.rings)[:2] >= [4, 4]
    assert len(solid.faces.rings) == 6
    assert solid.volume[0] == pytest.approx(size.prod(), rel=1e-9)
