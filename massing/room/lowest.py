"""Planes over a convex plan ring in; the part where each is the lowest out."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from massing.geometry.polygons import Ring, split
from massing.geometry.solids import Floats

__all__ = ["heights", "level_plane", "lowest_parts", "part_above", "where_higher"]

_LEVEL = 1e-10
"""Slope between two planes below which they count as parallel: 0.01 micron across 100 m."""


def level_plane(level: Floats) -> Floats:
    """(worlds, 3) plane z = level; ``level`` is (worlds,), mm."""
    plane = np.zeros((len(level), 3))
    plane[:, 2] = level
    return plane


def heights(plane: Floats, points: Floats) -> Floats:
    """(worlds, n) height of a plane (worlds, 3) over points (worlds, n, 2), mm."""
    return np.asarray(np.einsum("wni,wi->wn", points, plane[:, :2]) + plane[:, 2:])


def where_higher(one: Floats, other: Floats) -> Floats | bool:
    """The line to whose left plane ``one`` is the higher; True or False for parallel planes.

    Equal planes answer False.
    """
    rise = one - other
    steep = np.hypot(rise[:, 0], rise[:, 1])
    if float(steep[0]) <= _LEVEL:
        return bool(rise[0, 2] > 0)
    return np.asarray(rise / np.where(steep > 0, steep, 1.0)[:, None])


def lowest_parts(ring: Ring, planes: Floats) -> tuple[tuple[Ring, int], ...]:
    """Disjoint parts of a convex ring, each with the number of the plane lowest over it.

    planes : (worlds, k, 3)

    >>> ridge = np.array([[[0.0, 1.0, 0.0], [0.0, -1.0, 6.0]]])
    >>> square = Ring.of([[0, 0], [6, 0], [6, 6], [0, 6]])
    >>> [(k, part.points[0, :, 1].max().item()) for part, k in lowest_parts(square, ridge)]
    [(0, 3.0), (1, 6.0)]
    """
    parts = []
    count = planes.shape[1]
    for k in range(count):
        part: Ring | None = ring
        for j in range(count):
            if j == k or part is None:
                continue
            higher = where_higher(planes[:, j], planes[:, k])
            if isinstance(higher, bool):
                below = where_higher(planes[:, k], planes[:, j])
                # Of two planes that are the same the first is taken.
                if below is True or (higher is False and j < k):
                    part = None
            else:
                part = split(part, higher)[0]
        if part is not None:
            parts.append((part, k))
    return tuple(parts)


def part_above(ring: Ring, plane: Floats, bases: Iterable[Floats]) -> Ring | None:
    """The part of a convex ring where a plane is above every one of some other planes."""
    kept: Ring | None = ring
    for base in bases:
        higher = where_higher(plane, base)
        if isinstance(higher, bool):
            kept = kept if higher else None
        elif kept is not None:
            kept = split(kept, higher)[0]
    return kept
