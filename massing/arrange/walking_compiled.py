"""Which zones can someone walk to: where everything stands in, how wide a way each lacks out.

The floor is a raster of cells, a row of bits each. A cell is open where a disc of the width asked
for may stand with its centre there, so nothing the flood gets through is narrower; a way less than
a cell wider than the width may be missed. The full check measures what is found.
"""

# ruff: noqa: C901, PLW3301, RUF046
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import FIXED
from massing.arrange.plan_compiled import compiled
from massing.geometry.solids import Floats

__all__ = ["redraw", "shut_in"]

_CLOSED = 20.0  # mm, charged for a zone nobody gets to, as for a body in the way
_TIGHT = (0.05, 0.2)  # m², for one whose way is too tight to get out by, or to pass
_TOUCH = 1e-6  # mm
_ONE = np.uint64(1)
_ALL = np.uint64(0xFFFFFFFFFFFFFFFF)
_NONE = np.uint64(0)


@compiled
def _run(first: int, last: int) -> Any:
    """Bits first..last, none where last is before first."""
    if last < first:
        return _NONE
    return (_ALL >> np.uint64(63 - last + first)) << np.uint64(first)


@compiled
def _take(fixed: Any, moving: Any, drawn: tuple[int, int], xy: Floats, bounds: Floats) -> None:
    """Add the cells too near a rectangle to what a unit takes for one width."""
    u, level = drawn
    radius = fixed.walk_rules[level]
    turned = fixed.walk_turned == 1
    ox, oy, cell = fixed.walk_at[0], fixed.walk_at[1], fixed.walk_at[2]
    if turned:
        x0, x1, y0, y1 = bounds[1] - oy, bounds[4] - oy, bounds[0] - ox, bounds[3] - ox
    else:
        x0, x1, y0, y1 = bounds[0] - ox, bounds[3] - ox, bounds[1] - oy, bounds[4] - oy
    r0 = max(int(math.ceil((y0 - radius + _TOUCH) / cell - 0.5)), 0)
    r1 = min(int(math.floor((y1 + radius - _TOUCH) / cell - 0.5)), fixed.walk_rows - 1)
    square = abs(xy[1, 0] - xy[0, 0]) < 1e-6 or abs(xy[1, 1] - xy[0, 1]) < 1e-6
    if not square:
        _grow(fixed, moving, xy, radius)
    for r in range(r0, r1 + 1):
        y = (r + 0.5) * cell
        if square:
            off = max(max(y0 - y, y - y1), 0.0)
            wide = math.sqrt(max(radius * radius - off * off, 0.0))
            low, high = x0 - wide, x1 + wide
        else:
            low, high = _span(moving, y, radius)
        c0 = max(int(math.ceil((low + _TOUCH) / cell - 0.5)), 0)
        c1 = min(int(math.floor((high - _TOUCH) / cell - 0.5)), 63)
        moving.taken[u, level, r] |= _run(c0, c1)
    moving.taken_in[u, level, 0] = min(moving.taken_in[u, level, 0], r0)
    moving.taken_in[u, level, 1] = max(moving.taken_in[u, level, 1], r1)


@compiled
def _grow(fixed: Any, moving: Any, xy: Floats, radius: float) -> None:
    """Corners of a rectangle in the raster's frame, and its sides moved out by a radius."""
    s = moving.scratch[0]
    turned = fixed.walk_turned == 1
    ox, oy = fixed.walk_at[0], fixed.walk_at[1]
    for k in range(4):
        s[k, 0] = xy[k, 1] - oy if turned else xy[k, 0] - ox
        s[k, 1] = xy[k, 0] - ox if turned else xy[k, 1] - oy
    mx, my = 0.5 * (s[0, 0] + s[2, 0]), 0.5 * (s[0, 1] + s[2, 1])
    for k in range(4):
        j = k + 1 if k < 3 else 0
        dx, dy = s[j, 0] - s[k, 0], s[j, 1] - s[k, 1]
        size = max(math.hypot(dx, dy), 1e-9)
        nx, ny = dy / size * radius, -dx / size * radius
        if nx * (s[k, 0] - mx) + ny * (s[k, 1] - my) < 0.0:
            nx, ny = -nx, -ny
        s[4 + 2 * k, 0], s[4 + 2 * k, 1] = s[k, 0] + nx, s[k, 1] + ny
        s[5 + 2 * k, 0], s[5 + 2 * k, 1] = s[j, 0] + nx, s[j, 1] + ny


@compiled
def _span(moving: Any, y: float, radius: float) -> tuple[float, float]:
    """Where a row crosses the grown rectangle: its moved sides and a disc at each corner."""
    s = moving.scratch[0]
    low, high = 1e18, -1e18
    for k in range(4):
        off = y - s[k, 1]
        if abs(off) < radius:
            wide = math.sqrt(radius * radius - off * off)
            low = min(low, s[k, 0] - wide)
            high = max(high, s[k, 0] + wide)
        ya, yb = s[4 + 2 * k, 1], s[5 + 2 * k, 1]
        if (ya <= y) != (yb <= y):
            x = s[4 + 2 * k, 0] + (y - ya) / (yb - ya) * (s[5 + 2 * k, 0] - s[4 + 2 * k, 0])
            low = min(low, x)
            high = max(high, x)
    return low, high


@compiled
def _filled(seeds: Any, cells: Any) -> Any:
    """Seeds spread along the open cells of one row, both ways."""
    up, down = seeds & cells, seeds & cells
    go_up, go_down = cells, cells
    for k in range(6):
        s = np.uint64(1 << k)
        up |= go_up & (up << s)
        go_up &= go_up << s
        down |= go_down & (down >> s)
        go_down &= go_down >> s
    return up | down


