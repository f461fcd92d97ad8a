"""Is there head height under what hangs over open floor: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.words import mm, square_metres
from massing.geometry.clip import clip_solid
from massing.geometry.gaps.vertical import gap_below
from massing.geometry.outline import outline_of
from massing.geometry.polygons import Ring, area, contains, overlap
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import FloorPiece
from massing.scheme.extents import extents_of
from massing.scheme.ground import overlaps
from massing.scheme.layout import Layout, Placed

__all__ = ["CHECK", "read"]

CHECK = "under hung"
LOW = 1400.0  # mm; what hangs lower than a person's shoulder is met as a body, not walked under


def read(context: Context) -> Iterator[Reading]:
    """Readings of the clear height under each hung body, floor level by floor level.

    Things fixed low on a wall, or hung over something that already fills the floor, are not
    walked under: only what hangs higher than ``LOW`` counts, and floor filled by a body beneath
    it is left out.
    """
    layout = context.layout
    hung = [
        (number, item)
        for number, item in enumerate(layout.items)
        if item.footing in {"wall", "ceiling"} and context.wanted(item.name)
    ]
    floors = layout.room.floors if hung else ()
    low = [_may_be_low(context, floor) for floor in floors]
    for number, item in hung:
        for floor, may in zip(floors, low, strict=True):
            if not may[number] or _met_as_a_body(item, floor):
                continue
            clear = np.min(
                [gap_below(part.solid, floor.polygon, floor.level) for part in item.parts], axis=0
            )
            if not np.isfinite(clear[0]) or float(clear[0]) < LOW:
                continue
            # In a world where it no longer hangs over this level, it is as clear as it was.
            clear = np.where(np.isfinite(clear), clear, clear[0])
            if float(clear.min()) - context.rules.under > context.reach:
                continue
            shadows = _shadows(item, floor)
            filled = _filled(layout, item, floor, shadows)
            if not _surely_walked(shadows, filled) and _walked_under(shadows, filled) <= 1.0:
                continue
            yield Reading(
                check=CHECK,
                items=(item.name, floor.name),
                gap=clear,
                needs=context.rules.under,
                detail=_later(context, item, floor, float(clear[0])),
                weight=Verdict.CONFLICT if item.footing == "ceiling" else _weight(item),
                source=context.rules.source("under"),
            )


def _may_be_low(context: Context, floor: FloorPiece) -> list[bool]:
    """Which items may hang too low over a level and high enough to walk under, told by bounds."""
    parts = extents_of(context.layout)
    high_up = parts.high[0, :, 2] - floor.level[0] >= LOW
    within = (parts.low[:, :, 2] - floor.level[:, None]).min(axis=0)
    low = within - context.rules.under <= context.reach
    under, over = floor.polygon[0].min(axis=0), floor.polygon[0].max(axis=0)
    meets = ((parts.low[0, :, :2] < over) & (parts.high[0, :, :2] > under)).all(axis=1)
    found = np.ones(len(context.layout.items), dtype=bool)
    for some in (high_up, low, meets):
        found &= np.bincount(parts.owner[some], minlength=len(found)) > 0
    return found.tolist()


def _met_as_a_body(item: Placed, floor: FloorPiece) -> bool:
    """Whether an upright part is over a level, lower than a shoulder, in the nominal world."""
    return any(
        part.solid.faces.upright
        and float(part.solid.corners[0, 0, 2] - floor.level[0]) < LOW
        and overlaps(outline_of(part.solid), floor.polygon)
        for part in item.parts
    )


def _weight(item: Placed) -> Verdict:
    """A thing on a wall that reaches far out is walked under; a shallow one is leant over."""
    shallow = float(np.min(item.high[0, :2] - item.low[0, :2])) <= 400.0
    return Verdict.CAUTION if shallow else Verdict.CONFLICT


def _later(context: Context, item: Placed, floor: FloorPiece, clear: float) -> Callable[[], Detail]:
    return lambda: _detail(context, item, floor, clear)


def _detail(context: Context, item: Placed, floor: FloorPiece, clear: float) -> Detail:
    need = context.rules.under
    rings = _shadows(item, floor)
    middle = rings[0].points[0].mean(axis=0) if rings else item.low[0, :2]
    at = (float(middle[0]), float(middle[1]), float(item.low[0, 2]))
    if clear >= need - TOUCH:
        return Detail(says=f"{mm(clear)} clear under {item.name}, needs {mm(need)}", at=at)
    # A level that is not convex is in several pieces.
    floors = [each for each in context.layout.room.floors if each.name == floor.name]
    over = sum(_low_area(item, each, need) for each in floors)
    says = (
        f"{mm(clear)} clear under {item.name} where {mm(need)} is needed, "
        f"over {square_metres(over):.2f} m²"
    )
    up = () if item.stays else (Push(item.name, (0.0, 0.0, need - clear)),)
    return Detail(says=says, at=at, area_m2=square_metres(over), pushes=up)


def _low_area(item: Placed, floor: FloorPiece, need: float) -> float:
    """Floor under what of an item hangs lower than so far above it, counted once, nominal, mm²."""
    top = float(floor.level[0]) + need
    low = [part.solid.world(0) for part in item.parts if part.solid.low[0, 2] < top - TOUCH]
    cuts = [
        s if s.high[0, 2] <= top else clip_solid(s, np.array([[0.0, 0.0, 1.0, top]])) for s in low
    ]
    ground = Ring.of(floor.polygon[:1])
    over = [overlap(Ring.of(outline_of(cut)), ground) for cut in cuts if cut is not None]
    rings = [shadow.points for shadow in over if shadow is not None]
    if len(rings) == 1:
        return float(area(rings[0])[0])
    from shapely import Polygon, union_all

    return float(union_all([Polygon(ring[0]) for ring in rings]).area)


def _shadows(item: Placed, floor: FloorPiece) -> list[Ring]:
    """Plan outlines of the item's parts where they lie over one floor level, nominal world."""
    ground = Ring.of(floor.polygon[:1])
    return [
        shared
        for part in item.parts
        if (shared := overlap(Ring.of(outline_of(part.solid)[:1]), ground)) is not None
    ]


