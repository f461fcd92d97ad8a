"""Tests for single moves of an outline in plan: against hulls, distances and many moments."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiPoint, Point, Polygon

from massing.geometry.carry.layers import layer
from massing.geometry.carry.moves import (
    _nearest,
    apart,
    link_is_free,
    link_nearest,
    placed,
    shift_is_free,
)
from massing.geometry.tolerance import TOUCH
from tests.geometry.carrying import PLANK, STONES, TRIANGLE, separation, turned


@pytest.mark.parametrize("seed", range(30))
def test_a_shift_past_a_stone(seed: int) -> None:
    """What a shifted outline sweeps is a hull; how far that is off, and where it is nearest."""
    rng = np.random.default_rng([53, seed])
    of = layer([TRIANGLE], [PLANK])
    t = float(rng.uniform(0, 6))
    way = rng.normal(size=2) * rng.choice([0.0, 0.4, 200.0])
    at = np.array([*rng.normal(size=2) * 330.0, t])
    body, stone = placed(of.feet[:, :2], of.feet[:, 2:], 0, 3, at), of.solids
    swept = MultiPoint([*map(tuple, body[:, :2]), *map(tuple, body[:, :2] + way)]).convex_hull
    assert body[:, :2] == pytest.approx(turned(TRIANGLE, *at), abs=1e-9)

    gap = apart(body, stone, *way)
    best = np.array([1e9, 0.0, 0.0])
    found = _nearest(body, stone, *way, best)

    far = swept.distance(Polygon(PLANK))
    ring = np.array(swept.exterior.coords)[:-1]
    ring = ring if swept.exterior.is_ccw else ring[::-1]
    assert gap == pytest.approx(separation(ring, PLANK), abs=1e-6)
    assert found
    if far > 0.0:
        assert best[0] == pytest.approx(far, abs=1e-9)
        spot = Point(best[1:3])
        assert spot.distance(swept) == pytest.approx(far / 2, abs=1e-9)
        assert spot.distance(Polygon(PLANK)) == pytest.approx(far / 2, abs=1e-9)
    else:
        assert best[0] == pytest.approx(gap)
    assert not _nearest(body, stone, *way, best)
    assert (gap >= -TOUCH) == shift_is_free(of.feet, of.foot, of.solids, of.solid, at, *way)


@pytest.mark.parametrize("seed", range(10))
def test_a_shift_then_a_turn(seed: int) -> None:
    """Free, and as near as it comes, against looking at four hundred moments of it."""
    rng = np.random.default_rng([59, seed])
    of = layer([TRIANGLE, PLANK * 0.7], STONES)
    at = np.array([*rng.uniform(-300, 700, 2), rng.uniform(0, 6)])
    by = np.array([*rng.normal(size=2) * 90.0, rng.uniform(0.2, 0.9) * rng.choice([-1, 1])])
    if seed == 0:
        at, by = np.array([430.0, -110.0, 0.0]), np.array([0.0, -20.0, 0.8])
    moments = [at + by * (share, share, 0.0) for share in np.linspace(0, 1, 200)]
    moments += [at + by * (1.0, 1.0, share) for share in np.linspace(0, 1, 200)]
    gap = min(
        separation(turned(ring, *moment), stone)
        for moment in moments
        for ring in (TRIANGLE, PLANK * 0.7)
        for stone in STONES
    )
    best = np.array([1e9, 0.0, 0.0, -1.0])

    link_nearest(of.feet, of.foot, of.solids, of.solid, at, by, of.radius, best)

    if gap > 0.5:  # the largest separation never exceeds the distance
        far = min(
            Polygon(turned(ring, *moment)).distance(Polygon(stone))
            for moment in moments
            for ring in (TRIANGLE, PLANK * 0.7)
            for stone in STONES
        )
        assert far - 1.2 <= best[0] <= far + 0.011
        near = Point(best[1:3]).distance(Polygon(STONES[int(of.owner[int(best[3])])]))
        assert near == pytest.approx(best[0] / 2, abs=1e-6)
    else:
        assert best[0] < 1.2
    if abs(gap + TOUCH) > 1.0:
        free = link_is_free(of.feet, of.foot, of.solids, of.solid, at, by, of.radius)
        assert free == (gap > -TOUCH)


def test_only_the_turn_is_in_the_way() -> None:
    """Shifted by nothing and turned on the spot: a plank meets what stands beside its end."""
    plank = np.array([[-300.0, -20.0], [300.0, -20.0], [300.0, 20.0], [-300.0, 20.0]])
    post = np.array([[200.0, 60.0], [230.0, 60.0], [230.0, 90.0], [200.0, 90.0]])
    of = layer([plank], [post])
    packs = of.feet, of.foot, of.solids, of.solid, np.zeros(3)

    for turn, free in ((0.1, True), (0.5, False), (-0.5, True), (1.5, False), (0.0, True)):
        assert link_is_free(*packs, np.array([0.0, 0.0, turn]), of.radius) == free
    # out of its way first, the whole turn is free, and not by half of that
    for up, free in ((-400.0, True), (-100.0, False)):
        assert link_is_free(*packs, np.array([0.0, up, 1.5]), of.radius) == free
