"""Other outlines the same lengths might make: corners in, flipped corners and plain tests out.

Lengths alone cannot tell a corner that goes in from one that goes out. Every such choice is a
reflection of one corner, or of all corners on one side of a diagonal.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["crosses_itself", "flips", "signed_area", "widest_difference"]

Floats: TypeAlias = NDArray[np.float64]


def signed_area(points: Floats) -> float:
    """Area of an (n, 2) outline, positive when it runs counter-clockwise, mm².

    >>> signed_area(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 3.0]]))
    3.0
    """
    x, y = points.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _side(a: Floats, b: Floats, c: Floats) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def crosses_itself(points: Floats) -> bool:
    """Whether two walls that are not neighbours cross.

    >>> crosses_itself(np.array([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]]))
    True
    """
    n = len(points)
    for i in range(n):
        for j in range(i + 2, n):
            if (j + 1) % n == i:
                continue
            a, b, c, d = points[i], points[(i + 1) % n], points[j], points[(j + 1) % n]
            apart = _side(a, b, c) * _side(a, b, d) < 0.0
            if apart and _side(c, d, a) * _side(c, d, b) < 0.0:
                return True
    return False


def _reflected(points: Floats, a: Floats, b: Floats) -> Floats:
    """Mirror points in the line through a and b."""
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    off = points - a
    return np.asarray(a + 2.0 * np.outer(off @ along, along) - off)


def flips(points: Floats, diagonals: Iterable[tuple[int, int]]) -> Iterator[Floats]:
    """Yield outlines with one corner, or the far side of one diagonal, mirrored.

    Each is moved back so that the first corner is the origin and the first wall along +x.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> len(list(flips(square, [(0, 2)])))
    5
    """
    n = len(points)
    pairs = [((i - 1) % n, (i + 1) % n) for i in range(n)]
    pairs += [(min(pair), max(pair)) for pair in diagonals]
    for a, b in pairs:
        between = [(a + k) % n for k in range(1, (b - a) % n)]
        moved = points.copy()
        moved[between] = _reflected(points[between], points[a], points[b])
        first = moved[1] - moved[0]
        cos, sin = first / max(float(np.hypot(*first)), 1e-9)
        yield (moved - moved[0]) @ np.array([[cos, -sin], [sin, cos]])


def widest_difference(one: Floats, other: Floats) -> tuple[int, int]:
    """Return the two corners whose distance differs most between two outlines.

    >>> square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
    >>> dented = np.array([[0.0, 0.0], [2.0, 0.0], [1.0, 1.0], [0.0, 2.0]])
    >>> widest_difference(square, dented)
    (0, 2)
    """

    def apart(points: Floats) -> Floats:
        return np.asarray(np.linalg.norm(points[:, None] - points[None], axis=2))

    difference = np.abs(apart(one) - apart(other)).round(6)
    i, j = np.unravel_index(int(difference.argmax()), difference.shape)
    return int(min(i, j)), int(max(i, j))
