"""Dimensions of the plan: the walls and their openings, and every item from one datum corner."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from massing.checks.run import Answer
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.board import Board
from massing.handover.drawings.dimensions import Line, chain, figure, running
from massing.handover.drawings.facts import datum_of
from massing.handover.drawings.label import Label
from massing.handover.drawings.lettering import width_of
from massing.handover.drawings.shapes import Placing
from massing.handover.drawings.sheet import DIM, Box
from massing.handover.drawings.walls import outer_bounds
from massing.room.shape import Opening, Room, Wall

__all__ = ["set_out"]

_STEP = 6.0
_FIRST = 21.0
_RUNNING = 4.0
"""Paper mm from the outer face to the first chain and to the running dimensions before it."""


def set_out(board: Board, placing: Placing, answer: Answer, area: Box) -> bool:
    """Draw all dimensions of the plan; False where the running ones found no room."""
    room = answer.layout.room
    low, high = outer_bounds(room)
    datum = datum_of(room)
    edge = placing.points(np.array([low, high]))
    done = _running(board, placing, answer, (low, datum), area)
    for wall in room.walls:
        if not wall.partition:
            done &= _wall(board, placing, room, wall, edge, area)
        elif any(opening.wall == wall.name for opening in room.openings):
            done &= _partition(board, placing, room, wall, area)
    done &= _overall(board, placing, room, edge, area)
    _datum_mark(board, placing, datum, area)
    return done


def _running(
    board: Board, placing: Placing, answer: Answer, ends: tuple[Floats, Floats], area: Box
) -> bool:
    low, datum = ends
    origin = placing.points(datum[None])[0]
    corner = placing.points(low[None])[0]
    done = True
    for axis in (0, 1):
        line = Line(
            upright=axis == 1,
            at=float(corner[1 - axis]) - _RUNNING,
            origin=float(origin[axis]),
            scale=placing.scale,
            side=-1.0,
        )
        stops = [(0.0, float(origin[1 - axis]))]
        for item in answer.layout.items:
            near = placing.points(item.low[:, :2])[0]
            stops.append((float(item.low[0, axis] - datum[axis]), float(near[1 - axis])))
        stops += _partition_stops(placing, answer.layout.room, datum, axis)
        # Figures at the left stay above those below, or the two meet in the corner.
        floor = float(corner[1]) - _RUNNING - 3.0 if axis == 1 else area[1]
        done &= running(board, line, stops, (area[0], floor, area[2], area[3]))
    return done


def _partition_stops(
    placing: Placing, room: Room, datum: Floats, axis: int
) -> list[tuple[float, float]]:
    """The face of each partition nearer the datum, where it runs square to the axis."""
    found = []
    for fabric in room.fabric:
        corners = np.vstack([part.corners[0, :, :2] for part in fabric.parts])
        faces = [w for w in room.walls if w.part_of == fabric.name]
        square = [w for w in faces if abs(float(w.along[0, axis])) < 1e-6]
        if fabric.kind == "partition" and square:
            near = placing.points(corners.min(axis=0)[None])[0]
            found.append((float(corners[:, axis].min() - datum[axis]), float(near[1 - axis])))
    return found


def _wall(board: Board, placing: Placing, room: Room, wall: Wall, edge: Floats, area: Box) -> bool:
    """Openings of a wall in a chain behind it, and its length behind that."""
    side = _axis_side(wall)
    openings = sorted(
        (o for o in room.openings if o.wall == wall.name), key=lambda o: float(o.left[0])
    )
    if side is None:
        return _oblique(board, placing, wall, openings, area)
    axis, sign = side
    face = placing.points((wall.left[0] + wall.thickness[0] * wall.outward[0])[None])[0]
    outermost = abs(face[1 - axis] - edge[0 if sign < 0 else 1, 1 - axis]) < 0.01
    beyond = _FIRST if sign < 0 and outermost else _STEP
    at = float(face[1 - axis]) + sign * beyond
    left = placing.points(wall.left)[0]
    ways = 1.0 if float(wall.along[0, axis]) > 0 else -1.0
    done = True
    if openings:
        line = Line(axis == 1, at, float(left[axis]), placing.scale, _side(axis, sign), ways)
        done &= chain(board, line, _stops(wall, openings), area, float(face[1 - axis]))
        at += sign * _STEP
    if not _repeats(room, wall):
        line = Line(axis == 1, at, float(left[axis]), placing.scale, _side(axis, sign), ways)
        ends = [0.0, float(wall.length[0])]
        done &= chain(board, line, ends, area, float(face[1 - axis]))
    return done


def _partition(board: Board, placing: Placing, room: Room, wall: Wall, area: Box) -> bool:
    """Openings of a partition in a chain along its clearer side, within the room."""
    openings = sorted(
        (o for o in room.openings if o.wall == wall.name), key=lambda o: float(o.left[0])
    )
    stops = _stops(wall, openings)
    out = wall.outward[0]
    faces = [(wall.left[0], -out), (wall.left[0] + wall.thickness[0] * out, out)]
    tries = []
    for corner, way in faces:
        ends = placing.points(corner + np.array([[stops[0]], [stops[-1]]]) * wall.along[0])
        strip = np.vstack([ends + 1.5 * way, ends + (_STEP + 4.0) * way])
        (left, bottom), (right, top) = strip.min(axis=0), strip.max(axis=0)
        tries.append(board.crowd((float(left), float(bottom), float(right), float(top))))
    corner, way = faces[int(np.argmin(tries))]
    side = _axis_side(wall)
    if side is None:
        return _askew(board, placing, (corner, wall.along[0], way), stops, _STEP, area)
    axis = side[0]
    face = placing.points(corner[None])[0]
    ways = 1.0 if float(wall.along[0, axis]) > 0 else -1.0
    line = Line(
        axis == 1,
        float(face[1 - axis] + _STEP * way[1 - axis]),
        float(face[axis]),
        placing.scale,
        _side(axis, 1.0),
        ways,
    )
    return chain(board, line, stops, area, float(face[1 - axis]))


def _side(axis: int, sign: float) -> float:
    """Figures stand above a line that lies level, and left of one that is upright."""
    del sign
    return 1.0 if axis == 0 else -1.0


def _axis_side(wall: Wall) -> tuple[int, float] | None:
    """Axis a wall runs along and the side of the room it is on; None where it runs askew."""
    out = wall.outward[0]
    for axis in (0, 1):
        if abs(float(out[axis])) < 1e-6:
            return axis, float(np.sign(out[1 - axis]))
    return None


def _stops(wall: Wall, openings: list[Opening]) -> list[float]:
    stops = {0.0, round(float(wall.length[0]), 4)}
    for opening in openings:
        stops |= {round(float(opening.left[0]), 4)}
        stops |= {round(float(opening.left[0] + opening.width[0]), 4)}
    return sorted(stops)


def _repeats(room: Room, wall: Wall) -> bool:
    """Whether a wall's length is told by the wall opposite: the north and east of a rectangle."""
    walls = [w for w in room.walls if not w.partition]
    if len(walls) != 4 or float(wall.outward[0].sum()) < 0:
        return False
    return any(
        float(other.outward[0] @ wall.outward[0]) < -1 + 1e-12
        and abs(float(other.length[0] - wall.length[0])) < TOUCH
        for other in walls
    )


