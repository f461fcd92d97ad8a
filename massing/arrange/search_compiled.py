"""Simulated annealing over places in a room: records and a seed in, the best poses out.

Source: Kirkpatrick, Gelatt and Vecchi, "Optimization by simulated annealing", Science 220, 1983.
"""

# ruff: noqa: C901, PLR0912, PLR0915
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import CEILING, FIXED, WALL
from massing.arrange.cost_compiled import bodies_meet, pair_cost, passed_under, rest_of_pair
from massing.arrange.feet_compiled import given_again, over_one_another
from massing.arrange.moves_compiled import chance, hang, pick, propose, stand_on, swap_places
from massing.arrange.open_compiled import open_rectangle
from massing.arrange.place_compiled import place_bodies, place_rest, place_unit
from massing.arrange.plan_compiled import compiled
from massing.arrange.shell_compiled import shell_cost
from massing.arrange.walking_compiled import redraw, shut_in
from massing.geometry.solids import Floats, Ints

_LATE = 0.35  # share of the moves after which ways through the room count

__all__ = ["anneal", "fill_costs", "open_now", "price_all"]


@compiled
def fill_costs(fixed: Any, moving: Any) -> tuple[float, float]:
    """Place everything and price it afresh; the hard and soft totals."""
    n = fixed.n
    depth, left = 0, n
    while left > 0 and depth <= n:
        for u in range(n):
            below, level = moving.on[u], 0
            while below >= 0:
                below = moving.on[below]
                level += 1
            if level == depth:
                place_unit(fixed, moving, u)
                left -= 1
        depth += 1
    for u in range(n):
        redraw(moving, u)
        moving.again[u] = -1.0
    hard, soft = 0.0, 0.0
    for u in range(n):
        h, s = shell_cost(fixed, moving, u)
        moving.shell[u, 0] = h
        moving.shell[u, 1] = s
        hard += h
        soft += s
        for v in range(u):
            h, s, shared = pair_cost(fixed, moving, u, v)
            if fixed.mount[u] == FIXED and fixed.mount[v] == FIXED:
                h, shared = 0.0, 0.0  # neither is charged for the floor it takes
            s -= shared
            moving.pair[u, v, 0] = h
            moving.pair[v, u, 0] = h
            moving.pair[u, v, 1] = s
            moving.pair[v, u, 1] = s
            moving.shared[u, v] = shared
            moving.shared[v, u] = shared
            hard += h
            soft += s
    return hard, soft + over_one_another(fixed, moving)


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
def _meetings(fixed: Any, moving: Any, members: Ints, count: int, limit: float) -> bool:
    """Whether the bodies of some units alone cost no more than the limit; fills ``rows``.

    Only their boxes need be at their poses.
    """
    rate, rows = fixed.weights[5], moving.rows
    bodies = 0.0
    for k in range(count):
        for v in range(fixed.n):
            h = 0.0
            if v != members[k]:
                h = bodies_meet(fixed, moving, members[k], v)
            rows[k, v, 0] = h
            bodies += rate * h
            # A pair of members is met twice.
            if bodies > (limit if count == 1 else 2.0 * limit):
                return False
    return True


@compiled
def _price(fixed: Any, moving: Any, members: Ints, count: int, limit: float) -> float:
    """Cost of some units at their poses, each pair once; stops early past the limit.

    rows (n, n + 1, 3) holds what their bodies cost with each unit, and is filled with all they
    cost with each unit and with the building, and the floor they share with each.
    """
    rate, rows, others = fixed.weights[5], moving.rows, moving.others
    n = fixed.n
    total, back = 0.0, 0.0
    spare = 0.0  # all that can come back for floor that others take too: the floor itself
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
        met = 0
        for v in range(n):
            skip = v == u
            for j in range(k):
                if members[j] == v:
                    skip = True
            if skip:
                continue
            h, s, shared = rest_of_pair(fixed, moving, u, v)
            h += rows[k, v, 0]
            rows[k, v, 0] = h
            rows[k, v, 1] = s - shared
            rows[k, v, 2] = shared
            total += rate * h + s
            if total - spare > limit:
                return 1e18
            if shared > 0.0:
                back += shared
                others[met] = v
                met += 1
        if k + 1 == count and total - back > limit:
            return 1e18
        if met > 1:
            back -= given_again(fixed, moving, u, others, met)
    return total - back


