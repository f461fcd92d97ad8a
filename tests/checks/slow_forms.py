"""What the checks look at, found the plain way: every thing with every other, world by world.

The checks look by bounds first, measure in batches, and put a question once for all worlds that
are alike. These forms do none of that, and are what the quick ones are held against.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from massing.checks import clearances, daylight, reach, sharing, standing, walls
from massing.checks.ceiling import ceiling_gap
from massing.checks.context import Context, Group, Meeting, body_group
from massing.checks.floor import floor_gap, rests
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.signed import directed_depth, signed_gaps
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH

__all__ = ["SLOW", "every_meeting"]

Told = tuple[str, tuple[str, ...], list[float]]


def slow_floor(context: Context) -> Iterator[Told]:
    """Every part against every level."""
    for item in context.layout.items:
        for floor in context.layout.room.floors:
            gap = np.min([floor_gap(part.solid, floor) for part in item.parts], axis=0)
            hung = abs(float(gap[0])) > TOUCH and float(gap.min()) <= context.reach
            if float(gap.min()) < -TOUCH or (hung and item.footing != "floor"):
                yield "floor", (item.name, floor.name), gap.tolist()


def slow_ceiling(context: Context) -> Iterator[Told]:
    """Every part against every piece."""
    for item in context.layout.items:
        pieces = context.layout.room.ceilings
        gaps = [ceiling_gap(part.solid, piece) for part in item.parts for piece in pieces]
        gap = np.min(gaps, axis=0)
        if float(gap.min()) <= context.reach:
            yield "ceiling", (item.name,), gap.tolist()


def slow_arms(context: Context) -> Iterator[Told]:
    """The arm's way to every control with the whole room looked at in each world."""
    layout = context.layout
    for item in layout.items:
        for control in item.spec.controls:
            aside = frozenset(
                other.name
                for other in layout.items
                if layout.bottom_of(other.name) == layout.bottom_of(item.name)
                or (other.spec.weight is not None and other.spec.weight < 15.0 and not other.stays)
            )
            worlds = range(layout.worlds)
            found = [reach._arm(layout, item, control, aside, world) for world in worlds]
            width = [free for free, _ in found]
            if min(width) < 300.0 - TOUCH:
                yield "control access", (item.name, *found[0][1]), width


def slow_escape_windows(context: Context) -> Iterator[Told]:
    """The way out by every window with the whole room looked at in each world."""
    layout = context.layout
    for opening in layout.room.openings:
        if opening.escape:
            worlds = range(layout.worlds)
            ways = [daylight._way_out(layout, opening, world).spare for world in worlds]
            yield "escape window", (opening.name,), ways


def slow_air(context: Context) -> Iterator[Told]:
    """Every body and every piece of the shell in every air, none left out by its bounds."""
    layout = context.layout
    room = layout.room
    others = [body_group(item) for item in layout.items]
    others += [Group(f.name, f.parts) for f in room.fabric]
    for item in layout.items:
        for gap in item.gaps:
            if float(gap.depth[0]) <= TOUCH:
                continue
            way, asked = clearances.way_out(item, gap), np.broadcast_to(gap.depth, room.worlds)
            for other in others:
                if clearances._stacked(context, item, other.name):
                    continue
                deep = np.max([directed_depth(gap.solid, s, -way) for s in other.solids], axis=0)
                yield from _left(item.name, other.name, asked, deep)
            if gap.side == "top":
                over = np.min([ceiling_gap(gap.solid, piece) for piece in room.ceilings], axis=0)
                if float(over.min()) <= 10.0:
                    left = np.maximum(asked + over, 0.0)
                    told = (left - asked + float(asked[0])).tolist()
                    yield "clearance", (item.name, "ceiling"), told
            elif gap.side != "under":
                for name, deep in _behind(context, gap.solid, way):
                    yield from _left(item.name, name, asked, deep)


def _left(name: str, other: str, asked: Floats, deep: Floats) -> Iterator[Told]:
    left = asked - np.minimum(deep, asked)
    if float((left - asked).min()) < -TOUCH:
        yield "clearance", (name, other), (left - asked + float(asked[0])).tolist()


