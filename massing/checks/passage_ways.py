"""How wide a way on foot leads to each zone: plan rings in, width, pinch and what pinches it out.

The widest way is exact in plan. A zone counts as reached when a disc of the asked width touches
it, so the kernel's goal is the zone grown by half that width, arcs within 0.1 mm inside the true
ones, and kept to what joins the zone through open floor: a way that ends behind a screen is none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from massing.checks.entrances import Entrance
from massing.geometry.passage import Shapes, Ways, drawn, ways_from, width_to
from massing.geometry.passage_line import roomiest
from massing.geometry.solids import Floats, Ints
from massing.room.shape import Room
from massing.scheme.floor_plan import Block

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["Less", "Plan", "Reached", "Thing", "Way", "best_way", "goals_of"]

_ON = 0.05  # mm; a pinch point lies on what is this near
_INTO = 10.0  # mm; a disc this far into a zone takes more of it than a speck
_ROUND = 32  # sides a quarter circle is drawn with
_KINDS = {"body": 0, "fabric": 1, "leaf": 2, "step": 3, "wall": 4, "ceiling": 5}


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """What a pinch lies on: its name and kind, and the point there in every world (worlds, 2)."""

    name: str
    kind: str
    at: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """The widest way in from one door.

    width : mm, nominal; 0 when there is none
    door : where it comes in; pinch : (2,); things : what pinches it, none for a doorway itself, one
        where the zone's own place is what is tight
    """

    width: float
    door: str
    pinch: Floats
    things: tuple[Thing, ...] = ()

    @property
    def widths(self) -> Floats:
        """(worlds,) width, mm: the pinch followed into every world, square to itself.

        First order: another pinch that becomes the tighter one in some world is not seen.
        """
        if len(self.things) != 2:
            return np.array([self.width])
        one, other = self.things[0].at, self.things[1].at
        way = other[0] - one[0]
        size = float(np.hypot(*way))
        if size <= 0.0:
            return np.array([self.width])
        across = (other - one) @ (way / size)
        return np.asarray(self.width + across - across[0])


class Plan:
    """The floor of one walker: outline and obstacles, with the ways from each door worked out once.

    >>> from tests.zoo import named_room
    >>> plan = Plan(named_room("plain"), ())
    >>> round(plan.free.area / 1e6, 3)
    6.0
    """

    def __init__(self, room: Room, blocks: Sequence[Block]) -> None:
        from shapely import Polygon, union_all

        self.room = room
        self.blocks = tuple(blocks)
        self.outline = Polygon(room.outline[0])
        self.shapes = drawn([block.ring[0] for block in self.blocks])
        self.taken = union_all(self.shapes)
        self.free: BaseGeometry = self.outline.difference(self.taken)
        self._ways: dict[tuple[str, bytes], Ways] = {}
        self._things: dict[bytes, Thing] = {}

    @cached_property
    def floor(self) -> BaseGeometry:
        """The floor less what stands on it: low ceilings and open leaves do not take it."""
        from shapely import union_all

        stands = [block.kind not in {"ceiling", "leaf"} for block in self.blocks]
        return self.outline.difference(union_all(self.shapes[np.array(stands, dtype=bool)]))

    def ways(self, entrance: Entrance) -> Ways:
        """Everything reached from a door, asked again without new work."""
        key = (entrance.name, entrance.threshold.tobytes())
        if key not in self._ways:
            self._ways[key] = ways_from(
                self.room.outline[0], [b.ring[0] for b in self.blocks], entrance.threshold
            )
        return self._ways[key]

    def things_at(self, points: Floats) -> tuple[Thing, ...]:
        """What each of some plan points lies on, bodies before fabric before walls."""
        return tuple(self._thing(point) for point in points)

    @cached_property
    def _edges(self) -> tuple[list[tuple[str, str, Floats, Floats]], Floats, Floats, Ints]:
        """What has edges: name, kind, starts and ends; all those of world 0; where each begins."""
        edges: list[tuple[str, str, Floats, Floats]] = [
            (block.name, block.kind, block.ring, np.roll(block.ring, -1, axis=1))
            for block in self.blocks
        ]
        for wall in self.room.walls:
            if not wall.partition:
                name = f"{wall.name} wall"
                edges.append((name, "wall", wall.left[:, None], wall.right[:, None]))
        counts = [starts.shape[1] for _, _, starts, _ in edges]
        starts, ends = (np.concatenate([each[k][0] for each in edges]) for k in (2, 3))
        return edges, starts, ends, np.cumsum([0, *counts[:-1]])

    def _thing(self, point: Floats) -> Thing:
        key = point.tobytes()
        if key not in self._things:
            self._things[key] = self._nearest_thing(point)
        return self._things[key]

    def _nearest_thing(self, point: Floats) -> Thing:
        edges, starts, ends, first = self._edges
        off, share = _offsets(point, starts, ends)
        least = np.minimum.reduceat(off, first).tolist()
        ranks = [_KINDS[edges[k][1]] if least[k] <= _ON else 9 for k in range(len(edges))]
        best = min(range(len(edges)), key=lambda k: (ranks[k], round(least[k], 3)))
        name, kind, ours, theirs = edges[best]
        edge = int(np.argmin(off[first[best] : first[best] + ours.shape[1]]))
        at = ours[:, edge] + float(share[first[best] + edge]) * (theirs[:, edge] - ours[:, edge])
        return Thing(name, kind, np.broadcast_to(at, (self.room.worlds, 2)))


class Less:
    """A plan with more of its floor taken: enough to tell that a zone is surely reached.

    more : (n,) shapes or one. What takes more than it has to makes for fewer zones surely reached.

    >>> from shapely import box
    >>> from tests.zoo import named_room
    >>> plan = Plan(named_room("plain"), ())
    >>> round(Less(plan, [box(0, 0, 1000, 1000)]).free.area / 1e6, 3)
    5.0
    """

    def __init__(self, plan: Plan | Less, more: Sequence[BaseGeometry] | Shapes) -> None:
        from shapely import union_all

        self.plan, self.more = plan, union_all(more)

    @cached_property
    def free(self) -> BaseGeometry:
        """The plan's free floor less what more is taken."""
        return self.plan.free.difference(self.more)

    @cached_property
    def floor(self) -> BaseGeometry:
        """The plan's floor less what more is taken."""
        return self.plan.floor.difference(self.more)


