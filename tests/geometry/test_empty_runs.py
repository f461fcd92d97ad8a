"""Tests for massing.geometry.space.empty_runs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.solids import prism
from massing.geometry.space.empty_boxes import CeilingCell
from massing.geometry.space.empty_runs import (
    free_stretches,
    largest_front,
    longest_run,
    shelf_section,
    wedge_section,
)
from tests.oracles_voids import overlap_volume
from tests.scenes_voids import pitched, rect, tent_scene, turned_body


class TestRuns:
    """Runs along a wall line."""

    EAVES = (CeilingCell(rect(0, 0, 4000, 3000), 0.0, np.array([0.0, 1.0, 0.0])),)

    def test_wedge_under_the_eaves(self) -> None:
        """A wedge that fills the angle runs the whole wall; one 1 mm too tall fits nowhere."""
        wall = rect(0, 0, 4000, 3000)[:2]
        snug = wedge_section(800, 0, 0, 800)
        assert longest_run(self.EAVES, [], wall, snug) == pytest.approx((0, 4000))
        assert longest_run(self.EAVES, [], wall, wedge_section(800, 0, 0, 801)) is None
        pipe = prism([[2500, 50], [2600, 50], [2600, 90], [2500, 90]], 0, 30)
        assert longest_run(self.EAVES, [pipe], wall, snug) == pytest.approx((0, 2500))
        over = prism([[2500, 50], [2600, 50], [2600, 90], [2500, 90]], 90, 200)
        assert longest_run(self.EAVES, [over], wall, snug) == pytest.approx((0, 4000))

    def test_a_yawed_body_blocks_what_it_enters(self) -> None:
        """A diamond reaching 100 mm into a 600 mm shelf blocks 200 mm of it, and no more."""
        room = pitched(np.array([4000.0, 3000.0]), 0.0, 2400.0)
        diamond = prism([[2000, 500], [2500, 1000], [2000, 1500], [1500, 1000]], 0, 1000)
        wall = rect(0, 0, 4000, 3000)[:2]
        free = free_stretches(room, [diamond], wall, shelf_section(600, 300, 700))
        assert free == pytest.approx(np.array([[0, 1900], [2100, 4000]]), abs=1e-5)
        touching = free_stretches(room, [diamond], wall, shelf_section(500, 300, 700))
        assert touching.tolist() == [[0, 4000]]

    @settings(deadline=None, max_examples=30)
    @given(st.integers(0, 10_000))
    def test_stretches_are_free_and_cannot_grow(self, seed: int) -> None:
        """By mesh booleans: free inside each stretch, not free a millimetre past its ends."""
        room, ceiling, solids = tent_scene(seed)
        wall, depth, low, high = np.array([[3000.0, 300], [0.0, 300]]), 250.0, 200.0, 500.0

        def blocked(s0: float, s1: float) -> bool:
            one = np.array([3000 - s1, 300 - depth, low, 3000 - s0, 300, high])
            over = np.array([(x, y, 1.0) for x in one[[0, 3]] for y in one[[1, 4]]])
            outside = s0 < -1e-6 or s1 > 3000 + 1e-6 or high > (over @ ceiling.T).min() + 1e-6
            return outside or any(overlap_volume(one, solid) > 1e-3 for solid in solids)

        free = free_stretches(room, solids, wall, shelf_section(depth, low, high))
        for start, stop in free:
            assert not blocked(start, stop)
            assert blocked(start - 1, start + 1e-3)
            assert blocked(stop - 1e-3, stop + 1)

    def test_largest_front_beats_every_fixed_height(self) -> None:
        """Along a slanted wall: no shelf of a fixed base and height has a larger front."""
        room = pitched(np.array([4000.0, 3000.0]), 0.0, 2400.0)
        line = np.array([[500.0, 200.0], [3700.0, 1400.0]])
        rng = np.random.default_rng(4)
        solids = [turned_body(rng) for _ in range(8)]
        found = largest_front(room, solids, line, 400.0)
        start, _, low, stop, _, high = found.boxes[0]
        front = (stop - start) * (high - low)
        run = longest_run(room, solids, line, shelf_section(400, low, high))
        assert run == pytest.approx((start, stop), abs=1e-3)
        best = 0.0
        for base in np.arange(0, 2400, 200.0):
            for top in np.arange(base + 200, 2401, 200.0):
                run = longest_run(room, solids, line, shelf_section(400, base, top))
                best = max(best, (run[1] - run[0]) * (top - base) if run else 0.0)
        assert 0.8 * front < best <= front * (1 + 1e-6)

    def test_refusals(self) -> None:
        """A line without length and a cross-section the wrong way round."""
        with pytest.raises(GeometryError, match="length"):
            free_stretches(self.EAVES, [], np.zeros((2, 2)), shelf_section(400, 0, 100))
        with pytest.raises(GeometryError, match="area"):
            free_stretches(self.EAVES, [], rect(0, 0, 1, 1)[:2], shelf_section(400, 100, 0))
