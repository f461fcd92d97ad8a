"""Where does one stand to see it? A room and a point in, a camera that sees the point out."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from massing.geometry.solids import Floats
from massing.handover.model import Camera
from massing.room.measure import cells
from massing.room.shape import Cell
from massing.scheme.layout import Layout

__all__ = ["viewpoint"]

_EYE = 1600.0  # mm above the floor
_UNDER = 120.0  # mm the eye keeps below the ceiling
_NEAR = 700.0  # mm; nearer than this nothing is seen round the point
_PULLED = 0.15  # of the way from a cell's corner to its middle
_FIELD = math.radians(60.0)
_ASPECT = 1.5
_STEPS = 25
_WIDE = 3000.0  # mm shown by a view from above


def viewpoint(layout: Layout, at: tuple[float, float, float] | None) -> Camera:
    """A person's view of the point from inside the room, or one from above where there is none.

    at : mm, room axes; None looks at the whole room from above
    Of the places to stand (each cell's middle and its corners, outside every body) that see the
    point across the plan, those with no body's bounds in between come first, then the farthest.
    """
    found = cells(layout.room)
    ring = np.vstack([cell.polygon for cell in found])
    low, high = ring.min(axis=0), ring.max(axis=0)
    if at is None:
        middle = (low + high) / 2.0
        size = max(float(high[1] - low[1]), float(high[0] - low[0]) / _ASPECT) * 1.1
        return _above((float(middle[0]), float(middle[1]), found[0].floor), size)
    target = np.array(at)
    best: tuple[bool, float, Floats] | None = None
    for eye in _stands(found):
        away = float(np.linalg.norm(eye - target))
        flat = float(np.hypot(*(eye - target)[:2]))
        if flat < _NEAR or _inside_body(layout, eye) or not _in_sight(found, eye, target):
            continue
        free = not _hidden(layout, eye, target)
        if best is None or (free, away) > (best[0], best[1] + 1e-6 * (free == best[0])):
            best = (free, away, eye)
    if best is None:
        return _above(at, _WIDE)
    x, y, z = (round(float(v), 1) + 0.0 for v in best[2])
    return Camera("viewpoint", (x, y, z), at, yfov=_FIELD, aspect=_ASPECT)


def _above(at: tuple[float, float, float], size: float) -> Camera:
    eye = (at[0], at[1], at[2] + 5000.0)
    return Camera("viewpoint", eye, at, (0.0, 1.0, 0.0), height=size, aspect=_ASPECT)


def _stands(found: tuple[Cell, ...]) -> Iterator[Floats]:
    for cell in found:
        middle = cell.polygon.mean(axis=0)
        for spot in (middle, *(cell.polygon + _PULLED * (middle - cell.polygon))):
            top = float(spot @ cell.plane[:2] + cell.plane[2])
            level = min(cell.floor + _EYE, top - _UNDER)
            if level > cell.floor + _UNDER:
                yield np.array([spot[0], spot[1], level])


def _inside_body(layout: Layout, eye: Floats) -> bool:
    return any(
        bool((eye > item.low[0] - 1.0).all() and (eye < item.high[0] + 1.0).all())
        for item in layout.items
    )


def _hidden(layout: Layout, eye: Floats, target: Floats) -> bool:
    """Some body's bounds lie on the line, short of the point itself."""
    way = target - eye
    for item in layout.items:
        near, far = 0.0, 0.96
        for axis in range(3):
            low, high = float(item.low[0, axis]), float(item.high[0, axis])
            if abs(way[axis]) < 1e-9:
                if not low < eye[axis] < high:
                    near, far = 1.0, 0.0
                continue
            ends = sorted(((low - eye[axis]) / way[axis], (high - eye[axis]) / way[axis]))
            near, far = max(near, float(ends[0])), min(far, float(ends[1]))
        if near < far:
            return True
    return False


def _in_sight(found: tuple[Cell, ...], eye: Floats, target: Floats) -> bool:
    """Every step of the line, seen in plan, lies over some cell."""
    for share in np.linspace(0.0, 0.96, _STEPS):
        spot = eye + share * (target - eye)
        if not any(_holds(cell, spot) for cell in found):
            return False
    return True


def _holds(cell: Cell, spot: Floats) -> bool:
    sides = np.roll(cell.polygon, -1, axis=0) - cell.polygon
    off = spot[:2] - cell.polygon
    return bool((sides[:, 0] * off[:, 1] - sides[:, 1] * off[:, 0] >= -1e-6).all())
