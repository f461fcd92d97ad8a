"""The dimensioned plan: a checked scheme in, its plan on the board out.

Cut level at 1200 above the lowest floor; what is above the cut is dashed, with its underside.
Heights are above the floor below (AFL).
"""

from __future__ import annotations

import numpy as np

from massing.checks.run import Answer
from massing.geometry.offset import offset_by
from massing.geometry.outline import shared_sides
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.board import Board
from massing.handover.drawings.facts import Drawn, numbered
from massing.handover.drawings.label import Label
from massing.handover.drawings.moving import draw_leaf, draw_opened
from massing.handover.drawings.plan_labels import breaks_at, plan_labels, point_of
from massing.handover.drawings.setting_out import set_out
from massing.handover.drawings.shapes import (
    PLAN,
    Placing,
    draw_lines,
    draw_rings,
    hatch,
    rings_in,
    silhouette,
)
from massing.handover.drawings.sheet import (
    AXIS,
    BODY,
    CUT,
    DIM,
    HIDDEN,
    SEEN,
    ZONE,
    Box,
)
from massing.handover.drawings.walls import wall_plans
from massing.handover.opened import hung_leaves, opened_doors, opened_parts
from massing.room.measure import cells
from massing.room.shape import Room
from massing.scheme.layout import Placed

__all__ = ["cut_level", "draw_plan"]

_CUT_AT = 1200.0
"""Above the lowest floor. Common practice, no source."""


def cut_level(answer: Answer) -> float:
    """Height z of the cutting plane: 1200 above the lowest floor."""
    lowest = min(float(floor.level[0]) for floor in answer.layout.room.floors)
    return lowest + _CUT_AT


def draw_plan(
    answer: Answer,
    traces: dict[str, tuple[Floats, Floats, Floats]],
    board: Board,
    placing: Placing,
    area: Box,
) -> Drawn:
    """Draw the plan within an area; ``traces`` are the sections' cutting planes in plan."""
    room, level = answer.layout.room, cut_level(answer)
    drawn = Drawn(set(), [])
    _floors(board, placing, room)
    _zones(board, placing, answer)
    _items(board, placing, answer, level)
    _fabric(board, placing, room, level)
    _walls(board, placing, room, level)
    _moving(board, placing, answer, level)
    letters = [x for name, trace in traces.items() for x in _trace(board, placing, name, trace)]
    _shade(board, placing, answer)
    if not set_out(board, placing, answer, area):
        drawn.missed.append("setting-out figures (see the schedule)")
    first = [(letter, None) for letter in letters]
    for label, spare in (*first, *plan_labels(answer, placing, level, drawn)):
        if board.place(label, area) or (spare is not None and board.place(spare, area)):
            continue
        drawn.missed.append(" ".join(label.lines))
    return drawn


def _ring_of(placing: Placing, ring: Floats) -> Floats:
    return placing.points(ring[:, :2])


def _floors(board: Board, placing: Placing, room: Room) -> None:
    """Edges of floor steps seen, breaks in the ceiling dashed."""
    found = cells(room)
    for k, one in enumerate(found):
        for other in found[k + 1 :]:
            for p, q in shared_sides(one.polygon, other.polygon):
                if abs(one.floor - other.floor) > TOUCH:
                    board.line(_ring_of(placing, np.array([p, q])), SEEN)
                if breaks_at(one, other, p, q):
                    board.line(_ring_of(placing, np.array([p, q])), HIDDEN)


def _zones(board: Board, placing: Placing, answer: Answer) -> None:
    for item in answer.layout.items:
        for zone in item.zones:
            board.line(_ring_of(placing, zone.polygon[0]), ZONE, closed=True)


def _items(board: Board, placing: Placing, answer: Answer, level: float) -> None:
    """Outlines, the lowest first: what a higher thing covers is dashed."""
    from shapely import unary_union

    shapes = [
        (item, silhouette([p.solid for p in item.parts], PLAN)) for item in answer.layout.items
    ]
    for item, shape in shapes:
        base, top = float(item.low[0, 2]), float(item.high[0, 2])
        if base >= level - TOUCH:
            draw_lines(board, placing, shape.boundary, HIDDEN)
            continue
        over = [
            other
            for held, other in shapes
            if held is not item
            and float(held.low[0, 2]) < level
            and float(held.low[0, 2]) >= top - TOUCH
        ]
        edge = shape.boundary
        if over:
            cover = offset_by(unary_union(over), -0.01)
            draw_lines(board, placing, edge.intersection(cover), HIDDEN)
            edge = edge.difference(cover)
        draw_lines(board, placing, edge, BODY if top > level else SEEN)
        if base < level:
            _front(board, placing, item)


def _front(board: Board, placing: Placing, item: Placed) -> None:
    """A fine second line along the front, where an item has one that is used."""
    if not item.zones and not item.motions:
        return
    yaw = float(item.yaw[0])
    across, deep = np.array([np.cos(yaw), np.sin(yaw)]), np.array([-np.sin(yaw), np.cos(yaw)])
    cloud = np.vstack([part.solid.corners[0, :, :2] for part in item.parts])
    u, v = cloud @ across, cloud @ deep
    inset = min(1.2 * placing.scale, 0.2 * float(np.ptp(v)))
    ends = np.array([across * w + deep * (v.min() + inset) for w in (u.min(), u.max())])
    board.line(_ring_of(placing, ends), DIM)


