"""The plan outline of a solid: a convex solid in, its convex ring seen from above out."""

from __future__ import annotations

from massing.geometry.pieces import hull_corners
from massing.geometry.solids import Convex, Floats

__all__ = ["outline_of", "plan_hull"]


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
