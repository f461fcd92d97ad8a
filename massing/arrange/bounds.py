"""Can it fit at all? A model in, a reason why it cannot in words out, or nothing.

These are proofs: floor is counted by height and volume as a whole, so where a bound is broken no
arrangement exists. Where none is broken nothing is said.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import FLOOR, WALL
from massing.arrange.building import tall_floor
from massing.arrange.model import Model
from massing.checks.words import mm
from massing.geometry.solids import Floats
from massing.room.measure import volume

__all__ = ["cannot_fit"]

_SLACK = 1.0  # mm² or mm³, below which a bound is not called broken


def cannot_fit(model: Model) -> str | None:
    """Why nothing can work, proved by a bound; None when no bound says so.

    Standing bodies that start on the floor and reach a height take up floor, each its own, where
    the room is at least so high: their footprints cannot come to more than that floor has.
    """
    return _too_big(model) or _floor_bound(model) or _volume_bound(model)


def _boxes(model: Model, unit: int) -> Floats:
    first, last = model.fixed["box_at"][0][unit : unit + 2]
    return np.asarray(model.fixed["boxes"][0][first:last])


def _too_big(model: Model) -> str | None:
    """One thing alone that no part of the room can hold."""
    outline = model.layout.room.outline[0]
    spans = outline[:, None] - outline[None]
    longest = float(np.sqrt((spans**2).sum(axis=-1)).max())
    for k in map(int, model.free):
        name = model.units[k].name
        for box in _boxes(model, k):
            wide, deep, tall = box[3:] - box[:3]
            if max(wide, deep) > longest + 1e-6:
                return (
                    f"{name} is {mm(max(wide, deep))} long; nowhere is the room over {mm(longest)}"
                )
            if int(model.fixed["mount"][0][k]) == FLOOR and _area(_tall(model, tall)) <= _SLACK:
                return f"{name} is {mm(tall)} tall; nowhere is the room so high"
        if int(model.fixed["mount"][0][k]) == WALL:
            wide = float(np.min(np.diff(model.fixed["bounds"][0][k].reshape(2, 3), axis=0)[0, :2]))
            walls = max(float(wall.length[0]) for wall in model.layout.room.walls)
            if wide > walls + 1e-6:
                return f"{name} is {mm(wide)} along its shorter side; no wall is over {mm(walls)}"
    return None


def _tall(model: Model, height: float) -> Any:
    """Floor with so much height, less what stays on it, as a shapely geometry."""
    from shapely import Polygon, union_all

    floor = union_all([Polygon(ring) for ring in tall_floor(model.layout.room, height)])
    rings = [
        Polygon(part.solid.corners[0][:, :2]).convex_hull
        for item in model.layout.items
        if item.stays and item.footing == "floor"
        for part in item.parts
        if float(part.solid.low[0, 2] - item.low[0, 2]) <= 1.0
    ]
    return floor.difference(union_all(rings)) if rings else floor


def _area(floor: Any) -> float:
    return float(floor.area)


def _floor_bound(model: Model) -> str | None:
    """Height by height: the footprints of all that reaches it, against the floor that high."""
    levels = [float(floor.level[0]) for floor in model.layout.room.floors]
    step = max(levels) - min(levels)
    standing: list[tuple[float, float, str]] = []
    for k in map(int, model.free):
        if int(model.fixed["mount"][0][k]) != FLOOR or model.fixed["may_stand"][0][k].any():
            continue
        base = float(model.fixed["bounds"][0][k, 2])
        # One box a unit: the rest may be a foot and its top, which would count floor twice.
        tops = [b for b in _boxes(model, k) if b[2] <= base + 1.0 and b[5] - base > step]
        if tops:
            box = max(tops, key=lambda b: float((b[3] - b[0]) * (b[4] - b[1])))
            size = float((box[3] - box[0]) * (box[4] - box[1]))
            standing.append((float(box[5] - base), size, model.units[k].name))
    for height in sorted({one[0] for one in standing}):
        reach = [one for one in standing if one[0] >= height]
        need, have = math.fsum(one[1] for one in reach), _area(_tall(model, height))
        if need > have + _SLACK:
            return (
                f"{len(reach)} things that stand {mm(height)} or taller take {need / 1e6:.2f} m² "
                f"of floor; {have / 1e6:.2f} m² of it is so high and free"
            )
    return None


def _volume_bound(model: Model) -> str | None:
    need = math.fsum(
        max(float(np.prod(box[3:] - box[:3])) for box in _boxes(model, int(k))) for k in model.free
    )
    have = volume(model.layout.room)
    if need > have + _SLACK:
        return f"the bodies come to {need / 1e9:.2f} m³ and the room to {have / 1e9:.2f} m³"
    return None
