"""The compiled loop answers as the array kernels do."""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.compiled import signed_gaps_compiled
from massing.geometry.gaps import signed_gaps
from massing.geometry.solids import Convex, prism
from tests.convex_pairs import flush_pairs, scattered_pairs


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
    arrays, compiled = signed_gaps(solids, pairs), signed_gaps_compiled(solids, pairs)
    assert (arrays.gap < -1e-6).any()
    assert (np.abs(arrays.gap) < 1e-9).any()
    assert np.abs(arrays.gap - compiled.gap).max() < 1e-9
    assert np.abs(arrays.normal - compiled.normal).max() < 1e-9
    assert np.abs(arrays.at - compiled.at).max() < 1e-6


@pytest.mark.parametrize("make", [scattered_pairs, flush_pairs])
def test_compiled_polyhedra_equal_arrays(make) -> None:
    found = make(np.random.default_rng(13), 1000)
    solids = found.firsts + found.seconds
    pairs = np.stack([np.arange(1000), np.arange(1000) + 1000], axis=1)
    arrays, compiled = signed_gaps(solids, pairs), signed_gaps_compiled(solids, pairs)
    assert np.abs(arrays.gap - compiled.gap).max() < 1e-8
    for answer in (arrays, compiled):
        pushed = [
            a.moved(v * g)
            for a, v, g in zip(found.firsts, answer.normal[0], answer.gap[0], strict=True)
        ]
        assert np.abs(signed_gaps(pushed + found.seconds, pairs).gap).max() < 1e-6
    alike = np.abs(arrays.normal - compiled.normal).max(axis=2)[0] < 1e-6
    assert alike.mean() > 0.99
    assert np.abs(arrays.at - compiled.at)[0, alike].max() < 1e-3
