"""Where a unit might go next: compiled moves along walls, into corners, onto things and up.

The random numbers are xorshift64*: Vigna, "An experimental exploration of Marsaglia's xorshift
generators, scrambled", ACM TOMS 42, 2016.
"""

# ruff: noqa: C901, PLR0911, PLR0912, PLR0913, PLR0915, PLR0917, PLR1730
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import CEILING, WALL
from massing.arrange.cost_compiled import ceiling_least
from massing.arrange.place_compiled import floor_under, place_bodies
from massing.arrange.plan_compiled import compiled
from massing.geometry.solids import Floats

__all__ = ["chance", "hang", "pick", "propose", "stand_on", "swap_places", "to_wall"]

_GRID = 5.0  # mm


@compiled
def chance(moving: Any) -> float:
    """A number in [0, 1)."""
    x = moving.state
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    moving.state = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) / 9007199254740992.0


@compiled
def pick(moving: Any, n: int) -> int:
    """A whole number below n."""
    return min(int(chance(moving) * n), n - 1)


@compiled
def _bell(moving: Any) -> float:
    """About normal, spread 1."""
    return (chance(moving) + chance(moving) + chance(moving) - 1.5) * 2.0


@compiled
def _turned_bounds(fixed: Any, u: int, c: float, s: float, out: Floats) -> None:
    """Bounds in plan of the bottom item turned, about its own origin."""
    b = fixed.bounds[u]
    for k in range(4):
        x = b[0] if k in (0, 3) else b[3]
        y = b[1] if k < 2 else b[4]
        px, py = c * x - s * y, s * x + c * y
        if k == 0:
            out[0] = px
            out[2] = px
            out[1] = py
            out[3] = py
        else:
            out[0] = min(out[0], px)
            out[2] = max(out[2], px)
            out[1] = min(out[1], py)
            out[3] = max(out[3], py)


@compiled
def to_wall(
    fixed: Any, moving: Any, u: int, w: int, quarter: int, along: float, out: Floats
) -> None:
    """Stand a unit against a wall, its left end ``along`` it; beyond the ends is brought back."""
    wall = fixed.walls[w]
    c, s = fixed.yaws[4 * w + quarter, 0], fixed.yaws[4 * w + quarter, 1]
    b = fixed.bounds[u]
    left, right, reach = 1e18, -1e18, -1e18
    for k in range(4):
        x = b[0] if k in (0, 3) else b[3]
        y = b[1] if k < 2 else b[4]
        px, py = c * x - s * y, s * x + c * y
        a = px * wall[2] + py * wall[3]
        left = min(left, a)
        right = max(right, a)
        reach = max(reach, px * wall[4] + py * wall[5])
    along = min(max(along, 0.0), max(wall[7] - (right - left), 0.0))
    # Quarter 0 has the front to the wall, 1 the left side, 2 the back, 3 the right.
    side = 0 if quarter == 0 else (1 if quarter == 2 else (2 if quarter == 1 else 3))
    off = fixed.side_gap[u, side] + reach
    start = along - left
    moving.pose[u, 0] = wall[0] + start * wall[2] - off * wall[4]
    moving.pose[u, 1] = wall[1] + start * wall[3] - off * wall[5]
    moving.pose[u, 2] = c
    moving.pose[u, 3] = s
    moving.yaw[u] = 4 * w + quarter
    out[0] = right - left


@compiled
def _snap(fixed: Any, moving: Any, u: int, out: Floats) -> None:
    """Bring a free unit's least corner to the grid."""
    _turned_bounds(fixed, u, moving.pose[u, 2], moving.pose[u, 3], out)
    x, y = moving.pose[u, 0] + out[0], moving.pose[u, 1] + out[1]
    moving.pose[u, 0] += math.floor(x / _GRID + 0.5) * _GRID - x
    moving.pose[u, 1] += math.floor(y / _GRID + 0.5) * _GRID - y


