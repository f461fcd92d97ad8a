"""How far apart two convex polyhedra are, compiled: the method of massing.geometry.polyhedra.

The same candidates in the same order, one row at a time; see there for why they suffice.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from massing.geometry.frames import Frame
from massing.geometry.plan import ALIKE, NOTHING
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["polyhedron_rows"]

_CLOSE, _PROOF, _PARALLEL, _FAR = 1.0, 1e-8, 1e-14, 1e9


def polyhedron_rows(a: Frame, b: Frame) -> tuple[Floats, Floats, Floats]:
    """Signed gaps row by row, as polyhedron_gaps gives them."""
    one, two = _rows_of(a), _rows_of(b)
    rows = a.levels.shape[1]
    gap, normal, at = np.empty(rows), np.empty((rows, 3)), np.empty((rows, 3))
    _fill(one, two, gap, normal, at)
    return gap, np.ascontiguousarray(normal.T), np.ascontiguousarray(at.T)


_Rows = tuple[Floats, Floats, Floats]


def _rows_of(frame: Frame) -> _Rows:
    """Row-first corners (r, v, 3), faces (r, f, 4) and edges (r, e, 13)."""
    corners = frame.corners.transpose(2, 1, 0)
    faces = np.concatenate([frame.normals, frame.levels[None]]).transpose(2, 1, 0)
    parts = [frame.heads, frame.ways, frame.lengths[None], frame.left, frame.right]
    edges = np.concatenate(parts).transpose(2, 1, 0)
    return np.ascontiguousarray(corners), np.ascontiguousarray(faces), np.ascontiguousarray(edges)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill(one: _Rows, two: _Rows, gap: Floats, normal: Floats, at: Floats) -> None:
    edges = one[2].shape[1], two[2].shape[1]
    seps = np.empty(one[1].shape[1] + two[1].shape[1])
    arcs, which = np.empty((edges[0] * edges[1], 4)), np.empty((edges[0] * edges[1], 2), np.int64)
    room = np.empty((edges[0] + edges[1], 4))
    best, away = np.empty(4), np.empty(4)
    for row in range(len(gap)):
        a = one[0][row], one[1][row], one[2][row]
        b = two[0][row], two[1][row], two[2][row]
        _over_faces(a, b, seps, best)
        count = _crossings(a[2], b[2], arcs, which)
        if best[0] <= _CLOSE:
            _over_edges(a, b, arcs[:count], best)
        if best[0] > 0.0:
            _distance(a, b, arcs[:count], which, away)
            clear = best[0] < away[0] - _PROOF and away[0] > EXACT
            best[0] = away[0]
            if clear:
                for k in range(1, 4):
                    best[k] = away[k] / away[0]
        gap[row] = best[0]
        normal[row] = best[1:]
        _witness(a, b, best, room, at[row])


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
def _over_faces(a: _Rows, b: _Rows, seps: Floats, best: Floats) -> None:
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
def _straddles(edge: Floats, way: Floats) -> bool:
    x, y = _dot(edge[7:10], way), _dot(edge[10:13], way)
    return bool(min(x, y) <= NOTHING and max(x, y) >= -NOTHING)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _crossings(a: Floats, b: Floats, arcs: Floats, which: Ints) -> int:
    """Unit directions square to edge pairs whose arcs of normals cross, and how many."""
    count = 0
    square = np.empty(3)
    for i in range(len(a)):
        for j in range(len(b)):
            p, q = a[i], b[j]
            if not (_straddles(p, q[3:6]) and _straddles(q, p[3:6])):
                continue
            square[0] = p[4] * q[5] - p[5] * q[4]
            square[1] = p[5] * q[3] - p[3] * q[5]
            square[2] = p[3] * q[4] - p[4] * q[3]
            sine = np.sqrt(_dot(square, square))
            if sine <= _PARALLEL:
                continue
            side_a = (_dot(square, p[7:10]) + _dot(square, p[10:13])) / sine
            side_b = (_dot(square, q[7:10]) + _dot(square, q[10:13])) / sine
            if side_a * side_b > NOTHING:
                continue
            scale = (-1.0 if side_a - side_b < 0.0 else 1.0) / sine
            for c in range(3):
                arcs[count, c] = square[c] * scale
            which[count, 0], which[count, 1] = i, j
            count += 1
    return count


@njit(cache=True)  # type: ignore[untyped-decorator]
def _over_edges(a: _Rows, b: _Rows, arcs: Floats, best: Floats) -> None:
    """Raise ``best`` where a direction square to two edges separates better."""
    most = -np.inf
    for k in range(len(arcs)):
        way = arcs[k]
        ahead = _least(b[0], way)[0] - _greatest(a[0], way)
        behind = _least(a[0], way)[0] - _greatest(b[0], way)
        if behind > ahead:
            for c in range(3):
                way[c] = -way[c]
        way[3] = max(ahead, behind)
        most = max(most, way[3])
    for k in range(len(arcs)):
        if arcs[k, 3] >= most - ALIKE and arcs[k, 3] > best[0] + ALIKE:
            best[0] = arcs[k, 3]
            best[1:] = arcs[k, :3]
            return


@njit(cache=True)  # type: ignore[untyped-decorator]
def _distance(a: _Rows, b: _Rows, arcs: Floats, which: Ints, away: Floats) -> None:
    """Distance of a pair that is apart and the vector from a to b, into ``away`` (4,)."""
    away[0] = np.inf
    vector = np.empty(3)
    _corner_on_face(a[0], b[1], -1.0, away)
    _corner_on_face(b[0], a[1], 1.0, away)
    _corner_on_edge(a[0], b[2], 1.0, vector, away)
    _corner_on_edge(b[0], a[2], -1.0, vector, away)
    for k in range(len(arcs)):
        _edge_on_edge(a[2][which[k, 0]], b[2][which[k, 1]], vector, away)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _corner_on_face(corners: Floats, faces: Floats, sign: float, away: Floats) -> None:
    foot = np.empty(3)
    for k in range(len(faces)):
        face = faces[k]
        if face[0] == 0.0 and face[1] == 0.0 and face[2] == 0.0:
            continue
        least, place = _least(corners, face)
        height = least - face[3]
        if height <= -ALIKE or max(height, 0.0) >= away[0] - ALIKE:
            continue
        for c in range(3):
            foot[c] = corners[place, c] - face[c] * height
        over = True
        for other in faces:
            if _dot(other, foot) - other[3] > ALIKE:
                over = False
                break
        if over:
            away[0] = max(height, 0.0)
            for c in range(3):
                away[1 + c] = sign * face[c] * away[0]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _corner_on_edge(
    corners: Floats, edges: Floats, sign: float, vector: Floats, away: Floats
) -> None:
    for corner in corners:
        for edge in edges:
            for c in range(3):
                vector[c] = edge[c] - corner[c]
            along = min(max(-_dot(vector, edge[3:6]), 0.0), edge[6])
            for c in range(3):
                vector[c] = sign * (vector[c] + along * edge[3 + c])
            _closer(vector, away)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _closer(vector: Floats, away: Floats) -> None:
    distance = np.sqrt(_dot(vector, vector))
    if distance < away[0] - ALIKE:
        away[0] = distance
        away[1:] = vector


@njit(cache=True)  # type: ignore[untyped-decorator]
def _edge_on_edge(p: Floats, q: Floats, vector: Floats, away: Floats) -> None:
    """Points nearest each other on the two lines, held on both edges."""
    x, y, z = q[0] - p[0], q[1] - p[1], q[2] - p[2]
    nx, ny, nz = p[4] * q[5] - p[5] * q[4], p[5] * q[3] - p[3] * q[5], p[3] * q[4] - p[4] * q[3]
    size = nx * nx + ny * ny + nz * nz
    s = _triple(x, y, z, q, nx, ny, nz) / size
    t = _triple(x, y, z, p, nx, ny, nz) / size
    s, t = min(max(s, 0.0), p[6]), min(max(t, 0.0), q[6])
    vector[0] = x + t * q[3] - s * p[3]
    vector[1] = y + t * q[4] - s * p[4]
    vector[2] = z + t * q[5] - s * p[5]
    _closer(vector, away)


@njit(cache=True)  # type: ignore[untyped-decorator]
def _triple(x: float, y: float, z: float, edge: Floats, nx: float, ny: float, nz: float) -> float:
    across: float = (y * edge[5] - z * edge[4]) * nx
    across += (z * edge[3] - x * edge[5]) * ny
    across += (x * edge[4] - y * edge[3]) * nz
    return across


@njit(cache=True)  # type: ignore[untyped-decorator]
def _witness(a: _Rows, b: _Rows, best: Floats, room: Floats, at: Floats) -> None:
    """Midway between the closest points, or the mean corner of the overlap, into ``at``."""
    shift = best[1:] * max(best[0], 0.0)
    slack = ALIKE if best[0] < -EXACT else EXACT
    n = len(a[2])
    _inside(a[2], b[1], shift, slack, room[:n])
    _inside(b[2], a[1], -shift, slack, room[n:])
    most, count = room[:, 3].max(), 0
    at[:] = 0.0
    for k in range(len(room)):
        if room[k, 3] >= -ALIKE or room[k, 3] == most:
            lift = 1.0 if k < n else 0.0
            for c in range(3):
                at[c] += room[k, c] + lift * shift[c]
            count += 1
    for c in range(3):
        at[c] = at[c] / count - shift[c] / 2.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _inside(edges: Floats, faces: Floats, shift: Floats, slack: float, room: Floats) -> None:
    """Middle and length of the stretch of each edge that, shifted, lies within all faces."""
    for k in range(len(edges)):
        edge = edges[k]
        start, end = 0.0, edge[6]
        for face in faces:
            spare = face[3] + slack - _dot(face, edge) - _dot(face, shift)
            speed = _dot(face, edge[3:6])
            if abs(speed) < NOTHING:
                if spare < 0.0:
                    end = -_FAR
            elif speed > 0.0:
                end = min(end, spare / speed)
            else:
                start = max(start, spare / speed)
        end = max(end, -_FAR)
        middle = min(max((start + end) / 2.0, 0.0), edge[6])
        for c in range(3):
            room[k, c] = edge[c] + edge[3 + c] * middle
        room[k, 3] = end - start
