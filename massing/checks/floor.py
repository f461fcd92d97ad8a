"""Does a body pass into the floor, or straddle a step: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.words import litres, mm
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.vertical import apart_in_plan, gap_below, stepped_gap
from massing.geometry.outline import outline_of
from massing.geometry.overlap import taken_up
from massing.geometry.polygons import Ring, area, overlap, side_lines
from massing.geometry.solids import Convex, Floats, spread
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.shape import FloorPiece, Room
from massing.scheme.extents import extents_of
from massing.scheme.ground import overlaps
from massing.scheme.layout import Layout, Placed

__all__ = [
    "CHECK",
    "SUPPORT",
    "floor_gap",
    "on_one_level",
    "read",
    "read_support",
    "rests",
    "surely_above",
]

CHECK = "floor"
SUPPORT = "support"
SOURCE = "geometry: measured straight down"
_ROUNDING = 1e-9  # of a share
_LEVEL = 5.0  # mm; a base so near a top is meant to stand on it


def read(context: Context) -> Iterator[Reading]:
    """Readings of every body against each floor level under it."""
    layout = context.layout
    floors = layout.room.floors
    sure = [surely_above(layout, floor) for floor in floors]
    parts = extents_of(layout)
    for number, item in enumerate(layout.items):
        if not context.wanted(item.name):
            continue
        own = parts.parts(number)
        standing = item.footing == "floor"
        for floor, above in zip(floors, sure, strict=True):
            if float(above[own].min()) >= (-TOUCH if standing else context.reach + EXACT):
                continue
            gap = _least_gap(item, floor, above[own])
            if float(gap.min()) < -TOUCH or (
                abs(float(gap[0])) > TOUCH and float(gap.min()) <= context.reach and not standing
            ):
                yield _reading(layout.room, item, floor, gap)


def surely_above(layout: Layout, floor: FloorPiece) -> Floats:
    """(parts,) what every part of a body certainly keeps from a level of the floor, mm.

    Never more than ``floor_gap`` in any world: over the level a gap is straight down, and beside it
    no less than the plan distance, or than the height where that is above.
    """
    parts = extents_of(layout)
    down = (parts.low[:, :, 2] - floor.level[:, None]).min(axis=0)
    under, over = floor.polygon.min(axis=(0, 1)), floor.polygon.max(axis=(0, 1))
    beside = np.maximum(parts.least[:, :2] - over, under - parts.most[:, :2]).max(axis=1)
    return np.asarray(np.maximum(down, np.where(beside > EXACT, beside - EXACT, -np.inf)))


def _least_gap(item: Placed, floor: FloorPiece, above: Floats) -> Floats:
    """(worlds,) least gap of an item's parts to a level, those that cannot be nearest left out."""
    least: Floats | None = None
    for number in np.argsort(above, kind="stable").tolist():
        if least is not None and float(above[number]) > float(least.max()):
            break
        gap = floor_gap(item.parts[number].solid, floor)
        least = gap if least is None else np.minimum(least, gap)
    assert least is not None  # noqa: S101
    return least


def floor_gap(solid: Convex, floor: FloorPiece) -> Floats:
    """(worlds,) gap of a solid to one level of the floor: straight down, or level to its edge."""
    over = gap_below(solid, floor.polygon, floor.level)
    if np.isfinite(over).all():
        return over
    plan = polygon_gap(outline_of(solid), floor.polygon).gap
    return stepped_gap(over, solid.low[:, 2] - floor.level, plan)


def _reading(room: Room, item: Placed, floor: FloorPiece, gap: Floats) -> Reading:
    return Reading(
        check=CHECK,
        items=(item.name, floor.name),
        gap=gap,
        detail=lambda: _detail(room, item, floor, float(gap[0])),
        touching=abs(float(gap[0])) <= TOUCH,
        source=SOURCE,
    )


def _detail(room: Room, item: Placed, floor: FloorPiece, gap: float) -> Detail:
    at = _on_floor(item, floor)
    if gap >= -TOUCH:
        return Detail(says=f"{mm(gap)} between {item.name} and the {floor.name}", at=at)
    sunk = sum(_sunk(item, each) for each in room.floors if each.name == floor.name)
    says = f"{item.name} passes {mm(-gap)} into the {floor.name} ({litres(sunk):.1f} L)"
    pushes = () if item.stays else (Push(item.name, (0.0, 0.0, -gap)),)
    return Detail(says=says, at=at, overlap_l=litres(sunk), pushes=pushes)


def _sunk(item: Placed, floor: FloorPiece) -> float:
    """Volume of a body below a piece of floor, mm³."""
    planes = np.vstack([prism_planes(floor.polygon[0]), [[0.0, 0.0, 1.0, float(floor.level[0])]]])
    cut = (clip_solid(part.solid.world(0), planes) for part in item.parts)
    return taken_up([solid for solid in cut if solid is not None])


