"""What one unit, and one pair of units, cost where they stand: compiled loops.

The hard part is mm of penetration, a fixed charge more for each thing that is wrong; the soft
part is the objective. Both are filled into the moving arrays, nothing is made inside.
"""

# ruff: noqa: C901, PLR0912, PLR0915, PLR1714, PLR1730, PLW3301
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

from massing.arrange.arrays import CEILING, FIXED, FLOOR, WALL
from massing.arrange.place_compiled import floor_under
from massing.arrange.plan_compiled import area_of, clipped, compiled, depth_in, sector_depth
from massing.geometry.solids import Floats

__all__ = ["bodies_meet", "ceiling_least", "pair_cost", "shell_cost", "tall_area"]

_TOL = 0.01  # mm; shallower is touching
_FRONT = 0.1  # soft cost, m², of a store whose front is shut in
_LOOSE = 0.02  # soft cost, m², of standing free: of equals, what is tidier
_CHARGE = 20.0  # mm, added to each penetration so that none is kept for being small


@compiled
def ceiling_least(fixed: Any, ring: Floats, n: int, one: Floats, two: Floats) -> float:
    """Least ceiling z over a ring; 1e9 where it is all outside."""
    best = 1e9
    if fixed.concave == 1:
        for k in range(n):
            for p in range(fixed.n_planes):
                q = fixed.planes[0, p]
                best = min(best, q[0] * ring[k, 0] + q[1] * ring[k, 1] + q[2])
        return best
    for i in range(fixed.n_ceilings):
        m = clipped(ring, n, fixed.ceilings[i], fixed.ceiling_counts[i], one, two)
        if m < 3 or area_of(one, m) < 1.0:
            continue
        for k in range(m):
            for p in range(fixed.n_planes):
                q = fixed.planes[i, p]
                best = min(best, q[0] * one[k, 0] + q[1] * one[k, 1] + q[2])
    return best


@compiled
def tall_area(fixed: Any, ring: Floats, n: int, one: Floats, two: Floats) -> float:
    """Area of a ring over floor with standing height, m²."""
    total = 0.0
    for t in range(fixed.n_tall):
        m = clipped(ring, n, fixed.tall[t], fixed.tall_counts[t], one, two)
        if m >= 3:
            total += area_of(one, m)
    return total * 1e-6


@compiled
def _meet(a: Floats, a_xy: Floats, b: Floats, b_xy: Floats, square: bool) -> float:
    """How far two upright boxes overlap, mm, charge added; 0 when they touch or are apart."""
    d = min(a[3], b[3]) - max(a[0], b[0])
    if d <= _TOL:
        return 0.0
    e = min(a[4], b[4]) - max(a[1], b[1])
    if e <= _TOL:
        return 0.0
    h = min(a[5], b[5]) - max(a[2], b[2])
    if h <= _TOL:
        return 0.0
    if square:
        # The way out may be further than the overlap where one lies inside the other.
        d = min(a[3] - b[0], b[3] - a[0])
        e = min(a[4] - b[1], b[4] - a[1])
        d = min(d, e)
    else:
        d = depth_in(a_xy, 4, b_xy, 4)
        if d <= _TOL:
            return 0.0
    return min(d, min(a[5] - b[2], b[5] - a[2])) + _CHARGE


@compiled
def _beyond(fixed: Any, xy: Floats) -> float:
    """How far a rectangle reaches out of the room, mm, charge added."""
    worst = 0.0
    for h in range(fixed.n_halves):
        w = fixed.walls[fixed.halves[h]]
        for k in range(4):
            d = xy[k, 0] * w[4] + xy[k, 1] * w[5] - w[6]
            if d > worst:
                worst = d
    for o in range(fixed.n_outs):
        d = depth_in(xy, 4, fixed.outs[o], fixed.out_counts[o])
        if d > worst:
            worst = d
    return worst + _CHARGE if worst > _TOL else 0.0


@compiled
def _is_square(moving: Any, u: int) -> bool:
    return abs(moving.pose[u, 2] * moving.pose[u, 3]) < 1e-12


@compiled
def _stack_of(moving: Any, u: int) -> int:
    while moving.on[u] >= 0:
        u = moving.on[u]
    return u


