"""The outline of a room: measured walls, turns, diagonals and offsets in, adjusted corners out.

The first corner is the origin and the first wall runs along +x. Lengths are mm, turns degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.adjust import Adjustment, Problem, adjust, descents
from massing.survey.readings import (
    OutlineSurvey,
    check_survey,
    first_readings,
    length,
    predictor,
)
from massing.survey.shapes import crosses_itself, flips, signed_area, widest_difference
from massing.survey.shortfall import contradiction, free_columns, outline_points, shortfall
from massing.survey.traverse import Misclosure, directions, legs, misclosure, turn_misclosure
from massing.survey.trilateration import trilaterated, unlike_hints
from massing.survey.walks import first_guesses, way_round

__all__ = ["OutlineAdjustment", "adjust_outline", "outline_problem"]

Floats: TypeAlias = NDArray[np.float64]

_AS_WELL = 3.84  # 95 % point of chi-square with one degree of freedom
_SAME = 10.0  # mm, shapes nearer than this are one shape
_HOPELESS = 20.0  # sigmas a reading: a flipped outline this far off cannot come to fit


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


def outline_problem(survey: OutlineSurvey) -> Problem:
    """Return the least-squares problem of an outline survey.

    Raises GeometryError for fewer than three corners, a reading with no ±, or a corner number
    that does not exist.
    """
    n, readings = len(survey.corners), survey.readings
    check_survey(survey)

    predict, columns = predictor(readings, n), free_columns(n)

    def observe(x: Floats) -> tuple[Floats, Floats]:
        values, slopes = predict(outline_points(x, n))
        return values, slopes.reshape(len(readings), 2 * n)[:, columns]

    unknowns = [f"{corner} {axis}" for corner in survey.corners for axis in "xy"]
    walls, turns = first_readings(survey)
    roughly = list(turns)
    if survey.hints:
        roughly = [b if a is None else a for a, b in zip(turns, survey.hints, strict=True)]
    starts = first_guesses(walls, roughly, clockwise=survey.clockwise)
    problem = Problem(
        observe=observe,
        observed=np.array([reading.value for reading in readings]),
        sigma=np.array([reading.sigma for reading in readings]),
        names=tuple(survey.name(reading) for reading in readings),
        unknowns=tuple(unknowns[i] for i in free_columns(n)),
        starts=tuple(points.ravel()[free_columns(n)] for points in starts),
        turning=np.array([reading.kind == "turn" for reading in readings], dtype=bool),
    )
    problem = _with_best_starts(problem)
    if None not in turns[1:]:
        return problem
    more = tuple(points.ravel()[free_columns(n)] for points in trilaterated(survey))
    return replace(problem, starts=(*problem.starts, *more))


def _with_best_starts(problem: Problem, most: int = 8) -> Problem:
    """Keep the first guess and the few others that fit best as they stand."""
    costs = [float(np.sum(problem.misfit(x)[0] ** 2)) for x in problem.starts]
    order = sorted(range(1, len(costs)), key=lambda i: (costs[i], i))
    kept = [0, *order[: most - 1]]
    return replace(problem, starts=tuple(problem.starts[i] for i in kept))


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
    n, columns = len(survey.corners), free_columns(len(survey.corners))
    diagonals = [
        (r.at[0], r.at[1])
        for r in survey.readings
        if r.kind == "length" and abs(r.at[0] - r.at[1]) not in {1, n - 1}
    ]
    ends = descents(problem)
    best, cost = min(ends, key=lambda end: end[1])
    turned = [points.ravel()[columns] for points in flips(outline_points(best, n), diagonals)]
    far = cost + _HOPELESS**2 * len(problem.observed)
    turned = [x for x in turned if float(np.sum(problem.misfit(x)[0] ** 2)) < far]
    ends += descents(replace(problem, starts=tuple(turned)))
    limit = min(cost for _, cost in ends) + _AS_WELL
    shapes = [outline_points(x, n) for x, cost in ends if cost <= limit]
    way = way_round(first_readings(survey)[1], clockwise=survey.clockwise)
    proper = [p for p in shapes if way * signed_area(p) > 0.0 and not crosses_itself(p)]
    hinted = [points for points in proper if survey.hints and not unlike_hints(survey, points)]
    distinct: list[Floats] = []
    for points in hinted or proper or shapes[:1]:
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
    if (clash := contradiction(survey)) is not None:
        raise GeometryError(clash)
    if (short := shortfall(survey, problem)) is not None:
        raise short
    n = len(survey.corners)
    shapes = _fitting_shapes(survey, problem)
    columns = free_columns(n)
    found = adjust(replace(problem, starts=(shapes[0].ravel()[columns],)))
    covariance = np.zeros((2 * n, 2 * n))
    covariance[np.ix_(columns, columns)] = found.covariance
    influence = np.zeros((2 * n, len(survey.readings)))
    influence[columns] = found.influence
    closing, turn_error = _closing(survey)
    return OutlineAdjustment(
        survey=survey,
        adjustment=found,
        corners=outline_points(found.unknowns, n),
        covariance=covariance,
        influence=influence,
        closing=closing,
        turn_error=turn_error,
        others=tuple(shapes[1:]),
    )
