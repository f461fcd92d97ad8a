"""How far a solid is from a surface straight above or below it: arrays in, signed heights out.

What a tape reads against a ceiling or a floor: the least vertical distance over the part of the
solid that lies over one plan polygon. Negative where the solid passes through.
"""

from __future__ import annotations

import numpy as np

from massing.geometry.polygons import deeper_than, highest_over
from massing.geometry.solids import Convex, Floats, cross_of, following, spread
from massing.geometry.tolerance import TOUCH

__all__ = ["apart_in_plan", "clear_under", "gap_below", "gap_under", "ring_gap", "stepped_gap"]


def gap_under(solid: Convex, polygon: Floats, planes: Floats) -> Floats:
    """(worlds,) least height from a solid up to the least of some planes over a polygon, mm.

    polygon : (worlds, n, 2) convex, counter-clockwise; planes : (worlds, k, 3) rows a, b, c
    Inf in the worlds where no part of the solid lies under the polygon.

    >>> from massing.geometry.solids import box
    >>> room = np.array([[[0.0, 0.0], [3000, 0], [3000, 2400], [0, 2400]]])
    >>> slope = np.array([[[0.0, 1 / 3, 1950.0]]])
    >>> gap_under(box([0, 1800, 2200], [500, 2400, 2600]), room, slope).round(6).tolist()
    [-50.0]
    """
    worlds = max(solid.worlds, polygon.shape[0], planes.shape[0])
    area, roof = spread(polygon, worlds), spread(planes, worlds)
    least = np.full(worlds, np.inf)
    if apart_in_plan(solid.corners, polygon):
        return least
    for ring, plane in _faces(solid, worlds, up=True):
        for k in range(roof.shape[1]):
            least = np.minimum(least, -highest_over(ring, area, plane - roof[:, k], TOUCH))
    return least


def gap_below(solid: Convex, polygon: Floats, level: Floats) -> Floats:
    """(worlds,) least height of a solid above a level over a polygon, mm; inf where not over it.

    >>> from massing.geometry.solids import box
    >>> slab = np.array([[[3600.0, 0.0], [6000, 0], [6000, 2400], [3600, 2400]]])
    >>> gap_below(box([3300, 0, 0], [4000, 460, 980]), slab, np.array([180.0])).tolist()
    [-180.0]
    """
    worlds = max(solid.worlds, polygon.shape[0], len(level))
    area = spread(polygon, worlds)
    ground = np.zeros((worlds, 3))
    ground[:, 2] = level
    least = np.full(worlds, np.inf)
    if apart_in_plan(solid.corners, polygon):
        return least
    for ring, plane in _faces(solid, worlds, up=False):
        lift = ground - plane
        if lift[:, :2].any():
            least = np.minimum(least, -highest_over(ring, area, lift, TOUCH))
        else:
            # A level face is as high everywhere: whether it lies over the polygon is all.
            least = np.minimum(least, np.where(deeper_than(ring, area, TOUCH), -lift[:, 2], np.inf))
    return least


def apart_in_plan(one: Floats, other: Floats) -> bool:
    """Whether the plan bounds of two point sets (worlds, n, 2 or 3) are apart in every world.

    >>> square = np.array([[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]]])
    >>> apart_in_plan(square, square + [9.5, 0.0]), apart_in_plan(square, square + [9.0, 0.0])
    (True, False)
    """
    low, high = one.min(axis=1)[:, :2], one.max(axis=1)[:, :2]
    under, over = other.min(axis=1)[:, :2], other.max(axis=1)[:, :2]
    return bool(((low > over) | (under > high)).any(axis=1).all())


def clear_under(low: Floats, high: Floats, planes: Floats) -> Floats:
    """(n,) height that bounds certainly keep under some planes, in the worst world, mm.

    low, high : (worlds, n, 3) bounds; planes : (worlds, k, 3) rows a, b, c
    Never more than the gap straight up from what is within the bounds.

    >>> low, high = np.array([[[0.0, 0.0, 0.0]]]), np.array([[[500.0, 600.0, 900.0]]])
    >>> clear_under(low, high, np.array([[[0.0, 0.5, 1000.0]]])).tolist()
    [100.0]
    """
    height = planes[:, :, None, 2] - high[:, None, :, 2]
    for axis in (0, 1):
        slope = planes[:, :, None, axis]
        height = height + np.minimum(slope * low[:, None, :, axis], slope * high[:, None, :, axis])
    return np.asarray(height.min(axis=(0, 1)))


def stepped_gap(over: Floats, free: Floats, plan: Floats) -> Floats:
    """(worlds,) gap to one piece of a stepped floor or ceiling, continuous as things move.

    over : vertical gap over the common part, inf where there is none (gap_below, gap_under)
    free : vertical gap to the piece's level as if it went on for ever
    plan : signed plan gap to the piece

    Where the nominal solid lies over the piece the gap is vertical, as a tape reads; beside it,
    the gap is to the step's edge, and a world that pushes the solid under or into the step by a
    little overlaps by that little, not by the whole height of the step.

    >>> inf = np.inf
    >>> stepped_gap(np.array([inf, -180.0]), np.array([-180.0, -180.0]), np.array([5.0, -15.0]))
    array([  5., -15.])
    """
    beside = np.maximum(plan, 0.0)
    apart = np.where(free < 0.0, beside, np.hypot(beside, np.maximum(free, 0.0)))
    if np.isfinite(over[0]):
        return np.where(np.isfinite(over), over, apart)
    return np.where(np.isfinite(over), np.maximum(over, plan), apart)


def ring_gap(ring: Floats, polygon: Floats, planes: Floats, level: Floats) -> Floats:
    """(worlds,) least clear height over the common part of two plan polygons, mm.

    planes : (worlds, k, 3) of the ceiling; level : (worlds,) of the floor
    """
    worlds = max(ring.shape[0], polygon.shape[0], planes.shape[0], len(level))
    one, other, roof = (spread(each, worlds) for each in (ring, polygon, planes))
    least = np.full(worlds, np.inf)
    if apart_in_plan(ring, polygon):
        return least
    for k in range(roof.shape[1]):
        least = np.minimum(least, -highest_over(one, other, -roof[:, k], TOUCH))
    return np.asarray(least - level)


def _faces(solid: Convex, worlds: int, *, up: bool) -> list[tuple[Floats, Floats]]:
    """Plan rings (worlds, n, 2) and planes (worlds, 3) of the faces that look up, or down.

    Rings run counter-clockwise. Which faces look that way is decided in world 0.
    """
    corners = spread(solid.corners, worlds)
    if solid.faces.upright:
        half = corners.shape[1] // 2
        plane = np.zeros((worlds, 3))
        plane[:, 2] = corners[:, half if up else 0, 2]
        return [(corners[:, :half, :2], plane)]
    found = []
    for ring in solid.faces.rings:
        points = corners[:, list(ring)]
        normal = _newell(points)
        lean = normal[0, 2] / max(float(np.linalg.norm(normal[0])), 1e-300)
        if (lean > 1e-9) if up else (lean < -1e-9):
            slope = -normal[:, :2] / normal[:, 2:]
            middle = points.mean(axis=1)
            level = middle[:, 2] - np.einsum("wi,wi->w", slope, middle[:, :2])
            flat = points[:, :, :2] if up else points[:, ::-1, :2]
            found.append((flat, np.concatenate([slope, level[:, None]], axis=1)))
    return found


def _newell(points: Floats) -> Floats:
    """(worlds, 3) area-weighted normal of a ring of points."""
    return np.asarray(cross_of(points, following(points)).sum(axis=1))
