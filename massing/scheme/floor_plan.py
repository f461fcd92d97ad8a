"""What stands in the way at a height: a layout and a height band in, plan rings with names out.

Everything is exact in plan. Which parts meet the band is decided in the nominal world; their
rings then carry every world. A part that is no upright prism is cut to the band in the nominal
world, and its ring follows the part's middle in the others.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from massing.geometry.clip import clip_solid
from massing.geometry.outline import outline_of, plan_hull
from massing.geometry.polygons import Ring, area, overlap, side_lines, split
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.shape import Fabric, FloorPiece, Room
from massing.scheme.extents import extents_of
from massing.scheme.layout import Layout, Leaf

__all__ = ["Block", "Walker", "leaf_block", "met_between", "walkers_plan"]

_THIN = 0.02  # mm; a step too high to climb is a barrier this thick on the step's edge
_SPECK = 1.0  # mm²; smaller pieces of low ceiling are rounding


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A convex piece of plan that is taken.

    name : the item, fabric or leaf it belongs to, "ceiling" or "floor step"
    kind : "body", "fabric", "leaf", "ceiling" or "step"; ring : (worlds, n, 2)
    """

    name: str
    kind: str
    ring: Floats


@dataclass(frozen=True, slots=True)
class Walker:
    """Someone on foot, mm.

    headroom : clear height wanted above the local floor
    over : things no higher than this are stepped over; rise : floor steps up to this are climbed
    """

    headroom: float
    over: float
    rise: float


def walkers_plan(layout: Layout, walker: Walker) -> tuple[Block, ...]:
    """Everything a walker cannot go through, in every world; room leaves are not in it.

    Things marked passable (mats, chairs) do not count, nor does the head over a partition's own
    door, which people duck under as they do at the room's doors.

    On each level of the floor the height band is measured from that level.
    """
    return layout.kept(walker, lambda layout: _walkers_plan(layout, walker))


def _walkers_plan(layout: Layout, walker: Walker) -> tuple[Block, ...]:
    room, parts = layout.room, extents_of(layout)
    levels = sorted({float(floor.level[0]) for floor in room.floors})
    owners = [layout.items[number] for number in parts.owner.tolist()]
    found: list[Block] = []
    for level in levels:
        low, high = level + walker.over, level + walker.headroom
        # On one level nothing lies on another, and nothing is cut.
        pieces = tuple(f for f in room.floors if float(f.level[0]) == level and len(levels) > 1)
        met = (parts.high[0, :, 2] > low + TOUCH) & (parts.low[0, :, 2] < high - TOUCH)
        blocks = [
            Block(owners[k].name, "body", ring)
            for k in np.flatnonzero(met).tolist()
            if not owners[k].spec.passable
            and (ring := _outline_between(parts.solids[k], low, high)) is not None
        ]
        blocks += _of_room(room, low, high, bare=True)
        found.extend(_on_level(blocks, pieces, room.worlds))
    return (*found, *_barriers(room, walker.rise))


def _on_level(blocks: list[Block], pieces: tuple[FloorPiece, ...], worlds: int) -> Iterator[Block]:
    """Blocks cut to some pieces of floor; without pieces as they are."""
    if not pieces or not blocks:
        yield from blocks
        return
    first = np.cumsum([0, *(block.ring.shape[1] for block in blocks[:-1])])
    corners = np.concatenate([block.ring[0] for block in blocks])
    grounds = [Ring.of(piece.polygon) for piece in pieces]
    told = [_how_they_lie(corners, first, ground) for ground in grounds]
    for number, block in enumerate(blocks):
        for ground, (apart, within) in zip(grounds, told, strict=True):
            if apart[number]:
                continue
            if within[number] and len(block.ring) == worlds:
                yield block
                continue
            ring = _spread(Ring.of(block.ring), worlds)
            shared = ring if within[number] else overlap(ring, ground)
            if shared is not None:
                yield Block(block.name, block.kind, shared.points)


