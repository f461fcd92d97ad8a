"""The outline of a room: measured walls, turns, diagonals and offsets in, adjusted corners out.

The first corner is the origin and the first wall runs along +x. Lengths are mm, turns degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.adjust import (
    Adjustment,
    Problem,
    UndeterminedError,
    adjust,
    best_guess,
    descents,
    free_moves,
)
from massing.survey.readings import (
    OutlineSurvey,
    Reading,
    check_survey,
    first_readings,
    length,
    predicted,
    turn,
)
from massing.survey.shapes import crosses_itself, flips, signed_area, widest_difference
from massing.survey.traverse import Misclosure, directions, legs, misclosure, turn_misclosure
from massing.survey.walks import first_guesses

__all__ = ["OutlineAdjustment", "adjust_outline", "outline_problem"]

Floats: TypeAlias = NDArray[np.float64]

_AS_WELL = 3.84  # 95 % point of chi-square with one degree of freedom
_SAME = 10.0  # mm, shapes nearer than this are one shape
_HOPELESS = 20.0  # sigmas a reading: a flipped outline this far off cannot come to fit
_FELT = 1e-3  # a measurement that changes less than this, relatively, would not settle a move


@dataclass(frozen=True, slots=True, eq=False)
class OutlineAdjustment:
    """Adjusted corners of an outline.

    corners (n, 2), covariance (2n, 2n) over x0, y0, x1, ... : mm, mm²
    influence (2n, m) : change of each coordinate per mm or degree of each reading
    closing : closing error of the raw walls and turns, None when they are not all measured
    turn_error : by how much all the turns miss a full circle, degrees, None when not all measured
    others : corners of other shapes that fit the readings as well, usually none
    """

    survey: OutlineSurvey
    adjustment: Adjustment
    corners: Floats
    covariance: Floats
    influence: Floats
    closing: Misclosure | None
    turn_error: float | None
    others: tuple[Floats, ...]

    @property
    def says(self) -> str:
        """The global test and any other shape, in a sentence."""
        if not self.others:
            return self.adjustment.says
        pair = widest_difference(self.corners, self.others[0])
        telling = self.survey.name(length(*pair, 0.0, 1.0))
        return (
            f"{self.adjustment.says}; {len(self.others) + 1} different shapes fit, "
            f"{telling} would tell"
        )


def _columns(n: int) -> NDArray[np.int64]:
    """Columns of the 2n coordinates that are unknown: all but the first corner and y of the 2nd."""
    return np.array([2, *range(4, 2 * n)], dtype=np.int64)


def _spread(x: Floats, n: int) -> Floats:
    full = np.zeros(2 * n)
    full[_columns(n)] = x
    return full.reshape(n, 2)


def outline_problem(survey: OutlineSurvey) -> Problem:
    """Return the least-squares problem of an outline survey.

    Raises GeometryError for fewer than three corners, a reading with no ±, or a corner number
    that does not exist.
    """
    n, readings = len(survey.corners), survey.readings
    check_survey(survey)

    def observe(x: Floats) -> tuple[Floats, Floats]:
        points = _spread(x, n)
        rows = [predicted(reading, points) for reading in readings]
        values = np.array([value for value, _ in rows])
        slopes = np.array([slope.ravel() for _, slope in rows]).reshape(len(rows), 2 * n)
        return values, slopes[:, _columns(n)]

    unknowns = [f"{corner} {axis}" for corner in survey.corners for axis in "xy"]
    walls, turns = first_readings(survey)
    starts = first_guesses(walls, turns, clockwise=survey.clockwise)
    problem = Problem(
        observe=observe,
        observed=np.array([reading.value for reading in readings]),
        sigma=np.array([reading.sigma for reading in readings]),
        names=tuple(survey.name(reading) for reading in readings),
        unknowns=tuple(unknowns[i] for i in _columns(n)),
        starts=tuple(points.ravel()[_columns(n)] for points in starts),
        turning=np.array([reading.kind == "turn" for reading in readings], dtype=bool),
    )
    return _with_best_starts(problem)


def _with_best_starts(problem: Problem, most: int = 8) -> Problem:
    """Keep the first guess and the few others that fit best as they stand."""
    costs = [float(np.sum(problem.misfit(x)[0] ** 2)) for x in problem.starts]
    order = sorted(range(1, len(costs)), key=lambda i: (costs[i], i))
    kept = [0, *order[: most - 1]]
    return replace(problem, starts=tuple(problem.starts[i] for i in kept))


def _contradiction(survey: OutlineSurvey) -> str | None:
    """Name a length that is longer than the way round by other measured lengths."""
    spans: dict[tuple[int, int], Reading] = {}
    for reading in survey.readings:
        if reading.kind == "length":
            a, b = sorted(reading.at)
            spans.setdefault((a, b), reading)
    for (a, b), reading in spans.items():
        way = _shortest(spans, a, b)
        if way is None:
            continue
        others = [spans[pair] for pair in way]
        round_about = sum(other.value for other in others)
        slack = reading.half_width + sum(other.half_width for other in others)
        if reading.value > round_about + slack:
            names = [survey.name(other) for other in others]
            return (
                f"{survey.name(reading)} ({reading.value:.0f}) is longer than "
                f"{' and '.join(names)} together ({round_about:.0f})"
            )
    return None


def _shortest(
    spans: dict[tuple[int, int], Reading], start: int, end: int
) -> list[tuple[int, int]] | None:
    """Return the pairs on the shortest way from start to end not using that pair itself."""
    best: dict[int, tuple[float, list[tuple[int, int]]]] = {start: (0.0, [])}
    for _ in range(len(spans)):
        for pair, reading in spans.items():
            if pair == (start, end):
                continue
            for here, there in (pair, pair[::-1]):
                if here not in best:
                    continue
                total = best[here][0] + reading.value
                if there not in best or total < best[there][0]:
                    best[there] = (total, [*best[here][1], pair])
    return best[end][1] if end in best else None


def _candidates(survey: OutlineSurvey) -> list[Reading]:
    """Every wall, diagonal and turn not yet measured, in that order."""
    n = len(survey.corners)
    have = {(r.kind, tuple(sorted(r.at))) for r in survey.readings}
    pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
    walls = [(i, j) for i, j in pairs if j - i in {1, n - 1}]
    wanted = [length(i, j, 0.0, 1.0) for i, j in walls]
    wanted += [length(i, j, 0.0, 1.0) for i, j in pairs if (i, j) not in walls]
    wanted += [turn(i, 0.0, 1.0) for i in range(n)]
    return [r for r in wanted if (r.kind, tuple(sorted(r.at))) not in have]


def _undetermined(survey: OutlineSurvey, problem: Problem) -> UndeterminedError | None:
    """Say what is still free and which further measurements would settle it."""
    n = len(survey.corners)
    if problem.observed.size:
        x = best_guess(problem)
        slopes = problem.observe(x)[1]
    else:
        x, slopes = problem.starts[0], np.zeros((0, 2 * n - 3))
    moves = free_moves(slopes)
    if not len(moves):
        return None
    # A right angle or a straight line can hide a way to move, so ask at a slightly bent shape.
    bent = x + 0.03 * float(np.abs(x).max()) * np.sin(1.0 + 2.4 * np.arange(len(x)))
    bent_slopes = problem.observe(bent)[1] if problem.observed.size else slopes
    if len(free_moves(bent_slopes)) == len(moves):
        x, slopes, moves = bent, bent_slopes, free_moves(bent_slopes)
    points = _spread(x, n)
    rows = [(r, predicted(r, points)[1].ravel()[_columns(n)]) for r in _candidates(survey)]
    felt = [(r, row) for r, row in rows if np.abs(moves @ row).max() > _FELT * np.abs(row).max()]
    shift = np.zeros((len(moves), 2 * n))
    shift[:, _columns(n)] = moves
    size = np.abs(shift).max(axis=0).reshape(n, 2).max(axis=1)
    loose = [survey.corners[i] for i in range(n) if size[i] > 1e-3 * size.max()]
    listed = " and ".join([", ".join(loose[:-1]), loose[-1]] if len(loose) > 1 else loose)
    where = f"corner{'s' if len(loose) > 1 else ''} {listed} can still move"
    if len(moves) == 1:
        settles = tuple(survey.name(r) for r, _ in felt)
        says = f"one measurement is missing: {where}; any one of these settles it: "
        return UndeterminedError(says + ", ".join(settles), 1, settles)
    chosen: list[str] = []
    for r, row in felt:
        if len(moves) and np.abs(moves @ row).max() > _FELT * np.abs(row).max():
            slopes = np.vstack([slopes, row])
            moves = free_moves(slopes)
            chosen.append(survey.name(r))
    says = f"{len(chosen)} measurements are missing: {where}; these would settle it: "
    return UndeterminedError(says + ", ".join(chosen), len(chosen), tuple(chosen))


def _closing(survey: OutlineSurvey) -> tuple[Misclosure | None, float | None]:
    walls, turns = first_readings(survey)
    lengths = [wall for wall in walls if wall is not None]
    degrees = [angle for angle in turns[1:] if angle is not None]
    whole = turn_misclosure([turns[0], *degrees]) if None not in turns else None
    if len(lengths) < len(walls) or len(degrees) < len(walls) - 1:
        return None, whole
    return misclosure(legs(lengths, directions([0.0, *degrees])), lengths), whole


def _fitting_shapes(survey: OutlineSurvey, problem: Problem) -> list[Floats]:
    """Return the corner sets that fit about equally well, the likeliest first.

    An outline that does not cross itself and runs the right way round comes before others; of
    those, the one reached from the plainer start.
    """
    n, columns = len(survey.corners), _columns(len(survey.corners))
    diagonals = [
        (r.at[0], r.at[1])
        for r in survey.readings
        if r.kind == "length" and abs(r.at[0] - r.at[1]) not in {1, n - 1}
    ]
    ends = descents(problem)
    best, cost = min(ends, key=lambda end: end[1])
    turned = [points.ravel()[columns] for points in flips(_spread(best, n), diagonals)]
    far = cost + _HOPELESS**2 * len(problem.observed)
    turned = [x for x in turned if float(np.sum(problem.misfit(x)[0] ** 2)) < far]
    ends += descents(replace(problem, starts=tuple(turned)))
    limit = min(cost for _, cost in ends) + _AS_WELL
    shapes = [_spread(x, n) for x, cost in ends if cost <= limit]
    full = sum(angle for angle in first_readings(survey)[1] if angle is not None)
    way = -1.0 if survey.clockwise or full < 0.0 else 1.0
    proper = [p for p in shapes if way * signed_area(p) > 0.0 and not crosses_itself(p)]
    distinct: list[Floats] = []
    for points in proper or shapes[:1]:
        if all(float(np.abs(points - other).max()) > _SAME for other in distinct):
            distinct.append(points)
    return distinct


def adjust_outline(survey: OutlineSurvey) -> OutlineAdjustment:
    """Return the adjusted corners of an outline survey.

    Raises GeometryError when lengths contradict one another outright and UndeterminedError,
    naming measurements that would help, when there are too few.

    >>> from massing.survey.readings import length
    >>> square = [length(i, (i + 1) % 4, 3000.0, 5.0) for i in range(4)]
    >>> found = adjust_outline(OutlineSurvey(tuple("ABCD"), (*square, length(0, 2, 4242.6, 5.0))))
    >>> np.hypot(*found.corners[2]).round(1).item()
    4242.6
    >>> adjust_outline(OutlineSurvey(tuple("ABCD"), tuple(square)))
    Traceback (most recent call last):
    ...
    massing.survey.adjust.UndeterminedError: one measurement is missing: corners C and D can \
still move; any one of these settles it: the diagonal A-C, the diagonal B-D, the turn at A, \
the turn at B, the turn at C, the turn at D
    """
    problem = outline_problem(survey)
    if (clash := _contradiction(survey)) is not None:
        raise GeometryError(clash)
    if (short := _undetermined(survey, problem)) is not None:
        raise short
    n = len(survey.corners)
    shapes = _fitting_shapes(survey, problem)
    columns = _columns(n)
    found = adjust(replace(problem, starts=(shapes[0].ravel()[columns],)))
    covariance = np.zeros((2 * n, 2 * n))
    covariance[np.ix_(columns, columns)] = found.covariance
    influence = np.zeros((2 * n, len(survey.readings)))
    influence[columns] = found.influence
    closing, turn_error = _closing(survey)
    return OutlineAdjustment(
        survey=survey,
        adjustment=found,
        corners=_spread(found.unknowns, n),
        covariance=covariance,
        influence=influence,
        closing=closing,
        turn_error=turn_error,
        others=tuple(shapes[1:]),
    )
