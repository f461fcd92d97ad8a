"""Which wedges under a slope are unused: a layout and rules in, runs along eaves out.

A wedge lies on the floor against a low wall and reaches up to the slope: a prism along the wall
whose cross-section is a triangle or a trapezium, what one would board off and hang doors on. Each
is exact for its depth; depths are tried at every corner of what stands near and at every break of
floor and ceiling, so where things lie square to the wall none is larger. Along a wall a little
askew to its slope the height at the lower end counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from massing.checks.rules import Rules
from massing.checks.words import mm
from massing.geometry.outline import counter_clockwise
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.space.empty_boxes_room import CeilingCell
from massing.geometry.space.empty_runs import free_stretches, wedge_section
from massing.room.shape import Room, Wall
from massing.scheme.layout import Layout
from massing.voids.space import room_cells, taken_up

__all__ = ["Wedge", "eaves_wedges", "wedge_words"]

_APART = 1e-6  # mm; depths nearer than this are one
_STEEP = 0.02  # rise a mm; a ceiling that rises less is as good as level
_ASKEW = 0.05  # of its rise into the room that a slope may rise along the wall


@dataclass(frozen=True, slots=True)
class Wedge:
    """A prism along a wall, mm.

    start, stop : along the wall from its left end, as you face it from inside
    low : z of its base; depth : from the wall into the room
    at_wall, at_front : its height at the wall, 0 for a triangle, and at its front
    """

    wall: str
    start: float
    stop: float
    low: float
    depth: float
    at_wall: float
    at_front: float

    @property
    def volume(self) -> float:
        """In mm³."""
        return (self.stop - self.start) * self.depth * (self.at_wall + self.at_front) / 2.0


def eaves_wedges(
    layout: Layout,
    rules: Rules,
    *,
    least: tuple[float, float, float] = (600.0, 300.0, 300.0),
    count: int = 2,
) -> tuple[Wedge, ...]:
    """The largest unused wedges along each wall under a slope, the largest of all first.

    least : length, depth and height at the front, mm
    count : at most so many along each wall, one clear of another
    """
    solids = [solid for group in taken_up(layout, rules) for solid in group.solids]
    found: list[Wedge] = []
    for wall in layout.room.walls:
        if not wall.partition:
            found += _along(layout.room, wall, solids, least, count)
    return tuple(sorted(found, key=lambda one: (-round(one.volume, 3), one.wall, one.start)))


def wedge_words(wedge: Wedge) -> str:
    """Where, how long, how deep and how high, mm."""
    rise = f"from {mm(wedge.at_wall)} at the wall to {mm(wedge.at_front)} high"
    return (
        f"{wedge.wall} wall, {mm(wedge.start)} to {mm(wedge.stop)} along: "
        f"{mm(wedge.stop - wedge.start)} x {mm(wedge.depth)} deep, {rise}, at {mm(wedge.low)}"
    )


def _along(
    room: Room,
    wall: Wall,
    solids: Sequence[Convex],
    least: tuple[float, float, float],
    count: int,
) -> Iterator[Wedge]:
    cells = room_cells(room)
    taken = list(solids)
    for _ in range(count):
        best: Wedge | None = None
        for low, at_wall, slope in _slopes(cells, wall):
            feet = [*taken, *_lower(room, low)]
            for depth in _depths(cells, wall, feet):
                front = at_wall + slope * depth
                if depth < least[1] or front < least[2]:
                    continue
                one = _longest(cells, wall, feet, (low, depth, at_wall, front))
                if one is not None and one.stop - one.start >= least[0]:
                    best = one if best is None or one.volume > best.volume + 1.0 else best
        if best is None:
            return
        yield best
        taken.append(_filled(wall, best))


def _slopes(cells: Sequence[CeilingCell], wall: Wall) -> list[tuple[float, float, float]]:
    """Base, height over it at the wall and rise a mm into the room, of each slope over a wall."""
    along, inward = wall.along[0], -wall.outward[0]
    found = set()
    for cell in cells:
        way = np.array(cell.plane[:2])
        rise = float(way @ inward)
        if rise < _STEEP or abs(float(way @ along)) > _ASKEW * rise or not _touches(cell, wall):
            continue
        ends = np.array([wall.left[0], wall.right[0]])
        height = float((ends @ way).min() + cell.plane[2]) - cell.floor
        if height > -_APART:
            found.add((cell.floor, round(max(height, 0.0), 9), round(rise, 12)))
    return sorted(found)


def _touches(cell: CeilingCell, wall: Wall) -> bool:
    """Whether a side of a cell's plan lies on the wall's face."""
    off = (wall.left[0] - cell.plan) @ wall.outward[0]
    along = (cell.plan - wall.left[0]) @ wall.along[0]
    on = along[np.abs(off) <= 1e-3]
    inside = np.minimum(on, float(wall.length[0])) if len(on) else on
    return len(on) >= 2 and float(inside.max() - max(float(on.min()), 0.0)) > 1.0


def _lower(room: Room, low: float) -> Iterator[Convex]:
    """A skin over floors lower than a level, on which nothing at that level can stand."""
    for floor in room.floors:
        if float(floor.level[0]) < low - _APART:
            yield prism(floor.polygon[:1], float(floor.level[0]), low + 1.0)


def _depths(cells: Sequence[CeilingCell], wall: Wall, solids: Sequence[Convex]) -> list[float]:
    """How far corners of things and of the room's breaks are from the wall, rising."""
    points = [cell.plan for cell in cells] + [solid.corners[0][:, :2] for solid in solids]
    off = (wall.left[0] - np.concatenate(points)) @ wall.outward[0]
    kept: list[float] = []
    for far in sorted(off[off > _APART].tolist()):
        if not kept or far > kept[-1] + _APART:
            kept.append(far)
    return kept


def _longest(
    cells: Sequence[CeilingCell],
    wall: Wall,
    solids: Sequence[Convex],
    size: tuple[float, float, float, float],
) -> Wedge | None:
    """The longest free stretch of the wall for a wedge of one base, depth and heights."""
    low, depth, at_wall, front = size
    line = np.array([wall.right[0], wall.left[0]])  # the room lies to the left of this walk
    section = wedge_section(depth, low, low + at_wall, low + front)
    free = free_stretches(cells, solids, line, section)
    if not len(free):
        return None
    start, stop = free[int(np.argmax(free[:, 1] - free[:, 0]))].tolist()
    length = float(wall.length[0])
    return Wedge(wall.name, length - stop, length - start, low, depth, at_wall, front)


def _filled(wall: Wall, wedge: Wedge) -> Convex:
    """An upright block over a wedge's plan, so that the next keeps clear of it."""
    ends = np.array([wedge.start, wedge.stop])
    points: list[Floats] = [wall.left[0] + along * wall.along[0] for along in ends]
    inner = [point - wedge.depth * wall.outward[0] for point in points]
    ring = counter_clockwise(np.array([points[1], points[0], inner[0], inner[1]]))
    return prism(ring, wedge.low, wedge.low + wedge.at_front)