@compiled
def _at_wall(fixed: Any, moving: Any, u: int) -> bool:
    """Whether some side of a unit is at a wall, its air between."""
    gap = 0.5
    for side in range(4):
        gap = max(gap, fixed.side_gap[u, side] + 0.5)
    for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
        xy = moving.box_xy[i]
        for w in range(fixed.n_walls):
            wall = fixed.walls[w]
            near = -1e18
            for k in range(4):
                near = max(near, xy[k, 0] * wall[4] + xy[k, 1] * wall[5] - wall[6])
            along = (xy[0, 0] + xy[2, 0]) * 0.5 * wall[2] + (xy[0, 1] + xy[2, 1]) * 0.5 * wall[3]
            along -= wall[0] * wall[2] + wall[1] * wall[3]
            if -gap <= near <= 0.5 and 0.0 <= along <= wall[7]:
                return True
    return False


@compiled
def shell_cost(fixed: Any, moving: Any, u: int) -> tuple[float, float]:
    """Hard and soft cost of one unit against the building."""
    hard, soft = 0.0, 0.0
    if fixed.mount[u] == FIXED:
        return hard, soft  # what is wrong with what stays is not for the search to mend
    s = moving.scratch
    one, two, three, four = s[0], s[1], s[2], s[3]
    low_rule = fixed.rules[2]
    base = 1e18
    for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
        b, xy = moving.box_in[i], moving.box_xy[i]
        base = min(base, b[2])
        hard += _beyond(fixed, xy)
        over = b[5] - ceiling_least(fixed, xy, 4, one, two)
        if over > _TOL:
            hard += over + _CHARGE
        for k in range(fixed.n_leaves):
            leaf = fixed.leaves[k]
            if b[5] <= leaf[6] + _TOL or b[2] >= leaf[7] - _TOL:
                continue
            d = sector_depth(xy, 4, leaf, one, two)
            if d > _TOL:
                hard += min(d, min(b[5] - leaf[6], leaf[7] - b[2])) + _CHARGE
        for k in range(fixed.n_ways):
            if b[5] <= fixed.way_z[k, 0] + _TOL or b[2] >= fixed.way_z[k, 1] - _TOL:
                continue
            d = depth_in(xy, 4, fixed.ways[k], 4)
            if d > _TOL:
                hard += min(d, min(b[5] - fixed.way_z[k, 0], fixed.way_z[k, 1] - b[2])) + _CHARGE
    mount = fixed.mount[u]
    if mount == FLOOR and moving.on[u] < 0 and fixed.n_floors > 1:
        whole, held = 0.0, 0.0
        for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
            if fixed.boxes[i, 2] > fixed.bounds[u, 2] + 1.0:
                continue
            xy = moving.box_xy[i]
            whole += area_of(xy, 4)
            for f in range(fixed.n_floors):
                if base - fixed.levels[f] <= 1.0:
                    n = clipped(xy, 4, fixed.floors[f], fixed.floor_counts[f], one, two)
                    if n >= 3:
                        held += area_of(one, n)
        short = fixed.rules[3] - held / whole
        if short > 1e-9:
            hard += short * math.sqrt(whole) + _CHARGE
    if mount in (WALL, CEILING):
        hard += _hung(fixed, moving, u)
    for i in range(fixed.zone_at[u], fixed.zone_at[u + 1]):
        xy = moving.zone_xy[i]
        d = _beyond(fixed, xy)
        if fixed.zone_kind[i, 1] == 2:
            if d > 0.0 and moving.on[u] < 0:
                soft += _FRONT + d * 1e-4
            continue
        hard += d
        for k in range(fixed.n_leaves):
            if fixed.zone_leaves[i] >> k & 1:
                d = sector_depth(xy, 4, fixed.leaves[k], one, two)
                if d > _TOL:
                    hard += d + _CHARGE
        if fixed.zone_kind[i, 1] == 0:
            continue
        for f in range(fixed.n_floors):
            n = 4
            if fixed.n_floors > 1:
                n = clipped(xy, 4, fixed.floors[f], fixed.floor_counts[f], three, four)
                if n < 3 or area_of(three, n) < 1.0:
                    continue
                short = fixed.zone_needs[i] + fixed.levels[f]
                short -= ceiling_least(fixed, three, n, one, two)
            else:
                short = fixed.zone_needs[i] + fixed.levels[f]
                short -= ceiling_least(fixed, xy, 4, one, two)
            if short > _TOL:
                hard += short + _CHARGE
    for i in range(fixed.air_at[u], fixed.air_at[u + 1]):
        kind = fixed.air_kind[i]
        if kind != 1 and kind != 2:
            hard += _beyond(fixed, moving.air_xy[i])
        if kind in (1, 3):
            over = moving.air_in[i, 5] - ceiling_least(fixed, moving.air_xy[i], 4, one, two)
            if over > _TOL:
                hard += over + _CHARGE
    if mount == FLOOR and moving.on[u] < 0 and not _at_wall(fixed, moving, u):
        soft += _LOOSE
    if moving.on[u] < 0:
        for i in range(fixed.feet_at[u], fixed.feet_at[u + 1]):
            if moving.foot_in[i, 2] - moving.foot_in[i, 5] < low_rule:
                soft += fixed.weights[0] * tall_area(fixed, moving.foot_xy[i], 4, one, two)
    if fixed.weights[2] > 0.0 and fixed.weight_of[u, 0] == 1 and fixed.n_doors > 0:
        i = fixed.zone_at[u]
        zx = 0.5 * (moving.zone_xy[i, 0, 0] + moving.zone_xy[i, 2, 0])
        zy = 0.5 * (moving.zone_xy[i, 0, 1] + moving.zone_xy[i, 2, 1])
        near = 1e18
        for k in range(fixed.n_doors):
            far = math.hypot(zx - fixed.doors[k, 0], zy - fixed.doors[k, 1])
            if far < near:
                near = far
        soft += fixed.weights[2] * near * 1e-3
    if fixed.weights[4] > 0.0 and fixed.weight_of[u, 2] == 1:
        i = fixed.box_at[u]
        level = floor_under(fixed, moving.box_xy[i])
        middle = 0.5 * (moving.box_in[i, 2] + moving.box_in[i, 5]) - level
        soft += fixed.weights[4] * max(max(600.0 - middle, middle - 1500.0), 0.0) * 1e-3
    return hard, soft


