"""How far does each door leaf open and what stops it: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

import numpy as np

from massing.checks.bodies import pushes_apart, shared_volume
from massing.checks.context import Context, Group, Meeting, meetings, things_of
from massing.checks.finding import Detail, Push, Reading
from massing.checks.words import litres, mm, place, square_metres
from massing.geometry.clip import clip_solid
from massing.geometry.motions.leaves import first_touch, leaf_frame, swept_ring
from massing.geometry.outline import outline_of, plan_hull
from massing.geometry.polygons import Ring, area, split
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Room
from massing.scheme.extents import extents_of
from massing.scheme.layout import Layout, Leaf

__all__ = ["CHECK", "Obstacle", "leaf_sweep", "obstacles", "opens_to", "read"]

CHECK = "door leaf"
_HAIR = 0.1  # mm; what the sweep may take of a thing that the leaf itself only touches


@dataclass(frozen=True, slots=True, eq=False)
class Obstacle:
    """Something in a leaf's height: plan rings (worlds, n, 2) of the parts that reach it."""

    name: str
    rings: tuple[Floats, ...]


def leaf_sweep(leaf: Leaf, most: float = np.pi, rounding: float = 0.05) -> Convex:
    """The air a leaf passes through on the side it opens to, up to an angle, radians.

    rounding : mm, how far it may stand outside its arc

    Its free edge is eased to the circle its leading edge runs on, as it must be to leave its own
    frame, so its thickness trails within the sector that its face sweeps.
    """
    full = min(leaf.full, most, np.pi)
    ring = swept_ring(
        leaf.pin, leaf.shut, leaf.swing, leaf.width, 0 * leaf.thickness, full, rounding
    )
    return prism(ring, leaf.low, leaf.high)


def read(context: Context) -> Iterator[Reading]:
    """Readings of every body, beam, slope and step near the sweep of a leaf that opens inward.

    A leaf is to open as far as the rule asks. What stops it beyond that is told, and is no fault.
    """
    layout = context.layout
    for leaf in layout.leaves:
        if leaf.opens != "in":
            continue
        near = things_of(layout) if context.focus is None else context.bodies
        needs = _needs(context, leaf)
        sweep = _sweep(leaf, needs)
        met = {
            meeting.first.name: _touched(leaf, meeting, needs)
            for meeting in meetings(near, [sweep], context.reach)
        }
        further = [] if needs >= leaf.full else list(_beyond(context, leaf, near, met))
        for meeting in met.values():
            if meeting.first.name not in further:
                yield Reading(
                    check=CHECK,
                    items=(leaf.name, meeting.first.name),
                    gap=meeting.gap,
                    detail=_later(context, leaf, meeting.first, meeting.gap, meeting.at),
                    source=context.rules.source("door_angle"),
                )
        for name in further:
            yield _stop(context, leaf, name, _reached(leaf, near, name))
        if context.focus is None:
            yield from _against_shell(context, leaf)


@lru_cache(maxsize=16)
def _sweep(leaf: Leaf, needs: float) -> Group:
    """What a leaf sweeps, the same object whenever asked: leaves stay where they are."""
    return Group(leaf.name, (leaf_sweep(leaf, needs),))


def _needs(context: Context, leaf: Leaf) -> float:
    """How far a leaf has to open, radians."""
    return min(float(np.deg2rad(context.rules.door_angle)), leaf.full)


def _touched(leaf: Leaf, meeting: Meeting, needs: float) -> Meeting:
    """The meeting, contact told as contact: the sweep stands a hair outside the leaf's arc."""
    near = (meeting.gap < -TOUCH) & (meeting.gap > -_HAIR)
    if not near.any():
        return meeting
    free = near & (_reach(leaf, _rings_at(meeting.first.solids, leaf)) >= needs - 1e-9)
    return replace(meeting, gap=np.where(free, 0.0, meeting.gap))


def _beyond(
    context: Context, leaf: Leaf, near: list[Group], met: dict[str, Meeting]
) -> Iterator[str]:
    """Names of what is first to stop a leaf that has opened as far as it must, nominal world."""
    shell = [_reach(leaf, o.rings)[0] for o in shell_obstacles(context.layout.room, leaf)]
    least = min([leaf.full, *map(float, shell)])
    for group in near:
        stops = float(_reached(leaf, near, group.name)[0]) < least - 1e-9
        if stops and not (group.name in met and float(met[group.name].gap.min()) < -TOUCH):
            yield group.name


def _reached(leaf: Leaf, near: list[Group], name: str) -> Floats:
    """(worlds,) radians a leaf opens before one of the things near it."""
    return _reach(leaf, _rings_at(next(g.solids for g in near if g.name == name), leaf))


