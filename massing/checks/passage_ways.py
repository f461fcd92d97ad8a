"""How wide a way on foot leads to each zone: plan rings in, width, pinch and what pinches it out.

The widest way is exact in plan. A zone counts as reached when a disc of the asked width touches
it, so the kernel's goal is the zone grown by half that width, arcs within 0.1 mm inside the true
ones, and kept to what joins the zone through open floor: a way that ends behind a screen is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

import numpy as np

from massing.checks.entrances import Entrance
from massing.geometry.offset import offset_by
from massing.geometry.passage.line import roomiest
from massing.geometry.passage.ways import Ways, drawn, joined, tightest_to, ways_from
from massing.geometry.solids import Floats, Ints
from massing.room.shape import Room
from massing.scheme.floor_plan import Block

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["Ground", "Plan", "Thing", "Way", "best_way", "goals_of"]

_ON = 0.05  # mm; a pinch point lies on what is this near
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


class Ground(Protocol):
    """Floor that is looked at: all that a walker has free, and the same with ceilings let be."""

    @property
    def free(self) -> BaseGeometry:
        """The floor less all that is met on it."""

    @property
    def floor(self) -> BaseGeometry:
        """The floor less what stands on it."""


class Plan:
    """The floor of one walker: outline and obstacles, with the ways from each door worked out once.

    >>> from tests.zoo import named_room
    >>> plan = Plan(named_room("plain"), ())
    >>> round(plan.free.area / 1e6, 3)
    6.0
    """

    def __init__(self, room: Room, blocks: Sequence[Block]) -> None:
        from shapely import Polygon

        self.room = room
        self.blocks = tuple(blocks)
        self.outline = Polygon(room.outline[0])
        self.shapes = drawn([block.ring[0] for block in self.blocks])
        self._ways: dict[tuple[str, bytes], Ways] = {}
        self._things: dict[bytes, Thing] = {}

    @cached_property
    def free(self) -> BaseGeometry:
        """The floor less all that is met on it."""
        return self.outline.difference(joined(self.shapes))

    @property
    def knows_free(self) -> bool:
        """Whether the free floor has been asked for already."""
        return "free" in vars(self)

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


def _offsets(point: Floats, starts: Floats, ends: Floats) -> tuple[Floats, Floats]:
    """Distance (n,) to the nearest place of each of some segments (n, 2), and its share along."""
    way = ends - starts
    size = np.maximum((way * way).sum(axis=1), 1e-18)
    share = np.clip(((point - starts) * way).sum(axis=1) / size, 0.0, 1.0)
    return np.hypot(*(starts + share[:, None] * way - point).T), share


def goals_of(plan: Ground, zone: Floats, reach: float) -> list[Polygon]:
    """Where a disc's centre may be to touch a zone (n, 2) from open floor, in parts; may be none.

    reach : mm, half the disc. Low ceilings and open leaves do not part the zone from its floor.
    """
    from shapely import Polygon, get_parts

    floor = plan.floor
    own = Polygon(zone).intersection(floor)
    if own.area <= 1.0:
        return []
    grown = offset_by(Polygon(zone), reach, quad_segs=_ROUND).intersection(floor)
    return [
        part
        for part in get_parts(grown)
        if part.geom_type == "Polygon" and part.intersection(own).area > 1.0
    ]


def best_way(plan: Plan, doors: Sequence[Entrance], goals: list[Polygon]) -> Way:
    """The widest way to a zone from whichever door gives it."""
    from shapely import Polygon

    best = Way(0.0, "", np.full(2, np.nan))
    for door in doors:
        for goal in goals:
            ways = plan.ways(door)
            width, gate = tightest_to(ways, Polygon(goal.exterior))
            if min(width, door.clear) <= best.width:
                continue
            if door.clear < width or (gate is not None and -1 in gate.sides):
                middle = door.threshold.mean(axis=0)
                best = Way(min(width, door.clear), door.name, middle)
            else:
                points = _pinch(ways, goal) if gate is None else gate.pair
                best = Way(width, door.name, points.mean(axis=0), plan.things_at(points))
    return best


def _pinch(ways: Ways, goal: Polygon) -> Floats:
    """The wall point (1, 2) nearest to the roomiest place in a goal, where that is what limits."""
    from shapely import Point, shortest_line

    spot = Point(roomiest(goal.intersection(ways.floor.free), ways.floor.walls, np.inf)[1])
    return np.asarray(shortest_line(spot, ways.floor.walls).coords)[1:]
