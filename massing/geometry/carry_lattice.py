"""Carry search on one lattice of places and turns: packed layers in, a chain of places out.

The lattice is laid so that the goal is exactly one of its nodes: things usually end flush in a
corner, where there is no room to be half a step out. The start is joined to the nodes round it by
a clear shift and a clear turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.geometry.plan_parts import convex_parts
from massing.geometry.solids import Floats, Ints

__all__ = [
    "Lattice",
    "Layer",
    "Table",
    "fill_layers",
    "joined",
    "lattice",
    "layer",
    "make_table",
    "search_lattice",
    "stays_clear",
]

Table: TypeAlias = tuple[Floats, Floats, Ints, Ints, Ints]


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One pose or change, packed: rows x, y, nx, ny with the offsets of the convex parts.

    owner : the ring each convex obstacle part came from; radius : furthest corner from the origin
    """

    feet: Floats
    foot: Ints
    solids: Floats
    solid: Ints
    owner: Ints
    radius: float

    @property
    def even(self) -> bool:
        """Whether half a turn brings the footprint back onto itself."""
        parts = [self.feet[a:b, :2] for a, b in pairwise(self.foot)]
        seen = {_key(part) for part in parts}
        return all(_key(-part) in seen for part in parts)


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


def _key(ring: Floats) -> tuple[tuple[float, float], ...]:
    rounded = np.round(ring, 9) + 0.0
    return tuple(sorted((float(x), float(y)) for x, y in rounded))


def layer(footprint: Sequence[Floats], obstacles: Sequence[Floats]) -> Layer:
    """Pack a footprint and its obstacles, cut into convex parts.

    Raises GeometryError for a footprint without rings or a ring that is no outline.
    """
    if len(footprint) == 0:
        raise GeometryError("a footprint needs at least one ring")
    feet = [part for ring in footprint for part in convex_parts(ring)]
    stones = [(k, part) for k, ring in enumerate(obstacles) for part in convex_parts(ring)]
    rows, foot = _pack(feet)
    solids, solid = _pack([part for _, part in stones])
    owner = np.array([k for k, _ in stones], dtype=np.int64)
    radius = float(np.hypot(rows[:, 0], rows[:, 1]).max())
    return Layer(rows, foot, solids, solid, owner, radius)


def _pack(rings: Sequence[Floats]) -> tuple[Floats, Ints]:
    offsets = np.cumsum([0, *(len(ring) for ring in rings)]).astype(np.int64)
    if not rings:
        return np.empty((0, 4)), offsets
    rows = []
    for ring in rings:
        edge = np.roll(ring, -1, axis=0) - ring
        size = np.hypot(edge[:, 0], edge[:, 1])
        rows.append(np.column_stack([ring, edge[:, 1] / size, -edge[:, 0] / size]))
    return np.concatenate(rows), offsets


def stays_clear(of: Layer, at: Floats, by: Floats) -> bool:
    """Whether the shift by (x, y) and then the turn overlap nothing by more than TOUCH."""
    from massing.geometry.carry_moves import link_is_free

    return bool(link_is_free(of.feet, of.foot, of.solids, of.solid, at, by, of.radius))


def joined(of: Layer, at: Floats, node: Floats) -> Floats | None:
    """The place half-way (shift first, else turn first) of a clear two-part move, or None."""
    by = node - at
    if stays_clear(of, at, by):
        return np.array([node[0], node[1], at[2]])
    if stays_clear(of, node, -by):
        return np.array([at[0], at[1], node[2]])
    return None


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

    layers : the poses, then one for each row of ``between``, (c, 2) the poses a change joins
    """
    from massing.geometry.carry_compiled import FULL, hint, search

    poses = len(layers) - len(between)
    table, angles = make_table(layers, on)
    blocked = fill_layers(table, len(layers), angles.size, on)
    packs = _packs(layers)
    doors = _doors(layers[start[0]], blocked[start[0]], start, on)
    i, j = (round((goal[1][a] - on.grid[a]) / on.grid[2]) for a in range(2))
    end = on.number(goal[0], 0, j, i)
    sizes = np.array([poses, on.turns, on.rows, on.columns], dtype=np.int64)
    came = np.zeros(poses * on.nodes, dtype=np.uint8)
    ends = np.array([end, *doors], dtype=np.int64)
    closed = np.bitwise_and.reduce(blocked[:poses].reshape(-1, on.rows, on.columns), axis=0)
    left = hint(closed, j, i)
    room = 2 * came.size + 1024
    while (
        spent := search(blocked, sizes, packs, table, between, on.grid, ends, left, came, room)
    ) == FULL:
        came[:], room = 0, 2 * room
    if spent < 0:
        return None
    return _walk_back(came, (goal[0], 0, j, i), between, on, start)


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
    from massing.geometry.carry_compiled import difference_lines

    feet, foot, solids, solid, _ = _packs(layers)
    pairs: list[tuple[int, int]] = []
    pair_of = [0]
    a0 = b0 = 0
    for each in layers:
        a1, b1 = a0 + each.foot.size - 1, b0 + each.solid.size - 1
        pairs += [(a, b) for a in range(a0, a1) for b in range(b0, b1)]
        pair_of.append(len(pairs))
        a0, b0 = a1, b1
    pairing = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    counts = np.diff(foot)[pairing[:, 0]] + np.diff(solid)[pairing[:, 1]]
    first = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    halved = on.turns % 2 == 0 and all(each.even for each in layers)
    count = on.turns // 2 if halved else on.turns
    angles = on.grid[3] + np.arange(count) * (2.0 * math.pi / on.turns)
    lines, bounds = difference_lines(feet, foot, solids, solid, pairing, first, angles)
    return (lines, bounds, first, pairing, np.array(pair_of, dtype=np.int64)), angles


def fill_layers(table: Table, layers: int, turns: int, on: Lattice) -> NDArray[np.uint8]:
    """(layers, turns, rows, columns) 1 where the footprint overlaps something."""
    from massing.geometry.carry_compiled import fill

    lines, bounds, first, _, pair_of = table
    blocked = np.zeros((layers, turns, on.rows, on.columns), dtype=np.uint8)
    for number in range(layers):
        fill(blocked[number], lines, bounds, first, pair_of[number : number + 2], on.grid[:3])
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
    came: NDArray[np.uint8],
    goal: tuple[int, int, int, int],
    between: Ints,
    on: Lattice,
    start: tuple[int, Floats],
) -> list[tuple[int, Floats]]:
    """Rows from start to goal, turns unwrapped from the start's own; runs of a move are one."""
    from massing.geometry.carry_compiled import SHIFT_I, SHIFT_J, START

    pose, k, j, i = goal
    back = [goal]
    last = 0
    while (code := int(came[on.number(pose, k, j, i)])) != START:
        move = code - 1
        if move < 8:
            i, j = i - int(SHIFT_I[move]), j - int(SHIFT_J[move])
        elif move < 10:
            k += -1 if move == 8 else 1
        else:
            one, two = between[move - 10].tolist()
            pose = two if pose == one else one
        if code == last and move < 10:
            back.pop()
        back.append((pose, k, j, i))
        last = code
    turn = 2.0 * math.pi / on.turns
    laps = on.turns * round((start[1][2] - on.grid[3] - turn * k) / (2.0 * math.pi))
    return [start, *((p, on.place(k + laps, j, i)) for p, k, j, i in reversed(back))]
