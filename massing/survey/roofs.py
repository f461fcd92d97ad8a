"""A roof of one slope or of two that share a ridge: readings in, heights and runs out.

The runs of the slopes add up to the width of the room below, which is a reading like any other
(a firm one: the plan is adjusted by itself). Lengths are mm, pitches degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.adjust import Adjustment, Problem, adjust
from massing.survey.combine import standard_uncertainty
from massing.survey.heights import SLOPE_READINGS, all_five

__all__ = ["RoofAdjustment", "RoofReading", "RoofSurvey", "adjust_roof", "roof_problem"]

Floats: TypeAlias = NDArray[np.float64]
_SAYS = {"run": "run", "slope": "slope length", "pitch": "pitch", "eaves": "eaves height"}


@dataclass(frozen=True, slots=True)
class RoofReading:
    """One measurement: ``ridge`` and ``width`` of the whole, the rest of the slope of a side."""

    kind: Literal["eaves", "ridge", "run", "slope", "pitch", "width"]
    side: int
    value: float
    half_width: float


@dataclass(frozen=True, slots=True)
class RoofSurvey:
    """The walls the slopes rise from, one or two, and everything measured of them."""

    sides: tuple[str, ...]
    readings: tuple[RoofReading, ...]

    def name(self, reading: RoofReading) -> str:
        """Name a reading in plain words.

        >>> RoofSurvey(("south",), ()).name(RoofReading("slope", 0, 2000.0, 5.0))
        'the slope length from the south'
        """
        if reading.kind == "ridge":
            return "the ridge height" if len(self.sides) > 1 else "the height of the high side"
        if reading.kind == "width":
            return "the width below"
        joined = "at" if reading.kind == "eaves" else "from"
        return f"the {_SAYS[reading.kind]} {joined} the {self.sides[reading.side]}"


@dataclass(frozen=True, slots=True, eq=False)
class RoofAdjustment:
    """The adjusted roof.

    unknowns : ridge, then eaves and run of each side, mm
    influence : (1 + 2 sides, m) change of each per unit change of each reading
    """

    survey: RoofSurvey
    problem: Problem
    adjustment: Adjustment

    @property
    def unknowns(self) -> Floats:
        """(1 + 2 sides,) adjusted ridge, then eaves and run of each side, mm."""
        return self.adjustment.unknowns

    @property
    def influence(self) -> Floats:
        """(1 + 2 sides, m) change of each unknown per unit change of each reading."""
        return self.adjustment.influence


def roof_problem(survey: RoofSurvey) -> Problem:
    """Return the least-squares problem of a roof.

    Raises GeometryError for a reading with no ±.
    """
    for reading in survey.readings:
        if not reading.half_width > 0.0:
            raise GeometryError(f"{survey.name(reading)} needs a ± above zero")
    sides = range(len(survey.sides))

    def observe(x: Floats) -> tuple[Floats, Floats]:
        sized = [all_five(np.array([x[1 + 2 * k], x[0], x[2 + 2 * k]])) for k in sides]
        values = np.zeros(len(survey.readings))
        slopes = np.zeros((len(survey.readings), len(x)))
        for row, reading in enumerate(survey.readings):
            if reading.kind == "width":
                runs = [2 + 2 * k for k in sides]
                values[row], slopes[row, runs] = x[runs].sum(), 1.0
                continue
            five, moved = sized[reading.side]
            part = SLOPE_READINGS.index(reading.kind)
            k = reading.side
            values[row] = five[part]
            slopes[row, [1 + 2 * k, 0, 2 + 2 * k]] = moved[part]
        return values, slopes

    return Problem(
        observe=observe,
        observed=np.array([reading.value for reading in survey.readings]),
        sigma=np.array([standard_uncertainty(reading.half_width) for reading in survey.readings]),
        names=tuple(survey.name(reading) for reading in survey.readings),
        unknowns=(
            "the ridge height",
            *(f"the {what} {side}" for side in survey.sides for what in ("eaves at", "run from")),
        ),
        starts=(_start(survey),),
        turning=np.array([reading.kind == "pitch" for reading in survey.readings], dtype=bool),
    )


def _start(survey: RoofSurvey) -> Floats:
    """Heights as read, runs as read or worked out, else the width shared evenly."""
    given: dict[tuple[str, int], float]
    given = {(r.kind, 0 if r.kind in {"ridge", "width"} else r.side): r.value
             for r in reversed(survey.readings)}  # fmt: skip
    count = len(survey.sides)
    width = given.get(("width", 0), 2000.0 * count)
    ridge = given.get(("ridge", 0), 2500.0)
    runs: list[float | None] = [_run(given, k, ridge) for k in range(count)]
    if count == 2 and runs.count(None) == 1:
        k = runs.index(None)
        runs[k] = max(width - float(runs[1 - k] or 0.0), 1.0)
    sized = [width / count if run is None else run for run in runs]
    heights = [given.get(("eaves", k), ridge - 1000.0) for k in range(count)]
    pairs = zip(heights, sized, strict=True)
    return np.array([ridge, *(value for pair in pairs for value in pair)])


def _run(given: dict[tuple[str, int], float], side: int, ridge: float) -> float | None:
    if ("run", side) in given:
        return given["run", side]
    slope, pitch = given.get(("slope", side)), given.get(("pitch", side))
    rise = ridge - given.get(("eaves", side), ridge - 1000.0)
    if slope is not None and pitch is not None:
        return slope * math.cos(math.radians(pitch))
    if slope is not None and slope > abs(rise):
        return math.sqrt(slope**2 - rise**2)
    if pitch is not None and rise > 0.0:
        return rise / math.tan(math.radians(pitch))
    return None


@lru_cache(maxsize=64)
def adjust_roof(survey: RoofSurvey) -> RoofAdjustment:
    """Return the adjusted roof; kept, since every set of worlds asks for the same one.

    Raises UndeterminedError when there are too few readings; GeometryError when a slope length is
    shorter than its run or its rise beyond their ±, or a ± is missing.

    >>> found = adjust_roof(RoofSurvey(("south",), (
    ...     RoofReading("eaves", 0, 1200.0, 5.0), RoofReading("ridge", 0, 2700.0, 5.0),
    ...     RoofReading("width", 0, 2000.0, 0.1), RoofReading("slope", 0, 2510.0, 5.0))))
    >>> found.unknowns.round(1).tolist(), found.adjustment.freedom
    ([2703.5, 1196.5, 2000.0], 1)
    """
    problem = roof_problem(survey)
    _refuse_short_slopes(survey)
    return RoofAdjustment(survey, problem, adjust(problem))


def _refuse_short_slopes(survey: RoofSurvey) -> None:
    of = {(r.kind, r.side): r for r in reversed(survey.readings)}
    ridge = of.get(("ridge", 0))
    for side, _ in enumerate(survey.sides):
        slope, eaves = of.get(("slope", side)), of.get(("eaves", side))
        run = of.get(("run", side)) or (of.get(("width", 0)) if len(survey.sides) == 1 else None)
        if slope is None:
            continue
        sides = [] if run is None else [("the run", run.value, run.half_width)]
        if eaves is not None and ridge is not None:
            rise = abs(ridge.value - eaves.value)
            sides.append(("the rise", rise, ridge.half_width + eaves.half_width))
        for what, size, slack in sides:
            if slope.value + slope.half_width < size - slack:
                raise GeometryError(
                    f"{survey.name(slope)} ({slope.value:.0f}) is shorter than {what} ({size:.0f})"
                )
