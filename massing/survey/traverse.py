"""Walking round a room by lengths and turns: legs in, closing error and balanced corners out.

A *turn* is the change of direction at a corner, degrees, left (counter-clockwise) positive, so
a room walked counter-clockwise turns +360 in all. A *leg* is the (x, y) step along one wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Misclosure",
    "balanced_turns",
    "compass_rule",
    "corners",
    "directions",
    "legs",
    "misclosure",
    "turn_misclosure",
    "wrapped",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Misclosure:
    """How far a walk misses its own start.

    x, y : the sum of the legs, mm; distance : its length; around : the sum of the lengths
    one_in : around / distance, the n of a relative precision 1:n, infinite when it closes
    """

    x: float
    y: float
    distance: float
    around: float

    @property
    def one_in(self) -> float:
        """The n of the relative precision 1:n."""
        return math.inf if self.distance == 0.0 else self.around / self.distance


def wrapped(degrees: Floats | float) -> Floats:
    """Return angles brought into (-180, 180].

    >>> wrapped(np.array([190.0, -180.0, 720.0])).tolist()
    [-170.0, 180.0, 0.0]
    """
    array = np.asarray(degrees, dtype=np.float64)
    return np.asarray(180.0 - np.mod(180.0 - array, 360.0))


def directions(turns: object, first: float = 0.0) -> Floats:
    """Return the direction of each wall, degrees from x, left positive.

    turns : (n,) degrees; turn i is made at the corner where wall i begins, so the first turn
        (at the corner where wall n ends) is not needed for the walk and is not used

    >>> directions([90, 90, 90, 90]).tolist()
    [0.0, 90.0, 180.0, 270.0]
    """
    array = np.asarray(turns, dtype=np.float64)
    return np.asarray(first + np.concatenate([[0.0], np.cumsum(array[1:])]))


def legs(lengths: object, bearings: object) -> Floats:
    """Return (n, 2) steps of walls with the given lengths and directions in degrees.

    >>> legs([1000.0], [0.0]).tolist()
    [[1000.0, 0.0]]
    """
    angle = np.radians(np.asarray(bearings, dtype=np.float64))
    unit = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.asarray(np.asarray(lengths, dtype=np.float64)[:, None] * unit)


def corners(steps: Floats, start: tuple[float, float] = (0.0, 0.0)) -> Floats:
    """Return (n, 2) corners where each leg begins.

    >>> corners(np.array([[10.0, 0.0], [0.0, 5.0], [-10.0, -5.0]])).tolist()
    [[0.0, 0.0], [10.0, 0.0], [10.0, 5.0]]
    """
    walked = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)[:-1]])
    return np.asarray(np.asarray(start) + walked)


def misclosure(steps: Floats, lengths: object) -> Misclosure:
    """Return the closing error of (n, 2) legs, relative to the measured lengths.

    >>> found = misclosure(np.array([[3000.0, 0.0], [-2997.0, 4.0]]), [3000.0, 2997.0])
    >>> found.distance, round(found.one_in)
    (5.0, 1199)
    """
    x, y = (math.fsum(column) for column in np.asarray(steps, dtype=np.float64).T.tolist())
    around = math.fsum(np.asarray(lengths, dtype=np.float64).tolist())
    return Misclosure(x, y, math.hypot(x, y), around)


def turn_misclosure(turns: object) -> float:
    """Return by how much the turns miss a full circle either way round, degrees.

    >>> turn_misclosure([90, 90, 90, 91]), turn_misclosure([-90, -90, -90, -91])
    (1.0, -1.0)
    """
    total = math.fsum(np.asarray(turns, dtype=np.float64).tolist())
    return total - math.copysign(360.0, total)


def balanced_turns(turns: object, half_widths: object | None = None) -> Floats:
    """Return turns that sum to a full circle, the error shared equally or by variance.

    >>> balanced_turns([90, 90, 90, 94]).tolist()
    [89.0, 89.0, 89.0, 93.0]
    """
    array = np.asarray(turns, dtype=np.float64)
    widths = np.ones_like(array) if half_widths is None else np.asarray(half_widths, dtype=float)
    return np.asarray(array - turn_misclosure(array) * widths**2 / (widths**2).sum())


def compass_rule(steps: Floats, lengths: object) -> Floats:
    """Return legs that close, each moved in proportion to its length (Bowditch's rule).

    >>> compass_rule(np.array([[10.0, 0.0], [-9.0, 0.0]]), [10.0, 10.0]).tolist()
    [[9.5, 0.0], [-9.5, 0.0]]
    """
    steps = np.asarray(steps, dtype=np.float64)
    share = np.asarray(lengths, dtype=np.float64)
    return np.asarray(steps - np.outer(share / share.sum(), steps.sum(axis=0)))
