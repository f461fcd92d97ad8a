"""How far apart two convex solids are when clear of each other: corners in, a proved distance out.

The search of Gilbert, Johnson and Keerthi (1988) walks the Minkowski difference towards the
origin by its corners. Every step has a point of it (the distance is no more) and a plane that
holds all of it off (the distance is no less); an answer is given only when the two agree to
1e-10 mm. Otherwise nothing is claimed, and the caller measures face by face.

A simplex is (4, 6): the difference of two corners, its weight in the nearest point, and the
numbers of the corner of a and of b.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from massing.geometry.solids import Floats

__all__ = ["proved_distance"]

_AGREED = 1e-10  # mm between the bounds from both sides
_STEPS = 64
_FLAT = 1e-12  # a tetrahedron this flat for its size has no inside to speak of


@njit(cache=True)  # type: ignore[untyped-decorator]
def proved_distance(a: Floats, b: Floats, simplex: Floats, near: Floats) -> float:
    """Distance of two (n, 3) corner clouds, or -1 where none is proved (touching, overlapping).

    simplex : (4, 6) to work in; ``simplex[0, 4:6]`` names the corners to begin with
    near : (9,) is filled with the vector from a to b and the points on a and on b
    """
    _corner(a, b, int(simplex[0, 4]), int(simplex[0, 5]), simplex[0])
    simplex[0, 3] = 1.0
    count, square = 1, np.inf
    for _ in range(_STEPS):
        x = y = z = 0.0
        for k in range(count):
            x += simplex[k, 3] * simplex[k, 0]
            y += simplex[k, 3] * simplex[k, 1]
            z += simplex[k, 3] * simplex[k, 2]
        size = x * x + y * y + z * z
        if size == 0.0 or size >= square:
            return -1.0
        square = size
        i, j = _supports(a, b, x, y, z)
        new = simplex[count]
        _corner(a, b, i, j, new)
        held = x * new[0] + y * new[1] + z * new[2]
        length = np.sqrt(size)
        if (size - held) / length <= _AGREED:
            near[0], near[1], near[2] = x, y, z
            _points(a, b, simplex, count, near)
            return float(length)
        for k in range(count):
            if simplex[k, 4] == i and simplex[k, 5] == j:
                return -1.0
        count = _nearest(simplex, count + 1)
        if count == 4:
            return -1.0
    return -1.0


@njit(cache=True)  # type: ignore[untyped-decorator]
def _corner(a: Floats, b: Floats, i: int, j: int, out: Floats) -> None:
    for c in range(3):
        out[c] = b[j, c] - a[i, c]
    out[4], out[5] = i, j


@njit(cache=True)  # type: ignore[untyped-decorator]
def _supports(a: Floats, b: Floats, x: float, y: float, z: float) -> tuple[int, int]:
    """The corner of a furthest along a direction and that of b least far."""
    i, most = 0, -np.inf
    for k in range(len(a)):
        along = x * a[k, 0] + y * a[k, 1] + z * a[k, 2]
        if along > most:
            i, most = k, along
    j, least = 0, np.inf
    for k in range(len(b)):
        along = x * b[k, 0] + y * b[k, 1] + z * b[k, 2]
        if along < least:
            j, least = k, along
    return i, j


@njit(cache=True)  # type: ignore[untyped-decorator]
def _points(a: Floats, b: Floats, simplex: Floats, count: int, near: Floats) -> None:
    """The nearest points themselves, from the weights of the simplex."""
    for c in range(6):
        near[3 + c] = 0.0
    for k in range(count):
        i, j, weight = int(simplex[k, 4]), int(simplex[k, 5]), simplex[k, 3]
        for c in range(3):
            near[3 + c] += weight * a[i, c]
            near[6 + c] += weight * b[j, c]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _nearest(simplex: Floats, count: int) -> int:
    """Reduce a simplex to the part nearest the origin, with weights; 4 when that is inside."""
    if count == 2:
        return int(_on_segment(simplex))
    if count == 3:
        return int(_on_triangle(simplex))
    return int(_on_tetrahedron(simplex))


@njit(cache=True)  # type: ignore[untyped-decorator]
def _copy(source: Floats, row: int, target: Floats, place: int) -> None:
    for c in range(6):
        target[place, c] = source[row, c]


@njit(cache=True)  # type: ignore[untyped-decorator]
def _on_segment(simplex: Floats) -> int:
    p, q = simplex[0], simplex[1]
    along = size = 0.0
    for c in range(3):
        way = q[c] - p[c]
        along -= p[c] * way
        size += way * way
    if along <= 0.0:
        p[3] = 1.0
        return 1
    if along >= size:
        q[3] = 1.0
        _copy(simplex, 1, simplex, 0)
        return 1
    q[3] = along / size
    p[3] = 1.0 - q[3]
    return 2


@njit(cache=True)  # type: ignore[untyped-decorator]
def _on_triangle(simplex: Floats) -> int:
    """Region by region, as Ericson, Real-Time Collision Detection (2005), 5.1.5."""
    p, q, r = simplex[0], simplex[1], simplex[2]
    d1 = d2 = d3 = d4 = d5 = d6 = 0.0
    for c in range(3):
        one, two = q[c] - p[c], r[c] - p[c]
        d1 -= one * p[c]
        d2 -= two * p[c]
        d3 -= one * q[c]
        d4 -= two * q[c]
        d5 -= one * r[c]
        d6 -= two * r[c]
    corner = -1
    if d1 <= 0.0 and d2 <= 0.0:
        corner = 0
    elif d3 >= 0.0 and d4 <= d3:
        corner = 1
    elif d6 >= 0.0 and d5 <= d6:
        corner = 2
    if corner >= 0:
        simplex[corner, 3] = 1.0
        _copy(simplex, corner, simplex, 0)
        return 1
    vc = d1 * d4 - d3 * d2
    if vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        q[3] = d1 / (d1 - d3)
        p[3] = 1.0 - q[3]
        return 2
    vb = d5 * d2 - d1 * d6
    if vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        r[3] = d2 / (d2 - d6)
        p[3] = 1.0 - r[3]
        _copy(simplex, 2, simplex, 1)
        return 2
    va = d3 * d6 - d5 * d4
    if va <= 0.0 and d4 - d3 >= 0.0 and d5 - d6 >= 0.0:
        r[3] = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        q[3] = 1.0 - r[3]
        _copy(simplex, 1, simplex, 0)
        _copy(simplex, 2, simplex, 1)
        return 2
    whole = va + vb + vc
    q[3], r[3] = vb / whole, vc / whole
    p[3] = 1.0 - q[3] - r[3]
    return 3


@njit(cache=True)  # type: ignore[untyped-decorator]
def _on_tetrahedron(simplex: Floats) -> int:
    """The nearest of the faces that hide the inside from the origin; 4 when none does."""
    best, kept, count = np.inf, np.empty((3, 6)), 0
    tried = np.empty((3, 6))
    outside = False
    for face in range(4):
        # The face without one corner, which is on its inner side.
        for place in range(3):
            _copy(simplex, place + int(place >= face), tried, place)
        p, q, r, apex = tried[0], tried[1], tried[2], simplex[face]
        x1, y1, z1 = q[0] - p[0], q[1] - p[1], q[2] - p[2]
        x2, y2, z2 = r[0] - p[0], r[1] - p[1], r[2] - p[2]
        nx, ny, nz = y1 * z2 - z1 * y2, z1 * x2 - x1 * z2, x1 * y2 - y1 * x2
        x3, y3, z3 = apex[0] - p[0], apex[1] - p[1], apex[2] - p[2]
        inner = nx * x3 + ny * y3 + nz * z3
        away = -(nx * p[0] + ny * p[1] + nz * p[2])
        span = (nx * nx + ny * ny + nz * nz) * (x3 * x3 + y3 * y3 + z3 * z3)
        if inner * inner > _FLAT * _FLAT * span and away * inner > 0.0:
            continue
        outside = True
        size = _on_triangle(tried)
        x = y = z = 0.0
        for k in range(size):
            x += tried[k, 3] * tried[k, 0]
            y += tried[k, 3] * tried[k, 1]
            z += tried[k, 3] * tried[k, 2]
        square = x * x + y * y + z * z
        if square < best:
            best, count = square, size
            for k in range(size):
                _copy(tried, k, kept, k)
    if not outside:
        return 4
    for k in range(count):
        _copy(kept, k, simplex, k)
    return count
