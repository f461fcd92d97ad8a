"""How far apart two convex polyhedra are: frames in, signed gap, direction and point out.

For any unit direction n the separation ``min over b of n.b - max over a of n.a`` is never more
than the true signed gap, and the largest of them is the gap. For an overlap the best direction
is a face normal or square to two edges whose arcs cross on the sphere of normals (the faces of
the Minkowski difference). Every direction tried is measured with the full reach of both solids,
so one tried in error can do no harm, and no tolerance decides an answer.

When apart, the closest points lie on a corner and a face, on two crossing edges, or on a corner
and an edge. Each such pair of points is never closer than the true distance, so the least is it.
Bounds from both sides and nothing iterated: flush and nearly flush pairs need no special case.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from massing.geometry.gaps.frames import Frame, cross, dot
from massing.geometry.gaps.plan import ALIKE, NOTHING, first_least, mean_of_kept, stretch
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["Crossings", "crossings", "face_directions", "polyhedron_gaps", "reaches"]

_CLOSE = 1.0  # mm, nearer than this a direction is worth some effort
_PROOF = 1e-8  # mm, a separation this near the distance proves its direction
_PARALLEL = 1e-14  # sine between edges below which their cross product is noise


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Edge pairs whose arcs of normals cross: edge of a, edge of b, row, and unit direction."""

    edge_a: Ints
    edge_b: Ints
    row: Ints
    direction: Floats

    def kept(self, which: Ints) -> Crossings:
        """Those asked for."""
        return Crossings(
            self.edge_a[which], self.edge_b[which], self.row[which], self.direction[:, which]
        )


def polyhedron_gaps(a: Frame, b: Frame) -> tuple[Floats, Floats, Floats]:
    """Signed gaps row by row: gap (rows,), unit normal (3, rows) from a to b, point (3, rows)."""
    gap, normal = _over_faces(a, b)
    arcs = crossings(a, b)
    _over_edges(a, b, arcs, gap, normal)
    apart = np.flatnonzero(gap > 0.0)
    if len(apart):
        place = np.full(len(gap), -1)
        place[apart] = np.arange(len(apart))
        near = arcs.kept(np.flatnonzero(place[arcs.row] >= 0))
        near = Crossings(near.edge_a, near.edge_b, place[near.row], near.direction)
        distance, away = _distance(a.take(apart), b.take(apart), near)
        # A direction that already proves the distance beats the difference of two near points.
        clear = (gap[apart] < distance - _PROOF) & (distance > EXACT)
        gap[apart] = distance
        normal[:, apart[clear]] = away[:, clear] / distance[clear]
    return gap, normal, _witness(a, b, gap, normal)


def reaches(frame: Frame, rows: Ints, directions: Floats) -> tuple[Floats, Floats]:
    """Least and greatest reach of the rows' solids along (3, k) directions."""
    along = dot(frame.corners[:, :, rows], directions[:, None])
    return along.min(axis=0), along.max(axis=0)


def face_directions(a: Frame, b: Frame) -> tuple[Floats, Floats]:
    """Face normals of both pointing from a to b (3, f, rows), and the separation along each."""
    of_a = dot(a.normals[:, :, None], b.corners[:, None]).min(axis=1) - a.levels
    of_b = dot(b.normals[:, :, None], a.corners[:, None]).min(axis=1) - b.levels
    ways = np.concatenate([a.normals, -b.normals], axis=1)
    return ways, np.where(dot(ways, ways) > 0.5, np.concatenate([of_a, of_b]), -np.inf)


def crossings(a: Frame, b: Frame) -> Crossings:
    """Edge pairs that can carry the closest points or the shortest push.

    An edge with a side unknown counts as crossing everything.
    """
    beside = _straddles(a.left[:, :, None], a.right[:, :, None], b.ways[:, None])
    beside &= _straddles(b.left[:, None], b.right[:, None], a.ways[:, :, None])
    i, j, row = np.nonzero(beside)
    way_a, way_b = a.ways[:, i, row], b.ways[:, j, row]
    square = cross(way_a, way_b)
    sine = np.sqrt(dot(square, square))
    real = sine > _PARALLEL
    square /= np.where(real, sine, 1.0)
    # Both arcs must be crossed on the same side of the sphere, b's being turned inside out.
    side_a = dot(square, a.left[:, i, row] + a.right[:, i, row])
    side_b = dot(square, b.left[:, j, row] + b.right[:, j, row])
    square *= np.where(side_a - side_b < 0.0, -1.0, 1.0)
    keep = np.flatnonzero(real & (side_a * side_b <= NOTHING))
    return Crossings(i[keep], j[keep], row[keep], square[:, keep])


def _straddles(left: Floats, right: Floats, way: Floats) -> NDArray[np.bool_]:
    """Whether the plane square to ``way`` meets the arc between two normals, ends included."""
    x, y = dot(left, way), dot(right, way)
    return np.asarray((np.minimum(x, y) <= NOTHING) & (np.maximum(x, y) >= -NOTHING))


def _over_faces(a: Frame, b: Frame) -> tuple[Floats, Floats]:
    """Best separation along any face normal and its direction."""
    ways, seps = face_directions(a, b)
    best = first_least(-seps)
    rows = np.arange(seps.shape[1])
    return seps[best, rows], ways[:, best, rows]


