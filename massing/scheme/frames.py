"""Where an item's own frame goes: a placement in, origin and yaw out, in many worlds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from massing.geometry.solids import Floats, spread
from massing.items.shape import ItemShape
from massing.project.scheme_spec import PlacementSpec
from massing.room.shape import Room, Wall
from massing.survey.values import Values
from massing.units import Length

__all__ = ["Facings", "Frame", "plan_frame", "turned", "turned_by", "turns"]

Facings: TypeAlias = dict[tuple[str, str, float], tuple[Floats, Floats, Floats]]
"""Yaws with their cosines and sines, by the wall, the side at it or the facing, and the turn."""

# What the item's "away from you" direction becomes when that side touches the wall: the unit
# vector of the side, in the item's own axes.
_SIDES = {
    "back": (0.0, 1.0),
    "front": (0.0, -1.0),
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
}


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Plan position of an item's own axes: origin (worlds, 2) mm, yaw (worlds,) radians."""

    origin: Floats
    yaw: Floats

    def moved(self, by: tuple[Length, ...], values: Values) -> Frame:
        """Return the frame shifted in room axes; a third length is a height and is left alone."""
        return Frame(self.origin + _xy(by, values), self.yaw)

    def points(self, own: Floats) -> Floats:
        """(worlds, n, 2) room points of the item's own plan points (worlds, n, 2)."""
        return turned(own, self.yaw) + self.origin[:, None, :]


def turned(points: Floats, yaw: Floats) -> Floats:
    """Turn plan points (worlds, n, 2) about the origin, counter-clockwise by yaw (worlds,)."""
    cos, sin = turns(yaw)
    return turned_by(points, cos[:, None], sin[:, None])


def turns(yaw: Floats) -> tuple[Floats, Floats]:
    """Cosines and sines of angles, those of quarter turns exact."""
    return _exact_cos(yaw), _exact_cos(yaw - np.pi / 2)


def turned_by(points: Floats, cos: Floats, sin: Floats) -> Floats:
    """Points (worlds, n, 2 or more) turned in plan by angles of these cosines, (worlds, 1 or n).

    >>> turned_by(np.array([[[3.0, 1.0, 7.0]]]), np.array([[0.0]]), np.array([[1.0]])).tolist()
    [[[-1.0, 3.0, 7.0]]]
    """
    x, y = points[..., 0], points[..., 1]
    found = np.empty((max(len(points), len(cos)), *points.shape[1:]))
    found[..., 0] = cos * x - sin * y
    found[..., 1] = sin * x + cos * y
    found[..., 2:] = points[..., 2:]
    return found


def _exact_cos(angle: Floats) -> Floats:
    """Cosine with quarter turns exact, so that square things stay square to the last bit."""
    cos = np.cos(angle)
    return np.where(np.abs(cos) < 1e-15, 0.0, np.where(np.abs(cos) > 1 - 1e-15, np.sign(cos), cos))


def plan_frame(
    spec: PlacementSpec,
    shape: ItemShape,
    room: Room,
    values: Values,
    *,
    base: Frame | None = None,
    base_shape: ItemShape | None = None,
    facings: Facings | None = None,
) -> Frame:
    """Plan frame of a placement; ``base`` is the frame of the item it stands on.

    facings : turns found before in this room, to be found and kept for many items
    """
    if spec.on is not None and base is not None and base_shape is not None:
        return _on(spec, shape, values, base, base_shape)
    yaw, cos, sin = _facing(spec, room, {} if facings is None else facings)
    outline = turned_by(_plan_corners(shape), cos, sin)
    if spec.against is not None:
        return Frame(_against(spec, room.wall(spec.against), outline, values, shape), yaw)
    if spec.corner is not None:
        walls = (room.wall(spec.corner[0]), room.wall(spec.corner[1]))
        return Frame(_cornered(spec, walls, outline, values, shape), yaw)
    low, high = outline.min(axis=1), outline.max(axis=1)
    if spec.at is not None:
        return Frame(_xy(spec.at, values) - low, yaw)
    centre = spec.centre if spec.centre is not None else ()
    return Frame(_xy(centre, values) - (low + high) / 2.0, yaw)


