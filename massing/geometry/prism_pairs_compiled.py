"""Which upright prisms come within reach, compiled: a table of prisms in, pairs and gaps out.

The answers of ``massing.geometry.prism_pairs``, for a whole room or for one moved thing against
the rest. Importing this loads numba, and the first call on a machine compiles.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from massing.geometry.gap_prisms_compiled import fill_prism
from massing.geometry.prism_pairs import BOUNDS, EDGE, Near
from massing.geometry.prism_pairs_grid import in_order, near_ranks
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = [
    "move_within",
    "near_bounds_compiled",
    "one_within",
    "pairs_within_compiled",
    "prism_gap",
]

_SETTLED = 1e-11  # mm between a separation and a distance that it proves
_AFRESH = 8  # pairs a thing to make room for at first
_X0, _X1, _X2, _X3 = BOUNDS, BOUNDS + EDGE, BOUNDS + 2 * EDGE, BOUNDS + 3 * EDGE


def pairs_within_compiled(table: Floats, reach: float) -> Near:
    """Pairs of a prism_table whose gap is at most ``reach`` mm (to EXACT), with that gap.

    >>> from massing.geometry.prism_pairs import prism_table
    >>> from massing.geometry.solids import box
    >>> row = prism_table([box([x, 0, 0], [x + 10, 10, 10]) for x in (0, 8, 22)])
    >>> near = pairs_within_compiled(row, 5.0)
    >>> near.pairs.tolist(), near.gap.tolist()
    ([[0, 1], [1, 2]], [-2.0, 4.0])
    """
    pairs, gap = _within(table, reach + EXACT, _AFRESH * len(table))
    return Near(pairs, gap)


def near_bounds_compiled(bounds: Floats, reach: float) -> Ints:
    """Sorted pairs of bounds (n, 6), least then greatest corner, within ``reach`` of each other."""
    found: Ints = _bounds_within(bounds, reach + EXACT, _AFRESH * len(bounds))
    return found


@njit(cache=True)  # type: ignore[untyped-decorator]
def _within(table: Floats, limit: float, room: int) -> tuple[Ints, Floats]:
    order, ranked, near = near_ranks(table, limit, room)
    pairs, gaps = _exact(ranked, near, limit)
    _renumbered(pairs, order)
    pairs, gaps = in_order(pairs, gaps, len(table))
    return pairs, gaps


@njit(cache=True)  # type: ignore[untyped-decorator]
def _bounds_within(bounds: Floats, limit: float, room: int) -> Ints:
    order, ranked, near = near_ranks(bounds, limit, room)
    pairs: Ints = _rounded(ranked, near, limit)
    _renumbered(pairs, order)
    pairs, _ = in_order(pairs, np.empty(len(pairs)), len(bounds))
    return pairs


@njit(cache=True)  # type: ignore[untyped-decorator]
def _renumbered(pairs: Ints, order: Ints) -> None:
    """Ranks into numbers, the lower first."""
    for k in range(len(pairs)):
        i, j = order[pairs[k, 0]], order[pairs[k, 1]]
        pairs[k, 0], pairs[k, 1] = min(i, j), max(i, j)


@njit(cache=True)  # type: ignore[untyped-decorator]
def one_within(table: Floats, mover: Floats, but: int, reach: float, who: Ints, gap: Floats) -> int:
    """Gaps of one prism against a table: fills ``who`` and ``gap`` (n,), returns how many.

    mover : a row as the table's; but : number of its own row in the table, or -1
    """
    limit, count = reach + EXACT, 0
    for k in range(len(table)):
        if _bounds_apart(mover, table[k], limit) or k == but:
            continue
        found = prism_gap(mover, table[k], limit)
        if found <= limit:
            who[count], gap[count] = k, found
            count += 1
    return count


@njit(cache=True)  # type: ignore[untyped-decorator]
def move_within(
    table: Floats, number: int, corners: Floats, reach: float, who: Ints, gap: Floats
) -> int:
    """Put a prism where its (2n, 3) corners now are, in the table itself, and measure it there.

    Fills ``who`` and ``gap`` (n,) as one_within does and returns how many; what a drag asks for.
    """
    fill_prism(corners, table[number])
    return int(one_within(table, table[number], number, reach, who, gap))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _bounds_apart(p: Floats, q: Floats, limit: float) -> bool:
    return bool(
        p[0] - q[3] > limit
        or q[0] - p[3] > limit
        or p[1] - q[4] > limit
        or q[1] - p[4] > limit
        or p[2] - q[5] > limit
        or q[2] - p[5] > limit
    )


@njit(cache=True)  # type: ignore[untyped-decorator]
def prism_gap(p: Floats, q: Floats, limit: float) -> float:
    """Signed gap of two rows, or inf where it is sure to be above the limit."""
    rise = max(q[2] - p[5], p[2] - q[5])
    if rise > limit:
        return np.inf
    side, edge = _side(p, q, -np.inf, limit)
    if side > limit:
        return np.inf
    side, turned = _side(q, p, side, limit)
    if side > limit:
        return np.inf
    if side > 0.0:
        over = _stands_over(p, edge, q, side) if turned < 0 else _stands_over(q, turned, p, side)
        if not over:
            side = np.sqrt(min(_corner_to_edge(p, q), _corner_to_edge(q, p)))
        if rise > 0.0:
            return float(np.hypot(side, rise))
    return float(max(side, rise))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _side(p: Floats, q: Floats, most: float, limit: float) -> tuple[float, int]:
    """Greatest separation along the edge normals of p, or the first above the limit, and its edge.

    The edge is -1 where none separates more than ``most`` to begin with.
    """
    # Four corners are held in registers, and any more are looked up: boxes are most of a room.
    x0, y0, x1, y1 = q[_X0], q[_X0 + 1], q[_X1], q[_X1 + 1]
    x2, y2, x3, y3 = q[_X2], q[_X2 + 1], q[_X3], q[_X3 + 1]
    more, others, edge = BOUNDS + EDGE * 4, BOUNDS + EDGE * int(q[6]), -1
    for k in range(BOUNDS, BOUNDS + EDGE * int(p[6]), EDGE):
        x, y, out_x, out_y = p[k], p[k + 1], p[k + 2], p[k + 3]
        one = min(out_x * (x0 - x) + out_y * (y0 - y), out_x * (x1 - x) + out_y * (y1 - y))
        two = min(out_x * (x2 - x) + out_y * (y2 - y), out_x * (x3 - x) + out_y * (y3 - y))
        least = min(one, two)
        for j in range(more, others, EDGE):
            least = min(least, out_x * (q[j] - x) + out_y * (q[j + 1] - y))
        if least > most and p[k + 4] > 0.0:
            most, edge = least, k
            if most > limit:
                return most, edge
    return most, edge


@njit(cache=True)  # type: ignore[untyped-decorator]
def _stands_over(p: Floats, k: int, q: Floats, side: float) -> bool:
    """Whether the nearest corner of q stands over the edge of p: its height is the distance."""
    for j in range(BOUNDS, BOUNDS + EDGE * int(q[6]), EDGE):
        to_x, to_y = q[j] - p[k], q[j + 1] - p[k + 1]
        along = to_y * p[k + 2] - to_x * p[k + 3]
        if to_x * p[k + 2] + to_y * p[k + 3] <= side + _SETTLED and 0.0 <= along <= p[k + 4]:
            return True
    return False


@njit(cache=True)  # type: ignore[untyped-decorator]
def _corner_to_edge(p: Floats, q: Floats) -> float:
    """Least squared distance from a corner of p to an edge of q."""
    mine, others = BOUNDS + EDGE * int(p[6]), BOUNDS + EDGE * int(q[6])
    best = np.inf
    for j in range(BOUNDS, others, EDGE):
        x, y, out_x, out_y, length = q[j], q[j + 1], q[j + 2], q[j + 3], q[j + 4]
        for k in range(BOUNDS, mine, EDGE):
            to_x, to_y = p[k] - x, p[k + 1] - y
            along = min(max(to_y * out_x - to_x * out_y, 0.0), length)
            off_x, off_y = to_x + out_y * along, to_y - out_x * along
            square = off_x * off_x + off_y * off_y
            best = min(best, square)
    return best


@njit(cache=True)  # type: ignore[untyped-decorator]
def _exact(table: Floats, near: Ints, limit: float) -> tuple[Ints, Floats]:
    """The pairs whose gap is within the limit, and that gap."""
    pairs, gaps = np.empty_like(near), np.empty(len(near))
    count = 0
    for k in range(len(near)):
        i, j = near[k]
        gap = prism_gap(table[i], table[j], limit)
        pairs[count, 0], pairs[count, 1], gaps[count] = i, j, gap
        count += int(gap <= limit)
    return pairs[:count], gaps[:count]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _rounded(bounds: Floats, near: Ints, limit: float) -> Ints:
    """The pairs whose bounds are within the limit as the crow flies."""
    pairs = np.empty_like(near)
    count = 0
    for k in range(len(near)):
        i, j = near[k]
        pairs[count, 0], pairs[count, 1] = i, j
        count += int(_boundsnear_ranks(bounds[i], bounds[j], limit))
    return pairs[:count]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _boundsnear_ranks(p: Floats, q: Floats, limit: float) -> bool:
    square = 0.0
    for axis in range(3):
        apart = max(p[axis] - q[3 + axis], q[axis] - p[3 + axis], 0.0)
        square += apart * apart
    return bool(square <= limit * limit)
