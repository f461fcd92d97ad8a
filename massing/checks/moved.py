"""What of a layout is known from the one it came of by a move? Two layouts in, what stays out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from massing.geometry.solids import Floats
from massing.scheme.extents import Extents, extents_of
from massing.scheme.layout import Layout

__all__ = ["Move", "move_of", "remember_move", "without"]


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


def without(layout: Layout, names: frozenset[str]) -> Layout:
    """The layout without some things, made once for it."""
    key = ("without", names)
    return layout.kept(
        key,
        lambda layout: replace(
            layout, items=tuple(item for item in layout.items if item.name not in names)
        ),
    )