def _behind(context: Context, air: Convex, way: Floats) -> Iterator[tuple[str, Floats]]:
    room, ring = context.layout.room, outline_of(air)
    for piece in room.outside:
        if float(polygon_gap(ring, piece.polygon).gap.min()) >= -TOUCH:
            continue
        for number in piece.walls:
            wall = room.walls[number]
            facing = np.einsum("wi,wi->w", wall.outward, way[:, :2])
            if float(facing[0]) >= 0.5:
                face = np.einsum("wi,wi->w", wall.outward, wall.left)
                beyond = np.einsum("wi,wni->wn", wall.outward, ring).max(axis=1) - face
                yield wall.name, np.maximum(beyond / facing, 0.0)


def slow_sharing(context: Context) -> Iterator[Told]:
    """Every zone with every other."""
    zones = [zone for item in context.layout.items for zone in item.zones]
    for number, one in enumerate(zones):
        for other in zones[number + 1 :]:
            bottoms = {context.layout.bottom_of(zone.item) for zone in (one, other)}
            gap = polygon_gap(one.polygon, other.polygon).gap
            if len(bottoms) == 2 and float(gap[0]) < -TOUCH:
                both = sharing.at_once(context.layout, one.item, other.item)
                told = gap if both else np.zeros(context.layout.worlds)
                yield "shared floor", (one.item, other.item), told.tolist()


def slow_headroom(context: Context) -> Iterator[Told]:
    """Every zone under every piece of ceiling it shares plan with, over every piece of floor."""
    for item in context.layout.items:
        for zone in item.zones:
            if zone.posture == "none" and zone.headroom is None:
                continue
            clear = standing._clear(context.layout.room, zone.polygon)
            need = standing.needed(context, zone)
            if float((clear - need).min()) <= context.reach:
                yield "headroom", (item.name,), (clear - need + float(need[0])).tolist()


def slow_blocked(context: Context) -> Iterator[Told]:
    """Every body and all fabric against the air of every zone, one by one."""
    layout = context.layout
    others = [body_group(item) for item in layout.items]
    others += [Group(f.name, f.parts) for f in layout.room.fabric]
    for item in layout.items:
        for zone in item.zones:
            air = Group(item.name, standing.zone_airs(context, zone))
            for (number, _), gap in every_meeting(others, [air]).items():
                other = others[number]
                if other.name == item.name or float(gap.min()) >= -TOUCH:
                    continue
                met = Meeting(other, air, gap, np.zeros(3), np.zeros(3))
                if standing._blocked(context, met, item, zone) is not None:
                    yield "zone", (item.name, other.name), gap.tolist()


def slow_walls(context: Context) -> Iterator[Told]:
    """Every body against every outside region."""
    room = context.layout.room
    for item in context.layout.items:
        seen: dict[str, Floats] = {}
        for piece in room.outside:
            for wall, gap in walls.wall_gap(room, piece, item):
                seen[wall.name] = np.minimum(seen.get(wall.name, gap), gap)
        for name, gap in seen.items():
            if float(gap.min()) <= context.reach:
                yield "walls", (item.name, name), np.broadcast_to(gap, (room.worlds,)).tolist()


def slow_support(context: Context) -> Iterator[Told]:
    """The base of every item cut by every level."""
    for item in context.layout.items:
        if item.footing not in {"wall", "ceiling"}:
            yield "support", (item.name,), (100.0 * rests(context, item)[0]).tolist()


SLOW: dict[str, tuple[Callable[[Context], Iterator[Told]], Any]] = {
    "floor": (slow_floor, "floor.read"),
    "ceiling": (slow_ceiling, "ceiling.read"),
    "control access": (slow_arms, "reach.read_controls"),
    "escape window": (slow_escape_windows, "daylight.read_escape_windows"),
    "clearance": (slow_air, "clearances.read"),
    "shared floor": (slow_sharing, "sharing.read"),
    "headroom": (slow_headroom, "standing.read"),
    "zone": (slow_blocked, "standing.read_blocked"),
    "walls": (slow_walls, "walls.read"),
    "support": (slow_support, "floor.read_support"),
}
"""By check: the plain form, and the module and function that is held against it."""


def every_meeting(firsts: list[Group], seconds: list[Group]) -> dict[tuple[int, int], Floats]:
    """(worlds,) least gap of the parts of every two groups, none left out."""
    found = {}
    for i, first in enumerate(firsts):
        for j, second in enumerate(seconds):
            solids = [*first.solids, *second.solids]
            pairs = [
                [a, len(first.solids) + b]
                for a in range(len(first.solids))
                for b in range(len(second.solids))
            ]
            found[i, j] = signed_gaps(solids, np.array(pairs)).gap.min(axis=1)
    return found
