"""One search for a way in: a door, ways of holding and levels in, a path and its poses out.

The last stretch, within ``HOME`` of the place, is pushed home: without the width for hands or to
spare, which nothing that stands against a wall could keep.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from massing.checks.words import mm
from massing.geometry.carry import CarryPath, Change, Effort, Pose, Stand, carry_path
from massing.geometry.plan_parts import outside
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.routes.plan import Doorway, bounds_of, obstacles_between
from massing.routes.thing import Hold, tilts_of, widened
from massing.scheme.layout import Layout, Placed

__all__ = ["HOME", "PLACE", "Held", "Stage", "Tight", "search", "stages", "tightest"]

HOME = 300.0
"""mm; how near its place a thing is pushed home without hands. Common practice, no source."""
PLACE = "in its place"
_FAR = 1e5  # mm, beyond any plan
_COARSER = (20.0, 40.0)  # mm; steps taken where a plan is too large for the asked one


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """Ways of holding and levels to carry at (z, mm), tried together."""

    holds: tuple[Hold, ...]
    levels: tuple[float, ...]

    @property
    def says(self) -> str:
        """What is tried, in words."""
        held = " or ".join(hold.name for hold in self.holds)
        return held if len(self.levels) == 1 else f"{held} at {len(self.levels)} heights"


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A pose of the search: its rings without any width added, and its obstacles with names."""

    pose: Pose
    rings: tuple[Floats, ...]
    names: list[str]


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """The tightest place on the way, before it is pushed home."""

    gap: float
    where: Floats
    against: str


@dataclass(slots=True, eq=False)
class _Made:
    poses: list[Held] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    number: dict[tuple[str, float], int] = field(default_factory=dict)


def stages(layout: Layout, item: Placed, way: Doorway, holds: tuple[Hold, ...]) -> Iterator[Stage]:
    """The cheapest searches first: upright at one level, then more levels, then laid down.

    The levels are those of the floor, of the sill, and of the place where that is higher up.
    """
    floors = {round(float(floor.level[0]), 6) for floor in layout.room.floors} | {
        round(way.sill, 6)
    }
    top, base = max(floors), float(item.low[0, 2])
    levels = tuple(sorted({*floors, base} if base > top + TOUCH else floors))
    for held in dict.fromkeys((holds[:1], holds)):
        yield Stage(held, (top,))
        if len(levels) > 1:
            yield Stage(held, levels)


def search(
    layout: Layout, item: Placed, way: Doorway, stage: Stage, margin: float, effort: Effort
) -> tuple[CarryPath, list[Held]]:
    """Search one stage with ``margin`` mm of width added all round; also the poses it used."""
    made = _Made()
    for hold in stage.holds:
        _levels(layout, way, hold, stage.levels, margin, made)
    for tilt in tilts_of(stage.holds):
        for level in stage.levels:
            pair = (made.number[tilt.between[0], level], made.number[tilt.between[1], level])
            rings = obstacles_between(layout, way, level, level + tilt.height)[0]
            made.changes.append(Change(pair, widened([tilt.ring], margin), rings))
    goal = _home(layout, item, way, stage, made)
    start = _start(way, stage.holds[0], margin)
    if start is None:
        return _no_start(), made.poses
    begin = Stand(*start, made.number[stage.holds[0].name, _carried(stage, way)])
    bounds = bounds_of([layout.room.outline[0], way.hall, way.reveal])
    step, turns = effort.levels[0]
    for coarser in (step, *(each for each in _COARSER if each > step)):
        found = carry_path(
            [held.pose for held in made.poses],
            begin,
            goal,
            changes=made.changes,
            bounds=bounds,
            effort=Effort(((coarser, turns),), effort.most_nodes),
        )
        if found.found or found.step > 0.0:
            break
    return found, made.poses


def _carried(stage: Stage, way: Doorway) -> float:
    """The level it is first picked up to: the lowest that clears the sill."""
    return min((z for z in stage.levels if z >= way.sill - TOUCH), default=stage.levels[-1])


