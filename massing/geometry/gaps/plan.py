"""How far apart two convex outlines are in plan: rings in, signed gap, direction and point out.

The kernels work on rings stored component first and row last, ``(2, n, rows)``, so that each
arithmetic step runs along contiguous memory whatever the number of corners.

Positive is the Euclidean distance, zero is touching, negative is minus the shortest push that
separates. For polygons that push is always square to an edge, and the distance always runs from
a corner to an edge, so both have closed forms and nothing is iterated.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = [
    "ALIKE",
    "NOTHING",
    "PlanGaps",
    "first_least",
    "mean_of_kept",
    "plan_gaps",
    "polygon_gap",
    "stretch",
]

ALIKE = 1e-9  # mm; candidates this close are equal and the first named one is taken
NOTHING = 1e-12  # an edge or a sine below this has no direction
_FAR = 1e9  # mm, beyond any room


@dataclass(frozen=True, slots=True, eq=False)
class PlanGaps:
    """Signed plan gaps of a row of polygon pairs.

    gap : (worlds,) mm
    normal : (worlds, 2) unit direction from the first to the second
    at : (worlds, 2) midway between the closest points, or a point inside the overlap, mm
    """

    gap: Floats
    normal: Floats
    at: Floats


def polygon_gap(first: Floats, second: Floats) -> PlanGaps:
    """Signed gap between convex plan polygons, world by world.

    first, second : (n, 2) or (worlds, n, 2) rings, mm, counter-clockwise; one world goes with any

    >>> square = np.array([[0, 0], [10, 0], [10, 10], [0, 10]], dtype=float)
    >>> polygon_gap(square, square + [13, 14]).gap.tolist()
    [5.0]
    >>> found = polygon_gap(square, square + [8, 3])
    >>> found.gap.tolist(), found.normal.tolist()
    ([-2.0], [[1.0, 0.0]])
    """
    a = np.asarray(first, dtype=np.float64)
    b = np.asarray(second, dtype=np.float64)
    a = a[None] if a.ndim == 2 else a
    b = b[None] if b.ndim == 2 else b
    rows = max(a.shape[0], b.shape[0])
    a, b = (np.broadcast_to(each, (rows, *each.shape[1:])) for each in (a, b))
    gap, normal, at = plan_gaps(
        np.ascontiguousarray(a.transpose(2, 1, 0)), np.ascontiguousarray(b.transpose(2, 1, 0))
    )
    return PlanGaps(gap, normal.T + 0.0, at.T.copy())


def plan_gaps(a: Floats, b: Floats) -> tuple[Floats, Floats, Floats]:
    """Kernel of polygon_gap on (2, n, rows) rings: gap (rows,), normal (2, rows), at (2, rows)."""
    edges_a, edges_b = _edges(a), _edges(b)
    gap, normal = _push(a, b, edges_a, edges_b)
    apart = np.flatnonzero(gap > 0.0)
    if len(apart):
        part = [x[..., apart] for x in (a, b)]
        sides = [tuple(x[..., apart] for x in edges) for edges in (edges_a, edges_b)]
        distance, away = _distance(part[0], part[1], sides[0], sides[1])
        # An edge normal that already proves the distance beats the difference of two near points.
        clear = (gap[apart] < distance - 10 * ALIKE) & (distance > EXACT)
        gap[apart] = distance
        normal[:, apart[clear]] = away[:, clear] / distance[clear]
    return gap, normal, _witness(a, b, (edges_a, edges_b), gap, normal)


def first_least(values: Floats) -> Ints:
    """Row-wise place of the least value down axis 0, the first of those equal within ALIKE.

    Ties are the rule among boxes, and rounding must not choose between them.
    """
    return np.asarray(np.argmax(values <= values.min(axis=0) + ALIKE, axis=0))


_Edges = tuple[Floats, ...]


def _edges(ring: Floats) -> _Edges:
    """Unit edge directions (2, n, rows) and lengths (n, rows); zero where an edge has none."""
    way = np.roll(ring, -1, axis=1) - ring
    length = np.hypot(way[0], way[1])
    real = length > NOTHING
    return np.where(real, way / np.where(real, length, 1.0), 0.0), np.where(real, length, 0.0)


def _push(a: Floats, b: Floats, edges_a: _Edges, edges_b: _Edges) -> tuple[Floats, Floats]:
    """Greatest separation along any edge normal, and that normal from a to b."""
    seps = np.concatenate([_over_edges(a, edges_a, b), _over_edges(b, edges_b, a)])
    best = first_least(-seps)
    rows = np.arange(a.shape[2])
    ways = np.concatenate([edges_a[0], -edges_b[0]], axis=1)[:, best, rows]
    return seps[best, rows], np.stack([ways[1], -ways[0]])


def _over_edges(ring: Floats, edges: _Edges, other: Floats) -> Floats:
    """(n, rows) how far the other polygon stays outside each edge line of this one."""
    way, length = edges
    out_x, out_y = way[1], -way[0]
    level = out_x * ring[0] + out_y * ring[1]
    reach = out_x[:, None] * other[0][None] + out_y[:, None] * other[1][None]
    return np.where(length > 0.0, reach.min(axis=1) - level, -np.inf)


def _distance(a: Floats, b: Floats, edges_a: _Edges, edges_b: _Edges) -> tuple[Floats, Floats]:
    """Distance between separated polygons and the vector from a to b."""
    away = np.concatenate([_corner_to_edge(a, b, edges_b), -_corner_to_edge(b, a, edges_a)], axis=1)
    squares = away[0] ** 2 + away[1] ** 2
    rows = np.arange(a.shape[2])
    best = np.argmin(squares, axis=0)
    return np.sqrt(squares[best, rows]), away[:, best, rows]


def _corner_to_edge(points: Floats, ring: Floats, edges: _Edges) -> Floats:
    """(2, points x edges, rows) vector from each point to the nearest point of each edge."""
    way, length = edges[0][:, None], edges[1][None]
    to_head = ring[:, None] - points[:, :, None]
    along = -(to_head[0] * way[0] + to_head[1] * way[1])
    along = np.minimum(np.maximum(along, 0.0), length)
    away: Floats = to_head + along * way
    return away.reshape(2, -1, points.shape[2])


def _witness(
    a: Floats, b: Floats, edges: tuple[_Edges, _Edges], gap: Floats, normal: Floats
) -> Floats:
    """Midway between the closest points, or the mean corner of the overlap."""
    shift = normal * np.maximum(gap, 0.0)
    slack = np.where(gap < -EXACT, ALIKE, EXACT)
    moved = a + shift[:, None]
    found = [
        _inside(moved, edges[0], b, edges[1], slack),
        _inside(b, edges[1], moved, edges[0], slack),
    ]
    ends = np.concatenate([each[0] for each in found], axis=1)
    room = np.concatenate([each[1] for each in found])
    return mean_of_kept(ends, room) - shift / 2.0


def mean_of_kept(middles: Floats, room: Floats) -> Floats:
    """Mean of the middles whose room is not negative; where there is none, the roomiest."""
    kept = room >= -ALIKE
    kept |= room == room.max(axis=0)
    return np.asarray((middles * kept).sum(axis=1) / kept.sum(axis=0))


def _inside(
    ring: Floats, edges: _Edges, other: Floats, other_edges: _Edges, slack: Floats
) -> tuple[Floats, Floats]:
    """Middle of the stretch of each edge within the other polygon, and that stretch's length."""
    way, length = edges
    out_x, out_y = other_edges[0][1][:, None], -other_edges[0][0][:, None]
    spare = slack - (
        out_x * (ring[0][None] - other[0][:, None]) + out_y * (ring[1][None] - other[1][:, None])
    )
    speed = out_x * way[0][None] + out_y * way[1][None]
    start, end = stretch(spare, speed, length)
    middle = np.minimum(np.maximum((start + end) / 2.0, 0.0), length)
    return np.asarray(ring + way * middle), end - start


def stretch(spare: Floats, speed: Floats, length: Floats) -> tuple[Floats, Floats]:
    """Where a segment lies within half-spaces: (planes, edges, rows) in, two (edges, rows) out.

    spare : how far inside each plane the segment's head is
    speed : how fast it leaves per mm along it
    """
    level = np.abs(speed) < NOTHING
    cut = spare / np.where(level, 1.0, speed)
    ahead = np.where(level, np.where(spare < 0.0, -np.inf, np.inf), cut)
    end = np.minimum(np.where(level | (speed > 0.0), ahead, np.inf).min(axis=0), length)
    start = np.maximum(np.where(~level & (speed < 0.0), cut, -np.inf).max(axis=0), 0.0)
    # An edge outside a plane it runs along would have endless negative room: keep it finite.
    return start, np.maximum(end, -_FAR)