def _on_floor(item: Placed, floor: FloorPiece) -> tuple[float, float, float]:
    ring = Ring.of(floor.polygon[:1])
    for part in item.parts:
        shared = overlap(Ring.of(outline_of(part.solid)[:1]), ring)
        if shared is not None:
            middle = shared.points[0].mean(axis=0)
            return (float(middle[0]), float(middle[1]), float(item.low[0, 2]))
    return (float(item.low[0, 0]), float(item.low[0, 1]), float(item.low[0, 2]))


def read_support(context: Context) -> Iterator[Reading]:
    """Readings of how much of each standing item's base rests on one level."""
    rules, source = context.rules, context.rules.source("support")
    whole = on_one_level(context.layout, context.focus)
    for number, item in enumerate(context.layout.items):
        if item.footing in {"wall", "ceiling"} or not context.wanted(item.name):
            continue
        share, drop = np.ones(context.layout.worlds), 0.0
        if not whole[number]:
            share, drop = rests(context, item)
        yield Reading(
            check=SUPPORT,
            items=(item.name,),
            gap=100.0 * share,
            needs=rules.support,
            unit="%",
            detail=_later(context, item, float(share[0]), drop),
            source=source,
            weight=Verdict.CONFLICT,
        )


def on_one_level(layout: Layout, focus: frozenset[str] | None = None) -> list[bool]:
    """Which items stand on the floor with all their base over one level of it, and down on that.

    Told by corners in every world: a base that only just lies on its level may be off it where a
    step is not where it was measured. With a focus only of what is in it.
    """
    items, parts = layout.items, extents_of(layout)
    stands, base = np.zeros(len(items), dtype=bool), np.zeros(len(items))
    for number, item in enumerate(items):
        if item.footing == "floor" and (focus is None or item.name in focus):
            stands[number], base[number] = True, item.low[0, 2]
    lowest = stands[parts.owner] & (parts.low[0, :, 2] - base[parts.owner] <= 1.0)
    chosen = np.flatnonzero(lowest).tolist()
    found = np.zeros(len(items), dtype=bool)
    if not chosen:
        return found.tolist()
    corners = [spread(parts.solids[number].corners[:, :, :2], layout.worlds) for number in chosen]
    owner = np.repeat(parts.owner[chosen], [each.shape[1] for each in corners])
    cloud = np.concatenate(corners, axis=1)
    for floor in layout.room.floors:
        lines = np.stack(side_lines(Ring.of(spread(floor.polygon, layout.worlds))), axis=1)
        a, b, c = (lines[:, :, None, k] for k in range(3))
        least = (cloud[:, None, :, 0] * a + cloud[:, None, :, 1] * b + c).min(axis=(0, 1))
        outside = np.bincount(owner[least < -EXACT], minlength=len(items)) > 0
        found |= stands & ~outside & (base - float(floor.level[0]) <= 1.0)
    return found.tolist()


def rests(context: Context, item: Placed) -> tuple[Floats, float]:
    """Share (worlds,) of an item's base that rests on what carries it; the greatest drop, mm."""
    room = context.layout.room
    base = item.low[:, 2]
    lowest = [p for p in item.parts if float(p.solid.low[0, 2] - item.low[0, 2]) <= 1.0]
    rings = [outline_of(part.solid) for part in lowest]
    whole = np.sum([area(ring) for ring in rings], axis=0)
    supports = _carriers(context, item, room)
    bearing = [polygon for polygon, level in supports if float(base[0] - level[0]) <= 1.0]
    drop = 0.0
    for polygon, level in supports:
        fall = float(base[0] - level[0])
        if fall > max(drop, 1.0) and any(_meet(ring, polygon) for ring in rings):
            drop = fall
    if _overlapping(rings) or (item.footing != "floor" and _overlapping(bearing)):
        worlds = range(context.layout.worlds)
        return np.array([_held_once(rings, bearing, world) for world in worlds]), drop
    held = np.zeros(context.layout.worlds)
    for ring in rings:
        for polygon in bearing:
            # In one world what lies apart is soon seen to share nothing.
            if len(ring) == len(polygon) == 1 or not apart_in_plan(ring, polygon):
                held = held + _common_area(ring, polygon)
    share = held / whole
    share = np.where(np.abs(share - 1.0) < _ROUNDING, 1.0, share)
    return np.broadcast_to(share, (context.layout.worlds,)), drop


def _shared(ring: Floats, polygon: Floats) -> Ring | None:
    return overlap(Ring.of(ring), Ring.of(polygon))


def _meet(ring: Floats, polygon: Floats) -> bool:
    """Whether two convex rings share any area in some world."""
    return not apart_in_plan(ring, polygon) and float(_common_area(ring, polygon).max()) > EXACT