def _fabric(board: Board, placing: Placing, room: Room, level: float) -> None:
    for fabric in room.fabric:
        cut = [p for p in fabric.parts if float(p.low[0, 2]) < level < float(p.high[0, 2])]
        above = [p for p in fabric.parts if float(p.low[0, 2]) >= level]
        below = [p for p in fabric.parts if float(p.high[0, 2]) <= level]
        solid = silhouette(cut, PLAN)
        for ring in rings_in(solid):
            board.area(_ring_of(placing, ring), CUT, "#FFFFFF")
        hatch(board, [_ring_of(placing, ring) for ring in rings_in(solid)], 1.6, -1.0)
        draw_rings(board, placing, silhouette(above, PLAN).difference(solid), HIDDEN)
        draw_rings(board, placing, silhouette(below, PLAN), SEEN)


def _walls(board: Board, placing: Placing, room: Room, level: float) -> None:
    """Cut walls hatched, each opening with the lines of its reveal or its glass."""
    for plan in wall_plans(room, level):
        for piece in plan.pieces:
            points = _ring_of(placing, piece)
            if len(piece) == 2:
                board.line(points, CUT)
                continue
            hatch(board, [points])
            board.line(points[:2], CUT)
            board.line(points[2:], CUT)
            _wall_ends(board, points, plan.wall.length[0] / placing.scale)
        for opening, hole in plan.holes:
            _opening(board, _ring_of(placing, hole), window=opening.kind == "window")
    for opening in room.openings:
        wall = room.wall(opening.wall)
        low, high = float(opening.sill[0]), float(opening.sill[0] + opening.height[0])
        if not wall.partition and not low < level < high:
            jambs = [float(opening.left[0]), float(opening.left[0] + opening.width[0])]
            for jamb in jambs:
                end = wall.left[0] + jamb * wall.along[0]
                back = end + max(float(wall.thickness[0]), 40.0) * wall.outward[0]
                board.line(_ring_of(placing, np.array([end, back])), HIDDEN)


def _moving(board: Board, placing: Placing, answer: Answer, level: float) -> None:
    """Leaves as far open as they go; drawers, flaps and other doors dashed where they come to."""
    bodies = {
        item.name: silhouette([part.solid for part in item.parts], PLAN)
        for item in answer.layout.items
    }
    draw_opened(board, placing, (*opened_parts(answer), *opened_doors(answer)), PLAN, bodies)
    for hung in hung_leaves(answer):
        low, high = float(hung.leaf.low[0]), float(hung.leaf.high[0])
        if hung.kind == "door" or low < level < high:
            draw_leaf(board, placing, hung)


def _wall_ends(board: Board, points: Floats, length: float) -> None:
    """Jambs are cut lines too; at mitred corners the hatch runs on."""
    del length
    for a, b in ((points[1], points[2]), (points[3], points[0])):
        way, face = b - a, points[1] - points[0]
        if abs(float(way @ face)) < 1e-6 * float(np.hypot(*way) * np.hypot(*face) + 1e-9):
            board.line([a, b], CUT)


def _opening(board: Board, hole: Floats, *, window: bool) -> None:
    thick = float(np.hypot(*(hole[3] - hole[0])))
    if thick < 0.05:
        board.line(hole[:2], SEEN)
        return
    board.line(hole[:2], SEEN)
    board.line(hole[2:], SEEN)
    if window:
        for share in (0.42, 0.58):
            ends = hole[:2] + share * (hole[3] - hole[0])
            board.line(ends, SEEN)


def _trace(
    board: Board, placing: Placing, name: str, trace: tuple[Floats, Floats, Floats]
) -> list[Label]:
    """Ends of a cutting plane, thick, with the way it looks; returns its letters to place."""
    start, end, look = trace
    p, q = placing.points(np.array([start, end]))
    way = (q - p) / max(float(np.hypot(*(q - p))), 1e-9)
    letters = []
    for point, sign in ((p, -1.0), (q, 1.0)):
        near, far = point + sign * way * 1.0, point + sign * way * 5.0
        board.line([near, far], AXIS)
        head = far + look * 4.5
        wing = np.array([-look[1], look[0]]) * 0.9
        board.line([far, head], DIM)
        board.area([head, head - look * 2.6 + wing, head - look * 2.6 - wing], DIM, "#000000")
        spot = far + sign * way * 3.0
        letters.append(
            Label(
                (name,),
                point_of(spot),
                f"section {name}",
                near=4.0,
                height=3.5,
                bold=True,
                leader=False,
            )
        )
    board.chain(point_of(p), point_of(q), DIM)
    return letters


def _shade(board: Board, placing: Placing, answer: Answer) -> None:
    """Make bodies less welcome to the lettering of other things."""
    for item in answer.layout.items:
        low = placing.points(item.low[:, :2])[0]
        high = placing.points(item.high[:, :2])[0]
        board.shade((float(low[0]), float(low[1]), float(high[0]), float(high[1])), 0.2)
    for _, finding in numbered(answer):
        if finding.at_mm is not None:
            board.spare(placing.point(*finding.at_mm[:2]))
