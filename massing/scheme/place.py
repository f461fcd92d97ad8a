"""From what the file says to where everything is: a project and sizes in, a layout out.

Pure: the same project and sizes give the same layout, whatever was asked before, so
uncertainty, search and sampling are this function called again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Floats
from massing.items.held import shape_of
from massing.items.shape import ItemShape
from massing.project.project import Arrangement, Project
from massing.project.read import thickness_of
from massing.project.scheme_spec import PlacementSpec
from massing.room.build import build_room
from massing.room.partitions import add_partitions
from massing.room.shape import Room
from massing.scheme.doors import room_leaves
from massing.scheme.frames import Facings, Frame, plan_frame
from massing.scheme.ground import hung_from, levels_under
from massing.scheme.layout import Layout, Placed
from massing.scheme.placing import Move, Put, put_all
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


@dataclass(frozen=True, slots=True, eq=False)
class _Stood:
    """An item that is in its place in plan: what carries it, and how high it goes from there.

    start : "level" where its height counts from the floor under it, "ceiling" where from what it
        hangs from, "top" from the top of the item it stands on, "datum" from nought
    terms : (worlds,) each, added to that in turn for the z of its own origin
    """

    spec: PlacementSpec
    shape: ItemShape
    frame: Frame
    start: str
    terms: list[Floats]
    footing: str


def _place_all(
    project: Project, arrangement: Arrangement, room: Room, values: Values
) -> tuple[Placed, ...]:
    """Find where every item goes, each after the one it stands on; then put them all there."""
    stood: dict[str, _Stood] = {}
    facings: Facings = {}
    waiting = list(arrangement.placements)
    while waiting:
        name, spec = waiting.pop(0)
        if spec.on is not None and spec.on not in stood:
            waiting.append((name, spec))
            continue
        shape = shape_of(project.items[spec.item], values, folder=project.folder, key=name)
        below = stood.get(spec.on) if spec.on is not None else None
        frame = plan_frame(
            spec,
            shape,
            room,
            values,
            base=below.frame if below else None,
            base_shape=below.shape if below else None,
            facings=facings,
        )
        if spec.by is not None:
            frame = frame.moved(spec.by, values)
        # All sizes are asked for here, item by item as they are written.
        start, terms, footing = _rise(spec, shape, values)
        if spec.by is not None and len(spec.by) == 3:
            terms.append(values(spec.by[2]))
        stood[name] = _Stood(spec, shape, frame, start, terms, footing)
    bases = _bases(stood, room)
    return put_all(
        [
            Put(name, s.spec, s.shape, s.frame, bases[name], s.footing)
            for name, s in ((name, stood[name]) for name, _ in arrangement.placements)
        ],
        room,
    )


def _rise(spec: PlacementSpec, shape: ItemShape, values: Values) -> tuple[str, list[Floats], str]:
    """What an item's height counts from, what is added to that in turn, and what carries it."""
    lift = -shape.low[:, 2]
    if spec.on is not None:
        return "top", [lift], spec.on
    mount = spec.mount or shape.spec.mount
    point = spec.at or spec.centre or ()
    if len(point) == 3:
        return "datum", [values(point[2]), lift], "floor" if mount == "on" else mount
    tall = shape.high[:, 2] - shape.low[:, 2]
    lifted = "wall" if mount in {"floor", "on"} and spec.against else mount
    if spec.height is not None:
        raised = float(spec.height) > 0
        return "level", [values(spec.height), lift], lifted if raised else mount
    if spec.top is not None:
        return "level", [values(spec.top), -tall, lift], lifted
    if spec.drop is not None or mount == "ceiling":
        drop = values(spec.drop) if spec.drop is not None else values.constant(0.0)
        return "ceiling", [-drop, -tall, lift], "ceiling"
    return "level", [lift], "floor" if mount == "on" else mount


def _bases(stood: dict[str, _Stood], room: Room) -> dict[str, Floats]:
    """(worlds,) z of every item's own origin; each comes after the one it stands on."""
    on_floor = [name for name, each in stood.items() if each.start == "level"]
    some = [stood[name] for name in on_floor]
    move = Move.of([each.frame for each in some], room.worlds)
    rings = move.points([[ring] for ring in _bounds_rings([each.shape for each in some], room)])
    prints = [ring for (ring,) in rings.arrays]
    levels = dict(zip(on_floor, levels_under(room, prints), strict=True))
    found: dict[str, Floats] = {}
    for name, each in stood.items():
        if each.start == "level":
            begin = levels[name]
        elif each.start == "ceiling":
            begin = hung_from(room, each.frame.points(_bounds_rings([each.shape], room)[0]))
        elif each.start == "top":
            # The highest of some corners lifted is the highest of them, lifted.
            begin = stood[each.footing].shape.high[:, 2] + found[each.footing]
        else:
            begin = np.zeros(room.worlds)
        # One after the other, so that nothing is a rounding off its written height.
        for term in each.terms:
            begin = begin + term
        found[name] = begin
    return found


def _bounds_rings(shapes: list[ItemShape], room: Room) -> list[Floats]:
    """(worlds, 4, 2) plan rectangle of each body's bounds in its own axes."""
    low, high = np.empty((2, room.worlds, len(shapes), 2))
    for k, shape in enumerate(shapes):
        low[:, k], high[:, k] = shape.low[:, :2], shape.high[:, :2]
    rings = np.empty((room.worlds, len(shapes), 4, 2))
    rings[..., 0, :], rings[..., 2, :] = low, high
    rings[..., 1, 0], rings[..., 1, 1] = high[..., 0], low[..., 1]
    rings[..., 3, 0], rings[..., 3, 1] = low[..., 0], high[..., 1]
    return [rings[:, k] for k in range(len(shapes))]
