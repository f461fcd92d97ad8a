"""Convex solids and room cells in, who takes which volume out, compiled.

Solids count in the order given: each is cut to a cell, and what earlier solids cover is cut away
from it piece by piece. What is left of the cell is cut out by itself, block by block. A piece is
convex throughout, so cuts stay sound where faces are flush: at worst they leave a sliver without
volume. What is kept and what is covered are both measured and must make each solid, and all of it
the cell; where that does not come out, or a solid is not convex after all, the answer is None.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numba import njit

from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.space.convex_cuts import (
    ON,
    add_volume,
    bounds_of,
    copied,
    halved,
    over_plane,
    pool_of,
    put,
)
from massing.geometry.space.convex_packed import Shapes, measured, packed

__all__ = ["shared_volumes"]

_CLOSE = 1e-10  # of a volume that its parts may be out by, and a tenth of a mm³
_PLACES = 512  # pieces waiting at once
_SPARE = 64  # corners and faces that cuts may add
_WORK = 400  # cuts a solid, on average, after which the mesh library is quicker
_BLOCK = 6  # solids in a block of a cell that is halved no further
_DEEP = 30  # times a block is halved at most

_Pool = tuple[Floats, Ints]


def shared_volumes(
    cells: Sequence[Convex],
    floors: Sequence[float],
    solids: Sequence[Convex],
    groups: tuple[int, Sequence[int]],
    bands: Sequence[float],
) -> Floats | None:
    """Volume by group and height band, the last row what no group takes, mm³.

    cells : disjoint; floors : the level their bands are counted from, mm
    solids : the first to count first; groups : how many and the number of each one's group

    Returns (groups + 1, bands + 1), or None when the cutting does not come out.

    >>> from massing.geometry.solids import box
    >>> cube = box([0, 0, 0], [10, 10, 10])
    >>> shared_volumes([cube], [0.0], [cube.moved([5, 0, 0])] * 2, (2, [0, 1]), [4.0]).tolist()
    [[200.0, 300.0], [0.0, 0.0], [200.0, 300.0]]
    """
    count, owners = groups
    taken = np.zeros((count + 1, len(bands) + 1))
    rooms, things = packed(cells), packed(solids)
    if not (measured(rooms) and measured(things)):
        return None
    most = max((len(s.corners[0]) + len(s.faces.rings) for s in (*cells, *solids)), default=0)
    pool = pool_of(_PLACES, most + _SPARE)
    levels = np.asarray(floors, dtype=np.float64)[:, None] + np.asarray(bands, dtype=np.float64)
    work = np.array([_WORK * (len(solids) + 10) * max(len(cells), 1)])
    numbers = np.asarray(owners, dtype=np.int64)
    for cell in range(len(cells)):
        shares, rest = np.zeros(taken.shape), np.zeros((3, taken.shape[1]))
        near = _owned(rooms, cell, things, numbers, pool, levels[cell], shares, work)
        if near is None or not _rest(rooms, cell, things, near, pool, levels[cell], rest, work):
            return None
        if not _comes_out(np.array([rest[0], shares.sum(axis=0), rest[2]])):
            return None
        taken += shares
        taken[-1] += rest[0]
    return taken


@njit(cache=True)  # type: ignore[untyped-decorator]
def _owned(  # noqa: PLR0913, PLR0917 - compiled code passes its arrays one by one
    rooms: Shapes,
    cell: int,
    things: Shapes,
    owners: Ints,
    pool: _Pool,
    levels: Floats,
    shares: Floats,
    work: Ints,
) -> Ints | None:
    """Add what solids take of a cell to their groups' rows; which reach in, or None in trouble."""
    near = np.empty(len(owners), np.int64)
    parts = np.zeros((3, shares.shape[1]))  # kept, covered, whole
    inside = 0
    for k in range(len(owners)):
        state = _own(rooms, cell, things, k, near[:inside], pool, levels, parts, work)
        if state < 0:
            return None
        if state > 0:
            near[inside] = k
            inside += 1
            for band in range(shares.shape[1]):
                shares[owners[k], band] += parts[0, band]
    return near[:inside]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _comes_out(parts: Floats) -> bool:
    """Whether the first two make the third in every band."""
    out, total = 0.0, 0.0
    for band in range(parts.shape[1]):
        out = max(out, abs(parts[0, band] + parts[1, band] - parts[2, band]))
        total += parts[2, band]
    return bool(out <= _CLOSE * total + 0.1)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _own(  # noqa: PLR0913, PLR0917 - compiled code passes its arrays one by one
    rooms: Shapes,
    cell: int,
    things: Shapes,
    number: int,
    near: Ints,
    pool: _Pool,
    levels: Floats,
    parts: Floats,
    work: Ints,
) -> int:
    """A solid's share of a cell after those before it: 1 with parts, 0 outside, -1 in trouble."""
    if not _meet(rooms[6][cell], things[6][number]):
        return 0
    _load(things, number, pool, 0)
    state = _cut_to(rooms, cell, pool, work)
    if state <= 0:
        return int(state)
    over = np.empty(len(near), np.int64)
    beside = 0
    for other in near:
        if _meet(things[6][other], things[6][number]):
            over[beside] = other
            beside += 1
    for band in range(parts.shape[1]):
        parts[0, band], parts[1, band], parts[2, band] = 0.0, 0.0, 0.0
    add_volume(pool[0], pool[1], 0, levels, parts[2])
    carved = _carve(things, over[:beside], pool, 0, levels, parts, work)
    return 1 if carved and _comes_out(parts) else -1


