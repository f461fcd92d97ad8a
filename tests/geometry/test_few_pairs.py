"""The compiled kernels on a few pairs at a time, each kind by itself: as the array kernels say.

Few enough to be run uncompiled too, where every line of a kernel can be seen.
"""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.gaps.compiled import signed_gaps_compiled
from massing.geometry.gaps.gjk_compiled import proved_distance
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex, box, hull, prism
from tests.convex_pairs import flush_pairs, pair_apart, rotation, scattered_pairs, shapes, turned


def _same(firsts: list[Convex], seconds: list[Convex]) -> None:
    """The gap to a hair, and where the gap is not nearly nothing its direction and place too."""
    count = len(firsts)
    pairs = np.stack([np.arange(count), np.arange(count) + count], axis=1)
    one = signed_gaps(firsts + seconds, pairs)
    two = signed_gaps_compiled(firsts + seconds, pairs)
    assert np.abs(one.gap - two.gap).max() < 1e-8
    assert np.abs(np.linalg.norm(two.normal, axis=2) - 1.0).max() < 1e-9
    pushed = [
        a.moved(way * gap) for a, way, gap in zip(firsts, two.normal[0], two.gap[0], strict=True)
    ]
    assert np.abs(signed_gaps(pushed + seconds, pairs).gap).max() < 1e-6
    alike = np.abs(one.normal - two.normal).max(axis=2)[0] < 1e-6
    assert alike.sum() >= count - 1
    assert np.abs(one.at - two.at)[0, alike].max() < 1e-3


@pytest.mark.parametrize("make", [scattered_pairs, flush_pairs])
@pytest.mark.parametrize("seed", range(6))
def test_a_few_of_all_kinds(make, seed) -> None:
    found = make(np.random.default_rng([71, seed]), 8)

    _same(found.firsts, found.seconds)


@pytest.mark.parametrize("seed", range(4))
def test_a_few_tetrahedra(seed) -> None:
    """Few faces, so that edges and corners decide as often as faces do."""
    rng = np.random.default_rng([72, seed])
    firsts, seconds = [], []
    for _ in range(12):
        firsts.append(hull(rng.normal(size=(4, 3)) * 200.0))
        seconds.append(hull(rng.normal(size=(4, 3)) * 200.0 + rng.normal(size=3) * 260.0))

    _same(firsts, seconds)


@pytest.mark.parametrize("seed", range(3))
def test_a_few_upright_prisms(seed) -> None:
    """Prisms beside, over and in each other, corner to side, in plan and in height."""
    rng = np.random.default_rng([73, seed])
    firsts, seconds = [], []
    for _ in range(16):
        for group in (firsts, seconds):
            angles = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 8)))
            if np.diff(angles, append=angles[0] + 2 * np.pi).max() > np.pi - 0.1:
                angles = np.arange(4) * np.pi / 2 + rng.uniform(0, 2)
            ring = np.stack([np.cos(angles), np.sin(angles)], axis=1) * rng.uniform(80, 300)
            low = rng.uniform(-300, 300)
            shape = prism(ring + rng.normal(size=2) * 250.0, low, low + rng.uniform(50, 400))
            group.append(shape)

    _same(firsts, seconds)


@pytest.mark.parametrize("sides", [4, 6])
def test_upright_things_nearest_at_a_corner(sides: int) -> None:
    """Of 0.3, 0.4 and 1.2 apart the root of the squares, however near and whatever they are."""
    ring = [[0, 0], [50, 0], [50, 60], [0, 60]]
    ring = ring if sides == 4 else [[0, 0], [50, 0], [50, 60], [20, 60], [0, 40], [0, 20]]
    one = prism(ring, 0, 40)
    for scale in (1.0, 10.0, 1000.0):
        for off, gap, way in (
            ((0.3, 0.4, -5), 0.5, (0.6, 0.8, 0.0)),
            ((0.3, -5, 0.4), 0.5, (0.6, 0.0, 0.8)),
            ((0.5, 1.2, -5), 1.3, (5 / 13, 12 / 13, 0.0)),
            ((0.3, 0.4, 1.2), 1.3, (3 / 13, 4 / 13, 12 / 13)),
        ):
            more = np.where(np.array(off) > 0.0, np.array(off) * scale, off)
            low = np.array([50.0, 60.0, 40.0]) + more
            other = prism(np.array([[0, 0], [9, 0], [9, 9], [0, 9]]) + low[:2], low[2], low[2] + 9)
            told = signed_gaps_compiled([one, other], np.array([[0, 1], [1, 0]]))
            assert told.gap[0] == pytest.approx([gap * scale] * 2, rel=1e-9)
            assert told.normal[0, 0] == pytest.approx(way, abs=1e-9)
            assert told.normal[0, 1] == pytest.approx([-w for w in way], abs=1e-9)


