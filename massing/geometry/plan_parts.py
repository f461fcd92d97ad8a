"""Convex pieces of plan outlines, and of all that lies outside them: rings in, rings out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Floats

__all__ = ["convex_parts", "outside"]

_FLAT = 1e-9  # mm, mm²: below this an edge or a trapezium is nothing
_STRIPS = 256  # looked at in one call


def convex_parts(
    ring: object, *holes: object, span: tuple[float, float] | None = None
) -> list[Floats]:
    """Convex counter-clockwise pieces of a simple ring, less its holes.

    ring, holes : (n, 2) float, mm, either sense; a ring of two points is a segment
    span : a stretch of x; pieces that do not come into it may be left out
    A convex ring comes back whole. Any other is cut into trapezia at each corner's x, pieces
    between the same two edges joined again.
    Raises GeometryError for fewer than two points or numbers that are not finite.

    >>> ell = [[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]]
    >>> for part in convex_parts(ell):
    ...     part.tolist()
    [[0.0, 0.0], [1.0, 0.0], [1.0, 2.0], [0.0, 2.0]]
    [[1.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0]]
    """
    rings = [_clean(each) for each in (ring, *holes)]
    if len(rings) == 1 and _is_convex(rings[0]):
        return rings
    ends = np.concatenate([np.stack([r, np.roll(r, -1, axis=0)], axis=1) for r in rings])
    ends = np.where((ends[:, :1, :1] > ends[:, 1:, :1]), ends[:, ::-1], ends)
    ends = ends[ends[:, 1, 0] > ends[:, 0, 0]]
    cuts = np.array(sorted(set(ends[:, :, 0].ravel().tolist())))
    open_: dict[tuple[int, int], tuple[float, float]] = {}
    parts: list[Floats] = []
    least, most = (-math.inf, math.inf) if span is None else span
    for (left, right), order in zip(pairwise(cuts.tolist()), _crossing(ends, cuts), strict=True):
        if left > most and all(start > most for start, _ in open_.values()):
            break
        now = dict.fromkeys(zip(order[::2], order[1::2], strict=True), (left, right))
        for pair, ran in open_.items():
            if pair in now:
                now[pair] = (ran[0], right)
            elif ran[1] >= least and ran[0] <= most:
                parts.append(_trapezium(ends, pair, ran))
        open_ = now
    parts += [
        _trapezium(ends, pair, ran)
        for pair, ran in open_.items()
        if ran[1] >= least and ran[0] <= most
    ]
    return [part for part in parts if len(part) >= 3]


def _crossing(ends: Floats, cuts: Floats) -> Iterator[list[int]]:
    """For each strip between two cuts the edges that cross it, from the lowest up."""
    (x0, y0), (x1, y1) = ends[:, 0].T, ends[:, 1].T
    for first in range(0, len(cuts) - 1, _STRIPS):
        left, right = (cuts[first + k : first + k + _STRIPS, None] for k in (0, 1))
        left = left[: len(right)]
        crosses = (x0 <= left) & (x1 >= right)
        height = y0 + (0.5 * (left + right) - x0) / (x1 - x0) * (y1 - y0)
        order = np.argsort(np.where(crosses, height, np.inf), axis=1, kind="stable").tolist()
        counts = crosses.sum(axis=1).tolist()
        yield from (row[:count] for row, count in zip(order, counts, strict=True))


def _trapezium(ends: Floats, pair: tuple[int, int], span: tuple[float, float]) -> Floats:
    """The ring between two edges over a span of x; empty where it is next to nothing.

    As ``_clean`` would have it of the four corners, number by number: there are many of these,
    and a call on an array of four takes longer than all the sums in it.
    """
    left, right = (float(x) for x in span)
    low, high = ends[list(pair)].tolist()
    corners = [
        (left, _height_of(low, left)),
        (right, _height_of(low, right)),
        (right, _height_of(high, right)),
        (left, _height_of(high, left)),
    ]
    apart = zip(corners, corners[-1:] + corners[:-1], strict=True)
    points = [p for p, q in apart if max(abs(p[0] - q[0]), abs(p[1] - q[1])) > _FLAT]
    before, after = points[-1:] + points[:-1], points[1:] + points[:1]
    bent = [
        p
        for b, p, a in zip(before, points, after, strict=True)
        if abs((p[0] - b[0]) * (a[1] - p[1]) - (p[1] - b[1]) * (a[0] - p[0])) > _FLAT
    ]
    area = sum(p[0] * q[1] - p[1] * q[0] for p, q in zip(bent, bent[1:] + bent[:1], strict=True))
    if len(bent) < 3 or abs(area) < _FLAT:
        return np.empty((0, 2))
    return np.array(bent if area > 0.0 else bent[::-1])


def _height_of(edge: list[list[float]], x: float) -> float:
    (x0, y0), (x1, y1) = edge
    return y0 + (x - x0) / (x1 - x0) * (y1 - y0)


def _clean(ring: object) -> Floats:
    """Counter-clockwise, without repeated points or points on a straight run; or a segment."""
    points = np.asarray(ring, dtype=np.float64)
    if points.ndim != 2 or points.shape[1:] != (2,) or not np.isfinite(points).all():
        raise GeometryError("an outline needs rows of finite x and y")
    points = points[np.abs(points - np.roll(points, 1, axis=0)).max(axis=1) > _FLAT]
    into, out = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    bent = points[np.abs(turn) > _FLAT]
    area = float(
        (bent[:, 0] * np.roll(bent[:, 1], -1) - bent[:, 1] * np.roll(bent[:, 0], -1)).sum()
    )
    if len(bent) >= 3 and abs(area) >= _FLAT:
        return np.ascontiguousarray(bent if area > 0.0 else bent[::-1])
    if len(points) < 2:
        raise GeometryError("an outline needs at least two different points")
    far = int(np.argmax(np.hypot(points[:, 0] - points[0, 0], points[:, 1] - points[0, 1])))
    return np.ascontiguousarray(points[[0, far]])


def _is_convex(ring: Floats) -> bool:
    """Whether a counter-clockwise ring turns left at every corner, once round."""
    if len(ring) == 2:
        return True
    edge = np.roll(ring, -1, axis=0) - ring
    after = np.roll(edge, -1, axis=0)
    cross = edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0]
    angle = np.arctan2(cross, (edge * after).sum(axis=1)).sum()
    return bool((cross > 0.0).all() and abs(angle - 2.0 * math.pi) < 1e-6)


def outside(free: Sequence[Floats], reach: float) -> list[Floats]:
    """Everything that is not free, as convex rings: the walls round rooms, doorways and halls.

    free : rings (n, 2), mm, joined where they overlap or share an edge
    reach : how far the walls go on round them, mm; more than one step of the search

    >>> len(outside([np.array([[0.0, 0], [10, 0], [10, 10], [0, 10]])], 5))
    4
    """
    from shapely import Polygon, box, union_all

    joined = union_all([Polygon(ring) for ring in free])
    x0, y0, x1, y1 = joined.bounds
    rest = box(x0 - reach, y0 - reach, x1 + reach, y1 + reach).difference(joined)
    pieces = [piece for piece in getattr(rest, "geoms", [rest]) if piece.area > _FLAT]
    parts: list[Floats] = []
    for piece in pieces:
        holes = [np.asarray(hole.coords)[:-1] for hole in piece.interiors]
        parts += convex_parts(np.asarray(piece.exterior.coords)[:-1], *holes)
    return parts
