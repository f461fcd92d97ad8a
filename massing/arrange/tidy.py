"""Close small gaps to corners: a found arrangement in, one at least as good and tidier out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from massing.arrange.arrays import new_moving
from massing.arrange.model import Model
from massing.arrange.polish import ring_of
from massing.arrange.search import Found
from massing.geometry.solids import Floats

__all__ = ["tidied"]

_SMALL = 150.0  # mm; a gap to a corner that is of no use to anyone
_WORSE = 1e-6  # m²


def tidied(model: Model, found: Found) -> Found:
    """The arrangement with what stands a little off a corner along its wall brought into it.

    Nothing is moved where that would make anything worse.
    """
    from massing.arrange.search_compiled import price_all

    if found.hard > 0.0:
        return found
    now = found
    for k in map(int, model.free):
        if now.on[k] >= 0:
            continue
        for by in _gaps(model, now.pose[k], k):
            pose = now.pose.copy()
            pose[_carried(now, k), :2] += by
            hard, soft = price_all((model.fixed, new_moving(pose, now.on, now.yaw)))
            if hard <= 0.0 and soft <= now.soft + _WORSE:
                now = replace(now, pose=pose, soft=round(soft, 9))
                break
    return now


def _carried(found: Found, k: int) -> list[int]:
    """A unit and all that stands on it."""
    members = [k]
    for unit in members:
        members += [int(v) for v in np.flatnonzero(found.on == unit)]
    return members


def _gaps(model: Model, pose: Floats, k: int) -> list[Floats]:
    """Moves (2,) along each wall a unit is square to, into an end of it that is near."""
    c, s = pose[2], pose[3]
    ring = ring_of(model, pose, k)
    found: list[tuple[float, Floats]] = []
    for wall in model.layout.room.walls:
        way = wall.along[0]
        off = float(((wall.left[0] - ring) @ wall.outward[0]).min())
        square = abs(float(way @ pose[2:4]) * float(way[1] * c - way[0] * s)) < 1e-9
        if wall.partition or off > _SMALL or not square:
            continue
        reach = (ring - wall.left[0]) @ way
        ends = (-float(reach.min()), float(wall.length[0]) - float(reach.max()))
        found += [(abs(gap), gap * way) for gap in ends if 0.5 < abs(gap) <= _SMALL]
    return [by for _, by in sorted(found, key=lambda one: one[0])]