def test_ways_out_alike() -> None:
    """In the very middle of a cube all six ways are as long: which is told is as the arrays say."""
    for size in (20.0, 40.0):
        half = np.array([size, 20.0, 20.0])
        cubes = [box([-50] * 3, [50] * 3), box(-half, half), box([-50, -50, 0], [50, 50, 100])]
        _same([cubes[0], cubes[1], cubes[1]], [cubes[1], cubes[0], cubes[2]])
        pair = np.array([[0, 1], [1, 0]])
        one, two = signed_gaps(cubes, pair), signed_gaps_compiled(cubes, pair)
        assert one.normal.tolist() == two.normal.tolist()


def test_bars_across_each_other() -> None:
    """Two long bars a stated distance apart, nearest along an edge of each: closed forms."""
    bar = box([-500, -10, -10], [500, 10, 10])
    on_edge = turned(bar, _about_x(np.pi / 4), np.zeros(3))
    half = 10.0 * np.sqrt(2.0)
    for gap in (-3.0, 0.5, 7.0, 400.0):
        for turn in (np.pi / 2, 0.7):
            other = turned(on_edge, _about_z(turn), np.array([20.0, -35.0, 2 * half + gap]))
            told = signed_gaps_compiled([on_edge, other], np.array([[0, 1], [1, 0]]))
            assert told.gap[0] == pytest.approx([gap, gap], abs=1e-9)
            assert told.normal[0, 0] == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)
            assert told.normal[0, 1] == pytest.approx([0.0, 0.0, -1.0], abs=1e-9)
            if gap > 0.0:
                # where the edges cross in plan: y = 0 is the one, the other goes through 20, -35
                at = [20.0 + 35.0 / np.tan(turn), 0.0, half + gap / 2]
                assert told.at[0, 0] == pytest.approx(at, abs=1e-6)


@pytest.mark.parametrize("apart", [0.5, 40.0, 3e3])
@pytest.mark.parametrize("seed", range(3))
def test_a_few_proved_distances(apart, seed) -> None:
    """What is proved is exact, and the points told are in the solids and so far apart."""
    rng = np.random.default_rng([74, seed])
    zoo = shapes(rng, 3)
    for _ in range(12):
        a, b = pair_apart(rng, zoo, apart)
        simplex, near = np.zeros((4, 6)), np.empty(9)
        distance = proved_distance(a.corners[0], b.corners[0], simplex, near)
        told = signed_gaps([a, b], np.array([[0, 1]]))
        assert distance == pytest.approx(told.gap[0, 0], abs=1e-9)
        assert near[:3] / distance == pytest.approx(told.normal[0, 0], abs=1e-6)
        assert near[6:] - near[3:6] == pytest.approx(near[:3], abs=1e-9)
        for point, solid in ((near[3:6], a), (near[6:], b)):
            spot = hull(point + np.array([[0, 0, 0], [1e-6, 0, 0], [0, 1e-6, 0], [0, 0, 1e-6]]))
            assert abs(signed_gaps([solid, spot], np.array([[0, 1]])).gap[0, 0]) < 1e-4


def test_nothing_is_proved_of_a_few_that_overlap() -> None:
    found = scattered_pairs(np.random.default_rng(75), 16)
    pairs = np.stack([np.arange(16), np.arange(16) + 16], axis=1)
    gap = signed_gaps(found.firsts + found.seconds, pairs).gap[0]
    overlap = np.flatnonzero(gap <= 0.0).tolist()
    assert len(overlap) >= 4
    for k in overlap:
        a, b = found.firsts[k].corners[0], found.seconds[k].corners[0]
        assert proved_distance(a, b, np.zeros((4, 6)), np.empty(9)) == -1.0


@pytest.mark.parametrize("seed", range(3))
def test_what_is_proved_of_the_small_is_proved_of_the_large(seed: int) -> None:
    """Everything a hundred times smaller is a hundred times nearer."""
    rng = np.random.default_rng([76, seed])
    zoo = [hull(rng.normal(size=(n, 3)) * 150.0) for n in (4, 4, 5, 6)]
    proved = 0
    for _ in range(14):
        a, b = (zoo[k].corners[0] for k in rng.integers(0, 4, 2))
        a, b = a @ rotation(rng), b @ rotation(rng) + rng.normal(size=3) * 400.0
        large, small = (
            proved_distance(a * size, b * size, np.zeros((4, 6)), np.empty(9))
            for size in (1.0, 0.01)
        )
        if large > 0.0 and small > 0.0:
            proved += 1
            assert small * 100.0 == pytest.approx(large, rel=1e-7)
    assert proved >= 7


def _about_x(t: float) -> np.ndarray:
    return np.array([[1, 0, 0], [0, np.cos(t), -np.sin(t)], [0, np.sin(t), np.cos(t)]])


def _about_z(t: float) -> np.ndarray:
    return np.array([[np.cos(t), -np.sin(t), 0], [np.sin(t), np.cos(t), 0], [0, 0, 1.0]])
