"""Can it fit at all? A model in, a reason why it cannot in words out, or nothing.

These are proofs: floor is counted by height and volume as a whole, so where a bound is broken no
arrangement exists. Where none is broken nothing is said.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import FLOOR
from massing.arrange.building import tall_floor
from massing.arrange.model import Model
from massing.checks.words import mm
from massing.geometry.outline import outline_of
from massing.geometry.polygons import area
from massing.geometry.solids import Convex, Floats
from massing.room.measure import volume

__all__ = ["cannot_fit"]

_SLACK = 1.0  # mm² or mm³, below which a bound is not called broken


def cannot_fit(model: Model) -> str | None:
    """Why nothing can work, proved by a bound; None when no bound says so.

    Standing bodies that start on the floor and reach a height take up floor, each its own, where
    the room is at least so high: their footprints cannot come to more than that floor has.
    """
    return _too_big(model) or _floor_bound(model) or _volume_bound(model)


def _parts(model: Model, unit: int) -> list[Convex]:
    """The convex parts of a unit as they are, not the boxes the search takes them for."""
    names = (model.units[unit].name, *model.units[unit].riders)
    return [part.solid for name in names for part in model.layout.item(name).parts]


def _too_big(model: Model) -> str | None:
    """One thing alone that no part of the room can hold."""
    outline = model.layout.room.outline[0]
    longest = _longest(outline)
    for k in map(int, model.free):
        name = model.units[k].name
        for part in _parts(model, k):
            size = _longest(part.corners[0][:, :2])
            if size > longest + 1e-6:
                return f"{name} measures {mm(size)} in plan; the room nowhere over {mm(longest)}"
            tall = float(part.high[0, 2] - part.low[0, 2])
            if part.faces.upright and _area(_tall(model, tall, set())) <= _SLACK:
                return f"{name} is {mm(tall)} tall; nowhere is the room so high"
    return None


def _longest(points: Floats) -> float:
    """Greatest distance between two plan points."""
    spans = points[:, None] - points[None]
    return float(np.sqrt((spans**2).sum(axis=-1)).max())


def _tall(model: Model, height: float, kept: set[str]) -> Any:
    """Floor with so much height, less what stays on it, as a shapely geometry."""
    from shapely import Polygon, union_all

    floor = union_all([Polygon(ring) for ring in tall_floor(model.layout.room, height)])
    rings = [
        Polygon(outline_of(part.solid)[0])
        for item in model.layout.items
        if item.name in kept
        for part in item.parts
        if _stands(part.solid, float(item.low[0, 2]), _step(model))
    ]
    return floor.difference(union_all(rings)) if rings else floor


def _stands(part: Convex, base: float, step: float) -> bool:
    """Whether a part is a prism on the floor, too tall to be passed over from another level."""
    return bool(
        part.faces.upright and part.low[0, 2] - base <= 1.0 and part.high[0, 2] - base > step + 1.0
    )


def _step(model: Model) -> float:
    levels = [float(floor.level[0]) for floor in model.layout.room.floors]
    return max(levels) - min(levels)


def _area(floor: Any) -> float:
    return float(floor.area)


def _floor_bound(model: Model) -> str | None:
    """Height by height: the footprints of all that reaches it, against the floor that high."""
    standing: list[tuple[float, float, str]] = []
    kept = {i.name for i in model.layout.items if i.stays and i.footing == "floor"}
    for k in map(int, model.free):
        if int(model.fixed["mount"][0][k]) != FLOOR or model.fixed["may_stand"][0][k].any():
            continue
        item = model.layout.item(model.units[k].name)
        base = float(item.low[0, 2])
        # One part a unit: two may lie over one another and would count floor twice.
        sizes = [
            (float(area(outline_of(part.solid))[0]), float(part.solid.high[0, 2]) - base)
            for part in item.parts
            if _stands(part.solid, base, _step(model))
        ]
        if sizes:
            size, tall = max(sizes)
            standing.append((tall, size, item.name))
    for height in sorted({one[0] for one in standing}):
        reach = [one for one in standing if one[0] >= height]
        need, have = math.fsum(one[1] for one in reach), _area(_tall(model, height, kept))
        if need > have + _SLACK:
            return (
                f"{len(reach)} things that stand {mm(height)} or taller take {need / 1e6:.2f} m² "
                f"of floor; {have / 1e6:.2f} m² of it is so high and free"
            )
    return None


def _volume_bound(model: Model) -> str | None:
    need = math.fsum(
        max(float(part.volume[0]) for part in _parts(model, int(k))) for k in model.free
    )
    have = volume(model.layout.room)
    if need > have + _SLACK:
        return f"the bodies come to {need / 1e9:.2f} m³ and the room to {have / 1e9:.2f} m³"
    return None
