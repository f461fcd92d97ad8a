"""How far off is whatever stands before a side of a thing? Faces and air in, free depths out.

A seat, a pulled drawer, a vent and an aisle ask the same question: how deep does the floor or the
air square to a side stay free, over a part of its width and between two heights, in every world.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Push
from massing.geometry.gaps.signed import directed_depth
from massing.geometry.outline import counter_clockwise
from massing.geometry.solids import Convex, Floats, Ints, prism, spread
from massing.geometry.tolerance import TOUCH
from massing.items.sides import Side
from massing.items.spec import ZoneSpec
from massing.items.zones import SIDES
from massing.scheme.extents import bounds_by_world, extents_of
from massing.scheme.layout import Layout, Placed, Zone

__all__ = [
    "Air",
    "Face",
    "Thing",
    "Things",
    "face_of",
    "free_depths",
    "in_the_way",
    "level_air",
    "pushes_out",
    "side_face",
    "things_in",
    "zone_faces",
    "zone_sides",
]

_OUT = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
_FAR = 2e4  # mm, beyond any room


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A part of one side of a thing, or of many things one after the other, seen from above.

    out, along : (..., worlds, 2) unit vectors square to the side, and to the right facing it
    level : (..., worlds) where the side lies along ``out``; left, right : its ends along ``along``
    """

    out: Floats
    along: Floats
    level: Floats
    left: Floats
    right: Floats

    def __getitem__(self, number: int) -> Face:
        """One of many."""
        arrays = (self.out, self.along, self.level, self.left, self.right)
        return Face(*(array[number] for array in arrays))

    def ring(self, near: Floats, far: Floats) -> Floats:
        """(..., worlds, 4, 2) plan corners before it, counter-clockwise, mm.

        Drawn in by TOUCH on each side but the far one: contact takes nothing.
        """
        close, deep = self.level + near + TOUCH, self.level + far
        left, right = self.left + TOUCH, self.right - TOUCH
        across = np.stack([left, left, right, right], axis=-1)[..., None]
        ahead = np.stack([close, deep, deep, close], axis=-1)[..., None]
        return np.asarray(across * self.along[..., None, :] + ahead * self.out[..., None, :])

    def air(self, near: Floats, far: Floats, low: Floats, high: Floats) -> Air:
        """The air before it from one depth to another and between two z, each (worlds,) mm."""
        way = np.concatenate([self.out, np.zeros((len(self.out), 1))], axis=1)
        return Air(prism(self.ring(near, far), low + TOUCH, high - TOUCH), way, far - near)


@dataclass(frozen=True, slots=True, eq=False)
class Air:
    """The air before a side: solid, unit way out (worlds, 3) and how deep it is, (worlds,) mm."""

    solid: Convex
    way: Floats
    deep: Floats

    def free(self, solids: Sequence[Convex]) -> Floats:
        """(worlds,) depth free before the nearest of the solids that comes in, at most its own."""
        taken = np.max([directed_depth(self.solid, other, -self.way) for other in solids], axis=0)
        return np.asarray(np.clip(self.deep - taken, 0.0, self.deep))


def face_of(points: Floats, out: Floats) -> Face:
    """The side of plan points (..., worlds, n, 2) that looks along ``out`` (..., worlds, 2).

    >>> square = np.array([[[0.0, 0], [600, 0], [600, 500], [0, 500]]])
    >>> face = face_of(square, np.array([[0.0, -1.0]]))
    >>> face.level.tolist(), face.left.tolist(), face.right.tolist()
    ([0.0], [0.0], [600.0])
    """
    along = np.stack([-out[..., 1], out[..., 0]], axis=-1)
    reach = (points * out[..., None, :]).sum(axis=-1)
    across = (points * along[..., None, :]).sum(axis=-1)
    return Face(out, along, reach.max(axis=-1), across.min(axis=-1), across.max(axis=-1))


def side_face(item: Placed, side: str) -> Face:
    """One whole side of a body's bounds, along the item's own axes."""
    points = np.concatenate([part.solid.corners[:, :, :2] for part in item.parts], axis=1)
    return face_of(points, _outs([item.yaw], [side])[0])


def zone_faces(sides: Sequence[tuple[Placed, Zone, str]], worlds: int) -> Face:
    """The parts of items' sides that zones lie before, one after the other."""
    out = _outs([spread(item.yaw, worlds) for item, _, _ in sides], [side for *_, side in sides])
    points = np.stack([spread(zone.polygon, worlds) for _, zone, _ in sides])
    reach = (points * out[..., None, :]).sum(axis=-1)
    return replace(face_of(points, out), level=reach.min(axis=-1))


