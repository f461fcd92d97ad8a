"""Carry search on one lattice of places and turns: packed layers in, a chain of places out.

The lattice is laid so that the goal is exactly one of its nodes: things usually end flush in a
corner, where there is no room to be half a step out. The start is joined to the nodes round it by
a clear shift and a clear turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.geometry.carry.layers import Layer, Slope, joined
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import TOUCH

__all__ = [
    "Lattice",
    "Table",
    "fill_layers",
    "lattice",
    "make_table",
    "search_lattice",
]

Table: TypeAlias = tuple[Floats, Floats, Ints, Ints, Ints]


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """Places and turns to try.

    grid : x and y of node 0, 0, the step (mm) and the first turn (radians)
    turns, rows, columns : counts; turns go once round
    """

    grid: Floats
    turns: int
    rows: int
    columns: int

    @property
    def nodes(self) -> int:
        """Nodes of one pose."""
        return self.turns * self.rows * self.columns

    def number(self, pose: int, k: int, j: int, i: int) -> int:
        """Number of a node; turns wrap round."""
        return ((pose * self.turns + k % self.turns) * self.rows + j) * self.columns + i

    def place(self, k: int, j: int, i: int) -> Floats:
        """x, y and turn of a node; turns do not wrap."""
        x, y, step, first = self.grid
        return np.array([x + step * i, y + step * j, first + 2.0 * math.pi / self.turns * k])


def lattice(box: Sequence[float], goal: Floats, step: float, turns: int) -> Lattice:
    """Lay a lattice over a box (least x, y, greatest x, y) with the goal exactly on a node."""
    before = [max(0, math.floor((goal[a] - box[a]) / step)) for a in range(2)]
    after = [max(0, math.floor((box[a + 2] - goal[a]) / step)) for a in range(2)]
    corner = [goal[a] - step * before[a] for a in range(2)]
    grid = np.array([*corner, step, goal[2]])
    return Lattice(grid, turns, before[1] + after[1] + 1, before[0] + after[0] + 1)


def search_lattice(
    layers: Sequence[Layer],
    between: Ints,
    on: Lattice,
    start: tuple[int, Floats],
    goal: tuple[int, Floats],
) -> list[tuple[int, Floats]] | None:
    """Find a motion as rows (pose, place) from start to goal, or None.

    layers : the poses, then those of the changes; between : (c, 3) the poses a change joins and
        its layer, -1 where it happens wherever both are free
    The search runs from the goal, where there is least room, back to the start.
    """
    from massing.geometry.carry.compiled import FULL, hint, search

    poses = len(layers) - int((between[:, 2] >= 0).sum())
    table, angles = make_table(layers, on)
    blocked = fill_layers(table, len(layers), angles.size, on)
    packs = _packs(layers)
    doors = _doors(layers[start[0]], blocked[start[0]], start, on)
    i, j = (round((goal[1][a] - on.grid[a]) / on.grid[2]) for a in range(2))
    if not doors or blocked[goal[0], 0, j, i]:
        return None
    sizes = np.array([poses, on.turns, on.rows, on.columns], dtype=np.int64)
    came = np.zeros(poses * on.nodes, dtype=np.uint8)
    ends = (np.array(doors, dtype=np.int64), np.array([on.number(goal[0], 0, j, i)]))
    closed = np.bitwise_and.reduce(blocked[:poses].reshape(-1, on.rows, on.columns), axis=0)
    row, column = divmod(doors[0] % (on.rows * on.columns), on.columns)
    left = hint(closed, row, column)
    room = 2 * came.size + 1024
    while (
        end := search(blocked, sizes, packs, table, between, on.grid, ends, left, came, room)
    ) == FULL:
        came[:], room = 0, 2 * room
    if end < 0:
        return None
    return _walk_back(came, int(end), between, on, start)


def _packs(layers: Sequence[Layer]) -> tuple[Floats, Ints, Floats, Ints, Floats]:
    """All layers one after another: feet, foot, solids, solid, radius."""

    def chained(offsets: list[Ints]) -> Ints:
        bases = np.cumsum([0, *(each[-1] for each in offsets)])
        flat = [each[:-1] + base for each, base in zip(offsets, bases, strict=False)]
        return np.concatenate([*flat, bases[-1:]]).astype(np.int64)

    return (
        np.concatenate([each.feet for each in layers]),
        chained([each.foot for each in layers]),
        np.concatenate([each.solids for each in layers]),
        chained([each.solid for each in layers]),
        np.array([each.radius for each in layers]),
    )


def make_table(layers: Sequence[Layer], on: Lattice) -> tuple[Table, Floats]:
    """Lines of every difference (see ``carry_compiled``) and the turns they are held for."""
    from massing.geometry.carry.compiled import difference_lines

    feet, foot, solids, solid, _ = _packs(layers)
    pairs: list[tuple[int, int]] = []
    pair_of = [0]
    a0 = b0 = 0
    for each in layers:
        pairs += [(a0 + a, b0 + b) for a, b in each.pairs]
        pair_of.append(len(pairs))
        a0, b0 = a0 + each.foot.size - 1, b0 + each.solid.size - 1
    pairing = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    counts = np.diff(foot)[pairing[:, 0]] + np.diff(solid)[pairing[:, 1]]
    slopes = _sloping(layers, pairs)
    counts[[q for q, _ in slopes]] += 1
    first = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    halved = on.turns % 2 == 0 and all(each.even for each in layers)
    count = on.turns // 2 if halved else on.turns
    angles = on.grid[3] + np.arange(count) * (2.0 * math.pi / on.turns)
    lines, bounds = difference_lines(feet, foot, solids, solid, pairing, first, angles)
    for q, slope in slopes:
        lines[:, first[q + 1] - 1] = slope.lines(angles)
    return (lines, bounds, first, pairing, np.array(pair_of, dtype=np.int64)), angles


def _sloping(layers: Sequence[Layer], pairs: list[tuple[int, int]]) -> list[tuple[int, Slope]]:
    """Numbers of the pairs whose obstacle is a sloping ceiling, with the slope."""
    held: dict[int, Slope] = {}
    base = 0
    for each in layers:
        base += each.solid.size - 1
        held |= {base - len(each.slopes) + n: slope for n, slope in enumerate(each.slopes)}
    return [(q, held[b]) for q, (_, b) in enumerate(pairs) if b in held]


def fill_layers(
    table: Table, layers: int, turns: int, on: Lattice, deep: float = TOUCH
) -> NDArray[np.uint8]:
    """(layers, turns, rows, columns) 1 where the footprint overlaps something by more than deep."""
    from massing.geometry.carry.compiled import fill

    lines, bounds, first, _, pair_of = table
    blocked = np.zeros((layers, turns, on.rows, on.columns), dtype=np.uint8)
    for number in range(layers):
        some = pair_of[number : number + 2]
        fill(blocked[number], lines, bounds, first, some, on.grid[:3], deep)
    return blocked


def _doors(
    of: Layer, blocked: NDArray[np.uint8], start: tuple[int, Floats], on: Lattice
) -> list[int]:
    """Nodes round the start that it reaches by a clear shift and a clear turn, either first."""
    pose, at = start
    turn = 2.0 * math.pi / on.turns
    base = (at - on.grid[[0, 1, 3]]) / np.array([on.grid[2], on.grid[2], turn])
    i0, j0, k0 = (math.floor(value + 1e-9) for value in base)
    found = []
    for k in (k0, k0 + 1):
        for j in range(max(j0 - 1, 0), min(j0 + 3, on.rows)):
            for i in range(max(i0 - 1, 0), min(i0 + 3, on.columns)):
                if blocked[k % on.turns % blocked.shape[0], j, i]:
                    continue
                if joined(of, at, on.place(k, j, i)) is not None:
                    found.append(on.number(pose, k, j, i))
    return found


def _walk_back(
    came: NDArray[np.uint8], end: int, between: Ints, on: Lattice, start: tuple[int, Floats]
) -> list[tuple[int, Floats]]:
    """Rows from start to goal, turns unwrapped from the start's own; runs of a move are one.

    end : the node next to the start that the search from the goal came to
    """
    from massing.geometry.carry.compiled import SHIFT_I, SHIFT_J, START

    rest, i = divmod(end, on.columns)
    rest, j = divmod(rest, on.rows)
    pose, k = divmod(rest, on.turns)
    rows = [(pose, k, j, i)]
    last = 0
    while (code := int(came[on.number(pose, k, j, i)])) != START:
        move = code - 1
        if move < 8:
            i, j = i - int(SHIFT_I[move]), j - int(SHIFT_J[move])
        elif move < 10:
            k += -1 if move == 8 else 1
        else:
            one, two = between[move - 10, :2].tolist()
            pose = two if pose == one else one
        if code == last and move < 10:
            rows.pop()
        rows.append((pose, k, j, i))
        last = code
    turn = 2.0 * math.pi / on.turns
    laps = on.turns * round((start[1][2] - on.grid[3] - turn * rows[0][1]) / (2.0 * math.pi))
    return [start, *((p, on.place(k + laps, j, i)) for p, k, j, i in rows)]
