"""How do the rings of a mesh join? Rings of corner numbers in, index arrays and open edges out.

A ring is one planar face: corner numbers, counter-clockwise seen from outside. The pattern of a
given set of rings depends on no coordinates, so it is worked out once and kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from typing import TypeAlias

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Floats, Ints

__all__ = ["RingPattern", "Rings", "area_vectors", "ear_clip", "ring_pattern"]

Rings: TypeAlias = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class RingPattern:
    """The index arrays of a set of rings.

    corners : (c,) int    vertex number of each ring corner, ring after ring
    sizes, starts : (r,) int    corners in each ring, and where each begins in ``corners``
    following : (c,) int    place in ``corners`` of the next corner round the same ring
    ring_of : (c,) int    which ring each corner belongs to
    fan : (t, 3) int    places in ``corners``: each ring fanned from its first corner
    fan_ring : (t,) int    which ring each triangle belongs to
    used : (u,) int    vertex numbers met at all, ascending
    unpaired : an edge that is not used exactly once each way, or None for a closed surface
    """

    corners: Ints
    sizes: Ints
    starts: Ints
    following: Ints
    ring_of: Ints
    fan: Ints
    fan_ring: Ints
    used: Ints
    unpaired: tuple[int, int] | None


def _unpaired(rings: Rings) -> tuple[int, int] | None:
    """Return the first directed edge, in ring order, used twice or without its opposite."""
    edges = [edge for ring in rings for edge in zip(ring, ring[1:] + ring[:1], strict=True)]
    seen = set(edges)
    if len(seen) != len(edges):
        return next(edge for n, edge in enumerate(edges) if edge in edges[:n])
    return next((edge for edge in edges if edge[::-1] not in seen), None)


@lru_cache(maxsize=4096)
def ring_pattern(rings: Rings) -> RingPattern:
    """Index arrays of the rings.

    Raises GeometryError for a ring of fewer than three corners, or meeting a corner twice.

    >>> ring_pattern(((0, 1, 2, 3),)).fan.tolist()
    [[0, 1, 2], [0, 2, 3]]
    >>> ring_pattern(((0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3))).unpaired is None
    True
    """
    for number, ring in enumerate(rings):
        if len(ring) < 3 or len(set(ring)) != len(ring):
            raise GeometryError(f"face {number} {ring} is not a ring of three or more corners")
    sizes = np.array([len(ring) for ring in rings], dtype=np.int64)
    total = int(sizes.sum())
    starts = np.cumsum(sizes) - sizes
    following = np.arange(1, total + 1)
    following[starts + sizes - 1] = starts
    fans = sizes - 2
    fan_ring = np.repeat(np.arange(len(rings)), fans)
    step = np.arange(int(fans.sum())) - np.repeat(np.cumsum(fans) - fans, fans)
    first = starts[fan_ring]
    corners = np.fromiter(chain.from_iterable(rings), dtype=np.int64, count=total)
    return RingPattern(
        corners=corners,
        sizes=sizes,
        starts=starts,
        following=following,
        ring_of=np.repeat(np.arange(len(rings)), sizes),
        fan=np.stack([first, first + step + 1, first + step + 2], axis=1),
        fan_ring=fan_ring,
        used=np.unique(corners),
        unpaired=_unpaired(rings),
    )


def _cross(a: Floats, b: Floats) -> Floats:
    """Cross product of (n, 3) rows; plain arithmetic, several times quicker than np.cross."""
    out = np.empty_like(a)
    out[:, 0] = a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1]
    out[:, 1] = a[:, 2] * b[:, 0] - a[:, 0] * b[:, 2]
    out[:, 2] = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return out


def area_vectors(points: Floats, starts: Ints, ring_of: Ints, following: Ints) -> Floats:
    """(r, 3) area vector of each ring, mm²: along its outward normal, as long as its area.

    points : (c, 3) float, mm    the rings' corners, ring after ring (fields of RingPattern)
    Worked from each ring's own first corner, so rings far from the origin lose nothing.
    """
    if not len(starts):
        return np.zeros((0, 3))
    spokes = points - points[starts][ring_of]
    return np.asarray(np.add.reduceat(_cross(spokes, spokes[following]), starts, axis=0) / 2.0)


def _turn(a: Floats, b: Floats, c: Floats) -> float:
    """Twice the signed area of the plan triangle a, b, c."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _is_ear(plan: Floats, a: int, b: int, c: int, others: list[int], thin: float) -> bool:
    """No other corner lies in or on the triangle a, b, c, and it has an area."""
    if _turn(plan[a], plan[b], plan[c]) <= thin:
        return False
    sides = ((a, b), (b, c), (c, a))
    return not any(
        all(_turn(plan[p], plan[q], plan[k]) >= -thin for p, q in sides)
        for k in others
        if k not in (a, b, c)
    )


def ear_clip(plan: Floats, thin: float) -> list[tuple[int, int, int]]:
    """Triangles of a simple ring that cannot be fanned; every corner is used, none has no area.

    plan : (n, 2) float, mm, counter-clockwise; corners may lie on a straight side
    thin : mm², twice the area at or below which a triangle counts as flat
    Raises GeometryError when the ring crosses itself.
    Source: G. H. Meisters, "Polygons have ears", American Mathematical Monthly 82 (1975),
    from memory.

    >>> ear_clip(np.array([[0.0, 0], [2, 0], [1, 1], [2, 2], [0, 2]]), 1e-9)
    [(0, 1, 2), (4, 0, 2), (2, 3, 4)]
    """
    left = list(range(len(plan)))
    triangles: list[tuple[int, int, int]] = []
    while len(left) > 3:
        for n, b in enumerate(left):
            a, c = left[n - 1], left[(n + 1) % len(left)]
            if _is_ear(plan, a, b, c, left, thin):
                triangles.append((a, b, c))
                del left[n]
                break
        else:
            raise GeometryError("the ring crosses itself")
    a, b, c = left
    if _turn(plan[a], plan[b], plan[c]) <= thin:
        raise GeometryError("the ring crosses itself")
    return [*triangles, (a, b, c)]