def _offsets(point: Floats, starts: Floats, ends: Floats) -> tuple[Floats, Floats]:
    """Distance (n,) to the nearest place of each of some segments (n, 2), and its share along."""
    way = ends - starts
    size = np.maximum((way * way).sum(axis=1), 1e-18)
    share = np.clip(((point - starts) * way).sum(axis=1) / size, 0.0, 1.0)
    return np.hypot(*(starts + share[:, None] * way - point).T), share


def goals_of(plan: Plan | Less, zone: Floats, reach: float) -> list[Polygon]:
    """Where a disc's centre may be to touch a zone (n, 2) from open floor, in parts; may be none.

    reach : mm, half the disc. Low ceilings and open leaves do not part the zone from its floor.
    """
    from shapely import Polygon, get_parts

    floor = plan.floor
    own = Polygon(zone).intersection(floor)
    if own.area <= 1.0:
        return []
    grown = Polygon(zone).buffer(reach, quad_segs=_ROUND).intersection(floor)
    return [
        part
        for part in get_parts(grown)
        if part.geom_type == "Polygon" and part.intersection(own).area > 1.0
    ]


@dataclass(frozen=True, slots=True, eq=False)
class Reached:
    """Which zones a disc of a width certainly gets to, worked out zone by zone when asked.

    reach : mm, half the disc that is to touch a zone, as for ``goals_of``
    width : mm, of the disc that gets there
    """

    plan: Plan | Less
    floor: BaseGeometry
    reach: float
    width: float

    @classmethod
    def of(
        cls, plan: Plan | Less, doors: Sequence[Entrance], width: float, reach: float
    ) -> Reached:
        """Everything a disc of a width gets to from some of the doors."""
        return cls(plan, _reached(plan, doors, width), reach, width)

    def met(self, zones: Sequence[Floats]) -> list[bool]:
        """Which zones (n, 2) such a disc certainly gets into; False says nothing.

        The disc lies on free floor. Where it reaches into a zone by ``_INTO`` it joins its middle
        to floor of that zone: so its middle is in a goal of it, if it is near enough.
        """
        import shapely

        near = min(self.reach, self.width / 2.0) - _INTO
        if not len(zones):
            return []
        if self.floor.is_empty or near <= 0.0:
            return [False] * len(zones)
        shapely.prepare(self.floor)
        met = np.asarray(shapely.dwithin(self.floor, drawn(zones), near), dtype=bool)
        return [bool(each) for each in met]

    def unsure(self, zones: Sequence[Floats]) -> Iterator[tuple[int, list[Polygon]]]:
        """Numbers and goals of the zones (n, 2) not certainly reached, where they have goals."""
        for number, met in enumerate(self.met(zones)):
            if met:
                continue
            goals = goals_of(self.plan, zones[number], self.reach)
            if goals and not any(self.floor.intersects(goal) for goal in goals):
                yield number, goals

    def sure(self, zones: Sequence[Floats]) -> list[bool]:
        """Whether each of some zones (n, 2) is certainly reached; one without goals is not."""
        return [
            met or any(self.floor.intersects(g) for g in goals_of(self.plan, zone, self.reach))
            for met, zone in zip(self.met(zones), zones, strict=True)
        ]

    def less(self, doors: Sequence[Entrance], shapes: Shapes) -> Reached:
        """What the disc still gets to once something more is taken; never too much.

        doors : those it comes in by, as before; shapes : what is taken
        """
        from shapely import get_parts

        radius = _radius(self.width)
        plan = Less(self.plan, shapes)
        more = plan.more
        grown = more.buffer(radius, quad_segs=_ROUND)
        if not self.floor.intersects(grown):
            return Reached(plan, self.floor, self.reach, self.width)
        porches = [_porch_of(door, radius) for door in doors]
        parts = get_parts(self.floor.difference(grown))
        kept = [part for part in parts if any(part.intersects(p) for p in porches)]
        return Reached(plan, _one(kept), self.reach, self.width)


