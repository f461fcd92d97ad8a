"""Where to cut: a checked scheme in, a long and a cross section through what matters most out."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.checks.finding import Verdict
from massing.checks.run import Answer
from massing.geometry.solids import Floats
from massing.handover.drawings.facts import datum_of
from massing.handover.drawings.shapes import Facing

__all__ = ["Section", "sections_of"]

_TIGHT = 60.0
"""A finding this near to the plane is shown by it, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Section:
    """A cutting plane square to a room axis, looking ``view.away``."""

    letter: str
    axis: int
    at: float
    view: Facing

    @property
    def look(self) -> Floats:
        """(2,) the way it looks in plan."""
        return self.view.away[:2]

    def trace(self, low: Floats, high: Floats) -> tuple[Floats, Floats, Floats]:
        """Ends of the plane in plan, left of the picture first, and the way it looks."""
        ends = np.array([low, high])
        ends[:, self.axis] = self.at
        if self.view.right[1 - self.axis] < 0:
            ends = ends[::-1]
        return ends[0], ends[1], self.look


def sections_of(answer: Answer) -> tuple[Section, Section]:
    """A long and a cross section, each where most is cut or a finding is tight."""
    ring = answer.layout.room.outline[0]
    size = np.ptp(ring, axis=0)
    long = 1 if size[0] >= size[1] else 0
    return _best(answer, "A", long), _best(answer, "B", 1 - long)


def _best(answer: Answer, letter: str, axis: int) -> Section:
    """The plane square to an axis that cuts the most, clear of every face by a millimetre."""
    layout = answer.layout
    ring = layout.room.outline[0]
    low, high = float(ring[:, axis].min()), float(ring[:, axis].max())
    middle = (low + high) / 2.0
    tries = {round(middle, 1)}
    faces = [low, high]
    for item in layout.items:
        a, b = float(item.low[0, axis]), float(item.high[0, axis])
        faces += [a, b]
        tries |= {round((a + b) / 2, 1), round(a + 3, 1), round(b - 3, 1)}
    # A round figure from the datum is easier to find on site.
    zero = float(datum_of(layout.room)[axis])
    first, last = int((low - zero) // 50), int((high - zero) // 50)
    tries |= {zero + 50.0 * k for k in range(first, min(last, first + 2000) + 1)}
    at = [f.at_mm[axis] for f in answer.findings if f.at_mm and f.verdict is not Verdict.CLEAR]
    tries |= {round(v + d, 1) for v in at for d in (-3.0, 0.0, 3.0)}
    # Between two of these nothing comes or goes, so one try there is enough.
    edges = sorted({*faces, *(v + d for v in at for d in (-_TIGHT, _TIGHT))})
    tries |= {round((a + b) / 2.0, 1) for a, b in pairwise(edges)}
    inside = [
        t for t in sorted(tries) if low + 1 < t < high - 1 and all(abs(t - f) > 1.0 for f in faces)
    ] or [middle]
    best = max(
        inside,
        key=lambda t: (_worth(answer, axis, t), abs((t - zero) % 50) < 1e-6, -abs(t - middle), -t),
    )
    return Section(letter, axis, best, _view(answer, axis, best))


def _worth(answer: Answer, axis: int, at: float) -> float:
    held = {
        item.name
        for item in answer.layout.items
        if float(item.low[0, axis]) < at < float(item.high[0, axis])
    }
    tight = sum(
        1.5 if f.verdict is Verdict.CONFLICT else 1.0
        for f in answer.findings
        if f.verdict in {Verdict.CONFLICT, Verdict.REMEASURE}
        and f.at_mm is not None
        and abs(f.at_mm[axis] - at) <= _TIGHT
        and held & set(f.items)
    )
    return len(held) + tight


def _view(answer: Answer, axis: int, at: float) -> Facing:
    """Looking north or west, or the other way when more stands there."""
    before = sum(float(i.high[0, axis]) < at for i in answer.layout.items)
    after = sum(float(i.low[0, axis]) > at for i in answer.layout.items)
    ring = answer.layout.room.outline[0]
    up, zero = np.array([0.0, 0.0, 1.0]), np.zeros(3)
    zero[axis] = at
    usual = 1.0 if axis == 1 else -1.0
    sign = usual if (after >= before if usual > 0 else before >= after) else -usual
    away = np.zeros(3)
    away[axis] = sign
    right = np.cross(away, up)
    other = 1 - axis
    zero[other] = ring[:, other].min() if right[other] > 0 else ring[:, other].max()
    return Facing(right, up, away, zero)
