"""What a pair of units costs where they stand, and what room a ring has: compiled loops.

The hard part is mm of penetration, a fixed charge more for each thing that is wrong; the soft
part is the objective. Both are filled into the moving arrays, nothing is made inside.
"""

# ruff: noqa: PLW3301
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

from massing.arrange.feet_compiled import shared_feet
from massing.arrange.plan_compiled import area_of, clipped, compiled, depth_in
from massing.geometry.solids import Floats, Ints

__all__ = [
    "CHARGE",
    "FRONT",
    "TOL",
    "bodies_meet",
    "ceiling_least",
    "clear_of",
    "pair_cost",
    "passed_under",
    "rest_of_pair",
]

TOL = 0.01  # mm; shallower is touching
FRONT = 0.1  # soft cost, m², of a store whose front is shut in
CHARGE = 20.0  # mm, added to each penetration so that none is kept for being small


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
def _meet(a: Floats, a_xy: Floats, b: Floats, b_xy: Floats, square: bool) -> float:
    """How far two upright boxes overlap, mm, charge added; 0 when they touch or are apart."""
    d = min(a[3], b[3]) - max(a[0], b[0])
    if d <= TOL:
        return 0.0
    e = min(a[4], b[4]) - max(a[1], b[1])
    if e <= TOL:
        return 0.0
    h = min(a[5], b[5]) - max(a[2], b[2])
    if h <= TOL:
        return 0.0
    if square:
        # The way out may be further than the overlap where one lies inside the other.
        d = min(a[3] - b[0], b[3] - a[0])
        e = min(a[4] - b[1], b[4] - a[1])
        d = min(d, e)
    else:
        d = depth_in(a_xy, 4, b_xy, 4)
        if d <= TOL:
            return 0.0
    return min(d, min(a[5] - b[2], b[5] - a[2])) + CHARGE


@compiled
def _is_square(moving: Any, u: int) -> bool:
    return abs(moving.pose[u, 2] * moving.pose[u, 3]) < 1e-12


@compiled
def _stack_of(moving: Any, u: int) -> int:
    while moving.on[u] >= 0:
        u = moving.on[u]
    return u


@compiled
def clear_of(a: Floats, b: Floats) -> bool:
    """Whether two bounds have no floor in common."""
    return a[3] <= b[0] or b[3] <= a[0] or a[4] <= b[1] or b[4] <= a[1]


@compiled
def passed_under(moving: Any, v: int, members: Ints, count: int) -> bool:
    """Whether something that moved was or is now where a unit hangs."""
    for k in range(count):
        m = members[k]
        if m == v:
            continue
        if not clear_of(moving.solid[v], moving.solid[m]):
            return True
        if not clear_of(moving.solid[v], moving.was_solid[m]):
            return True
    return False


@compiled
def pair_cost(fixed: Any, moving: Any, u: int, v: int) -> tuple[float, float, float]:
    """Hard and soft cost of two units, and the floor both take, which comes off the soft one."""
    hard, soft, shared = rest_of_pair(fixed, moving, u, v)
    return hard + bodies_meet(fixed, moving, u, v), soft, shared


@compiled
def rest_of_pair(fixed: Any, moving: Any, u: int, v: int) -> tuple[float, float, float]:
    """The same of two units but for their bodies."""
    hard, soft, shared = 0.0, 0.0, 0.0
    near = fixed.near[u, v]
    if near <= 0.0 and clear_of(moving.whole[u], moving.whole[v]):
        return hard, soft, shared
    square = _is_square(moving, u) and _is_square(moving, v)
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
        if near > 0.0:
            i, j = fixed.box_at[u], fixed.box_at[v]
            dx = moving.box_in[i, 0] + moving.box_in[i, 3]
            dx -= moving.box_in[j, 0] + moving.box_in[j, 3]
            dy = moving.box_in[i, 1] + moving.box_in[i, 4]
            dy -= moving.box_in[j, 1] + moving.box_in[j, 4]
            soft += near * 0.5 * math.hypot(dx, dy) * 1e-3
    if fixed.weights[0] > 0.0 and moving.on[u] < 0 and moving.on[v] < 0:
        shared = shared_feet(fixed, moving, u, v)
    return hard, soft, shared


@compiled
def bodies_meet(fixed: Any, moving: Any, u: int, v: int) -> float:
    """The part of a pair's hard cost that is their bodies: what is cheapest to know."""
    hard = 0.0
    a, b = moving.solid[u], moving.solid[v]
    if clear_of(a, b) or a[5] <= b[2] or b[5] <= a[2]:
        return hard
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
                    soft += FRONT + d * 1e-4
        for i in range(fixed.air_at[u], fixed.air_at[u + 1]):
            hard += _meet(moving.air_in[i], moving.air_xy[i], b, xy, square)
    return hard, soft
