"""Tests for the compiled plan polygons: depths, shared areas and swept floor, against oracles."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon, box

from massing.arrange.plan_compiled import area_of, clipped, depth_in, sector_depth

TURNS = np.random.default_rng(11).uniform(0.0, 2 * np.pi, 60)


def _turned(wide, deep, x, y, turn):
    own = np.array([[0.0, 0.0], [wide, 0.0], [wide, deep], [0.0, deep]])
    c, s = np.cos(turn), np.sin(turn)
    return own @ np.array([[c, s], [-s, c]]) + (x, y)


def _random(rng):
    return _turned(*rng.uniform(50, 900, 2), *rng.uniform(-900, 900, 2), rng.choice(TURNS))


def test_squares_at_45_degrees():
    """Unit squares, centres 1.2 apart, one at 45 degrees: 0.0071068 is the shortest way out.

    Half a side and half a diagonal less 1.2: worked by hand.
    """
    one = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
    half = np.sqrt(0.5)
    two = np.array([[1.2 - half, 0.0], [1.2, -half], [1.2 + half, 0.0], [1.2, half]])

    assert depth_in(one, 4, two, 4) == pytest.approx(0.0071068, abs=1e-7)


@pytest.mark.parametrize("seed", range(40))
def test_shared_area(seed):
    """What two rectangles share is what a polygon library says."""
    rng = np.random.default_rng(seed)
    a, b = _random(rng), _random(rng)
    one, two = np.zeros((40, 2)), np.zeros((40, 2))

    n = clipped(a, 4, b, 4, one, two)

    shared = Polygon(a).intersection(Polygon(b)).area
    assert (area_of(one, n) if n >= 3 else 0.0) == pytest.approx(shared, abs=1e-6)
    assert (depth_in(a, 4, b, 4) > 1e-9) == (shared > 1e-9)


def _swept(leaf, steps=4000):
    """The floor a leaf sweeps as a many-cornered polygon, a hair inside the arc."""
    turn = leaf[4] * np.linspace(0.0, leaf[8], steps)
    start = np.arctan2(leaf[3], leaf[2])
    arc = leaf[:2] + leaf[5] * np.stack([np.cos(start + turn), np.sin(start + turn)], axis=1)
    return Polygon([leaf[:2], *arc])


def _leaf(rng):
    start = rng.choice(TURNS)
    angle = rng.choice([np.pi / 2, 1.2, np.pi / 3])
    swing = rng.choice([-1.0, 1.0])
    ends = [np.cos(start), np.sin(start), swing, 762.0, 0.0, 2000.0, angle, 0.0]
    return np.array([*rng.uniform(-200, 200, 2), *ends])


@pytest.mark.parametrize("seed", range(60))
def test_depth_in_a_swept_sector(seed):
    """A rectangle meets a leaf's sweep where the drawn sweep says, and as deep from its arc."""
    rng = np.random.default_rng(seed)
    leaf, ring = _leaf(rng), _random(rng)
    one, two = np.zeros((40, 2)), np.zeros((40, 2))

    depth = sector_depth(ring, 4, leaf, one, two)

    shared = _swept(leaf).intersection(Polygon(ring))
    if shared.area < 50.0:
        assert depth < 5.0 or shared.area > 0.0
    else:
        deepest = 762.0 - shared.distance(Point(leaf[:2]))
        assert depth == pytest.approx(deepest, abs=0.1)


def test_the_test_would_notice():
    """A leaf that swings the other way meets another depth."""
    leaf = np.array([0.0, 0.0, 1.0, 0.0, 1.0, 762.0, 0.0, 2000.0, np.pi / 2, 0.0])
    ring = np.array(box(300, 300, 600, 600).exterior.coords)[:4][::-1].copy()
    ring = ring if Polygon(ring).exterior.is_ccw else ring[::-1].copy()
    one, two = np.zeros((40, 2)), np.zeros((40, 2))

    assert sector_depth(ring, 4, leaf, one, two) == pytest.approx(762 - 300 * np.sqrt(2))
    leaf[4] = -1.0
    assert sector_depth(ring, 4, leaf, one, two) == 0.0
