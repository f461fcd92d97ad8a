"""Can it be shown that nothing can be carried from one place to another: outlines in, a proof out.

Every place and turn lies in the cell of some lattice node, no corner of the thing further from
where it is at the node than half the cell. A node is counted out only where the thing overlaps
an obstacle by more than that, so whatever way there is runs through cells whose nodes are left.
Where those do not join the two ends there is no way at all, at any resolution.

A bisection on the overlap that would have to be allowed tells how much is missing, and where.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from massing.geometry.carry.lattice import (
    Lattice,
    Table,
    fill_layers,
    lattice,
    make_table,
)
from massing.geometry.carry.layers import Layer
from massing.geometry.carry.search import Change, Pose, Stand, pack_carry
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import TOUCH

__all__ = ["CarryBound", "carry_bound"]

_MOST = 2000.0  # mm; what is missing more than this is not measured
_FINE = 10.0  # mm; how finely it is


@dataclass(frozen=True, slots=True, eq=False)
class CarryBound:
    """What the flood showed.

    shut : no way exists; step, turn : the lattice that shows it, mm and radians
    missing : what every way lacks to each side at least, mm, 0 unless shut
    where : (2,) the tightest place of the way that lacks least, nan unless it was looked for
    against : owners of what is met there, in that pose, the deepest first
    pose : number of the pose held there, -1 for none
    """

    shut: bool
    step: float
    turn: float
    missing: float = 0.0
    where: Floats | None = None
    against: tuple[int, ...] = ()
    pose: int = -1


@dataclass(slots=True, eq=False)
class _Field:
    """A lattice with all that is asked of it again and again.

    ends : nodes of the goal and the start; cell : mm, the furthest any corner is from where it is
        at the node whose cell it is in
    """

    layers: list[Layer]
    table: Table
    turns: int
    on: Lattice
    joins: Ints
    ends: tuple[int, int]
    stack: Ints
    cell: float

    def flooded(self, deep: float, *, reverse: bool = False) -> NDArray[np.uint8]:
        """Marks of a flood from the goal, or the start, with overlaps up to ``deep`` mm allowed."""
        from massing.geometry.carry.flood import CLOSED, flood

        marks = fill_layers(self.table, len(self.layers), self.turns, self.on, deep)
        marks *= np.uint8(CLOSED)
        begin, end = reversed(self.ends) if reverse else self.ends
        flood(marks, self.joins, begin, end, self.stack)
        return marks

    def opened(self, marks: NDArray[np.uint8]) -> bool:
        """Whether a flood came from one end to the other."""
        from massing.geometry.carry.flood import CLOSED

        return int(marks.reshape(-1)[self.ends[1]]) not in {0, CLOSED}


def carry_bound(
    poses: Sequence[Pose],
    start: Stand,
    goal: Stand,
    *,
    changes: Sequence[Change],
    bounds: tuple[float, float, float, float],
    levels: Sequence[tuple[float, int]],
) -> CarryBound:
    """Show that there is no way from start to goal, if a lattice can.

    poses, start, goal, changes, bounds : as for ``carry_path``; both ends in one of the poses.
        A change is taken to be possible wherever both its poses are free.
    levels : step (mm) and turns of the lattice to show it on, then of the one to look for the
        tightest place on, the same where there is only one

    >>> from massing.geometry.plan_parts import outside
    >>> crate = np.array([[-300.0, -300], [300, -300], [300, 300], [-300, 300]])
    >>> hall = np.array([[0.0, 0], [4000, 0], [4000, 1000], [0, 1000]])
    >>> post = np.array([[1900.0, 0], [2100, 0], [2100, 700], [1900, 700]])
    >>> found = carry_bound(
    ...     [Pose("flat", [crate], [*outside([hall], 400), post])], Stand(500, 500),
    ...     Stand(3500, 500), changes=(), bounds=(0, 0, 4000, 1000), levels=((20, 72),))
    >>> found.shut, 50 < found.missing < 150, 4 in found.against
    (True, True, True)
    """
    layers = pack_carry(poses, ())[0]
    joins = _joins(len(layers), changes)
    field = _field(layers, joins, (start, goal), bounds, levels[0])
    step, turn = levels[0][0], 2.0 * math.pi / levels[0][1]
    inner = field.flooded(field.cell)
    if field.opened(inner):
        return CarryBound(shut=False, step=step, turn=turn)
    if levels[-1] != levels[0]:
        field = _field(layers, joins, (start, goal), bounds, levels[-1])
        inner = field.flooded(field.cell)
    low, inner, outer = _opening(field, inner)
    missing = max(low - field.cell, 0.0)
    if outer is None:
        return CarryBound(shut=True, step=step, turn=turn, missing=missing)
    pose, where, against = _tightest(field, low, inner, outer)
    return CarryBound(True, step, turn, missing, where, against, pose)  # noqa: FBT003


def _field(
    layers: list[Layer],
    joins: Ints,
    stands: tuple[Stand, Stand],
    bounds: tuple[float, float, float, float],
    level: tuple[float, int],
) -> _Field:
    """One lattice for a start and a goal."""
    (start, goal), (step, turns) = stands, level
    # One more row of nodes all round, so that every place in bounds lies in some node's cell.
    grown = (bounds[0] - step, bounds[1] - step, bounds[2] + step, bounds[3] + step)
    on = lattice(grown, np.array([goal.x, goal.y, goal.turn]), step, turns)
    table, angles = make_table(layers, on)
    size = len(layers) * angles.size * on.rows * on.columns
    ends = (_node(on, angles.size, goal), _node(on, angles.size, start))
    reach = max(each.radius for each in layers) * math.pi / turns
    cell = step / math.sqrt(2.0) + reach + TOUCH
    stack = np.empty(size, dtype=np.int64)
    return _Field(layers, table, angles.size, on, joins, ends, stack, cell)


def _opening(
    field: _Field, marks: NDArray[np.uint8]
) -> tuple[float, NDArray[np.uint8], NDArray[np.uint8] | None]:
    """Greatest overlap, mm, at which the ends are not joined yet, bisected to ``_FINE``.

    marks : of the flood at the field's own cell
    Also the marks of the floods there and just beyond, None where that is more than ``_MOST``.
    """
    low, high = field.cell, 2.0 * field.cell
    inner, outer = marks, None
    if field.opened(marks):
        low, high, outer = TOUCH, low, marks
        inner = field.flooded(low)
    while outer is None and high < _MOST:
        marks = field.flooded(high)
        if field.opened(marks):
            outer = marks
        else:
            low, high, inner = high, 2.0 * high, marks
    while outer is not None and high - low > _FINE:
        middle = (low + high) / 2.0
        marks = field.flooded(middle)
        if field.opened(marks):
            high, outer = middle, marks
        else:
            low, inner = middle, marks
    return low, inner, outer


def _node(on: Lattice, turns: int, stand: Stand) -> int:
    """Number of the node in whose cell something stands, turns wrapped to so many."""
    i = min(max(round((stand.x - on.grid[0]) / on.grid[2]), 0), on.columns - 1)
    j = min(max(round((stand.y - on.grid[1]) / on.grid[2]), 0), on.rows - 1)
    k = round((stand.turn - on.grid[3]) * on.turns / (2.0 * math.pi)) % turns
    return int(((stand.pose * turns + k) * on.rows + j) * on.columns + i)


def _joins(poses: int, changes: Sequence[Change]) -> Ints:
    """(poses, c) the pose each change leads to from each, -1 for none."""
    found = np.full((poses, max(len(changes), 1)), -1, dtype=np.int64)
    for number, change in enumerate(changes):
        one, two = change.between
        found[one, number], found[two, number] = two, one
    return found


def _tightest(
    field: _Field, low: float, inner: NDArray[np.uint8], outer: NDArray[np.uint8]
) -> tuple[int, Floats, tuple[int, ...]]:
    """Pose, place and owners where a way is tightest that opens just beyond an overlap ``low``.

    inner, outer : marks of the floods there and just beyond
    Of what is free beyond, the shortest bridge between what is joined to either end at ``low``.
    """
    from massing.geometry.carry.flood import BEGUN, CLOSED, OTHER, bridge, trail

    on = field.on
    marks = np.where(outer == CLOSED, outer, 0).astype(np.uint8)
    far = field.flooded(low, reverse=True)
    sides = [(each != 0) & (each != CLOSED) for each in (inner, far)]
    for side, end in zip(sides, field.ends, strict=True):
        side.reshape(-1)[end] = True
    # Begun from the smaller side there is less to look through.
    small = 0 if np.count_nonzero(sides[0]) < np.count_nonzero(sides[1]) else 1
    marks[sides[1 - small]] = OTHER
    marks[sides[small]] = BEGUN
    end = bridge(marks, field.joins, field.stack)
    nodes = trail(marks, field.joins, end)
    lines, _, first, _, pair_of = field.table
    worst = (-math.inf, 0, np.zeros(3), np.zeros(0))
    for node in nodes.tolist():
        rest, i = divmod(node, on.columns)
        rest, j = divmod(rest, on.rows)
        pose, k = divmod(rest, field.turns)
        at = on.place(k, j, i)
        some = slice(int(first[pair_of[pose]]), int(first[pair_of[pose + 1]]))
        off = lines[k, some, :2] @ at[:2] - lines[k, some, 2]
        starts = first[pair_of[pose] : pair_of[pose + 1]] - some.start
        depth = -np.maximum.reduceat(off, starts)
        if float(depth.max()) > worst[0]:
            worst = (float(depth.max()), pose, at, depth)
    deepest, pose, at, depth = worst
    layer = field.layers[pose]
    pairs = layer.pairs
    order = [n for n in np.argsort(-depth, kind="stable").tolist() if depth[n] > deepest / 2.0]
    owners = tuple(dict.fromkeys(int(layer.owner[pairs[n][1]]) for n in order))
    return pose, _shared(layer, at, *pairs[order[0]]), owners


def _shared(layer: Layer, at: Floats, part: int, stone: int) -> Floats:
    """Middle of what a part of the thing and an obstacle share in plan."""
    from shapely import Polygon

    cos, sin = math.cos(at[2]), math.sin(at[2])
    own = layer.feet[layer.foot[part] : layer.foot[part + 1], :2]
    body = Polygon(own @ np.array([[cos, sin], [-sin, cos]]) + at[:2])
    other = Polygon(layer.solids[layer.solid[stone] : layer.solid[stone + 1], :2])
    middle = body.intersection(other).centroid
    return np.array([middle.x, middle.y])
