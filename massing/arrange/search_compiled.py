"""Simulated annealing over places in a room: records and a seed in, the best poses out.

Source: Kirkpatrick, Gelatt and Vecchi, "Optimization by simulated annealing", Science 220, 1983.
"""

# ruff: noqa: C901, PLR0912, PLR0915, RUF046
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import CEILING, FIXED, WALL
from massing.arrange.cost_compiled import bodies_meet, pair_cost, shell_cost
from massing.arrange.moves_compiled import chance, hang, pick, propose, stand_on, swap_places
from massing.arrange.place_compiled import place_unit
from massing.arrange.plan_compiled import compiled
from massing.geometry.solids import Floats, Ints

__all__ = ["anneal", "fill_costs", "open_now", "open_rectangle", "price_all"]


@compiled
def fill_costs(fixed: Any, moving: Any) -> tuple[float, float]:
    """Place everything and price it afresh; the hard and soft totals."""
    n = fixed.n
    for depth in range(4):
        for u in range(n):
            if (moving.on[u] >= 0) == (depth > 0):
                place_unit(fixed, moving, u)
    hard, soft = 0.0, 0.0
    for u in range(n):
        h, s = shell_cost(fixed, moving, u)
        moving.shell[u, 0] = h
        moving.shell[u, 1] = s
        hard += h
        soft += s
        for v in range(u):
            h, s = pair_cost(fixed, moving, u, v)
            if fixed.mount[u] == FIXED and fixed.mount[v] == FIXED:
                h = 0.0
            moving.pair[u, v, 0] = h
            moving.pair[v, u, 0] = h
            moving.pair[u, v, 1] = s
            moving.pair[v, u, 1] = s
            hard += h
            soft += s
    return hard, soft


@compiled
def open_rectangle(fixed: Any, moving: Any, grid: Ints, heights: Ints) -> float:
    """Largest open rectangle on the raster of standing floor, m²; cells touched are taken."""
    rows, columns = fixed.rows, fixed.columns
    for r in range(rows):
        for c in range(columns):
            grid[r, c] = fixed.mask[r, c]
    for i in range(fixed.n_feet):
        b = moving.foot_in[i]
        if b[2] - b[5] >= fixed.rules[2]:
            continue
        c0 = max(int(math.floor((b[0] - fixed.origin[0]) / fixed.cell + 1e-9)), 0)
        c1 = min(int(math.ceil((b[3] - fixed.origin[0]) / fixed.cell - 1e-9)), columns)
        r0 = max(int(math.floor((b[1] - fixed.origin[1]) / fixed.cell + 1e-9)), 0)
        r1 = min(int(math.ceil((b[4] - fixed.origin[1]) / fixed.cell - 1e-9)), rows)
        for r in range(r0, r1):
            for c in range(c0, c1):
                grid[r, c] = 0
    best = 0
    for c in range(columns):
        heights[c] = 0
    rise, start = moving.rise, moving.start
    for r in range(rows):
        top = 0  # of a stack of ever higher runs, each with the column it begins at
        for c in range(columns + 1):
            height = 0
            if c < columns:
                heights[c] = heights[c] + 1 if grid[r, c] == 1 else 0
                height = heights[c]
            begin = c
            while top > 0 and rise[top - 1] >= height:
                top -= 1
                begin = start[top]
                best = max(best, rise[top] * (c - begin))
            rise[top] = height
            start[top] = begin
            top += 1
    return best * fixed.cell * fixed.cell * 1e-6


@compiled
def _gather(fixed: Any, moving: Any, members: Ints, count: int) -> int:
    """Add all that stands on the members, each after what it stands on."""
    k = 0
    while k < count:
        for v in range(fixed.n):
            if moving.on[v] == members[k]:
                known = False
                for j in range(count):
                    if members[j] == v:
                        known = True
                if not known:
                    members[count] = v
                    count += 1
        k += 1
    return count


@compiled
def _price(fixed: Any, moving: Any, members: Ints, count: int, rows: Floats, limit: float) -> float:
    """Cost of some units at their poses, each pair once; stops early past the limit.

    rows (n, n + 1, 2) is filled: what the members cost with each unit, and with the building.
    """
    rate = fixed.weights[5]
    n = fixed.n
    total = 0.0
    spare = 0.0  # what the pairs may yet give back for floor counted twice
    bodies = 0.0
    for k in range(count):
        for v in range(n):
            if v != members[k]:
                bodies += rate * bodies_meet(fixed, moving, members[k], v)
                # A pair of members is met twice.
                if bodies > (limit if count == 1 else 2.0 * limit):
                    return 1e18
    for k in range(count):
        h, s = shell_cost(fixed, moving, members[k])
        rows[k, n, 0] = h
        rows[k, n, 1] = s
        total += rate * h + s
        spare += s
        if total - spare > limit:
            return 1e18
    for k in range(count):
        u = members[k]
        for v in range(n):
            skip = v == u
            for j in range(k):
                if members[j] == v:
                    skip = True
            if skip:
                continue
            h, s = pair_cost(fixed, moving, u, v)
            rows[k, v, 0] = h
            rows[k, v, 1] = s
            total += rate * h + s
            if total - spare > limit:
                return 1e18
    return total


@compiled
def _held(fixed: Any, moving: Any, members: Ints, count: int) -> float:
    """What the members cost now, by the kept tables."""
    rate = fixed.weights[5]
    total = 0.0
    for k in range(count):
        u = members[k]
        total += rate * moving.shell[u, 0] + moving.shell[u, 1]
        for v in range(fixed.n):
            skip = v == u
            for j in range(k):
                if members[j] == v:
                    skip = True
            if not skip:
                total += rate * moving.pair[u, v, 0] + moving.pair[u, v, 1]
    return total


