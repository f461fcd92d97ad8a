"""Check a scheme: a project in, findings with odds and nudges out."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import overload

from massing.checks.context import Context
from massing.checks.finding import Detail, Finding, Reading, Verdict
from massing.checks.nudges import Key, best_nudge, covered, failures
from massing.checks.registry import readings
from massing.checks.rules import Rules, rules_of
from massing.checks.verdicts import Judged, extreme_shifts, judge
from massing.geometry.tolerance import TOUCH
from massing.project.project import Project
from massing.scheme.layout import Layout
from massing.scheme.movement import most_moved
from massing.scheme.place import place
from massing.scheme.sizes import default_half_width_of
from massing.survey.values import Measure, Values

__all__ = ["Answer", "check_scheme"]

_TOLD = 0.005  # a share smaller than this is written as 0.00
_ORDER = {verdict: number for number, verdict in enumerate(Verdict)}


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """A checked scheme.

    layout : as placed, one nominal world
    measures : every length with a ± that the scheme depends on
    """

    project: Project
    layout: Layout
    rules: Rules
    measures: tuple[Measure, ...]
    findings: tuple[Finding, ...]

    @property
    def conflicts(self) -> tuple[Finding, ...]:
        """Findings that fail even at the best case."""
        return tuple(f for f in self.findings if f.verdict is Verdict.CONFLICT)


def check_scheme(project: Project, scheme: str | None = None, *, nudges: bool = True) -> Answer:
    """Run every check on one scheme (the last in the file when None).

    nudges : also look for the smallest move that clears each conflict
    Raises InputError where the room cannot be built, KeyError for an unknown scheme.
    """
    rules = rules_of(project)
    sizes = Values(default=default_half_width_of(project))
    layout = place(project, scheme, sizes)
    measures = sizes.measures
    worlds = layout
    if measures:
        worlds = place(project, scheme, Values.shifted(measures, extreme_shifts(measures)))
    slack = most_moved(worlds)
    context = Context(worlds, rules, reach=rules.near + TOUCH + 2 * slack, nudges=nudges)
    measured = list(readings(context))
    judged = [(reading, judge(reading, measures)) for reading in map(_accepting(layout), measured)]
    kept = _folded(_worth_saying(_worst_each(judged), rules))
    nominal = Context(layout, rules, reach=rules.near + TOUCH)
    before = failures(measured) if nudges and kept else {}
    findings = [_finding(nominal, reading, verdict, before) for reading, verdict in kept]
    return Answer(project, layout, rules, measures, tuple(sorted(findings, key=_order)))


def _accepting(layout: Layout) -> Callable[[Reading], Reading]:
    """Turns a failing reading that the project accepts into a caution that says so."""
    accepted = {item.name: item.accept for item in layout.items}

    def softened(reading: Reading) -> Reading:
        names = set(reading.items)
        for name in () if reading.firm else reading.items:
            if names & set(accepted.get(name, ())) or reading.check in accepted.get(name, ()):
                told = _accepted(reading.detail)
                return replace(reading, weight=Verdict.CAUTION, detail=told)
        return reading

    return softened


def _accepted(detail: Callable[[], Detail]) -> Callable[[], Detail]:
    """The same detail, saying that the project accepts it."""

    def told() -> Detail:
        found = detail()
        return replace(found, says=f"{found.says}; accepted in the file", pushes=())

    return told


def _order(finding: Finding) -> tuple[int, str, tuple[str, ...], str]:
    return (_ORDER[finding.verdict], finding.check, finding.items, finding.says)


def _worst_each(judged: Iterable[tuple[Reading, Judged]]) -> list[tuple[Reading, Judged]]:
    """One cause is one finding: of each check and pair, the reading with least to spare."""
    best: dict[Key, tuple[Reading, Judged]] = {}
    for reading, verdict in judged:
        key = (reading.check, reading.items)
        spare = verdict.nominal - reading.needs
        if key not in best or spare < best[key][1].nominal - best[key][0].needs:
            best[key] = (reading, verdict)
    return list(best.values())


def _worth_saying(
    judged: list[tuple[Reading, Judged]], rules: Rules
) -> list[tuple[Reading, Judged]]:
    """Everything that fails or may fail, what was asked for, and near misses."""
    kept = []
    for reading, verdict in judged:
        spare = verdict.nominal - reading.needs
        near = reading.unit == "mm" and not reading.touching and spare <= rules.near + TOUCH
        apart = spare > TOUCH or verdict.worst < reading.needs - TOUCH
        if verdict.verdict is not Verdict.CLEAR or reading.noted or (near and apart):
            kept.append((reading, verdict))
    return kept


def _folded(judged: list[tuple[Reading, Judged]]) -> list[tuple[Reading, Judged]]:
    """Drop findings that another finding about the same things already covers."""
    conflicts = {
        (reading.check, frozenset(reading.items))
        for reading, verdict in judged
        if verdict.verdict in {Verdict.CONFLICT, Verdict.REMEASURE}
    }
    return [pair for pair in judged if not covered((pair[0].check, pair[0].items), conflicts)]


def _finding(
    nominal: Context, reading: Reading, judged: Judged, before: dict[Key, Reading]
) -> Finding:
    detail = reading.detail()
    nudge = None
    key = (reading.check, reading.items)
    if key in before and detail.pushes:
        nudge = best_nudge(nominal, key, detail.pushes, before)
    summed = (judged.worst, judged.best)
    worst, best = summed
    if reading.reach or reading.unit == "%":
        worst, best = _held(judged, 100.0 if reading.unit == "%" else detail.of)
    return Finding(
        check=reading.check,
        verdict=judged.verdict,
        items=reading.items,
        gap_mm=_tidy(judged.nominal),
        needs_mm=_tidy(reading.needs),
        plus_minus_mm=_tidy(judged.plus_minus),
        worst_mm=_tidy(worst),
        best_mm=_tidy(best),
        chance_clear=round(judged.chance, 4) + 0.0,
        says=detail.says,
        unit=reading.unit,
        at_mm=detail.at,
        overlap_l=_tidy(detail.overlap_l),
        area_m2=None if detail.area_m2 is None else round(detail.area_m2, 4) + 0.0,
        reaches=detail.reaches,
        of=detail.of,
        nudge=nudge,
        source=reading.source,
        linear=not judged.bent,
        summed_mm=None if (worst, best) == summed else (_tidy(summed[0]), _tidy(summed[1])),
        turns_on=tuple(
            (name, round(share, 2) + 0.0)
            for name, share in judged.shares
            if judged.bent or abs(share) >= _TOLD
        ),
    )


def _held(judged: Judged, of: float | None) -> tuple[float, float]:
    """Worst and best of a reach or a share: no less than nothing, no more than all there is.

    Shares added up know no such ends. What is nominally told to have room beyond keeps it.
    """
    most = max(judged.nominal, math.inf if of is None else of)
    return max(judged.worst, min(judged.nominal, 0.0)), min(judged.best, most)


@overload
def _tidy(value: float) -> float: ...
@overload
def _tidy(value: None) -> None: ...
def _tidy(value: float | None) -> float | None:
    return value if value is None else round(value, 3) + 0.0
