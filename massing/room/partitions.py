"""Partitions a scheme adds in; the room with them in it out: solids, faces to place against, doors.

A partition stands on the floor, follows the ceiling, and is cut away where it has an opening.
Its two faces become walls named after the way they look: ``wardrobe wall south face``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from massing.errors import InputError
from massing.geometry.polygons import Ring, inside_of, line_through
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.columns import columns
from massing.room.naming import Faults, compass_word, wall_number
from massing.room.openings import floor_behind, opening_faults
from massing.room.outline import thickness_of_build_up
from massing.room.shape import Fabric, Opening, Room, Wall
from massing.room.spec import AnchorSpec, PartitionOpeningSpec, PartitionSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

__all__ = ["add_partitions"]


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A partition in plan.

    start, end : (worlds, 2) ends of its centre line, mm; way, side : unit vectors along it and
    to its left; half : (worlds,) half its thickness, mm; on : wall each end is on, or None
    """

    start: Floats
    end: Floats
    way: Floats
    side: Floats
    half: Floats
    on: tuple[Wall | None, Wall | None]

    @property
    def length(self) -> Floats:
        """(worlds,) of the centre line, mm."""
        return np.asarray(np.hypot(*(self.end - self.start).T))


def add_partitions(
    room: Room,
    specs: Iterable[PartitionSpec],
    values: Values,
    thickness_of: Callable[[str], Length],
) -> Room:
    """The room with partitions; one may start from a face of one before it.

    Raises InputError with everything that is wrong.
    """
    faults = Faults()
    for spec in specs:
        room = _added(room, spec, values, thickness_of, faults)
    if faults.found:
        raise InputError(faults.found)
    return room


def _added(
    room: Room,
    spec: PartitionSpec,
    values: Values,
    thickness_of: Callable[[str], Length],
    faults: Faults,
) -> Room:
    name = str(spec.name)
    before = len(faults.found)
    if any(fabric.name == name for fabric in room.fabric):
        faults.add(f"two parts of the room are called '{name}'", spec.mark_of("name"))
    line = _lay(room, spec, values, thickness_of, faults)
    if line is None or len(faults.found) > before:
        return room
    faces = _faces(name, line)
    openings = _openings(room, spec, faces[0], values, faults)
    if len(faults.found) > before:
        return room
    parts = _solids(room, spec, line, openings, values)
    if not parts:
        faults.add(f"partition '{name}' is wholly outside the room", spec.mark)
        return room
    return replace(
        room,
        walls=(*room.walls, *faces),
        fabric=(*room.fabric, Fabric(name, parts, kind="partition", stays=True)),
        openings=(*room.openings, *openings),
    )


def _lay(
    room: Room,
    spec: PartitionSpec,
    values: Values,
    thickness_of: Callable[[str], Length],
    faults: Faults,
) -> _Line | None:
    length = spec.thickness
    if spec.build_up is not None:
        mark = spec.mark_of("build_up")
        length = thickness_of_build_up(spec.build_up, thickness_of, faults, mark)
    start, on_start = _anchor(room, spec, "from_", values, faults)
    end, on_end = _anchor(room, spec, "to", values, faults)
    if length is None or start is None or end is None:
        return None
    key, label = f"partition {spec.name} thickness", f"thickness of partition {spec.name}"
    half = values(length, key=key, label=label) / 2
    run = end - start
    size = np.hypot(run[:, 0], run[:, 1])
    if float(size[0]) < 1.0:
        faults.add(f"partition '{spec.name}' begins and ends at the same place", spec.mark)
        return None
    way = run / np.where(size > 0, size, 1.0)[:, None]
    side = np.stack([0.0 - way[:, 1], way[:, 0]], axis=1)
    return _Line(start, end, way, side, half, (on_start, on_end))


def _anchor(
    room: Room, spec: PartitionSpec, field: str, values: Values, faults: Faults
) -> tuple[Floats | None, Wall | None]:
    """(worlds, 2) one end of the centre line, and the wall it is on."""
    anchor = getattr(spec, field)
    end = "start" if field == "from_" else "end"
    if not isinstance(anchor, AnchorSpec):
        pair = [
            values(v, label=f"{axis} of the {end} of {spec.name}")
            for axis, v in zip("xy", anchor, strict=True)
        ]
        return np.stack(pair, axis=1), None
    names = tuple(wall.name for wall in room.walls)
    number = wall_number(anchor.wall, names, faults, anchor.mark)
    if number is None:
        return None, None
    wall = room.walls[number]
    along = values(anchor.along, label=f"place of the {end} of {spec.name} along {wall.name}")
    if not -TOUCH <= float(along[0]) <= float(wall.length[0]) + TOUCH:
        faults.add(
            f"{format_mm(float(along[0]))} is beyond wall '{wall.name}', which is "
            f"{format_mm(float(wall.length[0]))} long",
            anchor.mark_of("along") or spec.mark_of(field),
        )
        return None, None
    return wall.point(along, np.zeros_like(along)), wall


