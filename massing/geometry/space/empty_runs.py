"""A wall line, a cross-section and solids in, where a shelf or a boxed-in run of it fits out.

Along eaves the useful space is rarely a box in the middle of the room: it is a run against the
wall, a shelf of one depth or a wedge that fills the angle between floor and slope. A run is a
cross-section drawn along a straight line, so whether it fits is a question of intervals: every
solid that enters the cross-section blocks one stretch of the line, exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Floats, box
from massing.geometry.space.empty_boxes import EmptyBoxes, Wanted, largest_empty_boxes
from massing.geometry.space.empty_boxes_room import CeilingCell, surround

__all__ = ["free_stretches", "largest_front", "longest_run", "shelf_section", "wedge_section"]

_INSIDE = 1e-7  # mm; a solid less deep than this inside the cross-section only touches it
_FAR = 10.0  # mm; how far the solid surroundings reach past room and line


def shelf_section(depth: float, low: float, high: float) -> Floats:
    """(4, 2) cross-section of a shelf of a depth between two levels, mm."""
    return np.array([[0.0, low], [depth, low], [depth, high], [0.0, high]])


def wedge_section(depth: float, low: float, at_wall: float, at_front: float) -> Floats:
    """(3 or 4, 2) cross-section from a level up to a slope, by its height at wall and front, mm.

    >>> wedge_section(800, 0, 0, 600).tolist()
    [[0.0, 0.0], [800.0, 0.0], [800.0, 600.0]]
    """
    ring = [[0.0, low], [depth, low], [depth, at_front], [0.0, at_wall]]
    return np.array([point for k, point in enumerate(ring) if k < 2 or point[1] > low])


def free_stretches(
    room: Sequence[CeilingCell], solids: Sequence[Convex], line: Floats, section: Floats
) -> Floats:
    """(m, 2) where along a line a cross-section is free of solids and inside the room, mm.

    line : (2, 2) plan, mm    start and end; the room lies to the left
    section : (n, 2) convex and counter-clockwise in (distance from the line, level), mm

    Stretches are open intervals in order; touching does not part them. Raises GeometryError for
    a line without length or a section without area.

    >>> square = np.array([[0, 0], [4000, 0], [4000, 3000], [0, 3000.0]])
    >>> room = [CeilingCell(square, 0.0, np.array([0.0, 0.5, 1000.0]))]
    >>> pillar = box([1000, 100, 0], [1200, 300, 2500])
    >>> free_stretches(room, [pillar], square[:2], shelf_section(400, 300, 900)).tolist()
    [[0.0, 1000.0], [1200.0, 4000.0]]
    """
    ends = np.asarray(line, dtype=np.float64)
    length = float(np.linalg.norm(ends[1] - ends[0]))
    around = surround(room, margin=_FAR + length)
    bodies = [*around.solids, *(box(row[:3], row[3:]) for row in around.boxes), *solids]
    walls = _sides(np.asarray(section, dtype=np.float64))
    blocked = [(-np.inf, 0.0), (length, np.inf)]
    for solid in bodies:
        stretch = _blocked(_turned(solid, ends), walls)
        if stretch is not None:
            blocked.append(stretch)
    free, reached = [], -np.inf
    for start, stop in sorted(blocked):
        if start > reached + _INSIDE and reached > -np.inf:
            free.append((reached, start))
        reached = max(reached, stop)
    return np.array(free).reshape(-1, 2)


def longest_run(
    room: Sequence[CeilingCell], solids: Sequence[Convex], line: Floats, section: Floats
) -> tuple[float, float] | None:
    """Longest free stretch of a line for a cross-section, the first of equals; None without any."""
    free = free_stretches(room, solids, line, section)
    if not len(free):
        return None
    start, stop = free[int(np.argmax(free[:, 1] - free[:, 0]))]
    return float(start), float(stop)


def largest_front(
    room: Sequence[CeilingCell],
    solids: Sequence[Convex],
    line: Floats,
    depth: float,
    *,
    count: int = 1,
    wanted: Wanted | None = None,
) -> EmptyBoxes:
    """Shelf runs of one depth with the largest front, length times height, each one exact.

    line : (2, 2) plan, mm    start and end; the room lies to the left
    depth : mm, from the line into the room
    wanted : smallest length and height as its x and z, reach limits; levels as in the room

    Boxes come back in the line's own axes: along it, away from it, up.

    >>> square = np.array([[0, 0], [4000, 0], [4000, 3000], [0, 3000.0]])
    >>> room = [CeilingCell(square, 0.0, np.array([0.0, 0.5, 1000.0]))]
    >>> largest_front(room, [box([0, 0, 0], [500, 500, 900])], square[:2], 400).boxes.tolist()
    [[500.0, 0.0, 0.0, 4000.0, 400.0, 1000.0]]
    """
    ends = np.asarray(line, dtype=np.float64)
    along, inward = _axes(ends)
    cells = []
    for cell in room:
        slope = np.asarray(cell.plane[:2], dtype=np.float64)
        plan = (cell.plan - ends[0]) @ np.column_stack([along, inward])
        level = float(cell.plane[2] + slope @ ends[0])
        cells.append(
            CeilingCell(plan, cell.floor, np.array([slope @ along, slope @ inward, level]))
        )
    limits = surround(cells)
    length = float(np.linalg.norm(ends[1] - ends[0]))
    low, high = limits.low - _FAR, limits.high + _FAR
    past = [[*low, 0.0, *high[1:]], [length, *low[1:], *high]]
    beyond = np.array([row for row in past if row[3] > row[0]]).reshape(-1, 6)
    wish = wanted or Wanted()
    wish = replace(wish, from_to=(0.0, depth), smallest=(wish.smallest[0], 1e-3, wish.smallest[2]))
    turned = [_turned(solid, ends) for solid in solids]
    return largest_empty_boxes(cells, beyond, turned, count=count, wanted=wish)


def _axes(ends: Floats) -> tuple[Floats, Floats]:
    along = ends[1] - ends[0]
    length = float(np.linalg.norm(along))
    if length <= 0:
        raise GeometryError("a run needs a line with length")
    unit = along / length
    return unit, np.array([-unit[1], unit[0]])


def _turned(solid: Convex, ends: Floats) -> Convex:
    """The solid in the line's axes."""
    if solid.worlds != 1:
        raise GeometryError("runs are looked for in one world at a time")
    corners = solid.corners.copy()
    corners[..., :2] = (solid.corners[..., :2] - ends[0]) @ np.column_stack(_axes(ends))
    return Convex(corners, solid.faces)


