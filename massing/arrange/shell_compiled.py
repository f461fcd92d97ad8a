"""What one unit costs against the building where it stands: compiled loops.

The hard part is mm of penetration, a fixed charge more for each thing that is wrong; the soft
part is the objective.
"""

# ruff: noqa: C901, PLR0912, PLR0915, PLR1714, PLR1730, PLW3301
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

from massing.arrange.arrays import CEILING, FIXED, FLOOR, WALL
from massing.arrange.cost_compiled import CHARGE, FRONT, TOL, ceiling_least, clear_of
from massing.arrange.feet_compiled import tall_area
from massing.arrange.place_compiled import floor_under, is_square
from massing.arrange.plan_compiled import area_of, clipped, compiled, depth_in, sector_depth
from massing.geometry.solids import Floats

__all__ = ["shell_cost"]

_REHUNG = 0.02  # soft cost, m², of hanging something at another height than the scheme does
_PANE = 0.5  # soft cost, m², of hiding a whole window


@compiled
def _on_floor(fixed: Any, f: int, xy: Floats, one: Floats, two: Floats) -> float:
    """Area of a rectangle on one level of the floor, mm²."""
    b = fixed.floor_box[f]
    x0 = min(min(xy[0, 0], xy[1, 0]), min(xy[2, 0], xy[3, 0]))
    x1 = max(max(xy[0, 0], xy[1, 0]), max(xy[2, 0], xy[3, 0]))
    y0 = min(min(xy[0, 1], xy[1, 1]), min(xy[2, 1], xy[3, 1]))
    y1 = max(max(xy[0, 1], xy[1, 1]), max(xy[2, 1], xy[3, 1]))
    dx, dy = min(x1, b[2]) - max(x0, b[0]), min(y1, b[3]) - max(y0, b[1])
    if dx <= 0.0 or dy <= 0.0:
        return 0.0
    if b[4] == 1.0 and is_square(xy):
        return dx * dy
    n = clipped(xy, 4, fixed.floors[f], fixed.floor_counts[f], one, two)
    return area_of(one, n) if n >= 3 else 0.0


@compiled
def _apart(one: Floats, b: Floats) -> bool:
    """Whether a body's bounds (6) and plan bounds (4) have no floor in common."""
    return one[3] <= b[0] or b[2] <= one[0] or one[4] <= b[1] or b[3] <= one[1]


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
    return worst + CHARGE if worst > TOL else 0.0