def _radius(width: float) -> float:
    """Of a disc drawn so that arcs inside the true ones still hold one of that width, mm."""
    return float(0.5 * width / np.cos(np.pi / (4 * _ROUND)) + 0.01)


def _porch_of(door: Entrance, radius: float) -> Polygon:
    from shapely import Polygon

    return Polygon(_porch(door.threshold, 2.0 * radius))


def _reached(plan: Plan | Less, doors: Sequence[Entrance], width: float) -> BaseGeometry:
    """Where the middle of a disc certainly gets to from some door; empty without doors."""
    from shapely import Polygon, get_parts, union_all

    if not doors:
        return Polygon()
    radius = _radius(width)
    porches = [_porch_of(door, radius) for door in doors]
    core = union_all([plan.free, *porches]).buffer(-radius, quad_segs=_ROUND)
    parts = [part for part in get_parts(core) if any(part.intersects(p) for p in porches)]
    return _one(parts)


def _one(parts: list[BaseGeometry]) -> BaseGeometry:
    """Parts that are apart as one shape."""
    from shapely import union_all

    return parts[0] if len(parts) == 1 else union_all(parts)


def _porch(threshold: Floats, depth: float) -> Floats:
    """A box outside a threshold for the disc to come from; the room is to its right."""
    way = threshold[1] - threshold[0]
    out = np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9) * depth
    return np.stack([threshold[0], threshold[1], threshold[1] + out, threshold[0] + out])


def best_way(plan: Plan, doors: Sequence[Entrance], goals: list[Polygon]) -> Way:
    """The widest way to a zone from whichever door gives it."""
    best = Way(0.0, "", np.full(2, np.nan))
    for door in doors:
        for goal in goals:
            ways = plan.ways(door)
            width = width_to(ways, np.asarray(goal.exterior.coords)[:-1])
            if min(width, door.clear) <= best.width:
                continue
            points = _pinch(ways, goal, width)
            if door.clear < width or points is None:
                middle = door.threshold.mean(axis=0)
                best = Way(min(width, door.clear), door.name, middle)
            else:
                best = Way(width, door.name, points.mean(axis=0), plan.things_at(points))
    return best


def _pinch(ways: Ways, goal: Polygon, width: float) -> Floats | None:
    """The wall points where a way is tightest: two of a gate it went through, else one.

    None where the doorway itself is the tightest.

    Found without drawing the way: its width is that of the gate itself, to the last bit. One
    point is the wall nearest to the roomiest place in the goal, where the goal is what limits.
    """
    from shapely import Point, shortest_line

    crossed = sorted({reach.gate for reach in ways.reached.values() if reach.gate >= 0})
    for number in crossed:
        if ways.gates[number].width == width:
            return None if -1 in ways.gates[number].sides else ways.gates[number].pair
    spot = Point(roomiest(goal.intersection(ways.floor.free), ways.floor.walls, np.inf)[1])
    return np.asarray(shortest_line(spot, ways.floor.walls).coords)[1:]
