"""From one reading in many worlds to a verdict with odds.

World 0 is nominal; after it come two worlds a measure, with that measure at its least and at
its greatest. A gap is piecewise linear in the sizes, so to first order each measure's share of
it is half the difference of its two worlds (JCGM 100:2008, 5.1.3).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.checks.finding import Reading, Verdict
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.survey.combine import chance_above, expanded
from massing.survey.values import Measure

__all__ = ["Judged", "extreme_shifts", "judge"]

_SLIGHT = 1e-6  # mm; a share smaller than this is rounding


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A reading's verdict and how sure it is.

    nominal, worst, best : the gap, in the reading's unit
    plus_minus : expanded uncertainty, k = 2; chance : that the gap is enough
    shares : (key, share) of each measure that moves the gap, the weightiest first
    bent : the gap is not straight in some measure, so the odds are first-order only
    """

    verdict: Verdict
    nominal: float
    worst: float
    best: float
    plus_minus: float
    chance: float
    shares: tuple[tuple[str, float], ...]
    bent: bool


def extreme_shifts(measures: tuple[Measure, ...]) -> Floats:
    """(1 + 2 m, m) shifts: none, then each measure at its least and at its greatest."""
    count = len(measures)
    shifts = np.zeros((1 + 2 * count, count))
    for k, measure in enumerate(measures):
        shifts[1 + 2 * k, k] = -measure.half_width
        shifts[2 + 2 * k, k] = measure.half_width
    return shifts


def judge(reading: Reading, measures: tuple[Measure, ...]) -> Judged:
    """Verdict of a reading whose worlds are those of ``extreme_shifts``."""
    gap = np.asarray(reading.gap, dtype=np.float64)
    nominal = float(gap[0])
    if (gap == nominal).all():
        return _sure(reading, nominal)
    sides = gap[1:].reshape(-1, 2)
    share = (sides[:, 1] - sides[:, 0]) / 2.0
    drop = np.maximum(nominal - np.minimum(sides.min(axis=1), nominal), 0.0)
    rise = np.maximum(np.maximum(sides.max(axis=1), nominal) - nominal, 0.0)
    worst, best = nominal - float(np.sum(drop)), nominal + float(np.sum(rise))
    moved = np.flatnonzero(np.abs(sides - nominal).max(axis=1) > _SLIGHT).tolist()
    widths = [abs(float(share[k])) for k in moved]
    curved = any(abs(sides[k].sum() - 2 * nominal) > 0.1 for k in moved)
    slack, need = _slack(reading), reading.needs
    return Judged(
        verdict=_verdict(reading, worst, best, need - slack),
        nominal=nominal,
        worst=worst,
        best=best,
        plus_minus=expanded([w / np.sqrt(3.0) for w in widths]),
        chance=chance_above(nominal - need + slack, widths),
        shares=tuple(
            sorted(
                ((measures[k].key, float(share[k])) for k in moved),
                key=lambda pair: (-abs(round(pair[1], 6)), pair[0]),
            )
        ),
        bent=curved,
    )


def _sure(reading: Reading, gap: float) -> Judged:
    """The verdict where the gap is the same whatever the sizes are."""
    spare = gap - reading.needs + _slack(reading)
    return Judged(
        verdict=_verdict(reading, gap, gap, reading.needs - _slack(reading)),
        nominal=gap,
        worst=gap,
        best=gap,
        plus_minus=0.0,
        chance=float(spare >= 0.0),
        shares=(),
        bent=False,
    )


def _slack(reading: Reading) -> float:
    """How much less than what is needed is taken as enough."""
    return TOUCH if reading.unit == "mm" else 1e-6


def _verdict(reading: Reading, worst: float, best: float, limit: float) -> Verdict:
    if worst >= limit:
        return Verdict.CLEAR
    if reading.weight is Verdict.CAUTION:
        return Verdict.CAUTION
    return Verdict.CONFLICT if best < limit else Verdict.REMEASURE