def _plan_corners(shape: ItemShape) -> Floats:
    """(worlds, n, 2) every corner of the body in plan; those that lie over one another once."""
    rings = []
    for part in shape.parts:
        plan = part.solid.corners[:, :, :2]
        rings.append(plan[:, : plan.shape[1] // 2] if part.solid.faces.upright else plan)
    return rings[0] if len(rings) == 1 else np.concatenate(rings, axis=1)


def _xy(point: tuple[Length, ...], values: Values) -> Floats:
    return np.stack([values(point[0]), values(point[1])], axis=1)


def _facing(spec: PlacementSpec, room: Room, known: Facings) -> tuple[Floats, Floats, Floats]:
    """Yaw (worlds,) of a placement in the room, its cosines and its sines (worlds, 1)."""
    turn = float(spec.turn) if spec.turn is not None else 0.0
    wall = spec.against or (spec.corner[0] if spec.corner is not None else None)
    key = (wall or "", spec.side if wall else spec.facing or "", turn)
    if key not in known:
        yaw = _yaw(spec, room, wall)
        cos, sin = turns(yaw)
        known[key] = (yaw, cos[:, None], sin[:, None])
    return known[key]


def _yaw(spec: PlacementSpec, room: Room, wall: str | None) -> Floats:
    """Angle of the item's x axis from the room's, counter-clockwise."""
    worlds = room.worlds
    turn = np.deg2rad(float(spec.turn)) if spec.turn is not None else 0.0
    if wall is not None:
        side = np.array(_SIDES[spec.side])
        outward = spread(room.wall(wall).outward, worlds)
        # The yaw that carries the item's own side vector onto the wall's outward direction.
        yaw = np.arctan2(outward[:, 1], outward[:, 0]) - np.arctan2(side[1], side[0])
        return _tidy(yaw + turn)
    if spec.facing is None:
        return np.full(worlds, turn)
    outward = spread(room.wall(spec.facing).outward, worlds)
    # The front looks along -y of the item's own axes.
    return _tidy(np.arctan2(outward[:, 1], outward[:, 0]) + np.pi / 2 + turn)


def _tidy(yaw: Floats) -> Floats:
    """Bring angles into (-pi, pi] and snap those within rounding of a quarter turn onto it."""
    wrapped = np.remainder(yaw + np.pi, 2 * np.pi) - np.pi
    quarter = np.round(wrapped / (np.pi / 2)) * (np.pi / 2)
    return np.where(np.abs(wrapped - quarter) < 1e-12, quarter, wrapped)


def _optional(length: Length | None, values: Values) -> Floats:
    return values.constant(0.0) if length is None else values(length)


def _off(length: Length | None, side: str, shape: ItemShape, values: Values) -> Floats:
    """How far a side stays off its wall: as written, else by the clearance the item asks for."""
    if length is not None:
        return values(length)
    asked = [gap.depth for gap in shape.gaps if gap.side == side]
    return spread(asked[0], values.worlds) if asked else values.constant(0.0)


def _against(
    spec: PlacementSpec, wall: Wall, outline: Floats, values: Values, shape: ItemShape
) -> Floats:
    """Origin that puts the outline's furthest reach on the wall and its left end at `along`."""
    along = np.einsum("wi,wni->wn", wall.along, outline)
    out = np.einsum("wi,wni->wn", wall.outward, outline)
    left, right = along.min(axis=1), along.max(axis=1)
    if spec.from_right is not None:
        start = wall.length - values(spec.from_right) - right
    elif spec.middle:
        start = wall.length / 2.0 - (left + right) / 2.0
    else:
        start = _optional(spec.along, values) - left
    inward = _off(spec.off, spec.side, shape, values) + out.max(axis=1)
    return wall.point(start, inward)


def _flank(side: str, first: Wall, second: Wall) -> str:
    """Which side of an item comes to the second wall of a corner, its ``side`` at the first."""
    left = first.along[0] @ second.outward[0] < 0
    order = ("back", "right", "front", "left")
    step = -1 if left else 1
    return order[(order.index(side) + step) % 4]


def _cornered(
    spec: PlacementSpec,
    walls: tuple[Wall, Wall],
    outline: Floats,
    values: Values,
    shape: ItemShape,
) -> Floats:
    """Origin that brings the outline up to two walls at once (a 2 x 2 solve, world by world)."""
    rows = []
    levels = []
    flank = _flank(spec.side, *walls)
    sides = ((spec.off, str(spec.side)), (spec.off_side, flank))
    for wall, (off, side) in zip(walls, sides, strict=True):
        reach = np.einsum("wi,wni->wn", wall.outward, outline).max(axis=1)
        rows.append(np.broadcast_to(wall.outward, (len(outline), 2)))
        face = np.einsum("wi,wi->w", wall.outward, wall.left)
        levels.append(face - reach - _off(off, side, shape, values))
    matrix = np.stack(rows, axis=1)
    return np.linalg.solve(matrix, np.stack(levels, axis=1)[..., None])[..., 0]


def _on(
    spec: PlacementSpec, shape: ItemShape, values: Values, base: Frame, under: ItemShape
) -> Frame:
    """Centred on the item below and facing as it does, then shifted in its axes and turned."""
    turn = np.deg2rad(float(spec.turn)) if spec.turn is not None else 0.0
    yaw = _tidy(base.yaw + turn)
    middle = (under.low + under.high)[:, :2] / 2.0
    if spec.shift is not None:
        middle = middle + np.stack([values(spec.shift[0]), values(spec.shift[1])], axis=1)
    own = ((shape.low + shape.high)[:, :2] / 2.0)[:, None, :]
    target = base.points(spread(middle[:, None, :], len(yaw)))[:, 0]
    return Frame(target - turned(spread(own, len(yaw)), yaw)[:, 0], yaw)
