"""One search for a way in: a door, ways of holding and levels in, a path and its poses out.

The last stretch, within ``HOME`` of the place, is pushed home: without the width for hands or to
spare, which nothing that stands against a wall could keep.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from massing.checks.words import mm
from massing.geometry.carry.bound import CarryBound, carry_bound
from massing.geometry.carry.layers import Slope, Stones, layer, link_gap, stones_of
from massing.geometry.carry.search import CarryPath, Change, Effort, Pose, Stand, carry_path
from massing.geometry.plan_parts import outside
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.routes.levels import lifted_levels, plain_levels
from massing.routes.plan import Doorway, Scene, bounds_of
from massing.routes.thing import HEAVY, Hold, widened
from massing.routes.tilts import tilts_of
from massing.scheme.layout import Placed

__all__ = ["HOME", "PLACE", "Build", "Held", "Stage", "Tight", "build", "stages", "tightest"]

HOME = 300.0
"""mm; how near its place a thing is pushed home without hands. Common practice, no source."""
PLACE = "in its place"
_PUSHED = "pushed home"
Rings: TypeAlias = tuple[Floats, ...]
_FAR = 1e5  # mm, beyond any plan
_ASIDE = 100.0  # mm, beyond where a thing can still be in the doorway


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
    """A pose of the search, the same without any width added, and its obstacles with names.

    level : z of its bottom, mm; number : of its way of holding, -1 where it is pushed home
    """

    pose: Pose
    bare: Pose
    names: list[str]
    level: float
    number: int


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """The tightest place on the way, before it is pushed home."""

    gap: float
    where: Floats
    against: str


@dataclass(slots=True, eq=False)
class Build:
    """Everything one search needs; begin is None where it does not stand free outside."""

    poses: list[Held] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    begin: Stand | None = None
    goal: Stand = field(default_factory=lambda: Stand(0.0, 0.0))
    bounds: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)

    def path(self, step: float, turns: int, most: int) -> CarryPath:
        """The way in on one lattice."""
        if self.begin is None:
            return _no_start()
        return carry_path(
            [held.pose for held in self.poses],
            self.begin,
            self.goal,
            changes=self.changes,
            bounds=self.bounds,
            effort=Effort(((step, turns),), most),
            gaps=False,
        )

    def bound(self, levels: Sequence[tuple[float, int]], most: int) -> CarryBound | None:
        """Whether the first lattice shows that there is no way, and by the last where it is shut.

        None where that would be too large.
        """
        x0, y0, x1, y1 = self.bounds
        step, turns = levels[0]
        nodes = (x1 - x0) * (y1 - y0) / step**2 * turns * len(self.poses)
        if self.begin is None or nodes > most:
            return None
        # Without the width for hands the place is no more than one of the poses, pushed home.
        real = [held for held in self.poses if held.number >= 0]
        twin = next(k for k, held in enumerate(real) if held.number == 0 and self._at_home(k))
        return carry_bound(
            [held.bare for held in real],
            self.begin,
            Stand(self.goal.x, self.goal.y, self.goal.turn, twin),
            changes=[c for c in self.changes if max(c.between) < len(real)],
            bounds=self.bounds,
            levels=levels,
        )

    def _at_home(self, number: int) -> bool:
        return abs(self.poses[number].level - self.poses[self.goal.pose].level) <= TOUCH


def stages(item: Placed, scene: Scene, holds: tuple[Hold, ...]) -> tuple[Stage, ...]:
    """The cheapest searches first: upright at one level, laid down, then at every level."""
    layout, weight = scene.layout, item.spec.weight
    light = weight is None or float(weight) <= HEAVY
    plain = plain_levels(layout, item)
    lifted = lifted_levels(layout, item, scene.way, holds, over=light)
    found = [Stage(holds[:1], plain), Stage(holds, plain)]
    found += [Stage(holds[:1], lifted), Stage(holds, lifted)]
    return tuple({(len(each.holds), each.levels): each for each in found}.values())


def build(scene: Scene, item: Placed, stage: Stage, margin: float) -> Build:
    """Poses and changes of one stage, with ``margin`` mm of width added all round."""
    made = Build()
    number = {
        (k, level): n
        for k, hold in enumerate(stage.holds)
        for level, n in _levels(scene, hold, k, stage.levels, margin, made, item)
    }
    for tilt in tilts_of(stage.holds):
        rings = widened([tilt.ring], margin)
        one, other = tilt.between
        for level in stage.levels:
            if (one, level) not in number or (other, level) not in number:
                continue
            stones = scene.between(level, level + tilt.height, slopes=False)[0]
            slopes = [
                Slope(ring, partial(tilt.lines, plane, level)) for ring, plane in scene.slopes()
            ]
            pair = (number[one, level], number[other, level])
            made.changes.append(Change(pair, rings, stones, slopes))
    _home(scene, item, stage.holds[0], number, made)
    spot = _start(scene.way, stage.holds[0], margin)
    if spot is not None:
        carried = [level for k, level in number if k == 0]
        first = min((z for z in carried if z >= scene.way.sill - TOUCH), default=max(carried))
        made.begin = Stand(*spot, number[0, first])
        made.bounds = _bounds(scene, stage.holds, spot)
    return made


def _levels(
    scene: Scene,
    hold: Hold,
    number: int,
    levels: Sequence[float],
    margin: float,
    made: Build,
    item: Placed,
) -> Iterator[tuple[float, int]]:
    """A pose at each level the room is high enough for, and the lifts between neighbours."""
    pieces = scene.layout.room.ceilings
    roof = max(float(piece.height(piece.polygon)[0].max()) for piece in pieces)
    base = float(item.low[0, 2])
    fit = [z for z in levels if z + hold.height <= roof + TOUCH or abs(z - base) <= TOUCH]
    for k, level in enumerate(fit):
        label = hold.name if len(levels) == 1 else f"{hold.name}, {mm(level)} up"
        own = len(made.poses)
        if k:
            made.changes.append(_lift(scene, hold, (fit[k - 1], level), own, margin))
        bare = _groups(scene, hold, level, level)
        pose = Pose(label, *_widened(bare[0], margin), [_widened(g, margin) for g in bare[1:]])
        names = [
            name
            for band in hold.bands
            for name in scene.between(level + band.low, level + band.high)[1]
        ]
        still = Pose(label, *bare[0], bare[1:])
        made.poses.append(Held(pose, still, names, level, number))
        yield level, own


def _lift(
    scene: Scene, hold: Hold, levels: tuple[float, float], upper: int, margin: float
) -> Change:
    """The change between a pose and the next one up.

    Lifting by no more than its thinnest part is high, it meets only what it meets before or after.
    """
    low, high = levels
    if high - low <= hold.thinnest + TOUCH:
        return Change((upper - 1, upper))
    first, *more = [_widened(g, margin) for g in _groups(scene, hold, low, high)]
    return Change((upper - 1, upper), *first, more=more)


def _groups(scene: Scene, hold: Hold, low: float, high: float) -> list[tuple[Rings, Stones]]:
    """Its parts, those of a height together, with all they meet while it is lifted so far."""
    return [(band.rings, scene.between(low + band.low, high + band.high)[0]) for band in hold.bands]


def _widened(group: tuple[Rings, Stones], margin: float) -> tuple[Rings, Stones]:
    return widened(group[0], margin), group[1]


def _home(
    scene: Scene, item: Placed, hold: Hold, number: dict[tuple[int, float], int], made: Build
) -> None:
    """The item's own place: a pose of its own that stays within ``HOME`` of it.

    What hangs is raised there: one more such pose at every height below.
    """
    base, yaw = float(item.low[0, 2]), float(item.yaw[0])
    cos, sin = np.cos(yaw), np.sin(yaw)
    corners = np.concatenate([part.solid.corners[0, :, :2] for part in item.parts])
    own = corners @ np.array([[cos, -sin], [sin, cos]])
    x, y = (own.min(axis=0) + own.max(axis=0)) / 2.0 @ np.array([[cos, sin], [-sin, cos]])
    far = hold.radius + HOME
    box = np.array([x, y]) + far * np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
    fence = outside([box], _FAR)
    made.goal = Stand(float(x), float(y), yaw)
    carried = sorted(z for k, z in number if k == 0)
    level = min(carried, key=lambda z: abs(z - base))
    ground = max(float(floor.level[0]) for floor in scene.layout.room.floors)
    below = [z for z in carried if z < level] if base > ground + TOUCH else []
    for k, z in enumerate((*below, level)):
        own, at = len(made.poses), base if z == level else z
        made.changes.append(Change((number[0, z], own)))
        if k:
            made.changes.append(_lift(scene, hold, (below[k - 1], at), own, 0.0))
        groups = _groups(scene, hold, at, at)
        names = [n for b in hold.bands for n in scene.between(at + b.low, at + b.high)[1]]
        names += ["its own reach"] * len(fence)
        label = PLACE if z == level else f"{_PUSHED}, {mm(z)} up"
        pose = Pose(label, *groups[0], [*groups[1:], (hold.rings, stones_of(fence))])
        made.poses.append(Held(pose, pose, names, at, -1))
    made.goal = replace(made.goal, pose=len(made.poses) - 1)


def _bounds(
    scene: Scene, holds: Sequence[Hold], spot: tuple[float, float, float]
) -> tuple[float, float, float, float]:
    """Where its middle may be: the room, and outside no further aside than the doorway lets it."""
    way = scene.way
    aside = max(hold.radius for hold in holds) + _ASIDE
    corners = [way.middle + side * aside * way.along for side in (-1.0, 1.0)]
    off = np.array([*spot[:2]]) + _ASIDE * way.out
    return bounds_of([scene.layout.room.outline[0], np.stack([*corners, off]), way.reveal])


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
    best = np.array([np.inf, np.nan, np.nan, -1.0])
    against = "nothing"
    for held in poses:
        if held.pose.name not in found.poses or held.number < 0:
            continue
        of = layer(held.bare.footprint, held.bare.obstacles, more=held.bare.more)
        for (a, at), (b, to) in pairwise(zip(found.poses, found.path, strict=True)):
            if a == b == held.pose.name:
                owner = link_gap(of, at, to - at, best)
                against = against if owner is None else held.names[owner]
    return Tight(float(best[0]), best[1:3].copy(), against)
