"""Which pairs are worth measuring: solids in, pairs whose bounds come within reach out.

Bounds are axis-aligned and taken over every world, so no pair that matters in any world is lost.
The sweep sorts along the axis the solids are most spread on and never builds the full square.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["bounds", "candidate_pairs", "candidate_pairs_between", "near_bounds"]


def bounds(solids: Sequence[Convex]) -> tuple[Floats, Floats]:
    """Least and greatest corner of each solid over all its worlds, each (n, 3) mm."""
    if not solids:
        return np.empty((0, 3)), np.empty((0, 3))
    corners = [solid.corners.reshape(-1, 3) for solid in solids]
    starts = np.cumsum([0] + [len(each) for each in corners[:-1]])
    cloud = np.concatenate(corners)
    return np.minimum.reduceat(cloud, starts), np.maximum.reduceat(cloud, starts)


def candidate_pairs(solids: Sequence[Convex], reach: float) -> Ints:
    """Pairs (i < j) whose bounds come within ``reach`` mm, sorted, as (m, 2) numbers.

    The distance between bounds is Euclidean and the comparison includes equality, so flush
    bounds are found with a reach of zero.

    >>> from massing.geometry.solids import box
    >>> row = [box([x, 0, 0], [x + 10, 10, 10]) for x in (0, 10, 25)]
    >>> candidate_pairs(row, 0.0).tolist(), candidate_pairs(row, 5.0).tolist()
    ([[0, 1]], [[0, 1], [1, 2]])
    """
    low, high = bounds(solids)
    i, j = near_bounds(low, high, reach)
    return _in_order(i, j, len(low))


def candidate_pairs_between(
    firsts: Sequence[Convex], seconds: Sequence[Convex], reach: float
) -> Ints:
    """Pairs (number in firsts, number in seconds) whose bounds come within ``reach`` mm, sorted.

    >>> from massing.geometry.solids import box
    >>> walls = [box([-10, 0, 0], [0, 99, 99]), box([90, 0, 0], [99, 99, 99])]
    >>> candidate_pairs_between([box([0, 0, 0], [10, 10, 10])], walls, 1.0).tolist()
    [[0, 0]]
    """
    count = len(firsts)
    low, high = bounds([*firsts, *seconds])
    i, j = near_bounds(low, high, reach, count)
    return _in_order(i, j - count, len(low))


def near_bounds(
    low: Floats, high: Floats, reach: float, firsts: int | None = None
) -> tuple[Ints, Ints]:
    """Pairs i < j of (n, 3) bounds within reach, in no order, by sorting along one axis.

    firsts : when given, only pairs of one of so many first bounds with one of the rest
    """
    count = len(low)
    if count < 2:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    reach = reach + EXACT
    # The fewest neighbours come from the axis with most spread for the size of the solids.
    spread = (low.max(axis=0) - low.min(axis=0)) / ((high - low).mean(axis=0) + reach + 1.0)
    axes = np.argsort(-spread, kind="stable").tolist()
    lows, highs = np.ascontiguousarray(low.T), np.ascontiguousarray(high.T) + reach
    order = np.argsort(lows[axes[0]], kind="stable")
    last = np.searchsorted(lows[axes[0]][order], highs[axes[0]][order], side="right")
    runs = np.maximum(last - np.arange(count) - 1, 0)
    ends = np.cumsum(runs)
    step = np.arange(ends[-1]) - np.repeat(ends - runs - np.arange(1, count + 1), runs)
    i, j = np.repeat(order, runs), order[step]
    if firsts is not None:
        i, j = _kept((i < firsts) != (j < firsts), i, j)
    for axis in axes[1:]:
        a, b = lows[axis], highs[axis]
        i, j = _kept((a[i] <= b[j]) & (a[j] <= b[i]), i, j)
    if reach > EXACT:
        apart = np.maximum(np.maximum(low[i] - high[j], low[j] - high[i]), 0.0)
        i, j = _kept(np.einsum("ki,ki->k", apart, apart) <= reach * reach, i, j)
    return np.minimum(i, j), np.maximum(i, j)


def _kept(which: NDArray[np.bool_], i: Ints, j: Ints) -> tuple[Ints, Ints]:
    numbers = np.flatnonzero(which)
    return i[numbers], j[numbers]


def _in_order(first: Ints, second: Ints, count: int) -> Ints:
    """(m, 2) pairs of numbers below ``count`` sorted by their first number, then their second."""
    keys = np.sort(first * count + second)
    return np.stack(np.divmod(keys, count) if count else (keys, keys), axis=1)
