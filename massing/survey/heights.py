"""A roof slope from eaves, ridge, run, slope length and pitch: readings in, one triangle out.

Any three that fix the triangle will do; the rest are checks. Lengths are mm, pitch degrees.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.survey.adjust import Adjustment, Problem, UndeterminedError, adjust, free_moves
from massing.survey.combine import standard_uncertainty

__all__ = ["SLOPE_READINGS", "SlopeAdjustment", "adjust_slope", "all_five", "slope_problem"]

Floats: TypeAlias = NDArray[np.float64]

SLOPE_READINGS: tuple[str, ...] = ("eaves", "ridge", "run", "slope", "pitch")
_SAYS = {
    "eaves": "the eaves height",
    "ridge": "the ridge height",
    "run": "the run from eaves to ridge",
    "slope": "the slope length",
    "pitch": "the pitch",
}


@dataclass(frozen=True, slots=True, eq=False)
class SlopeAdjustment:
    """The adjusted slope; ``values`` holds all five sizes, measured or not.

    influence : for each of the five, its change per unit change of each reading (m,)
    """

    adjustment: Adjustment
    names: tuple[str, ...]
    values: Mapping[str, float]
    uncertainty: Mapping[str, float]
    influence: Mapping[str, Floats]


def all_five(x: Floats) -> tuple[Floats, Floats]:
    """Return the five sizes and their (5, 3) derivatives by eaves, ridge and run."""
    eaves, ridge, run = (float(value) for value in x)
    rise = ridge - eaves
    slope = max(math.hypot(rise, run), 1e-9)
    pitch = math.degrees(math.atan2(rise, run))
    by_rise, by_run = rise / slope, run / slope
    turn_rise, turn_run = math.degrees(run / slope**2), -math.degrees(rise / slope**2)
    slopes = np.array(
        [
            [1.0, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [0.0, 0.0, 1.0],
            [-by_rise, by_rise, by_run],
            [-turn_rise, turn_rise, turn_run],
        ]
    )
    return np.array([eaves, ridge, run, slope, pitch]), slopes


def _starts(given: Mapping[str, float]) -> tuple[Floats, ...]:
    """Return eaves, ridge and run worked out from what is given, else ordinary sizes."""
    slope, pitch = given.get("slope", 3000.0), math.radians(given.get("pitch", 35.0))
    run = given.get("run", slope * math.cos(pitch))
    rise = run * math.tan(pitch) if "pitch" in given else slope * math.sin(pitch)
    if "slope" in given and "pitch" not in given and slope > run:
        rise = math.sqrt(slope**2 - run**2)
    eaves = given.get("eaves", given["ridge"] - rise if "ridge" in given else 1500.0)
    ridge = given.get("ridge", eaves + rise)
    if "run" not in given and "pitch" in given and ridge > eaves and "slope" not in given:
        run = (ridge - eaves) / math.tan(pitch)
    return (np.array([eaves, ridge, run]), np.array([eaves, eaves + abs(rise), run]))


def slope_problem(readings: Mapping[str, tuple[float, float]]) -> Problem:
    """Return the least-squares problem of a roof slope; see ``adjust_slope``."""
    names = [name for name in SLOPE_READINGS if name in readings]
    if unknown := [name for name in readings if name not in SLOPE_READINGS]:
        known = ", ".join(SLOPE_READINGS)
        raise GeometryError(f"no such reading {unknown[0]!r}; it is one of {known}")
    for name in names:
        if not readings[name][1] > 0.0:
            raise GeometryError(f"{_SAYS[name]} needs a ± above zero")
    rows = [SLOPE_READINGS.index(name) for name in names]

    def observe(x: Floats) -> tuple[Floats, Floats]:
        values, slopes = all_five(x)
        return values[rows], slopes[rows]

    return Problem(
        observe=observe,
        observed=np.array([readings[name][0] for name in names], dtype=np.float64),
        sigma=np.array([standard_uncertainty(readings[name][1]) for name in names]),
        names=tuple(_SAYS[name] for name in names),
        unknowns=("the eaves height", "the ridge height", "the run"),
        starts=_starts({name: readings[name][0] for name in names}),
        turning=np.array([name == "pitch" for name in names], dtype=bool),
    )


def adjust_slope(readings: Mapping[str, tuple[float, float]]) -> SlopeAdjustment:
    """Return the adjusted slope from ``{name: (value, half_width)}``.

    names are eaves and ridge (heights above one datum), run (level, eaves to ridge), slope
    (along the rafter line) and pitch (degrees).

    Raises UndeterminedError naming what would settle it; GeometryError when the slope length is
    shorter than the run or the rise, or a ± is missing.

    >>> found = adjust_slope({"eaves": (1200, 5), "ridge": (2700, 5), "run": (2000, 5)})
    >>> found.values["slope"], round(found.values["pitch"], 2)
    (2500.0, 36.87)
    >>> adjust_slope({"eaves": (1200, 5), "run": (2000, 5)})
    Traceback (most recent call last):
    ...
    massing.survey.adjust.UndeterminedError: one measurement is missing; any one of these \
