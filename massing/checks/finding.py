"""What a check answers with: readings in every world, and the findings made of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from massing.geometry.solids import Floats

__all__ = ["Detail", "Finding", "Nudge", "Push", "Reading", "Verdict"]


class Verdict(StrEnum):
    """How a finding stands, the gravest first.

    conflict : fails even at the best case; remeasure : the tape decides;
    caution : allowed, and worth a second look; clear : passes even at the worst case
    """

    CONFLICT = "conflict"
    REMEASURE = "re-measure"
    CAUTION = "caution"
    CLEAR = "clear"


@dataclass(frozen=True, slots=True)
class Push:
    """A move that would clear a finding on its own: which item, by what, mm."""

    item: str
    by: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Nudge:
    """The smallest move found that clears a finding.

    starts : what it would set off in turn, in words; empty when the move is free
    """

    item: str
    by_mm: tuple[float, float, float]
    starts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail:
    """What is worth saying of a reading, worked out only for those that are reported."""

    says: str
    at: tuple[float, float, float] | None = None
    overlap_l: float | None = None
    area_m2: float | None = None
    reaches: float | None = None
    of: float | None = None
    pushes: tuple[Push, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """One thing measured in every world.

    gap : (worlds,) signed, mm unless ``unit`` says otherwise; passes where gap >= needs
    weight : the verdict when it fails: CONFLICT, or CAUTION for what is only worth a look
    touching : the two are meant to touch (a stack, a wall they stand against): contact is no news
    noted : report it although it is clear (an allowed sharing, a height that was asked for)
    firm : the project file cannot accept it
    reach : the gap is how far something moves, from nothing to its whole travel
    """

    check: str
    items: tuple[str, ...]
    gap: Floats
    detail: Callable[[], Detail]
    needs: float = 0.0
    unit: str = "mm"
    weight: Verdict = Verdict.CONFLICT
    touching: bool = False
    noted: bool = False
    firm: bool = False
    reach: bool = False
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What is reported. Lengths in mm; gap is signed, needs what it must be at least.

    plus_minus_mm : expanded uncertainty of the gap (k = 2); worst_mm, best_mm : its extremes, of
        a reach held between nothing and its whole travel
    summed_mm : both extremes as the shares add up, where holding them changed one
    chance_clear : probability that the gap is enough, 0..1
    turns_on : the measures the gap depends on, most weighty first, each with its share in mm
    linear : the gap is straight in every measure; where it is not, the odds are first-order only
    """

    check: str
    verdict: Verdict
    items: tuple[str, ...]
    gap_mm: float
    needs_mm: float
    plus_minus_mm: float
    worst_mm: float
    best_mm: float
    chance_clear: float
    says: str
    unit: str = "mm"
    at_mm: tuple[float, float, float] | None = None
    overlap_l: float | None = None
    area_m2: float | None = None
    reaches: float | None = None
    of: float | None = None
    nudge: Nudge | None = None
    source: str = ""
    turns_on: tuple[tuple[str, float], ...] = field(default=())
    linear: bool = True
    summed_mm: tuple[float, float] | None = None