@compiled
def _keep(fixed: Any, moving: Any, members: Ints, count: int, rows: Floats) -> None:
    n = fixed.n
    for k in range(count):
        u = members[k]
        for e in range(2):
            moving.shell[u, e] = rows[k, n, e]
        for v in range(n):
            skip = v == u
            for j in range(k):
                if members[j] == v:
                    skip = True
            if not skip:
                for e in range(2):
                    moving.pair[u, v, e] = rows[k, v, e]
                    moving.pair[v, u, e] = rows[k, v, e]


@compiled
def anneal(
    records: tuple[Any, Any], free: Ints, sides: Floats, seed: int, moves: int, hot: Floats
) -> tuple[float, float]:
    """Run one restart of so many candidate moves, and leave the best it met in the moving record.

    records : arrays (1,) of the fixed and the moving record
    free : units that may move; sides (n,) how likely each keeps its back to the wall
    hot : (2,) first and last temperature, in the units of the soft cost
    Returns hard and soft cost of the best.
    """
    fixed, moving = records[0][0], records[1][0]
    n = fixed.n
    moving.state = np.uint64(seed) * np.uint64(2) + np.uint64(1)
    moving.tried = 0
    for _ in range(16):
        chance(moving)
    hard, soft = fill_costs(fixed, moving)
    rate = fixed.weights[5]
    members, rows, out = moving.members, moving.rows, moving.out
    was_pose, was_on, was_yaw = moving.was_pose, moving.was_on, moving.was_yaw
    best_pose, best_on, best_yaw = moving.best_pose, moving.best_on, moving.best_yaw
    grid, heights = moving.grid, moving.heights
    for v in range(n):
        for e in range(5):
            best_pose[v, e] = moving.pose[v, e]
        best_on[v] = moving.on[v]
        best_yaw[v] = moving.yaw[v]
    wide = fixed.weights[1]
    opened = open_rectangle(fixed, moving, grid, heights) * wide if wide > 0.0 else 0.0
    most = fixed.standing
    total = rate * hard + soft - opened
    best = total
    cooling = math.log(hot[1] / hot[0])
    heat, temperature = 1.0, hot[0]
    for move in range(moves):
        if move % 64 == 0:
            share = move / moves
            temperature = hot[0] * math.exp(cooling * share)
            heat = 1.0 - share
        u = free[pick(moving, len(free))]
        members[0] = u
        count = 1
        swap = -1
        if chance(moving) < 0.06 and len(free) > 1:
            swap = free[pick(moving, len(free))]
            if swap == u or moving.on[u] >= 0 or moving.on[swap] >= 0:
                continue
            if fixed.mount[u] != fixed.mount[swap]:
                continue
            members[1] = swap
            count = 2
        count = _gather(fixed, moving, members, count)
        for k in range(count):
            v = members[k]
            for e in range(5):
                was_pose[v, e] = moving.pose[v, e]
            was_on[v] = moving.on[v]
            was_yaw[v] = moving.yaw[v]
        held = _held(fixed, moving, members, count)
        if swap >= 0:
            swap_places(fixed, moving, u, swap, out)
        elif not propose(fixed, moving, u, heat, sides, out):
            continue
        moving.tried += 1
        if fixed.mount[u] == CEILING:
            hang(fixed, moving, u)
        for k in range(count):
            v = members[k]
            below = moving.on[v]
            if below >= 0 and k > 0:
                stand_on(fixed, moving, v, below)
            place_unit(fixed, moving, v)
        allowed = held - temperature * math.log(max(chance(moving), 1e-12))
        if wide > 0.0:
            allowed += wide * most - opened  # whatever the move may open
        price = _price(fixed, moving, members, count, rows, allowed)
        now_open = opened
        if price < 1e17 and wide > 0.0:
            now_open = open_rectangle(fixed, moving, grid, heights) * wide
            allowed -= wide * most - opened
            if price - now_open + opened > allowed:
                price = 1e18
        if price > allowed:
            for k in range(count):
                v = members[k]
                for e in range(5):
                    moving.pose[v, e] = was_pose[v, e]
                moving.on[v] = was_on[v]
                moving.yaw[v] = was_yaw[v]
            for k in range(count):
                place_unit(fixed, moving, members[k])
            continue
        _keep(fixed, moving, members, count, rows)
        total += price - held - (now_open - opened)
        opened = now_open
        for v in range(n):
            if fixed.shallow[v] == 0 and fixed.mount[v] in (WALL, CEILING):
                h, s = shell_cost(fixed, moving, v)
                total += rate * (h - moving.shell[v, 0]) + s - moving.shell[v, 1]
                moving.shell[v, 0] = h
                moving.shell[v, 1] = s
        if total < best - 1e-9:
            best = total
            for v in range(n):
                for e in range(5):
                    best_pose[v, e] = moving.pose[v, e]
                best_on[v] = moving.on[v]
                best_yaw[v] = moving.yaw[v]
    for v in range(n):
        for e in range(5):
            moving.pose[v, e] = best_pose[v, e]
        moving.on[v] = best_on[v]
        moving.yaw[v] = best_yaw[v]
    hard, soft = fill_costs(fixed, moving)
    if wide > 0.0:
        soft -= wide * open_rectangle(fixed, moving, grid, heights)
    return hard, soft


@compiled
def price_all(records: tuple[Any, Any]) -> tuple[float, float]:
    """Price every unit and pair where they stand; hard and soft totals."""
    return fill_costs(records[0][0], records[1][0])


@compiled
def open_now(records: tuple[Any, Any]) -> float:
    """Largest open rectangle where everything is now, m², and its raster left in the record."""
    fixed, moving = records[0][0], records[1][0]
    fill_costs(fixed, moving)
    return open_rectangle(fixed, moving, moving.grid, moving.heights)
