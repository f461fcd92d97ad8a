"""How much do two convex plan rings share: rings in, area and extent of the common part out."""

from __future__ import annotations

import math

import numpy as np

from massing.geometry.polygons import contains
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT

__all__ = ["common_extent"]

_PARALLEL = 1e-12  # sine below which two sides are taken to run alike
_FEW = 400  # pairs of corners; up to so many plain numbers are quicker than arrays

_Corners = list[list[float]]
_Bounds = tuple[float, float, float, float]


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
    found = _few if len(one) * len(other) <= _FEW else _many
    points = found(one, other)
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


def _many(one: Floats, other: Floats) -> Floats:
    """(k, 2) corners of each ring within the other and where sides cross, from arrays."""
    least = np.maximum(one.min(axis=0), other.min(axis=0)) - EXACT
    most = np.minimum(one.max(axis=0), other.max(axis=0)) + EXACT
    if (least > most).any():
        return np.empty((0, 2))
    return np.concatenate(
        [
            _within(one, other, least, most),
            _within(other, one, least, most),
            _crossings(_sides(one, least, most), _sides(other, least, most)),
        ]
    )


def _few(one: Floats, other: Floats) -> Floats:
    """The same points in the same order, from plain numbers."""
    rings = one.tolist(), other.tolist()
    (x0, y0, x1, y1), (u0, v0, u1, v1) = map(_bounds_of, rings)
    both = max(x0, u0) - EXACT, max(y0, v0) - EXACT, min(x1, u1) + EXACT, min(y1, v1) + EXACT
    if both[0] > both[2] or both[1] > both[3]:
        return np.empty((0, 2))
    points = [
        *_corners_within(rings[0], rings[1], both),
        *_corners_within(rings[1], rings[0], both),
        *_crossings_of(*(_sides_in(ring, both) for ring in rings)),
    ]
    return np.array(points).reshape(-1, 2)


_Side = tuple[float, float, float, float]  # where it begins, and all its way


def _bounds_of(ring: _Corners) -> _Bounds:
    xs, ys = zip(*ring, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _sides_in(ring: _Corners, bounds: _Bounds) -> list[_Side]:
    """Each side of a ring that comes into some bounds."""
    least, low, most, high = bounds
    return [
        (p, q, r - p, s - q)
        for (p, q), (r, s) in zip(ring, ring[1:] + ring[:1], strict=True)
        if (p <= most or r <= most)
        and (p >= least or r >= least)
        and (q <= high or s <= high)
        and (q >= low or s >= low)
    ]


def _corners_within(ring: _Corners, other: _Corners, bounds: _Bounds) -> _Corners:
    """The corners of a ring that are in some bounds and within another ring."""
    least, low, most, high = bounds
    some = [(p, q) for p, q in ring if least <= p <= most and low <= q <= high]
    x, y = other[-1]
    for r, s in other:
        if not some:
            break
        u, v = r - x, s - y
        slack = -EXACT * math.hypot(u, v)
        some = [(p, q) for p, q in some if u * (q - y) - v * (p - x) >= slack]
        x, y = r, s
    return [[p, q] for p, q in some]


def _crossings_of(ones: list[_Side], others: list[_Side]) -> _Corners:
    """Where a side of the one crosses a side of the other, its ends included."""
    found = []
    for x, y, a, b in ones:
        for p, q, c, d in others:
            bottom = a * d - b * c
            if abs(bottom) <= _PARALLEL * (math.hypot(a, b) * math.hypot(c, d)):
                continue
            s = ((p - x) * d - (q - y) * c) / bottom
            if 0.0 <= s <= 1.0 and 0.0 <= ((p - x) * b - (q - y) * a) / bottom <= 1.0:
                found.append([x + s * a, y + s * b])
    return found


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
