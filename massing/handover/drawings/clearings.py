"""Blocks of lettering and what is in their way: many places in, which of them will do out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Floats
from massing.handover.drawings.sheet import Point

__all__ = ["Bools", "crossing", "in_way", "inside", "starts_of", "sums"]

Bools: TypeAlias = NDArray[np.bool_]


def sums(raster: Floats, x: Floats, y: Floats, size: tuple[float, float]) -> Floats:
    """Sum of a raster's cells under blocks whose bottom left corners are whole millimetres."""
    i, j = x.astype(int), y.astype(int)
    m = np.minimum(i + int(np.ceil(size[0])), raster.shape[0])
    n = np.minimum(j + int(np.ceil(size[1])), raster.shape[1])
    i0, j0 = int(i.min()), int(j.min())
    part = raster[i0 : int(m.max()), j0 : int(n.max())]
    total = np.zeros((part.shape[0] + 1, part.shape[1] + 1))
    total[1:, 1:] = part.cumsum(axis=0).cumsum(axis=1)
    i, j, m, n = i - i0, j - j0, m - i0, n - j0
    found = total[m, n] - total[i, n] - total[m, j] + total[i, j]
    return np.asarray(np.round(found, 6))


def inside(
    rings: Iterable[Floats],
    x: Floats,
    y: Floats,
    size: tuple[float, float],
    margin: float = 0.4,
) -> Bools:
    """Whether a block lies wholly in one of some convex rings."""
    found = np.zeros(len(x), dtype=bool)
    for ring in rings:
        here = np.ones(len(x), dtype=bool)
        after = np.roll(ring, -1, axis=0)
        turn = float(np.sum(ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]))
        for p, q in zip(ring, after, strict=True):
            way = (q - p) / max(float(np.hypot(*(q - p))), 1e-9) * np.sign(turn)
            for dx in (0.0, size[0]):
                for dy in (0.0, size[1]):
                    here &= way[0] * (y + dy - p[1]) - way[1] * (x + dx - p[0]) >= margin
        found |= here
    return found


def in_way(boxes: Floats, a: Point, b: Point) -> Bools:
    """(n,) whether a segment passes through each of (n, 4) boxes."""
    near, far = np.zeros(len(boxes)), np.ones(len(boxes))
    for k in range(2):
        step = b[k] - a[k]
        step = step if abs(step) > 1e-9 else 1e-9
        one, two = (boxes[:, k] - a[k]) / step, (boxes[:, k + 2] - a[k]) / step
        near, far = np.maximum(near, np.minimum(one, two)), np.minimum(far, np.maximum(one, two))
    return np.asarray(near < far)


def crossing(starts: Floats, end: Point, held: Sequence[tuple[Point, Point]]) -> Bools:
    """(n,) whether segments from (n, 2) starts to one end cross any of some segments.

    >>> crossing(np.array([[0.0, 0.0], [5.0, 0.0]]), (0.0, 4.0), [((-1.0, 2.0), (1.0, 2.0))])
    array([ True, False])
    """
    found = np.zeros(len(starts), dtype=bool)
    way = np.array(end) - starts
    for p, q in held:
        off, other = starts - np.array(p), np.subtract(q, p)
        turn = way[:, 0] * other[1] - way[:, 1] * other[0]
        safe = np.where(np.abs(turn) < 1e-9, np.inf, turn)
        along = (other[0] * off[:, 1] - other[1] * off[:, 0]) / safe
        across = (way[:, 0] * off[:, 1] - way[:, 1] * off[:, 0]) / safe
        found |= (along > 0.0) & (along < 1.0) & (across > 0.0) & (across < 1.0)
    return found


def starts_of(boxes: Floats, anchor: Point) -> tuple[Floats, Bools]:
    """Where a leader leaves each of (n, 4) boxes, at the side nearest; and if it has a length."""
    near = np.clip(np.array(anchor), boxes[:, :2], boxes[:, 2:])
    way = np.array(anchor) - near
    length = np.hypot(way[:, 0], way[:, 1])
    return near + way / np.maximum(length, 1e-9)[:, None] * 0.7, length >= 1.5
