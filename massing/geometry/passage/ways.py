"""How wide a way is there through a plan: outline and obstacles in, width, pinch and path out.

The width is that of the widest disc whose centre gets from the start into the goal. It is exact:
the clearance over the free floor has its passes (saddles) only half-way along a closest pair of
wall points whose disc on that pair as diameter holds no other wall point. Cutting the floor along
all those pairs leaves faces with one summit of clearance each, so the widest way between two
faces is the widest chain of pairs crossed (a spanning-tree question), and nothing is sampled.
What limits the way at the start or in the goal is the greatest clearance there, found by
branch and bound to 0.02 mm.

Source: the pairs are the Gabriel graph (Gabriel and Sokal, "A new statistical approach to
geographic variation analysis", Systematic Zoology 18, 1969) taken over corners and edges.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from massing.errors import GeometryError
from massing.geometry.passage.faces import Floor, Gate, floor_faces, open_floor
from massing.geometry.passage.line import clear_line, roomiest
from massing.geometry.solids import Floats

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "Shapes",
    "Ways",
    "WidestPath",
    "drawn",
    "joined",
    "polygons_of",
    "tightest_to",
    "way_to",
    "ways_from",
    "widest_path",
    "width_to",
]

Shapes: TypeAlias = np.ndarray[Any, np.dtype[np.object_]]
_SLACK = 0.1  # mm; how much nearer than half the width the drawn path may pass
_LEAST = 10.0  # mm; a narrower way is not drawn
_SPECK = 1e-6  # mm²; what lacks no more than this of its bounds fills them


@dataclass(frozen=True, slots=True, eq=False)
class WidestPath:
    """The widest way from the start into the goal.

    width : mm, 0 when there is none
    path : (k, 2) polyline of the disc's centre, at least half the width less 0.1 mm from every
        wall; empty when the width is under 10 mm
    pinch : (2,) where it is tightest; pair : (2, 2) the two wall points there
    limit : "between" two wall points, or the room at the "start" or in the "goal"; "closed" when
        there is no way, and then pinch and pair are nan
    """

    width: float
    path: Floats
    pinch: Floats
    pair: Floats
    limit: str


def widest_path(
    outline: Floats, obstacles: Sequence[Floats], start: Floats, goal: Floats
) -> WidestPath:
    """Find the widest way from the start into the goal.

    outline : (n, 2) simple ring, mm; obstacles : simple rings, mm, which may touch or overlap
    start : (2,) a place on the floor, or (2, 2) a segment; a segment lying in the outline is a
        doorway, whose width counts like any other gap
    goal : (m, 2) ring; reached when the disc's centre is in it, so a shallow goal against a wall
        limits the width to twice its depth
    Raises GeometryError for rings that cross themselves or have no area.

    >>> room = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]], dtype=float)
    >>> bench = np.array([[1000, 0], [1400, 0], [1400, 1300], [1000, 1300]], dtype=float)
    >>> door = np.array([[0, 600], [0, 1360]], dtype=float)
    >>> zone = np.array([[2000, 0], [3000, 0], [3000, 900], [2000, 900]], dtype=float)
    >>> found = widest_path(room, [bench], door, zone)
    >>> found.width, found.pinch.tolist(), found.limit
    (700.0, [1000.0, 1650.0], 'between')
    """
    return way_to(ways_from(outline, obstacles, start), goal)


@dataclass(frozen=True, slots=True, eq=False)
class _Reach:
    """How wide a face is reached, through which gate from which face, or from which first spot."""

    width: float
    gate: int = -1
    before: int = -1
    spot: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Everything reached from one start; asked goal by goal with ``way_to`` and ``width_to``."""

    floor: Floor
    faces: Shapes
    gates: list[Gate]
    reached: dict[int, _Reach]


def ways_from(outline: Floats, obstacles: Sequence[Floats], start: Floats) -> Ways:
    """Work out once how wide a way leads from a start to every part of the floor.

    outline, obstacles, start and errors : as for ``widest_path``
    """
    from shapely import prepare, union_all

    begin = np.atleast_2d(np.asarray(start, dtype=np.float64))
    solid = union_all(polygons_of(obstacles))
    floor = open_floor(_polygon(outline), solid, begin)
    if floor.free.is_empty:
        return Ways(floor, np.empty(0, dtype=np.object_), [], {})
    faces, gates = floor_faces(floor)
    reached = _spread(floor, faces, gates, begin)
    held = np.array(faces, dtype=np.object_)
    prepare(held)
    return Ways(floor, held, gates, reached)


