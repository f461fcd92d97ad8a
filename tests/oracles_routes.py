"""Slow, independent answers about routes, by dense sampling with a general geometry library."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.ops import unary_union

__all__ = ["grid_width", "placed_overlaps", "worst_overlap"]


def placed_overlaps(footprint: Sequence, obstacles: Sequence, places: np.ndarray) -> np.ndarray:
    """Overlap area (mm²) of a footprint with obstacles at each of (n, 3) places."""
    solid = unary_union([shapely.Polygon(ring) for ring in obstacles])
    shapely.prepare(solid)
    total = np.zeros(len(places))
    for ring in footprint:
        cosine, sine = np.cos(places[:, 2]), np.sin(places[:, 2])
        x = places[:, :1] + np.outer(cosine, ring[:, 0]) - np.outer(sine, ring[:, 1])
        y = places[:, 1:2] + np.outer(sine, ring[:, 0]) + np.outer(cosine, ring[:, 1])
        bodies = shapely.polygons(np.stack([x, y], axis=2))
        hit = shapely.intersects(solid, bodies)
        total[hit] += shapely.area(shapely.intersection(solid, bodies[hit]))
    return total


def worst_overlap(
    footprint: Sequence, obstacles: Sequence, path: np.ndarray, *, shift: float, turn: float
) -> float:
    """Greatest overlap area (mm²) anywhere on a path sampled every ``shift`` mm or ``turn`` rad."""
    places = [path[:1]]
    for a, b in pairwise(path):
        steps = max(math.hypot(*(b - a)[:2]) / shift, abs(b[2] - a[2]) / turn, 1.0)
        share = np.linspace(0.0, 1.0, math.ceil(steps) + 1)[1:, None]
        places.append(a + share * (b - a))
    return float(placed_overlaps(footprint, obstacles, np.concatenate(places)).max())


def grid_width(
    free: shapely.Geometry, walls: shapely.Geometry, start: Sequence, goal: object, step: float
) -> float:
    """Widest disc that gets from the start point into the goal polygon along grid edges.

    Every edge is scored by its exact distance to the walls, so this is the width of a real path:
    never more than the truth, and less by a few steps at most.
    """
    x0, y0, x1, y1 = free.bounds
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    points = np.array([[x, y] for y in ys for x in xs])
    inside = shapely.intersects_xy(free, points[:, 0], points[:, 1]).reshape(len(ys), len(xs))
    target = shapely.intersects_xy(goal, points[:, 0], points[:, 1])
    grid = points.reshape(len(ys), len(xs), 2)
    numbers = np.arange(len(points)).reshape(len(ys), len(xs))
    links: list[list[tuple[int, float]]] = [[] for _ in range(len(points) + 1)]
    for dj, di in ((0, 1), (1, 0), (1, 1), (1, -1)):
        a = (slice(0, len(ys) - dj), slice(max(0, -di), len(xs) - max(0, di)))
        b = (slice(dj, len(ys)), slice(max(0, di), len(xs) - max(0, -di)))
        both = inside[a] & inside[b]
        lines = shapely.linestrings(np.stack([grid[a][both], grid[b][both]], axis=1))
        reach = shapely.distance(lines, walls)
        for p, q, r in zip(numbers[a][both], numbers[b][both], reach, strict=True):
            links[p].append((int(q), float(r)))
            links[q].append((int(p), float(r)))
    at = np.asarray(start, dtype=float)
    near = np.flatnonzero((np.hypot(*(points - at).T) <= 1.5 * step) & inside.ravel())
    for n in near:
        reach = float(shapely.distance(shapely.LineString([at, points[n]]), walls))
        links[-1].append((int(n), reach))
    best = np.full(len(points) + 1, -1.0)
    best[-1] = float(shapely.distance(shapely.Point(at), walls))
    queue = [(-best[-1], len(points))]
    while queue:
        width, node = heapq.heappop(queue)
        if -width < best[node]:
            continue
        if node < len(points) and target[node]:
            return -2.0 * width
        for other, reach in links[node]:
            wide = min(-width, reach)
            if wide > best[other]:
                best[other] = wide
                heapq.heappush(queue, (-wide, other))
    return 0.0
