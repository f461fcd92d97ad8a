"""Bring a unit to its pose: compiled loops from own boxes to corners and bounds in the room."""

# ruff: noqa: PLW3301
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

from typing import Any

from massing.arrange.arrays import FLOOR
from massing.arrange.plan_compiled import compiled, depth_in
from massing.geometry.solids import Floats

__all__ = ["floor_under", "is_square", "place_bodies", "place_rest", "place_unit"]

_TOL = 0.01  # mm; shallower is touching


@compiled
def _spread_box(
    x: float, y: float, c: float, s: float, b: Floats, xy: Floats, bounds: Floats
) -> None:
    """Corners and bounds in the room of a rectangle x0 y0 x1 y1 of a unit's own plan."""
    for k in range(4):
        u = b[0] if k in (0, 3) else b[2]
        v = b[1] if k < 2 else b[3]
        xy[k, 0] = x + c * u - s * v
        xy[k, 1] = y + s * u + c * v
    bounds[0] = min(min(xy[0, 0], xy[1, 0]), min(xy[2, 0], xy[3, 0]))
    bounds[1] = min(min(xy[0, 1], xy[1, 1]), min(xy[2, 1], xy[3, 1]))
    bounds[3] = max(max(xy[0, 0], xy[1, 0]), max(xy[2, 0], xy[3, 0]))
    bounds[4] = max(max(xy[0, 1], xy[1, 1]), max(xy[2, 1], xy[3, 1]))


@compiled
def _rect(b: Floats, out: Floats) -> None:
    out[0] = b[0]
    out[1] = b[1]
    out[2] = b[3]
    out[3] = b[4]


@compiled
def floor_under(fixed: Any, xy: Floats) -> float:
    """Highest floor under a rectangle."""
    if fixed.n_floors == 1:
        return fixed.levels[0]
    x0 = min(min(xy[0, 0], xy[1, 0]), min(xy[2, 0], xy[3, 0]))
    y0 = min(min(xy[0, 1], xy[1, 1]), min(xy[2, 1], xy[3, 1]))
    x1 = max(max(xy[0, 0], xy[1, 0]), max(xy[2, 0], xy[3, 0]))
    y1 = max(max(xy[0, 1], xy[1, 1]), max(xy[2, 1], xy[3, 1]))
    square = is_square(xy)
    best = -1e18
    lowest = 1e18
    for f in range(fixed.n_floors):
        level = fixed.levels[f]
        lowest = min(lowest, level)
        if level <= best:
            continue
        b = fixed.floor_box[f]
        if min(x1, b[2]) - max(x0, b[0]) <= _TOL or min(y1, b[3]) - max(y0, b[1]) <= _TOL:
            continue
        if (square and b[4] == 1.0) or (
            depth_in(xy, 4, fixed.floors[f], fixed.floor_counts[f]) > _TOL
        ):
            best = level
    return best if best > -1e17 else lowest


@compiled
def is_square(xy: Floats) -> bool:
    """Whether a rectangle's sides run along the axes."""
    return abs(xy[1, 0] - xy[0, 0]) < 1e-9 or abs(xy[1, 1] - xy[0, 1]) < 1e-9


@compiled
def place_bodies(fixed: Any, moving: Any, u: int) -> None:
    """Bring a unit's boxes to its pose: what is enough to know whether bodies meet.

    What stands on the floor goes to its highest level there; what hangs keeps its height.
    """
    pose = moving.pose[u]
    x, y, c, s = pose[0], pose[1], pose[2], pose[3]
    flat = moving.flat
    b = fixed.bounds[u]
    below = moving.on[u]
    if below >= 0:
        pose[4] = moving.pose[below, 4] + fixed.bounds[below, 5] - b[2]
    elif fixed.mount[u] == FLOOR:
        i = fixed.box_at[u]
        if fixed.n_floors > 1:
            _rect(b, flat)
            _spread_box(x, y, c, s, flat, moving.box_xy[i], moving.box_in[i])
        pose[4] = floor_under(fixed, moving.box_xy[i]) - b[2]
    z = pose[4]
    solid = moving.solid[u]
    for e in range(3):
        solid[e] = 1e18
        solid[e + 3] = -1e18
    for i in range(fixed.box_at[u], fixed.box_at[u + 1]):
        _rect(fixed.boxes[i], flat)
        _spread_box(x, y, c, s, flat, moving.box_xy[i], moving.box_in[i])
        moving.box_in[i, 2] = fixed.boxes[i, 2] + z
        moving.box_in[i, 5] = fixed.boxes[i, 5] + z
        solid[2] = min(solid[2], moving.box_in[i, 2])
        solid[5] = max(solid[5], moving.box_in[i, 5])
        _widen(solid, moving.box_in[i])


@compiled
def place_rest(fixed: Any, moving: Any, u: int) -> None:
    """Bring a unit's zones, air and feet to its pose, its boxes being there."""
    pose = moving.pose[u]
    x, y, c, s, z = pose[0], pose[1], pose[2], pose[3], pose[4]
    flat = moving.flat
    whole = moving.whole[u]
    for e in range(6):
        whole[e] = moving.solid[u, e]
    for i in range(fixed.zone_at[u], fixed.zone_at[u + 1]):
        _spread_box(x, y, c, s, fixed.zones[i], moving.zone_xy[i], moving.zone_in[i])
        level = floor_under(fixed, moving.zone_xy[i])
        moving.zone_in[i, 2] = level
        moving.zone_in[i, 5] = level + fixed.zone_needs[i]
        _widen(whole, moving.zone_in[i])
    for i in range(fixed.air_at[u], fixed.air_at[u + 1]):
        _rect(fixed.air[i], flat)
        _spread_box(x, y, c, s, flat, moving.air_xy[i], moving.air_in[i])
        moving.air_in[i, 2] = fixed.air[i, 2] + z
        moving.air_in[i, 5] = fixed.air[i, 5] + z
        _widen(whole, moving.air_in[i])
    for i in range(fixed.feet_at[u], fixed.feet_at[u + 1]):
        _spread_box(x, y, c, s, fixed.feet[i], moving.foot_xy[i], moving.foot_in[i])
        moving.foot_in[i, 2] = fixed.feet[i, 4] + z
        moving.foot_in[i, 5] = floor_under(fixed, moving.foot_xy[i])


@compiled
def place_unit(fixed: Any, moving: Any, u: int) -> None:
    """Bring all of a unit to its pose."""
    place_bodies(fixed, moving, u)
    place_rest(fixed, moving, u)


@compiled
def _widen(whole: Floats, bounds: Floats) -> None:
    """Take some bounds into the whole's, in plan."""
    for e in (0, 1):
        whole[e] = min(whole[e], bounds[e])
        whole[e + 3] = max(whole[e + 3], bounds[e + 3])
