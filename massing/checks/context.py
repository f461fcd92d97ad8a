"""What every check is handed: the layout, the rules, how far to look, and what moved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from massing.checks.rules import Rules
from massing.geometry.gaps import Gaps, candidate_pairs_between, signed_gaps
from massing.geometry.solids import Convex, Floats, Ints
from massing.scheme.layout import Layout, Placed

__all__ = ["Context", "Group", "Meeting", "meetings"]


_COMPILED_FROM = 400  # worlds; below it loading the compiled kernel costs more than it saves


@dataclass(frozen=True, slots=True, eq=False)
class Context:
    """One run of the checks.

    reach : mm; pairs further apart than this in every world are not looked at
    focus : names of the items whose readings are wanted, or None for all
    nudges : whether details are to say which moves would clear a finding
    """

    layout: Layout
    rules: Rules
    reach: float
    focus: frozenset[str] | None = None
    nudges: bool = True

    def wanted(self, *names: str) -> bool:
        """Whether a reading of these items is wanted."""
        return self.focus is None or any(name in self.focus for name in names)

    @property
    def items(self) -> tuple[Placed, ...]:
        """The items whose own readings are wanted."""
        if self.focus is None:
            return self.layout.items
        return tuple(item for item in self.layout.items if item.name in self.focus)


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Convex solids that count as one thing."""

    name: str
    solids: tuple[Convex, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Meeting:
    """Two groups that come near: the least gap of their parts in every world.

    gap : (worlds,) mm; normal : (3,) from first to second and at : (3,) in the nominal world
    """

    first: Group
    second: Group
    gap: Floats
    normal: Floats
    at: Floats


def meetings(
    firsts: list[Group], seconds: list[Group], reach: float, *, same: bool = False
) -> Iterator[Meeting]:
    """Every pair of groups whose parts come within reach, first by first.

    same : both lists are one and the same, so each pair is looked at once and none with itself
    """
    a, owner_a = _flat(firsts)
    b, owner_b = _flat(seconds)
    if not a or not b:
        return
    pairs = candidate_pairs_between(a, b, reach)
    first, second = owner_a[pairs[:, 0]], owner_b[pairs[:, 1]]
    keep = first < second if same else np.ones(len(pairs), dtype=bool)
    if not keep.any():
        return
    pairs, first, second = pairs[keep], first[keep], second[keep]
    gaps = _measured([*a, *b], pairs + np.array([0, len(a)]))
    keys = first * (len(seconds) + 1) + second
    for key in np.unique(keys):
        rows = np.flatnonzero(keys == key)
        yield _met(firsts[first[rows[0]]], seconds[second[rows[0]]], gaps, rows)


def _measured(solids: list[Convex], pairs: Ints) -> Gaps:
    """Signed gaps, compiled where there are worlds enough to pay for loading it."""
    if max(solid.worlds for solid in solids) < _COMPILED_FROM:
        return signed_gaps(solids, pairs)
    from massing.geometry.compiled import signed_gaps_compiled

    return signed_gaps_compiled(solids, pairs)


def _flat(groups: list[Group]) -> tuple[list[Convex], Ints]:
    solids = [solid for group in groups for solid in group.solids]
    owners = [number for number, group in enumerate(groups) for _ in group.solids]
    return solids, np.array(owners, dtype=np.int64)


def _met(first: Group, second: Group, gaps: Gaps, rows: Ints) -> Meeting:
    part = gaps.gap[:, rows]
    tightest = rows[int(np.argmin(part[0]))]
    return Meeting(first, second, part.min(axis=1), gaps.normal[0, tightest], gaps.at[0, tightest])
