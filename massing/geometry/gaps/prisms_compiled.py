"""How far apart two upright prisms are, which way and where, compiled: two rows in, all out.

The method and answers of prisms and plan, for one pair of rows of a prism_table.
Where the gap alone is wanted, massing.geometry.gaps.pairs_compiled has it sooner.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from massing.geometry.gaps.pairs import BOUNDS, EDGE
from massing.geometry.gaps.plan import ALIKE, NOTHING
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT

__all__ = ["fill_prism", "prism_answer"]

_FAR = 1e9


@njit(cache=True)  # type: ignore[untyped-decorator]
def fill_prism(corners: Floats, row: Floats) -> None:
    """A row of a prism_table from the (2n, 3) corners of an upright prism."""
    n = len(corners) // 2
    low_x = low_y = np.inf
    high_x = high_y = -np.inf
    for k in range(n):
        after = k + 1 if k + 1 < n else 0
        x, y = corners[k, 0], corners[k, 1]
        dx, dy = corners[after, 0] - x, corners[after, 1] - y
        length = np.sqrt(dx * dx + dy * dy)
        place = BOUNDS + EDGE * k
        row[place], row[place + 1] = x, y
        if length > NOTHING:
            row[place + 2], row[place + 3], row[place + 4] = dy / length, -dx / length, length
        else:
            row[place + 2] = row[place + 3] = row[place + 4] = 0.0
        low_x, high_x = min(low_x, x), max(high_x, x)
        low_y, high_y = min(low_y, y), max(high_y, y)
    for k in range(n, (len(row) - BOUNDS) // EDGE):
        place = BOUNDS + EDGE * k
        row[place], row[place + 1] = corners[n - 1, 0], corners[n - 1, 1]
        row[place + 2] = row[place + 3] = row[place + 4] = 0.0
    row[0], row[1], row[2] = low_x, low_y, corners[0, 2]
    row[3], row[4], row[5], row[6] = high_x, high_y, corners[n, 2], n


@njit(cache=True)  # type: ignore[untyped-decorator]
def prism_answer(p: Floats, q: Floats, work: Floats, normal: Floats, at: Floats) -> float:
    """Signed gap of two rows; the unit normal from p to q and the point between are filled in.

    work : (9, at least as many columns as both rings have corners) to work in
    """
    n, m = int(p[6]), int(q[6])
    one, two, seps, room = work[:5, :n], work[:5, n : n + m], work[5, : n + m], work[6:, : n + m]
    _edges(p, one)
    _edges(q, two)
    _plan(one, two, seps, at)
    sideways, normal_x, normal_y = at[0], at[1], at[2]
    _witness(one, two, at, room)
    at[0], at[1] = at[1], at[2]
    at[2] = (max(p[2], q[2]) + min(p[5], q[5])) / 2.0

    above, below = q[2] - p[5], p[2] - q[5]
    rise = max(above, below)
    up = 1.0 if above >= below - ALIKE else -1.0
    across, along = max(sideways, 0.0), max(rise, 0.0)
    if across > 0.0 or along > 0.0:
        whole = float(np.hypot(across, along))
        share_x, share_z = across / whole, along / whole
    else:
        share_x = 1.0 if sideways >= rise - ALIKE else 0.0
        whole = sideways if share_x == 1.0 else rise
        share_z = 1.0 - share_x
    normal[0], normal[1], normal[2] = normal_x * share_x, normal_y * share_x, up * share_z
    return whole


@njit(cache=True)  # type: ignore[untyped-decorator]
def _edges(row: Floats, out: Floats) -> None:
    """Corner x, y, unit edge direction x, y and edge length of the plan ring of one row."""
    for k in range(out.shape[1]):
        place = BOUNDS + EDGE * k
        out[0, k], out[1, k] = row[place], row[place + 1]
        out[2, k], out[3, k], out[4, k] = -row[place + 3], row[place + 2], row[place + 4]


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
