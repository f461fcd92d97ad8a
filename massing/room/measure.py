"""A room in; floor area, volume and area by clear height out, exactly.

*Net* takes out what stands on the floor (a chimney breast); a beam overhead takes no floor, but
its bulk is out of the net volume. Clear height is from the local floor to the ceiling, or to the
lowest fabric overhead where ``under_fabric`` is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.geometry.polygons import Ring, contains, split
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.cells import (
    Column,
    cells,
    columns_of,
    plan_area,
    plan_centre,
    z_at,
)
from massing.room.heights import ceiling_height, floor_level
from massing.room.lowest import where_higher
from massing.room.shape import Room
from massing.units import format_mm

__all__ = [
    "Band",
    "area_where",
    "cells",
    "clear_height",
    "describe_provenance",
    "floor_area",
    "height_bands",
    "volume",
]


@dataclass(frozen=True, slots=True)
class Band:
    """Floor area, mm², with a clear height of at least ``at_least`` and less than ``below``."""

    at_least: float
    below: float
    area: float


def floor_area(room: Room, *, net: bool = True, world: int = 0) -> float:
    """Floor area, mm²; net of what stands on it unless gross is asked for."""
    if not net or not room.fabric:
        return math.fsum(plan_area(cell.polygon) for cell in cells(room, world))
    columns = columns_of(room, world)
    return math.fsum(plan_area(c.polygon) for c in columns if not c.filled)


def volume(room: Room, *, net: bool = True, world: int = 0) -> float:
    """Volume between floor and ceiling, mm³; net of the fabric unless gross is asked for.

    Each column is its area times its clear height at the centroid, which is exact under a plane.
    """
    columns = columns_of(room, world) if net else _bare(room, world)
    parts = []
    for column in columns:
        middle = plan_centre(column.polygon)
        height = z_at(column.ceiling, middle) - z_at(column.floor, middle)
        for bottom, top in column.solids:
            height -= z_at(top, middle) - z_at(bottom, middle)
        parts.append(plan_area(column.polygon) * height)
    return math.fsum(parts)


def _bare(room: Room, world: int) -> tuple[Column, ...]:
    return tuple(
        Column(cell.polygon, np.array([0.0, 0.0, cell.floor]), cell.plane)
        for cell in cells(room, world)
    )


def area_where(
    room: Room,
    *,
    at_least: float = 0.0,
    below: float = math.inf,
    net: bool = True,
    under_fabric: bool = False,
    world: int = 0,
) -> float:
    """Floor area, mm², whose clear height is at least one height and less than another, mm."""
    columns = columns_of(room, world) if net or under_fabric else _bare(room, world)
    return math.fsum(
        _area_between(column, at_least, below, under_fabric=under_fabric)
        for column in columns
        if not (net and column.filled)
    )


def height_bands(
    room: Room,
    edges: Sequence[float] = (900.0, 1500.0, 2000.0),
    *,
    net: bool = True,
    under_fabric: bool = False,
    world: int = 0,
) -> tuple[Band, ...]:
    """Floor area in each band of clear height between 0, the edges and no limit."""
    columns = columns_of(room, world) if net or under_fabric else _bare(room, world)
    kept = [column for column in columns if not (net and column.filled)]
    stops = [0.0, *sorted(edges), math.inf]
    return tuple(
        Band(
            low,
            high,
            math.fsum(_area_between(c, low, high, under_fabric=under_fabric) for c in kept),
        )
        for low, high in pairwise(stops)
    )


def _area_between(column: Column, low: float, high: float, *, under_fabric: bool) -> float:
    top = column.ceiling
    if under_fabric and column.solids:
        top = column.floor if column.filled else column.solids[0][0]
    clear = (top - column.floor)[None]
    ring: Ring | None = Ring.of(column.polygon)
    # Below 0 there is nothing; a sloped ceiling that meets the floor still counts from 0.
    if low > 0:
        ring = _part(ring, clear, low, above=True)
    if math.isfinite(high):
        ring = _part(ring, clear, high, above=False)
    return 0.0 if ring is None else plan_area(ring.points[0])


def _part(ring: Ring | None, clear: Floats, height: float, *, above: bool) -> Ring | None:
    """The part of a ring where a height plane is at least, or less than, a height."""
    if ring is None:
        return None
    line = where_higher(clear, np.array([[0.0, 0.0, height]]))
    if isinstance(line, bool):
        # A level clear height within rounding of the edge is at the edge, and counts.
        reaches = line or float(clear[0, 2]) >= height - TOUCH / 1000
        return ring if reaches == above else None
    return split(ring, line)[0 if above else 1]


def clear_height(room: Room, points: Floats, *, under_fabric: bool = False) -> Floats:
    """(worlds, m) clear height over plan points (worlds, m, 2), mm; NaN outside the room.

    With ``under_fabric`` it ends at the lowest fabric overhead, and is 0 where fabric stands on
    the floor.
    """
    floor = floor_level(room, points)
    top = ceiling_height(room, points)
    if under_fabric:
        for fabric in room.fabric:
            for part in fabric.parts:
                half = part.corners.shape[1] // 2
                here = contains(part.corners[:, :half, :2], points, -TOUCH)
                bottom = part.corners[:, :1, 2]
                over = here & (part.corners[:, half:, 2].max(axis=1)[:, None] > floor + TOUCH)
                top = np.where(over, np.minimum(top, np.maximum(bottom, floor)), top)
    return np.asarray(top - floor)


def describe_provenance(room: Room) -> tuple[str, ...]:
    """A line for each wall: its length in the nominal world and where that comes from.

    >>> from massing.room.build import build_room
    >>> from massing.room.spec import RoomSpec
    >>> from massing.survey.values import Values
    >>> says = {"size": "3000 x 2000", "ceiling": [{"flat": 2400}]}
    >>> room = build_room(RoomSpec.model_validate(says), Values(), {}.__getitem__)
    >>> describe_provenance(room)[0]
    'south wall 3000: measured'
    """
    lines = []
    for wall in room.walls:
        if wall.partition:
            continue
        name = wall.name if wall.name.startswith("wall") else f"{wall.name} wall"
        source = wall.provenance
        thickness = float(wall.thickness[0])
        if source == "derived" and thickness > 0:
            source = f"derived, outside less walls (this one {format_mm(thickness)})"
        lines.append(f"{name} {format_mm(float(wall.length[0]))}: {source}")
    return tuple(lines)