@compiled
def _aside(fixed: Any, moving: Any, late: bool) -> float:
    """What the whole layout costs beside its units and pairs: ways too tight, less what is open."""
    total = 0.0
    if late:
        h, s = shut_in(fixed, moving)
        total += fixed.weights[5] * h + s
    if fixed.weights[1] > 0.0:
        total -= fixed.weights[1] * open_rectangle(fixed, moving, moving.grid, moving.heights)
    return total


@compiled
def _held(fixed: Any, moving: Any, members: Ints, count: int) -> float:
    """What the members cost now, by the kept tables; their feet must be where they were."""
    rate, others = fixed.weights[5], moving.others
    total = 0.0
    for k in range(count):
        u = members[k]
        met = 0
        total += rate * moving.shell[u, 0] + moving.shell[u, 1]
        for v in range(fixed.n):
            skip = v == u
            for j in range(k):
                if members[j] == v:
                    skip = True
            if not skip:
                total += rate * moving.pair[u, v, 0] + moving.pair[u, v, 1]
                if moving.shared[u, v] > 0.0:
                    others[met] = v
                    met += 1
        if met > 1 and count > 1:
            total += given_again(fixed, moving, u, others, met)
        elif met > 1:
            if moving.again[u] < 0.0:
                moving.again[u] = max(given_again(fixed, moving, u, others, met), 0.0)
            total += moving.again[u]
    return total


@compiled
def _keep(fixed: Any, moving: Any, members: Ints, count: int) -> None:
    n, rows = fixed.n, moving.rows
    for k in range(count):
        u = members[k]
        moving.again[u] = -1.0
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
                if moving.shared[u, v] > 0.0 or rows[k, v, 2] > 0.0:
                    moving.again[v] = -1.0
                moving.shared[u, v] = rows[k, v, 2]
                moving.shared[v, u] = rows[k, v, 2]


@compiled
def _note(fixed: Any, moving: Any) -> None:
    """Keep where everything is as the best so far."""
    for v in range(fixed.n):
        for e in range(5):
            moving.best_pose[v, e] = moving.pose[v, e]
        moving.best_on[v] = moving.on[v]
        moving.best_yaw[v] = moving.yaw[v]


