"""The compiled loop answers as the array kernels do."""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.gaps import compiled
from massing.geometry.gaps import signed as gaps
from massing.geometry.gaps.compiled import signed_gaps_compiled
from massing.geometry.gaps.gjk_compiled import proved_distance
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex, hull, prism, prism_to_planes
from tests.convex_pairs import flush_pairs, pair_apart, scattered_pairs, shapes


def test_compiled_equals_arrays() -> None:
    rng = np.random.default_rng(31)
    solids = []
    for k in range(60):
        t = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 9)))
        ring = np.stack([np.cos(t), np.sin(t)], axis=1) * 400 + rng.uniform(0, 1500, 2)
        if k % 2:  # flush squares on a grid, where ties and touches are the rule
            corner = rng.integers(0, 6, 2) * 250.0
            ring = np.array([[0, 0], [500, 0], [500, 250], [0, 250]]) + corner
        low = rng.integers(0, 4) * 300.0
        solid = prism(ring, low, low + 600)
        move = rng.normal(size=(5, 1, 3)) * 20.0
        solids.append(Convex(solid.corners + move, solid.faces) if k % 3 == 0 else solid)
    pairs = np.array([(i, j) for i in range(60) for j in range(i + 1, 60)])
    arrays, loop = signed_gaps(solids, pairs), signed_gaps_compiled(solids, pairs, 5)
    assert (arrays.gap < -1e-6).any()
    assert (np.abs(arrays.gap) < 1e-9).any()
    assert np.abs(arrays.gap - loop.gap).max() < 1e-9
    assert np.abs(arrays.normal - loop.normal).max() < 1e-9
    assert np.abs(arrays.at - loop.at).max() < 1e-6


@pytest.mark.parametrize("make", [scattered_pairs, flush_pairs])
def test_compiled_polyhedra_equal_arrays(make) -> None:
    found = make(np.random.default_rng(13), 1000)
    solids = found.firsts + found.seconds
    pairs = np.stack([np.arange(1000), np.arange(1000) + 1000], axis=1)
    arrays, loop = signed_gaps(solids, pairs), signed_gaps_compiled(solids, pairs)
    assert np.abs(arrays.gap - loop.gap).max() < 1e-8
    for answer in (arrays, loop):
        pushed = [
            a.moved(v * g)
            for a, v, g in zip(found.firsts, answer.normal[0], answer.gap[0], strict=True)
        ]
        assert np.abs(signed_gaps(pushed + found.seconds, pairs).gap).max() < 1e-6
    alike = np.abs(arrays.normal - loop.normal).max(axis=2)[0] < 1e-6
    assert alike.mean() > 0.99
    assert np.abs(arrays.at - loop.at)[0, alike].max() < 1e-3


def test_worlds_told_are_as_many_as_asked() -> None:
    rng = np.random.default_rng(3)
    solids = []
    for k, solid in enumerate(shapes(rng, 4)):
        moved = solid.moved(rng.uniform(0, 900, 3))
        many = moved.corners + rng.normal(size=(40, 1, 3)) * 15.0
        solids.append(Convex(many, solid.faces) if k % 3 else moved)
    pairs = np.array([(i, j) for i in range(16) for j in range(i + 1, 16)])
    whole, first = signed_gaps_compiled(solids, pairs, 40), signed_gaps_compiled(solids, pairs)
    arrays = signed_gaps(solids, pairs)
    assert first.normal.shape == first.at.shape == (1, len(pairs), 3)
    assert (arrays.gap > 1.0).any()
    assert (arrays.gap < -1.0).any()
    for answer in (whole, first):
        assert np.abs(answer.gap - arrays.gap).max() < 1e-9
        assert np.abs(answer.at[0] - whole.at[0]).max() == 0.0
    assert np.abs(whole.at - arrays.at).max() < 1e-3


def test_what_is_much_is_measured_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    found = scattered_pairs(np.random.default_rng(4), 30)
    solids = found.firsts + found.seconds
    pairs = np.stack([np.arange(30), np.arange(30) + 30], axis=1)
    arrays = signed_gaps(solids, pairs)
    asked = []
    monkeypatch.setattr(gaps, "_COMPILED_FROM", 29)
    monkeypatch.setattr(
        compiled,
        "signed_gaps_compiled",
        lambda *given, **more: asked.append(given) or signed_gaps_compiled(*given, **more),
    )
    assert np.abs(signed_gaps(solids, pairs).gap - arrays.gap).max() < 1e-9
    assert len(asked) == 1


def test_a_point_does_not_lean_to_what_else_is_measured() -> None:
    """A pair answers the same alone as among solids with more faces and edges."""
    rng = np.random.default_rng(9)
    wedge = prism_to_planes([[0, 0], [400, 0], [400, 300], [0, 300]], 0, [200, 500, 500, 200])
    other = wedge.moved([120.0, 80.0, 60.0])
    ball = hull(rng.normal(size=(40, 3)) * 300.0)
    pair = np.array([[0, 1], [0, 2]])
    alone = signed_gaps([wedge, other], pair[:1])
    among = signed_gaps([wedge, other, ball], pair)
    assert np.abs(alone.at[0, 0] - among.at[0, 0]).max() < 1e-9


@pytest.mark.parametrize("apart", [1e-3, 0.5, 40.0, 5e3])
def test_a_proved_distance_is_the_exact_one(apart: float) -> None:
    """The search and the measuring face by face agree wherever the search claims anything."""
    rng = np.random.default_rng(17)
    zoo = shapes(rng, 10)
    proved = 0
    for _ in range(200):
        a, b = pair_apart(rng, zoo, apart)
        simplex, near = np.zeros((4, 6)), np.empty(9)
        distance = proved_distance(a.corners[0], b.corners[0], simplex, near)
        exact = signed_gaps([a, b], np.array([[0, 1]])).gap[0, 0]
        if distance > 0.0:
            proved += 1
            assert abs(distance - exact) < 1e-9
            assert np.abs(near[6:] - near[3:6] - near[:3]).max() < 1e-9
    assert proved >= (190 if apart >= 0.5 else 1)


def test_nothing_is_proved_of_what_overlaps() -> None:
    found = scattered_pairs(np.random.default_rng(23), 400)
    gap = signed_gaps(
        found.firsts + found.seconds, np.stack([np.arange(400), np.arange(400) + 400], axis=1)
    ).gap[0]
    for k in np.flatnonzero(gap <= 0.0).tolist():
        a, b = found.firsts[k].corners[0], found.seconds[k].corners[0]
        assert proved_distance(a, b, np.zeros((4, 6)), np.empty(9)) == -1.0
