"""How much floor things take between them, each piece of it counted once: compiled loops.

Units and where they stand in, weighted m² of standing floor out. What two take both is known pair
by pair; where three or more lie over one another the pairs alone would give floor back too often.
"""

# mypy: disable-error-code="no-any-return"

from __future__ import annotations

from typing import Any

from massing.arrange.arrays import FIXED
from massing.arrange.plan_compiled import area_of, clipped, compiled, cut
from massing.geometry.solids import Floats, Ints

__all__ = ["given_again", "over_one_another", "shared_feet", "tall_area"]

_MANY = 16  # corners; a piece with more is halved
_NONE = 1e-6  # mm²; a smaller piece is what rounding leaves along a common side


@compiled
def tall_area(fixed: Any, ring: Floats, n: int, one: Floats, two: Floats) -> float:
    """Area of a ring over floor with standing height, m²."""
    x0, y0, x1, y1 = 1e18, 1e18, -1e18, -1e18
    for k in range(n):
        x0 = min(x0, ring[k, 0])
        x1 = max(x1, ring[k, 0])
        y0 = min(y0, ring[k, 1])
        y1 = max(y1, ring[k, 1])
    square = n == 4 and _is_upright(ring)
    total = 0.0
    for t in range(fixed.n_tall):
        b = fixed.tall_box[t]
        dx, dy = min(x1, b[2]) - max(x0, b[0]), min(y1, b[3]) - max(y0, b[1])
        if dx <= 0.0 or dy <= 0.0:
            continue
        if square and b[4] == 1.0:
            total += dx * dy
            continue
        m = clipped(ring, n, fixed.tall[t], fixed.tall_counts[t], one, two)
        if m >= 3:
            total += area_of(one, m)
    return total * 1e-6


@compiled
def _is_upright(ring: Floats) -> bool:
    """Whether four corners are a rectangle along the axes: what is clipped may have one side so."""
    e = 0 if abs(ring[1, 0] - ring[0, 0]) < 1e-9 else 1
    for k in range(4):
        d = e if k % 2 == 0 else 1 - e
        if abs(ring[k + 1 if k < 3 else 0, d] - ring[k, d]) >= 1e-9:
            return False
    return True


@compiled
def shared_feet(fixed: Any, moving: Any, u: int, v: int) -> float:
    """Standing floor that two units take both; weighted m²."""
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
            if a[2] - a[5] >= low or b[2] - b[5] >= low:
                continue
            n = clipped(moving.foot_xy[i], 4, moving.foot_xy[j], 4, three, four)
            if n >= 3:
                total += tall_area(fixed, three, n, one, two)
    return total * fixed.weights[0]


@compiled
def given_again(fixed: Any, moving: Any, u: int, others: Ints, count: int) -> float:
    """What the shares of a unit with so many others come to beyond the floor it shares at all.

    others : units each of which shares floor with it. Returns weighted m², 0 where no two of the
    shares meet.
    """
    low = fixed.rules[2]
    feet = moving.feet
    total = 0.0
    for i in range(fixed.feet_at[u], fixed.feet_at[u + 1]):
        a = moving.foot_in[i]
        if a[2] - a[5] >= low:
            continue
        met = 0
        for k in range(count):
            v = others[k]
            before = met
            for j in range(fixed.feet_at[v], fixed.feet_at[v + 1]):
                b = moving.foot_in[j]
                if a[3] <= b[0] or b[3] <= a[0] or a[4] <= b[1] or b[4] <= a[1]:
                    continue
                if b[2] - b[5] >= low:
                    continue
                if _meets_one(moving, i, j, before):
                    total += _in_some(fixed, moving, i, j, before)
                feet[met] = j
                met += 1
    return total * fixed.weights[0]


@compiled
def over_one_another(fixed: Any, moving: Any) -> float:
    """What the pairs of all units give back too often for floor that three or more take."""
    others, total = moving.others, 0.0
    for u in range(fixed.n):
        if fixed.mount[u] == FIXED:
            continue
        met = 0
        for v in range(fixed.n):
            if moving.shared[u, v] > 0.0 and (v < u or fixed.mount[v] == FIXED):
                others[met] = v
                met += 1
        if met > 1:
            total += given_again(fixed, moving, u, others, met)
    return total


