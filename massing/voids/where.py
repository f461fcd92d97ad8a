"""Where can one thing stand at all: a scheme and a thing in, stretches of every wall out.

The thing slides along each wall with its back on it. Between two places where any of its solids
starts or stops overlapping another the answer cannot change, so those places, found exactly, and
one place between each two are checked as the whole scheme is; what a check weighs by share rather
than by overlap, such as support and the ways through the room, is looked at every 250 mm at most
and narrowed down by halving to 0.005 mm wherever the answer changes; only such an answer could
change and change back unseen between two of those places. The nominal world decides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from massing.checks.context import Context
from massing.checks.nudges import Key, moved_context
from massing.checks.rules import Rules
from massing.geometry.outline import outline_of, rectangle
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.project.project import Project
from massing.room.shape import Wall
from massing.scheme.ground import ceiling_over, level_under
from massing.scheme.layout import Layout, Placed
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.in_the_way import FAR, moving, standing
from massing.voids.meeting import faced, faced_meeting
from massing.voids.space import motion_path
from massing.voids.trial import (
    added,
    conflicts_with,
    in_conflict,
    item_of,
    standing_conflicts,
    without,
)

__all__ = ["Blocked", "Stretch", "WallMap", "asked", "where_against", "where_along"]

_FINE = 0.005  # mm; how near a stretch's end is known
_LEEWAY = 0.04  # mm; a check lets this much overlap by, twice the tolerance and a little
_TOUCH = 1e-6  # mm; places nearer than this are one
_STEP = 250.0  # mm; the furthest apart two places that are checked lie
_HUNG = 900.0  # mm; how high a thing for the wall hangs where nothing is said

Check = Callable[[float], bool]


@dataclass(frozen=True, slots=True)
class Stretch:
    """The thing may stand with its left end from start to stop along the wall, mm."""

    start: float
    stop: float


@dataclass(frozen=True, slots=True)
class Blocked:
    """It may not, and what it is in conflict with half-way."""

    start: float
    stop: float
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WallMap:
    """Where a thing can stand against one wall.

    left, along, inward : (2,) of the wall: its left end and unit vectors along it and into the room
    length : of the wall; width, depth : of the thing along the wall and from it, mm
    stretches, blocked : of ``along``, the thing's left end, which together are all places
    """

    wall: str
    left: tuple[float, float]
    along: tuple[float, float]
    inward: tuple[float, float]
    length: float
    width: float
    depth: float
    stretches: tuple[Stretch, ...]
    blocked: tuple[Blocked, ...]


def where_against(
    project: Project, scheme: str, item: str, *, height: float | None = None
) -> tuple[WallMap, ...]:
    """Where a thing can stand against each wall of a scheme.

    item : something the scheme places, which is then taken out of it with all that stands on it,
        or any thing of the project or the catalogue
    height : mm above the floor for what hangs; as placed, else 900, where left out
    Raises InputError for an unknown item.
    """
    words, rest = asked(project, scheme, item, height)
    maps = []
    for wall in (wall.name for wall in place(rest, scheme, Values()).room.walls):
        trial = added(rest, scheme, {**words, "against": wall, "along": 0.0})
        maps.append(where_along(trial.layout, trial.rules, trial.name, wall))
    return tuple(maps)


def asked(
    project: Project, scheme: str, item: str, height: float | None
) -> tuple[dict[str, Any], Project]:
    """The thing's own words without a wall, and the scheme without it and all that stands on it.

    Raises InputError for an unknown item.
    """
    placed = dict(project.arrangement(scheme).placements)
    words: dict[str, Any] = {"item": item}
    rest = project
    if item in placed:
        old = placed[item]
        words = {"item": str(old.item), "name": item}
        rest = without(project, scheme, {item})
        if old.height is not None and height is None:
            height = float(old.height)
    spec = item_of(rest, words["item"])
    if height is None and spec.mount == "wall":
        height = _HUNG
    if height is not None and spec.mount != "ceiling":
        words["height"] = height
    return words, rest


def where_along(layout: Layout, rules: Rules, name: str, wall_name: str) -> WallMap:
    """Where a thing of a one-world layout can slide along a wall it stands against, from its end.

    layout : with the thing at the left end of the wall
    """
    wall, mover = layout.room.wall(wall_name), layout.item(name)
    points = np.concatenate([outline_of(part.solid)[0] for part in mover.parts])
    own = (points - wall.left[0]) @ wall.along[0]
    into = (wall.left[0] - points) @ wall.outward[0]
    length, width = float(wall.length[0]), float(np.ptp(own))
    free = length - width
    rest = replace(layout, items=tuple(item for item in layout.items if item is not mover))
    slide = _Slide(layout, rules, mover, wall, standing_conflicts(rest, rules))
    stretches: list[Stretch] = []
    blocked: list[Blocked] = []
    if free >= -_TOUCH:
        stops = slide.stops(max(free, 0.0))
        stretches, blocked = _mapped(stops, slide.fails, slide.conflicts)
    return WallMap(
        wall=wall_name,
        left=_pair(wall.left[0]),
        along=_pair(wall.along[0]),
        inward=_pair(-wall.outward[0]),
        length=length,
        width=width,
        depth=float(into.max()),
        stretches=tuple(stretches),
        blocked=tuple(blocked),
    )


def _pair(point: Floats) -> tuple[float, float]:
    return (float(point[0]), float(point[1]))


@dataclass(frozen=True, slots=True, eq=False)
class _Slide:
    """A thing and the wall it slides along."""

    layout: Layout
    rules: Rules
    mover: Placed
    wall: Wall
    known: frozenset[Key]

    def shift(self, far: float) -> Floats:
        """(3,) the whole move to a place, with the rise of what hangs from floor or ceiling."""
        by = np.zeros(3)
        by[:2] = far * self.wall.along[0]
        if self.mover.footing != "floor":
            over = ceiling_over if self.mover.footing == "ceiling" else level_under
            here, there = (self._footprint(move) for move in (np.zeros(2), by[:2]))
            by[2] = float(over(self.layout.room, there)[0] - over(self.layout.room, here)[0])
        return by

    def _footprint(self, by: Floats) -> Floats:
        return rectangle(self.mover.low[:1, :2] + by, self.mover.high[:1, :2] + by)

    def fails(self, far: float) -> bool:
        """Whether the thing is in conflict with anything at a place."""
        return in_conflict(self._at(far), self.rules, self.mover.name, self.known)

    def conflicts(self, far: float) -> tuple[str, ...]:
        """What it is in conflict with there, in words."""
        found = conflicts_with(self._at(far), self.rules, self.mover.name, self.known)
        return tuple(sorted({reading.detail().says for reading in found}))

    def _at(self, far: float) -> Layout:
        before = Context(self.layout, self.rules, reach=TOUCH)
        return moved_context(before, self.mover.name, self.shift(far)).layout

    def stops(self, free: float) -> list[float]:
        """Places to check: where an overlap starts or stops, and between each two of them."""
        way = np.array([*self.wall.along[0], 0.0])
        found = {0.0, free}
        others = [faced(solid) for solid in self._others()]
        for solid in map(faced, self._own()):
            for rise in self._rises():
                lifted = solid.moved(np.array([0.0, 0.0, rise]))
                for other in others:
                    stretch = faced_meeting(lifted, other, way)
                    found.update(end for end in stretch or () if 0 < end < free)
        places = _apart(sorted(found))
        between: list[float] = []
        for low, high in pairwise(places):
            count = int(np.ceil((high - low) / _STEP))
            between.extend(low + (high - low) * (k + 0.5) / count for k in range(count))
        return sorted([*places, *between])

    def _own(self) -> Iterator[Convex]:
        """Solids that move along, and what they may stand over or hang under."""
        for element in moving(self.rules, self.mover):
            yield from element.solids
        yield from (prism(zone.polygon[:1], -FAR, FAR) for zone in self.mover.zones)
        yield from (prism(outline_of(p.solid)[:1], -FAR, FAR) for p in self.mover.parts)

    def _others(self) -> Iterator[Convex]:
        """Everything they may come to overlap: other things, the building, edges of floors."""
        for element in standing(self.layout, self.rules, self.mover):
            yield from element.solids
        for item in self.layout.items:
            if item is not self.mover:
                yield from (motion_path(motion).solid.world(0) for motion in item.motions)
        room = self.layout.room
        for ring in (*(f.polygon for f in room.floors), *(c.polygon for c in room.ceilings)):
            yield prism(ring[:1], -FAR, FAR)

    def _rises(self) -> list[float]:
        """How much higher or lower the thing may stand than where it starts."""
        levels = [float(floor.level[0]) for floor in self.layout.room.floors]
        start = float(level_under(self.layout.room, self._footprint(np.zeros(2)))[0])
        return sorted({level - start for level in levels})


def _apart(places: Sequence[float]) -> list[float]:
    """Rising places with those that are one left out."""
    kept: list[float] = []
    for spot in places:
        if not kept or spot > kept[-1] + _TOUCH:
            kept.append(spot)
    return kept


def _mapped(
    stops: Sequence[float], fails: Check, why: Callable[[float], tuple[str, ...]]
) -> tuple[list[Stretch], list[Blocked]]:
    """Stretches without and with conflicts, from checks at rising places."""
    told = [fails(spot) for spot in stops]
    stretches: list[Stretch] = []
    blocked: list[Blocked] = []
    start, k = stops[0], 0
    while k < len(stops):
        last = k
        while last + 1 < len(stops) and told[last + 1] is told[k]:
            last += 1
        stop = stops[last]
        after = stop
        if last + 1 < len(stops):
            stop, after = _edge(fails, stop, stops[last + 1], clear=not told[k])
        if told[k]:
            blocked.append(Blocked(start, stop, why(stops[(k + last + 1) // 2])))
        else:
            stretches.append(Stretch(start, stop))
        start, k = after, last + 1
    return stretches, blocked


def _edge(fails: Check, low: float, high: float, *, clear: bool) -> tuple[float, float]:
    """Where the answer changes between two places: the same for both sides, at a checked place.

    Touching is clear, so where the change is at one of the two places themselves it is that one.
    """
    good, bad = (low, high) if clear else (high, low)
    near = good + np.copysign(min(_LEEWAY, abs(bad - good)), bad - good)
    if abs(bad - good) <= _LEEWAY or fails(float(near)):
        return good, good
    while abs(bad - good) > _FINE:
        middle = (good + bad) / 2.0
        good, bad = (good, middle) if fails(middle) else (middle, bad)
    return good, good
