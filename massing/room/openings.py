"""Doors and windows as written in; openings in walls, checked against wall and ceiling, out."""

from __future__ import annotations

import numpy as np

from massing.errors import Mark
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.heights import floor_level, lowest_along
from massing.room.naming import Faults, wall_number
from massing.room.outline import Shell
from massing.room.shape import CeilingPiece, FloorPiece, Opening, Wall
from massing.room.spec import DoorSpec, RoomSpec, WindowSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

__all__ = ["cut_openings", "floor_behind", "opening_faults"]

_SASH = 50.0
"""Thickness, mm, of a window's leaf where none is given. Common practice, no source."""
_STEP_IN = 1.0
"""How far in from the wall the floor is read, mm."""


def cut_openings(
    spec: RoomSpec,
    shell: Shell,
    floors: tuple[FloorPiece, ...],
    ceilings: tuple[CeilingPiece, ...],
    values: Values,
    faults: Faults,
) -> tuple[Opening, ...]:
    """Doors, then windows, in the order they are written."""
    made: list[Opening] = []
    entries: list[DoorSpec | WindowSpec] = [*spec.doors, *spec.windows]
    seen: set[str] = set()
    for entry in entries:
        if entry.name in seen:
            faults.add(f"two openings are called '{entry.name}'", entry.mark_of("name"))
        seen.add(str(entry.name))
        number = wall_number(entry.wall, shell.names, faults, entry.mark_of("wall"))
        if number is None:
            continue
        wall = shell.walls[number]
        if isinstance(entry, DoorSpec):
            opening = _door(entry, wall, floors, values)
        else:
            opening = _window(entry, wall, floors, values)
        if opening_faults(opening, wall, ceilings, made, faults):
            continue
        made.append(opening)
    return tuple(made)


def _sizes(lengths: tuple[Length, ...], words: tuple[str, ...], name: str, v: Values) -> Floats:
    """(worlds, k) sizes."""
    columns = [
        v(length, label=f"{word} of {name}") for length, word in zip(lengths, words, strict=True)
    ]
    return np.stack(columns, axis=1)


def _door(entry: DoorSpec, wall: Wall, floors: tuple[FloorPiece, ...], values: Values) -> Opening:
    name = str(entry.name)
    along = values(entry.along, label=f"place of {name} along wall {wall.name}")
    leaf = None
    if entry.leaf is not None:
        words = ("leaf width", "leaf height", "leaf thickness")
        leaf = _sizes(entry.leaf, words, name, values)
    if entry.opening is not None:
        size = _sizes(entry.opening, ("opening width", "opening height"), name, values)
    elif leaf is not None:
        size = leaf[:, :2] * (2.0 if entry.kind == "double" else 1.0, 1.0)
    else:
        size = np.zeros((values.worlds, 2))
    sill = floor_behind(wall, along + size[:, 0] / 2, floors)
    if entry.sill is not None:
        sill = sill + values(entry.sill, label=f"sill of {name}")
    return Opening(
        name=name,
        kind="door",
        wall=wall.name,
        left=along,
        width=size[:, 0],
        height=size[:, 1],
        sill=sill,
        leaf=leaf,
        hinge=entry.hinge,
        opens=entry.opens,
        motion=entry.kind,
        angle=entry.angle,
        mark=entry.mark,
    )


def _window(
    entry: WindowSpec, wall: Wall, floors: tuple[FloorPiece, ...], values: Values
) -> Opening:
    name = str(entry.name)
    along = values(entry.along, label=f"place of {name} along wall {wall.name}")
    size = _sizes(entry.size, ("width", "height"), name, values)
    sill = floor_behind(wall, along + size[:, 0] / 2, floors)
    sill = sill + values(entry.sill, label=f"sill of {name}")
    leaf = None
    if entry.leaf is not None:
        words = ("leaf width", "leaf height", "leaf thickness")
        leaf = _sizes(entry.leaf, words, name, values)
    elif entry.opens != "fixed":
        leaf = np.concatenate([size, np.full((values.worlds, 1), _SASH)], axis=1)
    motion = {"fixed": "fixed", "sliding": "sliding"}.get(entry.opens, "hinged")
    return Opening(
        name=name,
        kind="window",
        wall=wall.name,
        left=along,
        width=size[:, 0],
        height=size[:, 1],
        sill=sill,
        leaf=leaf,
        hinge=entry.hinge,
        opens=entry.opens,
        motion=motion,
        angle=entry.angle,
        mark=entry.mark,
        escape=entry.escape,
    )