def _stop(context: Context, leaf: Leaf, name: str, reach: Floats, the: str = "") -> Reading:
    """A reading in degrees of how far a leaf opens before something."""
    needs, told = float(np.degrees(_needs(context, leaf))), np.degrees(reach)
    return Reading(
        check=CHECK,
        items=(leaf.name, name),
        gap=told,
        needs=needs,
        unit="deg",
        reach=True,
        noted=float(told.min()) >= needs,
        detail=_stop_later(leaf, f"{the}{name}", float(told[0])),
        source=context.rules.source("door_angle"),
    )


def _against_shell(context: Context, leaf: Leaf) -> Iterator[Reading]:
    """Whether the ceiling, a step or another wall stops a leaf: a reading in degrees."""
    for obstacle in shell_obstacles(context.layout.room, leaf):
        reach = _reach(leaf, obstacle.rings)
        if float(reach.min()) < leaf.full - 1e-9:
            yield _stop(context, leaf, obstacle.name, reach, "the ")


def _stop_later(leaf: Leaf, what: str, reach: float) -> Callable[[], Detail]:
    of = float(np.degrees(leaf.full))
    says = f"{leaf.name} opens {reach:.1f}° of {of:.0f}°, stopped by {what}"
    return lambda: Detail(says=says, at=_tip(leaf, reach), reaches=round(reach, 2), of=of)


def _tip(leaf: Leaf, degrees: float) -> tuple[float, float, float]:
    turn = np.radians(degrees) * leaf.swing
    way = np.array(
        [
            np.cos(turn) * leaf.shut[0, 0] - np.sin(turn) * leaf.shut[0, 1],
            np.sin(turn) * leaf.shut[0, 0] + np.cos(turn) * leaf.shut[0, 1],
        ]
    )
    tip = leaf.pin[0] + way * float(leaf.width[0])
    return place(np.array([tip[0], tip[1], float(leaf.low[0])]))


def _later(
    context: Context, leaf: Leaf, body: Group, gap: Floats, at: Floats
) -> Callable[[], Detail]:
    return lambda: _detail(context, leaf, body, float(gap[0]), at)


def _detail(context: Context, leaf: Leaf, body: Group, gap: float, at: Floats) -> Detail:
    of = float(np.degrees(leaf.full))
    reach = float(np.degrees(_reach(leaf, _rings_at(body.solids, leaf))[0]))
    if gap >= -TOUCH:
        says = f"{mm(gap)} between {body.name} and {leaf.name} as it opens"
        return Detail(says=says, at=place(at), reaches=round(of, 2), of=of)
    sweep = _sweep(leaf, _needs(context, leaf))
    shared = _plan_overlap(body, sweep.solids[0])
    says = (
        f"{leaf.name} opens {reach:.1f}° of {of:.0f}°, stopped by {body.name} "
        f"(overlap {mm(-gap)}, {square_metres(shared):.3f} m² in plan)"
    )
    return Detail(
        says=says,
        at=place(at),
        area_m2=square_metres(shared),
        overlap_l=litres(shared_volume(body, sweep)),
        reaches=round(reach, 2),
        of=of,
        pushes=tuple(_pushes(context, body, sweep)),
    )


def _pushes(context: Context, body: Group, sweep: Group) -> Iterator[Push]:
    yield from pushes_apart(context, body, sweep)


def _plan_overlap(body: Group, sweep: Convex) -> float:
    """Plan area a body shares with a sweep at the sweep's height, nominal world, mm²."""
    from shapely import Polygon, union_all

    low, high = float(sweep.low[0, 2]), float(sweep.high[0, 2])
    rings = (_slab_ring(part, low, high) for part in body.solids)
    under = union_all([Polygon(ring[0]) for ring in rings if ring is not None])
    return float(under.intersection(Polygon(outline_of(sweep)[0])).area)


def _slab_ring(solid: Convex, low: float, high: float) -> Floats | None:
    """Plan outline (1, n, 2) of the part of a solid between two levels, nominal world."""
    if solid.high[0, 2] <= low + TOUCH or solid.low[0, 2] >= high - TOUCH:
        return None
    if solid.faces.upright:
        return outline_of(solid)[:1]
    planes = np.array([[0.0, 0.0, 1.0, high], [0.0, 0.0, -1.0, -low]])
    found = clip_solid(solid.world(0), planes)
    return None if found is None else plan_hull(found.corners[:, :, :2])


def _rings_at(solids: tuple[Convex, ...], leaf: Leaf) -> tuple[Floats, ...]:
    low, high = float(leaf.low[0]), float(leaf.high[0])
    rings = (_slab_ring(solid, low, high) for solid in solids)
    return tuple(ring for ring in rings if ring is not None)


def _reach(leaf: Leaf, rings: tuple[Floats, ...]) -> Floats:
    """Angle (worlds,) the leaf gets to among some rings."""
    best = np.full(len(leaf.pin), leaf.full)
    for ring in rings:
        if _out_of_reach(leaf, ring):
            continue
        own = leaf_frame(ring, leaf.pin[: len(ring)], leaf.shut[: len(ring)], leaf.swing)
        count = len(ring)
        touch = first_touch(own, leaf.width[:count], 0 * leaf.width[:count], leaf.full)
        best = np.minimum(best, touch if count == len(best) else touch[0])
    return best


