"""How much do two convex plan rings share: rings in, area and extent of the common part out."""

from __future__ import annotations

import numpy as np

from massing.geometry.polygons import contains
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT

__all__ = ["common_extent"]

_PARALLEL = 1e-12  # sine below which two sides are taken to run alike


def common_extent(one: Floats, other: Floats) -> tuple[float, Floats] | None:
    """Area, mm², and (2,) size of the bounds of what two convex rings share, mm; None for nothing.

    one, other : (n, 2) and (m, 2), counter-clockwise
    The common part is the hull of the corners of each within the other and of where sides cross:
    all found at once, which for rings of many sides is far quicker than cutting side by side.

    >>> square = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])
    >>> area, size = common_extent(square, square + [4.0, 7.0])
    >>> area, size.tolist()
    (10.0, [5.0, 2.0])
    """
    least = np.maximum(one.min(axis=0), other.min(axis=0)) - EXACT
    most = np.minimum(one.max(axis=0), other.max(axis=0)) + EXACT
    if (least > most).any():
        return None
    points = np.concatenate(
        [
            _within(one, other, least, most),
            _within(other, one, least, most),
            _crossings(_sides(one, least, most), _sides(other, least, most)),
        ]
    )
    if len(points) < 3:
        return None
    low = points.min(axis=0)
    size = points.max(axis=0) - low
    if float(size.min()) <= EXACT:
        return None
    off = points - (low + size / 2.0)
    off = off - off.mean(axis=0)
    x, y = off[np.argsort(np.arctan2(off[:, 1], off[:, 0]), kind="stable")].T
    area = 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    return (area, size) if area > 0.0 else None


def _within(one: Floats, other: Floats, least: Floats, most: Floats) -> Floats:
    """The corners of the one within the other, of those in the bounds that both share."""
    some = one[((one >= least) & (one <= most)).all(axis=1)]
    return np.asarray(some[contains(other[None], some[None])[0]])


def _sides(ring: Floats, least: Floats, most: Floats) -> tuple[Floats, Floats]:
    """Where each side of a ring that comes into some bounds begins, and all its way."""
    ends = np.roll(ring, -1, axis=0)
    near = ((np.minimum(ring, ends) <= most) & (np.maximum(ring, ends) >= least)).all(axis=1)
    return ring[near], (ends - ring)[near]


def _crossings(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> Floats:
    """(k, 2) where a side of the one crosses a side of the other, its ends included."""
    (start, u), (begin, v) = one, other
    to = begin[None] - start[:, None]
    bottom = u[:, None, 0] * v[None, :, 1] - u[:, None, 1] * v[None, :, 0]
    length = np.hypot(u[:, 0], u[:, 1])[:, None] * np.hypot(v[:, 0], v[:, 1])
    real = np.abs(bottom) > _PARALLEL * length
    bottom = np.where(real, bottom, np.inf)
    s = (to[..., 0] * v[:, 1] - to[..., 1] * v[:, 0]) / bottom
    t = (to[..., 0] * u[:, None, 1] - to[..., 1] * u[:, None, 0]) / bottom
    met = real & (np.minimum(s, t) >= 0.0) & (np.maximum(s, t) <= 1.0)
    i, j = np.nonzero(met)
    return np.asarray(start[i] + s[i, j][:, None] * u[i])