def floor_behind(wall: Wall, along: Floats, floors: tuple[FloorPiece, ...]) -> Floats:
    """(worlds,) floor z just inside a wall at a distance along it, mm; 0 beyond the room.

    Which piece of floor is meant is decided in world 0, so that a door stays on its own level.
    """
    point = wall.point(along, np.full(len(along), _STEP_IN))[:1, None]
    levels = [
        (float(piece.level[0]), k)
        for k, piece in enumerate(floors)
        if not np.isnan(floor_level((_first_world(piece),), point)[0, 0])
    ]
    if not levels:
        return np.zeros(len(along))
    return floors[max(levels)[1]].level


def _first_world(piece: FloorPiece) -> FloorPiece:
    return FloorPiece(piece.name, piece.polygon[:1], piece.level[:1])


def opening_faults(
    opening: Opening,
    wall: Wall,
    ceilings: tuple[CeilingPiece, ...],
    others: list[Opening],
    faults: Faults,
) -> bool:
    """Note what is wrong with an opening in world 0; whether anything is."""
    before = len(faults.found)
    what = f"{opening.kind} '{opening.name}'"
    left, width = float(opening.left[0]), float(opening.width[0])
    length = float(wall.length[0])
    mark = opening.mark
    if width <= 0 or float(opening.height[0]) <= 0:
        faults.add(f"{what} has no size", mark)
    elif width > length + TOUCH:
        faults.add(
            f"{what} is {format_mm(width)} wide and wall '{wall.name}' only {format_mm(length)}",
            mark,
        )
    elif left < -TOUCH or left + width > length + TOUCH:
        faults.add(
            f"{what} runs from {format_mm(left)} to {format_mm(left + width)} along wall "
            f"'{wall.name}', which is {format_mm(length)} long",
            mark,
        )
    else:
        _check_head(opening, wall, ceilings, faults, mark)
    for other in others if len(faults.found) == before else ():
        if other.wall == opening.wall and _meet(opening, other):
            faults.add(f"{what} overlaps {other.kind} '{other.name}'", mark)
    return len(faults.found) > before


def _check_head(
    opening: Opening,
    wall: Wall,
    ceilings: tuple[CeilingPiece, ...],
    faults: Faults,
    mark: Mark | None,
) -> None:
    left, width = float(opening.left[0]), float(opening.width[0])
    start = wall.left[0] + left * wall.along[0]
    end = start + width * wall.along[0]
    lowest, at = lowest_along(ceilings, start, end)
    head = float(opening.sill[0] + opening.height[0])
    if head > lowest + TOUCH:
        along = float((at - wall.left[0]) @ wall.along[0])
        faults.add(
            f"{opening.kind} '{opening.name}' reaches {format_mm(head)} above the datum, and the "
            f"ceiling at {format_mm(along)} along wall '{wall.name}' is {format_mm(lowest)}",
            mark,
        )


def _meet(one: Opening, other: Opening) -> bool:
    def apart(a: float, b: float, c: float, d: float) -> bool:
        return a + b <= c + TOUCH or c + d <= a + TOUCH

    return not (
        apart(float(one.left[0]), float(one.width[0]), float(other.left[0]), float(other.width[0]))
        or apart(
            float(one.sill[0]), float(one.height[0]), float(other.sill[0]), float(other.height[0])
        )
    )
