"""Where people come in and what stands in their way: a layout in, thresholds and plan rings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.leaves import opens_to
from massing.checks.moved import Move, move_of
from massing.checks.rules import Rules
from massing.geometry.passage.ways import Shapes, drawn
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.heights import floor_level
from massing.room.shape import Opening, Room, Wall
from massing.scheme.extents import extents_of
from massing.scheme.floor_plan import Block, Walker, leaf_block, walkers_plan
from massing.scheme.layout import Layout, Leaf, Motion, Part

__all__ = [
    "Entrance",
    "entrances",
    "leaf_angle",
    "obstacles_on_foot",
    "opened_hulls",
    "plan_hulls",
    "same_doors",
    "stand_open",
    "surely_covered",
]


_NONE = 0.5  # mm²; less floor than a place to stand on is told by


@dataclass(frozen=True, slots=True, eq=False)
class Entrance:
    """A door a person comes in by, nominal world.

    threshold : (2, 2) the doorway, left to right as seen from inside; see ``entrances``
    clear : the doorway's own clear width past its open leaf, mm
    """

    name: str
    threshold: Floats
    clear: float

    @property
    def size(self) -> float:
        """How long the threshold is, mm."""
        return float(np.hypot(*(self.threshold[1] - self.threshold[0])))


def entrances(layout: Layout, rules: Rules, least: float = 0.0) -> tuple[Entrance, ...]:
    """Doors in the room's outer walls whose sill a person can step over.

    least : mm; a doorway with less clear width is counted as this wide, beyond the jambs that
        have no leaf, where only the way through the room is asked about
    """
    move = move_of(layout)
    if move is not None and same_doors(layout, move, rules):
        return entrances(move.before, rules, least)
    key = ("entrances", rules.rise, rules.door_angle, least)
    return layout.kept(key, lambda layout: _entrances(layout, rules, least))


@dataclass(frozen=True, slots=True, eq=False)
class _Doorway:
    """A doorway people come in by, nominal: from and to along its wall, and what is left clear.

    jamb : on which side, left or right, its leaf is hung, "" where none opens inward
    """

    name: str
    wall: Wall
    left: float
    width: float
    clear: float
    jamb: str


def _entrances(layout: Layout, rules: Rules, least: float) -> tuple[Entrance, ...]:
    found = []
    key = ("doorways", rules.rise, rules.door_angle)
    for door in layout.kept(key, lambda layout: _doorways(layout, rules)):
        more = max(least - door.clear, 0.0)
        sides = [more / 2.0, more / 2.0]
        if door.jamb:
            sides = [0.0, more] if door.jamb == "left" else [more, 0.0]
        ends = np.array([door.left - sides[0], door.left + door.width + sides[1]])
        stops = np.clip(ends, 0.0, float(door.wall.length[0]))
        points = [door.wall.left[0] + stop * door.wall.along[0] for stop in stops]
        found.append(Entrance(door.name, np.stack(points), door.clear))
    return tuple(found)


def _doorways(layout: Layout, rules: Rules) -> tuple[_Doorway, ...]:
    leaves = {leaf.name: leaf for leaf in layout.leaves}
    found = []
    for door in layout.room.openings:
        wall = layout.room.wall(door.wall)
        if door.kind != "door" or wall.partition or _climb(layout.room, door) > rules.rise:
            continue
        left, width = float(door.left[0]), float(door.width[0])
        leaf = leaves.get(door.name)
        clear, jamb = width, ""
        if leaf is not None:
            clear = _past(leaf, leaf_angle(layout, leaf, rules.door_angle), width)
            jamb = (door.hinge or "") if leaf.opens == "in" else ""
        found.append(_Doorway(door.name, wall, left, width, clear, jamb))
    return tuple(found)


def _climb(room: Room, door: Opening) -> float:
    """How far the sill lies above the floor just inside, mm."""
    wall = room.wall(door.wall)
    inside = wall.point(door.left + door.width / 2.0, np.ones(room.worlds))[:1, None]
    level = float(floor_level(room, np.broadcast_to(inside, (room.worlds, 1, 2)))[0, 0])
    return float(door.sill[0]) - (0.0 if np.isnan(level) else level)


def leaf_angle(layout: Layout, leaf: Leaf, enough_deg: float) -> float:
    """How far a leaf is taken to stand open on the ways through the room, radians.

    enough_deg : what counts as open enough, degrees
    As far as it gets, where that is enough or what stops it is accepted in the file. A leaf
    stopped short is a finding of its own, and is taken as fully open here: one cause, one finding.
    """
    key = ("leaf angle", leaf, enough_deg)
    move = move_of(layout)
    if move is not None and not _comes_near(layout, move, leaf):
        return layout.kept(key, lambda _: leaf_angle(move.before, leaf, enough_deg))
    return layout.kept(key, lambda layout: _leaf_angle(layout, leaf, enough_deg))


def _comes_near(layout: Layout, move: Move, leaf: Leaf) -> bool:
    """Whether what is moved comes as near to a leaf's pin as it is wide, before or after."""
    far = float(leaf.width[0]) + 2.0 * TOUCH
    for held in (move.before, layout):
        parts = extents_of(held)
        for number, item in enumerate(held.items):
            if item.name not in move.names:
                continue
            own = parts.parts(number)
            low, high = parts.low[0, own, :2], parts.high[0, own, :2]
            off = np.maximum(np.maximum(low - leaf.pin[0], leaf.pin[0] - high), 0.0)
            if ((off * off).sum(axis=1) <= far * far).any():
                return True
    return False


