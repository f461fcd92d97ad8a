"""Compiled loops of the carry search: packed outlines in, blocked nodes and a chain of moves out.

Layers (poses first, then changes of pose) are packed one after another. A pair is one convex part
of a footprint with one convex obstacle; in each turn the footprint overlaps the obstacle exactly
where its reference point lies inside their Minkowski difference, held here as the lines
nx * x + ny * y < limit.

A node is (pose, turn, row, column). Turns may be held for half the circle when half a turn brings
every footprint back onto itself.
"""

# ruff: noqa: C901, PLR0912, PLR0913, PLR0915, PLR0917, PLR1730
# Compiled loops stay whole; a branch beat min and max when timed.

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.geometry.carry.moves import (
    compiled,
    placed,
    shift_clears,
    shift_is_free,
    turn_clears,
    turn_is_free,
)
from massing.geometry.solids import Floats, Ints

__all__ = ["FULL", "SHIFT_I", "SHIFT_J", "START", "difference_lines", "fill", "hint", "search"]

Bytes: TypeAlias = NDArray[np.uint8]

FULL = -2  # the search ran out of room
START = 255  # came-from code of a start node; 1-8 shifts, 9-10 turns, 11 and up changes of pose
SHIFT_I = np.array([1, 0, -1, 0, 1, -1, -1, 1])
SHIFT_J = np.array([0, 1, 0, -1, 1, 1, -1, -1])
SHIFT_COST = np.array([2, 2, 2, 2, 3, 3, 3, 3])
TURN_COST = 2
CHANGE_COST = 20
_RING = 64  # rolling buckets; one move never raises cost plus hint by this much


@compiled
def difference_lines(
    feet: Floats, foot: Ints, solids: Floats, solid: Ints, pairs: Ints, first: Ints, turns: Floats
) -> tuple[Floats, Floats]:
    """Lines (turns, rows, 3) nx, ny, limit and bounds (turns, pairs, 4) of every difference.

    pairs : (p, 2) part of a footprint, part of the obstacles; first : (p + 1,) row offsets
    """
    lines = np.empty((turns.shape[0], first[-1], 3))
    bounds = np.empty((turns.shape[0], pairs.shape[0], 4))
    at = np.zeros(3)
    for k in range(turns.shape[0]):
        at[2] = turns[k]
        for q in range(pairs.shape[0]):
            a, b = pairs[q, 0], pairs[q, 1]
            body = placed(feet[:, :2], feet[:, 2:], foot[a], foot[a + 1], at)
            stone = solids[solid[b] : solid[b + 1]]
            n_body, n_stone = body.shape[0], stone.shape[0]
            for axis in range(2):
                bounds[k, q, axis] = stone[:, axis].min() - body[:, axis].max()
                bounds[k, q, axis + 2] = stone[:, axis].max() - body[:, axis].min()
            for e in range(n_body + n_stone):
                nx = -body[e, 2] if e < n_body else stone[e - n_body, 2]
                ny = -body[e, 3] if e < n_body else stone[e - n_body, 3]
                most = -1e300
                for j in range(n_stone):
                    d = nx * stone[j, 0] + ny * stone[j, 1]
                    if d > most:
                        most = d
                least = 1e300
                for i in range(n_body):
                    d = nx * body[i, 0] + ny * body[i, 1]
                    if d < least:
                        least = d
                row = first[q] + e
                lines[k, row, 0], lines[k, row, 1], lines[k, row, 2] = nx, ny, most - least
    return lines, bounds


@compiled
def fill(
    blocked: Bytes,
    lines: Floats,
    bounds: Floats,
    first: Ints,
    some: Ints,
    grid: Floats,
    deep: float,
) -> None:
    """Mark every node of one layer whose footprint overlaps an obstacle by more than ``deep``, mm.

    blocked : (turns, rows, columns) uint8, written
    some : first and last pair (exclusive); grid : x, y of node 0, 0 and the step
    Each row of nodes meets a difference in one interval.
    """
    rows = blocked.shape[1]
    low, high = np.empty(rows), np.empty(rows)
    for k in range(blocked.shape[0]):
        for q in range(some[0], some[1]):
            start = max(0, math.ceil((bounds[k, q, 1] - grid[1]) / grid[2]))
            stop = min(rows, math.floor((bounds[k, q, 3] - grid[1]) / grid[2]) + 1)
            if start >= stop:
                continue
            for r in range(start, stop):
                low[r], high[r] = -1e300, 1e300
            for e in range(first[q], first[q + 1]):
                _cut(low, high, start, stop, lines[k, e], grid, deep)
            _mark(blocked[k], low, high, start, stop, grid)


