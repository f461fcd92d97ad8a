"""What to measure again: a checked scheme in, its measurements ranked out.

A measurement matters by the verdicts that hang on it: those it could tip over first, then those
it comes near to tipping, the narrow ones before the wide.
"""

from __future__ import annotations

from dataclasses import dataclass

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.survey.values import Measure

__all__ = ["Hanging", "Remeasure", "remeasure"]


@dataclass(frozen=True, slots=True)
class Hanging:
    """A verdict that hangs on a measurement.

    share : what the gap moves over the measurement's half-width, in its own unit, signed
    slack : what is left between the nominal gap and what is needed, signed
    tolerance : half-width, in the measurement's unit, at which this measurement alone settles the
        verdict; 0 when the others must be taken better first, None when nothing is left to settle
    together : half-width at which it settles when every other measurement the verdict
        hangs on is bettered in the same proportion; None when nothing is left to settle
    """

    finding: Finding
    share: float
    slack: float
    tolerance: float | None
    together: float | None


@dataclass(frozen=True, slots=True)
class Remeasure:
    """A measurement and what hangs on it, the narrowest first.

    settles : how many open verdicts it can settle on its own
    tolerance : half-width it needs for that; None when it settles none alone
    together : half-width at which it settles some verdict with the others of that verdict as much
        better; None when nothing is left to settle
    """

    measure: Measure
    hanging: tuple[Hanging, ...]
    settles: int
    open: int
    tolerance: float | None
    together: float | None

    @property
    def near(self) -> tuple[Hanging, ...]:
        """The verdicts it decides or could come to decide: four times its ± would turn them."""
        return tuple(
            h for h in self.hanging if h.tolerance is not None or abs(h.slack) < 4.0 * abs(h.share)
        )


def remeasure(answer: Answer) -> tuple[Remeasure, ...]:
    """Every measurement some verdict hangs on, the most worth taking again first."""
    rows = []
    for measure in answer.measures:
        hanging = [
            _hanging(finding, measure)
            for finding in answer.findings
            if measure.key in dict(finding.turns_on)
        ]
        if hanging:
            rows.append(_row(measure, hanging))
    return tuple(sorted(rows, key=_rank))


def _hanging(finding: Finding, measure: Measure) -> Hanging:
    share = dict(finding.turns_on)[measure.key]
    slack = finding.gap_mm - finding.needs_mm
    if finding.verdict is not Verdict.REMEASURE:
        return Hanging(finding, share, slack, None, None)
    # How far the gap may fall (or, when it fails, rise) before the verdict turns.
    worst, best = finding.summed_mm or (finding.worst_mm, finding.best_mm)
    reach = finding.gap_mm - worst if slack >= 0 else best - finding.gap_mm
    left = abs(slack) - (reach - abs(share))
    # A bent gap may fall either way by the same: no share is left, and nothing settles it alone.
    alone = measure.half_width * max(left, 0.0) / abs(share) if share else 0.0
    together = measure.half_width * min(abs(slack) / reach, 1.0) if reach > 0 else 0.0
    return Hanging(finding, share, slack, alone, together)


def _nearest(hang: Hanging) -> tuple[bool, float, str]:
    """Open verdicts first, then by how few of the measurement's ± it would take to turn them."""
    return (hang.tolerance is None, abs(hang.slack) / max(abs(hang.share), 1e-9), hang.finding.says)


def _row(measure: Measure, hanging: list[Hanging]) -> Remeasure:
    ordered = tuple(sorted(hanging, key=_nearest))
    undecided = [h for h in ordered if h.tolerance is not None]
    settling = [h.tolerance for h in undecided if h.tolerance]
    shared = [h.together for h in undecided if h.together is not None]
    return Remeasure(
        measure=measure,
        hanging=ordered,
        settles=len(settling),
        open=len(undecided),
        tolerance=min(settling) if settling else None,
        together=min(shared) if shared else None,
    )


def _rank(row: Remeasure) -> tuple[float, ...] | tuple[int, float, float, str]:
    """Open verdicts first, then how near the nearest one is to tipping over."""
    narrow = min(abs(h.slack) / max(abs(h.share), 1e-9) for h in row.hanging)
    return (-row.open, narrow, -row.measure.half_width, row.measure.key)
