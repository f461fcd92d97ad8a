"""Tests for the compiled loops of carrying: small lattices against plain searches and geometry."""

from __future__ import annotations

import heapq
import math
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest

from massing.geometry.carry.compiled import (
    CHANGE_COST,
    SHIFT_COST,
    SHIFT_I,
    SHIFT_J,
    START,
    TURN_COST,
    hint,
    search,
)
from massing.geometry.carry.flood import BEGUN, CLOSED, OTHER, bridge, flood, trail
from massing.geometry.carry.lattice import Lattice, _packs, fill_layers, lattice, make_table
from massing.geometry.carry.layers import Layer, layer
from massing.geometry.carry.moves import shift_is_free, turn_is_free
from massing.geometry.tolerance import TOUCH
from tests.geometry.carrying import PLANK, STONES, TRIANGLE, separation, turned


@pytest.mark.parametrize("foot", [TRIANGLE, PLANK])
def test_nodes_blocked(foot: np.ndarray) -> None:
    """Where the foot overlaps a stone by more than it may, along every edge's normal."""
    one = layer([foot], STONES)
    on = lattice((-250, -200, 900, 750), np.array([210.0, 140.0, 0.3]), 95.0, 6)
    table, angles = make_table([one], on)
    for deep in (TOUCH, 25.0):
        blocked = fill_layers(table, 1, angles.size, on, deep)[0]
        seen = 0
        for k in range(angles.size):
            for j in range(on.rows):
                for i in range(on.columns):
                    body = turned(foot, *on.place(k, j, i))
                    gap = min(separation(body, stone) for stone in STONES)
                    if abs(gap + deep) > 1e-6:
                        assert bool(blocked[k, j, i]) == (gap < -deep), (k, j, i, gap)
                        seen += int(blocked[k, j, i])
        assert 20 < seen < blocked.size / 2


@pytest.mark.parametrize("seed", range(6))
def test_least_cost_of_shifts(seed: int) -> None:
    """From every open place to the goal, by trying the nearest first."""
    rng = np.random.default_rng([41, seed])
    closed = (rng.random((9, 13)) < 0.35).astype(np.uint8)
    row, column = (int(v) for v in rng.integers(0, [9, 13]))
    closed[row, column] = 0
    least = np.full(closed.shape, -1)
    front = [(0, row, column)]
    while front:
        cost, j, i = heapq.heappop(front)
        if least[j, i] >= 0:
            continue
        least[j, i] = cost
        for dj in (-1, 0, 1):
            for di in (-1, 0, 1):
                jj, ii = j + dj, i + di
                if (dj or di) and 0 <= jj < 9 and 0 <= ii < 13 and not closed[jj, ii]:
                    heapq.heappush(front, (cost + (3 if dj and di else 2), jj, ii))

    assert hint(closed, row, column).tolist() == least.tolist()


@dataclass
class Plain:
    """The cheapest way over a lattice, every move tried against every obstacle."""

    layers: list[Layer]
    between: np.ndarray
    on: Lattice
    blocked: np.ndarray

    def open_(self, p: int, k: int, j: int, i: int) -> bool:
        """Whether a node is free."""
        inside = 0 <= j < self.on.rows and 0 <= i < self.on.columns
        return inside and not self.blocked[p, k % self.blocked.shape[1], j, i]

    def clear(self, node: tuple[int, int, int, int], m: int) -> bool:
        """Whether a shift or turn from a node touches nothing on its way."""
        p, k, j, i = node
        of, at = self.layers[p], self.on.place(k, j, i)
        for a, b in of.pairs:
            packs = of.feet, of.foot[a : a + 2], of.solids, of.solid[b : b + 2], at
            if m < 8:
                free = shift_is_free(*packs, *(self.on.grid[2] * w[m] for w in (SHIFT_I, SHIFT_J)))
            else:
                by = (1 if m == 8 else -1) * 2.0 * math.pi / self.on.turns
                free = turn_is_free(*packs, by, of.radius)
            if not free:
                return False
        return True

    def moves(self, node: tuple[int, int, int, int]) -> Iterator[tuple[int, tuple]]:
        """What each move from a node costs, and where it leads."""
        p, k, j, i = node
        for m in range(10):
            if m < 8:
                to = (p, k, j + int(SHIFT_J[m]), i + int(SHIFT_I[m]))
            else:
                to = (p, (k + (1 if m == 8 else -1)) % self.on.turns, j, i)
            if self.open_(*to) and self.clear(node, m):
                yield (int(SHIFT_COST[m]) if m < 8 else TURN_COST), to
        for one, two, by in self.between.tolist():
            to = (two if p == one else one, k, j, i)
            if p in {one, two} and (by < 0 or self.open_(by, k, j, i)) and self.open_(*to):
                yield CHANGE_COST, to

    def cost(self, begin: tuple[int, ...], end: tuple[int, ...]) -> int | None:
        """Of the cheapest way from one node to another, or None."""
        done: set[tuple[int, ...]] = set()
        front = [(0, begin)]
        while front:
            cost, node = heapq.heappop(front)
            if node == end:
                return cost
            if node not in done:
                done.add(node)
                for price, to in self.moves(node):
                    heapq.heappush(front, (cost + price, to))
        return None


