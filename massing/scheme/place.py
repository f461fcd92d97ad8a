"""From what the file says to where everything is: a project and sizes in, a layout out.

Pure: the same project and sizes give the same layout, whatever was asked before, so
uncertainty, search and sampling are this function called again.
"""

from __future__ import annotations

import numpy as np

from massing.geometry.outline import rectangle
from massing.geometry.solids import Convex, Floats, spread
from massing.items.body import build_item
from massing.items.shape import GapShape, ItemShape, MotionShape, PartShape, ZoneShape
from massing.project.project import Arrangement, Project
from massing.project.read import thickness_of
from massing.project.scheme_spec import PlacementSpec
from massing.room.build import build_room
from massing.room.partitions import add_partitions
from massing.room.shape import Room
from massing.scheme.doors import room_leaves
from massing.scheme.extents import bounds_by_world
from massing.scheme.frames import Frame, plan_frame, turned
from massing.scheme.ground import hung_from, level_under
from massing.scheme.layout import Gap, Layout, Motion, Part, Placed, Zone
from massing.scheme.states import with_states
from massing.survey.values import Values

__all__ = ["place"]


def place(project: Project, scheme: str | None, values: Values) -> Layout:
    """Lay out one scheme of a project in every world of ``values``.

    scheme : its name; the last one in the file when None
    Raises InputError when the room cannot be built, KeyError for an unknown scheme.
    """
    arrangement = project.arrangement(scheme)
    room = build_room(project.room_for(arrangement), values, thickness_of)
    if arrangement.partitions:
        room = add_partitions(room, arrangement.partitions, values, thickness_of)
    placed = _place_all(project, arrangement, room, values)
    return Layout(arrangement.name, room, placed, room_leaves(room), arrangement.together)


def _place_all(
    project: Project, arrangement: Arrangement, room: Room, values: Values
) -> tuple[Placed, ...]:
    """Place every item, each after the one it stands on, and return them in file order."""
    done: dict[str, tuple[Placed, Frame, ItemShape]] = {}
    waiting = list(arrangement.placements)
    while waiting:
        name, spec = waiting.pop(0)
        if spec.on is not None and spec.on not in done:
            waiting.append((name, spec))
            continue
        item = project.items[spec.item]
        shape = build_item(item, values, folder=project.folder, key=name)
        below = done.get(spec.on) if spec.on is not None else None
        frame = plan_frame(
            spec,
            shape,
            room,
            values,
            base=below[1] if below else None,
            base_shape=below[2] if below else None,
        )
        if spec.by is not None:
            frame = frame.moved(spec.by, values)
        base, footing = _base(spec, shape, frame, room, values, below[0] if below else None)
        if spec.by is not None and len(spec.by) == 3:
            base = base + values(spec.by[2])
        done[name] = (_placed(name, spec, shape, frame, base, footing, room), frame, shape)
    return tuple(done[name][0] for name, _ in arrangement.placements)


def _base(
    spec: PlacementSpec,
    shape: ItemShape,
    frame: Frame,
    room: Room,
    values: Values,
    below: Placed | None,
) -> tuple[Floats, str]:
    """(worlds,) z of the item's own origin, and what carries it."""
    lift = -shape.low[:, 2]
    if below is not None:
        return below.high[:, 2] + lift, below.name
    mount = spec.mount or shape.spec.mount
    footprint = frame.points(_bounds_ring(shape, room.worlds))
    point = spec.at or spec.centre or ()
    if len(point) == 3:
        return values(point[2]) + lift, "floor" if mount == "on" else mount
    level = level_under(room, footprint)
    tall = shape.high[:, 2] - shape.low[:, 2]
    lifted = "wall" if mount in {"floor", "on"} and spec.against else mount
    if spec.height is not None:
        raised = float(spec.height) > 0
        return level + values(spec.height) + lift, lifted if raised else mount
    if spec.top is not None:
        return level + values(spec.top) - tall + lift, lifted
    if spec.drop is not None or mount == "ceiling":
        drop = values(spec.drop) if spec.drop is not None else values.constant(0.0)
        return hung_from(room, footprint) - drop - tall + lift, "ceiling"
    return level + lift, "floor" if mount == "on" else mount


def _bounds_ring(shape: ItemShape, worlds: int) -> Floats:
    """(worlds, 4, 2) plan rectangle of the body's bounds in its own axes."""
    return spread(rectangle(shape.low, shape.high), worlds)


def _placed(
    name: str,
    spec: PlacementSpec,
    shape: ItemShape,
    frame: Frame,
    base: Floats,
    footing: str,
    room: Room,
) -> Placed:
    solids = frame.solids([each.solid for each in _solid_shapes(shape)], base)
    own = iter(solids)
    parts = tuple(Part(part.name, part.kind, next(own)) for part in shape.parts)
    gaps = tuple(Gap(name, gap.side, gap.why, gap.depth, next(own)) for gap in shape.gaps)
    motions = tuple(_motion(name, motion, next(own), frame, base) for motion in shape.motions)
    zones = tuple(_zone(name, zone, frame, room) for zone in shape.zones)
    low, high = bounds_by_world([part.solid for part in parts], room.worlds)
    placed = Placed(
        name=name,
        spec=shape.spec,
        parts=parts,
        origin=np.concatenate([frame.origin, base[:, None]], axis=1),
        yaw=frame.yaw,
        low=low.min(axis=1),
        high=high.max(axis=1),
        footing=footing,
        zones=zones,
        gaps=gaps,
        motions=motions,
        stays=spec.stays,
        accept=spec.accept,
        mark=spec.mark,
    )
    return with_states(placed, spec.state)


def _solid_shapes(shape: ItemShape) -> tuple[PartShape | GapShape | MotionShape, ...]:
    """Everything of an item that is a solid, in order."""
    return (*shape.parts, *shape.gaps, *shape.motions)


def _zone(name: str, zone: ZoneShape, frame: Frame, room: Room) -> Zone:
    worlds = room.worlds
    ring = frame.points(np.broadcast_to(zone.polygon, (worlds, *zone.polygon.shape[1:])))
    level = level_under(room, ring)
    return Zone(name, zone.name, zone.kind, zone.posture, ring, level, zone.headroom)


def _motion(name: str, motion: MotionShape, solid: Convex, frame: Frame, base: Floats) -> Motion:
    worlds = len(base)
    return Motion(
        item=name,
        name=motion.name,
        kind=motion.kind,
        solid=solid,
        axis=_vector(np.broadcast_to(np.array(motion.axis), (worlds, 3)), frame),
        turn_about=None if motion.turn_about is None else _point(motion.turn_about, frame, base),
        slide=None if motion.slide is None else _vector(motion.slide, frame),
        full=motion.full,
        needs=motion.needs,
    )


def _vector(own: Floats, frame: Frame) -> Floats:
    """Turn a direction (worlds, 3) of the item's axes into the room's."""
    worlds = len(frame.yaw)
    spread = np.broadcast_to(own, (worlds, 3))
    flat = turned(spread[:, None, :2], frame.yaw)[:, 0]
    return np.concatenate([flat, spread[:, 2:]], axis=1)


def _point(own: Floats, frame: Frame, base: Floats) -> Floats:
    """Turn a point (worlds, 3) of the item's axes into the room's."""
    found = _vector(own, frame)
    return np.asarray(found + np.concatenate([frame.origin, base[:, None]], axis=1))
