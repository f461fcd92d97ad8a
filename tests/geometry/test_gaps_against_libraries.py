"""Signed gaps against other people's code: a collision library, a mesh library, qhull.

The collision library judges scattered pairs only: its signed distance was seen never to return
on some pairs placed exactly flush. Those are judged by the hull of the Minkowski difference.
"""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex
from tests.convex_pairs import Pairs, flush_pairs, scattered_pairs
from tests.oracles import minkowski_gap


def gaps_of(found: Pairs) -> np.ndarray:
    n = len(found.firsts)
    pairs = np.stack([np.arange(n), np.arange(n) + n], axis=1)
    return signed_gaps(found.firsts + found.seconds, pairs).gap[0]


def judged_by_hulls(found: Pairs, which: np.ndarray) -> np.ndarray:
    return np.array(
        [minkowski_gap(found.firsts[k].corners[0], found.seconds[k].corners[0]) for k in which]
    )


def as_object(fcl, solid: Convex):
    rings = [number for ring in solid.faces.rings for number in (len(ring), *ring)]
    shape = fcl.Convex(solid.corners[0].copy(), len(solid.faces.rings), np.array(rings))
    return fcl.CollisionObject(shape, fcl.Transform())


def test_ten_thousand_scattered_pairs_against_a_collision_library() -> None:
    fcl = pytest.importorskip("fcl")
    found = scattered_pairs(np.random.default_rng(2024), 10_000)
    ours = gaps_of(found)
    assert 0.3 < (ours < 0).mean() < 0.7
    theirs = np.empty(len(ours))
    for k, (a, b) in enumerate(zip(found.firsts, found.seconds, strict=True)):
        request = fcl.DistanceRequest(enable_signed_distance=True)
        theirs[k] = fcl.distance(
            as_object(fcl, a), as_object(fcl, b), request, fcl.DistanceResult()
        )
    unlike = np.flatnonzero(~(np.abs(ours - theirs) < 1e-6))
    assert len(unlike) < 10
    # Where the two disagree the third decides, and it must decide for ours.
    for mine, judged in zip(ours[unlike], judged_by_hulls(found, unlike), strict=True):
        assert mine == pytest.approx(judged, abs=1e-6)


@pytest.mark.parametrize(("make", "count"), [(scattered_pairs, 3000), (flush_pairs, 2000)])
def test_overlapping_means_sharing_volume(make, count: int) -> None:
    from manifold3d import Manifold

    found = make(np.random.default_rng(77), count)
    ours = gaps_of(found)
    shared = np.array(
        [
            (
                Manifold.hull_points(a.corners[0].copy())
                ^ Manifold.hull_points(b.corners[0].copy())
            ).volume()
            for a, b in zip(found.firsts, found.seconds, strict=True)
        ]
    )
    # Between, touching within 1e-6 mm, the mesh library may see a film or none.
    assert (shared[ours < -1e-6] > 0.0).all()
    assert (shared[ours > 1e-6] == 0.0).all()
    assert (shared[np.abs(ours) <= 1e-6] < 1.0).all()
    assert (ours < -1e-6).any()
    assert (ours > 1e-6).any()


@pytest.mark.parametrize(("make", "count"), [(scattered_pairs, 1500), (flush_pairs, 2500)])
def test_against_the_hull_of_the_minkowski_difference(make, count: int) -> None:
    found = make(np.random.default_rng(1234), count)
    ours = gaps_of(found)
    assert np.abs(ours - judged_by_hulls(found, np.arange(count))).max() < 1e-6
    known = ~np.isnan(found.built)
    assert np.abs(ours[known] - found.built[known]).max(initial=0.0) < 1e-6
    if make is flush_pairs:
        assert known.sum() > 300
