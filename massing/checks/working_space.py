"""Is there room to work on a thing, centred or to one side: a layout in, free widths out.

The space need not be centred on the thing unless its entry says so; it may be shared with a
neighbour's. So the question has one dimension: how far the floor before it stays free to the
left and to the right, at the depth and height asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading
from massing.checks.words import mm
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.gaps import signed_gaps
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.items.spec import WorkingSpaceSpec
from massing.scheme.ground import level_under
from massing.scheme.layout import Layout, Placed

__all__ = ["CHECK", "free_width", "read"]

CHECK = "working space"
_FAR = 4000.0  # mm; further off nothing narrows it


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """The strip before a thing in its own plan axes: x along it from its left end, y outward.

    corner : (2,) plan point of its left end; along, out : (2,) unit vectors; width of the thing
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


def read(context: Context) -> Iterator[Reading]:
    """Readings of the width free before each thing that asks for working space.

    The width is found world by world: what narrows it may change from one to the next.
    """
    for item in context.items:
        spec = item.spec.working_space
        if spec is None:
            continue
        worlds = range(context.layout.worlds)
        widths = np.array([free_width(context.layout, item, spec, world)[0] for world in worlds])
        need = np.maximum(float(spec.width), _front(item, spec, 0).width)
        yield Reading(
            check=CHECK,
            items=(item.name,),
            gap=widths,
            needs=float(need),
            detail=_later(context.layout, item, spec, float(widths[0]), float(need)),
            noted=True,
            source=item.spec.basis.get("working space", "the item's own entry"),
        )


def _later(
    layout: Layout, item: Placed, spec: WorkingSpaceSpec, width: float, need: float
) -> Callable[[], Detail]:
    def told() -> Detail:
        _, stops = free_width(layout, item, spec, 0)
        between = " and ".join(dict.fromkeys(name for name in stops if name))
        says = f"{spec.why} before {item.name}: {mm(width)} wide, {mm(need)} asked for"
        if between:
            says += f", between {between}" if width > TOUCH else f", taken by {between}"
        middle = (item.low[0] + item.high[0]) / 2.0
        return Detail(says=says, at=(float(middle[0]), float(middle[1]), float(item.low[0, 2])))

    return told


def free_width(
    layout: Layout, item: Placed, spec: WorkingSpaceSpec, world: int
) -> tuple[float, tuple[str, str]]:
    """Free width that takes in the whole thing, mm, and what ends it left and right.

    A centred space is twice its shorter half. 0 when something stands before the thing itself.
    """
    front = _front(item, spec, world)
    left, right, names = -_FAR, front.width + _FAR, ["", ""]
    for name, low, high in _blocked(layout, item, spec, front, world):
        if high > TOUCH and low < front.width - TOUCH:
            return 0.0, (name, name)
        if high <= TOUCH and high > left:
            left, names[0] = high, name
        elif low >= front.width - TOUCH and low < right:
            right, names[1] = low, name
    if spec.centred:
        half = min(front.width / 2.0 - left, right - front.width / 2.0)
        return 2.0 * half, (names[0], names[1])
    return right - left, (names[0], names[1])


def _front(item: Placed, spec: WorkingSpaceSpec, world: int) -> _Front:
    """The strip on the asked side of the body's bounds, seen along the item's own axes."""
    yaw = float(item.yaw[min(world, len(item.yaw) - 1)])
    cos, sin = np.cos(yaw), np.sin(yaw)
    out = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
    x, y = out[spec.side]
    outward = np.array([cos * x - sin * y, sin * x + cos * y])
    along = np.array([-outward[1], outward[0]])
    corners = np.concatenate([_corners(part.solid, world)[:, :2] for part in item.parts])
    reach = corners @ along
    corner = along * reach.min() + outward * (corners @ outward).max()
    return _Front(corner, along, outward, float(np.ptp(reach)))


def _corners(solid: Convex, world: int) -> Floats:
    return np.asarray(solid.corners[min(world, solid.worlds - 1)])


def _blocked(
    layout: Layout, item: Placed, spec: WorkingSpaceSpec, front: _Front, world: int
) -> Iterator[tuple[str, float, float]]:
    """Stretches along the strip that something takes, with its name."""
    depth = float(spec.depth)
    strip = np.array([[-_FAR, 0.0], [front.width + _FAR, 0.0]])
    strip = np.vstack([strip, [[front.width + _FAR, depth], [-_FAR, depth]]])
    here = np.array([[0.0, 0.0], [front.width, 0.0], [front.width, depth], [0.0, depth]])
    level = float(level_under(layout.room, _ccw(front.room(here))[None])[0])
    top = max(level + float(spec.height), float(item.high[min(world, len(item.high) - 1), 2]))
    block = prism(_ccw(front.room(strip)), level, top)
    for name, solid in _solids(layout, item, world):
        yield from _stretch(name, solid, block, front)
    for ceiling in layout.room.ceilings:
        for solid in _ceiling_dip(ceiling.polygon, ceiling.planes, world, top):
            yield from _stretch("the ceiling", solid, block, front)
    for piece in layout.room.outside:
        names = " and ".join(layout.room.walls[number].name for number in piece.walls)
        ring = piece.polygon[min(world, len(piece.polygon) - 1)]
        yield from _stretch(f"the {names} wall", prism(ring, level - 1.0, top + 1.0), block, front)
    for floor in layout.room.floors:
        step = float(floor.level[min(world, len(floor.level) - 1)])
        if step > level + TOUCH:
            ring = floor.polygon[min(world, len(floor.polygon) - 1)]
            yield from _stretch("the step", prism(ring, level - 1.0, step), block, front)


def _ccw(ring: Floats) -> Floats:
    x, y = ring[:, 0], ring[:, 1]
    return ring if float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) > 0 else ring[::-1]


def _solids(layout: Layout, item: Placed, world: int) -> Iterator[tuple[str, Convex]]:
    for other in layout.items:
        if other.name != item.name and not other.spec.passable:
            for part in other.parts:
                yield other.name, part.solid.world(min(world, part.solid.worlds - 1))
    for fabric in layout.room.fabric:
        for solid in fabric.parts:
            yield fabric.name, solid.world(min(world, solid.worlds - 1))


def _ceiling_dip(polygon: Floats, planes: Floats, world: int, top: float) -> Iterator[Convex]:
    """What hangs below a level over one ceiling piece: the block over it, above each plane."""
    ring = polygon[min(world, len(polygon) - 1)]
    block = prism(ring, -_FAR, top + 1.0)
    for plane in planes[min(world, len(planes) - 1)]:
        over = clip_solid(block, np.array([[plane[0], plane[1], -1.0, -plane[2]]]))
        if over is not None:
            yield over


def _stretch(
    name: str, solid: Convex, block: Convex, front: _Front
) -> Iterator[tuple[str, float, float]]:
    """The stretch of the strip a solid takes, where it comes into the block by more than touch."""
    if float(signed_gaps([solid, block], np.array([[0, 1]])).gap[0, 0]) >= -TOUCH:
        return
    found = clip_solid(solid, _inside(block))
    if found is None:
        return
    own = front.own(outline_of(found)[0])
    yield name, float(own[:, 0].min()), float(own[:, 0].max())


def _inside(block: Convex) -> Floats:
    low, high = float(block.low[0, 2]), float(block.high[0, 2])
    ends = np.array([[0.0, 0.0, 1.0, high], [0.0, 0.0, -1.0, -low]])
    return np.vstack([prism_planes(outline_of(block)[0]), ends])
