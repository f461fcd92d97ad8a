"""Plan outlines: solids, bounds and rings in; rings and what two of them share out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.geometry.pieces import hull_corners
from massing.geometry.polygons import area
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH

__all__ = ["counter_clockwise", "outline_of", "plan_hull", "rectangle", "shared_sides"]


def outline_of(solid: Convex) -> Floats:
    """(worlds, n, 2) convex plan outline of a solid, counter-clockwise.

    >>> from massing.geometry.solids import box
    >>> outline_of(box([0, 0, 5], [2, 1, 9]))[0].tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]
    """
    if solid.faces.upright:
        return solid.corners[:, : solid.corners.shape[1] // 2, :2]
    return plan_hull(solid.corners[:, :, :2])


def plan_hull(points: Floats) -> Floats:
    """(worlds, n, 2) convex hull of plan points, the corners chosen in the nominal world."""
    return points[:, list(hull_corners(points[0]))]


def rectangle(low: Floats, high: Floats) -> Floats:
    """(worlds, 4, 2) plan rectangle between two corners, counter-clockwise.

    low, high : (worlds, 2) or more columns, of which the first two count, mm

    >>> rectangle(np.array([[0.0, 1.0]]), np.array([[5.0, 3.0]]))[0].tolist()
    [[0.0, 1.0], [5.0, 1.0], [5.0, 3.0], [0.0, 3.0]]
    """
    x0, y0, x1, y1 = low[:, 0], low[:, 1], high[:, 0], high[:, 1]
    corners = [np.stack(pair, axis=1) for pair in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    return np.stack(corners, axis=1)


def counter_clockwise(ring: Floats) -> Floats:
    """A ring (n, 2) or (worlds, n, 2), turned round if it runs clockwise in the first world.

    >>> counter_clockwise(np.array([[0.0, 0.0], [0.0, 2.0], [2.0, 0.0]])).tolist()
    [[2.0, 0.0], [0.0, 2.0], [0.0, 0.0]]
    """
    first = ring[None] if ring.ndim == 2 else ring[:1]
    return ring if area(first)[0] > 0 else np.flip(ring, axis=-2)


def shared_sides(one: Floats, other: Floats) -> Iterator[tuple[Floats, Floats]]:
    """Stretches of boundary two plan rings (n, 2) have in common, in the first one's sense.

    >>> left = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> [(p.tolist(), q.tolist()) for p, q in shared_sides(left, left + [4.0, 1.0])]
    [([4.0, 1.0], [4.0, 4.0])]
    """
    for p, q in zip(one, np.roll(one, -1, axis=0), strict=True):
        length = float(np.hypot(*(q - p)))
        if length <= TOUCH:
            continue
        way = (q - p) / length
        out = np.array([way[1], -way[0]])
        for r, s in zip(other, np.roll(other, -1, axis=0), strict=True):
            if max(abs((r - p) @ out), abs((s - p) @ out)) > TOUCH:
                continue
            a, b = sorted((float((r - p) @ way), float((s - p) @ way)))
            low, high = max(a, 0.0), min(b, length)
            if high - low > TOUCH:
                yield p + way * low, p + way * high
