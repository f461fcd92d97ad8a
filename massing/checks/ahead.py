"""How far off is whatever stands before a side of a thing? Faces and air in, free depths out.

A seat, a pulled drawer, a vent and an aisle ask the same question: how deep does the floor or the
air square to a side stay free, over a part of its width and between two heights, in every world.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Push
from massing.geometry.gaps import directed_depth
from massing.geometry.outline import counter_clockwise
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.items.sides import Side
from massing.items.spec import ZoneSpec
from massing.items.zones import SIDES
from massing.scheme.extents import extents_of
from massing.scheme.layout import Layout, Placed, Zone

__all__ = [
    "Air",
    "Face",
    "Thing",
    "face_of",
    "free_depths",
    "in_the_way",
    "level_air",
    "pushes_out",
    "side_face",
    "things_in",
    "zone_face",
    "zone_sides",
]

_OUT = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
_FAR = 2e4  # mm, beyond any room


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A part of one side of a thing, seen from above.

    out, along : (worlds, 2) unit vectors square to the side and to the right as one faces it
    level : (worlds,) how far along ``out`` the side lies; left, right : (worlds,) along ``along``
    """

    out: Floats
    along: Floats
    level: Floats
    left: Floats
    right: Floats

    def air(self, near: Floats | float, far: Floats | float, low: Floats, high: Floats) -> Air:
        """The air before it from one depth to another and between two z, each (worlds,) mm.

        It is drawn in by TOUCH on each side but the far one: contact takes nothing.
        """
        near, far = self.level + near, self.level + far
        left, right, close = self.left + TOUCH, self.right - TOUCH, near + TOUCH
        corners = ((left, close), (left, far), (right, far), (right, close))
        ring = np.stack([a[:, None] * self.along + d[:, None] * self.out for a, d in corners], 1)
        way = np.concatenate([self.out, np.zeros((len(self.out), 1))], axis=1)
        return Air(prism(ring, low + TOUCH, high - TOUCH), way, far - near)


@dataclass(frozen=True, slots=True, eq=False)
class Air:
    """The air before a side: solid, unit way out (worlds, 3) and how deep it is, (worlds,) mm."""

    solid: Convex
    way: Floats
    deep: Floats

    def free(self, solids: tuple[Convex, ...]) -> Floats:
        """(worlds,) depth free before the nearest of the solids that comes in, at most its own."""
        taken = np.max([directed_depth(self.solid, other, -self.way) for other in solids], axis=0)
        return np.asarray(np.clip(self.deep - taken, 0.0, self.deep))


def side_face(item: Placed, side: str) -> Face:
    """One whole side of a body's bounds, along the item's own axes."""
    return face_of(
        np.concatenate([p.solid.corners[:, :, :2] for p in item.parts], axis=1), _out(item, side)
    )


def level_air(item: Placed, side: str, deep: Floats) -> Air:
    """The air over the ``top`` of a body's bounds, or ``under`` them, so deep (worlds,) mm."""
    front = side_face(item, "front")
    back = side_face(item, "back")
    worlds = len(front.out)
    near = ((front.left, front.level), (front.right, front.level))
    ends = (*near, (front.right, -back.level), (front.left, -back.level))
    ring = np.stack([a[:, None] * front.along + d[:, None] * front.out for a, d in ends], axis=1)
    middle = ring.mean(axis=1, keepdims=True)
    ring = ring + np.sign(np.round(middle - ring, 6)) * TOUCH
    up = 1.0 if side == "top" else -1.0
    low = item.high[:, 2] + TOUCH if side == "top" else item.low[:, 2] - deep
    high = item.high[:, 2] + deep if side == "top" else item.low[:, 2] - TOUCH
    way = np.tile([0.0, 0.0, up], (worlds, 1))
    return Air(prism(counter_clockwise(ring), low, high), way, deep)


def zone_face(item: Placed, zone: Zone, side: str) -> Face:
    """The part of an item's side that a zone lies before."""
    out = _out(item, side)
    found = face_of(zone.polygon, out)
    return replace(found, level=np.einsum("wi,wni->wn", out, zone.polygon).min(axis=1))


