"""How far apart is every pair, compiled: the same question and answers as massing.geometry.gaps.

For sampling and search, where the same pairs are measured many thousands of times. Importing
this loads numba, and the first call on a machine compiles.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numba import njit

from massing.geometry.compiled_polyhedra import polyhedron_rows
from massing.geometry.gaps import Gaps, measured
from massing.geometry.plan import ALIKE, NOTHING
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["signed_gaps_compiled"]

_FAR = 1e9


def signed_gaps_compiled(solids: Sequence[Convex], pairs: Ints) -> Gaps:
    """Signed gaps as signed_gaps gives them, faster when there are many worlds.

    >>> from massing.geometry.solids import box
    >>> two = [box([0, 0, 0], [10, 10, 10]), box([13, 14, 2], [20, 20, 20])]
    >>> signed_gaps_compiled(two, np.array([[0, 1]])).gap.tolist()
    [[5.0]]
    """
    return measured(solids, pairs, _prism_gaps, polyhedron_rows)


def _prism_gaps(a: Floats, b: Floats) -> tuple[Floats, Floats, Floats]:
    rows = a.shape[2]
    gap, normal, at = np.empty(rows), np.empty((3, rows)), np.empty((3, rows))
    _fill(a, b, gap, normal, at)
    return gap, normal, at


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill(a: Floats, b: Floats, gap: Floats, normal: Floats, at: Floats) -> None:
    """Every row of upright prisms (3, 2n, rows); output arrays are filled, none is made inside."""
    n, m = a.shape[1] // 2, b.shape[1] // 2
    one, two = np.empty((5, n)), np.empty((5, m))
    seps = np.empty(n + m)
    room = np.empty((3, n + m))
    plan = np.empty(3)
    for row in range(a.shape[2]):
        _edges(a, row, one)
        _edges(b, row, two)
        _plan(one, two, seps, plan)
        sideways, normal_x, normal_y = plan[0], plan[1], plan[2]
        _witness(one, two, plan, room)
        at[0, row], at[1, row] = plan[1], plan[2]

        low_a, high_a, low_b, high_b = a[2, 0, row], a[2, n, row], b[2, 0, row], b[2, m, row]
        above, below = low_b - high_a, low_a - high_b
        rise = max(above, below)
        up = 1.0 if above >= below - ALIKE else -1.0
        across, along = max(sideways, 0.0), max(rise, 0.0)
        if across > 0.0 or along > 0.0:
            whole = np.hypot(across, along)
            share_x, share_z = across / whole, along / whole
        else:
            share_x = 1.0 if sideways >= rise - ALIKE else 0.0
            whole = sideways if share_x == 1.0 else rise
            share_z = 1.0 - share_x
        gap[row] = whole
        normal[0, row], normal[1, row] = normal_x * share_x, normal_y * share_x
        normal[2, row] = up * share_z
        at[2, row] = (max(low_a, low_b) + min(high_a, high_b)) / 2.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _edges(solid: Floats, row: int, out: Floats) -> None:
    """Corner x, y, unit edge direction x, y and edge length of the plan ring of one row."""
    n = out.shape[1]
    for k in range(n):
        after = k + 1 if k + 1 < n else 0
        x, y = solid[0, k, row], solid[1, k, row]
        dx, dy = solid[0, after, row] - x, solid[1, after, row] - y
        length = np.hypot(dx, dy)
        out[0, k], out[1, k] = x, y
        if length > NOTHING:
            out[2, k], out[3, k], out[4, k] = dx / length, dy / length, length
        else:
            out[2, k], out[3, k], out[4, k] = 0.0, 0.0, 0.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _plan(one: Floats, two: Floats, seps: Floats, found: Floats) -> None:
    """Plan gap and normal into ``found``."""
    n, m = one.shape[1], two.shape[1]
    _over_edges(one, two, seps[:n])
    _over_edges(two, one, seps[n:])
    most = seps[0]
    for k in range(1, n + m):
        most = max(most, seps[k])
    best = 0
    while seps[best] < most - ALIKE:
        best += 1
    proof = seps[best]
    if best < n:
        found[1], found[2] = one[3, best], -one[2, best]
    else:
        found[1], found[2] = -two[3, best - n], two[2, best - n]
    found[0] = proof
    if proof > 0.0:
        square, x, y = _nearest(one, two)
        other, back_x, back_y = _nearest(two, one)
        if other < square:
            square, x, y = other, -back_x, -back_y
        distance = np.sqrt(square)
        found[0] = distance
        if proof < distance - 10.0 * ALIKE and distance > EXACT:
            found[1], found[2] = x / distance, y / distance


@njit(cache=True)  # type: ignore[untyped-decorator]
def _over_edges(ring: Floats, other: Floats, seps: Floats) -> None:
    for k in range(ring.shape[1]):
        if ring[4, k] == 0.0:
            seps[k] = -np.inf
            continue
        out_x, out_y = ring[3, k], -ring[2, k]
        least = np.inf
        for j in range(other.shape[1]):
            least = min(least, out_x * other[0, j] + out_y * other[1, j])
        seps[k] = least - (out_x * ring[0, k] + out_y * ring[1, k])


@njit(cache=True)  # type: ignore[untyped-decorator]
def _nearest(points: Floats, ring: Floats) -> tuple[float, float, float]:
    """Least squared distance from a corner to an edge of the other ring, and that vector."""
    best, best_x, best_y = np.inf, 0.0, 0.0
    for k in range(points.shape[1]):
        for j in range(ring.shape[1]):
            x, y = ring[0, j] - points[0, k], ring[1, j] - points[1, k]
            along = min(max(-(x * ring[2, j] + y * ring[3, j]), 0.0), ring[4, j])
            x, y = x + along * ring[2, j], y + along * ring[3, j]
            square = x * x + y * y
            if square < best:
                best, best_x, best_y = square, x, y
    return best, best_x, best_y


@njit(cache=True)  # type: ignore[untyped-decorator]
def _witness(one: Floats, two: Floats, plan: Floats, room: Floats) -> None:
    """Replace gap and normal in ``plan`` [1:] by the point between or inside."""
    lift = max(plan[0], 0.0)
    shift_x, shift_y = plan[1] * lift, plan[2] * lift
    slack = ALIKE if plan[0] < -EXACT else EXACT
    n = one.shape[1]
    for k in range(n):
        one[0, k] += shift_x
        one[1, k] += shift_y
    _inside(one, two, slack, room[:, :n])
    _inside(two, one, slack, room[:, n:])
    most = room[2].max()
    x = y = count = 0.0
    for k in range(room.shape[1]):
        if room[2, k] >= -ALIKE or room[2, k] == most:
            x, y, count = x + room[0, k], y + room[1, k], count + 1.0
    plan[1], plan[2] = x / count - shift_x / 2.0, y / count - shift_y / 2.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _inside(ring: Floats, other: Floats, slack: float, room: Floats) -> None:
    """Middle x, y and length of the stretch of each edge that lies within the other ring."""
    for k in range(ring.shape[1]):
        start, end = 0.0, ring[4, k]
        for j in range(other.shape[1]):
            out_x, out_y = other[3, j], -other[2, j]
            spare = slack - (
                out_x * (ring[0, k] - other[0, j]) + out_y * (ring[1, k] - other[1, j])
            )
            speed = out_x * ring[2, k] + out_y * ring[3, k]
            if abs(speed) < NOTHING:
                if spare < 0.0:
                    end = -_FAR
            elif speed > 0.0:
                end = min(end, spare / speed)
            else:
                start = max(start, spare / speed)
        end = max(end, -_FAR)
        middle = min(max((start + end) / 2.0, 0.0), ring[4, k])
        room[0, k] = ring[0, k] + ring[2, k] * middle
        room[1, k] = ring[1, k] + ring[3, k] * middle
        room[2, k] = end - start
