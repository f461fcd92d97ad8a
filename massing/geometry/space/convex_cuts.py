"""A pool of convex pieces and a plane in, the pieces on either side of it out, compiled.

Made for cutting the same solids over and over: pieces live in places of one pool, and nothing is
allocated for a cut. A cut edge gets one new corner for both of its faces, so a piece stays closed
to the last bit, and a corner within ``ON`` of the plane lies on it, so flush faces stay flush.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from massing.geometry.solids import Floats, Ints

__all__ = ["ON", "add_volume", "bounds_of", "copied", "halved", "over_plane", "pool_of", "put"]

ON = 1e-7
"""A corner this near a cutting plane lies on it, mm."""

_CORNERS, _FACES, _BEGINS = range(3)
_MADE, _FILLED, _LINKS, _LAST, _ENTERS, _LEAVES = range(6)
_FEWEST = 16


def pool_of(pieces: int, corners: int) -> tuple[Floats, Ints]:
    """An empty pool of so many places for pieces of at most so many corners and faces.

    Returns corners (places, v, 3) and a row of whole numbers a place (places, w): how many
    corners and faces, where each face begins, then the corner numbers face by face. The last
    place is for the work: heights over the plane; new numbers, links and ends of cut edges.
    Two arrays, because compiled code pays for each it hands on.
    """
    most = max(corners, _FEWEST)
    return np.empty((pieces + 1, most, 3)), np.zeros((pieces + 1, 7 * most + 3), dtype=np.int64)


@njit(cache=True)  # type: ignore[untyped-decorator]
def put(points: Floats, rows: Ints, place: int, corners: Floats, faces: tuple[Ints, Ints]) -> None:
    """Copy a solid into a place: corners (v, 3), corner numbers face by face, and face starts."""
    numbers, starts = faces
    rows[place, _CORNERS], rows[place, _FACES] = len(corners), len(starts) - 1
    for v in range(len(corners)):
        for c in range(3):
            points[place, v, c] = corners[v, c]
    for f in range(len(starts)):
        rows[place, _BEGINS + f] = starts[f] - starts[0]
    rings = points.shape[1] + 3
    for k in range(starts[-1] - starts[0]):
        rows[place, rings + k] = numbers[starts[0] + k]


@njit(cache=True)  # type: ignore[untyped-decorator]
def copied(points: Floats, rows: Ints, source: int, target: int) -> None:
    """Copy a piece to another place."""
    for v in range(rows[source, _CORNERS]):
        for c in range(3):
            points[target, v, c] = points[source, v, c]
    faces, rings = rows[source, _FACES], points.shape[1] + 3
    for k in range(_BEGINS + faces + 1):
        rows[target, k] = rows[source, k]
    for k in range(rings, rings + rows[source, _BEGINS + faces]):
        rows[target, k] = rows[source, k]


@njit(cache=True)  # type: ignore[untyped-decorator]
def bounds_of(points: Floats, rows: Ints, place: int, bounds: Floats) -> None:
    """Least and greatest corner of a piece, into ``bounds`` (6,)."""
    for c in range(3):
        low, high = np.inf, -np.inf
        for v in range(rows[place, _CORNERS]):
            low, high = min(low, points[place, v, c]), max(high, points[place, v, c])
        bounds[c], bounds[3 + c] = low, high


@njit(cache=True)  # type: ignore[untyped-decorator]
def over_plane(
    points: Floats, rows: Ints, place: int, planes: Floats, number: int
) -> tuple[bool, bool]:
    """Whether any corner of a piece is under a plane a x + b y + c z = d, and any over it.

    planes : (n, 4) rows a, b, c, d. The heights stay in the pool for ``halved``.
    """
    a, b, c, d = (planes[number, 0], planes[number, 1], planes[number, 2], planes[number, 3])
    work = len(points) - 1
    below, above = False, False
    for v in range(rows[place, _CORNERS]):
        height = a * points[place, v, 0] + b * points[place, v, 1] + c * points[place, v, 2] - d
        if height < -ON:
            below = True
        elif height > ON:
            above = True
        else:
            height = 0.0
        points[work, v, 0] = height
    return below, above


@njit(cache=True)  # type: ignore[untyped-decorator]
def halved(points: Floats, rows: Ints, source: int, under: int, over: int) -> bool:
    """Cut a piece by the plane ``over_plane`` was just asked about, with corners on both sides.

    False when it does not fit its place, or rounding left no single ring along the cut.
    """
    return bool(_half(points, rows, source, under, 1.0) and _half(points, rows, source, over, -1.0))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _half(points: Floats, rows: Ints, source: int, target: int, sign: float) -> bool:
    """Keep the side where sign * height <= 0."""
    work, most = len(rows) - 1, points.shape[1]
    count = 0
    for v in range(most):
        rows[work, v], rows[work, most + v] = -1, -1
    for v in range(rows[source, _CORNERS]):
        if sign * points[work, v, 0] <= 0.0:
            for c in range(3):
                points[target, count, c] = points[source, v, c]
            rows[work, v] = count
            count += 1
    for k in range(5 * most, 5 * most + 6):
        rows[work, k] = 0
    rows[target, _CORNERS], rows[target, _FACES], rows[target, _BEGINS] = count, 0, 0
    for f in range(rows[source, _FACES]):
        if not _cut_face(points, rows, source, target, f):
            return False
    return bool(_closed(points, rows, target))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _cut_face(points: Floats, rows: Ints, source: int, target: int, face: int) -> bool:
    """Keep what stays of a face, and link the ends of its cut for the face that closes it."""
    work, most = len(rows) - 1, points.shape[1]
    rings, tally = most + 3, 5 * most
    start, stop = rows[source, _BEGINS + face], rows[source, _BEGINS + face + 1]
    begun = filled = rows[work, tally + _FILLED]
    enters, leaves = -1, -1
    if begun + 2 * (stop - start) > 6 * most:
        return False
    for k in range(start, stop):
        u = rows[source, rings + k]
        w = rows[source, rings + (k + 1 if k + 1 < stop else start)]
        goes, comes = rows[work, u] >= 0, rows[work, w] >= 0
        if goes:
            rows[target, rings + filled] = rows[work, u]
            filled += 1
        if goes == comes:
            continue
        kept = u if goes else w
        place = rows[work, kept]
        if points[work, kept, 0] != 0.0:
            place = _new_corner(points, rows, source, target, min(u, w), max(u, w))
            rows[target, rings + filled] = place
            filled += 1
        if place < 0 or (goes and leaves >= 0) or (comes and enters >= 0):
            return False
        leaves, enters = (place, enters) if goes else (leaves, place)
    if filled - begun >= 3:
        if rows[target, _FACES] + 2 >= most:
            return False
        rows[work, tally + _FILLED] = filled
        rows[target, _FACES] += 1
        rows[target, _BEGINS + rows[target, _FACES]] = filled
    return enters == leaves or bool(_linked(rows, most, enters, leaves))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _new_corner(points: Floats, rows: Ints, source: int, target: int, low: int, high: int) -> int:
    """Number of the corner where an edge is cut, the same from both its faces; -1 if too many."""
    work, most = len(rows) - 1, points.shape[1]
    ends, tally = 2 * most, 5 * most
    for e in range(ends, ends + 3 * rows[work, tally + _MADE], 3):
        if rows[work, e] == low and rows[work, e + 1] == high:
            return int(rows[work, e + 2])
    place = rows[target, _CORNERS]
    if place >= most:
        return -1
    share = points[work, low, 0] / (points[work, low, 0] - points[work, high, 0])
    for c in range(3):
        away = points[source, high, c] - points[source, low, c]
        points[target, place, c] = points[source, low, c] + share * away
    row = ends + 3 * rows[work, tally + _MADE]
    rows[work, row], rows[work, row + 1], rows[work, row + 2] = low, high, place
    rows[work, tally + _MADE] += 1
    rows[target, _CORNERS] += 1
    return int(place)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _linked(rows: Ints, most: int, start: int, end: int) -> bool:
    """Where a face was cut from one corner to another, the closing face goes the other way."""
    work, tally = len(rows) - 1, 5 * most
    if start < 0 or end < 0 or rows[work, most + start] >= 0:
        return False
    rows[work, most + start] = end
    rows[work, tally + _LINKS] += 1
    rows[work, tally + _LAST] = start
    return True


@njit(cache=True)  # type: ignore[untyped-decorator]
def _closed(points: Floats, rows: Ints, target: int) -> bool:
    """Add the face along the cut; False unless its links are one ring."""
    work, most = len(rows) - 1, points.shape[1]
    rings, tally = most + 3, 5 * most
    links, last = rows[work, tally + _LINKS], rows[work, tally + _LAST]
    filled, place = rows[work, tally + _FILLED], last
    if links < 3 or filled + links > 6 * most:
        return False
    for _ in range(links):
        rows[target, rings + filled] = place
        filled += 1
        place = rows[work, most + place]
        if place < 0:
            return False
    rows[target, _FACES] += 1
    rows[target, _BEGINS + rows[target, _FACES]] = filled
    return bool(place == last)


@njit(cache=True)  # type: ignore[untyped-decorator]
def add_volume(points: Floats, rows: Ints, place: int, levels: Floats, found: Floats) -> None:
    """Add a piece's volume below, between and above levels to ``found`` (levels + 1,), mm³.

    The upright field min(z, level) has divergence one below the level and none above, so the
    volume up to a level is its flow out through the faces: plan area times the mean of
    min(z, level), which on one triangle is a cubic in the level between its corners.
    """
    low, high = np.inf, -np.inf
    for v in range(rows[place, _CORNERS]):
        low, high = min(low, points[place, v, 2]), max(high, points[place, v, 2])
    first, last = 0, 0
    for level in levels:
        first += level <= low
        last += level < high
    below = 0.0
    for band in range(first, last + 1):
        # Counted from the piece's own foot, so that a small piece is not lost in a large flow.
        total = _flow(points, rows, place, low, levels[band] - low if band < last else np.inf)
        found[band] += total - below
        below = total


@njit(cache=True)  # type: ignore[untyped-decorator]
def _flow(points: Floats, rows: Ints, place: int, foot: float, limit: float) -> float:
    rings = points.shape[1] + 3
    total = 0.0
    for f in range(rows[place, _FACES]):
        start = rings + rows[place, _BEGINS + f]
        stop = rings + rows[place, _BEGINS + f + 1]
        a = rows[place, start]
        x, y, z = points[place, a, 0], points[place, a, 1], points[place, a, 2] - foot
        for k in range(start + 1, stop - 1):
            b, c = rows[place, k], rows[place, k + 1]
            plan = (points[place, b, 0] - x) * (points[place, c, 1] - y)
            plan -= (points[place, b, 1] - y) * (points[place, c, 0] - x)
            if plan != 0.0:
                up, over = points[place, b, 2] - foot, points[place, c, 2] - foot
                total += plan * _mean_below(z, up, over, limit)
    return total / 2.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _mean_below(a: float, b: float, c: float, limit: float) -> float:
    """Mean of min(z, limit) over a triangle with corner heights a, b, c."""
    low, high = min(a, b, c), max(a, b, c)
    if high <= limit:
        return (a + b + c) / 3.0
    if low >= limit:
        return limit
    middle = a + b + c - low - high
    if limit <= middle:
        return limit - (limit - low) ** 3 / (3.0 * (middle - low) * (high - low))
    return (a + b + c) / 3.0 - (high - limit) ** 3 / (3.0 * (high - low) * (high - middle))