def _scene(seed: int):
    """Seven thin stones between the nodes, two poses, a change of them, and two free nodes."""
    rng = np.random.default_rng([43, seed])
    stones = [
        turned(PLANK * [0.2, rng.uniform(0.4, 1)], *rng.uniform(0, [900, 600]), rng.uniform(0, 3))
        for _ in range(7)
    ]
    layers = [layer([TRIANGLE * 0.6], stones), layer([PLANK * 0.5], stones)]
    if seed % 2:
        layers.append(layer([TRIANGLE * 0.8], stones))  # where it may be changed
    between = np.array([[0, 1, 2 if seed % 2 else -1]])
    on = lattice((0, 0, 900, 600), np.array([90.0, 90.0, 0.0]), 150.0, 5)
    table, angles = make_table(layers, on)
    blocked = fill_layers(table, len(layers), angles.size, on)
    free = np.argwhere(blocked[:2] == 0)
    begin, end = (tuple(map(int, free[k])) for k in rng.integers(0, len(free), 2))
    return Plain(layers, between, on, blocked), table, begin, end


def test_ways_there_and_none_and_a_fault_is_seen() -> None:
    """Of the scenes below some have a way and some none; a stone forgotten makes one cheaper."""
    costs, without = [], []
    for seed in range(12):
        plain, _, begin, end = _scene(seed)
        costs.append(plain.cost(begin, end))
        plain.clear = lambda *_: True
        without.append(plain.cost(begin, end))

    assert None in costs
    assert sum(cost is not None for cost in costs) >= 4
    assert costs != without


@pytest.mark.parametrize("seed", range(12))
def test_the_way_found_is_a_cheapest(seed: int) -> None:
    """Of shifts, turns and changes of pose; and none is found where there is none."""
    plain, table, begin, end = _scene(seed)
    layers, on, blocked = plain.layers, plain.on, plain.blocked
    closed = np.bitwise_and.reduce(blocked[:2].reshape(-1, on.rows, on.columns), axis=0)
    left = hint(closed, *end[2:])
    came = np.zeros(2 * on.nodes, dtype=np.uint8)
    ends = np.array([on.number(*end)]), np.array([on.number(*begin)])
    sizes = np.array([2, on.turns, on.rows, on.columns])

    found = search(
        blocked, sizes, _packs(layers), table, plain.between, on.grid, ends, left, came, 1 << 15
    )

    must = plain.cost(begin, end)
    assert (found >= 0) == (must is not None)
    if must is None:
        return
    assert found == on.number(*end)
    p, k, j, i = end
    cost = 0
    while (code := int(came[on.number(p, k, j, i)])) != START:
        m = code - 1
        if m < 8:
            cost += int(SHIFT_COST[m])
            j, i = j - int(SHIFT_J[m]), i - int(SHIFT_I[m])
        elif m < 10:
            cost += TURN_COST
            k = (k - (1 if m == 8 else -1)) % on.turns
        else:
            cost += CHANGE_COST
            p = 1 - p
    assert (p, k, j, i) == begin
    assert cost == must


