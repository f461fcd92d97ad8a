"""What is there to settle? A checked scheme's findings in, topics in plain words out."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.checks.words import mm, move_words
from massing.handover.ifc.guid import uuid_of

__all__ = ["PRIORITIES", "TYPES", "Topic", "topics"]

TYPES = {
    Verdict.CONFLICT: "Conflict",
    Verdict.REMEASURE: "Re-measure",
    Verdict.CAUTION: "Caution",
}
PRIORITIES = {
    Verdict.CONFLICT: "High",
    Verdict.REMEASURE: "Normal",
    Verdict.CAUTION: "Low",
}


@dataclass(frozen=True, slots=True)
class Topic:
    """One finding as an issue.

    number : as the check numbers it, from 1
    guid : made of project, scheme, check and items, so that the same finding keeps it
    """

    number: int
    guid: UUID
    finding: Finding
    title: str
    description: str


def topics(answer: Answer) -> tuple[Topic, ...]:
    """One topic a finding that is not clear, in the check's own order."""
    wanted = [finding for finding in answer.findings if finding.verdict in TYPES]
    labels = {measure.key: measure.label for measure in answer.measures}
    return tuple(
        Topic(
            number,
            uuid_of(
                answer.project.name, "topic", answer.layout.name, finding.check, *finding.items
            ),
            finding,
            finding.says,
            "\n".join(_lines(finding, labels)),
        )
        for number, finding in enumerate(wanted, 1)
    )


def _lines(finding: Finding, labels: dict[str, str]) -> list[str]:
    """The finding said in full, a fact a line."""
    unit = {"deg": "°", "%": " %", "mm": " mm"}.get(finding.unit, "")
    lines = [f"{finding.says}."]
    if finding.unit:
        lines.append(f"Gap {mm(finding.gap_mm)}{unit}, needs {mm(finding.needs_mm)}{unit}.")
    if finding.plus_minus_mm > 0.05:
        lines.append(
            f"±{mm(finding.plus_minus_mm)}{unit}: {mm(finding.worst_mm)}{unit} at worst, "
            f"{mm(finding.best_mm)}{unit} at best; chance clear "
            f"{100.0 * finding.chance_clear:.0f} %."
        )
    if finding.turns_on:
        lines.append(f"Hangs on {', '.join(labels.get(n, n) for n, _ in finding.turns_on[:3])}.")
    nudge = finding.nudge
    if nudge is not None:
        starts = f", but starts: {'; '.join(nudge.starts)}" if nudge.starts else ""
        lines.append(f"Moving {nudge.item} {move_words(nudge.by_mm)} clears it{starts}.")
    if finding.source:
        lines.append(f"Source: {finding.source}")
    return lines