def stand_open(layout: Layout, like: Layout, rules: Rules) -> None:
    """Let the leaves of a layout stand open as far as those of another of the same room."""
    for leaf in layout.leaves:
        angle = leaf_angle(like, leaf, rules.door_angle)
        layout.kept(("leaf angle", leaf, rules.door_angle), _always(angle))


def _always(angle: float) -> Callable[[Layout], float]:
    return lambda _: angle


def same_doors(layout: Layout, move: Move, rules: Rules) -> bool:
    """Whether every leaf stands open as far as before a move, so that nothing of a door changes."""
    angle = rules.door_angle

    def same(layout: Layout) -> bool:
        return all(
            leaf_angle(layout, leaf, angle) == leaf_angle(move.before, leaf, angle)
            for leaf in layout.leaves
        )

    return layout.kept(("same doors", angle), same)


def _leaf_angle(layout: Layout, leaf: Leaf, enough_deg: float) -> float:
    if leaf.opens != "in":
        return leaf.full
    reach, stopped = opens_to(layout, leaf)
    enough = min(np.deg2rad(enough_deg), leaf.full)
    held = next((item for item in layout.items if item.name == stopped), None)
    accepted = held is not None and bool({leaf.name, "door leaf"} & set(held.accept))
    return reach if reach >= enough or accepted else leaf.full


def _past(leaf: Leaf, angle: float, width: float) -> float:
    """Clear width between an open leaf and the other jamb, mm: face of leaf to jamb."""
    from shapely import Point, Polygon

    jamb = leaf.pin[0] + width * leaf.shut[0]
    return float(Polygon(leaf_block(leaf, angle).ring[0]).distance(Point(jamb)))


def obstacles_on_foot(
    layout: Layout, rules: Rules, headroom: float, *, everything_open: bool = False
) -> tuple[Block, ...]:
    """What a person on foot cannot go through, room doors open.

    A shut leaf lies in its wall, and a shut drawer in its body, so the open state is never the
    wider one: with ``everything_open`` the answer holds for every state of doors and drawers
    between shut and fully open at once.
    """
    walker = Walker(headroom, rules.step_over, rules.rise)
    found = list(walkers_plan(layout, walker))
    found += [
        leaf_block(leaf, leaf_angle(layout, leaf, rules.door_angle))
        for leaf in layout.leaves
        if leaf.opens == "in" or layout.room.wall(leaf.wall).partition
    ]
    if everything_open:
        opened = tuple(replace(item, parts=tuple(_opened(item.motions))) for item in layout.items)
        bare = replace(layout.room, fabric=(), ceilings=())
        found += walkers_plan(replace(layout, items=opened, room=bare), walker)
    return tuple(found)


def _opened(motions: tuple[Motion, ...]) -> Iterator[Part]:
    """Drawers, leaves, flaps and lids where they are when fully open."""
    for motion in motions:
        if motion.slide is not None and motion.kind == "drawer":
            solid = motion.solid.moved(motion.slide)
        elif motion.turn_about is not None:
            solid = _turned(motion)
        else:
            continue
        yield Part(motion.name, "door", solid)


