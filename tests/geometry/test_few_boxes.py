"""The search for empty boxes in rooms so small that it may be run uncompiled: exact answers."""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.solids import prism
from massing.geometry.space.empty_boxes import CeilingCell, Wanted, largest_empty_boxes
from massing.geometry.space.empty_boxes_compiled import Pool, _claim, _pop, _push, _release
from tests.oracles_voids import largest_by_every_side
from tests.scenes_voids import pitched, rect, small_room


@pytest.mark.parametrize("seed", range(300, 316))
def test_small_rooms_one_after_another(seed: int) -> None:
    """Against every pair of sides, and each next box with those before it in the way."""
    size, slope, eaves, obstacles = small_room(seed)

    found = largest_empty_boxes(pitched(size, slope, eaves), obstacles, count=3)

    assert found.proved.all()
    for k in range(len(found.volumes)):
        before = np.concatenate([obstacles.reshape(-1, 6), found.boxes[:k]])
        want = largest_by_every_side(size, slope, eaves, before)
        assert found.volumes[k] == pytest.approx(want, rel=1e-9, abs=1e-2)


def _by_every_pair(size, high, obstacles, smallest, *, turnable: bool) -> float:
    """Largest empty volume under a flat ceiling of boxes large enough, one way or the other."""
    room = np.array([*size, high])
    sides = []
    for k in range(3):
        stops = np.unique(
            np.clip([0.0, room[k], *obstacles[:, k], *obstacles[:, 3 + k]], 0, room[k])
        )
        low, high_ = (stops[i] for i in np.triu_indices(len(stops), 1))
        sides.append(np.stack([low, high_], axis=1))
    x, y, z = np.meshgrid(*(np.arange(len(side)) for side in sides), indexing="ij")
    picked = [sides[k][which.ravel()] for k, which in enumerate((x, y, z))]
    boxes = np.stack([p[:, 0] for p in picked] + [p[:, 1] for p in picked], axis=1)
    wide = boxes[:, 3:] - boxes[:, :3]
    asked = [np.array(smallest)] + [np.array(smallest)[[1, 0, 2]]] * turnable
    keep = np.any([(wide >= one).all(axis=1) for one in asked], axis=0)
    for o in obstacles:
        keep &= ~((boxes[:, :3] < o[3:] - 1e-6) & (boxes[:, 3:] > o[:3] + 1e-6)).all(axis=1)
    return float(wide[keep].prod(axis=1).max(initial=0.0))


@pytest.mark.parametrize("turnable", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_large_enough_one_way_or_the_other(seed: int, turnable: bool) -> None:
    """Against every pair of stops, for what is to be long and narrow."""
    rng = np.random.default_rng([97, seed])
    size, high = rng.uniform(1500, 3000, 2), 2000.0
    low = rng.uniform(0, 0.8, (4, 3)) * (*size, high)
    obstacles = np.concatenate([low, low + rng.uniform(200, 900, (4, 3))], axis=1)
    obstacles = np.minimum(obstacles, np.tile([*size, high], 2))
    smallest = (float(rng.uniform(900, 1500)), float(rng.uniform(300, 900)), 400.0)

    wish = Wanted(smallest=smallest, turnable=turnable)
    found = largest_empty_boxes(pitched(size, 0.0, high), obstacles, wanted=wish)

    want = _by_every_pair(size, high, obstacles, smallest, turnable=turnable)
    assert len(found.boxes) == int(want > 0.0)
    assert float(found.volumes.sum()) == pytest.approx(want, rel=1e-9, abs=1e-2)
    assert found.proved.all()


@pytest.mark.parametrize("turn", [0.0, 20.0, 45.0, 70.0, 135.0])
def test_beside_a_turned_post(turn: float) -> None:
    """A square post in the middle of a square room: from a corner x wide, as deep as there is.

    Turned by t, a post of half side h reaches h (cos t + sin t) along the axes. What is wider
    than up to there is as deep as up to its side, which a box may pass by at a slant.
    """
    half, side, high = 300.0, 3000.0, 2000.0
    t = np.radians(turn)
    c, s = np.cos(t), np.sin(t)
    ring = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) @ np.array([[c, s], [-s, c]])
    post = prism(ring * half + side / 2, 0, high)
    c, s = abs(c), abs(s)
    near = side / 2 - half * (c + s)
    x = np.linspace(0.0, side, 300001)
    depths = [np.where(x <= near, side, near)]
    for a, b in ((c, s), (s, c)):
        if b > 1e-9:
            depths.append(np.clip((side / 2 * (a + b) - half - a * x) / b, 0.0, side))
    most = float((x * np.max(depths, axis=0)).max())

    room = [CeilingCell(rect(0, 0, side, side), 0.0, np.array([0.0, 0.0, high]))]
    found = largest_empty_boxes(room, None, [post])

    assert found.proved.all()
    assert found.volumes[0] == pytest.approx(most * high, rel=1e-5)


def test_a_heap_gives_the_largest_first() -> None:
    """Of equals the newest; what is given back is used again before what is fresh."""
    rng = np.random.default_rng(8)
    count = 200
    pool = Pool(
        np.zeros((count, 12)), np.zeros((count, 6)), np.zeros(count),
        np.zeros(count, dtype=np.int64), np.zeros((count, 3), dtype=np.int64),
        np.zeros(count, dtype=np.int64), np.zeros((4, 2), dtype=np.int64),
        np.zeros(7, dtype=np.int64),
    )  # fmt: skip
    waiting: list[tuple[float, int, int]] = []
    for turn in range(600):
        if waiting and (rng.random() < 0.45 or len(waiting) > 150):
            best = max(waiting)
            waiting.remove(best)
            node = _pop(pool)
            assert (pool.key[node], node) == (best[0], best[2])
            _release(pool, node)
        else:
            node = _claim(pool)
            assert node not in {held for _, _, held in waiting}
            pool.key[node] = float(rng.integers(0, 12))
            _push(pool, node)
            waiting.append((pool.key[node], turn, node))
    assert pool.state[2] == len(waiting)
    assert pool.state[3] <= 151
