"""Which pairs are worth measuring: solids in, pairs whose bounds come within reach out.

Bounds are axis-aligned and taken over every world, so no pair that matters in any world is lost.
The sweep sorts along the axis the solids are most spread on and never builds the full square.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["bounds", "candidate_pairs", "candidate_pairs_between"]


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
    i, j = _sweep(low, high, reach)
    return _in_order(np.minimum(i, j), np.maximum(i, j))


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
    i, j = _sweep(low, high, reach)
    first, second = np.minimum(i, j), np.maximum(i, j)
    across = (first < count) & (second >= count)
    return _in_order(first[across], second[across] - count)


def _sweep(low: Floats, high: Floats, reach: float) -> tuple[Ints, Ints]:
    """Unordered pairs of bounds within reach, by sorting along one axis."""
    count = len(low)
    if count < 2:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    reach = reach + EXACT
    # The fewest neighbours come from the axis with most spread for the size of the solids.
    spread = (low.max(axis=0) - low.min(axis=0)) / ((high - low).mean(axis=0) + reach + 1.0)
    axis = int(np.argmax(spread))
    order = np.argsort(low[:, axis], kind="stable")
    starts = low[order, axis]
    last = np.searchsorted(starts, high[order, axis] + reach, side="right")
    runs = np.maximum(last - np.arange(count) - 1, 0)
    first = np.repeat(np.arange(count), runs)
    second = np.arange(len(first)) - np.repeat(np.cumsum(runs) - runs, runs) + first + 1
    i, j = order[first], order[second]
    apart = np.maximum(np.maximum(low[i] - high[j], low[j] - high[i]), 0.0)
    near = np.einsum("ki,ki->k", apart, apart) <= reach * reach
    return i[near], j[near]


def _in_order(first: Ints, second: Ints) -> Ints:
    """(m, 2) pairs sorted by their first number, then their second."""
    pairs = np.stack([first, second], axis=1)
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