def width_to(ways: Ways, goal: Floats) -> float:
    """Width of the widest way into the goal, mm; 0 when there is none. No path is drawn.

    >>> room = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]], dtype=float)
    >>> ways = ways_from(room, [room / 2 + [0, 1200]], np.array([600.0, 600]))
    >>> width_to(ways, room / 3 + [1800, 0])
    1200.0
    """
    return tightest_to(ways, _polygon(goal))[0]


def tightest_to(ways: Ways, goal: Polygon) -> tuple[float, Gate | None]:
    """Width of the widest way into a goal, mm, and the first gate that is just as narrow.

    None for a way that is as wide as the room at its start or in the goal, or where there is none.

    >>> from shapely import box
    >>> room = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]], dtype=float)
    >>> ways = ways_from(room, [room / 2 + [0, 1200]], np.array([600.0, 600]))
    >>> width, gate = tightest_to(ways, box(0, 2400, 3000, 2500))
    >>> width, gate
    (0.0, None)
    """
    arrived = _arrive(ways, goal)
    if arrived is None:
        return 0.0, None
    crossed = sorted({reach.gate for reach in ways.reached.values() if reach.gate >= 0})
    alike = (ways.gates[k] for k in crossed if ways.gates[k].width == arrived.width)
    return arrived.width, next(alike, None)


def way_to(ways: Ways, goal: Floats) -> WidestPath:
    """The widest way into the goal, drawn; see ``widest_path``."""
    arrived = _arrive(ways, _polygon(goal))
    return _closed() if arrived is None else _answer(ways, arrived)


def _polygon(ring: object) -> Polygon:
    from shapely import Polygon

    points = np.asarray(ring, dtype=np.float64)
    if points.ndim != 2 or points.shape[0] < 3 or not np.isfinite(points).all():
        raise GeometryError("an outline needs at least three finite corners")
    shape = Polygon(points)
    if not shape.is_valid or shape.area <= 0.0:
        raise GeometryError("an outline crosses itself or has no area")
    return shape


def polygons_of(rings: Sequence[Floats]) -> Shapes:
    """Each of some rings (n, 2) as a polygon, all made at once.

    Raises GeometryError as ``widest_path`` does.

    >>> [shape.area for shape in polygons_of([np.array([[0.0, 0], [2, 0], [0, 2]])])]
    [2.0]
    """
    import shapely

    if any(r.ndim != 2 or len(r) < 3 or not np.isfinite(r).all() for r in rings):
        raise GeometryError("an outline needs at least three finite corners")
    shapes = drawn(rings)
    if not (shapely.is_valid(shapes) & (shapely.area(shapes) > 0.0)).all():
        raise GeometryError("an outline crosses itself or has no area")
    return shapes


def drawn(rings: Sequence[Floats]) -> Shapes:
    """Each of some rings (n, 2) as a polygon, whatever it is like, all made at once."""
    import shapely

    if not len(rings):
        return np.empty(0, dtype=np.object_)
    points = np.concatenate([np.concatenate([ring, ring[:1]]) for ring in rings])
    owner = np.repeat(np.arange(len(rings)), [len(ring) + 1 for ring in rings])
    return np.asarray(shapely.polygons(shapely.linearrings(points, indices=owner)))


def joined(shapes: Shapes) -> BaseGeometry:
    """All the ground that some polygons (n,) cover, their common lines drawn once.

    One growing of all of them by nothing, which is several times quicker than joining them one by
    one. What lies within an upright rectangle among them is left out first: it adds nothing.

    >>> from shapely import box
    >>> joined(np.array([box(0, 0, 4, 2), box(2, 0, 6, 2), box(1, 1, 3, 2)])).area
    12.0
    """
    import shapely

    if not len(shapes):
        return shapely.Polygon()
    left, low, right, high = shapely.bounds(shapes).T
    filled = np.abs((right - left) * (high - low) - shapely.area(shapes)) <= _SPECK
    within = (left[:, None] >= left) & (right[:, None] <= right) & filled
    within &= (low[:, None] >= low) & (high[:, None] <= high)
    # Of two alike the first stays.
    within &= ~within.T | np.tri(len(shapes), k=-1, dtype=bool)
    np.fill_diagonal(within, val=False)
    whole: BaseGeometry = shapely.multipolygons(shapes[~within.any(axis=1)])
    return whole.buffer(0.0)


