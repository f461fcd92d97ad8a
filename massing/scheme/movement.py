"""How far anything moves from its nominal place: a layout in many worlds in, mm a world out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.geometry.solids import Floats
from massing.room.shape import Room
from massing.scheme.layout import Layout

__all__ = ["most_moved", "movement"]


def movement(layout: Layout) -> Floats:
    """(worlds,) greatest displacement from world 0 of any corner of anything placed, mm.

    Bodies, zones, air, motions, door leaves, fabric and the room's own corners all count.
    """
    far = np.zeros(layout.worlds)
    for corners in _corners(layout):
        if corners.shape[0] > 1:
            moved = np.abs(corners - corners[:1])
            # The sum over the axes bounds the distance and needs no root.
            far = np.maximum(far, moved.sum(axis=-1).reshape(layout.worlds, -1).max(axis=1))
    return far


def most_moved(layout: Layout) -> float:
    """How far any one thing can be from its nominal place when every measure is off at once, mm.

    The worlds after the first come in twos, a measure at its least and at its greatest. The sum
    over the measures is taken thing by thing, so that one unsure item does not make all loose.
    The gap of two things is never off by more than twice this. Ceilings and floors count too.
    """
    if layout.worlds == 1:
        return 0.0
    every = (*_corners(layout), *_levels(layout.room))
    flat = np.zeros((1, 1))
    corners = [c if c.shape[2] == 3 else _lifted(c, flat) for c in every if c.shape[0] > 1]
    if not corners:
        return 0.0
    sizes = [each.shape[1] for each in corners]
    points = np.concatenate(corners, axis=1)
    far = np.abs(points - points[:1]).sum(axis=-1)
    each = np.maximum.reduceat(far, np.cumsum([0, *sizes[:-1]]), axis=1)
    return float(each[1:].reshape(-1, 2, len(sizes)).max(axis=1).sum(axis=0).max())


def _levels(room: Room) -> Iterator[Floats]:
    """Floors and ceilings at the corners of their pieces, openings at the ends of theirs."""
    for floor in room.floors:
        yield _lifted(floor.polygon, floor.level[:, None])
    for ceiling in room.ceilings:
        yield _lifted(ceiling.polygon, ceiling.height(ceiling.polygon))
    for opening in room.openings:
        wall = room.wall(opening.wall)
        ends = [opening.left, opening.left + opening.width]
        heights = [opening.sill, opening.sill + opening.height]
        for end, height in zip(ends, heights, strict=True):
            yield _lifted(wall.point(end, np.zeros(len(end)))[:, None], height[:, None])


def _lifted(plan: Floats, heights: Floats) -> Floats:
    """(worlds, n, 3) points at some heights (worlds, n or 1) over plan points (worlds, n, 2)."""
    worlds = max(len(plan), len(heights))
    flat = np.broadcast_to(plan, (worlds, *plan.shape[1:]))
    high = np.broadcast_to(heights, (worlds, plan.shape[1]))
    return np.concatenate([flat, high[..., None]], axis=2)


def _corners(layout: Layout) -> Iterator[Floats]:
    for item in layout.items:
        for part in item.parts:
            yield part.solid.corners
        for zone in item.zones:
            yield zone.polygon
        for gap in item.gaps:
            yield gap.solid.corners
        for motion in item.motions:
            yield motion.solid.corners
    for leaf in layout.leaves:
        yield leaf.pin[:, None]
        yield (leaf.pin + leaf.shut * leaf.width[:, None])[:, None]
    for fabric in layout.room.fabric:
        for solid in fabric.parts:
            yield solid.corners
    yield layout.room.outline
