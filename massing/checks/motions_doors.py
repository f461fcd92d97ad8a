"""The room's other doors and windows that move: a layout in, readings out.

Sliding doors need their park length, double leaves and overhead panels their whole swing, and a
window that opens inward its arc. Single hinged doors are measured in ``leaves``.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.leaves import leaf_sweep
from massing.checks.motions import Mover, stops
from massing.checks.words import mm, place
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.motions.stops import Path, eased
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats, box
from massing.geometry.tolerance import TOUCH
from massing.room.shape import FloorPiece, Opening, Room, Wall
from massing.scheme.layout import Leaf

__all__ = ["STEP", "door_movers", "read", "read_steps"]

LEAF, WINDOW_LEAF, STEP = "door leaf", "window leaf", "step by door"
_THIN = 1.0  # mm, of a leaf whose thickness is not said
SOURCE = "common practice, no source"


def read(context: Context) -> Iterator[Reading]:
    """Readings of whatever stops a sliding, double or overhead door, or an inward window."""
    movers = [m for opening in context.layout.room.openings for m in door_movers(context, opening)]
    yield from stops(context, movers)


def door_movers(context: Context, opening: Opening) -> list[Mover]:
    """The leaves of an opening that move inside the room, single hinged doors left out.

    A sliding leaf parks on the side its hinge would be, flat on the inside face. Each leaf of a
    double door is as wide as its leaf says, one hung on each jamb. An overhead panel swings in
    and up about the inside edge of its head, and hangs level there when open.
    """
    if opening.leaf is None:
        return []
    wall = context.layout.room.wall(opening.wall)
    if opening.kind == "window":
        return _window(opening, wall)
    inward = opening.opens == "in" or wall.partition
    if opening.motion == "overhead" or (opening.motion == "sliding" and inward):
        path = (_overhead if opening.motion == "overhead" else _slide)(opening, wall)
        return [_mover(opening, path, path.full, SOURCE)]
    if opening.motion == "double" and inward:
        needs, source = np.radians(context.rules.door_angle), context.rules.source("door_angle")
        paths = [_swing(opening, wall, right=right) for right in (False, True)]
        return [_mover(opening, p, np.minimum(p.full, needs), source) for p in paths]
    return []


def _window(opening: Opening, wall: Wall) -> list[Mover]:
    if opening.motion != "hinged" or opening.opens != "in":
        return []
    path = _swing(opening, wall, right=opening.hinge == "right")
    return [_mover(opening, path, path.full, SOURCE, WINDOW_LEAF, Verdict.CAUTION)]


def _mover(
    opening: Opening,
    path: Path,
    needs: Floats,
    source: str,
    check: str = LEAF,
    weight: Verdict = Verdict.CONFLICT,
) -> Mover:
    return Mover(
        owner=opening.name,
        label=opening.name,
        kind=opening.motion,
        paths=eased([path]),
        free=frozenset({opening.name}),
        needs=np.asarray(needs),
        source=source,
        check=check,
        weight=weight,
        behind=frozenset({opening.wall}),
    )


def _panel(opening: Opening, wall: Wall, start: Floats, depth: tuple[Floats, Floats]) -> Convex:
    """A leaf along a wall from ``start``, between two distances in from its face."""
    assert opening.leaf is not None  # noqa: S101
    end = start + opening.leaf[:, 0]
    low, high = opening.sill, opening.sill + opening.leaf[:, 1]
    ends = [(start, depth[0]), (end, depth[0]), (end, depth[1]), (start, depth[1])]
    ring = np.stack([wall.point(along, inward) for along, inward in ends], axis=1)
    ahead, aside = ring[0, 1] - ring[0, 0], ring[0, 3] - ring[0, 0]
    if float(ahead[0] * aside[1] - ahead[1] * aside[0]) < 0:
        ring = ring[:, ::-1]
    solid = box(np.zeros((len(ring), 3)), np.ones((len(ring), 3)))
    corners = solid.corners.copy()
    corners[:, :4, :2], corners[:, 4:, :2] = ring, ring
    corners[:, :4, 2], corners[:, 4:, 2] = low[:, None], high[:, None]
    return Convex(corners, solid.faces)


def _thick(opening: Opening) -> Floats:
    assert opening.leaf is not None  # noqa: S101
    return np.maximum(opening.leaf[:, 2], _THIN)


def _swing(opening: Opening, wall: Wall, *, right: bool) -> Path:
    """A leaf hung on one jamb, its face flush with the inside of the wall."""
    assert opening.leaf is not None  # noqa: S101
    wide = opening.leaf[:, 0]
    jamb = opening.left + (opening.width if right else 0.0)
    none = np.zeros(len(wide))
    solid = _panel(opening, wall, jamb - wide if right else jamb, (-_thick(opening), none))
    pin = np.concatenate([wall.point(jamb, none), opening.sill[:, None]], axis=1)
    # Facing the wall from inside, a leaf hung on the right comes in counter-clockwise.
    axis = np.tile([0.0, 0.0, 1.0 if right else -1.0], (len(wide), 1))
    return Path(solid, axis, pin, np.full(len(wide), np.radians(opening.angle)))


def _slide(opening: Opening, wall: Wall) -> Path:
    assert opening.leaf is not None  # noqa: S101
    wide = opening.leaf[:, 0]
    right = opening.hinge == "right"
    start = opening.left + (opening.width - wide if right else 0.0)
    depth = (np.zeros(len(wide)), _thick(opening))
    if opening.opens == "out":
        # Along the far face of a partition, which is in the room as well.
        depth = (-wall.thickness - depth[1], -wall.thickness)
    solid = _panel(opening, wall, start, depth)
    flat = wall.along * (1.0 if right else -1.0)
    axis = np.concatenate([flat, np.zeros((len(flat), 1))], axis=1)
    return Path(solid, axis, None, wide)


def _overhead(opening: Opening, wall: Wall) -> Path:
    """Turns about the inside edge of its head, so that open it hangs below that level."""
    assert opening.leaf is not None  # noqa: S101
    wide = opening.leaf[:, 0]
    none = np.zeros(len(wide))
    start = opening.left + (opening.width - wide) / 2.0
    solid = _panel(opening, wall, start, (-_thick(opening), none))
    head = opening.sill + opening.leaf[:, 1]
    about = np.concatenate([wall.point(start, none), head[:, None]], axis=1)
    # By the right hand about the way to your left as you face it, the foot comes towards you.
    axis = np.concatenate([wall.along, np.zeros((len(wide), 1))], axis=1)
    foot = np.cross(axis[0], [0.0, 0.0, -1.0])[:2]
    sign = -1.0 if float(foot @ wall.outward[0]) > 0 else 1.0
    return Path(solid, axis * sign, about, np.full(len(wide), np.pi / 2))


def read_steps(context: Context) -> Iterator[Reading]:
    """Readings of changes of floor level under or near the sweep of an inward hinged door.

    A step up within the sweep stops the leaf, which ``leaves`` says.
    """
    if context.focus is not None:
        return
    room = context.layout.room
    need = context.rules.step_by_door
    for leaf in context.layout.leaves:
        if leaf.opens != "in":
            continue
        ring = outline_of(leaf_sweep(leaf))
        for floor in room.floors:
            rise = floor.level - _own_level(room, leaf)
            if abs(float(rise[0])) <= TOUCH:
                continue
            gap = polygon_gap(ring, floor.polygon).gap
            stopped = float(gap[0]) < -TOUCH and float(floor.level[0] - leaf.low[0]) > TOUCH
            if stopped or float(gap.min()) >= need:
                continue
            yield Reading(
                check=STEP,
                items=(leaf.name, floor.name),
                gap=np.maximum(gap, 0.0),
                needs=need,
                detail=_step_later(leaf, floor, float(gap[0]), float(rise[0])),
                weight=Verdict.CAUTION,
                source=context.rules.source("step_by_door"),
            )


def _own_level(room: Room, leaf: Leaf) -> Floats:
    """(worlds,) level of the floor a leaf starts over."""
    middle = leaf.pin + leaf.shut * (leaf.width / 2.0)[:, None]
    inward = leaf.swing * np.stack([-leaf.shut[:, 1], leaf.shut[:, 0]], axis=1)
    spot = (middle + inward)[:1]
    square = spot[:, None] + np.array([[[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]])
    for floor in room.floors:
        if float(polygon_gap(square, floor.polygon[:1]).gap[0]) < 0:
            return floor.level
    return leaf.low


def _step_later(leaf: Leaf, floor: FloorPiece, gap: float, rise: float):  # type: ignore[no-untyped-def]  # noqa: ANN202
    how = f"a step {'up' if rise > 0 else 'down'} of {mm(abs(rise))}"
    where = f"{mm(gap)} from" if gap > TOUCH else "under"
    at = place(np.append(leaf.pin[0], floor.level[0]))
    return lambda: Detail(says=f"{how} to the {floor.name} {where} the sweep of {leaf.name}", at=at)
