"""Floor entries in; disjoint level pieces that cover the outline out, later entries on top."""

from __future__ import annotations

from massing.geometry.polygons import Ring
from massing.room.naming import Faults
from massing.room.outline import Shell
from massing.room.regions import Division, divide, region_of
from massing.room.shape import FloorPiece
from massing.room.spec import RoomSpec
from massing.survey.values import Values

__all__ = ["lay_floors"]


def lay_floors(
    spec: RoomSpec, shell: Shell, values: Values, faults: Faults
) -> tuple[FloorPiece, ...]:
    """The floor's pieces; z = 0 wherever no entry speaks."""
    names = ["floor"]
    levels = [values.constant(0.0)]
    laid: list[tuple[Ring, int]] = [(part, 0) for part in shell.parts]
    for entry in spec.floor:
        name = str(entry.name or _called(entry.from_, len(levels)))
        region = region_of(entry, shell, values, faults, f"floor '{name}'")
        level = values(entry.level, label=f"level of {name}")
        if region is None:
            continue
        divisions = divide([ring for ring, _ in laid], region)
        number = len(levels)
        names.append(name)
        levels.append(level)
        laid = _replaced(laid, divisions, number)
    return tuple(FloorPiece(names[k], ring.points, levels[k]) for ring, k in laid)


def _called(wall: str | None, number: int) -> str:
    if wall:
        return f"floor from {wall}"
    return "floor" if number == 1 else f"floor {number}"


def _replaced(
    laid: list[tuple[Ring, int]], divisions: list[Division], number: int
) -> list[tuple[Ring, int]]:
    """Pieces with the entry ``number`` over its region."""
    made: list[tuple[Ring, int]] = []
    for (_, before), division in zip(laid, divisions, strict=True):
        made.extend((ring, before) for ring in division.beyond)
        if division.within is not None:
            made.append((division.within, number))
    return made
