"""The answer as a person reads it in a terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from massing.checks.finding import Finding, Nudge, Verdict
from massing.checks.run import Answer
from massing.checks.words import mm, move_words
from massing.handover.answer import cautions
from massing.handover.folding import Fold, folds
from massing.room.measure import area_where, floor_area, volume
from massing.survey.values import Measure

if TYPE_CHECKING:
    from massing.sureness.sampling import Sampled

__all__ = ["WIDTH", "answer_text", "count_words", "measured", "wrapped"]

WIDTH = 98
"""Columns of the widest line."""
_HEADS = {
    Verdict.CONFLICT: "CONFLICTS - these fail even at the best case",
    Verdict.REMEASURE: "RE-MEASURE - the tape decides these",
    Verdict.CAUTION: "CAUTIONS - allowed, worth a second look",
}


def answer_text(
    answer: Answer,
    *,
    every: bool = False,
    sampled: tuple[Sampled, ...] | None = None,
    about: frozenset[str] = frozenset(),
) -> str:
    """The whole answer; with ``every`` also each near miss in full.

    sampled : the findings as sampled, in their order
    about : names; only what is told with one of them is listed, under the number it has in all
    """
    drawn = dict(zip(answer.findings, sampled or (), strict=False))
    asked = [f for f in answer.findings if not about or about & set(f.items)]
    lines = [*_head(answer), *_sampled_head(sampled), *_about(asked, about), ""]
    folded = [fold for fold in folds(answer.findings) if any(f in asked for _, f in fold.members)]
    for verdict, head in _HEADS.items():
        found = [fold for fold in folded if fold.lead.verdict is verdict]
        if not found:
            continue
        lines.append(head)
        for fold in found:
            lines.extend(_fold(fold, answer.measures, drawn))
        lines.append("")
    lines.extend(_clear(tuple(asked), drawn, every=every))
    lines.append("Notes")
    for words in cautions(answer):
        lines.extend(wrapped(words, "  - ", "    "))
    return "\n".join(lines)


def count_words(findings: Iterable[Finding]) -> str:
    """How many of each verdict, in words."""
    kinds = [f.verdict for f in findings]
    conflicts, tape = kinds.count(Verdict.CONFLICT), kinds.count(Verdict.REMEASURE)
    cautious = kinds.count(Verdict.CAUTION)
    told = [
        f"{conflicts or 'no'} conflict{'' if conflicts == 1 else 's'}",
        f"{tape or 'nothing'} to re-measure",
        f"{cautious or 'no'} caution{'' if cautious == 1 else 's'}",
    ]
    return ", ".join(told)


def _head(answer: Answer) -> Iterator[str]:
    room = answer.layout.room
    yield from wrapped(f"{answer.project.name} / {answer.layout.name}", "", "  ")
    tall = area_where(room, at_least=2000.0)
    yield (
        f"floor {floor_area(room) / 1e6:.2f} m2, volume {volume(room) / 1e9:.2f} m3, "
        f"{tall / 1e6:.2f} m2 at 2000 or higher"
    )
    derived = [w for w in room.walls if w.provenance != "measured" and not w.partition]
    if derived:
        kinds = sorted({wall.provenance for wall in derived})
        yield f"{len(derived)} of {len(room.walls)} wall lengths are {' and '.join(kinds)}"
    yield count_words(answer.findings)


def _about(asked: list[Finding], about: frozenset[str]) -> Iterator[str]:
    if about:
        yield from wrapped(f"about {' and '.join(sorted(about))}: {count_words(asked)}", "", "  ")


def _fold(
    fold: Fold, measures: tuple[Measure, ...], drawn: dict[Finding, Sampled]
) -> Iterator[str]:
    """Findings with one cause: each with its number, and what they share said once."""
    together = len(fold.members) > 1 and fold.nudge is not None
    for number, finding in fold.members:
        yield from wrapped(fold.says(finding), f"{number:>3}  ", "     ")
        facts = _facts(finding)
        if facts:
            yield from wrapped(facts, "     ", "     ")
        yield from _sampled(drawn.get(finding), "     ")
        if len(fold.members) > 1 and not together:
            yield from _move(finding.nudge, finding.verdict, "it")
    finding, every = fold.lead, "both" if len(fold.members) == 2 else f"all {len(fold.members)}"
    if fold.tail:
        yield from wrapped(f"{every}: {fold.tail}", "     ", "     ")
    if finding.source:
        yield from wrapped(f"asked by {finding.check} ({finding.source})", "     ", "     ")
    if finding.verdict is Verdict.REMEASURE and finding.turns_on:
        labels = {m.key: f"{m.label} (±{measured(m, m.half_width)})" for m in measures}
        told = ", ".join(labels.get(name, name) for name, _ in finding.turns_on[:3])
        yield from wrapped(f"hangs on {told}", "     ", "     ")
    if together or len(fold.members) == 1:
        yield from _move(fold.nudge, finding.verdict, every if together else "it")


def _facts(finding: Finding) -> str:
    """Where it is, and how sure."""
    facts = []
    if finding.at_mm is not None:
        facts.append("at " + ", ".join(mm(v) for v in finding.at_mm))
    if finding.plus_minus_mm > 0.05:
        unit = {"deg": "°", "%": " %"}.get(finding.unit, "")
        facts.append(
            f"±{mm(finding.plus_minus_mm)}{unit} likely, {mm(finding.worst_mm)} at worst, "
            f"{mm(finding.best_mm)} at best; chance clear {_odds(finding.chance_clear)}"
        )
    return "; ".join(facts)


def _move(nudge: Nudge | None, verdict: Verdict, what: str) -> Iterator[str]:
    """The move that would clear it, and what that would start."""
    if nudge is not None:
        move = f"moving {nudge.item} {move_words(nudge.by_mm)} clears {what}"
        if nudge.starts:
            move += ", but starts: " + "; ".join(nudge.starts)
        yield from wrapped(move, "     > ", "       ")
    elif verdict is Verdict.CONFLICT:
        yield "     > no single move clears it"


def _sampled_head(sampled: tuple[Sampled, ...] | None) -> Iterator[str]:
    """How many rooms were drawn and whether the odds held."""
    if sampled is None:
        return
    moved = [row for row in sampled if not row.still]
    if not moved:
        yield "sampled: nothing found here hangs on a measurement"
        return
    off = sum(not row.agrees for row in moved)
    held = f"agree for all {len(moved)}" if off == 0 else f"do not hold for {off} of {len(moved)}"
    yield (
        f"sampled in {moved[0].samples} rooms within the ±: the first-order odds {held} "
        f"finding{'' if len(moved) == 1 else 's'} that hang{'s' if len(moved) == 1 else ''} "
        "on a measurement"
    )


def _sampled(row: Sampled | None, indent: str) -> Iterator[str]:
    """One finding as sampled, and where that differs."""
    if row is None or row.still:
        return
    unit = {"mm": "", "deg": "°", "%": " %"}[row.finding.unit]
    ends = [mm(v) if math.isfinite(v) else "out of reach" for v in (row.low, row.high)]
    told = (
        f"sampled: clear in {100 * row.chance:.1f} % ±{200 * row.error:.1f}; "
        f"19 of 20 from {ends[0]} to {ends[1]}{unit}"
    )
    if not row.agrees:
        told += (
            f"; first order says {100 * row.finding.chance_clear:.1f} %, which does not hold "
            "here: the gap does not follow the sizes in a straight line"
        )
    yield from wrapped(told, indent, indent)


def _odds(chance: float) -> str:
    if chance > 0.9995:
        return "100 %" if chance == 1.0 else "over 99.9 %"
    if chance < 0.0005:
        return "0 %" if chance == 0.0 else "under 0.1 %"
    return f"{100 * chance:.0f} %"


def _clear(
    findings: tuple[Finding, ...], drawn: dict[Finding, Sampled], *, every: bool
) -> Iterator[str]:
    found = [f for f in findings if f.verdict is Verdict.CLEAR]
    if not found:
        return
    if every:
        yield "CLEAR, AND NEAR OR ASKED FOR"
        for finding in found:
            yield from wrapped(finding.says, "   - ", "     ")
            yield from _sampled(drawn.get(finding), "     ")
    else:
        near = sorted(found, key=lambda f: (f.gap_mm - f.needs_mm, f.says))
        yield f"CLEAR: {len(found)} near or asked-for (--all lists them); the closest:"
        for finding in near[:3]:
            yield from wrapped(finding.says, "   - ", "     ")
    yield ""


def measured(measure: Measure, value: float) -> str:
    """A value of a measure with its unit: mm bare, degrees with their sign.

    >>> measured(Measure("room.angles[0].inside", "angle", 88.0, 0.5, unit="deg"), 0.5)
    '0.5°'
    """
    return f"{value:.2f}".rstrip("0").rstrip(".") + "°" if measure.unit == "deg" else mm(value)


def wrapped(words: str, first: str, rest: str) -> list[str]:
    """Lines of at most 98 letters, the first and the rest each with its own indent."""
    return textwrap.wrap(
        words, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