def _closed() -> WidestPath:
    nowhere = np.full((2, 2), np.nan)
    return WidestPath(0.0, np.empty((0, 2)), nowhere[0].copy(), nowhere, "closed")


def _spread(
    floor: Floor, faces: Sequence[BaseGeometry], gates: Sequence[Gate], begin: Floats
) -> dict[int, _Reach]:
    """Widest way from the start to every face, widest first."""
    beside: dict[int, list[int]] = {}
    for number, gate in enumerate(gates):
        for side in gate.sides:
            beside.setdefault(side, []).append(number)
    seeds = {-1: _Reach(math.inf)} if -1 in beside else _seeds(floor, faces, begin)
    reaches = [seeds[face] for face in sorted(seeds)]
    order = [(-seeds[face].width, n, face) for n, face in enumerate(sorted(seeds))]
    heapq.heapify(order)
    settled: dict[int, _Reach] = {}
    while order:
        _, number, face = heapq.heappop(order)
        if face in settled:
            continue
        settled[face] = reaches[number]
        for crossed in beside.get(face, []):
            other = sum(gates[crossed].sides) - face
            if other in settled:
                continue
            width = min(settled[face].width, gates[crossed].width)
            reaches.append(_Reach(width, crossed, face))
            heapq.heappush(order, (-width, len(reaches) - 1, other))
    return settled


def _seeds(floor: Floor, faces: Sequence[BaseGeometry], begin: Floats) -> dict[int, _Reach]:
    from shapely import LineString, Point

    shape = Point(begin[0]) if len(begin) == 1 else LineString(begin)
    seeds = {}
    for number, face in enumerate(faces):
        room, spot = roomiest(shape.intersection(face), floor.walls, math.inf)
        if room > 0.0:
            seeds[number] = _Reach(2.0 * room, spot=spot)
    return seeds


@dataclass(frozen=True, slots=True)
class _Arrival:
    width: float
    face: int
    spot: tuple[float, float]


def _arrive(ways: Ways, target: Polygon) -> _Arrival | None:
    """The widest way into the goal: how wide its face is reached, and the room in the goal."""
    import shapely

    found: _Arrival | None = None
    met = shapely.intersects(ways.faces, target)
    inside = sorted(
        (-reach.width, face) for face, reach in ways.reached.items() if face >= 0 and met[face]
    )
    for minus, face in inside:
        if found is not None and -minus <= found.width:
            break
        room, spot = roomiest(ways.faces[face].intersection(target), ways.floor.walls, -0.5 * minus)
        width = min(-minus, 2.0 * room)
        if width > 0.0 and (found is None or width > found.width):
            found = _Arrival(width, face, spot)
    return found


def _answer(ways: Ways, arrived: _Arrival) -> WidestPath:
    floor, gates, reached = ways.floor, ways.gates, ways.reached
    chain = [reached[arrived.face]]
    while chain[0].gate >= 0:
        chain.insert(0, reached[chain[0].before])
    crossed = [gates[reach.gate] for reach in chain if reach.gate >= 0]
    first = chain[0].spot or _on_doorway(floor, arrived.width)
    stops = [first, *(tuple(gate.pair.mean(axis=0)) for gate in crossed if -1 not in gate.sides)]
    stops.append(arrived.spot)
    path = np.empty((0, 2))
    if arrived.width >= _LEAST:
        path = clear_line(floor, np.array(stops), 0.5 * arrived.width - _SLACK)
    tightest = min(crossed, key=lambda gate: gate.width, default=None)
    if arrived.width < chain[-1].width:
        return _limited(floor, arrived.width, path, arrived.spot, "goal")
    if tightest is None or tightest.width > arrived.width:
        return _limited(floor, arrived.width, path, first, "start")
    middle = np.asarray(tightest.pair.mean(axis=0))
    return WidestPath(arrived.width, path, middle, tightest.pair, "between")


def _on_doorway(floor: Floor, width: float) -> tuple[float, float]:
    from shapely import line_merge, multilinestrings

    line = line_merge(multilinestrings(list(floor.ends[floor.doorway])))
    return roomiest(line, floor.walls, 0.5 * width)[1]


def _limited(
    floor: Floor, width: float, path: Floats, spot: tuple[float, float], limit: str
) -> WidestPath:
    from shapely import Point, shortest_line

    nearest = shortest_line(Point(spot), floor.walls)
    return WidestPath(width, path, np.array(spot), np.asarray(nearest.coords), limit)