@compiled
def _cut(
    low: Floats, high: Floats, start: int, stop: int, line: Floats, grid: Floats, deep: float
) -> None:
    """Narrow the interval of each row to the inner side of a line, ``deep`` within it."""
    nx, ny, limit = line[0], line[1], line[2] - deep
    if abs(nx) < 1e-12:
        for r in range(start, stop):
            if ny * (grid[1] + grid[2] * r) >= limit:
                high[r] = -1e300
        return
    slope = -ny / nx * grid[2]
    base = (limit - ny * grid[1]) / nx
    if nx > 0.0:
        for r in range(start, stop):
            x = base + slope * r
            if x < high[r]:
                high[r] = x
        return
    for r in range(start, stop):
        x = base + slope * r
        if x > low[r]:
            low[r] = x


@compiled
def _mark(plane: Bytes, low: Floats, high: Floats, start: int, stop: int, grid: Floats) -> None:
    """Block the nodes strictly inside each row's interval."""
    columns = plane.shape[1]
    for r in range(start, stop):
        if low[r] >= high[r]:
            continue
        left = (low[r] - grid[0]) / grid[2]
        right = (high[r] - grid[0]) / grid[2]
        if right <= 0.0 or left >= columns - 1:
            continue
        i0 = max(0, math.floor(left) + 1)
        i1 = min(columns, math.ceil(right)) if right < columns else columns
        if i0 < i1:
            plane[r, i0:i1] = 1


@compiled
def hint(closed: Bytes, goal_row: int, goal_column: int) -> Ints:
    """(rows, columns) least cost of shifts alone from each node to the goal, -1 where cut off.

    closed : (rows, columns) nodes blocked in every turn and pose
    """
    rows, columns = closed.shape
    cost = np.full((rows, columns), -1, dtype=np.int64)
    size = 9 * rows * columns + 1
    cells, after = np.empty(size, dtype=np.int64), np.empty(size, dtype=np.int64)
    heads = np.full(4, -1, dtype=np.int64)
    used = 1
    cells[0], after[0], heads[0] = goal_row * columns + goal_column, -1, 0
    done = np.zeros((rows, columns), dtype=np.uint8)
    cost[goal_row, goal_column] = 0
    level, idle = 0, 0
    while idle < 4:
        slot = level % 4
        if heads[slot] < 0:
            level += 1
            idle += 1
            continue
        idle = 0
        entry = heads[slot]
        heads[slot] = after[entry]
        j, i = cells[entry] // columns, cells[entry] % columns
        if done[j, i]:
            continue
        done[j, i] = 1
        for m in range(8):
            jj, ii = j + SHIFT_J[m], i + SHIFT_I[m]
            if jj < 0 or ii < 0 or jj >= rows or ii >= columns or closed[jj, ii]:
                continue
            total = level + SHIFT_COST[m]
            if cost[jj, ii] < 0 or total < cost[jj, ii]:
                cost[jj, ii] = total
                cells[used], after[used] = jj * columns + ii, heads[total % 4]
                heads[total % 4] = used
                used += 1
    return cost


