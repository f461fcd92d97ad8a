"""Which of a layout's lists are as before a move? A moved layout in, lists kept with it out.

Bodies, fabric, all that is ahead and all that moves: of what stands where it stood they are the
very same objects as before.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from massing.checks.ahead import Thing, things_in
from massing.checks.context import bodies_of, body_group, fabric_of
from massing.checks.motions import Mover, item_movers
from massing.checks.moved import Move
from massing.scheme.extents import extents_of
from massing.scheme.layout import Layout

__all__ = ["keep_unmoved"]


def keep_unmoved(moved: Layout, move: Move) -> None:
    """Keep with a layout what the checks would list of it, taken over but for what is moved."""
    before, names = move.before, move.names
    pairs = list(zip(bodies_of(before), moved.items, strict=True))
    bodies = tuple(body_group(item) if item.name in names else old for old, item in pairs)
    moved.kept("bodies", lambda _: bodies)
    moved.kept("fabric", lambda _: fabric_of(before))
    movers = _movers(moved, move)
    moved.kept("movers", lambda _: movers)
    old, own = things_in(before), extents_of(moved)
    every = list(old.every)
    for number, item in enumerate(moved.items):
        if item.name in names:
            solids = tuple(part.solid for part in item.parts)
            every[number] = Thing(item.name, item.name, solids, item)
    count = len(own.solids)
    things = replace(
        old,
        every=tuple(every),
        solids=(*own.solids, *old.solids[count:]),
        least=np.concatenate([own.least, old.least[count:]]),
        most=np.concatenate([own.most, old.most[count:]]),
    )
    moved.kept("things ahead", lambda _: things)


def _movers(moved: Layout, move: Move) -> tuple[Mover, ...]:
    """All that moves: anew of what is moved, and of what carries it when it rises."""
    old = item_movers(move.before)
    anew = {mover.owner for mover in old if mover.owner in move.names or mover.free & move.names}
    if not anew:
        return old
    with_all = anew.union(*(mover.free for mover in old if mover.owner in anew))
    some = replace(moved, items=tuple(item for item in moved.items if item.name in with_all))
    found = iter([mover for mover in item_movers(some) if mover.owner in anew])
    return tuple(next(found) if mover.owner in anew else mover for mover in old)
