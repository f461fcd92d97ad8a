"""Is there head height and free floor at each thing in use: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from massing.checks.ahead import things_in, zone_sides
from massing.checks.bodies import free_ways, pushes_apart
from massing.checks.context import Context, Group, Meeting, meetings, things_of
from massing.checks.finding import Detail, Push, Reading
from massing.checks.moved import as_before, may_matter
from massing.checks.strip import item_strip
from massing.checks.words import mm, place, square_metres
from massing.geometry.gaps.vertical import clear_under, ring_gap
from massing.geometry.outline import outline_of
from massing.geometry.polygons import Ring, area, overlap, split
from massing.geometry.solids import Convex, Floats, prism, spread
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.shape import CeilingPiece, FloorPiece, Room
from massing.scheme.ground import floors_under, overlaps
from massing.scheme.layout import Layout, Placed, Zone

__all__ = [
    "HEADROOM",
    "LIGHT",
    "ZONE",
    "grounds",
    "low_area",
    "lowest_point",
    "needed",
    "reached_over",
    "read",
    "read_blocked",
    "surely_spare",
    "zone_airs",
]

HEADROOM = "headroom"
ZONE = "zone"
_OVER = 650.0  # mm; a base unit or a bench so deep is reached over: common practice, no source
LIGHT = 15.0  # kg; what one person moves aside without thinking


def needed(context: Context, zone: Zone) -> Floats:
    """(worlds,) head height a zone asks for: its own, else the rule's."""
    worlds = context.layout.worlds
    if zone.headroom is None:
        return np.full(worlds, context.rules.height(_posture(zone)))
    return np.broadcast_to(zone.headroom, (worlds,))


def read(context: Context) -> Iterator[Reading]:
    """Readings of the clear height over every zone where someone stands."""
    room = context.layout.room
    held = [
        (item, zone)
        for item in context.items
        for zone in item.zones
        if zone.posture != "none" or zone.headroom is not None
    ]
    needs = [needed(context, zone) for _, zone in held]
    spare = surely_spare(room, [zone.polygon for _, zone in held], needs)
    for (item, zone), need, least in zip(held, needs, spare.tolist(), strict=True):
        if least > context.reach + EXACT:
            continue
        clear = _clear(room, zone.polygon)
        if float((clear - need).min()) > context.reach:
            continue
        yield Reading(
            check=HEADROOM,
            items=(item.name,),
            gap=clear - need + float(need[0]),
            needs=float(need[0]),
            detail=_later(context, item, zone, float(clear[0]), float(need[0])),
            source=_source(context, zone),
        )


def surely_spare(room: Room, rings: list[Floats], needs: list[Floats]) -> Floats:
    """(n,) what is certainly left over plan rings above the heights needed there, mm.

    rings : each (worlds, k, 2); needs : each (worlds,), mm
    Never more than the clear height less the need in any world: over the bounds of each ring the
    lowest that any piece of ceiling gets, above the highest piece of floor.
    """
    if not rings:
        return np.empty(0)
    worlds = room.worlds
    low, high = np.empty((worlds, len(rings), 3)), np.empty((worlds, len(rings), 3))
    first = np.cumsum([0, *(ring.shape[1] for ring in rings[:-1])])
    corners = np.concatenate([spread(ring, worlds) for ring in rings], axis=1)
    low[:, :, :2] = np.minimum.reduceat(corners, first, axis=1)
    high[:, :, :2] = np.maximum.reduceat(corners, first, axis=1)
    high[:, :, 2] = np.array(needs).T
    low[:, :, 2] = 0.0
    ground = np.full((worlds, len(rings)), -np.inf)
    for floor in room.floors:
        over = _over(low, high, floor.polygon)
        ground[:, over] = np.maximum(ground[:, over], floor.level[:, None])
    high[:, :, 2] += ground
    least = np.full(len(rings), np.inf)
    for piece in room.ceilings:
        over = _over(low, high, piece.polygon)
        if over.any():
            sure = clear_under(low[:, over], high[:, over], piece.planes)
            least[over] = np.minimum(least[over], sure)
    return least


