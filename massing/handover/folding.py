"""Which findings have one cause and are told together? Findings in, folds of numbered ones out.

Each keeps its number and its words; what they share (the rule, the closing words, the move that
clears them) need be written only once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from massing.checks.finding import Finding, Nudge, Verdict

__all__ = ["Fold", "folds"]

_BREAKS = ("; ", ", ", ": ")
# What was measured stays with what it was measured of, though another measures the same.
_MEASURED = re.compile(r"[0-9()]")
_ASKED = re.compile(r"[0-9.]+ asked for")


@dataclass(frozen=True, slots=True)
class Fold:
    """Findings of one verdict and one check that are told together, in their order.

    members : each with the number the check prints beside it
    """

    members: tuple[tuple[int, Finding], ...]

    @property
    def lead(self) -> Finding:
        """The first of them, which has the verdict, the check and the source of all."""
        return self.members[0][1]

    @property
    def nudge(self) -> Nudge | None:
        """The one move that clears every one of them; None where there is no such move."""
        moves = {finding.nudge for _, finding in self.members}
        return self.lead.nudge if len(moves) == 1 else None

    @property
    def tail(self) -> str:
        """The closing words all of them share, without what goes before; empty for one alone.

        >>> def caution(says):
        ...     return Finding(
        ...         check="load", verdict=Verdict.CAUTION, items=("a",), gap_mm=0.0, needs_mm=0.0,
        ...         plus_minus_mm=0.0, worst_mm=0.0, best_mm=0.0, chance_clear=1.0, says=says,
        ...     )
        >>> one, other = caution("a: 2 kg, have it checked"), caution("b: 3 kg, have it checked")
        >>> fold = Fold(((1, one), (2, other)))
        >>> fold.tail, fold.says(other)
        ('have it checked', 'b: 3 kg')
        """
        return self._shared().lstrip(";,: ")

    def says(self, finding: Finding) -> str:
        """A member's own words, without the closing words it shares with the others."""
        return finding.says.removesuffix(self._shared())

    def _shared(self) -> str:
        first, *others = (finding.says for _, finding in self.members)
        if not others:
            return ""
        starts = (k for k in range(1, len(first)) if first[k:].startswith(_BREAKS))
        tails = (first[k:] for k in starts if not _MEASURED.search(_ASKED.sub("", first[k:])))
        return next((tail for tail in tails if all(o.endswith(tail) for o in others)), "")


def folds(findings: Iterable[Finding]) -> tuple[Fold, ...]:
    """All that is not clear, folded, in the order of each fold's first number."""
    held: dict[tuple[object, ...], list[tuple[int, Finding]]] = {}
    told = (finding for finding in findings if finding.verdict is not Verdict.CLEAR)
    for number, finding in enumerate(told, 1):
        held.setdefault(_cause(number, finding), []).append((number, finding))
    return tuple(Fold(tuple(members)) for members in held.values())


def _cause(number: int, finding: Finding) -> tuple[object, ...]:
    """What findings must have alike to be told together.

    Cautions ask the same second look wherever they lie. A conflict belongs with another that the
    same move clears, or that stops the same moving part; a verdict the tape decides with those
    that hang on the same sizes.
    """
    rule = (finding.verdict, finding.check, finding.source, finding.unit)
    match finding.verdict:
        case Verdict.CAUTION:
            return rule
        case Verdict.REMEASURE if finding.turns_on:
            return (*rule, frozenset(name for name, _ in finding.turns_on[:3]))
        case Verdict.CONFLICT if finding.reaches is not None:
            return (*rule, finding.items[0])
        case Verdict.CONFLICT if finding.nudge is not None:
            return (*rule, finding.nudge)
    return (*rule, number)