@compiled
def _hung(fixed: Any, moving: Any, u: int) -> float:
    """Shortage of height under what hangs, where someone could walk beneath it."""
    if fixed.shallow[u] == 1 and fixed.mount[u] != CEILING:
        return 0.0
    s = moving.scratch
    one, two, three, four = s[0], s[1], s[2], s[3]
    worst = 0.0
    for f in range(fixed.n_floors):
        low = 1e18
        open_area = 0.0
        for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
            n = clipped(moving.box_xy[i], 4, fixed.floors[f], fixed.floor_counts[f], three, four)
            if n < 3 or area_of(three, n) < 1.0:
                continue
            low = min(low, moving.box_in[i, 2] - fixed.levels[f])
            open_area += area_of(three, n)
            for v in range(fixed.n):
                if v == u:
                    continue
                for j in range(fixed.box_at[v], fixed.box_at[v + 1]):
                    b, a = moving.box_in[j], moving.box_in[i]
                    if b[2] - fixed.levels[f] >= 1400.0:
                        continue
                    if b[3] <= a[0] or b[0] >= a[3] or b[4] <= a[1] or b[1] >= a[4]:
                        continue
                    m = clipped(three, n, moving.box_xy[j], 4, one, two)
                    if m >= 3:
                        open_area -= area_of(one, m)
        short = fixed.rules[1] - low
        if low < 1e17 and low >= 1400.0 and short > _TOL and open_area > 1.0:
            worst = max(worst, min(short, low - 1400.0 + 1.0) + _CHARGE)
    return worst