@compiled
def search(
    blocked: Bytes,
    sizes: Ints,
    packs: tuple[Floats, Ints, Floats, Ints, Floats],
    table: tuple[Floats, Floats, Ints, Ints, Ints],
    changes: Ints,
    grid: Floats,
    ends: tuple[Ints, Ints],
    left: Ints,
    came: Bytes,
    room: int,
) -> int:
    """Best-first search; the end reached, or -1 when all are cut off, or FULL past ``room``.

    blocked : (layers, turns or turns / 2, rows, columns); sizes : poses, turns, rows, columns
    packs : feet, foot, solids, solid, radius of each layer
    table : lines, bounds, first, pairs (see ``difference_lines``), first pair of each layer
    changes : (c, 3) poses joined, and the layer that is free where the change may happen, -1
        where it may happen wherever both poses are free
    ends : the nodes to end at, the first of which the hint is for, and those to begin from
    left : the hint of each place
    came : (nodes,) uint8, written: 0 for unseen, else 1 + the move that led there, or START
    room : entries the queue may hold
    """
    feet, foot, solids, solid, radius = packs
    lines, bounds, first, pairs, pair_of = table
    poses, turns, rows, columns = sizes[0], sizes[1], sizes[2], sizes[3]
    plane = rows * columns
    unique = blocked.shape[1]
    step, turn = grid[2], 2.0 * math.pi / turns
    goals, begins = ends
    goal_k = goals[0] // plane % turns
    spent = np.zeros(poses * turns * plane, dtype=np.int32)  # cost + 1; negative once expanded
    nodes, after = np.empty(room, dtype=np.int64), np.empty(room, dtype=np.int64)
    heads = np.full(_RING, -1, dtype=np.int64)
    used = waiting = 0
    level = 1 << 60
    for node in begins:
        flat = left[node % plane // columns, node % columns]
        if flat < 0:
            continue
        off = abs(node // plane % turns - goal_k)
        f = flat + TURN_COST * min(off, turns - off)
        level = min(level, f)
    for node in begins:
        flat = left[node % plane // columns, node % columns]
        off = abs(node // plane % turns - goal_k)
        f = flat + TURN_COST * min(off, turns - off)
        if flat < 0 or spent[node] != 0 or f >= level + _RING:
            continue
        spent[node], came[node] = 1, START
        nodes[used], after[used] = node, heads[f % _RING]
        heads[f % _RING] = used
        used += 1
        waiting += 1
    most_pairs = 1
    for p in range(poses):
        most_pairs = max(most_pairs, pair_of[p + 1] - pair_of[p])
    near, near_gap = np.empty(most_pairs, dtype=np.int64), np.empty(most_pairs)
    at = np.empty(3)
    n_moves = 10 + changes.shape[0]
    while waiting:
        slot = level % _RING
        if heads[slot] < 0:
            level += 1
            continue
        entry = heads[slot]
        heads[slot] = after[entry]
        waiting -= 1
        node = nodes[entry]
        cost = spent[node]
        if cost < 0:
            continue
        spent[node] = -cost
        for goal in goals:
            if node == goal:
                return int(node)
        p, k = node // (plane * turns), node // plane % turns
        j, i = node % plane // columns, node % columns
        u = k % unique
        at[0], at[1], at[2] = grid[0] + step * i, grid[1] + step * j, grid[3] + turn * u
        # Only obstacles this near can meet the footprint during one move.
        reach = max(1.4143 * step, radius[p] * turn)
        count = 0
        for q in range(pair_of[p], pair_of[p + 1]):
            if (
                bounds[u, q, 0] - at[0] > reach
                or at[0] - bounds[u, q, 2] > reach
                or bounds[u, q, 1] - at[1] > reach
                or at[1] - bounds[u, q, 3] > reach
            ):
                continue
            gap = -1e300
            for e in range(first[q], first[q + 1]):
                d = lines[u, e, 0] * at[0] + lines[u, e, 1] * at[1] - lines[u, e, 2]
                if d > gap:
                    gap = d
            if gap < reach:
                near[count], near_gap[count] = q, gap
                count += 1
        for m in range(n_moves):
            pp, kk, jj, ii = p, k, j, i
            vx = vy = by = 0.0
            if m < 8:
                jj, ii = j + SHIFT_J[m], i + SHIFT_I[m]
                if jj < 0 or ii < 0 or jj >= rows or ii >= columns:
                    continue
                vx, vy, price = step * SHIFT_I[m], step * SHIFT_J[m], SHIFT_COST[m]
            elif m < 10:
                by = turn if m == 8 else -turn
                kk, price = (k + 1 if m == 8 else k - 1 + turns) % turns, TURN_COST
            else:
                c = m - 10
                if changes[c, 0] == p:
                    pp = changes[c, 1]
                elif changes[c, 1] == p:
                    pp = changes[c, 0]
                else:
                    continue
                if changes[c, 2] >= 0 and blocked[changes[c, 2], k % unique, j, i]:
                    continue
                price = CHANGE_COST
            if left[jj, ii] < 0 or blocked[pp, kk % unique, jj, ii]:
                continue
            target = (pp * turns + kk) * plane + jj * columns + ii
            total = cost + price
            if spent[target] < 0 or (spent[target] > 0 and spent[target] <= total):
                continue
            free = True
            span = math.sqrt(vx * vx + vy * vy) if m < 8 else radius[p] * abs(by)
            for c in range(count):
                if m >= 10 or near_gap[c] >= span:
                    continue
                q = near[c]
                if m < 8 and shift_clears(lines[u], first[q], first[q + 1], at, vx, vy):
                    continue
                v = kk % unique
                if (
                    m >= 8
                    and abs(v - u) == 1
                    and turn_clears(
                        lines[u],
                        lines[v],
                        first[q],
                        bounds[u, q],
                        at,
                        radius[p],
                        turn,
                        foot[pairs[q, 0] + 1] - foot[pairs[q, 0]],
                        first[q + 1],
                    )
                ):
                    continue
                one = foot[pairs[q, 0] : pairs[q, 0] + 2]
                two = solid[pairs[q, 1] : pairs[q, 1] + 2]
                if m < 8:
                    free = shift_is_free(feet, one, solids, two, at, vx, vy)
                else:
                    free = turn_is_free(feet, one, solids, two, at, by, radius[p])
                if not free:
                    break
            if not free:
                continue
            spent[target], came[target] = total, m + 1
            off = abs(kk - goal_k)
            f = total - 1 + left[jj, ii] + TURN_COST * min(off, turns - off)
            if used == room:
                return FULL
            nodes[used], after[used] = target, heads[f % _RING]
            heads[f % _RING] = used
            used += 1
            waiting += 1
    return -1
