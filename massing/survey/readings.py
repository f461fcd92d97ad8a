"""What was measured of an outline: walls, turns, diagonals and offsets as plain data.

Each reading also says what it would be, and how fast it would change, at given corners.
Corners are numbered from 0 in order round the room; a room listed counter-clockwise (seen from
above) turns left. Lengths are mm, turns degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.combine import Shape, standard_uncertainty

__all__ = [
    "Kind",
    "OutlineSurvey",
    "Reading",
    "check_survey",
    "corner_angle",
    "first_readings",
    "length",
    "offset",
    "predicted",
    "turn",
]

Floats: TypeAlias = NDArray[np.float64]
Kind: TypeAlias = Literal["length", "turn", "offset"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One measurement of an outline; corners by number from 0.

    kind : ``length`` between two corners (a wall or a diagonal); ``turn`` at one corner, the
        change of direction in degrees, left positive; ``offset`` of the first corner square from
        the line through the other two, left positive
    half_width : the ±, mm or degrees, above zero
    """

    kind: Kind
    at: tuple[int, ...]
    value: float
    half_width: float
    shape: Shape = "rectangular"

    @property
    def sigma(self) -> float:
        """Standard uncertainty, mm or degrees."""
        return standard_uncertainty(self.half_width, self.shape)


def length(a: int, b: int, mm: float, half_width: float) -> Reading:
    """Length between two corners, a wall when they are neighbours, else a diagonal."""
    return Reading("length", (a, b), mm, half_width)


def turn(corner: int, degrees: float, half_width: float) -> Reading:
    """Change of direction at a corner, left positive."""
    return Reading("turn", (corner,), degrees, half_width)


def corner_angle(
    corner: int, degrees: float, half_width: float, *, clockwise: bool = False
) -> Reading:
    """Angle inside the room at a corner, read as a turn.

    >>> corner_angle(1, 90.0, 0.5).value, corner_angle(1, 270.0, 0.5, clockwise=True).value
    (90.0, 90.0)
    """
    return Reading("turn", (corner,), degrees - 180.0 if clockwise else 180.0 - degrees, half_width)


def offset(corner: int, a: int, b: int, mm: float, half_width: float) -> Reading:
    """Distance of a corner square from the line a to b, left positive."""
    return Reading("offset", (corner, a, b), mm, half_width)


@dataclass(frozen=True, slots=True)
class OutlineSurvey:
    """Corner names in order round the room and everything measured between them."""

    corners: tuple[str, ...]
    readings: tuple[Reading, ...]
    clockwise: bool = False

    def name(self, reading: Reading) -> str:
        """Name a reading in plain words.

        >>> OutlineSurvey(("A", "B", "C", "D"), ()).name(length(0, 2, 5000, 5))
        'the diagonal A-C'
        """
        label = [self.corners[i] for i in reading.at]
        if reading.kind == "turn":
            return f"the turn at {label[0]}"
        if reading.kind == "offset":
            return f"the offset of {label[0]} from {label[1]}-{label[2]}"
        apart = abs(reading.at[0] - reading.at[1])
        kind = "wall" if apart in {1, len(self.corners) - 1} else "diagonal"
        return f"the {kind} {label[0]}-{label[1]}"


def predicted(reading: Reading, points: Floats) -> tuple[float, Floats]:
    """Return what a reading would be at (n, 2) corners and its (n, 2) derivatives.

    >>> value, slope = predicted(length(0, 1, 0.0, 1.0), np.array([[0.0, 0.0], [3.0, 4.0]]))
    >>> value, slope[1].tolist()
    (5.0, [0.6, 0.8])
    """
    n = len(points)
    slope = np.zeros((n, 2))
    if reading.kind == "length":
        i, j = reading.at
        step = points[j] - points[i]
        size = max(float(np.hypot(*step)), 1e-9)
        slope[j] += step / size
        slope[i] -= step / size
        return size, slope
    if reading.kind == "turn":
        (j,) = reading.at
        i, k = (j - 1) % n, (j + 1) % n
        before, after = points[j] - points[i], points[k] - points[j]
        by_after = _bearing_slope(after)
        by_before = _bearing_slope(before)
        slope[k] += by_after
        slope[j] -= by_after + by_before
        slope[i] += by_before
        angle = np.arctan2(after[1], after[0]) - np.arctan2(before[1], before[0])
        return float(np.degrees(angle)), slope
    k, i, j = reading.at
    line, arm = points[j] - points[i], points[k] - points[i]
    size = max(float(np.hypot(*line)), 1e-9)
    across = float(line[0] * arm[1] - line[1] * arm[0])
    by_k = np.array([-line[1], line[0]]) / size
    by_j = np.array([arm[1], -arm[0]]) / size - across * line / size**3
    slope[k] += by_k
    slope[j] += by_j
    slope[i] -= by_k + by_j
    return across / size, slope


def _bearing_slope(step: Floats) -> Floats:
    """Derivative of a direction in degrees by the far end of its step."""
    square = max(float(step @ step), 1e-18)
    return np.degrees(np.array([-step[1], step[0]]) / square)


def check_survey(survey: OutlineSurvey) -> None:
    """Raise GeometryError for too few corners, an unknown corner or a reading with no ±."""
    n = len(survey.corners)
    if n < 3:
        raise GeometryError("a room needs at least three corners")
    for reading in survey.readings:
        if any(not 0 <= i < n for i in reading.at) or len(set(reading.at)) < len(reading.at):
            raise GeometryError(f"a measurement names corners {reading.at} of {n}")
        if not reading.half_width > 0.0:
            raise GeometryError(f"{survey.name(reading)} needs a ± above zero")


def first_readings(survey: OutlineSurvey) -> tuple[list[float | None], list[float | None]]:
    """Return each wall's length and each corner's turn as first read, None where there is none."""
    n = len(survey.corners)
    walls: list[float | None] = [None] * n
    turns: list[float | None] = [None] * n
    for reading in survey.readings:
        if reading.kind == "turn" and turns[reading.at[0]] is None:
            turns[reading.at[0]] = reading.value
        if reading.kind == "length":
            a, b = reading.at
            wall = a if (a + 1) % n == b else b if (b + 1) % n == a else None
            if wall is not None and walls[wall] is None:
                walls[wall] = reading.value
    return walls, turns