def _over_edges(a: Frame, b: Frame, arcs: Crossings, gap: Floats, normal: Floats) -> None:
    """Raise gap and normal where a direction square to two edges separates better."""
    # Rows well apart need only the distance, which does not depend on this.
    arcs = arcs.kept(np.flatnonzero(gap[arcs.row] <= _CLOSE))
    if not len(arcs.row):
        return
    low_a, high_a = reaches(a, arcs.row, arcs.direction)
    low_b, high_b = reaches(b, arcs.row, arcs.direction)
    ahead, behind = low_b - high_a, low_a - high_b
    sep = np.maximum(ahead, behind)
    best = np.full(len(gap), -np.inf)
    np.maximum.at(best, arcs.row, sep)
    take = np.flatnonzero((sep >= best[arcs.row] - ALIKE) & (sep > gap[arcs.row] + ALIKE))[::-1]
    # Written last to first, so the first of equals stays.
    row = arcs.row[take]
    gap[row] = sep[take]
    normal[:, row] = arcs.direction[:, take] * np.where(ahead >= behind, 1.0, -1.0)[take]


def _distance(a: Frame, b: Frame, arcs: Crossings) -> tuple[Floats, Floats]:
    """Distance of rows that are apart, and the vector from a to b."""
    rows = a.levels.shape[1]
    best = np.full(rows, np.inf)
    away = np.zeros((3, rows))
    for part in (
        _corner_on_face(a, b),
        _turned(_corner_on_face(b, a)),
        _corner_on_edge(a, b),
        _turned(_corner_on_edge(b, a)),
        _edge_on_edge(a, b, arcs),
    ):
        closer = part[0] < best - ALIKE
        best = np.where(closer, part[0], best)
        away = np.where(closer, part[1], away)
    return best, away


def _turned(found: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    return found[0], -found[1]


def _corner_on_face(a: Frame, b: Frame) -> tuple[Floats, Floats]:
    """Least distance from a's corners to the faces of b they stand over.

    Only the corner nearest each face's plane is tried: where several are level, either this one
    stands over the face or edges cross above its rim, which is another case.
    """
    heights = dot(b.normals[:, :, None], a.corners[:, None])
    corner = heights.argmin(axis=1)
    rows = np.arange(corner.shape[1])
    height = np.take_along_axis(heights, corner[:, None], axis=1)[:, 0] - b.levels
    foot = a.corners[:, corner, rows] - b.normals * height
    outside = (dot(b.normals[:, :, None], foot[:, None]) - b.levels[:, None]).max(axis=0)
    real = dot(b.normals, b.normals) > 0.5
    over = real & (outside <= ALIKE) & (height > -ALIKE)
    height = np.where(over, np.maximum(height, 0.0), np.inf)
    best = first_least(np.minimum(height, np.finfo(np.float64).max))
    least = height[best, rows]
    return least, -b.normals[:, best, rows] * np.where(least < np.inf, least, 0.0)


def _corner_on_edge(a: Frame, b: Frame) -> tuple[Floats, Floats]:
    """Least distance from a's corners to b's edges."""
    to_head = b.heads[:, None] - a.corners[:, :, None]
    ways = b.ways[:, None]
    along = np.minimum(np.maximum(-dot(to_head, ways), 0.0), b.lengths[None])
    away = (to_head + along * ways).reshape(3, -1, along.shape[-1])
    squares = dot(away, away)
    best = squares.argmin(axis=0)
    rows = np.arange(len(best))
    return np.sqrt(squares[best, rows]), away[:, best, rows]


def _edge_on_edge(a: Frame, b: Frame, arcs: Crossings) -> tuple[Floats, Floats]:
    """Least distance between crossing edges, measured between points held on both."""
    rows = a.levels.shape[1]
    least, away = np.full(rows, np.inf), np.zeros((3, rows))
    at_a, at_b = (arcs.edge_a, arcs.row), (arcs.edge_b, arcs.row)
    way_a, way_b = a.ways[:, *at_a], b.ways[:, *at_b]
    between = b.heads[:, *at_b] - a.heads[:, *at_a]
    square = cross(way_a, way_b)
    size = dot(square, square)
    s = dot(cross(between, way_b), square) / size
    t = dot(cross(between, way_a), square) / size
    s = np.minimum(np.maximum(s, 0.0), a.lengths[at_a])
    t = np.minimum(np.maximum(t, 0.0), b.lengths[at_b])
    vector = between + t * way_b - s * way_a
    distance = np.sqrt(dot(vector, vector))
    np.minimum.at(least, arcs.row, distance)
    take = np.flatnonzero(distance <= least[arcs.row])[::-1]
    away[:, arcs.row[take]] = vector[:, take]
    return least, away


def _witness(a: Frame, b: Frame, gap: Floats, normal: Floats) -> Floats:
    """Midway between the closest points, or the mean corner of the overlap.

    Pairs that are apart are first brought to touch, so that flush faces answer with the middle
    of what they share and not with some corner of it.
    """
    shift = normal * np.maximum(gap, 0.0)
    slack = np.where(gap < -EXACT, ALIKE, EXACT)
    moved = a.moved(shift)
    found = [_inside(moved, b, slack), _inside(b, moved, slack)]
    middles = np.concatenate([each[0] for each in found], axis=1)
    room = np.concatenate([each[1] for each in found])
    return mean_of_kept(middles, room) - shift / 2.0


def _inside(of: Frame, other: Frame, slack: Floats) -> tuple[Floats, Floats]:
    """Middle of the stretch of each edge that lies within the other solid, and its length."""
    normals = other.normals[:, :, None]
    spare = other.levels[:, None] + slack - dot(normals, of.heads[:, None])
    start, end = stretch(spare, dot(normals, of.ways[:, None]), of.lengths)
    middle = np.minimum(np.maximum((start + end) / 2.0, 0.0), of.lengths)
    return of.heads + of.ways * middle, end - start