def opened_hulls(layout: Layout, over: float, headroom: float) -> Shapes:
    """Plan hulls of all that opens where it is fully open, whole, of what lies at walking height.

    over, headroom : mm above the floor, between which something is met
    Nominal world. Never less than ``obstacles_on_foot`` takes with everything open.
    """
    bands = [(float(f.level[0]) + over, float(f.level[0]) + headroom) for f in layout.room.floors]
    points = _opened_corners([motion for item in layout.items for motion in item.motions])
    heights = [p[:, 2].tolist() for p in points]
    ends = [(min(each), max(each)) for each in heights]
    return plan_hulls(
        [
            p
            for p, (least, most) in zip(points, ends, strict=True)
            if any(most > low and least < high for low, high in bands)
        ]
    )


def surely_covered(
    layout: Layout, rules: Rules, headroom: float, rings: Sequence[Floats]
) -> list[bool]:
    """(n,) which plan rings (n, 2) surely have no floor left with everything open.

    Bodies and drawers that stand upright and are met at walking height on every level of the floor.
    """
    import shapely

    if not rings:
        return []
    levels = [float(floor.level[0]) for floor in layout.room.floors]
    low, high = max(levels) + rules.step_over + TOUCH, min(levels) + headroom - TOUCH
    least = np.array([ring.min(axis=0) for ring in rings])
    most = np.array([ring.max(axis=0) for ring in rings])
    parts = extents_of(layout)
    meets = (parts.low[0, :, None, :2] < most) & (parts.high[0, :, None, :2] > least)
    corners = [
        parts.solids[k].corners[0]
        for k in np.flatnonzero(np.any(meets.all(axis=2), axis=1)).tolist()
        if parts.solids[k].faces.upright and not layout.items[parts.owner[k]].spec.passable
    ]
    corners += [
        m.solid.corners[0] + np.reshape(m.slide, (-1, 3))[0]
        for item in layout.items
        if not item.spec.passable
        for m in item.motions
        if m.slide is not None and m.kind == "drawer" and m.solid.faces.upright
    ]
    taken = drawn(
        [
            each[: len(each) // 2, :2]
            for each in corners
            if float(each[-1, 2]) > low and float(each[0, 2]) < high
        ]
    )
    left = [
        shape.difference(shapely.union_all(taken[shapely.intersects(shape, taken)]))
        for shape in drawn(rings)
    ]
    return [float(shape.area) <= _NONE for shape in left]


def plan_hulls(points: Sequence[Floats]) -> Shapes:
    """The plan hull of each of some point sets (n, 3), those without area left out."""
    import shapely

    if not points:
        return np.empty(0, dtype=np.object_)
    owner = np.repeat(np.arange(len(points)), [len(each) for each in points])
    flat = np.concatenate(points)[:, :2]
    hulls = np.asarray(shapely.convex_hull(shapely.multipoints(flat, indices=owner)))
    return np.asarray(hulls[shapely.get_dimensions(hulls) == 2])


def _opened_corners(motions: list[Motion]) -> list[Floats]:
    """Corners (n, 3) of drawers, leaves, flaps and lids where they are when fully open, nominal."""
    slid = [m for m in motions if m.slide is not None and m.kind == "drawer"]
    found = [m.solid.corners[0] + np.reshape(np.asarray(m.slide), (-1, 3))[0] for m in slid]
    turned: dict[int, list[Motion]] = {}
    for motion in motions:
        if motion.turn_about is not None and not (
            motion.slide is not None and motion.kind == "drawer"
        ):
            turned.setdefault(motion.solid.corners.shape[1], []).append(motion)
    for some in turned.values():
        about = np.stack([m.turn_about[0] for m in some if m.turn_about is not None])[:, None]
        full = np.array([float(np.ravel(m.full)[0]) for m in some])[:, None, None]
        axis = np.stack([np.reshape(m.axis, (-1, 3))[0] for m in some])[:, None]
        off = np.stack([m.solid.corners[0] for m in some]) - about
        along = axis * (off * axis).sum(axis=2, keepdims=True)
        spun = about + along + np.cos(full) * (off - along) + np.sin(full) * np.cross(axis, off)
        found += list(spun)
    return found


def _turned(motion: Motion) -> Convex:
    """The moving part turned about its axis by its whole travel, by the right-hand rule."""
    assert motion.turn_about is not None  # noqa: S101
    about, full = motion.turn_about[:, None], np.asarray(motion.full)[:, None, None]
    axis = np.asarray(motion.axis).reshape(-1, 1, 3)
    off = motion.solid.corners - about
    along = axis * (off * axis).sum(axis=2, keepdims=True)
    turned = along + np.cos(full) * (off - along) + np.sin(full) * np.cross(axis, off)
    return Convex(about + turned, replace(motion.solid.faces, upright=False))