@compiled
def _flood(fixed: Any, moving: Any, level: int) -> None:
    """Everything reached from the doors over open cells, neighbours by a side."""
    rows = fixed.walk_rows
    cells, reached = moving.open_cells, moving.reached
    for r in range(rows):
        seeds = fixed.walk_from[level, r] & cells[r]
        reached[r] = seeds if seeds == _NONE else _filled(seeds, cells[r])
    changed = True
    while changed:
        changed = False
        for r in range(1, rows):
            changed |= _pass_on(cells, reached, r - 1, r)
        for r in range(rows - 2, -1, -1):
            changed |= _pass_on(cells, reached, r + 1, r)


@compiled
def _pass_on(cells: Any, reached: Any, a: int, b: int) -> bool:
    """Reach row b from row a; whether that added to it."""
    new = reached[a] & cells[b] & ~reached[b]
    if new == _NONE:
        return False
    reached[b] |= _filled(new, cells[b])
    return True


@compiled
def _touched(fixed: Any, moving: Any, bounds: Floats, reach: float) -> bool:
    """Whether a reached cell lies within so much of a zone."""
    turned = fixed.walk_turned == 1
    ox, oy, cell = fixed.walk_at[0], fixed.walk_at[1], fixed.walk_at[2]
    if turned:
        x0, x1, y0, y1 = bounds[1] - oy, bounds[4] - oy, bounds[0] - ox, bounds[3] - ox
    else:
        x0, x1, y0, y1 = bounds[0] - ox, bounds[3] - ox, bounds[1] - oy, bounds[4] - oy
    r0 = max(int(math.ceil((y0 - reach) / cell - 0.5)), 0)
    r1 = min(int(math.floor((y1 + reach) / cell - 0.5)), fixed.walk_rows - 1)
    for r in range(r0, r1 + 1):
        y = (r + 0.5) * cell
        off = max(max(y0 - y, y - y1), 0.0)
        wide = math.sqrt(max(reach * reach - off * off, 0.0))
        c0 = max(int(math.ceil((x0 - wide) / cell - 0.5)), 0)
        c1 = min(int(math.floor((x1 + wide) / cell - 0.5)), 63)
        if moving.reached[r] & _run(c0, c1) != _NONE:
            return True
    return False


@compiled
def _draw(fixed: Any, moving: Any, u: int, level: int) -> None:
    """Draw what a unit takes for one width, where it is now."""
    rows = moving.taken_in[u, level]
    for r in range(rows[0], rows[1] + 1):
        moving.taken[u, level, r] = _NONE
    rows[0], rows[1] = fixed.walk_rows, -1
    moving.drawn[u, level] = 1
    if fixed.passable[u] == 1:
        return
    over, under = fixed.walk_rules[3], fixed.walk_rules[4]
    floor = fixed.levels[0]
    if fixed.n_floors > 1 and fixed.feet_at[u] < fixed.feet_at[u + 1]:
        floor = moving.foot_in[fixed.feet_at[u], 5]
    for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
        b = moving.box_in[i]
        if b[5] - floor > over and b[2] - floor < under:
            _take(fixed, moving, (u, level), moving.box_xy[i], b)
    if level > 0:
        return
    for i in range(fixed.air_at[u], fixed.air_at[u + 1]):
        b = moving.air_in[i]
        if fixed.air_kind[i] == 3 and b[5] - floor > over and b[2] - floor < under:
            _take(fixed, moving, (u, level), moving.air_xy[i], b)


@compiled
def _walk(fixed: Any, moving: Any, level: int) -> None:
    """Lay out the floor for one width and flood it."""
    for r in range(fixed.walk_rows):
        moving.open_cells[r] = fixed.walk[level, r]
    for u in range(fixed.n_items):
        if moving.drawn[u, level] == 0:
            _draw(fixed, moving, u, level)
        rows = moving.taken_in[u, level]
        for r in range(rows[0], rows[1] + 1):
            moving.open_cells[r] &= ~moving.taken[u, level, r]
    _flood(fixed, moving, level)


@compiled
def redraw(moving: Any, u: int) -> None:
    """Have a unit drawn again: it is elsewhere."""
    for level in range(3):
        moving.drawn[u, level] = 0


@compiled
def shut_in(fixed: Any, moving: Any) -> tuple[float, float]:
    """Hard and soft cost of the zones nobody gets to, or only by a tight way; sets ``shut``.

    Units that moved since they were drawn are to be told to ``redraw``.
    The widest is asked for first, all doors and drawers open: who gets there gets there anyway.
    """
    hard, soft = 0.0, 0.0
    if fixed.walk_rows == 0:
        return hard, soft
    for u in range(fixed.n_items):
        moving.shut[u] = 0
    left = 1
    for level in range(3):
        if left == 0:
            break
        _walk(fixed, moving, level)
        left = 0
        for u in range(fixed.n_items):
            if moving.shut[u] != level:
                continue
            for i in range(fixed.zone_at[u], fixed.zone_at[u + 1]):
                if fixed.zone_kind[i, 2] == 0:
                    continue
                reach = fixed.walk_rules[min(level, 1)]
                if _touched(fixed, moving, moving.zone_in[i], reach):
                    continue
                moving.shut[u] = level + 1
                left += 1
                if level < 2:
                    soft += _TIGHT[level]
                elif fixed.mount[u] != FIXED:
                    hard += _CLOSED
                break
    return hard, soft
