"""Plan points or footprints in; floor levels and ceiling heights in every world out."""

from __future__ import annotations

import numpy as np

from massing.geometry.polygons import contains, distances, highest_over, line_through
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import CeilingPiece, FloorPiece, Room

__all__ = [
    "ceiling_height",
    "floor_level",
    "highest_floor",
    "lowest_along",
    "lowest_ceiling",
    "lowest_floor",
]


def floor_level(floors: Room | tuple[FloorPiece, ...], points: Floats) -> Floats:
    """(worlds, m) z of the floor under plan points (worlds, m, 2), mm.

    On a step the upper level counts. NaN outside the room.
    """
    pieces = floors.floors if isinstance(floors, Room) else floors
    best = np.full(points.shape[:2], -np.inf)
    for piece in pieces:
        here = contains(piece.polygon, points)
        best = np.where(here, np.maximum(best, piece.level[:, None]), best)
    return np.where(np.isinf(best), np.nan, best)


def ceiling_height(ceilings: Room | tuple[CeilingPiece, ...], points: Floats) -> Floats:
    """(worlds, m) z of the ceiling over plan points (worlds, m, 2), mm.

    Where two pieces meet the lower counts. NaN outside the room.
    """
    pieces = ceilings.ceilings if isinstance(ceilings, Room) else ceilings
    best = np.full(points.shape[:2], np.inf)
    for piece in pieces:
        here = contains(piece.polygon, points)
        best = np.where(here, np.minimum(best, piece.height(points)), best)
    return np.where(np.isinf(best), np.nan, best)


def lowest_ceiling(ceilings: Room | tuple[CeilingPiece, ...], footprint: Floats) -> Floats:
    """(worlds,) least ceiling z over a convex footprint (worlds, n, 2), mm, exactly.

    A piece the footprint only touches does not count; +inf wholly outside the room.
    """
    pieces = ceilings.ceilings if isinstance(ceilings, Room) else ceilings
    best = np.full(footprint.shape[0], np.inf)
    for piece in pieces:
        if _far_apart(piece.polygon, footprint):
            continue
        for k in range(piece.planes.shape[1]):
            # A plane is lowest where its negative is highest; the least of planes over a convex
            # part is the least of the least.
            over = highest_over(footprint, piece.polygon, -piece.planes[:, k], TOUCH)
            best = np.minimum(best, -over)
    return best


def highest_floor(floors: Room | tuple[FloorPiece, ...], footprint: Floats) -> Floats:
    """(worlds,) greatest floor z under a convex footprint (worlds, n, 2), mm.

    A piece the footprint only touches does not count; -inf wholly outside the room.
    """
    return _extreme_floor(floors, footprint, 1.0)


def lowest_floor(floors: Room | tuple[FloorPiece, ...], footprint: Floats) -> Floats:
    """(worlds,) least floor z under a convex footprint (worlds, n, 2), mm; +inf outside."""
    return -_extreme_floor(floors, footprint, -1.0)


def _extreme_floor(floors: Room | tuple[FloorPiece, ...], footprint: Floats, sign: float) -> Floats:
    pieces = floors.floors if isinstance(floors, Room) else floors
    best = np.full(footprint.shape[0], -np.inf)
    for piece in pieces:
        if _far_apart(piece.polygon, footprint):
            continue
        plane = np.zeros((footprint.shape[0], 3))
        plane[:, 2] = sign * piece.level
        best = np.maximum(best, highest_over(footprint, piece.polygon, plane, TOUCH))
    return best


def _far_apart(one: Floats, other: Floats) -> bool:
    """Whether the upright bounds of two polygons are apart in every world."""
    apart = (one.max(axis=1) < other.min(axis=1)) | (other.max(axis=1) < one.min(axis=1))
    return bool(apart.any(axis=1).all())


def lowest_along(
    ceilings: tuple[CeilingPiece, ...], start: Floats, end: Floats
) -> tuple[float, Floats]:
    """Least ceiling z over a plan segment in world 0, and the point (2,) it is at.

    start, end : (2,) mm. +inf where no ceiling is over the segment for more than 0.01 mm.
    """
    best, at = np.inf, start
    for piece in ceilings:
        ends = _clipped(piece.polygon[0], start, end)
        if ends is None:
            continue
        points = np.stack(ends)
        tops = piece.height(np.broadcast_to(points, (piece.planes.shape[0], 2, 2)))[0]
        k = int(np.argmin(tops))
        if float(tops[k]) < best:
            best, at = float(tops[k]), points[k]
    return best, at


def _clipped(polygon: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats] | None:
    """The part of a segment in a convex polygon (n, 2), when longer than a touch."""
    low, high = 0.0, 1.0
    length = float(np.hypot(*(end - start)))
    pair = np.stack([start, end])[None]
    after = np.roll(polygon, -1, axis=0)
    for a, b in zip(polygon, after, strict=True):
        one, two = distances(pair, line_through(a[None], b[None]))[0].tolist()
        if max(one, two) < -TOUCH:
            return None
        if min(one, two) >= -TOUCH:
            continue
        share = one / (one - two)
        low, high = (max(low, share), high) if one < two else (low, min(high, share))
    if (high - low) * length <= TOUCH:
        return None
    return start + low * (end - start), start + high * (end - start)