@njit(cache=True)  # type: ignore[untyped-decorator]
def _meet(a: Floats, b: Floats) -> bool:
    """Whether two bounds share more than a face."""
    return bool(
        a[0] <= b[3] - ON
        and b[0] <= a[3] - ON
        and a[1] <= b[4] - ON
        and b[1] <= a[4] - ON
        and a[2] <= b[5] - ON
        and b[2] <= a[5] - ON
    )


@njit(cache=True)  # type: ignore[untyped-decorator]
def _load(shapes: Shapes, s: int, pool: _Pool, place: int) -> None:
    """Copy a solid into a place of the pool."""
    corners, firsts, numbers, starts, sides = shapes[:5]
    faces = numbers, starts[sides[s] : sides[s + 1] + 1]
    put(pool[0], pool[1], place, corners[firsts[s] : firsts[s + 1]], faces)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _cut_to(rooms: Shapes, cell: int, pool: _Pool, work: Ints) -> int:
    """Cut the piece in place 0 to a cell: 1 when some is left, 0 when none, -1 in trouble."""
    for f in range(rooms[4][cell], rooms[4][cell + 1]):
        below, above = over_plane(pool[0], pool[1], 0, rooms[5], f)
        if not above:
            continue
        if not below:
            return 0
        work[0] -= 1
        if not halved(pool[0], pool[1], 0, 1, 2):
            return -1
        copied(pool[0], pool[1], 1, 0)
    return 1


@njit(cache=True)  # type: ignore[untyped-decorator]
def _carve(
    things: Shapes,
    over: Ints,
    pool: _Pool,
    base: int,
    levels: Floats,
    parts: Floats,
    work: Ints,
) -> bool:
    """Cut what others cover out of the piece in a place, into kept and covered parts.

    False in trouble. Pieces wait in the places above, each with the first of the others that it
    has not met yet.
    """
    following, bounds = np.empty(_PLACES, np.int64), np.empty(6)
    following[base] = 0
    waiting = base + 1
    while waiting > base:
        top = waiting - 1
        k = following[top]
        bounds_of(pool[0], pool[1], top, bounds)
        while k < len(over) and not (
            _meet(bounds, things[6][over[k]]) and _reaches(things, over[k], pool, top)
        ):
            k += 1
        if k == len(over):
            add_volume(pool[0], pool[1], top, levels, parts[0])
            waiting = top
            continue
        inside = _split(things, over[k], pool, top, work)
        if inside < 0:
            return False
        for place in range(top, inside + 1):
            following[place] = k + 1
        waiting = inside + 1
        if _reaches(things, over[k], pool, inside):
            add_volume(pool[0], pool[1], inside, levels, parts[1])
            waiting = inside
    return True


@njit(cache=True)  # type: ignore[untyped-decorator]
def _reaches(things: Shapes, s: int, pool: _Pool, place: int) -> bool:
    """Whether a piece has corners on the inner side of each face of a solid."""
    for f in range(things[4][s], things[4][s + 1]):
        below, above = over_plane(pool[0], pool[1], place, things[5], f)
        if above and not below:
            return False
    return True


