"""How far apart is every pair, compiled: question and answers are those of the signed gaps.

For sampling and search, where the same pairs are measured many thousands of times. Right prisms
have a closed form; of other solids the distance is searched for and proved, and whatever is not
proved so (what touches, overlaps or nearly does) is measured face by face. Importing this loads
numba, and the first call on a machine compiles.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numba import njit

from massing.geometry.gaps.asked import Gaps, checked
from massing.geometry.gaps.boxes_compiled import BOX, box_gap, fill_box
from massing.geometry.gaps.faces_compiled import (
    exact_gap,
    fill_edges,
    fill_faces,
    point_between,
    work_for,
)
from massing.geometry.gaps.gjk_compiled import proved_distance
from massing.geometry.gaps.pairs import BOUNDS, EDGE
from massing.geometry.gaps.pairs_compiled import prism_gap
from massing.geometry.gaps.prisms_compiled import fill_prism, prism_answer
from massing.geometry.gaps.rows import Rows, rows_of
from massing.geometry.solids import Convex, Floats, Ints

__all__ = ["gaps_of_rows", "signed_gaps_compiled"]

_CORNERS_AT_ONCE = 1 << 17  # corners of all solids and worlds laid out together
_BOXES_AT_ONCE = 64  # worlds a pair of boxes is measured in at once, all boxes being at hand
_NEAR = 1.0  # mm; corners this near the nearest plane may share a face or edge with it
_SQUARE = 1e-4  # sine squared above which two edges cross in one point


def signed_gaps_compiled(solids: Sequence[Convex], pairs: Ints, told: int = 1) -> Gaps:
    """Signed gaps in every world as signed_gaps gives them, faster when there are many.

    told : how many worlds normals and points are given in, the nominal one by default; gaps come
        in all

    >>> from massing.geometry.solids import box
    >>> two = [box([0, 0, 0], [10, 10, 10]), box([13, 14, 2], [20, 20, 20])]
    >>> signed_gaps_compiled(two, np.array([[0, 1]])).gap.tolist()
    [[5.0]]
    """
    pairs = checked(solids, pairs)
    numbers = np.unique(pairs)
    place = np.zeros(len(solids), dtype=np.int64)
    place[numbers] = np.arange(len(numbers))
    met, pairs = [solids[k] for k in numbers.tolist()], place[pairs]
    worlds = max((solid.worlds for solid in solids), default=1)
    told = min(told, worlds)
    gap = np.empty((worlds, len(pairs)))
    normal, at = np.empty((told, len(pairs), 3)), np.empty((told, len(pairs), 3))
    corners = sum(solid.corners.shape[1] for solid in met)
    step = max(1, _CORNERS_AT_ONCE // max(corners, 1))
    for low in range(0, worlds, step):
        high = min(low + step, worlds)
        some = slice(min(low, told), min(high, told))
        gaps_of_rows(rows_of(met, low, high), pairs, gap[low:high], normal[some], at[some])
    return Gaps(gap + 0.0, normal + 0.0, at + 0.0)  # no negative zeros to print


def gaps_of_rows(rows: Rows, pairs: Ints, gap: Floats, normal: Floats, at: Floats) -> None:
    """Fill ``gap`` (worlds, m) for pairs of solids laid out once, as for one set moved often.

    normal, at : (told, m, 3) are filled for the first so many worlds, which may be none
    """
    flat = (rows.corners, rows.solids, rows.patterns, rows.rings, rows.edges, rows.room)
    upright = rows.solids[:, 4][pairs].all(axis=1)
    for kernel, which in ((_fill_prisms, upright), (_fill_others, ~upright)):
        if which.any():
            kernel(flat, pairs, np.flatnonzero(which), (gap, normal, at))


_Flat = tuple[Floats, Ints, Ints, Ints, Ints, Ints]
_Solid = tuple[Floats, Floats, Floats, Ints]
_Answers = tuple[Floats, Floats, Floats]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill_prisms(rows: _Flat, pairs: Ints, which: Ints, out: _Answers) -> None:
    gap, normal, at = out
    told = len(normal)
    _fill_boxes(rows, pairs, which, gap[told:], told)
    prisms, work = np.empty(rows[5][2]), np.empty((9, rows[5][5] + 8))
    filled = np.full(len(rows[1]), -1)  # the world each row was last filled for
    for world in range(len(gap)):
        for k in which:
            if world >= told and not np.isnan(gap[world, k]):
                continue
            p = _prism(rows, pairs[k, 0], world, filled, prisms)
            q = _prism(rows, pairs[k, 1], world, filled, prisms)
            if world < told:
                gap[world, k] = prism_answer(p, q, work, normal[world, k], at[world, k])
            else:
                gap[world, k] = prism_gap(p, q, np.inf)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill_boxes(rows: _Flat, pairs: Ints, which: Ints, gap: Floats, begin: int) -> None:
    """Gaps of pairs of boxes in the worlds from ``begin`` on, NaN where that does not settle it."""
    corners, solids = rows[0], rows[1]
    met = np.zeros(len(solids), np.uint8)
    for k in which:
        met[pairs[k, 0]] = met[pairs[k, 1]] = 1
    boxes = np.empty((len(solids), _BOXES_AT_ONCE, BOX))
    for low in range(0, len(gap), _BOXES_AT_ONCE):
        count = min(_BOXES_AT_ONCE, len(gap) - low)
        for number in np.flatnonzero(met):
            first, size, step = solids[number, 0], solids[number, 1], solids[number, 2]
            first += (begin + low) * step
            for world in range(count):
                fill_box(corners[first : first + size], boxes[number, world])
                first += step
        for k in which:
            i, j = pairs[k]
            for world in range(count):
                gap[low + world, k] = box_gap(boxes[i, world], boxes[j, world], np.inf)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill_others(rows: _Flat, pairs: Ints, which: Ints, out: _Answers) -> None:
    gap, normal, at = out
    room = rows[5]
    framed = np.full(len(rows[1]), -1)  # the world each frame was last made for
    # Frames are kept where solids are met again; met once, they are made in the same little room.
    kept = len(which) >= len(rows[1])
    faces = np.empty((room[0] if kept else 2 * room[3], 4))
    edges = np.empty((room[1] if kept else 2 * room[4], 13))
    work, spare = work_for(room[3], room[4]), np.empty((2 * room[4], 4))
    simplex, near, best = np.zeros((4, 6)), np.empty(9), np.empty(4)
    begun = np.zeros((len(pairs), 2))
    for world in range(len(gap)):
        told = world < len(normal)
        for k in which:
            i, j = pairs[k]
            cloud_a, cloud_b = _cloud(rows, i, world), _cloud(rows, j, world)
            # Begun where the same pair ended in the world before: it has seldom moved far.
            simplex[0, 4], simplex[0, 5] = begun[k, 0], begun[k, 1]
            best[0] = proved_distance(cloud_a, cloud_b, simplex, near)
            begun[k, 0], begun[k, 1] = simplex[0, 4], simplex[0, 5]
            proved = best[0] > 0.0
            if not (
                proved and (not told or _one_point(cloud_a, cloud_b, near, best, at[world, k]))
            ):
                if kept:
                    a = _framed(rows, i, world, framed, (faces, edges))
                    b = _framed(rows, j, world, framed, (faces, edges))
                else:
                    a = _made(rows, i, world, (faces, 0), (edges, 0))
                    b = _made(rows, j, world, (faces, room[3]), (edges, room[4]))
                if not proved:
                    exact_gap(a, b, work, best)
                if told:
                    point_between(a, b, best, spare, at[world, k])
            gap[world, k] = best[0]
            if told:
                for c in range(3):
                    normal[world, k, c] = best[1 + c]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _cloud(rows: _Flat, number: int, world: int) -> Floats:
    first = rows[1][number, 0] + world * rows[1][number, 2]
    return rows[0][first : first + rows[1][number, 1]]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _prism(rows: _Flat, number: int, world: int, filled: Ints, prisms: Floats) -> Floats:
    """The solid's row of a table of prisms in that world, filled on first use."""
    solid = rows[1][number]
    first = solid[7]
    row = prisms[first : first + BOUNDS + EDGE * max(solid[1] // 2, 4)]
    mine = world if solid[2] else 0
    if filled[number] != mine:
        filled[number] = mine
        fill_prism(_cloud(rows, number, world), row)
    return row


@njit(cache=True)  # type: ignore[untyped-decorator]
def _framed(
    rows: _Flat, number: int, world: int, framed: Ints, made: tuple[Floats, Floats]
) -> _Solid:
    """The solid's corners, faces and edges in that world, filled on first use."""
    solid = rows[1][number]
    mine = world if solid[2] else 0
    if framed[number] != mine:
        framed[number] = mine
        _made(rows, number, world, (made[0], solid[5]), (made[1], solid[6]))
    kind = rows[2][solid[3]]
    sides = made[0][solid[5] : solid[5] + kind[0]]
    rims = made[1][solid[6] : solid[6] + kind[3]]
    return _cloud(rows, number, world), sides, rims, rows[4][kind[4] : kind[4] + kind[3]]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _made(
    rows: _Flat, number: int, world: int, faces: tuple[Floats, int], edges: tuple[Floats, int]
) -> _Solid:
    """The solid's corners, faces and edges in that world, made in arrays from a row on."""
    kind = rows[2][rows[1][number, 3]]
    cloud = _cloud(rows, number, world)
    sides = faces[0][faces[1] : faces[1] + kind[0]]
    rims = edges[0][edges[1] : edges[1] + kind[3]]
    joins = rows[4][kind[4] : kind[4] + kind[3]]
    rings = rows[3][kind[2] : kind[2] + kind[0] * kind[1]].reshape((kind[0], kind[1]))
    fill_faces(cloud, rings, sides)
    fill_edges(cloud, joins, sides, rims)
    return cloud, sides, rims, joins


@njit(cache=True)  # type: ignore[untyped-decorator]
def _one_point(a: Floats, b: Floats, near: Floats, best: Floats, at: Floats) -> bool:
    """Whether only one pair of points is nearest: a single corner, or two edges that cross.

    Fills the direction into ``best`` and, where there is one, the point midway into ``at``.
    """
    for c in range(3):
        best[1 + c] = near[c] / best[0]
        at[c] = (near[3 + c] + near[6 + c]) / 2.0
    i, mine = _foremost(a, best, 1.0)
    j, theirs = _foremost(b, best, -1.0)
    if mine == 1 or theirs == 1:
        return True
    if mine != 2 or theirs != 2:
        return False
    x1, y1, z1 = a[i[1], 0] - a[i[0], 0], a[i[1], 1] - a[i[0], 1], a[i[1], 2] - a[i[0], 2]
    x2, y2, z2 = b[j[1], 0] - b[j[0], 0], b[j[1], 1] - b[j[0], 1], b[j[1], 2] - b[j[0], 2]
    x, y, z = y1 * z2 - z1 * y2, z1 * x2 - x1 * z2, x1 * y2 - y1 * x2
    sizes = (x1 * x1 + y1 * y1 + z1 * z1) * (x2 * x2 + y2 * y2 + z2 * z2)
    return bool(x * x + y * y + z * z > _SQUARE * sizes)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _foremost(cloud: Floats, best: Floats, sign: float) -> tuple[tuple[int, int], int]:
    """The first two corners furthest along the normal, or within a little, and how many are."""
    most = -np.inf
    for k in range(len(cloud)):
        most = max(
            most, sign * (best[1] * cloud[k, 0] + best[2] * cloud[k, 1] + best[3] * cloud[k, 2])
        )
    first = second = count = 0
    for k in range(len(cloud)):
        along = sign * (best[1] * cloud[k, 0] + best[2] * cloud[k, 1] + best[3] * cloud[k, 2])
        if along >= most - _NEAR:
            if count == 0:
                first = k
            elif count == 1:
                second = k
            count += 1
    return (first, second), count
