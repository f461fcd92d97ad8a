"""Convex solids in, their corners, faces, planes and bounds end to end out, for compiled loops."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numba import njit

from massing.geometry.solids import Convex, Faces, Floats, Ints

__all__ = ["Shapes", "measured", "packed"]

_FLAT = 1e-6  # mm; a face whose corners are further off one plane is none
_THIN = 1e-6  # mm²; a smaller face is none

Shapes = tuple[Floats, Ints, Ints, Ints, Ints, Floats, Floats]
"""Corners (v, 3), where each solid's begin (n + 1,), corner numbers of every face, where each
face's begin (f + 1,), where each solid's faces begin (n + 1,), face planes (f, 4) and bounds
(n, 6). Planes and bounds are for ``measured`` to fill in."""


def packed(solids: Sequence[Convex]) -> Shapes:
    """One-world solids end to end.

    >>> from massing.geometry.solids import box
    >>> shapes = packed([box([0, 0, 0], [1, 2, 3])])
    >>> measured(shapes), shapes[6].tolist()
    (True, [[0.0, 0.0, 0.0, 1.0, 2.0, 3.0]])
    """
    patterns = [_pattern(solid.faces) for solid in solids]
    corners = np.concatenate([np.zeros((0, 3)), *(solid.corners[0] for solid in solids)])
    sizes = np.array([0, *(solid.corners.shape[1] for solid in solids)])
    sides = np.concatenate([np.zeros(1, np.int64), *(lengths for _, lengths in patterns)])
    return (
        np.ascontiguousarray(corners),
        np.cumsum(sizes),
        np.concatenate([np.zeros(0, np.int64), *(numbers for numbers, _ in patterns)]),
        np.cumsum(sides),
        np.cumsum(np.array([0, *(len(lengths) for _, lengths in patterns)])),
        np.zeros((len(sides) - 1, 4)),
        np.zeros((len(solids), 6)),
    )


@lru_cache(maxsize=1024)
def _pattern(faces: Faces) -> tuple[Ints, Ints]:
    """Corner numbers of the faces end to end, and how many each has."""
    numbers = np.array([k for ring in faces.rings for k in ring], dtype=np.int64)
    return numbers, np.array([len(ring) for ring in faces.rings], dtype=np.int64)


@njit(cache=True)  # type: ignore[untyped-decorator]
def measured(shapes: Shapes) -> bool:
    """Fill in planes and bounds; False when a solid is not convex or a face not flat."""
    corners, firsts, _, _, sides, _, bounds = shapes
    for s in range(len(bounds)):
        first, last = firsts[s], firsts[s + 1]
        for c in range(3):
            low, high = np.inf, -np.inf
            for v in range(first, last):
                low, high = min(low, corners[v, c]), max(high, corners[v, c])
            bounds[s, c], bounds[s, 3 + c] = low, high
        for f in range(sides[s], sides[s + 1]):
            if _plane(shapes, first, f) and _off(shapes, first, last, f) > _FLAT:
                return False
    return True


@njit(cache=True)  # type: ignore[untyped-decorator]
def _plane(shapes: Shapes, first: int, face: int) -> bool:
    """Unit outward plane of a face, as far out as its outermost corner; zeros for a tiny one."""
    corners, numbers, starts, out = shapes[0], shapes[2], shapes[3], shapes[5]
    base = first + numbers[starts[face]]
    x, y, z = 0.0, 0.0, 0.0
    for k in range(starts[face] + 1, starts[face + 1] - 1):
        p, q = first + numbers[k], first + numbers[k + 1]
        ax, bx = corners[p, 0] - corners[base, 0], corners[q, 0] - corners[base, 0]
        ay, by = corners[p, 1] - corners[base, 1], corners[q, 1] - corners[base, 1]
        az, bz = corners[p, 2] - corners[base, 2], corners[q, 2] - corners[base, 2]
        x += ay * bz - az * by
        y += az * bx - ax * bz
        z += ax * by - ay * bx
    size = np.sqrt(x * x + y * y + z * z)
    for c in range(4):
        out[face, c] = 0.0
    if size < _THIN:
        return False
    x, y, z = x / size, y / size, z / size
    level = -np.inf
    for k in range(starts[face], starts[face + 1]):
        p = first + numbers[k]
        level = max(level, x * corners[p, 0] + y * corners[p, 1] + z * corners[p, 2])
    out[face, 0], out[face, 1], out[face, 2], out[face, 3] = x, y, z, level
    return True


@njit(cache=True)  # type: ignore[untyped-decorator]
def _off(shapes: Shapes, first: int, last: int, face: int) -> float:
    """How far a solid stands out over a face's plane, or the face's own corners lie off it."""
    corners, numbers, starts, planes = shapes[0], shapes[2], shapes[3], shapes[5]
    x, y, z, d = planes[face, 0], planes[face, 1], planes[face, 2], planes[face, 3]
    most = 0.0
    for v in range(first, last):
        most = max(most, x * corners[v, 0] + y * corners[v, 1] + z * corners[v, 2] - d)
    for k in range(starts[face], starts[face + 1]):
        v = first + numbers[k]
        most = max(most, d - x * corners[v, 0] - y * corners[v, 1] - z * corners[v, 2])
    return most
