"""Is there room behind whoever sits: a layout in, free depths behind seats out.

Measured from the edge of what one sits at, square to it, for a person's width somewhere along its
sitting zone. A chair placed as a thing of its own is moved about and asks for nothing here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.ahead import Air, pushes_out, zone_faces, zone_sides
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.moved import as_before, asked_about
from massing.checks.openings import opening_way
from massing.checks.spots import PERSON, Spot, spots_before
from massing.checks.standing import needed
from massing.checks.words import mm, place
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.outline import outline_of
from massing.geometry.solids import Floats, spread
from massing.geometry.tolerance import TOUCH
from massing.items.sides import Side
from massing.scheme.layout import Layout, Placed, Zone

__all__ = ["CHECK", "read"]

CHECK = "behind seat"
_Seat = tuple[Placed, Zone, Side]


def read(context: Context) -> Iterator[Reading]:
    """Readings of the depth behind each seat where it is short.

    Too little to sit down is a conflict; too little for someone to pass, where somebody else
    works or goes in and out behind the seat, is a caution.
    """
    rules, worlds = context.rules, context.layout.worlds
    known = as_before(context.layout, "seats", lambda layout: layout.items, _seats)
    seats = _asked(context, [seat for own in known.values() for seat in own])
    if not seats:
        return
    level = np.stack([spread(zone.level, worlds) for _, zone, _ in seats])
    high = level + np.stack([needed(context, zone) for _, zone, _ in seats])
    low = np.minimum(level + rules.step_over, high - 1.0)
    none = np.zeros_like(level)
    depths = (none, none + max(rules.seat, rules.seat_passing))
    items, faces = [item for item, _, _ in seats], zone_faces(seats, worlds)
    for number, spot in spots_before(context, items, faces, depths, (low, high)):
        reading = _behind(context, items[number], spot)
        if reading is not None:
            yield reading


def _seats(_: Layout, items: list[Placed]) -> list[list[_Seat]]:
    """The seats of each of some items."""
    return [
        [
            (item, zone, side)
            for zone, spec, side in (() if item.spec.passable else zone_sides(item))
            if spec.kind == "person" and spec.posture == "sitting"
        ]
        for item in items
    ]


def _asked(context: Context, seats: list[_Seat]) -> list[_Seat]:
    """The seats that are asked about: all, or those in focus, and what that may stand behind."""
    far = max(context.rules.seat, context.rules.seat_passing) + PERSON
    return asked_about(
        context.layout, context.focus, seats, lambda seat: seat[1].polygon, lambda _: far
    )


def _behind(context: Context, item: Placed, spot: Spot) -> Reading | None:
    rules, least = context.rules, float(spot.depth.min())
    passers: tuple[str, ...] = ()
    need = rules.seat
    if least >= need - TOUCH:
        if least >= rules.seat_passing - TOUCH:
            return None
        passers, need = _passers(context, item, spot.air), rules.seat_passing
        if not passers:
            return None
    return Reading(
        check=CHECK,
        items=(item.name, *spot.names),
        gap=spot.depth,
        needs=need,
        detail=_later(item, spot, need, passers),
        weight=Verdict.CAUTION if passers else Verdict.CONFLICT,
        source=rules.source("seat_passing" if passers else "seat"),
    )


def _passers(context: Context, item: Placed, air: Air) -> tuple[str, ...]:
    """Whose floor lies behind the seat: other things' people, and the room's doors."""
    layout = context.layout
    ring = outline_of(air.solid)
    stack = layout.bottom_of(item.name)
    floors = [
        (zone.item, zone.polygon)
        for other in layout.items
        if layout.bottom_of(other.name) != stack and not other.spec.passable
        for zone in other.zones
        if zone.kind == "person" and zone.posture != "none"
    ]
    for opening in layout.room.openings:
        if opening.kind == "door":
            (way,) = opening_way(layout.room, opening, context.rules.doorway).solids
            floors.append((opening.name, outline_of(way)))
    return tuple(dict.fromkeys(name for name, other in floors if _share(ring, other)))


def _share(one: Floats, other: Floats) -> bool:
    """Whether two plan rings share floor in the nominal world."""
    apart = np.maximum(
        one[0].min(axis=0) - other[0].max(axis=0), other[0].min(axis=0) - one[0].max(axis=0)
    )
    return float(apart.max()) <= 0.0 and float(polygon_gap(one[:1], other[:1]).gap[0]) < -TOUCH


def _later(item: Placed, spot: Spot, need: float, passers: tuple[str, ...]) -> Callable[[], Detail]:
    free = float(spot.depth[0])

    def told() -> Detail:
        why = f"where people use {' and '.join(passers)}" if passers else "to sit down"
        says = f"{mm(free)} behind the edge of {item.name} where one sits"
        if spot.things:
            says += f", before {' and '.join(thing.words for thing in spot.things)}"
        says += f"; {mm(need)} asked for {why}"
        other = spot.things[0].item if spot.things else None
        pushes = pushes_out(item, other, max(need - free, 0.0) * spot.air.way[0, :2])
        return Detail(says=says, at=place(spot.air.solid.corners[0].mean(axis=0)), pushes=pushes)

    return told
