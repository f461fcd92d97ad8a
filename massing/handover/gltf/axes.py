"""Where does a room point lie in glTF? Room millimetres in, metres with +Y up out.

Room x becomes +X, room z becomes +Y, room y becomes -Z: a turn of -90 degrees about x, so nothing
is mirrored, and the side of the room at y = 0 is the front, as glTF wants the front to face +Z.
Source: glTF 2.0 specification, "Coordinate System and Units".
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from massing.geometry.solids import Floats
from massing.handover.model import Point

__all__ = ["direction", "look", "metres", "turned", "y_up"]


def y_up(rows: Floats) -> Floats:
    """(n, 3) room directions as (n, 3) glTF directions.

    >>> y_up(np.array([[1.0, 2.0, 3.0]])).tolist()
    [[1.0, 3.0, -2.0]]
    """
    return np.stack([rows[:, 0], rows[:, 2], -rows[:, 1]], axis=1) + 0.0


def direction(vector: Point) -> Point:
    """One room direction as a glTF direction.

    >>> direction((0.0, 1.0, 0.0))
    (0.0, 0.0, -1.0)
    """
    x, y, z = vector
    return x + 0.0, z + 0.0, 0.0 - y


def metres(point: Point) -> list[float]:
    """One room point, mm, as a glTF point, m, to the nanometre.

    >>> metres((1200.0, 650.0, 900.0))
    [1.2, 0.9, -0.65]
    """
    return [round(value / 1000.0, 9) + 0.0 for value in direction(point)]


@lru_cache(maxsize=4096)
def turned(axis: Point, angle: float) -> tuple[float, float, float, float]:
    """Quaternion x, y, z, w of a turn in radians about a unit room axis.

    >>> turned((0.0, 0.0, 1.0), math.pi)
    (0.0, 1.0, 0.0, 0.0)
    """
    half = math.sin(angle / 2.0)
    x, y, z = (round(value * half, 9) + 0.0 for value in direction(axis))
    return x, y, z, round(math.cos(angle / 2.0), 9) + 0.0


def look(eye: Point, target: Point, up: Point) -> list[float]:
    """Quaternion that turns a camera, which looks along its own -Z, from the eye to the target.

    >>> look((0, 0, 1600), (0, 1000, 1600), (0, 0, 1))
    [0.0, 0.0, 0.0, 1.0]
    """
    back = np.array(direction(eye)) - np.array(direction(target))
    back /= np.linalg.norm(back)
    right = np.cross(np.array(direction(up)), back)
    right /= np.linalg.norm(right)
    return _quaternion([right.tolist(), np.cross(back, right).tolist(), back.tolist()])


def _quaternion(columns: list[list[float]]) -> list[float]:
    """Quaternion x, y, z, w of a rotation given by its columns.

    The largest part is found first and the rest divided by it, so no angle loses digits.
    Source: S. W. Shepperd, "Quaternion from rotation matrix", Journal of Guidance and Control 1
    (1978), from memory.
    """
    (a, b, c), (d, e, f), (g, h, i) = columns
    squares = (1.0 + a - e - i, 1.0 - a + e - i, 1.0 - a - e + i, 1.0 + a + e + i)
    rows = (
        (squares[0], b + d, c + g, f - h),
        (b + d, squares[1], f + h, g - c),
        (c + g, f + h, squares[2], b - d),
        (f - h, g - c, b - d, squares[3]),
    )
    row = rows[squares.index(max(squares))]
    length = math.hypot(*row)
    return [round(value / length, 7) + 0.0 for value in row]