def _common_area(ring: Floats, polygon: Floats) -> Floats:
    """(worlds,) plan area two convex rings share, however the one cuts the other in each, mm²."""
    worlds = max(len(ring), len(polygon))
    if worlds == 1:
        shared = _shared(ring, polygon)
        return np.zeros(1) if shared is None else np.maximum(area(shared.points), 0.0)
    from shapely import area as area_of
    from shapely import intersection, polygons

    one, other = (polygons(spread(each, worlds)) for each in (ring, polygon))
    return np.asarray(area_of(intersection(one, other)))


def _overlapping(rings: list[Floats]) -> bool:
    """Whether any two of some plan rings share more than contact, nominal world."""
    return any(overlaps(one, other) for one, other in combinations(rings, 2))


def _held_once(rings: list[Floats], bearing: list[Floats], world: int) -> float:
    """Share of a base of parts that lies on tops of parts, each place counted once."""
    from shapely import Polygon, union_all

    base, tops = (
        union_all([Polygon(ring[min(world, len(ring) - 1)]) for ring in each])
        for each in (rings, bearing)
    )
    return float(base.intersection(tops).area / base.area)


def _carriers(context: Context, item: Placed, room: Room) -> list[tuple[Floats, Floats]]:
    """Level tops the item can rest on: the item below it, or the floors."""
    if item.footing == "floor":
        return [(f.polygon, np.broadcast_to(f.level, (room.worlds,))) for f in room.floors]
    below = context.layout.item(item.footing)
    return [
        (outline_of(part.solid), part.solid.high[:, 2])
        for part in below.parts
        if float(below.high[0, 2] - part.solid.high[0, 2]) <= 1.0
    ]


def _later(context: Context, item: Placed, share: float, drop: float) -> Callable[[], Detail]:
    return lambda: _support_detail(context, item, share, drop)


def _support_detail(context: Context, item: Placed, share: float, drop: float) -> Detail:
    at = (
        float((item.low[0, 0] + item.high[0, 0]) / 2),
        float((item.low[0, 1] + item.high[0, 1]) / 2),
        float(item.low[0, 2]),
    )
    if share <= 1e-9:
        return Detail(says=f"{item.name} rests on nothing{_meant(context, item)}", at=at)
    if share >= 1.0 - _ROUNDING:
        says = f"{item.name} stands with all its base borne, only just"
        return Detail(says=says + (f", {mm(drop)} drop beside it" if drop > 0 else ""), at=at)
    span = item.high[0, :2] - item.low[0, :2]
    bare = 1.0 - share
    longest = int(np.argmax(span))
    says = f"{item.name}: {100 * bare:.1f} % of its base is unsupported"
    if item.footing == "floor" and len(context.layout.room.floors) > 1 and drop > 0:
        axis = _step_axis(context, item, longest)
        says = (
            f"{item.name} straddles a step: {mm(bare * float(span[axis]))} of "
            f"{mm(float(span[axis]))} ({100 * bare:.1f} %) unsupported, {mm(drop)} drop"
        )
    return Detail(says=says, at=at, pushes=tuple(_pushes(context, item)))


def _meant(context: Context, item: Placed) -> str:
    """What to write where a thing lies on another's top by its numbers alone."""
    ring = outline_of(item.parts[0].solid)[:1]
    for other in context.layout.items:
        level = abs(float(other.high[0, 2] - item.low[0, 2])) <= _LEVEL
        if (
            level
            and other is not item
            and any(overlaps(ring, outline_of(part.solid)[:1]) for part in other.parts)
        ):
            return f"; to stand it on {other.name}, write on: {other.name}"
    return ""


def _step_axis(context: Context, item: Placed, fallback: int) -> int:
    """Which way the step lies across the item: 0 when it splits it along x, 1 along y."""
    levels = [float(f.level[0]) for f in context.layout.room.floors]
    top = max(levels)
    for floor, level in zip(context.layout.room.floors, levels, strict=True):
        if level != top:
            continue
        low, high = floor.polygon[0].min(axis=0), floor.polygon[0].max(axis=0)
        for axis in (0, 1):
            if item.low[0, axis] < low[axis] < item.high[0, axis]:
                return axis
            if item.low[0, axis] < high[axis] < item.high[0, axis]:
                return axis
    return fallback


def _pushes(context: Context, item: Placed) -> Iterator[Push]:
    """Level moves that bring the whole base onto one level of the floor."""
    if item.stays or item.footing != "floor":
        return
    for floor in context.layout.room.floors:
        low, high = floor.polygon[0].min(axis=0), floor.polygon[0].max(axis=0)
        shift = np.maximum(low - item.low[0, :2], 0.0) + np.minimum(high - item.high[0, :2], 0.0)
        if np.linalg.norm(shift) > TOUCH:
            yield Push(item.name, (float(shift[0]), float(shift[1]), 0.0))
