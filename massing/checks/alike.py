"""Which worlds are the same as far as some things go? Arrays in, world numbers out.

One unsure size moves few things. A question about one spot is put once for all the worlds in
which everything near it is where it was, to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np

from massing.geometry.solids import Floats, Ints
from massing.room.shape import Opening, Room, Wall
from massing.scheme.extents import bounds_by_world, extents_of
from massing.scheme.layout import Layout, Placed

__all__ = ["alike", "by_world", "item_arrays", "near_box", "opening_arrays", "room_arrays"]


def alike(worlds: int, arrays: Iterable[Floats]) -> Ints:
    """(worlds,) for each world the first in which all the arrays are the same.

    arrays : (worlds, ...) or (1, ...), which is the same in all

    >>> alike(4, [np.array([1.0, 2.0, 1.0, 2.0]), np.zeros((1, 3))]).tolist()
    [0, 1, 0, 1]
    """
    rows = [each.reshape(worlds, -1) for each in arrays if len(each) == worlds > 1]
    if not rows:
        return np.zeros(worlds, dtype=np.int64)
    table = np.ascontiguousarray(np.concatenate(rows, axis=1, dtype=np.float64))
    first: dict[bytes, int] = {}
    return np.array([first.setdefault(table[w].tobytes(), w) for w in range(worlds)])


def by_world(same: Ints, answer: Callable[[int], float]) -> Floats:
    """(worlds,) an answer for every world, asked once of each kind."""
    found = {world: answer(world) for world in sorted(set(same.tolist()))}
    return np.array([found[int(world)] for world in same])


def item_arrays(items: Iterable[Placed]) -> Iterator[Floats]:
    """What says where some items are."""
    for item in items:
        yield item.origin
        yield item.yaw
        yield item.low
        yield item.high
        for part in item.parts:
            yield part.solid.corners


def room_arrays(room: Room) -> Iterator[Floats]:
    """What says where the shell and the fabric of a room are."""
    for floor in room.floors:
        yield floor.polygon
        yield floor.level
    for ceiling in room.ceilings:
        yield ceiling.polygon
        yield ceiling.planes
    for piece in room.outside:
        yield piece.polygon
    for fabric in room.fabric:
        for solid in fabric.parts:
            yield solid.corners


def opening_arrays(opening: Opening, wall: Wall) -> Iterator[Floats]:
    """What says where an opening is."""
    yield from (opening.left, opening.width, opening.height, opening.sill)
    yield from (wall.left, wall.right, wall.along, wall.outward)


def near_box(layout: Layout, low: Floats, high: Floats) -> Layout:
    """The layout with only the items, fabric and outside that overlap a box, by bounds, anywhere.

    low, high : (3,) mm. Nothing else can come into the box.
    """
    parts = extents_of(layout)
    meets = ((parts.least < high) & (parts.most > low)).all(axis=1)
    kept = np.bincount(parts.owner[meets], minlength=len(layout.items)) > 0
    items = tuple(item for item, near in zip(layout.items, kept, strict=True) if near)
    fabric = layout.room.fabric
    solids = [solid for each in fabric for solid in each.parts]
    if solids:
        under, over = bounds_by_world(solids, layout.worlds)
        near = ((under.min(axis=0) < high) & (over.max(axis=0) > low)).all(axis=1)
        owner = np.repeat(np.arange(len(fabric)), [len(each.parts) for each in fabric])
        fabric = tuple(fabric[k] for k in sorted(set(owner[near].tolist())))
    outside = tuple(
        piece
        for piece in layout.room.outside
        if (piece.polygon.min(axis=(0, 1)) < high[:2]).all()
        and (piece.polygon.max(axis=(0, 1)) > low[:2]).all()
    )
    room = replace(layout.room, fabric=fabric, outside=outside)
    return replace(layout, items=items, room=room)