def _levels(
    layout: Layout, way: Doorway, hold: Hold, levels: Sequence[float], margin: float, made: _Made
) -> None:
    """A pose at each level, and the lifts between neighbouring ones."""
    rings = widened(hold.rings, margin)
    for k, level in enumerate(levels):
        stones, names = obstacles_between(layout, way, level, level + hold.height)
        label = hold.name if len(levels) == 1 else f"{hold.name}, {mm(level)} up"
        made.number[hold.name, level] = len(made.poses)
        made.poses.append(Held(Pose(label, rings, stones), hold.rings, names))
        if k:
            below = levels[k - 1]
            between = obstacles_between(layout, way, below, level + hold.height)[0]
            pair = (made.number[hold.name, below], made.number[hold.name, level])
            made.changes.append(Change(pair, rings, between))


def _home(layout: Layout, item: Placed, way: Doorway, stage: Stage, made: _Made) -> Stand:
    """The item's own place: a pose of its own that stays within ``HOME`` of it."""
    hold, base = stage.holds[0], float(item.low[0, 2])
    yaw = float(item.yaw[0])
    cos, sin = np.cos(yaw), np.sin(yaw)
    corners = np.concatenate([part.solid.corners[0, :, :2] for part in item.parts])
    own = corners @ np.array([[cos, -sin], [sin, cos]])
    x, y = (own.min(axis=0) + own.max(axis=0)) / 2.0 @ np.array([[cos, sin], [-sin, cos]])
    far = hold.radius + HOME
    box = np.array([x, y]) + far * np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
    fence = outside([box], _FAR)
    rings, names = obstacles_between(layout, way, base, base + hold.height)
    pose = Pose(PLACE, hold.rings, [*rings, *fence])
    made.poses.append(Held(pose, hold.rings, [*names, *(["its own reach"] * len(fence))]))
    for level in stage.levels:
        low, high = min(base, level), max(base, level)
        between = obstacles_between(layout, way, low, high + hold.height)[0]
        pair = (made.number[hold.name, level], len(made.poses) - 1)
        made.changes.append(Change(pair, hold.rings, [*between, *fence]))
    return Stand(float(x), float(y), yaw, len(made.poses) - 1)


def _start(way: Doorway, hold: Hold, margin: float) -> tuple[float, float, float] | None:
    """Where it waits in the hall: before the door, else to one side; None where it cannot."""
    from shapely import Polygon

    leaf = Polygon() if way.leaf is None else Polygon(way.leaf.ring[0])
    hall = Polygon(way.hall).difference(leaf).buffer(TOUCH)
    rings = widened(hold.rings, margin)
    far = float(np.abs((way.hall - way.middle) @ way.along).max()) - hold.radius - margin - 40.0
    deep = max(way.depth - hold.radius - margin - 40.0, way.depth / 2.0)
    facing = float(np.arctan2(way.along[1], way.along[0]))
    for aside in (0.0, far, -far):
        for off in (deep, way.depth / 2.0):
            for turn in (facing, facing + np.pi / 2.0):
                spot = way.middle + aside * way.along + off * way.out
                cos, sin = np.cos(turn), np.sin(turn)
                placed = [ring @ np.array([[cos, sin], [-sin, cos]]) + spot for ring in rings]
                if all(hall.covers(Polygon(ring)) for ring in placed):
                    return float(spot[0]), float(spot[1]), float(turn)
    return None


def _no_start() -> CarryPath:
    nowhere = np.full(2, np.nan)
    says = "it does not stand free in the hall"
    return CarryPath(False, says, np.empty((0, 3)), (), np.nan, nowhere, -1, 0.0, 0.0)  # noqa: FBT003


def tightest(found: CarryPath, poses: Sequence[Held]) -> Tight:
    """The least gap of the thing itself along a path found, until it is pushed home.

    Exact while shifting and within 0.01 mm while turning.
    """
    from massing.geometry.carry_lattice import layer
    from massing.geometry.carry_moves import link_nearest

    best = np.array([np.inf, np.nan, np.nan, -1.0])
    against = "nothing"
    for held in poses:
        if held.pose.name not in found.poses or held.pose.name == PLACE:
            continue
        of = layer(held.rings, held.pose.obstacles)
        for (a, at), (b, to) in pairwise(zip(found.poses, found.path, strict=True)):
            if a != b or a != held.pose.name:
                continue
            before = best[0]
            link_nearest(of.feet, of.foot, of.solids, of.solid, at, to - at, of.radius, best)
            if best[0] < before:
                against = held.names[int(of.owner[int(best[3])])]
    return Tight(float(best[0]), best[1:3].copy(), against)
