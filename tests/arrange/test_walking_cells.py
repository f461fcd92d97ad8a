"""Tests for the raster of the floor people walk on: cells and bits against plain geometry."""

from __future__ import annotations

import math
from collections import deque

import numpy as np
import pytest
from shapely import Point, Polygon, box

from massing.arrange.arrays import new_moving
from massing.arrange.model import compile_scheme
from tests.arrange.rooms import DOOR, project

ITEMS = {"bench": "body: 1400 x 600 x 900, zone: {front: 700}", "box": "body: 700 x 300 x 900"}
SIZES = ["3000 x 2400", "2400 x 3000"]  # rows run along the longer side


class Floor:
    """A room's raster, and where the middle of each of its cells lies."""

    def __init__(self, size: str) -> None:
        placed = [f"item: {name}, at: [900, 900]" for name in ITEMS]
        self.model = compile_scheme(project(ITEMS, placed, size=size, doors=DOOR), "as found")
        self.fixed = self.model.fixed[0]
        self.record = new_moving(self.model.pose, self.model.on, self.model.yaw)
        self.moving = self.record[0]
        self.rows = int(self.model.fixed["walk_rows"][0])
        x, y, self.cell = self.model.fixed["walk_at"][0]
        self.columns = math.ceil(2400 / self.cell)
        along = self.cell * (np.arange(self.rows) + 0.5)
        across = self.cell * (np.arange(self.columns) + 0.5)
        one, two = np.meshgrid(along, across, indexing="ij")
        both = [one, two] if size == SIZES[0] else [two, one]
        self.middles = np.stack(both, axis=-1) + np.array([x, y])

    def bits(self, rows) -> np.ndarray:
        """Rows of bits as (rows, columns) of true and false."""
        return np.array(
            [[int(row) >> c & 1 for c in range(self.columns)] for row in rows[: self.rows]]
        ).astype(bool)


def _rows(cells: np.ndarray) -> np.ndarray:
    return np.array(
        [sum(1 << int(c) for c in np.flatnonzero(row)) for row in cells], dtype=np.uint64
    )


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 14.0, 45.0, 77.0, 120.0, 205.0, 333.0])
def test_cells_too_near_a_body(size, turn):
    """Those whose middle lies nearer to it than half the width, in all of its three widths."""
    from massing.arrange.place_compiled import place_unit
    from massing.arrange.walking_compiled import _draw

    floor = Floor(size)
    t = math.radians(turn)
    for x, y in ((1300.0, 1100.0), (80.0, 2000.0), (2250.0, 300.0)):
        floor.record["pose"][0][1, :4] = x, y, math.cos(t), math.sin(t)
        place_unit(floor.fixed, floor.moving, 1)
        body = Polygon(floor.record["box_xy"][0][1])
        assert body.area == pytest.approx(700 * 300)
        far = np.array([[body.distance(Point(p)) for p in row] for row in floor.middles])
        for level, radius in enumerate((375.0, 300.0, 225.0)):
            _draw(floor.fixed, floor.moving, 1, level)
            taken = floor.bits(floor.record["taken"][0][1, level])
            assert (taken == (far < radius))[np.abs(far - radius) > 1e-3].all()
            first, last = floor.record["taken_in"][0][1, level]
            held = np.flatnonzero((far < radius - 1e-3).any(axis=1))
            assert first <= held.min()
            assert held.max() <= last
            assert floor.record["drawn"][0][1, level] == 1


def test_what_is_over_or_under_takes_nothing():
    """Lower than a step, over the head or passed through: nobody walks round it."""
    from massing.arrange.walking_compiled import _draw

    for words, takes in (
        ("body: 700 x 300 x 150", False),
        ("body: 700 x 300 x 151", True),
        ("body: 700 x 300 x 900, passable: true", False),
        ("body: 700 x 300 x 300, mount: wall", True),
    ):
        items = {"bench": ITEMS["bench"], "box": words}
        hung = "against: north, along: 900, height: 1899" if "wall" in words else "at: [900, 900]"
        placed = ["item: bench, at: [900, 900]", f"item: box, {hung}"]
        model = compile_scheme(project(items, placed, doors=DOOR), "as found")
        for up, still in ((0.0, takes), (1.0, takes and "wall" not in words)):
            pose = model.pose.copy()
            pose[1, 4] += up
            record = new_moving(pose, model.on, model.yaw)
            from massing.arrange.place_compiled import place_unit

            place_unit(model.fixed[0], record[0], 1)
            _draw(model.fixed[0], record[0], 1, 0)
            assert bool(record["taken"][0][1, 0].any()) == still, (words, up)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("share", [0.55, 0.7, 0.9])
def test_what_is_reached_from_the_doors(seed, share):
    """Cells joined by their sides to where the doors are, by trying one after another."""
    from massing.arrange.walking_compiled import _flood

    floor = Floor(SIZES[seed % 2])
    rng = np.random.default_rng([91, seed])
    begun = floor.bits(floor.model.fixed["walk_from"][0][1])
    free = (rng.random(begun.shape) < share) | begun
    floor.record["open_cells"][0][: floor.rows] = _rows(free)

    _flood(floor.fixed, floor.moving, 1)

    seen = begun & free
    front = deque(map(tuple, np.argwhere(seen)))
    while front:
        r, c = front.popleft()
        for i, j in ((r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1)):
            inside = 0 <= i < free.shape[0] and 0 <= j < free.shape[1]
            if inside and free[i, j] and not seen[i, j]:
                seen[i, j] = True
                front.append((i, j))
    assert seen.any()
    assert (floor.bits(floor.record["reached"][0]) == seen).all()


@pytest.mark.parametrize("size", SIZES)
def test_who_gets_to_a_zone(size):
    """A zone is come to where some reached cell's middle lies within so much of it."""
    from massing.arrange.walking_compiled import _touched

    floor = Floor(size)
    rng = np.random.default_rng(92)
    said = []
    for _ in range(150):
        low = rng.uniform(0, 2200, 2)
        high = low + rng.uniform(50, 500, 2)
        reach = float(rng.choice([225.0, 300.0, 375.0]))
        reached = np.zeros((floor.rows, floor.columns), dtype=bool)
        near = rng.integers(0, [floor.rows, floor.columns], (4, 2))
        reached[near[:, 0], near[:, 1]] = True
        floor.record["reached"][0][: floor.rows] = _rows(reached)
        zone = box(*low, *high)
        far = min(zone.distance(Point(p)) for p in floor.middles[reached])
        bounds = np.array([*low, 0.0, *high, 2000.0])
        touched = bool(_touched(floor.fixed, floor.moving, bounds, reach))
        if abs(far - reach) > 1e-6:
            assert touched == (far < reach)
        said.append(touched)
    assert 20 < sum(said) < 130


def test_bits_from_one_to_another():
    """Both ends are in; none where the last is before the first."""
    from massing.arrange.walking_compiled import _run

    for first in (0, 1, 31, 62, 63):
        for last in (0, 1, 30, 62, 63):
            assert int(_run(first, last)) == sum(1 << k for k in range(first, last + 1))
