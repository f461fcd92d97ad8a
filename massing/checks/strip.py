"""What stands in the strip of floor or air before a face: a layout in, stretches along it out.

The question of working space, of an arm's reach and of the floor before a way out is the same:
how far along a face stays free, to a depth and between two heights.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.outline import counter_clockwise, outline_of
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Room, Wall
from massing.scheme.ground import level_under
from massing.scheme.layout import Layout, Placed

__all__ = [
    "FAR",
    "Band",
    "Stretch",
    "Strip",
    "free_runs",
    "item_strip",
    "stretches",
    "wall_strip",
]

FAR = 4000.0  # mm; further off nothing narrows it
Stretch = tuple[str, float, float]
"""A name, and from where to where along the strip it takes, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """The strip before a face in its own plan axes: x along it from its left end, y outward.

    corner : (2,) plan point of its left end; along, out : (2,) unit vectors; width of the face
    """

    corner: Floats
    along: Floats
    out: Floats
    width: float

    def own(self, points: Floats) -> Floats:
        """Plan points (n, 2) in the strip's axes."""
        off = points - self.corner
        return np.stack([off @ self.along, off @ self.out], axis=1)

    def room(self, points: Floats) -> Floats:
        """The other way round."""
        return self.corner + points[:, :1] * self.along + points[:, 1:] * self.out

    def rectangle(self, left: float, right: float, depth: float) -> Floats:
        """(4, 2) counter-clockwise plan corners of a part of the strip, in the room's axes."""
        own = np.array([[left, 0.0], [right, 0.0], [right, depth], [left, depth]])
        return counter_clockwise(self.room(own))

    def level(self, room: Room, depth: float, world: int) -> float:
        """Height of the highest floor under the strip before the face itself, z, mm."""
        return float(level_under(room, self.rectangle(0.0, self.width, depth)[None])[world])


@dataclass(frozen=True, slots=True)
class Band:
    """How deep a strip is looked at, and between which z, mm."""

    depth: float
    low: float
    high: float


def item_strip(item: Placed, side: str, world: int) -> Strip:
    """The strip on one side of the body's bounds, seen along the item's own axes."""
    yaw = float(item.yaw[min(world, len(item.yaw) - 1)])
    cos, sin = np.cos(yaw), np.sin(yaw)
    out = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
    x, y = out[side]
    outward = np.array([cos * x - sin * y, sin * x + cos * y])
    along = np.array([-outward[1], outward[0]])
    corners = np.concatenate([_corners(part.solid, world)[:, :2] for part in item.parts])
    reach = corners @ along
    corner = along * reach.min() + outward * (corners @ outward).max()
    return Strip(corner, along, outward, float(np.ptp(reach)))


def wall_strip(wall: Wall, left: float, width: float, world: int) -> Strip:
    """The strip inside a wall, before a part of it that begins so far from its left end."""
    corner = wall.left[world] + left * wall.along[world]
    return Strip(corner, wall.along[world], -wall.outward[world], width)


def _corners(solid: Convex, world: int) -> Floats:
    return np.asarray(solid.corners[min(world, solid.worlds - 1)])


def stretches(
    layout: Layout, without: frozenset[str], strip: Strip, band: Band, world: int
) -> Iterator[Stretch]:
    """Stretches along the strip that something takes, with its name.

    Bodies (those named in ``without`` and those one walks on left out), fabric, the ceiling,
    walls and higher floor. Contact shallower than TOUCH takes nothing.
    """
    block = prism(strip.rectangle(-FAR, strip.width + FAR, band.depth), band.low, band.high)
    for name, solid in _solids(layout, without, world):
        yield from _stretch(name, solid, block, strip)
    for ceiling in layout.room.ceilings:
        for solid in _ceiling_dip(ceiling.polygon, ceiling.planes, world, band.high):
            yield from _stretch("the ceiling", solid, block, strip)
    for piece in layout.room.outside:
        names = " and ".join(layout.room.walls[number].name for number in piece.walls)
        ring = piece.polygon[min(world, len(piece.polygon) - 1)]
        wall = prism(ring, band.low - 1.0, band.high + 1.0)
        yield from _stretch(f"the {names} wall", wall, block, strip)
    for floor in layout.room.floors:
        step = float(floor.level[min(world, len(floor.level) - 1)])
        if step > band.low + TOUCH:
            ring = floor.polygon[min(world, len(floor.polygon) - 1)]
            yield from _stretch("the step", prism(ring, band.low - 1.0, step), block, strip)


def free_runs(taken: list[Stretch], width: float) -> list[tuple[float, float, str, str]]:
    """What is left between the stretches taken: from, to, and what ends it left and right.

    >>> free_runs([("bin", 100.0, 300.0)], 500.0)
    [(-4000.0, 100.0, '', 'bin'), (300.0, 4500.0, 'bin', '')]
    """
    runs, start, before = [], -FAR, ""
    for name, low, high in sorted(taken, key=lambda stretch: (stretch[1], stretch[2], stretch[0])):
        if low > start + TOUCH:
            runs.append((start, low, before, name))
        if high > start:
            start, before = high, name
    if width + FAR > start + TOUCH:
        runs.append((start, width + FAR, before, ""))
    return runs


def _solids(layout: Layout, without: frozenset[str], world: int) -> Iterator[tuple[str, Convex]]:
    for other in layout.items:
        if other.name not in without and not other.spec.passable:
            for part in other.parts:
                yield other.name, part.solid.world(min(world, part.solid.worlds - 1))
    for fabric in layout.room.fabric:
        for solid in fabric.parts:
            yield fabric.name, solid.world(min(world, solid.worlds - 1))


def _ceiling_dip(polygon: Floats, planes: Floats, world: int, top: float) -> Iterator[Convex]:
    """What hangs below a level over one ceiling piece: the block over it, above each plane."""
    ring = polygon[min(world, len(polygon) - 1)]
    heights = planes[min(world, len(planes) - 1)] @ np.column_stack([ring, np.ones(len(ring))]).T
    if float(heights.min()) >= top:
        return
    block = prism(ring, -FAR, top + 1.0)
    for plane in planes[min(world, len(planes) - 1)]:
        over = clip_solid(block, np.array([[plane[0], plane[1], -1.0, -plane[2]]]))
        if over is not None:
            yield over


def _stretch(
    name: str, solid: Convex, block: Convex, strip: Strip
) -> Iterator[tuple[str, float, float]]:
    """The stretch of the strip a solid takes, where it comes into the block by more than touch."""
    if np.any(solid.high[0] <= block.low[0]) or np.any(solid.low[0] >= block.high[0]):
        return
    if float(signed_gaps([solid, block], np.array([[0, 1]])).gap[0, 0]) >= -TOUCH:
        return
    found = clip_solid(solid, _inside(block))
    if found is None:
        return
    own = strip.own(outline_of(found)[0])
    yield name, float(own[:, 0].min()), float(own[:, 0].max())


def _inside(block: Convex) -> Floats:
    low, high = float(block.low[0, 2]), float(block.high[0, 2])
    ends = np.array([[0.0, 0.0, 1.0, high], [0.0, 0.0, -1.0, -low]])
    return np.vstack([prism_planes(outline_of(block)[0]), ends])
