"""A range and several half-space rows in, the largest box under all of them out, with proof.

The volume's logarithm is concave in the six sides and every row is linear in them (see
``empty_boxes_bounds``), so a barrier method finds the best box. Its answer is not trusted: the
Lagrangian dual, whose inner maximum has a closed form axis by axis, gives an upper bound that
holds whatever the row weights are.

Barrier method and duality: Boyd and Vandenberghe, "Convex Optimization" (2004), chapters 5 and
11, from memory.

Compiled; import this module only inside the function that needs it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Floats
from massing.geometry.space.empty_boxes_bounds import EASE, HIT, THIN, compiled, room_left

__all__ = ["full_bound"]

_SEEK, _IMPROVE = True, False  # what a centring step is for
_NEAR = 1e-4  # mm; the barrier stops about this far short of a limit
_CLOSE = 0.05  # squared decrement below which Newton's method needs no watching
_SHARES = (0.0, 0.3, 0.6, 0.85, 0.97)  # of the way from the largest box to the smallest
_GAP = 1e-9  # relative; below this proven gap the barrier stops early


class _Program(NamedTuple):
    """Limits of the six sides, which of them are fixed, least widths, and the rows."""

    lower: Floats
    upper: Floats
    fixed: NDArray[np.bool_]
    least: Floats
    rows: Floats


@compiled
def _axis_most(ends: Floats, least: float, up: float, down: float) -> float:
    """Largest ``log(hi - lo) + up * lo - down * hi`` for lo in ends[0:2], hi in ends[2:4]."""
    a, b, c, d = ends[0], ends[1], ends[2], ends[3]
    if up < down:  # mirror the axis so that the low side is the one that wants to move
        a, b, c, d = -d, -c, -b, -a
        up, down = down, up
    least = max(least, c - b, 1e-12)
    most = max(d - a, least)
    kink = min(max(d - b, least), most)
    width = kink
    if down * kink > 1.0:
        width = max(1.0 / down, least)
    elif up * most <= 1.0:
        width = most
    elif up * kink < 1.0:
        width = 1.0 / up
    place = min(b, d - width)
    return float(math.log(width) + up * place - down * (place + width))


@compiled
def _dual(span: Floats, mins: Floats, rows: Floats, weight: Floats) -> float:
    """Proven upper bound of the log volume for any non-negative row weights."""
    bound = 0.0
    for i in range(rows.shape[0]):
        bound -= weight[i] * (rows[i, 3] - EASE)
    for k in range(3):
        up, down = 0.0, 0.0
        for i in range(rows.shape[0]):
            if rows[i, k] > 0.0:
                up += weight[i] * rows[i, k]
            else:
                down -= weight[i] * rows[i, k]
        bound += _axis_most(span[k::3], mins[k], up, down)
    return bound


@compiled
def _barrier(x: Floats, tau: float, seek: bool, p: _Program) -> float:
    """Value of the centring function at x, infinite outside its domain.

    x : (7,) the six sides and how far the rows are eased while a feasible point is sought
    """
    sides, room = 1.0, 1.0  # one logarithm of a product for many of its parts
    for k in range(3):
        width = x[3 + k] - x[k]
        if width <= p.least[k]:
            return np.inf
        room *= width - p.least[k]
        sides *= width
    for j in range(6):
        if not p.fixed[j]:
            if x[j] <= p.lower[j] or x[j] >= p.upper[j]:
                return np.inf
            room *= (x[j] - p.lower[j]) * (p.upper[j] - x[j])
    value = tau * x[6] if seek else -tau * math.log(sides)
    value -= math.log(room)
    for i in range(p.rows.shape[0]):
        left = room_left(x, p.rows[i]) + EASE + x[6]
        if left <= 0.0:
            return np.inf
        value -= math.log(left)
    return float(value)


@compiled
def _side_slopes(x: Floats, tau: float, seek: bool, p: _Program, g: Floats, H: Floats) -> None:
    """Gradient and Hessian of the part that depends on sides and widths."""
    for k in range(3):
        width = x[3 + k] - x[k]
        one = 1.0 / (width - p.least[k])
        two = one * one
        if not seek:
            one += tau / width
            two += tau / (width * width)
        g[k] += one
        g[3 + k] -= one
        H[k, k] += two
        H[3 + k, 3 + k] += two
        H[k, 3 + k] -= two
        H[3 + k, k] -= two
    for j in range(6):
        if not p.fixed[j]:
            below, above = 1.0 / (x[j] - p.lower[j]), 1.0 / (p.upper[j] - x[j])
            g[j] += above - below
            H[j, j] += above * above + below * below


@compiled
def _row_slopes(x: Floats, p: _Program, g: Floats, H: Floats) -> None:
    """Gradient and Hessian of the rows' part."""
    spot, size = np.empty(4, np.int64), np.empty(4)
    for i in range(p.rows.shape[0]):
        row = p.rows[i]
        one = 1.0 / (room_left(x, row) + EASE + x[6])
        for k in range(3):
            spot[k], size[k] = (k if row[k] > 0.0 else 3 + k), row[k] * one
        spot[3], size[3] = 6, one
        for m in range(4):
            g[spot[m]] -= size[m]
            for n in range(4):
                H[spot[m], spot[n]] += size[m] * size[n]


