"""How far apart two convex polyhedra are, face by face, compiled: the method of polyhedra.py.

For pairs that touch, overlap or come so near that nothing quicker proves their distance. The same
candidates in the same order as those of polyhedra, one pair at a time; see there for why they
suffice. What cannot beat the best so far is passed over before it is measured.

A solid is its corners (v, 3), faces (f, 4) as normal and level, and edges (e, 13) as head, way,
length and the normals either side, and the edges' corners and faces (e, 4).
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numba import njit
from numpy.typing import NDArray

from massing.geometry.gaps.frames import SLIVER
from massing.geometry.gaps.plan import ALIKE, NOTHING
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["Work", "exact_gap", "fill_edges", "fill_faces", "point_between", "work_for"]

_CLOSE, _PROOF, _PARALLEL, _FAR = 1.0, 1e-8, 1e-14, 1e9
_SURE = 1e-6  # of a direction's sense
_SETTLED = 1e-11  # mm between a distance and a separation that proves it

Bits: TypeAlias = NDArray[np.uint8]
_Solid = tuple[Floats, Floats, Floats, Ints]
Work: TypeAlias = tuple[Floats, Ints, Floats, Floats, Bits, Bits]


@njit(cache=True)  # type: ignore[untyped-decorator]
def fill_faces(corners: Floats, rings: Ints, faces: Floats) -> None:
    """Unit outward normal and reach of each face, zero where it has no area to speak of."""
    for k in range(len(rings)):
        ring = rings[k]
        x0, y0, z0 = corners[ring[0], 0], corners[ring[0], 1], corners[ring[0], 2]
        nx = ny = nz = rim = 0.0
        x1 = y1 = z1 = 0.0
        for m in range(1, len(ring)):
            x2, y2, z2 = (
                corners[ring[m], 0] - x0,
                corners[ring[m], 1] - y0,
                corners[ring[m], 2] - z0,
            )
            nx += y1 * z2 - z1 * y2
            ny += z1 * x2 - x1 * z2
            nz += x1 * y2 - y1 * x2
            rim += np.sqrt((x2 - x1) ** 2 + (y2 - y1) ** 2 + (z2 - z1) ** 2)
            x1, y1, z1 = x2, y2, z2
        size = np.sqrt(nx * nx + ny * ny + nz * nz)
        face = faces[k]
        if size > SLIVER * rim * rim + NOTHING * NOTHING:
            face[0], face[1], face[2] = nx / size, ny / size, nz / size
            face[3] = _greatest(corners, face)
        else:
            face[0] = face[1] = face[2] = face[3] = 0.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def fill_edges(corners: Floats, edges: Ints, faces: Floats, out: Floats) -> None:
    """Head, unit way, length and the normals either side of each edge, zero where unknown."""
    for k in range(len(edges)):
        head, tail = edges[k, 0], edges[k, 1]
        square = 0.0
        for c in range(3):
            out[k, c] = corners[head, c]
            out[k, 3 + c] = corners[tail, c] - corners[head, c]
            square += out[k, 3 + c] * out[k, 3 + c]
        length = np.sqrt(square)
        out[k, 6] = length if length > NOTHING else 0.0
        for c in range(3):
            out[k, 3 + c] = out[k, 3 + c] / length if length > NOTHING else 0.0
            out[k, 7 + c] = faces[edges[k, 2], c] if edges[k, 2] >= 0 else 0.0
            out[k, 10 + c] = faces[edges[k, 3], c] if edges[k, 3] >= 0 else 0.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def exact_gap(a: _Solid, b: _Solid, work: Work, best: Floats) -> None:
    """Signed gap and unit normal from a to b into ``best`` (4,)."""
    arcs, which, seps, away = work[0], work[1], work[2], work[3]
    _over_faces(a, b, seps[: len(a[1]) + len(b[1])], best)
    count = _crossings(a, b, work)
    if best[0] <= _CLOSE:
        _over_edges(a, b, arcs[:count], which, best)
    if best[0] > 0.0:
        _distance(a, b, arcs[:count], which, best[0], away)
        clear = best[0] < away[0] - _PROOF and away[0] > EXACT
        best[0] = away[0]
        if clear:
            for k in range(1, 4):
                best[k] = away[k] / away[0]


@njit(cache=True)  # type: ignore[untyped-decorator]
def work_for(faces: int, edges: int) -> Work:
    """Arrays to work in, for solids of at most so many faces and edges."""
    return (
        np.empty((edges * edges, 4)),  # directions square to two edges
        np.empty((edges * edges, 2), np.int64),  # and which two
        np.empty(2 * faces),  # separation along each face
        np.empty(4),  # the distance and its vector
        np.zeros(
            (faces + 1, edges), np.uint8
        ),  # how the faces of one lean along edges of the other
        np.zeros(faces + 1, np.uint8),  # and the other way about, one edge at a time
    )


@njit(cache=True)  # type: ignore[untyped-decorator]
def _dot(a: Floats, b: Floats) -> float:
    total: float = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    return total


@njit(cache=True)  # type: ignore[untyped-decorator]
def _least(corners: Floats, way: Floats) -> tuple[float, int]:
    least, place = np.inf, 0
    for k in range(len(corners)):
        reach = _dot(corners[k], way)
        if reach < least:
            least, place = reach, k
    return least, place


@njit(cache=True)  # type: ignore[untyped-decorator]
def _greatest(corners: Floats, way: Floats) -> float:
    most = -np.inf
    for k in range(len(corners)):
        most = max(most, _dot(corners[k], way))
    return most


@njit(cache=True)  # type: ignore[untyped-decorator]
def _over_faces(a: _Solid, b: _Solid, seps: Floats, best: Floats) -> None:
    """Best separation along a face normal and the normal, into ``best`` (4,)."""
    n = len(a[1])
    for k in range(len(seps)):
        face = a[1][k] if k < n else b[1][k - n]
        flat = face[0] == 0.0 and face[1] == 0.0 and face[2] == 0.0
        seps[k] = -np.inf if flat else _least(b[0] if k < n else a[0], face)[0] - face[3]
    most, k = seps.max(), 0
    while seps[k] < most - ALIKE:
        k += 1
    face, sign = (a[1][k], 1.0) if k < n else (b[1][k - n], -1.0)
    best[0] = seps[k]
    for c in range(3):
        best[1 + c] = sign * face[c]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _lean(face: Floats, edge: Floats) -> int:
    """1 where a face leans along an edge's way, 2 where against it, 0 where square to it.

    The plane square to the way meets the arc between two normals unless both lean alike.
    """
    along = face[0] * edge[3] + face[1] * edge[4] + face[2] * edge[5]
    return int(along > NOTHING) + 2 * int(along < -NOTHING)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _crossings(a: _Solid, b: _Solid, work: Work) -> int:
    """Unit directions square to edge pairs whose arcs of normals cross, and how many.

    The fourth number of each says how surely it points from a to b: by much, or by nothing.
    """
    arcs, which = work[0], work[1]
    count = 0
    for k in range(_astride(a, b, work)):
        i, j = which[k]
        p, q = a[2][i], b[2][j]
        x, y, z = p[4] * q[5] - p[5] * q[4], p[5] * q[3] - p[3] * q[5], p[3] * q[4] - p[4] * q[3]
        sine = np.sqrt(x * x + y * y + z * z)
        if sine <= _PARALLEL:
            continue
        side_a = (x * (p[7] + p[10]) + y * (p[8] + p[11]) + z * (p[9] + p[12])) / sine
        side_b = (x * (q[7] + q[10]) + y * (q[8] + q[11]) + z * (q[9] + q[12])) / sine
        if side_a * side_b > NOTHING:
            continue
        scale = (-1.0 if side_a - side_b < 0.0 else 1.0) / sine
        arcs[count, 0], arcs[count, 1], arcs[count, 2] = x * scale, y * scale, z * scale
        arcs[count, 3] = abs(side_a - side_b)
        which[count, 0], which[count, 1] = i, j
        count += 1
    return count


@njit(cache=True)  # type: ignore[untyped-decorator]
def _astride(a: _Solid, b: _Solid, work: Work) -> int:
    """Edge pairs, each square to some direction between the other's two faces; how many.

    Written without branches: which pairs do is a coin toss, and there are many.
    """
    which, leans, mine = work[1], work[4], work[5]
    sides_a, sides_b = a[3], b[3]
    for f in range(len(a[1])):
        for j in range(len(b[2])):
            leans[f, j] = _lean(a[1][f], b[2][j])
    count = 0
    for i in range(len(a[2])):
        for g in range(len(b[1])):
            mine[g] = _lean(b[1][g], a[2][i])
        # A face unknown is number -1, the last of the rows, which stays nothing.
        left, right = sides_a[i, 2], sides_a[i, 3]
        for j in range(len(b[2])):
            alike = (leans[left, j] & leans[right, j]) | (mine[sides_b[j, 2]] & mine[sides_b[j, 3]])
            which[count, 0], which[count, 1] = i, j
            count += int(alike == 0)
    return count


@njit(cache=True)  # type: ignore[untyped-decorator]
def _over_edges(a: _Solid, b: _Solid, arcs: Floats, which: Ints, best: Floats) -> None:
    """Raise ``best`` where a direction square to two edges separates better."""
    most = best[0]
    for k in range(len(arcs)):
        way, p, q = arcs[k], a[2][which[k, 0]], b[2][which[k, 1]]
        sure = way[3] > _SURE
        # No direction separates more than the two edges it is square to lie apart along it.
        if sure and _dot(way, q) - _dot(way, p) < most - ALIKE:
            way[3] = -np.inf
            continue
        ahead = _least(b[0], way)[0] - _greatest(a[0], way)
        if not sure:
            behind = _least(a[0], way)[0] - _greatest(b[0], way)
            if behind > ahead:
                ahead = behind
                for c in range(3):
                    way[c] = -way[c]
        way[3] = ahead
        most = max(most, ahead)
    for k in range(len(arcs)):
        if arcs[k, 3] >= most - ALIKE and arcs[k, 3] > best[0] + ALIKE:
            best[0] = arcs[k, 3]
            best[1], best[2], best[3] = arcs[k, 0], arcs[k, 1], arcs[k, 2]
            return


@njit(cache=True)  # type: ignore[untyped-decorator]
def _distance(a: _Solid, b: _Solid, arcs: Floats, which: Ints, proof: float, away: Floats) -> None:
    """Distance of a pair that is apart and the vector from a to b, into ``away`` (4,).

    proof : a separation along some direction; a candidate no further than that is the distance
    """
    away[0] = np.inf
    _corner_on_face(a[0], b[1], -1.0, away)
    if away[0] > proof + _SETTLED:
        _corner_on_face(b[0], a[1], 1.0, away)
    if away[0] > proof + _SETTLED:
        for k in range(len(arcs)):
            _edge_on_edge(a[2][which[k, 0]], b[2][which[k, 1]], away)
    if away[0] > proof + _SETTLED:
        _corner_on_edge(a[0], b[2], 1.0, away)
        _corner_on_edge(b[0], a[2], -1.0, away)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _corner_on_face(corners: Floats, faces: Floats, sign: float, away: Floats) -> None:
    for k in range(len(faces)):
        face = faces[k]
        if face[0] == 0.0 and face[1] == 0.0 and face[2] == 0.0:
            continue
        least, place = _least(corners, face)
        height = least - face[3]
        if height <= -ALIKE or max(height, 0.0) >= away[0] - ALIKE:
            continue
        x = corners[place, 0] - face[0] * height
        y = corners[place, 1] - face[1] * height
        z = corners[place, 2] - face[2] * height
        over = True
        for m in range(len(faces)):
            if faces[m, 0] * x + faces[m, 1] * y + faces[m, 2] * z - faces[m, 3] > ALIKE:
                over = False
                break
        if over:
            away[0] = max(height, 0.0)
            for c in range(3):
                away[1 + c] = sign * face[c] * away[0]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _corner_on_edge(corners: Floats, edges: Floats, sign: float, away: Floats) -> None:
    for k in range(len(corners)):
        for m in range(len(edges)):
            edge = edges[m]
            x, y, z = edge[0] - corners[k, 0], edge[1] - corners[k, 1], edge[2] - corners[k, 2]
            along = min(max(-(x * edge[3] + y * edge[4] + z * edge[5]), 0.0), edge[6])
            x, y, z = x + along * edge[3], y + along * edge[4], z + along * edge[5]
            _closer(sign * x, sign * y, sign * z, away)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _closer(x: float, y: float, z: float, away: Floats) -> None:
    distance = np.sqrt(x * x + y * y + z * z)
    if distance < away[0] - ALIKE:
        away[0], away[1], away[2], away[3] = distance, x, y, z


@njit(cache=True)  # type: ignore[untyped-decorator]
def _edge_on_edge(p: Floats, q: Floats, away: Floats) -> None:
    """Points nearest each other on the two lines, held on both edges."""
    x, y, z = q[0] - p[0], q[1] - p[1], q[2] - p[2]
    nx, ny, nz = p[4] * q[5] - p[5] * q[4], p[5] * q[3] - p[3] * q[5], p[3] * q[4] - p[4] * q[3]
    size = nx * nx + ny * ny + nz * nz
    s = _triple(x, y, z, q, nx, ny, nz) / size
    t = _triple(x, y, z, p, nx, ny, nz) / size
    s, t = min(max(s, 0.0), p[6]), min(max(t, 0.0), q[6])
    x, y, z = x + t * q[3] - s * p[3], y + t * q[4] - s * p[4], z + t * q[5] - s * p[5]
    _closer(x, y, z, away)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _triple(x: float, y: float, z: float, edge: Floats, nx: float, ny: float, nz: float) -> float:
    across: float = (y * edge[5] - z * edge[4]) * nx
    across += (z * edge[3] - x * edge[5]) * ny
    across += (x * edge[4] - y * edge[3]) * nz
    return across


@njit(cache=True)  # type: ignore[untyped-decorator]
def point_between(a: _Solid, b: _Solid, best: Floats, room: Floats, at: Floats) -> None:
    """Midway between the closest points, or the mean corner of the overlap, into ``at``.

    best : (4,) gap and normal; room : (k, 4) to work in, as long as there are edges together
    """
    lift = max(best[0], 0.0)
    x, y, z = best[1] * lift, best[2] * lift, best[3] * lift
    slack = ALIKE if best[0] < -EXACT else EXACT
    n, count = len(a[2]), len(a[2]) + len(b[2])
    most = -np.inf
    for whole in range(2):
        _inside(a[2], b[1], (x, y, z), slack, room[:n], whole == 1)
        _inside(b[2], a[1], (-x, -y, -z), slack, room[n:count], whole == 1)
        for k in range(count):
            most = max(most, room[k, 3])
        # Only where no edge at all goes through is it asked by how little.
        if most >= -ALIKE:
            break
    kept = 0
    at[0] = at[1] = at[2] = 0.0
    for k in range(count):
        if room[k, 3] >= -ALIKE or room[k, 3] == most:
            moved = 1.0 if k < n else 0.0
            at[0] += room[k, 0] + moved * x
            at[1] += room[k, 1] + moved * y
            at[2] += room[k, 2] + moved * z
            kept += 1
    at[0], at[1], at[2] = at[0] / kept - x / 2.0, at[1] / kept - y / 2.0, at[2] / kept - z / 2.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _inside(
    edges: Floats,
    faces: Floats,
    shift: tuple[float, float, float],
    slack: float,
    room: Floats,
    whole: bool,
) -> None:
    """Middle and length of the stretch of each edge that, shifted, lies within all faces.

    whole : how far the length is below none is wanted too, not only that it is
    """
    for k in range(len(edges)):
        edge = edges[k]
        x, y, z = edge[0] + shift[0], edge[1] + shift[1], edge[2] + shift[2]
        start, end = 0.0, edge[6]
        for m in range(len(faces)):
            face = faces[m]
            spare = face[3] + slack - (face[0] * x + face[1] * y + face[2] * z)
            speed = face[0] * edge[3] + face[1] * edge[4] + face[2] * edge[5]
            if abs(speed) < NOTHING:
                if spare < 0.0:
                    end = -_FAR
            elif speed > 0.0:
                end = min(end, spare / speed)
            else:
                start = max(start, spare / speed)
            if end - start < -ALIKE and not whole:
                end = -np.inf
                break
        if not whole and end == -np.inf:
            room[k, 3] = -np.inf
            continue
        end = max(end, -_FAR)
        middle = min(max((start + end) / 2.0, 0.0), edge[6])
        for c in range(3):
            room[k, c] = edge[c] + edge[3 + c] * middle
        room[k, 3] = end - start