def _how_they_lie(corners: Floats, first: Ints, ground: Ring) -> tuple[list[bool], list[bool]]:
    """Which rings, of corners (n, 2) that begin where told, lie beside a piece of floor or in it.

    As ``overlap`` tells it of one after the other: those in it are cut by none of its sides.
    """
    points = ground.points[0]
    lines = np.concatenate(side_lines(Ring(ground.points[:1], ground.sides)))
    off = corners[:, :1] * lines[:, 0] + corners[:, 1:] * lines[:, 1] + lines[:, 2]
    least, most = np.minimum.reduceat(off, first), np.maximum.reduceat(off, first)
    low, high = np.minimum.reduceat(corners, first), np.maximum.reduceat(corners, first)
    beside = (high <= points.min(axis=0) + EXACT) | (points.max(axis=0) <= low + EXACT)
    cut = least < -EXACT
    apart = np.any(beside, axis=1) | np.any(cut & (most <= EXACT), axis=1)
    return apart.tolist(), (~np.any(cut, axis=1)).tolist()


def met_between(
    layout: Layout, low: float, high: float, *, without: str = "", bare: bool = False
) -> Iterator[Block]:
    """Bodies, fabric, low ceiling and high floor that something between two levels would meet.

    low, high : z, mm; contact up to ``TOUCH`` is none
    without : name of an item left out; bare : leave out passable items, the floor and the heads
        of partitions' doors as well
    """
    parts, items = extents_of(layout), layout.items
    # A part that reaches no further into the band than to touch it is not met.
    met = (parts.high[0, :, 2] > low + TOUCH) & (parts.low[0, :, 2] < high - TOUCH)
    for number in np.flatnonzero(met).tolist():
        item = items[parts.owner[number]]
        if item.name == without or (bare and item.spec.passable):
            continue
        ring = _outline_between(parts.solids[number], low, high)
        if ring is not None:
            yield Block(item.name, "body", ring)
    yield from _of_room(layout.room, low, high, bare=bare)


def _of_room(room: Room, low: float, high: float, *, bare: bool) -> Iterator[Block]:
    for fabric in room.fabric:
        for solid in fabric.parts:
            ring = _slab(solid, low, high)
            if ring is not None and not (bare and _over_a_door(room, fabric, solid)):
                yield Block(fabric.name, "fabric", ring)
    yield from _low_ceiling(room, high)
    if not bare:
        for floor in room.floors:
            if float(floor.level[0]) > low + TOUCH:
                yield Block("floor step", "step", floor.polygon)


def leaf_block(leaf: Leaf, angle: float) -> Block:
    """A room door's leaf standing open by an angle, radians."""
    cos, sin = np.cos(angle * leaf.swing), np.sin(angle * leaf.swing)
    along = leaf.shut @ np.array([[cos, sin], [-sin, cos]])
    back = leaf.swing * np.stack([along[:, 1], -along[:, 0]], axis=1)
    thick = np.maximum(leaf.thickness, _THIN)[:, None]
    tip = leaf.pin + along * leaf.width[:, None]
    ring = np.stack([leaf.pin, tip, tip + back * thick, leaf.pin + back * thick], axis=1)
    return Block(leaf.name, "leaf", ring if float(area(ring[:1])[0]) > 0.0 else ring[:, ::-1])


def _spread(ring: Ring, worlds: int) -> Ring:
    return Ring(np.broadcast_to(ring.points, (worlds, *ring.points.shape[1:])), ring.sides)


def _slab(solid: Convex, low: float, high: float) -> Floats | None:
    """(worlds, n, 2) plan outline of the part of a solid between two levels."""
    if float(solid.high[0, 2]) <= low + TOUCH or float(solid.low[0, 2]) >= high - TOUCH:
        return None
    return _outline_between(solid, low, high)


def _outline_between(solid: Convex, low: float, high: float) -> Floats | None:
    """The same of a solid that comes between them."""
    if solid.faces.upright:
        return outline_of(solid)
    # In one world it is kept: while one thing is moved about, the others stay as they are.
    return _kept_cut(solid, low, high) if solid.worlds == 1 else _cut_between(solid, low, high)


