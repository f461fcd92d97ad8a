"""Does one body meet another or the fabric: a layout in, signed gaps out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.context import Context, Group, Meeting, bodies_of, fabric_of, meetings
from massing.checks.finding import Detail, Push, Reading
from massing.checks.words import litres, mm, place
from massing.geometry.gaps.signed import directed_depth
from massing.geometry.overlap import common_volume, overlap_volume
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Placed

__all__ = ["CHECK", "free_ways", "pushes_apart", "read", "shared_volume"]

CHECK = "bodies"
SOURCE = "geometry: two bodies cannot be in one place"


def read(context: Context) -> Iterator[Reading]:
    """Readings of every pair of bodies that come near."""
    layout = context.layout
    bodies = context.bodies
    if context.focus is None:
        pairs = list(meetings(bodies, bodies, context.reach, same=True))
    else:
        rest = [group for group in bodies_of(layout) if not context.wanted(group.name)]
        pairs = [
            *meetings(bodies, bodies, context.reach, same=True),
            *meetings(bodies, rest, context.reach),
        ]
    for meeting in pairs:
        first, second = layout.item(meeting.first.name), layout.item(meeting.second.name)
        touching = first.footing == second.name or second.footing == first.name
        yield _reading(context, meeting, touching=touching)
    for meeting in meetings(bodies, list(fabric_of(layout)), context.reach):
        yield _reading(context, meeting, touching=False)


def _reading(context: Context, meeting: Meeting, *, touching: bool) -> Reading:
    return Reading(
        check=CHECK,
        items=(meeting.first.name, meeting.second.name),
        gap=meeting.gap,
        detail=lambda: _detail(context, meeting),
        touching=touching,
        source=SOURCE,
    )


def _detail(context: Context, meeting: Meeting) -> Detail:
    a, b = meeting.first, meeting.second
    gap = float(meeting.gap[0])
    if gap >= -TOUCH:
        says = f"{mm(gap)} between {a.name} and {b.name}"
        return Detail(says=says, at=place(meeting.at))
    shared = shared_volume(a, b)
    says = f"{a.name} and {b.name} overlap by {mm(-gap)} ({litres(shared):.1f} L)"
    return Detail(
        says=says,
        at=place(meeting.at),
        overlap_l=litres(shared),
        pushes=tuple(pushes_apart(context, a, b)),
    )


def shared_volume(a: Group, b: Group) -> float:
    """Volume the two things share, mm³, counted once where parts of one overlap."""
    if len(a.solids) == len(b.solids) == 1:
        return overlap_volume(a.solids[0].world(0), b.solids[0].world(0))
    return common_volume([s.world(0) for s in a.solids], [s.world(0) for s in b.solids])


def pushes_apart(context: Context, a: Group, b: Group) -> Iterator[Push]:
    """Straight moves that take one clear of the other, for the items that may move."""
    if not context.nudges:
        return
    for mover, other in ((a, b), (b, a)):
        item = next((i for i in context.layout.items if i.name == mover.name), None)
        if item is None or item.stays:
            continue
        for way in free_ways(item):
            depth = _clear_move(mover, other, np.array(way))
            if depth > TOUCH:
                yield Push(item.name, (way[0] * depth, way[1] * depth, way[2] * depth))


def free_ways(item: Placed) -> tuple[tuple[float, float, float], ...]:
    """The directions an item can be nudged in: along the floor, and up or down when it hangs."""
    flat = ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0))
    if item.footing in {"wall", "ceiling"}:
        return (*flat, (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
    return flat


def _clear_move(mover: Group, other: Group, way: Floats) -> float:
    """Shortest straight move of a whole group that clears another, nominal world, mm.

    Moving clear of one part may run into the next, so the move grows until every part is clear.
    """
    moved = 0.0
    for _ in range(16):
        depths = [
            float(directed_depth(a.world(0).moved(way * moved), b.world(0), way)[0])
            for a in mover.solids
            for b in other.solids
        ]
        step = max(depths, default=0.0)
        if step <= 1e-9:
            break
        moved += step
        if len(depths) == 1:
            break
    return moved