@compiled
def hang(fixed: Any, moving: Any, u: int) -> None:
    """Choose a height for what hangs: as it was, under the ceiling, over the head, or any."""
    i = fixed.box_at[u]
    b = fixed.bounds[u]
    place_bodies(fixed, moving, u)
    xy = moving.box_xy[i]
    level = floor_under(fixed, xy)
    top = ceiling_least(fixed, xy, 4, moving.scratch[0], moving.scratch[1])
    tall = b[5] - b[2]
    if fixed.mount[u] == CEILING:
        moving.pose[u, 4] = top - tall - b[2]
        return
    highest = math.floor((top - level - tall) / _GRID) * _GRID
    way = chance(moving)
    if way < 0.2:
        h = fixed.hung_at[u]
    elif way < 0.35:
        h = highest
    elif way < 0.5:
        h = fixed.rules[1]
    elif way < 0.7:
        v = pick(moving, fixed.n)
        h = math.ceil((moving.pose[v, 4] + fixed.bounds[v, 5] - level) / _GRID) * _GRID
    elif way < 0.85:
        v = pick(moving, fixed.n)
        h = math.floor((moving.pose[v, 4] + fixed.bounds[v, 2] - level - tall) / _GRID) * _GRID
    else:
        h = math.floor(chance(moving) * max(highest, 0.0) / _GRID) * _GRID
    moving.pose[u, 4] = level + max(min(h, highest), 0.0) - b[2]


@compiled
def _facing_wall(fixed: Any, moving: Any, u: int) -> int:
    """The wall a unit stands flush against, or -1."""
    yaw = moving.yaw[u]
    if yaw < 0 or moving.on[u] >= 0:
        return -1
    w = yaw // 4
    quarter = yaw - 4 * w
    side = 0 if quarter == 0 else (1 if quarter == 2 else (2 if quarter == 1 else 3))
    wall = fixed.walls[w]
    reach = -1e18
    b = fixed.bounds[u]
    for k in range(4):
        x = b[0] if k in (0, 3) else b[3]
        y = b[1] if k < 2 else b[4]
        c, s = moving.pose[u, 2], moving.pose[u, 3]
        px, py = moving.pose[u, 0] + c * x - s * y, moving.pose[u, 1] + s * x + c * y
        reach = max(reach, px * wall[4] + py * wall[5])
    return w if abs(wall[6] - reach - fixed.side_gap[u, side]) < 0.5 else -1


@compiled
def _along_of(fixed: Any, moving: Any, u: int, w: int, out: Floats) -> None:
    """Where a unit begins and ends along a wall."""
    wall = fixed.walls[w]
    out[0], out[1] = 1e18, -1e18
    for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
        for k in range(4):
            a = (moving.box_xy[i, k, 0] - wall[0]) * wall[2]
            a += (moving.box_xy[i, k, 1] - wall[1]) * wall[3]
            out[0] = min(out[0], a)
            out[1] = max(out[1], a)


