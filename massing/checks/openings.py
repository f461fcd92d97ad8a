"""Does a body stand in a doorway or before glass: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.bodies import pushes_apart
from massing.checks.context import Context, Group, Meeting, meetings
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.moved import as_before
from massing.checks.words import mm, place
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.outline import outline_of
from massing.geometry.polygons import area
from massing.geometry.solids import Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Opening, Room
from massing.scheme.layout import Layout, Placed

__all__ = ["DOORWAY", "WINDOW", "hidden_share", "opening_way", "read"]

DOORWAY = "doorway"
WINDOW = "window"


def opening_way(room: Room, opening: Opening, depth: float) -> Group:
    """The air in front of an opening: as wide and high as it is, through the wall and so deep.

    On either side of a partition, as both are in the room.
    """
    wall = room.wall(opening.wall)
    right = opening.left + opening.width
    behind = -wall.thickness - (depth if wall.partition else 0.0)
    inward = np.full(room.worlds, depth)
    ring = np.stack(
        [
            wall.point(right, behind),
            wall.point(opening.left, behind),
            wall.point(opening.left, inward),
            wall.point(right, inward),
        ],
        axis=1,
    )
    if float(area(ring)[0]) < 0:
        ring = ring[:, ::-1]
    return Group(opening.name, (prism(ring, opening.sill, opening.sill + opening.height),))


def read(context: Context) -> Iterator[Reading]:
    """Readings of every body near a doorway or a window."""
    bodies = context.bodies
    for opening, way in _ways(context).items():
        door = opening.kind == "door"
        for meeting in meetings(bodies, [way], 0.0):
            item = context.layout.item(meeting.first.name)
            if float(meeting.gap.min()) >= -TOUCH:
                continue
            yield Reading(
                check=DOORWAY if door else WINDOW,
                items=(item.name, opening.name),
                gap=meeting.gap,
                detail=_later(context, meeting, opening, item),
                weight=Verdict.CONFLICT if door else Verdict.CAUTION,
                source=context.rules.source("doorway" if door else "window"),
            )


def _ways(context: Context) -> dict[Opening, Group]:
    """The air in front of each opening; of a moved layout what it was before."""
    doorway, window = context.rules.doorway, context.rules.window

    def ways(layout: Layout, openings: list[Opening]) -> list[Group]:
        return [
            opening_way(layout.room, each, doorway if each.kind == "door" else window)
            for each in openings
        ]

    key = ("ways of openings", doorway, window)
    return as_before(context.layout, key, lambda layout: layout.room.openings, ways)


def _later(
    context: Context, meeting: Meeting, opening: Opening, item: Placed
) -> Callable[[], Detail]:
    return lambda: _detail(context, meeting, opening, item)


def _detail(context: Context, meeting: Meeting, opening: Opening, item: Placed) -> Detail:
    pushes = tuple(pushes_apart(context, meeting.first, meeting.second))
    if opening.kind == "door":
        gap = float(meeting.gap[0])
        says = (
            f"{item.name} stands {mm(-gap)} into the way of {opening.name}"
            if gap < 0
            else f"{item.name} is {mm(gap)} from the way of {opening.name}"
        )
    else:
        depth = context.rules.window
        share = hidden_share(context.layout.room, opening, item, depth)
        says = f"{item.name} stands in front of {opening.name} and hides {100 * share:.0f} % of it"
    return Detail(says=says, at=place(meeting.at), pushes=pushes)


def hidden_share(room: Room, opening: Opening, item: Placed, depth: float) -> float:
    """Share of an opening covered by a body as seen square to the wall, nominal world.

    Only what of the body lies before the opening itself, within the depth, counts.
    """
    wall = room.wall(opening.wall)
    glass = _rectangle(
        float(opening.left[0]),
        float(opening.left[0] + opening.width[0]),
        float(opening.sill[0]),
        float(opening.sill[0] + opening.height[0]),
    )
    from shapely import Polygon, union_all
    from shapely.geometry import MultiPoint

    (way,) = opening_way(room, opening, depth).solids
    air = way.world(0)
    ends = [[0.0, 0.0, 1.0, air.high[0, 2]], [0.0, 0.0, -1.0, -air.low[0, 2]]]
    planes = np.vstack([prism_planes(outline_of(air)[0]), ends])
    shadows = []
    for part in item.parts:
        cut = clip_solid(part.solid.world(0), planes)
        if cut is not None:
            along = (cut.corners[0, :, :2] - wall.left[0]) @ wall.along[0]
            seen = np.stack([along, cut.corners[0, :, 2]], axis=1)
            shadows.append(MultiPoint(seen).convex_hull)
    pane = Polygon(glass)
    return float(union_all(shadows).intersection(pane).area / pane.area)


def _rectangle(x0: float, x1: float, z0: float, z1: float) -> Floats:
    return np.array([[x0, z0], [x1, z0], [x1, z1], [x0, z1]])
