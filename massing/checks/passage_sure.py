"""Which zones does a person surely get to? A plan and discs that come in by doors in, numbers out.

A disc that is let in leaves the floor it gets to: the open floor drawn in by half its width. A zone
that it touches is reached. This is far quicker than to find how wide the widest way is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from massing.checks.entrances import Entrance
from massing.checks.passage_ways import Ground, Plan, goals_of
from massing.geometry.offset import offset_by
from massing.geometry.passage.ways import Shapes, drawn, joined
from massing.geometry.solids import Floats

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["Less", "Reached", "Rough", "past_doorway"]

_SHORT = 1.0  # mm; a step leads so much nearer than it has to
_INTO = 10.0  # mm; a disc this far into a zone takes more of it than a speck
_ROUND = 16  # sides a quarter circle is drawn with
_WIDER = 1.0  # mm; so much wider than a doorway is a disc that shows it to be what is narrowest
_LEVEL = 1.0  # mm; a doorway is the widest where the others are narrower by this
_STEP = 45.0  # mm; so near to the middle of the doorway that disc begins
_CLEAR = 70.0  # mm; what is no nearer than this and half the doorway is not in that step's way:
# the other of two points it passes between is half the doorway off, less half the step at most
_ASIDE = 0.01  # mm; what lies so far past the jambs is wider apart than they are
_SAME = 1e-7  # mm; what is this near is in the line of a doorway


class Less:
    """A plan with more of its floor taken: enough to tell that a zone is surely reached.

    more : (n,) shapes. What takes more than it has to makes for fewer zones surely reached.

    >>> from shapely import box
    >>> from tests.zoo import named_room
    >>> plan = Plan(named_room("plain"), ())
    >>> round(Less(plan, np.array([box(0, 0, 1000, 1000)])).free.area / 1e6, 3)
    5.0
    """

    def __init__(self, plan: Ground, more: Shapes) -> None:
        self.plan, self._more = plan, more

    @cached_property
    def more(self) -> BaseGeometry:
        """All of what more is taken."""
        from shapely import union_all

        return union_all(self._more)

    @cached_property
    def free(self) -> BaseGeometry:
        """The plan's free floor less what more is taken."""
        return self.plan.free.difference(self.more)

    @cached_property
    def floor(self) -> BaseGeometry:
        """The plan's floor less what more is taken."""
        return self.plan.floor.difference(self.more)


class Rough(Less):
    """The same of a plan whose own free floor is perhaps not asked for: then all goes at once."""

    def __init__(self, plan: Plan, more: Shapes) -> None:
        super().__init__(plan, more)
        self.blocks, self.outline = plan.blocks, plan.outline
        self.shapes = np.concatenate([plan.shapes, more])
        self._known = plan.free if plan.knows_free else None

    @cached_property
    def more(self) -> BaseGeometry:
        """All of what more is taken."""
        return joined(self._more)

    @cached_property
    def free(self) -> BaseGeometry:
        """The outline less all that is met on it and what more is taken."""
        if self._known is not None:
            return self._known.difference(self.more)
        return self.outline.difference(joined(self.shapes))


@dataclass(frozen=True, slots=True, eq=False)
class Reached:
    """Which zones a disc of a width certainly gets to, worked out zone by zone when asked.

    reach : mm, half the disc that is to touch a zone, as for ``goals_of``
    width : mm, of the disc that gets there
    """

    plan: Ground
    floor: BaseGeometry
    reach: float
    width: float

    @classmethod
    def of(cls, plan: Ground, doors: Sequence[Entrance], width: float, reach: float) -> Reached:
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

    def straight_to(self, plan: Plan, zones: Sequence[Floats]) -> list[bool]:
        """Which zones (n, 2) the disc gets into by one straight step off the floor it gets to.

        plan : with no less floor than the disc's own; the step is free on it. It leads to before
        the middle of some side, as near as ``met`` asks for.
        """
        import shapely

        near = min(self.reach, self.width / 2.0) - _INTO
        if not len(zones) or self.floor.is_empty or near <= 0.0:
            return [False] * len(zones)
        sides = np.concatenate([(ring + np.roll(ring, -1, axis=0)) / 2.0 for ring in zones])
        owner = np.repeat(np.arange(len(zones)), [len(ring) for ring in zones])
        out = sides - np.array([ring.mean(axis=0) for ring in zones])[owner]
        size = np.maximum(np.hypot(out[:, 0], out[:, 1]), _SAME)[:, None]
        spots = np.asarray(shapely.points(sides + out / size * (near - _SHORT)))
        steps = np.asarray(shapely.shortest_line(self.floor, spots))
        half = self.width / 2.0
        free = shapely.dwithin(spots, drawn(zones)[owner], near)
        free &= shapely.intersects(plan.outline, spots)
        free &= ~shapely.dwithin(plan.outline.exterior, steps, half)
        some = np.flatnonzero(free)
        free[some] = ~shapely.dwithin(plan.shapes[:, None], steps[some], half).any(axis=0)
        return [bool(each) for each in np.bincount(owner, weights=free) > 0.0]

    def less(self, doors: Sequence[Entrance], shapes: Shapes) -> Reached:
        """What the disc still gets to once something more is taken; never too much.

        doors : those it comes in by, as before; shapes : what is taken
        """
        from shapely import MultiPolygon, get_parts

        radius = _radius(self.width)
        plan = Less(self.plan, shapes)
        # Shapes that overlap are joined as they are grown.
        grown = offset_by(MultiPolygon(list(shapes)), radius, quad_segs=_ROUND)
        if not self.floor.intersects(grown):
            return Reached(plan, self.floor, self.reach, self.width)
        porches = [_porch_of(door, radius) for door in doors]
        parts = get_parts(self.floor.difference(grown))
        kept = [part for part in parts if any(part.intersects(p) for p in porches)]
        return Reached(plan, _one(kept), self.reach, self.width)