def _over(low: Floats, high: Floats, polygon: Floats) -> NDArray[np.bool_]:
    """(n,) which bounds (worlds, n, 3) overlap those of a plan polygon in any world."""
    under, most = polygon.min(axis=1)[:, None], polygon.max(axis=1)[:, None]
    meets = (low[:, :, :2] <= most) & (high[:, :, :2] >= under)
    return np.asarray(meets.all(axis=2).any(axis=0))


def _clear(room: Room, ring: Floats) -> Floats:
    """(worlds,) least clear height over a ring, mm; inf where nothing lies over it."""
    return np.asarray(
        np.min(
            [
                ring_gap(ring, _shared(room, ceiling, floor), ceiling.planes, floor.level)
                for ceiling, floor, _ in _columns(room, ring)
            ]
            or [np.full(room.worlds, np.inf)],
            axis=0,
        )
    )


def _shared(room: Room, ceiling: CeilingPiece, floor: FloorPiece) -> Floats:
    """(worlds, n, 2) plan of a piece of ceiling over a piece of floor: all of it over one floor."""
    if len(room.floors) == 1:
        return ceiling.polygon
    shared = overlap(Ring.of(ceiling.polygon), Ring.of(floor.polygon))
    return ceiling.polygon if shared is None else shared.points


def _posture(zone: Zone) -> str:
    """What someone does there; a zone without people is kept as high as someone stands."""
    return "standing" if zone.posture == "none" else zone.posture


def _source(context: Context, zone: Zone) -> str:
    if zone.headroom is None:
        return context.rules.height_source(_posture(zone))
    return "the item's own zone"


def _columns(room: Room, ring: Floats) -> Iterator[tuple[CeilingPiece, FloorPiece, Ring]]:
    """Ceiling and floor pieces that lie over one another and the ring, and what all share."""
    one = Ring.of(ring[:1])
    for ceiling in room.ceilings:
        under = overlap(one, Ring.of(ceiling.polygon[:1]))
        if under is None:
            continue
        for floor in room.floors:
            shared = overlap(under, Ring.of(floor.polygon[:1]))
            if shared is not None:
                yield ceiling, floor, shared


def low_area(room: Room, ring: Floats, need: float) -> float:
    """Plan area of a ring where the ceiling is less than so far above the floor, nominal, mm²."""
    low = 0.0
    for ceiling, floor, shared in _columns(room, ring):
        high: Ring | None = shared
        for plane in ceiling.planes[0]:
            if high is None:
                break
            line = np.array([[plane[0], plane[1], plane[2] - float(floor.level[0]) - need]])
            size = float(np.hypot(line[0, 0], line[0, 1]))
            if size < 1e-12:
                high = high if line[0, 2] >= -TOUCH else None
            else:
                high, _ = split(high, line / size)
        whole = float(area(shared.points)[0])
        low += whole - (float(area(high.points)[0]) if high is not None else 0.0)
    return max(low, 0.0)


def lowest_point(room: Room, ring: Floats) -> tuple[Floats, Floats]:
    """Where over a ring the ceiling is least above the floor, (3,), and its slope there, (2,)."""
    best = (np.inf, np.zeros(3), np.zeros(2))
    for ceiling, floor, shared in _columns(room, ring):
        for point in shared.points[0]:
            heights = ceiling.planes[0] @ np.array([point[0], point[1], 1.0])
            k = int(np.argmin(heights))
            clear = float(heights[k] - floor.level[0])
            if clear < best[0] - 1e-6:
                at = np.array([point[0], point[1], float(heights[k])])
                best = (clear, at, ceiling.planes[0, k, :2])
    return best[1], best[2]


def _later(
    context: Context, item: Placed, zone: Zone, clear: float, need: float
) -> Callable[[], Detail]:
    return lambda: _detail(context, item, zone, clear, need)


def _detail(context: Context, item: Placed, zone: Zone, clear: float, need: float) -> Detail:
    room = context.layout.room
    at, slope = lowest_point(room, zone.polygon)
    who = f"{item.name}, {zone.name} zone"
    if clear >= need - TOUCH:
        return Detail(says=f"{who}: {mm(clear)} clear, needs {mm(need)}", at=place(at))
    low = low_area(room, zone.polygon, need)
    says = (
        f"{who}: {mm(clear)} clear where {mm(need)} is needed, "
        f"short {mm(need - clear)} over {square_metres(low):.3f} m²"
    )
    return Detail(
        says=says,
        at=place(at),
        area_m2=square_metres(low),
        pushes=_uphill(item, need - clear, slope),
    )


