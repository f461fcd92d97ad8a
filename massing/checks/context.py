"""What every check is handed: the layout, the rules, how far to look, and what moved."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from massing.checks.rules import Rules
from massing.geometry.gaps.asked import Gaps
from massing.geometry.gaps.candidates import bounds, candidate_pairs_between
from massing.geometry.gaps.often import gaps_alongside
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import EXACT, TOUCH
from massing.scheme.layout import Layout, Placed

__all__ = [
    "Context",
    "Group",
    "Meeting",
    "bodies_of",
    "body_group",
    "fabric_of",
    "meetings",
    "near_pairs",
    "things_of",
]


_SQUARE = 1 << 15  # pairs of parts; up to so many it is quicker to look at each than to sort
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
        return self.focus is None or not self.focus.isdisjoint(names)

    @property
    def items(self) -> tuple[Placed, ...]:
        """The items whose own readings are wanted."""
        if self.focus is None:
            return self.layout.items
        return tuple(item for item in self.layout.items if item.name in self.focus)

    @property
    def bodies(self) -> list[Group]:
        """The bodies of these items."""
        return [group for group in bodies_of(self.layout) if self.wanted(group.name)]


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Convex solids that count as one thing."""

    name: str
    solids: tuple[Convex, ...]


def body_group(item: Placed) -> Group:
    """The item's body as one thing."""
    return Group(item.name, tuple(part.solid for part in item.parts))


def bodies_of(layout: Layout) -> tuple[Group, ...]:
    """The body of every item as one thing, the same objects whenever asked."""
    return layout.kept("bodies", lambda layout: tuple(map(body_group, layout.items)))


def fabric_of(layout: Layout) -> tuple[Group, ...]:
    """Every beam, breast and partition as one thing, the same objects whenever asked."""
    return layout.kept(
        "fabric", lambda layout: tuple(Group(f.name, f.parts) for f in layout.room.fabric)
    )


def things_of(layout: Layout) -> list[Group]:
    """All that is solid in the room: the bodies of its items, then its fabric."""
    return [*bodies_of(layout), *fabric_of(layout)]


@dataclass(frozen=True, slots=True, eq=False)
class Meeting:
    """Two groups that come near: the least gap of their parts in every world.

    gap : (worlds,) mm; normal : (3,) from first to second and at : (3,) in the nominal world
    numbers : their places in the lists asked about
    """

    first: Group
    second: Group
    gap: Floats
    normal: Floats
    at: Floats
    numbers: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True, eq=False)
class _Parts:
    """The parts of some groups one after the other: whose each is, and its bounds (parts, 3).

    worlds : the most that any of them has
    """

    solids: list[Convex]
    owner: Ints
    worlds: int
    low: Floats
    high: Floats


@lru_cache(maxsize=6)
def _parts(groups: tuple[Group, ...]) -> _Parts:
    solids = [solid for group in groups for solid in group.solids]
    owners = [number for number, group in enumerate(groups) for _ in group.solids]
    worlds = max((solid.worlds for solid in solids), default=1)
    return _Parts(solids, np.array(owners, dtype=np.int64), worlds, *bounds(solids))


def meetings(
    firsts: list[Group],
    seconds: list[Group],
    reach: float,
    *,
    same: bool = False,
    wanted: Callable[[int, int], bool] | None = None,
) -> Iterator[Meeting]:
    """Every pair of groups whose parts come within reach, first by first.

    With no reach at all it is those whose bounds overlap by more than a touch: what only touches
    is no news to such a question.
    same : both lists are one and the same, so each pair is looked at once and none with itself
    wanted : whether two groups, by their numbers, are to be measured at all
    """
    if same and len(firsts) < 2:
        return
    a, b = _parts(tuple(firsts)), _parts(tuple(seconds))
    if not a.solids or not b.solids:
        return
    if reach <= 0.0 and not _meet_at_all(a, b):
        return
    pairs = _near(a, b, reach)
    first, second = a.owner[pairs[:, 0]], b.owner[pairs[:, 1]]
    keep = first < second if same else np.ones(len(pairs), dtype=bool)
    if wanted is not None:
        asked = zip(first.tolist(), second.tolist(), strict=True)
        keep &= np.fromiter((wanted(i, j) for i, j in asked), dtype=bool, count=len(pairs))
    if not keep.any():
        return
    if reach <= 0.0:
        keep &= _some_overlap(a, b, pairs, first * len(seconds) + second)
        if not keep.any():
            return
    pairs, first, second = pairs[keep], first[keep], second[keep]
    gaps = _measured(a, b, pairs)
    keys = first * (len(seconds) + 1) + second
    order = np.argsort(keys, kind="stable")
    starts = np.flatnonzero(np.diff(keys[order], prepend=-1))
    for rows in np.split(order, starts[1:]):
        i, j = int(first[rows[0]]), int(second[rows[0]])
        yield _met((firsts[i], seconds[j]), gaps, rows, (i, j))


def _meet_at_all(a: _Parts, b: _Parts) -> bool:
    """Whether any bounds of the one overlap those of all the other together by a touch."""
    low, high = b.low.min(axis=0) + TOUCH, b.high.max(axis=0) - TOUCH
    return bool(((a.low < high) & (a.high > low)).all(axis=1).any())


def _some_overlap(a: _Parts, b: _Parts, pairs: Ints, groups: Ints) -> NDArray[np.bool_]:
    """Which pairs of parts are of two groups that have parts whose bounds overlap by a touch."""
    i, j = pairs[:, 0], pairs[:, 1]
    apart = np.maximum(a.low[i] - b.high[j], b.low[j] - a.high[i]).max(axis=1)
    return np.isin(groups, groups[apart < -TOUCH])


def near_pairs(
    firsts: list[Group], seconds: list[Group], reach: float, wanted: Callable[[int, int], bool]
) -> list[tuple[int, int]]:
    """Numbers of the groups whose bounds come within reach, by the second and then the first."""
    a, b = _parts(tuple(firsts)), _parts(tuple(seconds))
    pairs = _near(a, b, reach)
    found = zip(b.owner[pairs[:, 1]].tolist(), a.owner[pairs[:, 0]].tolist(), strict=True)
    return [(first, second) for second, first in sorted(set(found)) if wanted(first, second)]


def _near(a: _Parts, b: _Parts, reach: float) -> Ints:
    """(m, 2) numbers of parts whose bounds come within reach, in order."""
    if len(a.solids) * len(b.solids) > _SQUARE:
        return candidate_pairs_between(a.solids, b.solids, reach)
    apart = np.maximum(a.low[:, None] - b.high[None], b.low[None] - a.high[:, None])
    apart = np.maximum(apart, 0.0)
    far = reach + EXACT
    return np.argwhere((apart * apart).sum(axis=2) <= far * far)


def _measured(a: _Parts, b: _Parts, pairs: Ints) -> Gaps:
    """Signed gaps, compiled where there are worlds enough to pay for loading it."""
    solids, numbers = [*a.solids, *b.solids], pairs + np.array([0, len(a.solids)])
    if max(a.worlds, b.worlds) < _COMPILED_FROM:
        return gaps_alongside(solids, numbers)
    from massing.geometry.gaps.compiled import signed_gaps_compiled

    return signed_gaps_compiled(solids, numbers)


def _met(groups: tuple[Group, Group], gaps: Gaps, rows: Ints, numbers: tuple[int, int]) -> Meeting:
    part = gaps.gap[:, rows]
    tightest = rows[int(np.argmin(part[0]))]
    normal, at = gaps.normal[0, tightest], gaps.at[0, tightest]
    return Meeting(*groups, part.min(axis=1), normal, at, numbers)