def zone_sides(item: Placed) -> Iterator[tuple[Zone, ZoneSpec, Side]]:
    """The rectangles of an item's zones with the side each lies on; those beneath it left out."""
    placed = iter(item.zones)
    for spec in item.spec.all_zones:
        for side in SIDES:
            if getattr(spec, side):
                yield next(placed), spec, side
        if spec.under:
            next(placed)


def _outs(yaws: Sequence[Floats], sides: Sequence[str]) -> Floats:
    """(n, worlds, 2) unit vectors out of sides of items turned so far, each (worlds,) radians."""
    yaw = np.stack(yaws)
    cos, sin = np.cos(yaw), np.sin(yaw)
    own = np.array([_OUT[side] for side in sides])
    x, y = own[:, :1], own[:, 1:]
    found = np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)
    return np.asarray(np.where(np.abs(found) < 1e-12, 0.0, found))


def level_air(item: Placed, side: str, deep: Floats) -> Air:
    """The air over the ``top`` of a body's bounds, or ``under`` them, so deep (worlds,) mm."""
    front = side_face(item, "front")
    # From its face back by its own depth, the body's plan bounds.
    ring = front.ring(-front.level - side_face(item, "back").level, np.zeros(len(front.level)))
    over = side == "top"
    low = item.high[:, 2] + TOUCH if over else item.low[:, 2] - deep
    high = item.high[:, 2] + deep if over else item.low[:, 2] - TOUCH
    way = np.tile([0.0, 0.0, 1.0 if over else -1.0], (len(low), 1))
    return Air(prism(counter_clockwise(ring), low, high), way, deep)


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """Something that takes up room: an item, a part of the fabric, or what lies behind walls.

    words : how it is said; item : None for the building
    built : it is the building's own, not a thing or a partition of the scheme
    """

    name: str
    words: str
    solids: tuple[Convex, ...]
    item: Placed | None = None
    built: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Things:
    """Everything that takes up room, part by part.

    owner : (parts,) number of the thing; least, most : (parts, 3) bounds over all worlds, mm
    """

    every: tuple[Thing, ...]
    solids: tuple[Convex, ...]
    owner: Ints
    least: Floats
    most: Floats

    def near(self, low: Floats, high: Floats) -> Ints:
        """Numbers of the parts that overlap bounds (3,) to (3,) in some world."""
        return np.flatnonzero(((self.least < high) & (self.most > low)).all(axis=1))


def things_in(layout: Layout) -> Things:
    """Everything of a layout that takes up room, worked out once for it."""
    return layout.kept("things ahead", _things)


def _things(layout: Layout) -> Things:
    room, own = layout.room, extents_of(layout)
    every = [Thing(i.name, i.name, tuple(p.solid for p in i.parts), i) for i in layout.items]
    for fabric in room.fabric:
        built = fabric.kind != "partition"
        every.append(Thing(fabric.name, fabric.name, fabric.parts, built=built))
    for piece in room.outside:
        name = " and ".join(room.walls[number].name for number in piece.walls)
        solid = prism(piece.polygon, -_FAR, _FAR)
        every.append(Thing(name, f"the {name} wall", (solid,), built=True))
    shell = tuple(solid for thing in every[len(layout.items) :] for solid in thing.solids)
    low, high = bounds_by_world(shell, layout.worlds)
    return Things(
        tuple(every),
        (*own.solids, *shell),
        np.repeat(np.arange(len(every)), [len(thing.solids) for thing in every]),
        np.concatenate([own.least, low.min(axis=0)]),
        np.concatenate([own.most, high.max(axis=0)]),
    )


def free_depths(
    layout: Layout, air: Air, counts: Callable[[Thing], bool]
) -> Iterator[tuple[Thing, Floats]]:
    """Each thing that comes into the air in some world, and the depth free before it (worlds,)."""
    low, high = air.solid.low.min(axis=0), air.solid.high.max(axis=0)
    things = things_in(layout)
    met: dict[int, list[Convex]] = {}
    for part in things.near(low, high).tolist():
        met.setdefault(int(things.owner[part]), []).append(things.solids[part])
    for number, solids in met.items():
        thing = things.every[number]
        if counts(thing):
            free = air.free(solids)
            if float((free - air.deep).min()) < -TOUCH:
                yield thing, free


def in_the_way(context: Context, item: Placed) -> Callable[[Thing], bool]:
    """Whether a thing is in the way of someone at an item, and its reading is wanted.

    What one walks on or moves aside with it, and what is in the item's own stack, is not.
    """
    layout = context.layout
    stack = layout.bottom_of(item.name)

    def counts(thing: Thing) -> bool:
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