@compiled
def anneal(
    records: tuple[Any, Any], free: Ints, sides: Floats, seed: int, moves: int, hot: Floats
) -> tuple[float, float]:
    """Run one restart of so many candidate moves, and leave the best it met in the moving record.

    records : arrays (1,) of the fixed and the moving record
    free : units that may move; sides (n,) how likely each keeps its back to the wall
    hot : (2,) first and last temperature, in the units of the soft cost
    Ways through the room count from when the heat no longer throws everything about: a zone
    nobody gets to costs more than any move is given then. Returns hard and soft cost of the best.
    """
    fixed, moving = records[0][0], records[1][0]
    n = fixed.n
    moving.state = np.uint64(seed) * np.uint64(2) + np.uint64(1)
    moving.tried = 0
    for _ in range(16):
        chance(moving)
    hard, soft = fill_costs(fixed, moving)
    rate = fixed.weights[5]
    members, out = moving.members, moving.out
    was_pose, was_on, was_yaw = moving.was_pose, moving.was_on, moving.was_yaw
    most = fixed.weights[1] * fixed.standing
    late = fixed.walk_rows > 0 and moves < 64
    whole = most > 0.0 or late
    aside = _aside(fixed, moving, late) if whole else 0.0
    total = rate * hard + soft + aside
    best = total
    _note(fixed, moving)
    cooling = math.log(hot[1] / hot[0])
    heat, temperature = 1.0, hot[0]
    for move in range(moves):
        if move % 64 == 0:
            share = move / moves
            temperature = hot[0] * math.exp(cooling * share)
            heat = 1.0 - share
            if not late and share >= _LATE and fixed.walk_rows > 0:
                late, whole = True, True
                total -= aside
                aside = _aside(fixed, moving, late)
                total += aside
                best = total
                _note(fixed, moving)
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
            for e in range(6):
                moving.was_solid[v, e] = moving.solid[v, e]
            was_on[v] = moving.on[v]
            was_yaw[v] = moving.yaw[v]
        if swap >= 0:
            swap_places(fixed, moving, u, swap, out)
        elif not propose(fixed, moving, u, heat, sides, out):
            moving.on[u] = was_on[u]
            continue
        moving.tried += 1
        held = _held(fixed, moving, members, count)
        if fixed.mount[u] == CEILING:
            hang(fixed, moving, u)
        for k in range(count):
            v = members[k]
            below = moving.on[v]
            if below >= 0 and k > 0:
                stand_on(fixed, moving, v, below)
            place_bodies(fixed, moving, v)
        allowed = held - temperature * math.log(max(chance(moving), 1e-12))
        # Whatever the whole layout may gain by the move is granted at first.
        granted = allowed + aside + most if whole else allowed
        moved = 1
        price, now_aside = 1e18, aside
        if _meetings(fixed, moving, members, count, granted):
            moved = 2
            for k in range(count):
                place_rest(fixed, moving, members[k])
            price = _price(fixed, moving, members, count, granted)
            if price < 1e17 and whole:
                moved = 3
                for k in range(count):
                    redraw(moving, members[k])
                now_aside = _aside(fixed, moving, late)
                if price + now_aside - aside > allowed:
                    price = 1e18
        if price > allowed and not (whole and price < 1e17):
            for k in range(count):
                v = members[k]
                for e in range(5):
                    moving.pose[v, e] = was_pose[v, e]
                moving.on[v] = was_on[v]
                moving.yaw[v] = was_yaw[v]
            for k in range(count):
                place_bodies(fixed, moving, members[k])
                if moved >= 2:
                    place_rest(fixed, moving, members[k])
                if moved == 3:
                    redraw(moving, members[k])
            continue
        _keep(fixed, moving, members, count)
        total += price - held + now_aside - aside
        aside = now_aside
        for v in range(n):
            if (
                fixed.shallow[v] == 0
                and (fixed.mount[v] == WALL or fixed.mount[v] == CEILING)
                and passed_under(moving, v, members, count)
            ):
                h, s = shell_cost(fixed, moving, v)
                total += rate * (h - moving.shell[v, 0]) + s - moving.shell[v, 1]
                moving.shell[v, 0] = h
                moving.shell[v, 1] = s
        if total < best - 1e-9:
            best = total
            _note(fixed, moving)
    for v in range(n):
        for e in range(5):
            moving.pose[v, e] = moving.best_pose[v, e]
        moving.on[v] = moving.best_on[v]
        moving.yaw[v] = moving.best_yaw[v]
    return _whole_cost(fixed, moving)


@compiled
def _whole_cost(fixed: Any, moving: Any) -> tuple[float, float]:
    """Hard and soft cost of everything where it stands, priced afresh."""
    hard, soft = fill_costs(fixed, moving)
    h, s = shut_in(fixed, moving)
    hard += h
    soft += s
    if fixed.weights[1] > 0.0:
        soft -= fixed.weights[1] * open_rectangle(fixed, moving, moving.grid, moving.heights)
    return hard, soft


@compiled
def price_all(records: tuple[Any, Any]) -> tuple[float, float]:
    """Price every unit and pair where they stand; hard and soft totals."""
    return _whole_cost(records[0][0], records[1][0])


@compiled
def open_now(records: tuple[Any, Any]) -> float:
    """Largest open rectangle where everything is now, m², and its raster left in the record."""
    fixed, moving = records[0][0], records[1][0]
    fill_costs(fixed, moving)
    return open_rectangle(fixed, moving, moving.grid, moving.heights)
