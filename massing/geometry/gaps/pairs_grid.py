"""Which bounds come within reach, compiled: a table of bounds in, pairs in order of a sweep out.

Things are sorted along the axis they are most spread on and swept within the columns of a grid
over the other two, so that the time grows with the things and the pairs, however they lie.
"""

from __future__ import annotations

from threading import local
from typing import TypeAlias

import numpy as np
from numba import njit
from numpy.typing import NDArray

from massing.geometry.solids import Floats, Ints

__all__ = ["Bits", "Room", "in_order", "near_pairs", "room_for"]

_FULL = 64  # things in a bucket from which on it is sorted better otherwise
_HELD = 20_000  # things up to which the room to work in is kept for the next question
_COLUMNS, _PAIRS = 4, 8  # columns and pairs a thing to make room for at first

Bits: TypeAlias = NDArray[np.int32]
_Grid: TypeAlias = tuple[Ints, Floats, Floats, Ints]  # axes, least place, cells per mm, cells
Room: TypeAlias = tuple[Bits, Floats, Floats, Bits, Bits]
"""Columns of each thing (n, 4), its bounds (n, 6); bounds (k, 6) and first columns and number
(k, 3) of each thing in each of its columns; pairs (m, 2)."""


class _Kept(local):
    """What was made room for last; fresh memory costs more than the work done in it."""

    count = -1
    room: Room


_kept = _Kept()


def room_for(count: int) -> Room:
    """Arrays to work in for so many things, those of the last question where they suffice."""
    if _kept.count >= count:
        return _kept.room
    room = (
        np.empty((count, 4), np.int32),
        np.empty((count, 6)),
        np.empty((_COLUMNS * count, 6)),
        np.empty((_COLUMNS * count, 3), np.int32),
        np.empty((_PAIRS * count + 1, 2), np.int32),
    )
    if count <= _HELD:
        _kept.count, _kept.room = count, room
    return room


@njit(cache=True)  # type: ignore[untyped-decorator]
def near_pairs(table: Floats, limit: float, room: Room) -> tuple[Bits, int]:
    """Pairs of numbers whose bounds are near, column by column of the grid, and how many.

    table : rows that begin with least and greatest corner
    """
    grid = _grid(table, limit)
    axes, low, inverse, shape = grid
    first = np.zeros(shape[1] * shape[2] + 1, np.int64)
    _, _, held, tags, found = room
    _count(table, limit, grid, room, first)
    if first[-1] > len(held):
        held, tags = np.empty((first[-1], 6)), np.empty((first[-1], 3), np.int32)
    _fill(_swept(table, axes[0], low[0], inverse[0]), shape[2], room, first, (held, tags))
    count = _swept_pairs(held, tags, first, shape[2], found)
    if count >= len(found):
        found = np.empty((count + 1, 2), np.int32)
        _swept_pairs(held, tags, first, shape[2], found)
    return found, count


@njit(cache=True)  # type: ignore[untyped-decorator]
def _swept_pairs(held: Floats, tags: Bits, first: Ints, deep: int, found: Bits) -> int:
    """Fills in pairs of near bounds as far as there is room, and returns how many there are."""
    room = len(found) - 1
    count = start = 0
    for cell in range(len(first) - 1):
        end = first[cell]
        for u in range(start, end):
            stop = held[u, 1]
            for v in range(u + 1, end):
                if held[v, 0] > stop:
                    break
                # Two things may share several columns: the pair is told in the first of them.
                y, z = max(tags[u, 0], tags[v, 0]), max(tags[u, 1], tags[v, 1])
                meet = (
                    (held[v, 2] <= held[u, 3])
                    & (held[u, 2] <= held[v, 3])
                    & (held[v, 4] <= held[u, 5])
                    & (held[u, 4] <= held[v, 5])
                    & (y * deep + z == cell)
                )
                # Written whether they meet or not: a guess gone wrong costs more than a number.
                place = min(count, room)
                found[place, 0], found[place, 1] = tags[u, 2], tags[v, 2]
                count += int(meet)
        start = end
    return count