@compiled
def _at_wall(fixed: Any, moving: Any, u: int) -> bool:
    """Whether some side of a unit is at a wall or at the building's fabric, its air between."""
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
            if near > 0.5 or near < -gap:
                continue
            along = (xy[0, 0] + xy[2, 0]) * 0.5 * wall[2] + (xy[0, 1] + xy[2, 1]) * 0.5 * wall[3]
            along -= wall[0] * wall[2] + wall[1] * wall[3]
            if 0.0 <= along <= wall[7]:
                return True
    a = moving.solid[u]
    for v in range(fixed.n_items, fixed.n):
        b = moving.solid[v]
        dx, dy = max(b[0] - a[3], a[0] - b[3]), max(b[1] - a[4], a[1] - b[4])
        if (-0.5 <= dx <= gap and dy < 0.0) or (-0.5 <= dy <= gap and dx < 0.0):
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
        if over > TOL:
            hard += over + CHARGE
        for k in range(fixed.n_leaves):
            leaf = fixed.leaves[k]
            if _apart(b, fixed.leaf_box[k]):
                continue
            if b[5] <= leaf[6] + TOL or b[2] >= leaf[7] - TOL:
                continue
            d = sector_depth(xy, 4, leaf, one, two)
            if d > TOL:
                hard += min(d, min(b[5] - leaf[6], leaf[7] - b[2])) + CHARGE
        for k in range(fixed.n_ways):
            if _apart(b, fixed.way_box[k]):
                continue
            if b[5] <= fixed.way_z[k, 0] + TOL or b[2] >= fixed.way_z[k, 1] - TOL:
                continue
            d = depth_in(xy, 4, fixed.ways[k], 4)
            if d > TOL:
                hard += min(d, min(b[5] - fixed.way_z[k, 0], fixed.way_z[k, 1] - b[2])) + CHARGE
        for k in range(fixed.n_panes):
            soft += _PANE * _hidden(fixed, fixed.panes[k], b, xy)
    mount = fixed.mount[u]
    if fixed.highest[u] < 1e8:
        over = base - floor_under(fixed, moving.box_xy[fixed.box_at[u]]) - fixed.highest[u]
        if over > TOL:
            hard += over + CHARGE
    if mount == FLOOR and moving.on[u] < 0 and fixed.n_floors > 1:
        whole, held = 0.0, 0.0
        for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
            if fixed.boxes[i, 2] > fixed.bounds[u, 2] + 1.0:
                continue
            xy = moving.box_xy[i]
            whole += area_of(xy, 4)
            for f in range(fixed.n_floors):
                if base - fixed.levels[f] <= 1.0:
                    held += _on_floor(fixed, f, xy, one, two)
        short = fixed.rules[3] - held / whole
        if short > 1e-9:
            hard += short * math.sqrt(whole) + CHARGE
    if mount in (WALL, CEILING):
        hard += _hung(fixed, moving, u)
        level = floor_under(fixed, moving.box_xy[fixed.box_at[u]])
        if mount == WALL and abs(base - level - fixed.hung_at[u]) > 1.0:
            soft += _REHUNG
    for i in range(fixed.zone_at[u], fixed.zone_at[u + 1]):
        xy = moving.zone_xy[i]
        d = _beyond(fixed, xy)
        if fixed.zone_kind[i, 1] == 2:
            if d > 0.0 and moving.on[u] < 0:
                soft += FRONT + d * 1e-4
            continue
        hard += d
        for k in range(fixed.n_leaves):
            if fixed.zone_leaves[i] >> k & 1 and not _apart(moving.zone_in[i], fixed.leaf_box[k]):
                d = sector_depth(xy, 4, fixed.leaves[k], one, two)
                if d > TOL:
                    hard += d + CHARGE
        if fixed.zone_kind[i, 1] == 0:
            continue
        for f in range(fixed.n_floors):
            if fixed.n_floors > 1:
                z, b = moving.zone_in[i], fixed.floor_box[f]
                if _apart(z, b):
                    continue
                if b[4] == 1.0 and is_square(xy):
                    n = 4
                    _shared_box(z, b, three)
                else:
                    n = clipped(xy, 4, fixed.floors[f], fixed.floor_counts[f], three, four)
                if n < 3 or area_of(three, n) < 1.0:
                    continue
                short = fixed.zone_needs[i] + fixed.levels[f]
                short -= ceiling_least(fixed, three, n, one, two)
            else:
                short = fixed.zone_needs[i] + fixed.levels[f]
                short -= ceiling_least(fixed, xy, 4, one, two)
            if short > TOL:
                hard += short + CHARGE
    for i in range(fixed.air_at[u], fixed.air_at[u + 1]):
        kind = fixed.air_kind[i]
        if kind != 1 and kind != 2:
            hard += _beyond(fixed, moving.air_xy[i])
        if kind in (1, 3):
            over = moving.air_in[i, 5] - ceiling_least(fixed, moving.air_xy[i], 4, one, two)
            if over > TOL:
                hard += over + CHARGE
    if mount == FLOOR and moving.on[u] < 0 and not _at_wall(fixed, moving, u):
        soft += fixed.loose[u]
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
def _shared_box(a: Floats, b: Floats, out: Floats) -> None:
    """Ring of what bounds (6) and plan bounds (4) have in common."""
    x0, x1 = max(a[0], b[0]), min(a[3], b[2])
    y0, y1 = max(a[1], b[1]), min(a[4], b[3])
    for k in range(4):
        out[k, 0] = x0 if k in (0, 3) else x1
        out[k, 1] = y0 if k < 2 else y1


@compiled
def _hidden(fixed: Any, pane: Floats, b: Floats, xy: Floats) -> float:
    """Share of a window one box hides, seen square to its wall."""
    up = min(b[5], pane[4]) - max(b[2], pane[3])
    if up <= TOL:
        return 0.0
    wall = fixed.walls[int(pane[0])]
    near, low, high = -1e18, 1e18, -1e18
    for k in range(4):
        near = max(near, xy[k, 0] * wall[4] + xy[k, 1] * wall[5] - wall[6])
        along = (xy[k, 0] - wall[0]) * wall[2] + (xy[k, 1] - wall[1]) * wall[3]
        low = min(low, along)
        high = max(high, along)
    wide = min(high, pane[2]) - max(low, pane[1])
    if near <= TOL - pane[5] or wide <= TOL:
        return 0.0
    return up * wide / ((pane[4] - pane[3]) * (pane[2] - pane[1]))


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
            if _apart(moving.box_in[i], fixed.floor_box[f]):
                continue
            n = clipped(moving.box_xy[i], 4, fixed.floors[f], fixed.floor_counts[f], three, four)
            if n < 3 or area_of(three, n) < 1.0:
                continue
            low = min(low, moving.box_in[i, 2] - fixed.levels[f])
            open_area += area_of(three, n)
            for v in range(fixed.n):
                if v == u or clear_of(moving.solid[v], moving.box_in[i]):
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
        if low < 1e17 and low >= 1400.0 and short > TOL and open_area > 1.0:
            worst = max(worst, min(short, low - 1400.0 + 1.0) + CHARGE)
    return worst
