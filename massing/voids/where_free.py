"""Where can a thing stand away from walls, and how high can it hang: a scheme in, regions out.

For each turn along the room's walls, and the thing's own, the exact region of floor its body can
stand on, on one level, and within it the region where nothing is in conflict; for a thing that
hangs on walls the same along and up each wall. A base that hangs over a step by the little its
support may is left out. See ``massing.voids.where_moves`` for what is exact and what is looked at
in squares. The nominal world decides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from massing.geometry.outline import outline_of, rectangle
from massing.geometry.solids import Convex, Floats, prism
from massing.project.project import Project
from massing.room.shape import Room
from massing.scheme.ground import level_under
from massing.scheme.layout import Layout, Placed
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.in_the_way import FAR
from massing.voids.meeting import meeting
from massing.voids.regions import polygons_of
from massing.voids.trial import added, item_of
from massing.voids.where import asked
from massing.voids.where_moves import Allowed, Lift, Moves

__all__ = [
    "FloorMap",
    "HeightMap",
    "floor_map",
    "foot_of",
    "turns_of",
    "where_on_floor",
    "where_up_walls",
]

_FINE = 0.5  # mm; how near the roomiest place is found
_TURN = 6  # decimals of a degree
_SAME = 0.01  # degrees; turns nearer than this are one
_NEAR = 10.0  # degrees; a quarter turn this near to a wall's own turn is left out


@dataclass(frozen=True, slots=True, eq=False)
class FloorMap:
    """Where a thing can stand at one turn.

    turn : degrees counter-clockwise from how it is drawn, the word ``turn`` of a placement
    facing : the wall its front then looks at, square to it, "" where there is none
    size : of its bounds west to east and south to north, mm
    foot : (4, 2) the rectangle about it in its own directions, from the middle, its front first
    body, clear : places of the middle of its bounds, shapely geometries, mm
    slits : (n, 2) such places without any play
    spot, slack : the place it can be moved furthest from any way and stay clear, and how far, mm
    blocked : (what, mm²) what takes the rest of ``body``, the most first
    """

    turn: float
    facing: str
    size: tuple[float, float]
    foot: Floats
    body: Any
    clear: Any
    slits: Floats
    spot: tuple[float, float] | None
    slack: float
    blocked: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class HeightMap:
    """How high a thing can hang on one wall.

    width : of the thing along the wall, mm
    body, clear : along of its left end and z of its underside, shapely geometries, mm
    heights : least and greatest z of its underside in ``clear``, None where that is empty
    spot, slack : along and z with the most play, and how much, mm
    over : least and greatest height of its underside above the floor under it in ``clear``, the
        word ``height`` of a placement, None where that is empty; spot_over : that at the spot
    """

    wall: str
    width: float
    body: Any
    clear: Any
    heights: tuple[float, float] | None
    spot: tuple[float, float] | None
    slack: float
    blocked: tuple[tuple[str, float], ...]
    over: tuple[float, float] | None = None
    spot_over: float = 0.0


def where_on_floor(project: Project, scheme: str, item: str) -> tuple[FloorMap, ...]:
    """Where a thing that stands on the floor can stand, turn by turn; none for one that hangs.

    item : as for ``where_against``
    Raises InputError for an unknown item.
    """
    words, rest = asked(project, scheme, item, None)
    if item_of(rest, words["item"]).mount in {"wall", "ceiling"} or "height" in words:
        return ()
    base = place(rest, scheme, Values())
    old = place(project, scheme, Values()).found(item)
    own = math.degrees(float(old.yaw[0])) if old is not None else 0.0
    outline = base.room.outline[0]
    middle = ((outline.min(axis=0) + outline.max(axis=0)) / 2.0).round()
    found = []
    for turn, facing in turns_of(base.room, own):
        told = {**words, "centre": middle.tolist(), "turn": turn}
        trial = added(rest, scheme, told, base)
        mover = trial.layout.item(trial.name)
        low, high = mover.low[0, :2], mover.high[0, :2]
        moves = Moves(
            layout=trial.layout,
            rules=trial.rules,
            mover=mover,
            axes=np.eye(3),
            domain=np.array([outline.min(axis=0), outline.max(axis=0)]) - (low + high) / 2.0,
            lifts=tuple(_levels(trial.layout, mover)),
        )
        allowed = moves.allowed()
        found.append(floor_map(allowed, (turn, facing), mover))
    return tuple(found)


def turns_of(room: Room, own: float) -> list[tuple[float, str]]:
    """Turns with the front square to each wall, quarter turns that no wall is near, and its own."""
    walls = [wall for wall in room.walls if not wall.partition]
    faced: dict[float, str] = {}
    for wall in walls:
        faced.setdefault(_turn(math.degrees(math.atan2(*(wall.outward[0] * [1, -1])))), wall.name)
    turns = sorted(faced)
    for more in [*(_turn(turn + 90.0 * k) for turn in sorted(faced) for k in (1, 2, 3))]:
        if all(_between(more, turn) > _NEAR for turn in turns):
            turns.append(more)
    if all(_between(own, turn) > _SAME for turn in turns):
        turns.append(_turn(own))
    return [(turn, faced.get(turn, "")) for turn in sorted(turns)]


def _between(one: float, other: float) -> float:
    """How far apart two turns are, degrees."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


def _turn(degrees: float) -> float:
    return round(degrees % 360.0, _TURN) % 360.0 + 0.0