@compiled
def _slopes(x: Floats, tau: float, seek: bool, p: _Program, g: Floats, H: Floats) -> None:
    """Gradient and Hessian of the centring function; sides that cannot move stay put."""
    g[:] = 0.0
    H[:] = 0.0
    _side_slopes(x, tau, seek, p, g, H)
    _row_slopes(x, p, g, H)
    g[6] += tau
    for j in range(7):
        if (j < 6 and p.fixed[j]) or (j == 6 and not seek):
            g[j] = 0.0
            H[j, :] = 0.0
            H[:, j] = 0.0
            H[j, j] = 1.0


@compiled
def _factored(H: Floats) -> bool:
    """Turn H into its lower Cholesky factor in place; False when it is not positive definite."""
    for i in range(7):
        for j in range(i + 1):
            total = H[i, j]
            for k in range(j):
                total -= H[i, k] * H[j, k]
            if i > j:
                H[i, j] = total / H[j, j]
            elif total > 0.0:
                H[i, i] = math.sqrt(total)
            else:
                return False
    return True


@compiled
def _newton_step(g: Floats, H: Floats, step: Floats) -> float:
    """Solve ``H step = -g``, spoiling H; the squared decrement, or -1 on failure."""
    if not _factored(H):
        return -1.0
    for i in range(7):
        total = -g[i]
        for k in range(i):
            total -= H[i, k] * step[k]
        step[i] = total / H[i, i]
    for i in range(6, -1, -1):
        total = step[i]
        for k in range(i + 1, 7):
            total -= H[k, i] * step[k]
        step[i] = total / H[i, i]
    size = 0.0
    for i in range(7):
        size -= g[i] * step[i]
    return size


@compiled
def _centre(x: Floats, tau: float, seek: bool, enough: float, p: _Program) -> None:
    """Newton steps to the centre for one tau, until the squared decrement is small enough.

    While seeking, any feasible point will do.
    """
    g, H = np.empty(7), np.empty((7, 7))
    step, trial = np.empty(7), np.empty(7)
    value, before = np.inf, np.inf
    for _ in range(40):
        _slopes(x, tau, seek, p, g, H)
        size = _newton_step(g, H, step)
        if size < enough or size > before:
            return
        if size < _CLOSE:  # a full step cannot leave the domain and squares the error
            x += step
            before = 0.25 * size  # less of a gain than that is rounding
            value = np.inf
            continue
        if value == np.inf:
            value = _barrier(x, tau, seek, p)
        length, reached = 1.0, np.inf
        while length > 1e-12:
            for j in range(7):
                trial[j] = x[j] + length * step[j]
            reached = _barrier(trial, tau, seek, p)
            if reached < value - 0.1 * length * size:
                break
            length *= 0.5
        if reached >= value:
            return
        x[:] = trial
        value = reached
        if seek and x[6] < 0.0:
            return