@compiled
def propose(fixed: Any, moving: Any, u: int, heat: float, sides: Floats, out: Floats) -> bool:
    """Change one unit's pose; False when nothing was changed."""
    n = fixed.n
    way = chance(moving)
    hangs = fixed.mount[u] == WALL
    if fixed.stackable[u] == 1 and (moving.on[u] >= 0 or way < 0.25):
        if moving.on[u] < 0 or way < 0.5:
            v = pick(moving, n)
            if fixed.may_stand[u, v] == 0 or v == moving.on[u]:
                return False
            below = v
            while below >= 0:
                if below == u:
                    return False
                below = moving.on[below]
            for k in range(n):
                if moving.on[k] == v:
                    return False
            return stand_on(fixed, moving, u, v)
        if fixed.may_stand[u, u] == 1:
            return False  # made to stand on something
        moving.on[u] = -1
    way = chance(moving)
    if way < 0.30:
        # A small slide, along the wall it is flush with or freely.
        w = _facing_wall(fixed, moving, u)
        if w >= 0 and way < 0.22:
            _along_of_base(fixed, moving, u, w, out)
            step = _bell(moving) * (20.0 + 600.0 * heat)
            a = math.floor((out[0] + step) / _GRID + 0.5) * _GRID
            to_wall(fixed, moving, u, w, moving.yaw[u] - 4 * w, a, out)
        elif hangs:
            hang(fixed, moving, u)
        else:
            moving.pose[u, 0] += _bell(moving) * (20.0 + 500.0 * heat)
            moving.pose[u, 1] += _bell(moving) * (20.0 + 500.0 * heat)
            _snap(fixed, moving, u, out)
        if hangs and chance(moving) < 0.2:
            hang(fixed, moving, u)
        return True
    if way < 0.80 or hangs:
        # To a wall: at an end, beside something, or anywhere.
        w = _facing_wall(fixed, moving, u)
        if w < 0 or chance(moving) < 0.6:
            w = pick(moving, fixed.n_walls)
        quarter = 2 if hangs or chance(moving) < sides[u] else pick(moving, 4)
        length = fixed.walls[w, 7]
        where = chance(moving)
        if where < 0.15:
            a = 0.0
        elif where < 0.30:
            a = 1e9
        elif where < 0.75:
            v = pick(moving, n)
            if v == u:
                return False
            _along_of(fixed, moving, v, w, out)
            low, high = out[0], out[1]
            to_wall(fixed, moving, u, w, quarter, 0.0, out)
            wide = out[0]
            if chance(moving) < 0.5:
                a = math.ceil(high / _GRID - 1e-6) * _GRID
            else:
                a = math.floor((low - wide) / _GRID + 1e-6) * _GRID
        else:
            a = math.floor(chance(moving) * length / _GRID) * _GRID
        to_wall(fixed, moving, u, w, quarter, a, out)
        if hangs and chance(moving) < 0.5:
            hang(fixed, moving, u)
        return True
    if way < 0.86 and moving.yaw[u] >= 0:
        # A quarter turn about its middle.
        w = moving.yaw[u] // 4
        turned = 4 * w + (moving.yaw[u] - 4 * w + 1 + pick(moving, 3)) % 4
        _about_middle(fixed, moving, u, turned, out)
        return True
    # Standing free: anywhere, or up against something else.
    yaw = pick(moving, 4 * fixed.n_walls)
    moving.pose[u, 2] = fixed.yaws[yaw, 0]
    moving.pose[u, 3] = fixed.yaws[yaw, 1]
    moving.yaw[u] = yaw
    rows, columns = fixed.rows, fixed.columns
    v = pick(moving, n)
    if v != u and chance(moving) < 0.6:
        _beside(fixed, moving, u, v, out)
    else:
        moving.pose[u, 0] = fixed.origin[0] + chance(moving) * columns * fixed.cell
        moving.pose[u, 1] = fixed.origin[1] + chance(moving) * rows * fixed.cell
    _snap(fixed, moving, u, out)
    return True


@compiled
def stand_on(fixed: Any, moving: Any, u: int, v: int) -> bool:
    """Put a unit on another, in the middle and facing as it does."""
    c, s = moving.pose[v, 2], moving.pose[v, 3]
    a, b = fixed.bounds[v], fixed.bounds[u]
    mx, my = 0.5 * (a[0] + a[3] - b[0] - b[3]), 0.5 * (a[1] + a[4] - b[1] - b[4])
    moving.pose[u, 0] = moving.pose[v, 0] + c * mx - s * my
    moving.pose[u, 1] = moving.pose[v, 1] + s * mx + c * my
    moving.pose[u, 2] = c
    moving.pose[u, 3] = s
    moving.yaw[u] = moving.yaw[v]
    moving.on[u] = v
    return True


@compiled
def _along_of_base(fixed: Any, moving: Any, u: int, w: int, out: Floats) -> None:
    """Where the bottom item of a unit begins along a wall."""
    wall = fixed.walls[w]
    b = fixed.bounds[u]
    out[0] = 1e18
    for k in range(4):
        x = b[0] if k in (0, 3) else b[3]
        y = b[1] if k < 2 else b[4]
        px = moving.pose[u, 0] + moving.pose[u, 2] * x - moving.pose[u, 3] * y
        py = moving.pose[u, 1] + moving.pose[u, 3] * x + moving.pose[u, 2] * y
        out[0] = min(out[0], (px - wall[0]) * wall[2] + (py - wall[1]) * wall[3])


@compiled
def _about_middle(fixed: Any, moving: Any, u: int, yaw: int, out: Floats) -> None:
    b = fixed.bounds[u]
    mx, my = 0.5 * (b[0] + b[3]), 0.5 * (b[1] + b[4])
    c, s = moving.pose[u, 2], moving.pose[u, 3]
    x, y = moving.pose[u, 0] + c * mx - s * my, moving.pose[u, 1] + s * mx + c * my
    c, s = fixed.yaws[yaw, 0], fixed.yaws[yaw, 1]
    moving.pose[u, 0] = x - c * mx + s * my
    moving.pose[u, 1] = y - s * mx - c * my
    moving.pose[u, 2] = c
    moving.pose[u, 3] = s
    moving.yaw[u] = yaw
    _snap(fixed, moving, u, out)


