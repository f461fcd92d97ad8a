"""Items' own shapes and where each goes in, the items in their places out, all moved at once.

Whatever an item has, bodies, air, moving parts and zones, is a point or a direction of its own
axes. So all of a layout's points are turned and shifted as one array, and cut up again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Convex, Floats, Ints
from massing.items.shape import GapShape, ItemShape, MotionShape, PartShape
from massing.project.scheme_spec import PlacementSpec
from massing.room.shape import Room
from massing.scheme.frames import Frame, turned_by, turns
from massing.scheme.ground import levels_under
from massing.scheme.layout import Gap, Motion, Part, Placed, Zone
from massing.scheme.states import with_states

__all__ = ["Move", "Put", "put_all"]

_POINTS_AT_ONCE = 1 << 18  # points times worlds


@dataclass(frozen=True, slots=True, eq=False)
class Put:
    """One item and where it goes: base (worlds,) is the z of its own origin."""

    name: str
    spec: PlacementSpec
    shape: ItemShape
    frame: Frame
    base: Floats
    footing: str


def put_all(puts: Sequence[Put], room: Room) -> tuple[Placed, ...]:
    """Every item in its place, in the order given; a state that stands open stands open."""
    found: list[Placed] = []
    for some in _runs(puts, room.worlds):
        found.extend(_put(some, room))
    return tuple(found)


def _runs(puts: Sequence[Put], worlds: int) -> Iterator[list[Put]]:
    """The items in runs that are small enough to move at once."""
    run: list[Put] = []
    points = 0
    for put in puts:
        count = sum(solid.solid.corners.shape[1] for solid in _solids(put.shape)) * worlds
        if run and points + count > _POINTS_AT_ONCE:
            yield run
            run, points = [], 0
        run.append(put)
        points += count
    if run:
        yield run


def _solids(shape: ItemShape) -> tuple[PartShape | GapShape | MotionShape, ...]:
    """Everything of an item that is a solid in order."""
    return (*shape.parts, *shape.gaps, *shape.motions)


def _put(puts: list[Put], room: Room) -> Iterator[Placed]:
    worlds = room.worlds
    move = Move.of([put.frame for put in puts], worlds)
    for k, put in enumerate(puts):
        move.origins[:, k, 2] = put.base
    shapes = [put.shape for put in puts]
    parts = move.points([[part.solid.corners for part in shape.parts] for shape in shapes])
    gaps = move.points([[gap.solid.corners for gap in shape.gaps] for shape in shapes])
    panels = move.points([[m.solid.corners for m in shape.motions] for shape in shapes])
    ways = move.points(
        [[way[:, None] for m in shape.motions for way in _ways(m)] for shape in shapes],
        shifted=False,
    )
    pivots = move.points(
        [
            [m.turn_about[:, None] for m in shape.motions if m.turn_about is not None]
            for shape in shapes
        ]
    )
    rings = move.points([[zone.polygon for zone in shape.zones] for shape in shapes])
    levels = iter(levels_under(room, [ring for own in rings.arrays for ring in own]))
    low, high = parts.bounds()
    for k, put in enumerate(puts):
        shape = put.shape
        placed = Placed(
            name=put.name,
            spec=shape.spec,
            parts=tuple(
                Part(part.name, part.kind, Convex(corners, part.solid.faces))
                for part, corners in zip(shape.parts, parts.arrays[k], strict=True)
            ),
            origin=move.origins[:, k],
            yaw=put.frame.yaw,
            low=low[:, k],
            high=high[:, k],
            footing=put.footing,
            zones=_zones(put, rings.arrays[k], levels, worlds),
            gaps=_gaps(put, gaps.arrays[k], worlds),
            motions=_motions(put, panels.arrays[k], iter(ways.arrays[k]), iter(pivots.arrays[k])),
            stays=put.spec.stays,
            accept=put.spec.accept,
            mark=put.spec.mark,
        )
        yield with_states(placed, put.spec.state)


def _zones(
    put: Put, rings: list[Floats], levels: Iterator[Floats], worlds: int
) -> tuple[Zone, ...]:
    return tuple(
        Zone(
            put.name,
            zone.name,
            zone.kind,
            zone.posture,
            ring,
            next(levels),
            None if zone.headroom is None else _told(zone.headroom, worlds),
        )
        for zone, ring in zip(put.shape.zones, rings, strict=True)
    )


def _gaps(put: Put, corners: list[Floats], worlds: int) -> tuple[Gap, ...]:
    return tuple(
        Gap(put.name, gap.side, gap.why, _told(gap.depth, worlds), Convex(own, gap.solid.faces))
        for gap, own in zip(put.shape.gaps, corners, strict=True)
    )


def _motions(
    put: Put, corners: list[Floats], ways: Iterator[Floats], pivots: Iterator[Floats]
) -> tuple[Motion, ...]:
    return tuple(
        Motion(
            item=put.name,
            name=motion.name,
            kind=motion.kind,
            solid=Convex(own, motion.solid.faces),
            axis=next(ways)[:, 0],
            turn_about=None if motion.turn_about is None else next(pivots)[:, 0],
            slide=None if motion.slide is None else next(ways)[:, 0],
            full=_told(motion.full, len(own)),
            needs=motion.needs,
        )
        for motion, own in zip(put.shape.motions, corners, strict=True)
    )


def _told(size: Floats, worlds: int) -> Floats:
    """(worlds,) of a size that may be known for one world, which stands for all."""
    return size if len(size) == worlds else np.broadcast_to(size, (worlds,))


def _ways(motion: MotionShape) -> Iterator[Floats]:
    """Its directions, (worlds or 1, 3): the axis and, of what slides, the whole slide."""
    yield np.array([motion.axis])
    if motion.slide is not None:
        yield motion.slide


@dataclass(frozen=True, slots=True, eq=False)
class _Moved:
    """Moved points: each item's own arrays (worlds, n, 2 or 3); first: where its points begin."""

    arrays: list[list[Floats]]
    flat: Floats
    first: Ints

    def bounds(self) -> tuple[Floats, Floats]:
        """(worlds, items, 3) least and greatest corner of each item; every one has some."""
        return (
            np.minimum.reduceat(self.flat, self.first, axis=1),
            np.maximum.reduceat(self.flat, self.first, axis=1),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """Where items go: origins (worlds, items, 3), cosines and sines of their yaws."""

    origins: Floats
    cos: Floats
    sin: Floats

    @classmethod
    def of(cls, frames: Sequence[Frame], worlds: int) -> Move:
        """Of some items' frames, their own origins at no height."""
        origins, yaws = np.zeros((worlds, len(frames), 3)), np.empty((worlds, len(frames)))
        for k, frame in enumerate(frames):
            origins[:, k, :2], yaws[:, k] = frame.origin, frame.yaw
        return cls(origins, *turns(yaws))

    def points(self, own: list[list[Floats]], *, shifted: bool = True) -> _Moved:
        """Points of the items' own axes (worlds or 1, n, 2 or 3), item by item, in the room."""
        worlds = len(self.cos)
        every = [array for arrays in own for array in arrays]
        counts = [sum(array.shape[1] for array in arrays) for arrays in own]
        first = np.cumsum([0, *counts[:-1]])
        if not every:
            return _Moved([[] for _ in own], np.empty((worlds, 0, 3)), first)
        points = np.empty((worlds, sum(counts), every[0].shape[2]))
        end = 0
        for array in every:
            start, end = end, end + array.shape[1]
            points[:, start:end] = array
        cos, sin = np.repeat(self.cos, counts, axis=1), np.repeat(self.sin, counts, axis=1)
        flat = turned_by(points, cos, sin)
        if shifted:
            origins = np.repeat(self.origins, counts, axis=1)
            flat += origins[..., : flat.shape[2]]
        arrays: list[list[Floats]] = []
        end = 0
        for some in own:
            found = []
            for array in some:
                start, end = end, end + array.shape[1]
                found.append(np.ascontiguousarray(flat[:, start:end]))
            arrays.append(found)
        return _Moved(arrays, flat, first)