@compiled
def _feasible(x: Floats, p: _Program) -> bool:
    """Move x to where every row holds; False when there is no such place.

    Every row leaves a smaller box more room, so smaller ones are tried before one is sought.
    """
    outer = x.copy()
    for share in _SHARES:
        for j in range(6):
            inner = p.upper[j] if j < 3 else p.lower[j]
            x[j] = outer[j] if p.fixed[j] else outer[j] + share * (inner - outer[j])
        if _barrier(x, 1.0, _IMPROVE, p) < np.inf:
            return True
    x[:] = outer
    worst = 0.0
    for i in range(p.rows.shape[0]):
        worst = min(worst, room_left(x, p.rows[i]) + EASE)
    size = float(p.rows.shape[0] + 15)
    x[6] = 1.0 - 1.1 * worst
    tau = 1.0 / x[6]
    while x[6] >= 0.0:
        _centre(x, tau, _SEEK, 1e-4, p)
        # x[6] is within size / tau of the least easing, allowing half again for centring
        if x[6] > 1.5 * size / tau or (x[6] >= 0.0 and size / tau < 0.05 * EASE):
            return False
        tau *= 20.0
    x[6] = 0.0
    return True


@compiled
def _program(span: Floats, mins: Floats, rows: Floats, x: Floats) -> _Program:
    """Set the program up and x well inside the range."""
    lower, upper = np.empty(6), np.empty(6)
    fixed = np.zeros(6, np.bool_)
    least = np.empty(3)
    x[6] = 0.0
    for k in range(3):
        lower[k], upper[k] = span[k], span[3 + k]
        lower[3 + k], upper[3 + k] = span[6 + k], span[9 + k]
        x[k] = span[k] + 0.02 * (span[3 + k] - span[k])
        x[3 + k] = span[9 + k] - 0.02 * (span[9 + k] - span[6 + k])
        least[k] = max(0.0, mins[k] - HIT)
    for j in range(6):
        if upper[j] - lower[j] < 2.0 * THIN:
            fixed[j] = True
            x[j] = 0.5 * (lower[j] + upper[j])
    return _Program(lower, upper, fixed, least, rows)


@compiled
def _snap(span: Floats, rows: Floats, box: Floats) -> None:
    """Push sides the barrier kept just off their outer limit onto it, where the rows allow."""
    for j in range(6):
        kept = box[j]
        limit = span[j] if j < 3 else span[6 + j]
        if kept == limit or abs(kept - limit) > _NEAR:
            continue
        box[j] = limit
        for i in range(rows.shape[0]):
            if room_left(box, rows[i]) < -EASE:
                box[j] = kept
                break


@compiled
def full_bound(span: Floats, mins: Floats, rows: Floats, out: Floats) -> float:
    """Proven upper bound of the volume under all rows, a box within about 1e-8 of it in ``out``.

    Returns -1 when no box fits.
    """
    x = np.empty(7)
    p = _program(span, mins, rows, x)
    if not _feasible(x, p):
        return -1.0
    weight = np.empty(rows.shape[0])
    best, tau = np.inf, 100.0
    while tau < 1e11:
        # Row weights are good only at a true centre, and lose digits as the rows' room shrinks
        # towards rounding: the bound is best in the middle stages, the box in the last.
        good = tau > 1e5
        _centre(x, tau, _IMPROVE, 1e-14 if good else 1e-3, p)
        if good:
            for i in range(rows.shape[0]):
                weight[i] = 1.0 / (tau * (room_left(x, rows[i]) + EASE))
            best = min(best, _dual(span, mins, rows, weight))
            reached = 0.0
            for k in range(3):
                reached += math.log(x[3 + k] - x[k])
            if best - reached < _GAP:
                break
        tau *= 30.0
    out[:] = x[:6]
    _snap(span, rows, out)
    return math.exp(best)
