"""Slow answers by other roads, to judge the fast kernels by; nothing here shares their code."""

from __future__ import annotations

import numpy as np
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

__all__ = ["clear_travel", "minkowski_gap", "point_to_triangles", "polygon_gap_by_minkowski"]


def minkowski_gap(first: np.ndarray, second: np.ndarray) -> float:
    """Signed gap of the hulls of two point sets, from the hull of their Minkowski difference.

    first, second : (n, 3) mm. The solids meet exactly when the difference holds the origin; the
    shortest push is then the least distance to a facet plane, and otherwise the gap is the
    distance to the nearest facet triangle.
    """
    cloud = (second[:, None] - first[None]).reshape(-1, 3)
    hull = ConvexHull(cloud)
    deepest = float(hull.equations[:, 3].max())
    # A facet's outward offset is minus the origin's depth below it.
    if deepest <= 0.0:
        outside = -hull.equations[:, 3]
        return -float(outside.min())
    return float(point_to_triangles(cloud[hull.simplices]).min())


def point_to_triangles(triangles: np.ndarray) -> np.ndarray:
    """Distance from the origin to each of (t, 3, 3) triangles: foot on the face, else the rim."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    height = np.einsum("ti,ti->t", a, normal) / np.where(size > 0.0, size, 1.0)
    foot = normal * (height / np.where(size > 0.0, size, 1.0))[:, None]
    inside = size > 0.0
    rim = np.full(len(a), np.inf)
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= np.einsum("ti,ti->t", np.cross(q - p, foot - p), normal) >= 0.0
        edge = q - p
        square = np.einsum("ti,ti->t", edge, edge)
        t = np.clip(-np.einsum("ti,ti->t", p, edge) / np.where(square > 0, square, 1.0), 0.0, 1.0)
        rim = np.minimum(rim, np.linalg.norm(p + t[:, None] * edge, axis=1))
    return np.where(inside, np.abs(height), rim)


def polygon_gap_by_minkowski(first: np.ndarray, second: np.ndarray) -> float:
    """Signed gap of two convex plan polygons (n, 2), the same way in the plane."""
    cloud = (second[:, None] - first[None]).reshape(-1, 2)
    hull = ConvexHull(cloud)
    if hull.equations[:, 2].max() <= 0.0:
        return float(hull.equations[:, 2].max())
    p, q = cloud[hull.simplices[:, 0]], cloud[hull.simplices[:, 1]]
    edge = q - p
    t = np.clip(-(p * edge).sum(axis=1) / (edge * edge).sum(axis=1), 0.0, 1.0)
    return float(np.linalg.norm(p + t[:, None] * edge, axis=1).min())


def clear_travel(first: np.ndarray, second: np.ndarray, direction: np.ndarray) -> float:
    """How far the first hull travels along a direction before it last meets the second hull.

    A linear program over convex combinations of the corners: no facet is ever formed.
    """
    n, m = len(first), len(second)
    scale = 1000.0
    equal = np.zeros((5, n + m + 1))
    equal[:3, :n] = first.T / scale
    equal[:3, n : n + m] = -second.T / scale
    equal[:3, -1] = direction
    equal[3, :n] = 1.0
    equal[4, n : n + m] = 1.0
    cost = np.zeros(n + m + 1)
    cost[-1] = -1.0
    found = linprog(cost, A_eq=equal, b_eq=[0, 0, 0, 1, 1], bounds=[(0, None)] * (n + m + 1))
    return float(found.x[-1]) * scale if found.status == 0 else 0.0
