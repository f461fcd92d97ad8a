"""How the report words things: verdicts, signs, odds and places, each in one way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from massing.checks.finding import Finding, Verdict
from massing.checks.words import mm

__all__ = [
    "VERDICT_WORDS",
    "and_list",
    "count",
    "counts",
    "gap_words",
    "numbered",
    "odds",
    "opening_sentence",
]

VERDICT_WORDS = {
    Verdict.CONFLICT: "Conflict",
    Verdict.REMEASURE: "Re-measure",
    Verdict.CAUTION: "Caution",
    Verdict.CLEAR: "Clear",
}
_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def numbered(findings: Iterable[Finding]) -> list[tuple[int, Finding]]:
    """Everything that is not clear, with the number the check prints beside it."""
    kept = (finding for finding in findings if finding.verdict is not Verdict.CLEAR)
    return list(enumerate(kept, 1))


def counts(findings: Iterable[Finding]) -> dict[Verdict, int]:
    """How many findings of each verdict."""
    kinds = [finding.verdict for finding in findings]
    return {verdict: kinds.count(verdict) for verdict in Verdict}


def count(number: int, one: str, many: str | None = None) -> str:
    """A number and its noun, in words up to ten.

    >>> count(1, "conflict"), count(0, "caution"), count(12, "stud")
    ('one conflict', 'no cautions', '12 studs')
    """
    told = _SMALL[number] if number < len(_SMALL) else str(number)
    return f"{told} {one if number == 1 else many or one + 's'}"


def and_list(words: Sequence[str]) -> str:
    """Words in a row.

    >>> and_list(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def odds(chance: float) -> str:
    """A probability as a reader takes it.

    >>> odds(0.88), odds(1.0), odds(0.99999), odds(0.0)
    ('88 %', '100 %', 'over 99.9 %', '0 %')
    """
    if chance > 0.9995:
        return "100 %" if chance == 1.0 else "over 99.9 %"
    if chance < 0.0005:
        return "0 %" if chance == 0.0 else "under 0.1 %"
    return f"{100 * chance:.0f} %"


def gap_words(finding: Finding) -> str:
    """What was measured, with its likely ±.

    Empty for a finding that is not of a size.
    """
    unit = {"mm": " mm", "deg": "°", "%": " %"}.get(finding.unit)
    if unit is None:
        return ""
    told = f"{mm(finding.gap_mm)}{unit}".replace("-", "−")
    if finding.plus_minus_mm > 0.05:
        told += f" ± {mm(finding.plus_minus_mm)}"
    return told


def opening_sentence(findings: Iterable[Finding]) -> str:
    """The verdict on the scheme in one sentence."""
    held = counts(findings)
    conflicts, tape = held[Verdict.CONFLICT], held[Verdict.REMEASURE]
    cautions = held[Verdict.CAUTION]
    look = f", with {count(cautions, 'caution')} to read first" if cautions else ""
    if conflicts and tape:
        waits = "hangs" if tape == 1 else "hang"
        return (
            f"This scheme does not work yet: {count(conflicts, 'conflict')} to resolve, and "
            f"{count(tape, 'verdict')} that {waits} on the tape."
        )
    if conflicts:
        also = f", and {count(cautions, 'caution')} to read" if cautions else ""
        return f"This scheme does not work yet: {count(conflicts, 'conflict')} to resolve{also}."
    if tape:
        waits = "it hangs" if tape == 1 else "they hang"
        return (
            f"Nothing conflicts as measured, but {count(tape, 'verdict')} cannot be given: "
            f"{waits} on the tape{look}."
        )
    return f"Everything fits, at the worst of every measurement{look}."