def face_of(points: Floats, out: Floats) -> Face:
    """The side of plan points (worlds, n, 2) that looks along ``out`` (worlds, 2)."""
    along = np.stack([-out[:, 1], out[:, 0]], axis=1)
    reach, across = np.einsum("wi,wni->wn", out, points), np.einsum("wi,wni->wn", along, points)
    return Face(out, along, reach.max(axis=1), across.min(axis=1), across.max(axis=1))


def zone_sides(item: Placed) -> Iterator[tuple[Zone, ZoneSpec, Side]]:
    """The rectangles of an item's zones with the side each lies on; those beneath it left out."""
    placed = iter(item.zones)
    for spec in item.spec.all_zones:
        for side in SIDES:
            if getattr(spec, side):
                yield next(placed), spec, side
        if spec.under:
            next(placed)


def _out(item: Placed, side: str) -> Floats:
    """(worlds, 2) unit vector out of an item's side."""
    cos, sin = np.cos(item.yaw), np.sin(item.yaw)
    x, y = _OUT[side]
    found = np.stack([cos * x - sin * y, sin * x + cos * y], axis=1)
    return np.asarray(np.where(np.abs(found) < 1e-12, 0.0, found))


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """Something that takes up room: an item, a part of the fabric, or what lies behind walls.

    words : how it is said; least, most : (3,) bounds over all worlds; item : None for the building
    built : it is the building's own, not a thing or a partition of the scheme
    """

    name: str
    words: str
    solids: tuple[Convex, ...]
    least: Floats
    most: Floats
    item: Placed | None = None
    built: bool = False


def things_in(layout: Layout) -> tuple[Thing, ...]:
    """Everything of a layout that takes up room, worked out once for it."""
    return layout.kept("things ahead", _things)


def _things(layout: Layout) -> tuple[Thing, ...]:
    parts, found = extents_of(layout), []
    for number, item in enumerate(layout.items):
        rows = parts.parts(number)
        bounds = parts.least[rows].min(axis=0), parts.most[rows].max(axis=0)
        found.append(Thing(item.name, item.name, tuple(p.solid for p in item.parts), *bounds, item))
    for fabric in layout.room.fabric:
        least = np.min([solid.low.min(axis=0) for solid in fabric.parts], axis=0)
        most = np.max([solid.high.max(axis=0) for solid in fabric.parts], axis=0)
        own = fabric.kind != "partition"
        found.append(Thing(fabric.name, fabric.name, fabric.parts, least, most, None, built=own))
    for piece in layout.room.outside:
        name = " and ".join(layout.room.walls[number].name for number in piece.walls)
        solid = prism(piece.polygon, -_FAR, _FAR)
        bounds = solid.low.min(axis=0), solid.high.max(axis=0)
        found.append(Thing(name, f"the {name} wall", (solid,), *bounds, None, built=True))
    return tuple(found)


def free_depths(
    layout: Layout, air: Air, counts: Callable[[Thing], bool]
) -> Iterator[tuple[Thing, Floats]]:
    """Each thing that comes into the air in some world, and the depth free before it (worlds,)."""
    low, high = air.solid.low.min(axis=0), air.solid.high.max(axis=0)
    for thing in things_in(layout):
        if (thing.least < high).all() and (thing.most > low).all() and counts(thing):
            free = air.free(thing.solids)
            if float((free - air.deep).min()) < -TOUCH:
                yield thing, free


def in_the_way(context: Context, item: Placed) -> Callable[[Thing], bool]:
    """Whether a thing is in the way of someone at an item, and its reading is wanted.

    What one walks on or moves aside with it, and what is in the item's own stack, is not.
    """
    layout = context.layout
    stack = layout.bottom_of(item.name)

    def counts(thing: Thing) -> bool:
        if not context.wanted(item.name, thing.name):
            return False
        other = thing.item
        return other is None or (not other.spec.passable and layout.bottom_of(other.name) != stack)

    return counts


def pushes_out(item: Placed | None, other: Placed | None, by: Floats) -> tuple[Push, ...]:
    """Level moves (2,) that widen what lies between two things: the one back, the other away."""
    if float(np.hypot(*by)) <= TOUCH:
        return ()
    return tuple(
        Push(moved.name, (float(way[0]), float(way[1]), 0.0))
        for moved, way in ((item, -by), (other, by))
        if moved is not None and not moved.stays
    )
