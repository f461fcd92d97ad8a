"""Does a body pass through the ceiling: a layout in, readings straight up out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from massing.checks.bodies import free_ways
from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading
from massing.checks.words import litres, mm, place
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.vertical import clear_under, gap_under, stepped_gap
from massing.geometry.outline import outline_of
from massing.geometry.overlap import taken_up
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.shape import CeilingPiece, Room
from massing.scheme.extents import extents_of
from massing.scheme.layout import Placed

__all__ = ["CHECK", "ceiling_gap", "read", "volume_above"]

CHECK = "ceiling"
SOURCE = "geometry: measured straight up, as a tape reads"


def read(context: Context) -> Iterator[Reading]:
    """Readings of every body that comes near the ceiling."""
    layout = context.layout
    room, parts = layout.room, extents_of(layout)
    sure = np.stack([clear_under(parts.low, parts.high, piece.planes) for piece in room.ceilings])
    for number, item in enumerate(layout.items):
        below = sure[:, parts.parts(number)]
        if not context.wanted(item.name) or float(below.min()) > context.reach + EXACT:
            continue
        gap = _gap(room, item, below)
        if float(gap.min()) <= context.reach:
            yield Reading(
                check=CHECK,
                items=(item.name,),
                gap=gap,
                detail=_later(context, item, gap),
                touching=item.footing == "ceiling",
                source=SOURCE,
            )


def _gap(room: Room, item: Placed, below: Floats) -> Floats:
    """(worlds,) least gap of an item's parts to the ceiling.

    below : (pieces, parts) what each certainly keeps from each piece, mm; where that is above zero
        it holds for the gap itself, so what cannot be the nearest is left out
    """
    least: Floats | None = None
    for number in np.argsort(below, axis=None, kind="stable").tolist():
        piece, part = divmod(number, below.shape[1])
        if least is not None and float(below[piece, part]) > max(float(least.max()), 0.0) + EXACT:
            break
        gap = ceiling_gap(item.parts[part].solid, room.ceilings[piece])
        least = gap if least is None else np.minimum(least, gap)
    assert least is not None  # noqa: S101
    return least


def ceiling_gap(solid: Convex, piece: CeilingPiece) -> Floats:
    """(worlds,) gap of a solid to one piece of ceiling: straight up, or level to its edge."""
    over = gap_under(solid, piece.polygon, piece.planes)
    if np.isfinite(over).all():
        return over
    plan = polygon_gap(outline_of(solid), piece.polygon).gap
    corners = np.broadcast_to(solid.corners, (len(over), *solid.corners.shape[1:]))
    free = (piece.height(corners[:, :, :2]) - corners[:, :, 2]).min(axis=1)
    return stepped_gap(over, free, plan)


def _later(context: Context, item: Placed, gap: Floats) -> Callable[[], Detail]:
    return lambda: _detail(context, item, float(gap[0]))


def _detail(context: Context, item: Placed, gap: float) -> Detail:
    point, slope = _tightest(context.layout.room, item)
    at = place(point)
    if gap >= -TOUCH:
        return Detail(says=f"{mm(gap)} between {item.name} and the ceiling", at=at)
    above = litres(volume_above(context.layout.room, [part.solid for part in item.parts]))
    says = f"{item.name} passes {mm(-gap)} through the ceiling ({above:.1f} L above it)"
    return Detail(says=says, at=at, overlap_l=above, pushes=_pushes(item, gap, slope))


def _pushes(item: Placed, gap: float, slope: Floats) -> tuple[Push, ...]:
    """Straight down for what hangs, and up the slope along the floor."""
    if item.stays:
        return ()
    asked = [float(g.depth[0]) for g in item.gaps if g.side == "top"]
    ways = []
    for way in free_ways(item):
        rise = -way[2] + float(slope @ np.array(way[:2]))
        if rise > 1e-6:
            # Just clear of the ceiling, and clear by the air the item asks for above it.
            fars = sorted({-gap / rise, (-gap + max(asked, default=0.0)) / rise})
            ways += [Push(item.name, (way[0] * f, way[1] * f, way[2] * f)) for f in fars]
    return tuple(ways)


def _tightest(room: Room, item: Placed) -> tuple[Floats, Floats]:
    """The corner nearest to or furthest through the ceiling, and the ceiling's slope over it."""
    best = (np.inf, np.zeros(3), np.zeros(2))
    for part in item.parts:
        for piece in room.ceilings:
            found = clip_solid(part.solid.world(0), prism_planes(piece.polygon[0]))
            if found is None:
                continue
            corners = found.corners[0]
            heights = corners[:, :2] @ piece.planes[0, :, :2].T + piece.planes[0, :, 2]
            spare = heights - corners[:, 2:]
            corner, plane = np.unravel_index(int(np.argmin(np.round(spare, 6))), spare.shape)
            if spare[corner, plane] < best[0] - 1e-6:
                best = (
                    float(spare[corner, plane]),
                    corners[corner],
                    piece.planes[0, plane, :2],
                )
    return best[1], best[2]


def volume_above(room: Room, solids: Sequence[Convex]) -> float:
    """Volume of a body above the ceiling in the nominal world, mm³, its parts counted once."""
    above = 0.0
    for piece in room.ceilings:
        sides, planes = prism_planes(piece.polygon[0]), piece.planes[0]
        cut = (clip_solid(solid.world(0), sides) for solid in solids)
        inside = [solid for solid in cut if solid is not None]
        roof = np.stack([-planes[:, 0], -planes[:, 1], np.ones(len(planes)), planes[:, 2]], axis=1)
        cut = (clip_solid(solid, roof) for solid in inside)
        above += taken_up(inside) - taken_up([solid for solid in cut if solid is not None])
    return above
