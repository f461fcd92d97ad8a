"""Outlines with fewer freedoms than corners: what a form allows in, corners and their slopes out.

A walk whose turns are taken as exact can change only its lengths; a room given as width by depth
can change those two and lean. The same readings are then adjusted in fewer unknowns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.adjust import Problem, adjust
from massing.survey.blunders import Blunder, find_blunder, outline_blunder
from massing.survey.outline import OutlineAdjustment, adjust_outline
from massing.survey.readings import OutlineSurvey, check_survey, first_readings, predictor
from massing.survey.shortfall import contradiction
from massing.survey.traverse import Misclosure, legs, misclosure

__all__ = ["FixedTurns", "Form", "Leaning", "adjust_form", "form_blunder", "form_problem"]

Floats: TypeAlias = NDArray[np.float64]


class Form(Protocol):
    """A family of outlines with a few unknowns."""

    def __hash__(self) -> int:
        """Forms are values, so that an adjustment can be kept."""

    def unknowns(self, survey: OutlineSurvey) -> tuple[str, ...]:
        """Their names."""

    def start(self, survey: OutlineSurvey) -> Floats:
        """A first guess at them."""

    def points(self, x: Floats) -> tuple[Floats, Floats]:
        """Corners (n, 2) and their (2n, k) derivatives."""

    def closing(self, survey: OutlineSurvey) -> Misclosure | None:
        """Closing error of the raw readings, None when they do not make a whole walk."""


@dataclass(frozen=True, slots=True)
class FixedTurns:
    """Walls in known directions, degrees from x, left positive; only the lengths can change.

    >>> FixedTurns((0.0, 90.0, 180.0, 270.0)).free().shape
    (4, 2)
    """

    directions: tuple[float, ...]

    def ways(self) -> Floats:
        """(n, 2) unit vectors, exact for the four square directions."""
        return np.array([_way(degrees) for degrees in self.directions])

    def free(self) -> Floats:
        """(n, n - 2) lengths that close, as a basis."""
        _, _, axes = np.linalg.svd(self.ways().T, full_matrices=True)
        return np.asarray(axes[2:].T)

    def unknowns(self, survey: OutlineSurvey) -> tuple[str, ...]:
        """Their names."""
        return tuple(f"length {k + 1}" for k in range(len(survey.corners) - 2))

    def start(self, survey: OutlineSurvey) -> Floats:
        """The measured lengths brought to close."""
        walls, _ = first_readings(survey)
        known = [size for size in walls if size is not None] or [1000.0]
        sizes = np.array([known[0] if size is None else size for size in walls])
        return np.asarray(self.free().T @ sizes)

    def points(self, x: Floats) -> tuple[Floats, Floats]:
        """Corners (n, 2) and their (2n, k) derivatives."""
        ways, free = self.ways(), self.free()
        steps = ways[:, :, None] * free[:, None, :]
        slopes = np.concatenate([np.zeros((1, *steps.shape[1:])), steps[:-1].cumsum(axis=0)])
        flat = slopes.reshape(-1, free.shape[1])
        return (flat @ x).reshape(-1, 2), flat

    def closing(self, survey: OutlineSurvey) -> Misclosure | None:
        """Closing error of the raw lengths."""
        walls, _ = first_readings(survey)
        sizes = [size for size in walls if size is not None]
        if len(sizes) < len(walls):
            return None
        return misclosure(legs(sizes, self.directions), sizes)


def _way(degrees: float) -> tuple[float, float]:
    square = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return square.get(degrees % 360.0) or (
        math.cos(math.radians(degrees)),
        math.sin(math.radians(degrees)),
    )


@dataclass(frozen=True, slots=True)
class Leaning:
    """Width by depth, opposite walls equal, with one angle that may be out of square.

    Corners counter-clockwise from the origin, the first wall along +x.
    """

    width: float
    depth: float

    def unknowns(self, survey: OutlineSurvey) -> tuple[str, ...]:
        """Their names."""
        del survey
        return ("the width", "the depth", "the lean")

    def start(self, survey: OutlineSurvey) -> Floats:
        """The sizes as written, square."""
        del survey
        return np.array([self.width, self.depth, 90.0])

    def points(self, x: Floats) -> tuple[Floats, Floats]:
        """Corners (4, 2) and their (8, 3) derivatives."""
        width, depth, lean = (float(v) for v in x)
        cos, sin = _way(lean)
        up = np.array([depth * cos, depth * sin])
        corners = np.array([[0.0, 0.0], [width, 0.0], up + np.array([width, 0.0]), up])
        slopes = np.zeros((4, 2, 3))
        slopes[1:3, 0, 0] = 1.0
        slopes[2:, :, 1] = (cos, sin)
        slopes[2:, :, 2] = np.radians(1.0) * np.array([-depth * sin, depth * cos])
        return corners, slopes.reshape(8, 3)

    def closing(self, survey: OutlineSurvey) -> Misclosure | None:
        """A size always closes."""
        del survey
        return None


def form_problem(survey: OutlineSurvey, form: Form) -> Problem:
    """Return the least-squares problem of an outline survey within a form.

    Raises GeometryError for a reading with no ± or a corner number that does not exist.
    """
    n, readings = len(survey.corners), survey.readings
    check_survey(survey)
    predict = predictor(readings, n)

    def observe(x: Floats) -> tuple[Floats, Floats]:
        points, moved = form.points(x)
        values, slopes = predict(points)
        return values, slopes.reshape(len(readings), 2 * n) @ moved

    return Problem(
        observe=observe,
        observed=np.array([reading.value for reading in readings]),
        sigma=np.array([reading.sigma for reading in readings]),
        names=tuple(survey.name(reading) for reading in readings),
        unknowns=form.unknowns(survey),
        starts=(form.start(survey),),
        turning=np.array([reading.kind == "turn" for reading in readings], dtype=bool),
    )


def form_blunder(found: OutlineAdjustment, form: Form | None) -> Blunder | None:
    """Return the single wrong reading of an adjusted outline, None when nothing disagrees."""
    if form is None:
        return outline_blunder(found)
    problem = form_problem(found.survey, form)
    starts = (found.adjustment.unknowns, *problem.starts)
    return find_blunder(replace(problem, starts=starts), found.adjustment)


@lru_cache(maxsize=64)
def adjust_form(survey: OutlineSurvey, form: Form | None) -> OutlineAdjustment:
    """Return the adjusted corners of an outline survey within a form, any outline when None.

    The answer is kept, since every set of worlds asks for the same one.

    Raises GeometryError for lengths that contradict one another outright and UndeterminedError
    when there are too few.

    >>> from massing.survey.readings import length
    >>> walls = (length(0, 1, 4000.0, 5.0), length(1, 2, 3000.0, 5.0), length(0, 2, 5007.0, 5.0),
    ...          length(1, 3, 4993.0, 5.0))
    >>> found = adjust_form(OutlineSurvey(tuple("ABCD"), walls), Leaning(4000.0, 3000.0))
    >>> found.adjustment.freedom, found.adjustment.unknowns.round(1).tolist()
    (1, [4000.0, 3000.0, 89.8])
    """
    if form is None:
        return adjust_outline(survey)
    problem = form_problem(survey, form)
    if (clash := contradiction(survey)) is not None:
        raise GeometryError(clash)
    found = adjust(problem)
    corners, slopes = form.points(found.unknowns)
    return OutlineAdjustment(
        survey=survey,
        adjustment=found,
        corners=corners,
        covariance=slopes @ found.covariance @ slopes.T,
        influence=slopes @ found.influence,
        closing=form.closing(survey),
        turn_error=None,
        others=(),
    )
