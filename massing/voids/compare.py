"""What one scheme gains and gives up against another: two checked schemes in, a comparison out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Placed
from massing.voids.open_floor import Circle, Rectangle, largest_rectangle, open_circle
from massing.voids.store import store_by_reach
from massing.voids.tally import tally

__all__ = ["Comparison", "Facts", "Move", "Turned", "compare", "facts_of"]

HEADROOM = 2000.0  # mm; what starts lower than this stands in the way


@dataclass(frozen=True, slots=True)
class Facts:
    """What one scheme makes of its room, nominal world.

    obstructed : floor under bodies that start below 2000 above it, mm²
    standing : floor with 2000 over it and nothing in the way, mm²
    circle, rectangle : the largest of each on that floor
    store : volume of what stores by reach band, mm³
    """

    scheme: str
    obstructed: float
    standing: float
    circle: Circle
    rectangle: Rectangle
    store: tuple[float, ...]
    conflicts: int
    remeasure: int
    cautions: int


@dataclass(frozen=True, slots=True)
class Move:
    """An item in both schemes that is not in the same place: by how much, mm and degrees."""

    name: str
    by: tuple[float, float, float]
    turned_deg: float


@dataclass(frozen=True, slots=True)
class Turned:
    """A finding of both schemes whose verdict is another."""

    before: Finding
    after: Finding


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two schemes side by side.

    freed : floor no longer obstructed, mm², negative when more is obstructed
    coming, going : names of items only in the second or only in the first, in their own order
    gained, lost : findings that are not clear, only in the second or only in the first
    """

    before: Facts
    after: Facts
    freed: float
    coming: tuple[str, ...]
    going: tuple[str, ...]
    moved: tuple[Move, ...]
    gained: tuple[Finding, ...]
    lost: tuple[Finding, ...]
    turned: tuple[Turned, ...]


def facts_of(answer: Answer) -> Facts:
    """What a checked scheme makes of its room."""
    counted = tally(answer.layout)
    kinds = [finding.verdict for finding in answer.findings]
    return Facts(
        scheme=answer.layout.name,
        obstructed=counted.obstructed_m2 * 1e6,
        standing=counted.standing_m2 * 1e6,
        circle=open_circle(answer.layout, HEADROOM),
        rectangle=largest_rectangle(answer.layout, HEADROOM),
        store=store_by_reach(answer.layout),
        conflicts=kinds.count(Verdict.CONFLICT),
        remeasure=kinds.count(Verdict.REMEASURE),
        cautions=kinds.count(Verdict.CAUTION),
    )


def compare(before: Answer, after: Answer) -> Comparison:
    """Set two checked schemes side by side."""
    first, second = facts_of(before), facts_of(after)
    old = {item.name: item for item in before.layout.items}
    new = {item.name: item for item in after.layout.items}
    held, found = _telling(before), _telling(after)
    moves = (_move(old[name], item) for name, item in new.items() if name in old)
    return Comparison(
        before=first,
        after=second,
        freed=first.obstructed - second.obstructed,
        coming=tuple(name for name in new if name not in old),
        going=tuple(name for name in old if name not in new),
        moved=tuple(move for move in moves if move is not None),
        gained=tuple(f for key, f in found.items() if key not in held),
        lost=tuple(f for key, f in held.items() if key not in found),
        turned=tuple(
            Turned(held[key], f)
            for key, f in found.items()
            if key in held and held[key].verdict is not f.verdict
        ),
    )


def _telling(answer: Answer) -> dict[tuple[str, frozenset[str]], Finding]:
    """Findings that are not clear, by what they are about."""
    return {
        (f.check, frozenset(f.items)): f for f in answer.findings if f.verdict is not Verdict.CLEAR
    }


def _move(old: Placed, new: Placed) -> Move | None:
    """How an item moved: the middle of its body, and its turn; None when it did not."""
    by = (new.low[0] + new.high[0] - old.low[0] - old.high[0]) / 2.0
    angle = float(np.degrees(np.remainder(new.yaw[0] - old.yaw[0] + np.pi, 2 * np.pi) - np.pi))
    angle = 0.0 if abs(angle) < 1e-6 else 180.0 if abs(angle + 180.0) < 1e-6 else angle
    if float(np.abs(by).max()) <= TOUCH and not angle:
        return None
    x, y, z = (round(float(v), 3) + 0.0 for v in by)
    return Move(new.name, (x, y, z), round(angle, 3) + 0.0)
