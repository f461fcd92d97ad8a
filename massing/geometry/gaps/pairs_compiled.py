"""Which upright prisms come within reach, compiled: a table of prisms in, pairs and gaps out.

The answers of ``massing.geometry.gaps.pairs``, for a whole room or for one moved thing against
the rest. Importing this loads numba, and the first call on a machine compiles.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numba import njit
from numpy.typing import NDArray

from massing.geometry.gaps.boxes_compiled import BOX, box_gap, fill_box_of_row
from massing.geometry.gaps.pairs import BOUNDS, EDGE, Near
from massing.geometry.gaps.pairs_grid import Room, in_order, near_pairs, room_for
from massing.geometry.gaps.prisms_compiled import fill_prism
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["bounds_table", "move_within", "one_within", "pairs_within_compiled", "prism_gap"]

_Bytes: TypeAlias = NDArray[np.uint8]

_SETTLED = 1e-11  # mm between a separation and a distance that it proves
_AT_ONCE = 256  # bounds told near or far at once
_X0, _X1, _X2, _X3 = BOUNDS, BOUNDS + EDGE, BOUNDS + 2 * EDGE, BOUNDS + 3 * EDGE


def pairs_within_compiled(table: Floats, reach: float) -> Near:
    """Pairs of a prism_table whose gap is at most ``reach`` mm (to EXACT), with that gap.

    >>> from massing.geometry.gaps.pairs import prism_table
    >>> from massing.geometry.solids import box
    >>> row = prism_table([box([x, 0, 0], [x + 10, 10, 10]) for x in (0, 8, 22)])
    >>> near = pairs_within_compiled(row, 5.0)
    >>> near.pairs.tolist(), near.gap.tolist()
    ([[0, 1], [1, 2]], [-2.0, 4.0])
    """
    pairs, gap = _within(table, reach + EXACT, room_for(len(table)))
    return Near(pairs, gap)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _within(table: Floats, limit: float, room: Room) -> tuple[Ints, Floats]:
    near, count = near_pairs(table, limit, room)
    # Columns are done with by now, and there is more of them than of boxes.
    boxes = room[2].reshape(-1)[: BOX * len(table)].reshape((len(table), BOX))
    for k in range(len(table)):
        fill_box_of_row(table[k], boxes[k])
    gaps = np.empty(count)
    kept = 0
    for k in range(count):
        i, j = near[k]
        gap = box_gap(boxes[i], boxes[j], limit)
        if np.isnan(gap):
            gap = prism_gap(table[i], table[j], limit)
        # Over what was read already: those kept are never more.
        near[kept, 0], near[kept, 1], gaps[kept] = min(i, j), max(i, j), gap
        kept += int(gap <= limit)
    pairs, gaps = in_order(near[:kept], gaps[:kept], len(table))
    return pairs, gaps


def bounds_table(table: Floats) -> Floats:
    """(6, n) bounds of a prism_table, to be kept beside it for ``move_within``."""
    return np.ascontiguousarray(table[:, :6].T)


@njit(cache=True)  # type: ignore[untyped-decorator]
def one_within(
    table: Floats, bounds: Floats, mover: Floats, but: int, reach: float, who: Ints, gap: Floats
) -> int:
    """Gaps of one prism against a table: fills ``who`` and ``gap`` (n,), returns how many.

    bounds : as bounds_table has them; mover : a row as the table's; but : number of its own row
    in the table, or -1
    """
    limit, count = reach + EXACT, 0
    near = np.empty(_AT_ONCE, np.uint8)
    for start in range(0, len(table), _AT_ONCE):
        end = min(start + _AT_ONCE, len(table))
        low_x, high_x = bounds[0, start:end], bounds[3, start:end]
        low_y, high_y = bounds[1, start:end], bounds[4, start:end]
        if not _any_near(mover, limit, low_x, high_x, low_y, high_y, near):
            continue
        for k in range(start, end):
            if near[k - start] == 0 or k == but:
                continue
            found = prism_gap(mover, table[k], limit)
            if found <= limit:
                who[count], gap[count] = k, found
                count += 1
    return count


@njit(cache=True, inline="never")  # type: ignore[untyped-decorator]
def _any_near(
    mover: Floats,
    limit: float,
    low_x: Floats,
    high_x: Floats,
    low_y: Floats,
    high_y: Floats,
    near: _Bytes,
) -> bool:
    """Which of some bounds come near in plan, and whether any does; without branches."""
    x, y, end_x, end_y = mover[0] - limit, mover[1] - limit, mover[3] + limit, mover[4] + limit
    anything = np.uint8(0)
    for k in range(len(low_x)):
        across = np.uint8(low_x[k] <= end_x) & np.uint8(high_x[k] >= x)
        near[k] = across & np.uint8(low_y[k] <= end_y) & np.uint8(high_y[k] >= y)
        anything |= near[k]
    return bool(anything)


@njit(cache=True)  # type: ignore[untyped-decorator]
def move_within(
    table: Floats,
    bounds: Floats,
    number: int,
    corners: Floats,
    reach: float,
    who: Ints,
    gap: Floats,
) -> int:
    """Put a prism where its (2n, 3) corners now are, in the table and bounds, and measure it there.

    Fills ``who`` and ``gap`` (n,) as one_within does and returns how many; what a drag asks for.
    """
    fill_prism(corners, table[number])
    for c in range(6):
        bounds[c, number] = table[number, c]
    return int(one_within(table, bounds, table[number], number, reach, who, gap))


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
