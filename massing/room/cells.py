"""A room in; the convex cells it is made of, and what stands in each column of them, out.

A cell has one floor level and one ceiling plane. A column is a part of a cell over which the
same fabric stands in the same order, so every height within it is linear in the plan and its mean
is its value at the centroid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.errors import GeometryError
from massing.geometry.polygons import Ring, area, centroid, outside_of, overlap, side_lines, split
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.lowest import level_plane, lowest_parts, where_higher
from massing.room.shape import Cell, Room

__all__ = ["Column", "cells", "columns_of", "plan_area", "prism_of", "z_at"]


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """A convex plan polygon and the solids that stand over it, lowest first.

    polygon : (n, 2) mm; floor, ceiling : (3,) planes a, b, c
    solids : (bottom, top) planes, disjoint, within floor and ceiling
    """

    polygon: Floats
    floor: Floats
    ceiling: Floats
    solids: tuple[tuple[Floats, Floats], ...] = ()

    @property
    def filled(self) -> bool:
        """Whether something stands on the floor here."""
        middle = plan_centre(self.polygon)
        return bool(self.solids) and (
            z_at(self.solids[0][0], middle) <= z_at(self.floor, middle) + TOUCH
        )


def plan_area(polygon: Floats) -> float:
    """Area of (n, 2), mm²."""
    return float(area(polygon[None])[0])


def plan_centre(polygon: Floats) -> Floats:
    """(2,) centroid of (n, 2), mm."""
    return np.asarray(centroid(polygon[None])[0])


def z_at(plane: Floats, point: Floats) -> float:
    """Height of a plane (3,) over a point (2,), mm."""
    return float(plane[0] * point[0] + plane[1] * point[1] + plane[2])


def cells(room: Room, world: int = 0) -> tuple[Cell, ...]:
    """Disjoint cells that together are the room in one world, fabric not taken out."""
    rows = slice(world, world + 1)
    floors = [(Ring.of(f.polygon[rows]), float(f.level[world])) for f in room.floors]
    made: list[Cell] = []
    for ceiling in room.ceilings:
        over = Ring.of(ceiling.polygon[rows])
        planes = ceiling.planes[rows]
        for ring, level in floors:
            both = overlap(ring, over)
            if both is None:
                continue
            parts = lowest_parts(both, planes) if planes.shape[1] > 1 else ((both, 0),)
            made.extend(Cell(part.points[0], level, planes[0, k]) for part, k in parts)
    return tuple(made)


def prism_of(part: Convex, world: int = 0) -> tuple[Ring, Floats, Floats]:
    """The plan of an upright solid, and the planes (3,) of its bottom and its top.

    Raises GeometryError for a solid that is not an upright prism with plane ends.
    """
    corners = part.corners[world]
    half = len(corners) // 2
    plan = corners[:half, :2]
    if len(corners) % 2 or not np.allclose(plan, corners[half:, :2], rtol=0, atol=TOUCH):
        raise GeometryError("fabric is made of upright prisms; this solid is not one")
    return Ring.of(plan), _plane_of(corners[:half]), _plane_of(corners[half:])


def _plane_of(points: Floats) -> Floats:
    """(3,) plane through (n, 3) coplanar points."""
    if float(np.ptp(points[:, 2])) == 0.0:
        return np.array([0.0, 0.0, float(points[0, 2])])
    middle = points.mean(axis=0)
    local = points - middle
    slope = np.linalg.lstsq(local[:, :2], local[:, 2], rcond=None)[0]
    return np.array([*slope, middle[2] - slope @ middle[:2]])


def columns_of(room: Room, world: int = 0) -> tuple[Column, ...]:
    """Disjoint columns that together are the room in one world, with the fabric over each."""
    parts = [prism_of(part, world) for fabric in room.fabric for part in fabric.parts]
    made: list[Column] = []
    for cell in cells(room, world):
        floor = level_plane(np.array([cell.floor]))[0]
        pieces: list[tuple[Ring, tuple[int, ...]]] = [(Ring.of(cell.polygon), ())]
        for number, (plan, _, _) in enumerate(parts):
            pieces = _stamped(pieces, plan, number)
        for ring, numbers in pieces:
            if not numbers:
                made.append(Column(ring.points[0], floor, cell.plane))
                continue
            ends = [parts[number][1:] for number in numbers]
            made.extend(_sorted_columns(ring, floor, cell.plane, ends))
    return tuple(made)


def _stamped(
    pieces: list[tuple[Ring, tuple[int, ...]]], plan: Ring, number: int
) -> list[tuple[Ring, tuple[int, ...]]]:
    """Pieces parted by a footprint; those within it also carry its number."""
    made: list[tuple[Ring, tuple[int, ...]]] = []
    for ring, numbers in pieces:
        within = overlap(ring, plan)
        if within is None:
            made.append((ring, numbers))
            continue
        made.append((within, (*numbers, number)))
        made.extend((beyond, numbers) for beyond in outside_of(ring, side_lines(plan)))
    return made


def _sorted_columns(
    ring: Ring, floor: Floats, ceiling: Floats, ends: list[tuple[Floats, Floats]]
) -> list[Column]:
    """Columns over a ring in each of which all planes keep one order."""
    planes = [floor, ceiling, *(plane for pair in ends for plane in pair)]
    rings = [ring]
    for i, one in enumerate(planes):
        for other in planes[:i]:
            line = where_higher(one[None], other[None])
            if not isinstance(line, bool):
                rings = [part for r in rings for part in split(r, line) if part is not None]
    return [
        Column(r.points[0], floor, ceiling, _merged(r.points[0], floor, ceiling, ends))
        for r in rings
    ]


def _merged(
    polygon: Floats, floor: Floats, ceiling: Floats, ends: list[tuple[Floats, Floats]]
) -> tuple[tuple[Floats, Floats], ...]:
    """Solids cut to between floor and ceiling and joined where they meet, lowest first."""
    middle = plan_centre(polygon)

    def z(plane: Floats) -> float:
        return z_at(plane, middle)

    clipped = [(max(bottom, floor, key=z), min(top, ceiling, key=z)) for bottom, top in ends]
    order = sorted((pair for pair in clipped if z(pair[1]) > z(pair[0])), key=lambda p: z(p[0]))
    merged: list[tuple[Floats, Floats]] = []
    for bottom, top in order:
        if merged and z(bottom) <= z(merged[-1][1]):
            merged[-1] = (merged[-1][0], max(merged[-1][1], top, key=z))
        else:
            merged.append((bottom, top))
    return tuple(merged)