def _filled(layout: Layout, item: Placed, floor: FloorPiece, shadows: list[Ring]) -> list[Floats]:
    """Plan rings (n, 2) of what stands lower than a shoulder near any of the shadows, nominal."""
    parts = extents_of(layout)
    near = np.zeros(len(parts.solids), dtype=bool)
    for shadow in shadows:
        low, high = shadow.points[0].min(axis=0), shadow.points[0].max(axis=0)
        near |= ((parts.low[0, :, :2] < high) & (parts.high[0, :, :2] > low)).all(axis=1)
    rings = []
    for number in np.flatnonzero(near).tolist():
        other = layout.items[parts.owner[number]]
        if other.name != item.name and float(other.low[0, 2] - floor.level[0]) < LOW:
            rings.append(outline_of(parts.solids[number])[0])
    return rings


def _surely_walked(shadows: list[Ring], filled: list[Floats]) -> bool:
    """Whether bounds alone leave floor under one shadow that nothing fills."""
    if len(shadows) != 1:
        return False
    low, high = shadows[0].points[0].min(axis=0), shadows[0].points[0].max(axis=0)
    taken = 0.0
    for ring in filled:
        size = np.minimum(high, ring.max(axis=0)) - np.maximum(low, ring.min(axis=0))
        taken += float(np.maximum(size, 0.0).prod())
    return float(area(shadows[0].points)[0]) - taken > 2.0


def _walked_under(shadows: list[Ring], filled: list[Floats]) -> float:
    """Floor under an item on one level that no standing body fills, nominal world, mm²."""
    if len(shadows) == 1 and any(contains(r[None], shadows[0].points).all() for r in filled):
        return 0.0
    touching = [
        ring
        for ring in filled
        if any(overlap(shadow, Ring.of(ring[None])) is not None for shadow in shadows)
    ]
    if len(shadows) == 1 and not touching:
        return float(area(shadows[0].points)[0])
    from shapely import Polygon, union_all

    left = union_all([Polygon(shadow.points[0]) for shadow in shadows])
    if touching:
        left = left.difference(union_all([Polygon(ring) for ring in touching]))
    return float(left.area)