def _levels(layout: Layout, mover: Placed) -> Iterator[Lift]:
    """Each floor level, with the floors of other levels, which the feet must not be over."""
    room = layout.room
    foot = foot_of(mover)
    start = float(level_under(room, foot[None])[0])
    pillar = prism(foot, -FAR, FAR)
    levels = sorted({float(floor.level[0]) for floor in room.floors})
    for level in levels:
        off: tuple[Convex, ...] = tuple(
            prism(floor.polygon[:1], -FAR, FAR)
            for floor in room.floors
            if float(floor.level[0]) != level
        )
        yield Lift(level - start, (pillar,), off)


def foot_of(mover: Placed) -> Floats:
    """(4, 2) the rectangle about a thing's body in its own directions, counter-clockwise."""
    yaw = float(mover.yaw[0])
    turned = np.array([[math.cos(yaw), math.sin(yaw)], [-math.sin(yaw), math.cos(yaw)]])
    points = np.concatenate([outline_of(part.solid)[0] for part in mover.parts]) @ turned.T
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return np.asarray(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) @ turned)


def floor_map(allowed: Allowed, turned: tuple[float, str], mover: Placed) -> FloorMap:
    """The moves a thing may make, told as places of the middle of its bounds; its turn is given."""
    from shapely.affinity import translate

    low, high = mover.low[0, :2], mover.high[0, :2]
    x, y = ((low + high) / 2.0).tolist()
    body, clear = (translate(region, x, y) for region in (allowed.body, allowed.clear))
    spot, slack = _roomiest(clear)
    wide, deep = (high - low).tolist()
    return FloorMap(
        turn=turned[0],
        facing=turned[1],
        size=(wide, deep),
        foot=foot_of(mover) - np.array([x, y]),
        body=body,
        clear=clear,
        slits=allowed.slits + np.array([x, y]),
        spot=spot,
        slack=slack,
        blocked=allowed.blocked,
    )


def _roomiest(region: Any) -> tuple[tuple[float, float] | None, float]:
    """The middle of the largest circle in a region, and its radius."""
    from shapely import maximum_inscribed_circle

    best: tuple[tuple[float, float] | None, float] = (None, 0.0)
    for piece in polygons_of(region):
        line = maximum_inscribed_circle(piece, tolerance=_FINE)
        if line.length > best[1] + _FINE:
            best = ((float(line.coords[0][0]), float(line.coords[0][1])), float(line.length))
    return best


def where_up_walls(project: Project, scheme: str, item: str) -> tuple[HeightMap, ...]:
    """How high a thing that hangs on walls can hang, wall by wall; none for any other.

    Raises InputError for an unknown item.
    """
    words, rest = asked(project, scheme, item, None)
    if "height" not in words:
        return ()
    base = place(rest, scheme, Values())
    told = {**words, "along": 0.0}
    return tuple(_up_wall(rest, base, {**told, "against": wall.name}) for wall in base.room.walls)


def _up_wall(rest: Project, base: Layout, words: dict[str, Any]) -> HeightMap:
    trial = added(rest, base.name, words, base)
    wall, mover = trial.layout.room.wall(words["against"]), trial.layout.item(trial.name)
    axes = np.zeros((3, 3))
    axes[0, :2], axes[1, 2], axes[2, :2] = wall.along[0], 1.0, wall.outward[0]
    points = np.concatenate([part.solid.corners[0] for part in mover.parts])
    width = float(np.ptp(points @ axes[0]))
    low, high = points[:, 2].min(), points[:, 2].max()
    floor = min(float(piece.level[0]) for piece in base.room.floors)
    top = max(float(piece.height(piece.polygon).max()) for piece in base.room.ceilings)
    free, rise = float(wall.length[0]) - width, top - (high - low) - floor
    if free < 0.0 or rise < 0.0:
        from shapely import Polygon

        return HeightMap(wall.name, width, Polygon(), Polygon(), None, None, 0.0, ())
    domain = np.array([[0.0, floor - low], [free, floor - low + rise]])
    moves = Moves(trial.layout, trial.rules, mover, axes, domain, (Lift(0.0),), zones=False)
    found = _height_map(moves.allowed(), wall.name, width, float(low))
    return _over_floor(found, base.room, mover, wall.along[0])


def _over_floor(found: HeightMap, room: Room, mover: Placed, along: Floats) -> HeightMap:
    """The map with heights above the floor under the thing, stretch by stretch of the wall."""
    from shapely import box

    if found.heights is None or found.spot is None:
        return found
    foot = rectangle(mover.low[:1, :2], mover.high[:1, :2])
    pillar, way = prism(foot, -FAR, FAR), np.array([*along, 0.0])
    start, _, stop, _ = found.clear.bounds
    ends = {start, stop}
    for floor in room.floors:
        ends.update(meeting(pillar, prism(floor.polygon[:1], -FAR, FAR), way) or ())
    stops = sorted(end for end in ends if start <= end <= stop)
    over: list[float] = []
    for a, b in pairwise(stops):
        level = float(level_under(room, foot + (a + b) / 2.0 * along)[0])
        part = found.clear.intersection(box(a, found.heights[0], b, found.heights[1]))
        if part.area > 0.0:
            over += [float(part.bounds[1]) - level, float(part.bounds[3]) - level]
    under = float(level_under(room, foot + found.spot[0] * along)[0])
    told = (min(over), max(over)) if over else None
    return replace(found, over=told, spot_over=found.spot[1] - under)


def _height_map(allowed: Allowed, wall: str, width: float, low: float) -> HeightMap:
    from shapely.affinity import translate

    body, clear = (translate(region, 0.0, low) for region in (allowed.body, allowed.clear))
    spot, slack = _roomiest(clear)
    heights = None if clear.is_empty else (float(clear.bounds[1]), float(clear.bounds[3]))
    return HeightMap(wall, width, body, clear, heights, spot, slack, allowed.blocked)