def _uphill(item: Placed, short: float, slope: Floats) -> tuple[Push, ...]:
    """Level moves up the slope, along the room's axes, that gain the missing height."""
    if item.stays:
        return ()
    found = []
    for way in free_ways(item)[:4]:
        rise = float(slope @ np.array(way[:2]))
        if rise > 1e-6:
            far = short / rise
            found.append(Push(item.name, (way[0] * far, way[1] * far, 0.0)))
    return tuple(found)


def read_blocked(context: Context) -> Iterator[Reading]:
    """Readings of bodies and fabric that stand in a zone, below the height it needs."""
    layout = context.layout
    held = _may_be_blocked(context)
    airs = [Group(item.name, zone_airs(context, zone)) for item, zone in held]
    others = things_of(layout)

    def asked(other: int, air: int) -> bool:
        name, item = others[other].name, held[air][0]
        return name != item.name and context.wanted(item.name, name)

    found = list(meetings(others, airs, 0.0, wanted=asked))
    for meeting in sorted(found, key=lambda each: each.numbers[::-1]):
        reading = _blocked(context, meeting, *held[meeting.numbers[1]])
        if reading is not None:
            yield reading


def _may_be_blocked(context: Context) -> list[tuple[Placed, Zone]]:
    """The zones that another body or fabric may stand in, by bounds.

    Asked about are all, or those of what is in focus, and those it may stand in.
    """
    layout = context.layout
    owners = [(number, zone) for number, item in enumerate(layout.items) for zone in item.zones]
    if not owners:
        return []
    known = as_before(layout, "plans of zones", _zones, _plan_bounds)
    plans = np.array([known[zone] for _, zone in owners])
    asked = may_matter(layout, context.focus, plans[:, 0], plans[:, 1])
    if context.focus is not None:
        asked |= [layout.items[number].name in context.focus for number, _ in owners]
    chosen = np.flatnonzero(asked).tolist()
    low, high = _air_bounds(context, [owners[k][1] for k in chosen], plans[chosen])
    things, solid = things_in(layout), len(layout.items) + len(layout.room.fabric)
    own = np.array([owners[k][0] for k in chosen], dtype=np.int64)
    meets = (things.owner < solid) & (things.owner != own[:, None])
    for axis in range(3):
        meets &= things.least[:, axis] < high[:, axis, None]
        meets &= things.most[:, axis] > low[:, axis, None]
    kept = [owners[k] for k, met in zip(chosen, meets.any(axis=1).tolist(), strict=True) if met]
    return [(layout.items[number], zone) for number, zone in kept]


def _zones(layout: Layout) -> list[Zone]:
    return [zone for item in layout.items for zone in item.zones]


def _plan_bounds(_: Layout, zones: list[Zone]) -> list[Floats]:
    """(2, 2) least and greatest corner of each zone in plan over all worlds."""
    if not zones:
        return []
    rings = [zone.polygon.reshape(-1, 2) for zone in zones]
    first = np.cumsum([0, *(len(ring) for ring in rings[:-1])])
    points = np.concatenate(rings)
    ends = np.minimum.reduceat(points, first), np.maximum.reduceat(points, first)
    return list(np.stack(ends, axis=1))


def _air_bounds(context: Context, zones: list[Zone], plans: Floats) -> tuple[Floats, Floats]:
    """Bounds (zones, 3) over all worlds of the air of zones, over whatever floor they have."""
    low, high = np.empty((len(zones), 3)), np.empty((len(zones), 3))
    low[:, :2], high[:, :2] = plans[:, 0], plans[:, 1]
    levels = np.concatenate([floor.level for floor in context.layout.room.floors])
    low[:, 2] = levels.min()
    heights = context.rules.height
    needs = [heights(_posture(z)) if z.headroom is None else np.max(z.headroom) for z in zones]
    high[:, 2] = levels.max() + np.array(needs)
    return low, high