def _sides(section: Floats) -> Floats:
    """(n, 3) inward unit normals and offsets of the cross-section's sides, drawn in a little."""
    along = np.roll(section, -1, axis=0) - section
    size = np.linalg.norm(along, axis=1)
    inward = np.column_stack([-along[:, 1], along[:, 0]])[size > 0] / size[size > 0, None]
    offsets = np.einsum("ij,ij->i", inward, section[size > 0]) + _INSIDE
    turned = section[:, 0] @ np.roll(section[:, 1], -1) - section[:, 1] @ np.roll(section[:, 0], -1)
    if turned <= 0:
        raise GeometryError("a cross-section must have area and run counter-clockwise")
    return np.column_stack([inward, offsets])


def _blocked(solid: Convex, walls: Floats) -> tuple[float, float] | None:
    """Stretch of the line over which a solid is inside the cross-section; None when it is not.

    The part inside ends, along the line, at points of the solid's own faces: the cross-section
    drawn without end has no ends of its own.
    """
    corners = solid.corners[0]
    inside = corners[:, 1:] @ walls[:, :2].T - walls[:, 2]
    if (inside.max(axis=0) <= 0).any():
        return None
    reached: list[float] = []
    for ring in solid.faces.rings:
        face = corners[list(ring)]
        for wall in walls:
            face = _clipped(face, face[:, 1:] @ wall[:2] - wall[2])
            if not len(face):
                break
        reached += face[:, 0].tolist()
    return (min(reached), max(reached)) if reached else None


def _clipped(ring: Floats, inside: Floats) -> Floats:
    """The part of a ring where a linear function, given at its corners, is not negative."""
    kept = []
    for k in range(len(ring)):
        here, there = inside[k], inside[(k + 1) % len(ring)]
        if here >= 0:
            kept.append(ring[k])
        if here * there < 0:
            kept.append(ring[k] + (ring[(k + 1) % len(ring)] - ring[k]) * (here / (here - there)))
    return np.array(kept).reshape(-1, 3)
