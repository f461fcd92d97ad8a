"""Is there head height under what stands open overhead: a layout in, readings out.

An up-and-over door, a lid and a drop-down flap are left in one of two places, shut or open. Shut,
each lies in its wall or in its own body. Open, it is a level or slanting slab, and the height
below it is least at a corner of the floor it hangs over, or at one of its own: that is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from massing.checks.bodies import pushes_apart
from massing.checks.context import Context, Group
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.hung import LOW
from massing.checks.motions import Mover, item_movers, parked
from massing.checks.motions_doors import door_movers
from massing.checks.moved import as_before
from massing.checks.standing import grounds, needed, zone_airs
from massing.checks.walked import filled_rings, near_rings, polygons_of, walked_floor
from massing.checks.words import mm, place, square_metres
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.vertical import apart_in_plan, gap_below, stepped_gap
from massing.geometry.motions.stops import path_bounds
from massing.geometry.outline import outline_of
from massing.geometry.polygons import area, contains
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.shape import FloorPiece
from massing.scheme.layout import Layout, Placed, Zone

__all__ = ["CHECK", "Panel", "open_panels", "read"]

CHECK = "open panel"
_KINDS = frozenset({"overhead", "lid", "flap"})


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """Something that stands open overhead.

    owner : the item or door it belongs to; label : what it is called, "lid of chest"
    room : it is a door of the room; solid : where it is when open, in every world
    """

    owner: str
    label: str
    kind: str
    room: bool
    solid: Convex


def read(context: Context) -> Iterator[Reading]:
    """Readings of the clear height under every panel held open, over zones and over ways."""
    panels = list(open_panels(context))
    short: list[tuple[Panel, Zone]] = []
    zones = list(_zones(context.layout)) if panels else []
    for panel in panels:
        for zone in near_rings(zones, [zone.polygon for zone in zones], panel.solid.corners):
            reading = _over_zone(context, panel, zone)
            if reading is None:
                continue
            if float(reading.gap[0]) < reading.needs - TOUCH:
                short.append((panel, zone))
            if context.wanted(panel.owner, zone.item):
                yield reading
    if any(context.wanted(panel.owner) for panel in panels):
        yield from _over_ways(context, panels, short)


def open_panels(context: Context) -> Iterator[Panel]:
    """Every panel, lid and flap that stands higher than a shoulder, or is a door of the room.

    With a focus, of the items only those that are in it or come over its zones.
    A panel that does not get as far as it needs is a finding of its own, and taken here as fully
    open; one that stops beyond that, or whose stop the file accepts, hangs where it stops.
    """
    layout = context.layout
    doors = [m for o in layout.room.openings if o.kind == "door" for m in door_movers(context, o)]
    ground = min(float(floor.level[0]) for floor in layout.room.floors)
    for mover in (*filter(_opens_over, doors), *_asked(context)):
        path = mover.paths[0]
        high = float(path.at(mover.full).low[0, 2]) - ground >= LOW
        if high or mover.kind == "overhead":
            solid = path.at(_rests(context, mover))
            yield Panel(mover.owner, mover.label, mover.kind, mover in doors, solid)
    for item in layout.items:
        yield from _standing_open(item)


def _opens_over(mover: Mover) -> bool:
    return mover.kind in _KINDS and mover.turns


def _lids(layout: Layout) -> list[Mover]:
    """What of the items opens overhead."""
    return [mover for mover in item_movers(layout) if _opens_over(mover)]


def _asked(context: Context) -> list[Mover]:
    """What of the items opens overhead: all, or that of what is in focus and over its zones."""
    lids = _lids(context.layout)
    if context.focus is None or not lids:
        return lids
    rings = [zone.polygon for item in context.items for zone in item.zones]
    spans = as_before(context.layout, "spans of lids", _lids, _spans)
    return [m for m in lids if m.owner in context.focus or near_rings(rings, rings, spans[m])]


def _spans(_: Layout, movers: list[Mover]) -> list[Floats]:
    """(1, 2, 3) least and greatest corner of all that each passes through over every world."""
    if not movers:
        return []
    limits = np.array([float(mover.full.max()) for mover in movers])
    return list(
        np.stack(path_bounds([mover.paths[0] for mover in movers], limits), axis=1)[:, None]
    )


def _standing_open(item: Placed) -> Iterator[Panel]:
    """Panels that the scheme says stand open: they are parts of the body by then."""
    kinds = {f"{m.name} open": m for m in item.spec.motions if m.kind in _KINDS}
    for part in item.parts if kinds else ():
        motion = kinds.get(part.name)
        if motion is not None and part.kind == "door":
            yield Panel(item.name, f"{motion.name} of {item.name}", motion.kind, False, part.solid)  # noqa: FBT003


def _rests(context: Context, mover: Mover) -> Floats:
    """(worlds,) radians it stands open."""
    reach, by = parked(context, mover)
    stops = [item for item in context.layout.items if item.name in by]
    accepted = any({mover.owner, mover.check} & set(item.accept) for item in stops)
    enough = bool((reach >= mover.needs - 1e-9).all())
    return reach if enough or accepted else mover.full


def _zones(layout: Layout) -> Iterator[Zone]:
    for item in layout.items:
        for zone in item.zones:
            if zone.posture != "none" or zone.headroom is not None:
                yield zone


def _over_zone(context: Context, panel: Panel, zone: Zone) -> Reading | None:
    """A reading of the height over one zone, unless the panel is met there as a body.

    What opens lower than a shoulder is nothing to stand under: its own user stands before it, and
    a lid or a flap is in the way only as a body is.
    """
    if apart_in_plan(panel.solid.corners, zone.polygon):
        return None
    lowest = float(panel.solid.low[0, 2] - zone.level[0])
    if lowest < LOW and (panel.owner == zone.item or panel.kind != "overhead"):
        return None
    need = needed(context, zone)
    plan = polygon_gap(outline_of(panel.solid), zone.polygon).gap
    every = [
        _spare(panel, ring, level + need) for ring, level in grounds(context.layout.room, zone)
    ]
    over = min(over for _, over, _ in every)
    if np.isfinite(over):
        # Over one level of a zone, the edge of another is only met where it comes beneath.
        every = [(np.where(met, spare, np.inf), own, met) for spare, own, met in every]
    spare = np.min([spare for spare, *_ in every], axis=0)
    if float(spare.min()) > context.reach or (not np.isfinite(over) and spare.min() > -TOUCH):
        return None
    return Reading(
        check=CHECK,
        items=(panel.owner, zone.item),
        gap=spare + float(need[0]),
        needs=float(need[0]),
        detail=_zone_later(context, panel, zone, over, float(plan[0])),
        source=_zone_source(context, zone),
    )


def _spare(panel: Panel, ring: Floats, head: Floats) -> tuple[Floats, float, NDArray[np.bool_]]:
    """(worlds,) what a panel leaves over a level over a ring; the nominal, inf where not over it.

    The last says in which worlds it is over the ring, or near it as in the nominal one.
    """
    over = gap_below(panel.solid, ring, head)
    plan = polygon_gap(outline_of(panel.solid), ring).gap
    spare = stepped_gap(over, panel.solid.low[:, 2] - head, plan)
    return spare, float(over[0]), np.isfinite(over) | np.isfinite(over[0])


def _zone_source(context: Context, zone: Zone) -> str:
    if zone.headroom is not None:
        return "the item's own zone"
    return context.rules.height_source("standing" if zone.posture == "none" else zone.posture)


def _zone_later(
    context: Context, panel: Panel, zone: Zone, over: float, plan: float
) -> Callable[[], Detail]:
    return lambda: _zone_detail(context, panel, zone, over, plan)


def _zone_detail(context: Context, panel: Panel, zone: Zone, over: float, plan: float) -> Detail:
    need = float(needed(context, zone)[0])
    whose = "its own" if zone.item == panel.owner else f"{zone.item},"
    who = f"open {panel.label} over {whose} {zone.name} zone"
    if not np.isfinite(over):
        at = panel.solid.low[0]
        return Detail(says=f"{who}: {mm(plan)} beside it", at=place(at))
    bit = _below(panel.solid, zone.polygon[0], np.inf)
    at = place(np.zeros(3)) if bit is None else _lowest(bit)
    if over >= -TOUCH:
        return Detail(says=f"{who}: {mm(over + need)} clear, needs {mm(need)}", at=at)
    low = [
        _below(panel.solid, ring[0], float(level[0]) + need)
        for ring, level in grounds(context.layout.room, zone)
    ]
    size = sum(float(area(outline_of(bit))[0]) for bit in low if bit is not None)
    return Detail(
        says=f"{who}: {mm(over + need)} clear where {mm(need)} is needed, "
        f"short {mm(-over)} over {square_metres(size):.3f} m²",
        at=at,
        area_m2=square_metres(size),
        pushes=_pushes(context, panel, zone, need),
    )


def _pushes(context: Context, panel: Panel, zone: Zone, need: float) -> tuple[Push, ...]:
    """Moves that take the zone's item out from under the panel, or the panel's item away."""
    if panel.owner == zone.item:
        item = context.layout.item(panel.owner)
        raised = item.footing in {"wall", "ceiling"} and not item.stays
        up = float(zone.level[0]) + need - float(panel.solid.low[0, 2])
        return (Push(item.name, (0.0, 0.0, up)),) if raised else ()
    return tuple(
        pushes_apart(
            context, Group(panel.owner, (panel.solid,)), Group(zone.item, zone_airs(context, zone))
        )
    )


def _below(solid: Convex, ring: Floats, top: float) -> Convex | None:
    """The part of a solid over a convex plan ring (n, 2) and below a level, nominal world."""
    planes = prism_planes(ring)
    if np.isfinite(top):
        planes = np.concatenate([planes, [[0.0, 0.0, 1.0, top]]])
    return clip_solid(solid.world(0), planes)


def _lowest(solid: Convex) -> tuple[float, float, float]:
    """Where a solid is lowest, nominal world: the middle of its lowest corners."""
    corners = solid.corners[0]
    least = corners[corners[:, 2] <= corners[:, 2].min() + TOUCH]
    return place(least.mean(axis=0))


def _over_ways(
    context: Context, panels: list[Panel], short: list[tuple[Panel, Zone]]
) -> Iterator[Reading]:
    """Readings of the height over the floor people pass on, level by level.

    Floor in a zone that is already too low under the panel is left to that finding.
    """
    for panel in panels:
        if not context.wanted(panel.owner):
            continue
        said = [zone.polygon[0] for other, zone in short if other is panel]
        floors = [f for f in context.layout.room.floors if _may_be_low(context, panel, f)]
        if all(_surely_unwalked(context, panel, floor, said) for floor in floors):
            continue
        along = panel.solid.corners[:, :, 0]
        under = [f for f in floors if not apart_in_plan(panel.solid.corners, f.polygon)]
        parts = walked_floor(context, under, said, (float(along.min()), float(along.max())))
        for floor in under:
            own = [ring for name, ring in parts if name == floor.name]
            rings = near_rings(own, own, panel.solid.corners)
            if not rings:
                continue
            clear = np.min([gap_below(panel.solid, r, floor.level) for r in rings], axis=0)
            if not np.isfinite(clear[0]):
                continue
            # In a world where it no longer hangs over this level, it is as clear as it was.
            clear = np.where(np.isfinite(clear), clear, clear[0])
            if float(clear.min()) - context.rules.route <= context.reach:
                yield _way_reading(context, panel, floor.name, rings, clear)


def _may_be_low(context: Context, panel: Panel, floor: FloorPiece) -> bool:
    """Whether a panel may hang too low over a way on one level, by how high its lowest corner is.

    What opens lower than a shoulder is met as a body, unless it is a door of the room.
    """
    height = panel.solid.low[:, 2] - floor.level
    if not panel.room and float(height[0]) < LOW:
        return False
    return float(height.min()) - context.rules.route <= context.reach + EXACT


def _surely_unwalked(context: Context, panel: Panel, floor: FloorPiece, said: list[Floats]) -> bool:
    """Whether nobody walks under a panel on one level, by what lies under it in the nominal world.

    said : plan rings (n, 2) that are left to another finding; what fills the level is not walked
    """
    own = outline_of(panel.solid)[:1]
    if apart_in_plan(own, floor.polygon[:1]) or any(contains(r[None], own).all() for r in said):
        return True
    filled = filled_rings(context, floor)
    rings = [r[0] for r in near_rings(filled, filled, own)]
    if not rings:
        return False
    from shapely import union_all

    (whole,) = polygons_of([own[0]])
    return bool(whole.difference(union_all(polygons_of([*said, *rings]))).is_empty)


def _way_reading(
    context: Context, panel: Panel, floor: str, rings: list[Floats], clear: Floats
) -> Reading:
    """Too low to stoop under is a conflict, too low to walk under a caution."""
    rules = context.rules
    stoops = float(clear[0]) >= min(rules.stoop, rules.route) - TOUCH
    return Reading(
        check=CHECK,
        items=(panel.owner, floor),
        gap=clear,
        needs=rules.route,
        detail=_way_later(context, panel, rings, float(clear[0])),
        weight=Verdict.CAUTION if stoops else Verdict.CONFLICT,
        source=rules.source("route"),
    )


def _way_later(
    context: Context, panel: Panel, rings: list[Floats], clear: float
) -> Callable[[], Detail]:
    return lambda: _way_detail(context, panel, rings, clear)


def _way_detail(context: Context, panel: Panel, rings: list[Floats], clear: float) -> Detail:
    need = context.rules.route
    bits = [(ring, _below(panel.solid, ring[0], np.inf)) for ring in rings]
    over = [(ring, bit) for ring, bit in bits if bit is not None]
    lowest = min((bit for _, bit in over), key=lambda bit: float(bit.low[0, 2]))
    who = f"open {panel.label}"
    if clear >= need - TOUCH:
        says = f"{mm(clear)} clear under {who} where people pass, needs {mm(need)}"
        return Detail(says=says, at=_lowest(lowest))
    top = float(lowest.low[0, 2]) - clear + need
    # What is wholly below the level is not cut by it.
    low = [
        bit if float(bit.high[0, 2]) <= top else _below(panel.solid, ring[0], top)
        for ring, bit in over
    ]
    size = square_metres(sum(float(area(outline_of(bit))[0]) for bit in low if bit is not None))
    held = {item.name: item for item in context.layout.items}.get(panel.owner)
    raised = held is not None and held.footing in {"wall", "ceiling"} and not held.stays
    return Detail(
        says=f"{mm(clear)} clear under {who} where people pass and {mm(need)} is needed, "
        f"short {mm(need - clear)} over {size:.3f} m²",
        at=_lowest(lowest),
        area_m2=size,
        pushes=(Push(panel.owner, (0.0, 0.0, need - clear)),) if raised else (),
    )