def zone_airs(context: Context, zone: Zone) -> tuple[Convex, ...]:
    """The air of a zone up to the height it needs, above each level of the floor in it."""
    height = needed(context, zone)
    levels = grounds(context.layout.room, zone)
    return tuple(prism(ring, level, level + height) for ring, level in levels)


def grounds(room: Room, zone: Zone) -> list[tuple[Floats, Floats]]:
    """Convex parts (worlds, n, 2) of a zone with the level (worlds,) of the floor under each.

    On one level the zone itself. What of others lies behind walls is left out: nobody stands there.
    """
    under = [room.floors[k] for k in floors_under(room, zone.polygon)]
    if len({float(floor.level[0]) for floor in under}) < 2:
        return [(zone.polygon, zone.level)]
    own = Ring.of(spread(zone.polygon, room.worlds))
    shared = [(overlap(own, Ring.of(floor.polygon)), floor.level) for floor in under]
    return [(ring.points, level) for ring, level in shared if ring is not None]


def _blocked(context: Context, meeting: Meeting, item: Placed, zone: Zone) -> Reading | None:
    """A reading when the other body stands in the zone in some world and is not meant to."""
    other = context.layout.found(meeting.first.name)
    if float(meeting.gap.min()) >= -TOUCH:
        return None
    if other is not None:
        if other.spec.passable:
            return None
        if context.layout.bottom_of(other.name) == context.layout.bottom_of(item.name):
            return None
        light = other.spec.weight is not None and other.spec.weight < LIGHT
        store = item.spec.electrical and other.spec.stores  # NEC 110.26(B): no storage there
        if reached_over(item, zone, other):
            return None
        if zone.kind == "service" and light and not other.stays and not store:
            return None
    return Reading(
        check=ZONE,
        items=(item.name, meeting.first.name),
        gap=meeting.gap,
        detail=lambda: _blocked_detail(context, meeting, item, zone),
        source="common practice, no source: a zone holds no body",
    )


def reached_over(item: Placed, zone: Zone, other: Placed) -> bool:
    """Whether someone who uses a hung thing reaches to it over what stands below it, nominal.

    That is what stands under its own footprint and reaches out no further than ``_OVER`` from its
    back. Its top is no higher than the bottom of what hangs.
    """
    if item.footing not in {"wall", "ceiling"} or zone.kind != "person":
        return False
    if float(other.high[0, 2]) > float(item.low[0, 2]) + TOUCH:
        return False
    side = next((side for held, _, side in zone_sides(item) if held is zone), None)
    if side is None:
        return False
    strip = item_strip(item, side, 0)
    own = strip.own(np.concatenate([part.solid.corners[0, :, :2] for part in item.parts]))
    theirs = strip.own(np.concatenate([part.solid.corners[0, :, :2] for part in other.parts]))
    (left, near), (right, far) = theirs.min(axis=0), theirs.max(axis=0)
    under = right > TOUCH and left < strip.width - TOUCH and near < -TOUCH
    return bool(under and far - float(own[:, 1].min()) <= _OVER + TOUCH)


def _level_at(room: Room, body: Group, zone: Zone) -> float:
    """The highest floor of a zone that a body is over, nominal world."""
    rings = [outline_of(solid)[:1] for solid in body.solids]
    met = [
        float(level[0])
        for ring, level in grounds(room, zone)
        if any(overlaps(own, ring[:1]) for own in rings)
    ]
    return max(met, default=float(zone.level[0]))


def _blocked_detail(context: Context, meeting: Meeting, item: Placed, zone: Zone) -> Detail:
    gap, name = float(meeting.gap[0]), meeting.first.name
    where = f"{mm(-gap)} inside" if gap < -TOUCH else f"{mm(max(gap, 0.0))} clear of"
    says = f"{name} is {where} the {zone.name} zone of {item.name}"
    under = float(np.min([s.low[0, 2] for s in meeting.first.solids]))
    level = _level_at(context.layout.room, meeting.first, zone)
    if under > level + 1.0:
        clear = under - level
        says += f", {mm(clear)} above its floor"
    return Detail(
        says=says,
        at=place(meeting.at),
        pushes=tuple(pushes_apart(context, meeting.first, Group(item.name, meeting.second.solids))),
    )
