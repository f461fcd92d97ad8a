"""What of a layout is known from the one it came of by a move? Two layouts in, what stays out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Floats
from massing.scheme.extents import Extents, extents_of
from massing.scheme.layout import Layout

__all__ = ["Move", "as_before", "asked_about", "may_matter", "move_of", "remember_move", "without"]

Thing = TypeVar("Thing")
Known = TypeVar("Known")
Held = TypeVar("Held", bound=tuple[Any, ...])
"""Something of an item, the item first."""


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """How a layout came of another: the layout before, the names of what moved, and by what.

    by : (3,) mm, or (worlds, 3)
    """

    before: Layout
    names: frozenset[str]
    by: Floats


def remember_move(moved: Layout, move: Move) -> None:
    """Keep with a layout what it came of, and the bounds that are known from before.

    The bounds of what is moved are those from before and the move: least and greatest of sums
    with one number are the sums of the least and greatest, to the last bit.
    """
    moved.kept("move", lambda _: move)
    moved.kept("extents", lambda layout: _extents(layout, move))


def move_of(layout: Layout) -> Move | None:
    """How a layout came of another; None where that is not known."""
    found: Move | None = layout.kept("move", lambda _: None)
    return found


def _extents(layout: Layout, move: Move) -> Extents:
    old = extents_of(move.before)
    by = np.broadcast_to(np.asarray(move.by, dtype=np.float64), (len(old.low), 3))[:, None]
    low, high = old.low.copy(), old.high.copy()
    solids = list(old.solids)
    for number, item in enumerate(layout.items):
        if item.name in move.names:
            own = old.parts(number)
            low[:, own] += by
            high[:, own] += by
            solids[own] = [part.solid for part in item.parts]
    least, most = low.min(axis=0), high.max(axis=0)
    return Extents(tuple(solids), old.owner, old.first, low, high, least, most)


def as_before(
    layout: Layout,
    key: object,
    listed: Callable[[Layout], Sequence[Thing]],
    make: Callable[[Layout, list[Thing]], Sequence[Known]],
) -> dict[Thing, Known]:
    """What is known of each thing of a layout by that key, taken over from before its move.

    listed : the things of a layout; what is the same object as before is as it was
    make : what is known of some of them, in the same order; it may depend on the room besides
    """

    def made(layout: Layout) -> dict[Thing, Known]:
        things, move = listed(layout), move_of(layout)
        held = {} if move is None else as_before(move.before, key, listed, make)
        anew = [thing for thing in things if thing not in held]
        fresh = dict(zip(anew, make(layout, anew), strict=True))
        return {thing: held[thing] if thing in held else fresh[thing] for thing in things}

    return layout.kept(key, made)


def may_matter(
    layout: Layout, focus: frozenset[str] | None, low: Floats, high: Floats
) -> NDArray[np.bool_]:
    """(n,) whether what is in focus comes into bounds (n, k) to (n, k), now or before its move.

    k is 2 for plan bounds, 3 for solid ones. Without a focus all do.
    """
    if focus is None:
        return np.ones(len(low), dtype=bool)
    move, axes = move_of(layout), low.shape[1]
    found = np.zeros(len(low), dtype=bool)
    for held in (layout,) if move is None else (layout, move.before):
        least, most = (each[:, :axes] for each in _bounds_of(held, focus))
        meets = np.all((least[None] < high[:, None]) & (most[None] > low[:, None]), axis=2)
        found |= np.any(meets, axis=1)
    return found


def _bounds_of(layout: Layout, names: frozenset[str]) -> tuple[Floats, Floats]:
    """Bounds of all parts of some things over every world, (parts, 3) each."""

    def made(layout: Layout) -> tuple[Floats, Floats]:
        parts = extents_of(layout)
        mine = np.array([item.name in names for item in layout.items], dtype=bool)[parts.owner]
        return parts.least[mine], parts.most[mine]

    return layout.kept(("bounds of", names), made)


def asked_about(
    layout: Layout,
    focus: frozenset[str] | None,
    held: list[Held],
    points: Callable[[Held], Floats],
    far: Callable[[Held], float] = lambda _: 0.0,
) -> list[Held]:
    """What of many items is asked about: all, or what those in focus have and what they come near.

    points : what is near which, (worlds, n, k) mm; far : how much further that reaches, mm
    """
    if focus is None or not held:
        return held
    reach = np.array([far(each) for each in held])[:, None]
    corners = [points(each) for each in held]
    low = np.array([each.min(axis=(0, 1)) for each in corners]) - reach
    high = np.array([each.max(axis=(0, 1)) for each in corners]) + reach
    near = may_matter(layout, focus, low, high).tolist()
    return [each for each, may in zip(held, near, strict=True) if may or each[0].name in focus]


def without(layout: Layout, names: frozenset[str]) -> Layout:
    """The layout without some things, made once for it."""
    key = ("without", names)
    return layout.kept(
        key,
        lambda layout: replace(
            layout, items=tuple(item for item in layout.items if item.name not in names)
        ),
    )