def _joined(free: np.ndarray, joins: np.ndarray, begin: tuple[int, ...]) -> dict:
    """Steps from a node to each that is joined to it, by going round by round."""
    far = {begin: 0}
    front = deque([begin])
    while front:
        node = front.popleft()
        for to in _beside(free.shape, joins, node):
            if free[to] and to not in far:
                far[to] = far[node] + 1
                front.append(to)
    return far


def _beside(shape, joins, node) -> list[tuple[int, ...]]:
    p, k, j, i = node
    found = [(p, (k + d) % shape[1], j, i) for d in (-1, 1)]
    found += [(p, k, j + a, i + b) for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    found += [(int(q), k, j, i) for q in joins[p] if q >= 0]
    return [n for n in found if 0 <= n[2] < shape[2] and 0 <= n[3] < shape[3]]


@pytest.mark.parametrize("seed", range(12))
def test_what_is_joined_to_what(seed: int) -> None:
    """Over shifts, turns round the circle and changes; the trail goes back step by step."""
    rng = np.random.default_rng([47, seed])
    shape = (3, 5, 6, 7)
    joins = np.array([[1, -1], [0, 2], [-1, 1]])
    free = rng.random(shape) < (0.35, 0.45, 0.6)[seed % 3]
    begin, end = (tuple(map(int, n)) for n in rng.permutation(np.argwhere(free))[:2])
    far = _joined(free, joins, begin)
    marks = np.where(free, 0, CLOSED).astype(np.uint8)
    stack = np.empty(marks.size, dtype=np.int64)
    numbers = [int(np.ravel_multi_index(n, shape)) for n in (begin, end)]

    assert flood(marks, joins, *numbers, stack) == (end in far)

    if end in far:
        nodes = trail(marks, joins, numbers[1])
        way = [tuple(map(int, np.unravel_index(n, shape))) for n in nodes]
        assert (way[0], way[-1]) == (end, begin)
        for one, two in pairwise(way):
            assert two in _beside(shape, joins, one)
            assert free[two]
    else:
        seen = {tuple(map(int, n)) for n in np.argwhere((marks > 0) & (marks != CLOSED))}
        assert seen == set(far)
    assert not flood(np.full(shape, CLOSED, dtype=np.uint8), joins, 0, 1, stack)


@pytest.mark.parametrize("seed", range(8))
def test_the_shortest_bridge(seed: int) -> None:
    """From what was reached to the other side, in as few steps as there are."""
    rng = np.random.default_rng([48, seed])
    shape, joins = (2, 4, 6, 7), np.array([[1], [0]])
    free = rng.random(shape) < 0.6
    nodes = [tuple(map(int, n)) for n in rng.permutation(np.argwhere(free))]
    begun, others = nodes[:2], nodes[-4:]
    marks = np.where(free, 0, CLOSED).astype(np.uint8)
    for node in begun:
        marks[node] = BEGUN
    for node in others:
        marks[node] = OTHER
    far = [_joined(free, joins, node) for node in begun]
    steps = [one[node] for one in far for node in others if node in one]

    end = bridge(marks, joins, np.empty(marks.size, dtype=np.int64))

    assert (end >= 0) == bool(steps)
    if steps:
        assert tuple(map(int, np.unravel_index(end, shape))) in others
        assert len(trail(marks, joins, end)) - 1 == min(steps)


def test_a_bridge_to_nothing() -> None:
    """Where all is free and there is no other side every node is tried, and none found."""
    marks = np.zeros((2, 3, 4, 5), dtype=np.uint8)
    marks[1, 2, 3, 4] = BEGUN

    assert bridge(marks, np.array([[1], [0]]), np.empty(marks.size, dtype=np.int64)) == -1
    assert (marks > 0).all()
    marks[:] = CLOSED
    marks[1, 1, 2, 2], marks[0, 0, 0, 1] = BEGUN, OTHER
    assert bridge(marks, np.array([[-1], [-1]]), np.empty(marks.size, dtype=np.int64)) == -1