@compiled
def _beside(fixed: Any, moving: Any, u: int, v: int, out: Floats) -> None:
    """Up against one side of another unit's bounds, flush with one of its ends or anywhere."""
    low_x, low_y, high_x, high_y = 1e18, 1e18, -1e18, -1e18
    for i in range(fixed.box_at[v], fixed.box_at[v + 1]):
        b = moving.box_in[i]
        low_x, low_y = min(low_x, b[0]), min(low_y, b[1])
        high_x, high_y = max(high_x, b[3]), max(high_y, b[4])
    _turned_bounds(fixed, u, moving.pose[u, 2], moving.pose[u, 3], out)
    wide, deep = out[2] - out[0], out[3] - out[1]
    side = pick(moving, 4)
    share = chance(moving)
    share = 0.0 if share < 0.35 else (1.0 if share < 0.7 else chance(moving))
    if side < 2:
        x = high_x if side == 0 else low_x - wide
        x = math.ceil(x / _GRID) * _GRID if side == 0 else math.floor(x / _GRID) * _GRID
        y = low_y + share * (high_y - deep - low_y)
    else:
        y = high_y if side == 2 else low_y - deep
        y = math.ceil(y / _GRID) * _GRID if side == 2 else math.floor(y / _GRID) * _GRID
        x = low_x + share * (high_x - wide - low_x)
    moving.pose[u, 0] = x - out[0]
    moving.pose[u, 1] = y - out[1]


@compiled
def swap_places(fixed: Any, moving: Any, u: int, v: int, out: Floats) -> None:
    """Each to the middle of where the other was, facing as it did, back to its wall if it had."""
    a, b = _facing_wall(fixed, moving, u), _facing_wall(fixed, moving, v)
    yaw_a, yaw_b = moving.yaw[u], moving.yaw[v]
    ax, ay = _middle_x(fixed, moving, u), _middle_y(fixed, moving, u)
    bx, by = _middle_x(fixed, moving, v), _middle_y(fixed, moving, v)
    _bring(fixed, moving, u, bx, by, yaw_b, b, out)
    _bring(fixed, moving, v, ax, ay, yaw_a, a, out)


@compiled
def _middle_x(fixed: Any, moving: Any, u: int) -> float:
    b = fixed.bounds[u]
    x, y = 0.5 * (b[0] + b[3]), 0.5 * (b[1] + b[4])
    return moving.pose[u, 0] + moving.pose[u, 2] * x - moving.pose[u, 3] * y


@compiled
def _middle_y(fixed: Any, moving: Any, u: int) -> float:
    b = fixed.bounds[u]
    x, y = 0.5 * (b[0] + b[3]), 0.5 * (b[1] + b[4])
    return moving.pose[u, 1] + moving.pose[u, 3] * x + moving.pose[u, 2] * y


@compiled
def _bring(
    fixed: Any,
    moving: Any,
    u: int,
    x: float,
    y: float,
    yaw: int,
    w: int,
    out: Floats,
) -> None:
    if yaw < 0:
        yaw = 0
    if w >= 0:
        wall = fixed.walls[w]
        to_wall(fixed, moving, u, w, yaw - 4 * w, 0.0, out)
        a = (x - wall[0]) * wall[2] + (y - wall[1]) * wall[3] - 0.5 * out[0]
        a = math.floor(a / _GRID + 0.5) * _GRID
        to_wall(fixed, moving, u, w, yaw - 4 * w, a, out)
        return
    b = fixed.bounds[u]
    mx, my = 0.5 * (b[0] + b[3]), 0.5 * (b[1] + b[4])
    c, s = fixed.yaws[yaw, 0], fixed.yaws[yaw, 1]
    moving.pose[u, 0] = x - c * mx + s * my
    moving.pose[u, 1] = y - s * mx - c * my
    moving.pose[u, 2] = c
    moving.pose[u, 3] = s
    moving.yaw[u] = yaw
    _snap(fixed, moving, u, out)