def past_doorway(
    plan: Plan | Rough, doors: Sequence[Entrance], wide: float, reach: float
) -> Reached | None:
    """What a disc that is wider than the widest doorway gets to from just inside it.

    The widest way to a zone in it is narrowest in that doorway: all gates on the disc's own way are
    wider, and so are those before it, where nothing but the jambs, the door's own leaf and what is
    beside the way straight in is near. None where that cannot be told: two doorways are as wide,
    something else stands there, there is floor behind the wall, or the leaf leaves less than the
    doorway. None too for a disc that is no narrower than ``wide``.
    """
    import shapely

    door, *others = sorted(doors, key=_most, reverse=True)
    own = np.array([b.kind == "leaf" and b.name == door.name for b in plan.blocks], dtype=bool)
    leaf = plan.shapes[: len(own)][own]
    run = _left_open(door, shapely.get_coordinates(leaf))
    size = float(np.hypot(*(run[1] - run[0])))
    if (
        size < _LEVEL
        or size + _WIDER >= wide
        or any(_most(o) > min(size, door.clear) - _LEVEL for o in others)
    ):
        return None
    spot = shapely.Point(run.mean(axis=0))
    ends = np.asarray(shapely.points(run))
    past = shapely.distance(leaf[:, None], ends[None]).max(axis=1).min(initial=np.inf)
    rest = plan.shapes[~np.concatenate([own, np.zeros(len(plan.shapes) - len(own), dtype=bool)])]
    built = np.concatenate([rest, _other_walls(shapely.get_coordinates(plan.outline), run)])
    close = built[shapely.dwithin(built, spot, size / 2.0 + _CLEAR)]
    if past < size - _SAME or not all(
        _beside(shapely.get_coordinates(each), run) for each in close
    ):
        return None
    radius = _radius(size + _WIDER)
    porch = shapely.Polygon(_porch(run, 2.0 * radius))
    if float(porch.intersection(plan.outline).area) > 1.0:
        return None
    core = offset_by(plan.free.union(porch), -radius, quad_segs=_ROUND)
    inside = shapely.get_parts(core.intersection(plan.outline))
    parts = [part for part in inside if part.distance(spot) <= _STEP]
    return Reached(plan, _one(parts), reach, size + _WIDER)


def _most(door: Entrance) -> float:
    """The most that is left of a doorway."""
    return min(door.clear, door.size)


def _left_open(door: Entrance, leaf: Floats) -> Floats:
    """(2, 2) the longer part of a threshold that corners (n, 2) in its line leave."""
    way = (door.threshold[1] - door.threshold[0]) / door.size
    off = leaf - door.threshold[0]
    on = np.abs(off @ np.array([-way[1], way[0]])) <= _SAME
    along = np.clip((off @ way)[on], 0.0, door.size)
    if not on.any():
        return door.threshold
    first, last = float(along.min()), float(along.max())
    ends = (0.0, first) if first > door.size - last else (last, door.size)
    return np.asarray(door.threshold[0] + np.outer(ends, way))


def _other_walls(ring: Floats, run: Floats) -> Shapes:
    """The sides of a closed ring (n, 2) that do not lie in the line of a doorway."""
    from shapely import linestrings

    way = (run[1] - run[0]) / np.hypot(*(run[1] - run[0]))
    off = np.abs((ring - run[0]) @ np.array([-way[1], way[0]])) <= _SAME
    return np.asarray(linestrings(np.stack([ring[:-1], ring[1:]], axis=1)[~(off[:-1] & off[1:])]))


def _beside(points: Floats, run: Floats) -> bool:
    """Whether points (n, 2) all lie to one side of the way straight in by a doorway."""
    size = float(np.hypot(*(run[1] - run[0])))
    along = (points - run[0]) @ (run[1] - run[0]) / size
    return bool(along.max() < -_ASIDE or along.min() > size + _ASIDE)


def _radius(width: float) -> float:
    """Of a disc drawn so that arcs inside the true ones still hold one of that width, mm."""
    return float(0.5 * width / np.cos(np.pi / (4 * _ROUND)) + 0.01)


def _porch_of(door: Entrance, radius: float) -> Polygon:
    from shapely import Polygon

    return Polygon(_porch(door.threshold, 2.0 * radius))


def _reached(plan: Ground, doors: Sequence[Entrance], width: float) -> BaseGeometry:
    """Where the middle of a disc certainly gets to from some door; empty without doors."""
    from shapely import Polygon, get_parts

    if not doors:
        return Polygon()
    radius = _radius(width)
    porches = [_porch_of(door, radius) for door in doors]
    free = plan.free
    for porch in porches:
        free = free.union(porch)
    core = offset_by(free, -radius, quad_segs=_ROUND)
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