def _oblique(
    board: Board, placing: Placing, wall: Wall, openings: list[Opening], area: Box
) -> bool:
    """Openings and length of a wall that runs askew, on lines beside it."""
    out = wall.outward[0]
    off = _FIRST if min(float(out[0]), float(out[1])) < -0.3 else _STEP
    edge = (wall.left[0] + wall.thickness[0] * out, wall.along[0], out)
    done = True
    if openings:
        done &= _askew(board, placing, edge, _stops(wall, openings), off, area)
        off += _STEP
    return _askew(board, placing, edge, [0.0, float(wall.length[0])], off, area) and done


def _askew(
    board: Board,
    placing: Placing,
    edge: tuple[Floats, Floats, Floats],
    stops: list[float],
    off: float,
    area: Box,
) -> bool:
    """A chain along an edge at any angle, its figures level and beside it.

    edge : its left end, the way along it and the way off it to the chain
    """
    face, along, out = edge
    places = placing.points(np.array([face + stop * along for stop in stops]))
    ends = places + off * out
    strip = np.vstack([places, ends])
    low, high = strip.min(axis=0), strip.max(axis=0)
    board.shade((float(low[0]), float(low[1]), float(high[0]), float(high[1])), 0.6)
    board.line(ends[[0, -1]], DIM)
    for place, end in zip(places, ends, strict=True):
        board.line(np.array([place + out, place + 3.0 * out]), DIM)
        board.line(np.array([end - 2.0 * out, end + 1.2 * out]), DIM)
        board.line(np.array([end - 1.1, end + 1.1]), DIM)
    done = True
    for k, (first, last) in enumerate(pairwise(stops)):
        told = figure(last - first)
        half = np.array([width_of(told, 2.5) / 2.0, 1.8])
        at = (ends[k] + ends[k + 1]) / 2.0 + (1.0 + float(half @ np.abs(out))) * out
        label = Label((told,), (float(at[0]), float(at[1])), near=3.0, leader=False)
        done &= board.place(label, area)
    return done


def _overall(board: Board, placing: Placing, room: Room, edge: Floats, area: Box) -> bool:
    """Overall sizes outside, with the walls: below and at the left, farthest out."""
    low, high = outer_bounds(room)
    ring = room.outline[0]
    inner = ring.min(axis=0), ring.max(axis=0)
    done = True
    for axis in (0, 1):
        thick = (inner[0][axis] - low[axis], high[axis] - inner[1][axis])
        square = len([w for w in room.walls if not w.partition]) == 4
        if max(thick) < TOUCH and square:
            continue
        at = float(edge[0, 1 - axis]) - _FIRST - 2 * _STEP
        line = Line(axis == 1, at, float(edge[0, axis]), placing.scale, 1.0 if axis == 0 else -1.0)
        done &= chain(
            board, line, [0.0, float(high[axis] - low[axis])], area, float(edge[0, 1 - axis])
        )
    return done


def _datum_mark(board: Board, placing: Placing, datum: Floats, area: Box) -> None:
    at = placing.points(datum[None])[0]
    board.place(Label(("datum 0, 0",), (float(at[0]), float(at[1])), "datum", near=1.0), area)