def _out_of_reach(leaf: Leaf, ring: Floats) -> bool:
    """Whether the bounds of a ring are further from the pin than the leaf is wide, everywhere."""
    count = len(ring)
    pin, width = leaf.pin[:count], leaf.width[:count]
    off = np.maximum(np.maximum(ring.min(axis=1) - pin, pin - ring.max(axis=1)), 0.0)
    return bool(((off * off).sum(axis=1) > width * width).all())


def opens_to(layout: Layout, leaf: Leaf) -> tuple[float, str]:
    """How far a leaf opens in the nominal world, radians, and what stops it ("" for nothing)."""
    best, stopped = leaf.full, ""
    held = list(obstacles(_within_reach(layout, leaf), leaf))
    reaches = iter(_nominal_reaches(leaf, [ring[0] for each in held for ring in each.rings]))
    for obstacle in held:
        reach = min(islice(reaches, len(obstacle.rings)))
        if reach < best - 1e-9:
            best, stopped = reach, obstacle.name
    return best, stopped


def _nominal_reaches(leaf: Leaf, rings: list[Floats]) -> list[float]:
    """Angle the leaf gets to before each of some rings (n, 2), in the nominal world.

    Rings of as many corners are looked at as if each were in a world of its own.
    """
    found = np.empty(len(rings))
    counts = np.array([len(ring) for ring in rings])
    for count in sorted(set(counts.tolist())):
        some = np.flatnonzero(counts == count)
        pin, shut = (np.tile(each[:1], (len(some), 1)) for each in (leaf.pin, leaf.shut))
        own = leaf_frame(np.stack([rings[k] for k in some.tolist()]), pin, shut, leaf.swing)
        wide = np.full(len(some), leaf.width[0])
        found[some] = first_touch(own, wide, 0.0 * wide, leaf.full)
    return [float(each) for each in found]


def _within_reach(layout: Layout, leaf: Leaf) -> Layout:
    """The layout with only the items that come as near to the pin as the leaf is wide."""
    parts = extents_of(layout)
    far = float(leaf.width[0]) + TOUCH
    low, high = parts.low[0, :, :2] - leaf.pin[0], parts.high[0, :, :2] - leaf.pin[0]
    off = np.maximum(np.maximum(low, -high), 0.0)
    near = parts.owner[(off * off).sum(axis=1) <= far * far]
    kept = set(near.tolist())
    return replace(layout, items=tuple(i for k, i in enumerate(layout.items) if k in kept))


def obstacles(layout: Layout, leaf: Leaf) -> Iterator[Obstacle]:
    """Everything in the height of a leaf: bodies, fabric and the shell."""
    for item in layout.items:
        rings = _rings_at(tuple(part.solid for part in item.parts), leaf)
        if rings:
            yield Obstacle(item.name, rings)
    hung_in = layout.room.wall(leaf.wall).part_of
    for fabric in layout.room.fabric:
        # The partition a leaf hangs in is round it as a wall of the room would be.
        if fabric.name == hung_in:
            continue
        rings = _rings_at(fabric.parts, leaf)
        if rings:
            yield Obstacle(fabric.name, rings)
    yield from shell_obstacles(layout.room, leaf)


def shell_obstacles(room: Room, leaf: Leaf) -> Iterator[Obstacle]:
    """Where the ceiling is below a leaf's head, the floor above its foot, or a wall in its way."""
    low = [r for piece in room.ceilings for r in _too_low(piece.polygon, piece.planes, leaf.high)]
    if low:
        yield Obstacle("ceiling", tuple(low))
    steps = tuple(f.polygon for f in room.floors if float(f.level[0] - leaf.low[0]) > TOUCH)
    if steps:
        yield Obstacle("floor step", steps)
    own = next(i for i, wall in enumerate(room.walls) if wall.name == leaf.wall)
    for piece in room.outside:
        if own not in piece.walls:
            names = " and ".join(room.walls[number].name for number in piece.walls)
            yield Obstacle(f"{names} wall", (piece.polygon,))


def _too_low(polygon: Floats, planes: Floats, head: Floats) -> Iterator[Floats]:
    """Parts of a ceiling piece lower than a leaf's head, one a plane that dips below it."""
    for k in range(planes.shape[1]):
        line = planes[:, k].copy()
        line[:, 2] = line[:, 2] - head + TOUCH
        size = np.linalg.norm(line[:, :2], axis=1)
        if float(size[0]) < 1e-12:
            if float(line[0, 2]) < 0:
                yield polygon
            continue
        # Left of the line is where the plane is high enough; the right side is in the way.
        _, under = split(Ring.of(polygon), line / size[:, None])
        if under is not None and float(area(under.points)[0]) > 1.0:
            yield under.points