@compiled
def pair_cost(fixed: Any, moving: Any, u: int, v: int) -> tuple[float, float]:
    """Hard and soft cost of two units."""
    hard, soft = 0.0, 0.0
    one, two = moving.whole[u], moving.whole[v]
    apart = one[3] <= two[0] or two[3] <= one[0] or one[4] <= two[1] or two[4] <= one[1]
    if apart and fixed.weights[3] <= 0.0:
        return hard, soft
    square = _is_square(moving, u) and _is_square(moving, v)
    hard += bodies_meet(fixed, moving, u, v)
    if _stack_of(moving, u) != _stack_of(moving, v):
        h, s = _intrusions(fixed, moving, u, v, square)
        hard += h
        soft += s
        h, s = _intrusions(fixed, moving, v, u, square)
        hard += h
        soft += s
        if fixed.at_once[u, v] == 1:
            for i in range(fixed.zone_at[u], fixed.zone_at[u + 1]):
                for j in range(fixed.zone_at[v], fixed.zone_at[v + 1]):
                    a, b = moving.zone_in[i], moving.zone_in[j]
                    hard += _meet(a, moving.zone_xy[i], b, moving.zone_xy[j], square)
        if fixed.weights[3] > 0.0 and fixed.weight_of[u, 1] == 1 and fixed.weight_of[v, 1] == 1:
            i, j = fixed.box_at[u], fixed.box_at[v]
            dx = moving.box_in[i, 0] + moving.box_in[i, 3]
            dx -= moving.box_in[j, 0] + moving.box_in[j, 3]
            dy = moving.box_in[i, 1] + moving.box_in[i, 4]
            dy -= moving.box_in[j, 1] + moving.box_in[j, 4]
            soft += fixed.weights[3] * 0.5 * math.hypot(dx, dy) * 1e-3
    if fixed.weights[0] > 0.0 and moving.on[u] < 0 and moving.on[v] < 0:
        soft -= _shared_feet(fixed, moving, u, v)
    return hard, soft


@compiled
def bodies_meet(fixed: Any, moving: Any, u: int, v: int) -> float:
    """The part of a pair's hard cost that is their bodies: what is cheapest to know."""
    hard = 0.0
    square = _is_square(moving, u) and _is_square(moving, v)
    for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
        for j in range(fixed.box_at[v], fixed.box_at[v + 1]):
            hard += _meet(
                moving.box_in[i], moving.box_xy[i], moving.box_in[j], moving.box_xy[j], square
            )
    return hard


@compiled
def _intrusions(fixed: Any, moving: Any, u: int, v: int, square: bool) -> tuple[float, float]:
    """What of v stands in the zones or air of u, and before what is opened from its front."""
    hard, soft = 0.0, 0.0
    for j in range(fixed.box_at[v], fixed.box_at[v + 1]):
        b, xy = moving.box_in[j], moving.box_xy[j]
        if fixed.passable[v] == 0:
            for i in range(fixed.zone_at[u], fixed.zone_at[u + 1]):
                if fixed.zone_kind[i, 0] == 1 and fixed.light[v] == 1:
                    continue
                d = _meet(moving.zone_in[i], moving.zone_xy[i], b, xy, square)
                if fixed.zone_kind[i, 1] != 2:
                    hard += d
                elif d > 0.0:
                    soft += _FRONT + d * 1e-4
        for i in range(fixed.air_at[u], fixed.air_at[u + 1]):
            hard += _meet(moving.air_in[i], moving.air_xy[i], b, xy, square)
    return hard, soft


@compiled
def _shared_feet(fixed: Any, moving: Any, u: int, v: int) -> float:
    """Standing floor that two units take both, so that it is counted once; weighted m²."""
    s = moving.scratch
    one, two, three, four = s[0], s[1], s[2], s[3]
    low = fixed.rules[2]
    total = 0.0
    for i in range(fixed.feet_at[u], fixed.feet_at[u + 1]):
        a = moving.foot_in[i]
        for j in range(fixed.feet_at[v], fixed.feet_at[v + 1]):
            b = moving.foot_in[j]
            if a[3] <= b[0] or b[3] <= a[0] or a[4] <= b[1] or b[4] <= a[1]:
                continue
            n = clipped(moving.foot_xy[i], 4, moving.foot_xy[j], 4, three, four)
            if n < 3:
                continue
            if a[2] - a[5] < low and b[2] - b[5] < low:
                total += tall_area(fixed, three, n, one, two)
    return total * fixed.weights[0]