@njit(cache=True)  # type: ignore[untyped-decorator]
def _grid(table: Floats, limit: float) -> _Grid:
    """The axis to sweep along and the two across it, with cells of about twice the mean thing.

    For the sweep ``inverse`` sorts into as many buckets as there are things.
    """
    n = len(table)
    axes, shape = np.empty(3, np.int64), np.ones(3, np.int64)
    low, inverse, span, step = np.empty(3), np.empty(3), np.empty(3), np.empty(3)
    longest = 0
    for axis in range(3):
        least, most, size = np.inf, -np.inf, 0.0
        for k in range(n):
            least, most = min(least, table[k, axis]), max(most, table[k, axis])
            size += table[k, 3 + axis] - table[k, axis]
        low[axis], span[axis] = least, max(most - least, 0.0)
        step[axis] = 2.0 * (size / max(n, 1) + limit)
        if span[axis] * step[longest] > span[longest] * step[axis]:
            longest = axis
    axes[0], axes[1], axes[2] = longest, (longest + 1) % 3, (longest + 2) % 3
    start = low.copy()
    for k in range(3):
        axis = axes[k]
        low[k] = start[axis]
        if k:
            shape[k] = 1 + int(min(span[axis] / step[axis], 1000.0)) if n else 1
    while shape[1] * shape[2] > n + 8:
        shape[1], shape[2] = (shape[1] + 1) // 2, (shape[2] + 1) // 2
    for k in range(3):
        cells = shape[k] if k else n
        inverse[k] = cells / span[axes[k]] if span[axes[k]] > 0.0 else 0.0
    return axes, low, inverse, shape


@njit(cache=True)  # type: ignore[untyped-decorator]
def _swept(table: Floats, axis: int, low: float, inverse: float) -> Ints:
    """Numbers of the things by their least coordinate along an axis, buckets first."""
    n = len(table)
    starts = np.zeros(n + 1, np.int64)
    bucket = np.empty(n, np.int64)
    for k in range(n):
        bucket[k] = min(int((table[k, axis] - low) * inverse), n - 1)
        starts[bucket[k] + 1] += 1
    fullest = 0
    for k in range(1, n + 1):
        fullest = max(fullest, starts[k])
        starts[k] += starts[k - 1]
    if fullest > _FULL:
        return np.argsort(table[:, axis])
    order, keys, ends = np.empty(n, np.int64), np.empty(n), starts.copy()
    for k in range(n):
        at, start, key = ends[bucket[k]], starts[bucket[k]], table[k, axis]
        ends[bucket[k]] += 1
        while at > start and keys[at - 1] > key:
            order[at], keys[at] = order[at - 1], keys[at - 1]
            at -= 1
        order[at], keys[at] = k, key
    return order


@njit(cache=True)  # type: ignore[untyped-decorator]
def _count(table: Floats, limit: float, grid: _Grid, room: Room, first: Ints) -> None:
    """Columns each thing reaches over and its bounds, and where each column's things begin.

    Bounds are noted in the order of the grid's axes, the greatest with the limit.
    """
    axes, low, inverse, shape = grid
    spans, bounds = room[0], room[1]
    for k in range(len(table)):
        for c in range(2):
            axis, most = axes[1 + c], shape[1 + c] - 1
            start = int((table[k, axis] - low[1 + c]) * inverse[1 + c])
            end = int((table[k, 3 + axis] + limit - low[1 + c]) * inverse[1 + c])
            spans[k, c], spans[k, 2 + c] = min(start, most), min(end, most)
        for y in range(spans[k, 0], spans[k, 2] + 1):
            for z in range(spans[k, 1], spans[k, 3] + 1):
                first[y * shape[2] + z + 1] += 1
        for c in range(3):
            bounds[k, 2 * c] = table[k, axes[c]]
            bounds[k, 2 * c + 1] = table[k, 3 + axes[c]] + limit
    for cell in range(1, len(first)):
        first[cell] += first[cell - 1]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill(order: Ints, deep: int, room: Room, first: Ints, out: tuple[Floats, Bits]) -> None:
    """Bounds, first column and number of each thing into its columns, in order of the sweep.

    ``first`` ends as where each column ends.
    """
    spans, bounds = room[0], room[1]
    held, tags = out
    for k in order:
        for y in range(spans[k, 0], spans[k, 2] + 1):
            for z in range(spans[k, 1], spans[k, 3] + 1):
                place = first[y * deep + z]
                for c in range(6):
                    held[place, c] = bounds[k, c]
                tags[place, 0], tags[place, 1], tags[place, 2] = spans[k, 0], spans[k, 1], k
                first[y * deep + z] += 1


@njit(cache=True)  # type: ignore[untyped-decorator]
def in_order(found: Bits, gaps: Floats, n: int) -> tuple[Ints, Floats]:
    """Pairs sorted by their first number, then their second, each with its gap."""
    starts = np.zeros(n + 1, np.int64)
    for k in range(len(found)):
        starts[found[k, 0] + 1] += 1
    for i in range(1, n + 1):
        starts[i] += starts[i - 1]
    pairs, values, ends = np.empty((len(found), 2), np.int64), np.empty_like(gaps), starts.copy()
    for k in range(len(found)):
        i, j = found[k]
        at = ends[i]
        ends[i] += 1
        while at > starts[i] and pairs[at - 1, 1] > j:
            pairs[at, 0], pairs[at, 1], values[at] = i, pairs[at - 1, 1], values[at - 1]
            at -= 1
        pairs[at, 0], pairs[at, 1], values[at] = i, j, gaps[k]
    return pairs, values
