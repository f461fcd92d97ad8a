"""What is under and over a footprint: convex plan polygons and a room in, levels out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from massing.geometry.gaps.vertical import ring_gap
from massing.geometry.polygons import deeper_than
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import CeilingPiece, Room

__all__ = ["ceiling_over", "floors_under", "hung_from", "level_under", "levels_under", "overlaps"]


def overlaps(first: Floats, second: Floats) -> bool:
    """Whether two convex plan polygons (worlds, n, 2) share area in the nominal world."""
    one, other = first[0].T.tolist(), second[0].T.tolist()
    for own, theirs in zip(one, other, strict=True):
        if min(max(own), max(theirs)) - max(min(own), min(theirs)) <= TOUCH:
            return False
    if _at_ends(one) and _at_ends(other):
        return True
    return bool(deeper_than(first[:1], second[:1], TOUCH)[0])


def _at_ends(ring: list[list[float]]) -> bool:
    """Whether a convex ring, all its x and all its y, is the rectangle of its own bounds."""
    if len(ring[0]) != 4:
        return False
    return all(values.count(min(values)) + values.count(max(values)) == 4 for values in ring)


def floors_under(room: Room, footprint: Floats) -> tuple[int, ...]:
    """Indices of the floor pieces a footprint (worlds, n, 2) lies on, in world 0."""
    return tuple(i for i, floor in enumerate(room.floors) if overlaps(footprint, floor.polygon))


def level_under(room: Room, footprint: Floats) -> Floats:
    """(worlds,) z of the highest floor under a footprint; the lowest floor where there is none."""
    under = floors_under(room, footprint)
    if not under:
        lowest = np.min([floor.level for floor in room.floors], axis=0)
        return np.broadcast_to(lowest, (room.worlds,))
    levels = [np.broadcast_to(room.floors[i].level, (room.worlds,)) for i in under]
    return np.asarray(np.max(levels, axis=0))


def levels_under(room: Room, footprints: Sequence[Floats]) -> list[Floats]:
    """What ``level_under`` answers of each footprint, all looked at together."""
    if any(ring.shape[1] != 4 for ring in footprints):
        return [level_under(room, ring) for ring in footprints]
    rings = np.array([ring[0] for ring in footprints]).reshape(-1, 4, 2)
    low, high = rings.min(axis=1), rings.max(axis=1)
    square = ((rings == low[:, None]) | (rings == high[:, None])).all(axis=(1, 2))
    under = np.zeros((len(rings), len(room.floors)), dtype=bool)
    for k, floor in enumerate(room.floors):
        piece = floor.polygon[0]
        shared = np.minimum(high, piece.max(axis=0)) - np.maximum(low, piece.min(axis=0))
        under[:, k] = (shared > TOUCH).all(axis=1)
        unsure = np.flatnonzero(under[:, k] & ~(square & _at_ends(piece.T.tolist())))
        if len(unsure):
            under[unsure, k] = deeper_than(rings[unsure], floor.polygon[:1], TOUCH)
    levels = np.array([np.broadcast_to(floor.level, (room.worlds,)) for floor in room.floors])
    held: dict[tuple[bool, ...], Floats] = {}
    found = []
    for row in map(tuple, under.tolist()):
        if row not in held:
            held[row] = levels[list(row)].max(axis=0) if any(row) else levels.min(axis=0)
        found.append(held[row])
    return found


def ceiling_over(room: Room, footprint: Floats) -> Floats:
    """(worlds,) lowest z of the ceiling over a footprint; inf where it is wholly outside."""
    lowest = np.full(room.worlds, np.inf)
    for piece in room.ceilings:
        if overlaps(footprint, piece.polygon):
            lowest = np.minimum(lowest, _lowest_in(piece, footprint, room.worlds))
    return lowest


def hung_from(room: Room, footprint: Floats) -> Floats:
    """(worlds,) z a hung thing hangs from: the lowest ceiling over it.

    Wholly outside, where there is none, it is the room's highest, so that the thing still has a
    place to be found wrong in.
    """
    over = ceiling_over(room, footprint)
    if np.isfinite(over).all():
        return over
    tops = [piece.height(piece.polygon).max(axis=1) for piece in room.ceilings]
    return np.broadcast_to(np.max(tops, axis=0), (room.worlds,))


def _lowest_in(piece: CeilingPiece, footprint: Floats, worlds: int) -> Floats:
    """Lowest ceiling over the part of a footprint under one piece.

    A least-of-planes ceiling is concave, so over a convex polygon it is lowest at a corner.
    """
    return ring_gap(
        np.broadcast_to(footprint, (worlds, *footprint.shape[1:])),
        piece.polygon,
        piece.planes,
        np.zeros(worlds),
    )