def _faces(name: str, line: _Line) -> tuple[Wall, Wall]:
    """The face seen with the start on its left, and the face seen from behind it."""
    offset = line.half[:, None] * line.side
    words = [compass_word(*(sign * line.side[0]).tolist()) for sign in (-1.0, 1.0)]
    near = Wall(
        f"{name} {words[0]} face",
        line.start - offset,
        line.end - offset,
        line.way,
        line.side,
        2 * line.half,
        partition=True,
        part_of=name,
    )
    back = Wall(
        f"{name} {words[1]} face",
        line.end + offset,
        line.start + offset,
        0.0 - line.way,
        0.0 - line.side,
        2 * line.half,
        partition=True,
        part_of=name,
    )
    return near, back


def _openings(
    room: Room,
    spec: PartitionSpec,
    face: Wall,
    values: Values,
    faults: Faults,
) -> tuple[Opening, ...]:
    """Openings as seen on the face that has the partition's start on its left."""
    made: list[Opening] = []
    taken = {opening.name for opening in room.openings}
    for number, entry in enumerate(spec.openings):
        name = str(entry.name or f"{spec.name} opening {number + 1}")
        if name in taken:
            faults.add(f"two openings are called '{name}'", entry.mark)
        taken.add(name)
        opening = _opening(name, entry, face, room, values)
        if not opening_faults(opening, face, room.ceilings, made, faults):
            made.append(opening)
    return tuple(made)


def _opening(
    name: str, entry: PartitionOpeningSpec, face: Wall, room: Room, values: Values
) -> Opening:
    along = values(entry.along, label=f"place of {name}")
    leaf = None
    if entry.leaf is not None:
        words = ("leaf width", "leaf height", "leaf thickness")
        columns_ = [
            values(v, label=f"{w} of {name}") for v, w in zip(entry.leaf, words, strict=True)
        ]
        leaf = np.stack(columns_, axis=1)
    if entry.opening is not None:
        width, height = (
            values(v, label=f"opening {w} of {name}")
            for v, w in zip(entry.opening, ("width", "height"), strict=True)
        )
    else:
        size = np.zeros((values.worlds, 3)) if leaf is None else leaf
        width, height = size[:, 0], size[:, 1]
    sill = floor_behind(face, along + width / 2, room.floors)
    if entry.sill is not None:
        sill = sill + values(entry.sill, label=f"sill of {name}")
    return Opening(
        name=name,
        kind="door",
        wall=face.name,
        left=along,
        width=width,
        height=height,
        sill=sill,
        leaf=leaf,
        hinge=entry.hinge,
        opens=entry.opens,
        motion="open" if leaf is None else entry.kind,
        angle=entry.angle,
        mark=entry.mark,
    )


def _solids(
    room: Room,
    spec: PartitionSpec,
    line: _Line,
    openings: tuple[Opening, ...],
    values: Values,
) -> tuple[Convex, ...]:
    """Upright pieces beside the openings, and above and below each."""
    rise = None
    if not isinstance(spec.height, str):
        rise = values(spec.height, label=f"height of {spec.name}")
    made: list[Convex] = []
    order = sorted(openings, key=lambda o: float(o.left[0]))
    at: Floats | None = None
    for opening in order:
        right = opening.left + opening.width
        made += _piece(room, line, at, opening.left, rise)
        head = opening.sill + opening.height
        made += _piece(room, line, opening.left, right, rise, low=head)
        made += _piece(room, line, opening.left, right, rise, high=opening.sill)
        at = right
    made += _piece(room, line, at, None, rise)
    return tuple(made)


def _piece(
    room: Room,
    line: _Line,
    start: Floats | None,
    end: Floats | None,
    rise: Floats | None,
    *,
    low: Floats | None = None,
    high: Floats | None = None,
) -> tuple[Convex, ...]:
    """The partition between two distances along it; None is its own end."""
    ring = _plan(line, start, end)
    if ring is None:
        return ()
    return columns(ring, room.floors, room.ceilings, low=low, high=high, rise=rise)


def _plan(line: _Line, start: Floats | None, end: Floats | None) -> Ring | None:
    """Plan of a length of the partition, run on into the wall each end is on and cut by it."""
    if start is not None and end is not None and float((end - start)[0]) <= TOUCH:
        return None
    if start is not None and end is None and float((line.length - start)[0]) <= TOUCH:
        return None
    if end is not None and start is None and float(end[0]) <= TOUCH:
        return None
    # A wall met at 10 degrees is still reached right across the partition.
    over = 12 * line.half
    a = start if start is not None else (-over if line.on[0] else np.zeros_like(over))
    b = end if end is not None else line.length + (over if line.on[1] else 0.0)
    near = line.start + a[:, None] * line.way
    far = line.start + b[:, None] * line.way
    offset = line.half[:, None] * line.side
    ring = Ring.of(np.stack([near - offset, far - offset, far + offset, near + offset], axis=1))
    cuts = []
    if start is None and line.on[0] is not None:
        cuts.append(line.on[0])
    if end is None and line.on[1] is not None:
        cuts.append(line.on[1])
    # Facing a wall the room is behind you: to the left of the walk from its right end to its left.
    return inside_of(ring, [line_through(wall.right, wall.left) for wall in cuts])