settles it: the ridge height, the slope length, the pitch
    """
    problem = slope_problem(readings)
    _refuse_short_slope(readings)
    _refuse_undetermined(readings)
    found = adjust(problem)
    values, slopes = all_five(found.unknowns)
    influence = slopes @ found.influence
    spread = np.sqrt(np.einsum("ij,jk,ik->i", slopes, found.covariance, slopes))
    return SlopeAdjustment(
        adjustment=found,
        names=tuple(name for name in SLOPE_READINGS if name in readings),
        values=dict(zip(SLOPE_READINGS, values.tolist(), strict=True)),
        uncertainty=dict(zip(SLOPE_READINGS, spread.tolist(), strict=True)),
        influence=dict(zip(SLOPE_READINGS, influence, strict=True)),
    )


def _refuse_short_slope(readings: Mapping[str, tuple[float, float]]) -> None:
    if "slope" not in readings:
        return
    slope, slack = readings["slope"]
    sides = {"the run": readings.get("run")}
    if "eaves" in readings and "ridge" in readings:
        (low, a), (high, b) = readings["eaves"], readings["ridge"]
        sides["the rise from eaves to ridge"] = (abs(high - low), a + b)
    for name, side in sides.items():
        if side is not None and slope + slack < side[0] - side[1]:
            raise GeometryError(
                f"the slope length ({slope:.0f}) is shorter than {name} ({side[0]:.0f})"
            )


def _refuse_undetermined(readings: Mapping[str, tuple[float, float]]) -> None:
    # An ordinary slope, so that no special angle hides or invents a way to move.
    slopes = all_five(np.array([1217.0, 2741.0, 2203.0]))[1]
    rows = [i for i, name in enumerate(SLOPE_READINGS) if name in readings]
    moves = free_moves(slopes[rows])
    if not len(moves):
        return
    others = [i for i in range(len(SLOPE_READINGS)) if i not in rows]
    felt = [i for i in others if float(np.abs(moves @ slopes[i]).max()) > 1e-6]
    if len(moves) == 1:
        settles = tuple(_SAYS[SLOPE_READINGS[i]] for i in felt)
        says = "one measurement is missing; any one of these settles it: "
        raise UndeterminedError(says + ", ".join(settles), 1, settles)
    chosen: list[int] = []
    for i in felt:
        if len(moves) and float(np.abs(moves @ slopes[i]).max()) > 1e-6:
            chosen.append(i)
            moves = free_moves(slopes[[*rows, *chosen]])
    settles = tuple(_SAYS[SLOPE_READINGS[i]] for i in chosen)
    says = f"{len(chosen)} measurements are missing; these would settle it: "
    raise UndeterminedError(says + ", ".join(settles), len(chosen), settles)