@compiled
def _meets_one(moving: Any, i: int, j: int, count: int) -> bool:
    """Whether the bounds of two feet and of one of those kept have floor in common."""
    a, b = moving.foot_in[i], moving.foot_in[j]
    x0, x1 = max(a[0], b[0]), min(a[3], b[3])
    y0, y1 = max(a[1], b[1]), min(a[4], b[4])
    for k in range(count):
        c = moving.foot_in[moving.feet[k]]
        if min(x1, c[3]) > max(x0, c[0]) and min(y1, c[4]) > max(y0, c[1]):
            return True
    return False


@compiled
def _in_some(fixed: Any, moving: Any, i: int, j: int, count: int) -> float:
    """Standing floor two feet share that lies in one or more of those kept, m².

    What they share is taken apart along the sides of each of those in turn, until what is left
    lies in none of them.
    """
    s = moving.scratch
    one, two, three = s[0], s[1], s[2]
    pieces, state = moving.pieces, moving.piece_state
    n = clipped(moving.foot_xy[i], 4, moving.foot_xy[j], 4, pieces[0], two)
    if n < 3:
        return 0.0
    total = tall_area(fixed, pieces[0], n, one, two)
    state[0, 0] = n
    state[0, 1] = 0
    top = 1
    while top > 0:
        top -= 1
        n, k = state[top, 0], state[top, 1]
        while k < count and _misses(pieces[top], n, moving.foot_xy[moving.feet[k]]):
            k += 1
        if k == count:
            total -= tall_area(fixed, pieces[top], n, one, two)
        elif n > _MANY:
            top = _halve(pieces, state, top, k)
        else:
            for e in range(n):
                three[e, 0] = pieces[top, e, 0]
                three[e, 1] = pieces[top, e, 1]
            top = _take_out(moving, n, top, k)
    return total


@compiled
def _misses(ring: Floats, n: int, xy: Floats) -> bool:
    """Whether a ring lies wholly beyond one side of a rectangle."""
    for e in range(4):
        f = e + 1 if e < 3 else 0
        a, b = xy[e, 1] - xy[f, 1], xy[f, 0] - xy[e, 0]
        c = -(a * xy[e, 0] + b * xy[e, 1])
        beyond = True
        for k in range(n):
            if a * ring[k, 0] + b * ring[k, 1] + c > 0.0:
                beyond = False
                break
        if beyond:
            return True
    return False


@compiled
def _halve(pieces: Floats, state: Ints, top: int, k: int) -> int:
    """Cut the piece on top in two between corners, and put both there; how many there are."""
    n = state[top, 0]
    half = n // 2
    for e in range(half, n):
        pieces[top + 1, e - half, 0] = pieces[top, e, 0]
        pieces[top + 1, e - half, 1] = pieces[top, e, 1]
    pieces[top + 1, n - half, 0] = pieces[top, 0, 0]
    pieces[top + 1, n - half, 1] = pieces[top, 0, 1]
    state[top, 0] = half + 1
    state[top + 1, 0] = n - half + 1
    state[top, 1] = k
    state[top + 1, 1] = k
    return top + 2


@compiled
def _take_out(moving: Any, n: int, top: int, k: int) -> int:
    """Put what of a ring lies outside the k-th foot kept on the pieces; how many there are."""
    s = moving.scratch
    left, inside = s[2], s[3]
    pieces, state = moving.pieces, moving.piece_state
    xy = moving.foot_xy[moving.feet[k]]
    for e in range(4):
        f = e + 1 if e < 3 else 0
        a, b = xy[e, 1] - xy[f, 1], xy[f, 0] - xy[e, 0]
        c = -(a * xy[e, 0] + b * xy[e, 1])
        m = cut(left, n, (-a, -b, -c), pieces[top])
        if m >= 3 and area_of(pieces[top], m) > _NONE:
            state[top, 0] = m
            state[top, 1] = k + 1
            top += 1
        n = cut(left, n, (a, b, c), inside)
        if n < 3:
            break
        for h in range(n):
            left[h, 0] = inside[h, 0]
            left[h, 1] = inside[h, 1]
    return top