@njit(cache=True)  # type: ignore[untyped-decorator]
def _split(things: Shapes, s: int, pool: _Pool, top: int, work: Ints) -> int:
    """Cut a piece along a solid's faces: the outer parts in order, the innermost in the place told.

    The innermost may still lie outside, when no part of the piece is inside; -1 in trouble.
    """
    for f in range(things[4][s], things[4][s + 1]):
        below, above = over_plane(pool[0], pool[1], top, things[5], f)
        if not above:
            continue
        if not below:
            break
        work[0] -= 1
        if top + 3 > _PLACES or work[0] < 0 or not halved(pool[0], pool[1], top, top + 1, top + 2):
            return -1
        copied(pool[0], pool[1], top + 2, top)
        top += 1
    return top


@njit(cache=True)  # type: ignore[untyped-decorator]
def _rest(  # noqa: PLR0913, PLR0917 - compiled code passes its arrays one by one
    rooms: Shapes,
    cell: int,
    things: Shapes,
    near: Ints,
    pool: _Pool,
    levels: Floats,
    parts: Floats,
    work: Ints,
) -> bool:
    """Add up what solids leave of a cell and the whole of it, halved until few are in a block.

    The solids of each waiting block are a stretch of one list; the last block's is its end.
    """
    _load(rooms, cell, pool, 0)
    add_volume(pool[0], pool[1], 0, levels, parts[2])
    listed = np.empty((_DEEP + 2) * len(near) + 1, np.int64)
    for k in range(len(near)):
        listed[k] = near[k]
    spans = np.zeros((_DEEP + 2, 3), np.int64)  # first and last of the list, times halved
    spans[0, 1] = len(near)
    middle = np.zeros((1, 4))
    waiting = 1
    while waiting:
        top = waiting - 1
        start, stop, deep = spans[top]
        axis = _middle_plane(pool, top, middle[0])
        if deep == _DEEP or not _parted(things, listed[start:stop], axis, middle[0, 3]):
            if not _carve(things, listed[start:stop], pool, top, levels, parts, work):
                return False
            waiting = top
            continue
        over_plane(pool[0], pool[1], top, middle, 0)
        if not halved(pool[0], pool[1], top, top + 1, top + 2):
            return False
        copied(pool[0], pool[1], top + 2, top)
        _dealt(things, listed, spans, top, axis, middle[0, 3])
        waiting += 1
    return True


@njit(cache=True)  # type: ignore[untyped-decorator]
def _middle_plane(pool: _Pool, place: int, plane: Floats) -> int:
    """The plane across the middle of a piece's longest way, and which axis that is."""
    bounds = np.empty(6)
    bounds_of(pool[0], pool[1], place, bounds)
    axis = 0
    for c in range(1, 3):
        if bounds[3 + c] - bounds[c] > bounds[3 + axis] - bounds[axis]:
            axis = c
    for c in range(3):
        plane[c] = 0.0
    plane[axis] = 1.0
    plane[3] = (bounds[axis] + bounds[3 + axis]) / 2.0
    return axis


@njit(cache=True)  # type: ignore[untyped-decorator]
def _parted(things: Shapes, which: Ints, axis: int, middle: float) -> bool:
    """Whether halving there leaves fewer solids on both sides, of more than a few."""
    low, high = 0, 0
    for s in which:
        low += things[6][s, axis] < middle - ON
        high += things[6][s, 3 + axis] > middle + ON
    return bool(len(which) > _BLOCK and low < len(which) and high < len(which))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _dealt(things: Shapes, listed: Ints, spans: Ints, top: int, axis: int, middle: float) -> None:
    """Deal a block's solids to its halves: the high half's in place, the low half's behind."""
    start, stop, deep = spans[top]
    low, high = stop, start
    for k in range(start, stop):
        if things[6][listed[k], axis] < middle - ON:
            listed[low] = listed[k]
            low += 1
    for k in range(start, stop):
        if things[6][listed[k], 3 + axis] > middle + ON:
            listed[high] = listed[k]
            high += 1
    spans[top, 1], spans[top, 2] = high, deep + 1
    spans[top + 1, 0], spans[top + 1, 1], spans[top + 1, 2] = stop, low, deep + 1
