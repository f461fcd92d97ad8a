"""What was measured of an outline: walls, turns, diagonals and offsets as plain data.

Each reading also says what it would be, and how fast it would change, at given corners.
Corners are numbered from 0 in order round the room; a room listed counter-clockwise (seen from
above) turns left. Lengths are mm, turns degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
    "predictor",
    "turn",
]

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Kind: TypeAlias = Literal["length", "turn", "offset"]

_TINY = 1e-9  # mm, so that a wall shrunk to nothing on the way does not divide by zero


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
    """Corner names in order round the room and everything measured between them.

    clockwise : the order runs clockwise seen from above; said only where too few turns are
        measured to show it
    hints : roughly the turn at each corner, degrees, where nothing was measured; they choose
        among shapes that fit and weigh nothing
    walls : names of the walls, where they have names; wall i runs from corner i to the next
    """

    corners: tuple[str, ...]
    readings: tuple[Reading, ...]
    clockwise: bool = False
    hints: tuple[float | None, ...] = ()
    walls: tuple[str, ...] = ()

    def name(self, reading: Reading) -> str:
        """Name a reading in plain words.

        >>> OutlineSurvey(("A", "B", "C", "D"), ()).name(length(0, 2, 5000, 5))
        'the diagonal A-C'
        """
        label = [self.corners[i] for i in reading.at]
        if reading.kind == "turn":
            return f"the turn at {label[0]}"
        short = all(len(corner) == 1 for corner in label)
        ends = "-".join(label[-2:]) if short else " to ".join(label[-2:])
        if reading.kind == "offset":
            return f"the offset of {label[0]} from {ends}"
        wall = self.wall_of(reading)
        if wall is None:
            return f"the diagonal {ends}"
        if not self.walls:
            return f"the wall {ends}"
        own = self.walls[wall]
        return own if own.startswith("wall") else f"the {own} wall"

    def wall_of(self, reading: Reading) -> int | None:
        """Which wall a length runs along, None for anything else.

        >>> OutlineSurvey(("A", "B", "C", "D"), ()).wall_of(length(0, 3, 2000, 5))
        3
        """
        if reading.kind != "length":
            return None
        (a, b), n = reading.at, len(self.corners)
        return a if (a + 1) % n == b else b if (b + 1) % n == a else None


def predictor(readings: Sequence[Reading], n: int) -> Callable[[Floats], tuple[Floats, Floats]]:
    """Return a function from (n, 2) corners to (m,) readings and their (m, n, 2) derivatives."""
    parts = [
        (rows, np.array([readings[row].at for row in rows]).T, rule)
        for kind, rule in (("length", _lengths), ("turn", _turns), ("offset", _offsets))
        if (rows := [row for row, reading in enumerate(readings) if reading.kind == kind])
    ]

    def predict(points: Floats) -> tuple[Floats, Floats]:
        values, slopes = np.zeros(len(readings)), np.zeros((len(readings), n, 2))
        for rows, at, rule in parts:
            values[rows], moved = rule(points, at)
            for corner, slope in moved:
                slopes[rows, corner] += slope
        return values, slopes

    return predict


def predicted(reading: Reading, points: Floats) -> tuple[float, Floats]:
    """Return what one reading would be at (n, 2) corners and its (n, 2) derivatives.

    >>> value, slope = predicted(length(0, 1, 0.0, 1.0), np.array([[0.0, 0.0], [3.0, 4.0]]))
    >>> value, slope[1].tolist()
    (5.0, [0.6, 0.8])
    """
    values, slopes = predictor((reading,), len(points))(points)
    return float(values[0]), slopes[0]


def _lengths(points: Floats, at: Ints) -> tuple[Floats, list[tuple[Ints, Floats]]]:
    i, j = at
    step = points[j] - points[i]
    size = np.maximum(np.hypot(step[:, 0], step[:, 1]), _TINY)
    unit = step / size[:, None]
    return size, [(j, unit), (i, -unit)]


def _turns(points: Floats, at: Ints) -> tuple[Floats, list[tuple[Ints, Floats]]]:
    n, j = len(points), at[0]
    i, k = (j - 1) % n, (j + 1) % n
    before, after = points[j] - points[i], points[k] - points[j]
    by_before, by_after = _bearing_slopes(before), _bearing_slopes(after)
    angle = np.arctan2(after[:, 1], after[:, 0]) - np.arctan2(before[:, 1], before[:, 0])
    return np.degrees(angle), [(k, by_after), (j, -by_after - by_before), (i, by_before)]


def _offsets(points: Floats, at: Ints) -> tuple[Floats, list[tuple[Ints, Floats]]]:
    k, i, j = at
    line, arm = points[j] - points[i], points[k] - points[i]
    size = np.maximum(np.hypot(line[:, 0], line[:, 1]), _TINY)[:, None]
    across = (line[:, 0] * arm[:, 1] - line[:, 1] * arm[:, 0])[:, None]
    by_k = np.stack([-line[:, 1], line[:, 0]], axis=1) / size
    by_j = np.stack([arm[:, 1], -arm[:, 0]], axis=1) / size - across * line / size**3
    return (across / size)[:, 0], [(k, by_k), (j, by_j), (i, -by_k - by_j)]


def _bearing_slopes(step: Floats) -> Floats:
    """Derivatives of directions in degrees by the far ends of their steps."""
    square = np.maximum((step**2).sum(axis=1), _TINY**2)
    return np.asarray(np.degrees(np.stack([-step[:, 1], step[:, 0]], axis=1) / square[:, None]))


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
            wall = survey.wall_of(reading)
            if wall is not None and walls[wall] is None:
                walls[wall] = reading.value
    return walls, turns