@lru_cache(maxsize=1024)
def _kept_cut(solid: Convex, low: float, high: float) -> Floats | None:
    return _cut_between(solid, low, high)


def _cut_between(solid: Convex, low: float, high: float) -> Floats | None:
    corners = solid.corners[:1]
    if not _straight_up(corners[0]):
        planes = np.array([[0.0, 0.0, 1.0, high], [0.0, 0.0, -1.0, -low]])
        found = clip_solid(solid.world(0), planes)
        if found is None:
            return None
        corners = found.corners
    middle = solid.corners.mean(axis=1)[:, None, :2]
    return np.asarray(plan_hull(corners[:, :, :2]) + (middle - middle[:1]))


def _straight_up(corners: Floats) -> bool:
    """Whether corners (n, 3) are a ring and the same ring lifted to one level, to the last bit.

    Any level slab of such a solid has that ring for its outline, whatever its faces are called.
    """
    half = len(corners) // 2
    low, high = corners[:half], corners[half:]
    flat = bool((low[:, 2] == low[0, 2]).all() and (high[:, 2] == high[0, 2]).all())
    return len(corners) == 2 * half and flat and bool((low[:, :2] == high[:, :2]).all())


def _over_a_door(room: Room, fabric: Fabric, solid: Convex) -> bool:
    """Whether a part of a partition is the head over one of its own doors."""
    heads = [
        float(door.sill[0] + door.height[0])
        for door in room.openings
        if door.kind == "door" and door.wall.startswith(f"{fabric.name} ")
    ]
    return fabric.kind == "partition" and any(
        float(solid.low[0, 2]) >= head - TOUCH for head in heads
    )


def _low_ceiling(room: Room, high: float) -> Iterator[Block]:
    """Parts of the ceiling lower than a level, one a plane that dips below it."""
    for piece in room.ceilings:
        for k in range(piece.planes.shape[1]):
            line = piece.planes[:, k].copy()
            line[:, 2] += TOUCH - high
            size = np.linalg.norm(line[:, :2], axis=1)
            if float(size[0]) < 1e-12:
                if float(line[0, 2]) < 0.0:
                    yield Block("ceiling", "ceiling", piece.polygon)
                continue
            under = split(Ring.of(piece.polygon), line / size[:, None])[1]
            if under is not None and float(area(under.points)[0]) > _SPECK:
                yield Block("ceiling", "ceiling", under.points)


def _barriers(room: Room, rise: float) -> Iterator[Block]:
    """Edges between two levels of floor that are too far apart to step, in the nominal world."""
    for one, other in combinations(room.floors, 2):
        if abs(float(one.level[0] - other.level[0])) <= rise + TOUCH:
            continue
        edge = _shared_edge(one.polygon[0], other.polygon[0])
        if edge is None:
            continue
        way = (edge[1] - edge[0]) / float(np.hypot(*(edge[1] - edge[0])))
        aside = np.array([-way[1], way[0]]) * _THIN / 2.0
        ring = np.stack([edge[0] - aside, edge[1] - aside, edge[1] + aside, edge[0] + aside])
        yield Block("floor step", "step", ring[None])


def _shared_edge(one: Floats, other: Floats) -> Floats | None:
    """The two ends (2, 2) of the length of boundary two disjoint convex rings share, or None."""
    best: Floats | None = None
    for a, b in zip(one, np.roll(one, -1, axis=0), strict=True):
        size = float(np.hypot(*(b - a)))
        way = (b - a) / size
        off = (other - a) @ np.array([-way[1], way[0]])
        on = np.flatnonzero(np.abs(off) <= 10 * TOUCH)
        if len(on) < 2:
            continue
        along = np.clip((other[on] - a) @ way, 0.0, size)
        if float(np.ptp(along)) > TOUCH:
            best = np.stack([a + way * along.min(), a + way * along.max()])
    return best
