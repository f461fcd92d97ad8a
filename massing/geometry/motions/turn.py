"""How far a turning panel gets before a convex obstacle stops it: plan sections in, angles out.

A panel that is straight along its own axis meets a convex obstacle exactly when its section meets
the shadow, cast along the axis, of the part of the obstacle that lies between its ends. That
shadow is a convex polygon whatever the obstacle, so every turn is a turn in a plane: the first
contact is a corner of one polygon on a side of the other, and each has a closed form. Nothing is
stepped, so nothing thin is jumped.

Everything has one row for each pair and world. Angles are radians, counter-clockwise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from massing.geometry.pieces import hull_corners
from massing.geometry.solids import Floats, following
from massing.geometry.tolerance import TOUCH

__all__ = ["inset", "level_shadow", "shadow", "turn_contact", "upright_shadow"]

_SLIP = 1e-9  # share of a side by which a contact may miss its end through rounding
Bools = NDArray[np.bool_]


def turn_contact(section: Floats, ring: Floats, limit: Floats) -> tuple[Floats, Bools]:
    """Angle (rows,) at which a turning section first meets a ring, ``limit`` if it does not.

    section : (rows, 4, 2) rectangle about the origin it turns round, counter-clockwise
    ring : (rows, n, 2) convex, counter-clockwise; limit : (rows,) under a whole turn
    The second array says where they overlap to begin with, where the angle is 0.

    >>> leaf = np.array([[[0.0, -40.0], [762, -40], [762, 0], [0, 0]]])
    >>> bin_ = np.array([[[362.0, 400], [662, 400], [662, 700], [362, 700]]])
    >>> angle, _ = turn_contact(leaf, bin_, np.array([np.pi / 2]))
    >>> np.degrees(angle).round(2).tolist()
    [31.66]
    """
    inside = _overlapping(section, ring)
    own, theirs = following(section), following(ring)
    # A corner of the obstacle waits on its circle until a side of the section comes round to it.
    met = _circle_angles(section, own - section, ring)
    waits = np.arctan2(ring[..., 1], ring[..., 0])[:, None, :, None] - met
    # A corner of the section runs along its circle until a side of the obstacle crosses that.
    hit = _circle_angles(ring, theirs - ring, section)
    runs = hit - np.arctan2(section[..., 1], section[..., 0])[:, None, :, None]
    rows = len(section)
    angles = np.concatenate([waits.reshape(rows, -1), runs.reshape(rows, -1)], axis=1)
    turns = np.mod(angles, 2.0 * np.pi)
    first = np.where(np.isnan(turns), np.inf, turns).min(axis=1)
    return np.where(inside, 0.0, np.minimum(first, limit)), inside


def _circle_angles(start: Floats, way: Floats, points: Floats) -> Floats:
    """(rows, sides, points, 2) angles where each side crosses the circle of each point, or nan."""
    a = np.einsum("rsi,rsi->rs", way, way)[:, :, None]
    b = np.einsum("rsi,rsi->rs", start, way)[:, :, None]
    near = np.einsum("rsi,rsi->rs", start, start)[:, :, None]
    c = near - np.einsum("rpi,rpi->rp", points, points)[:, None, :]
    inner = b * b - a * c
    real = (inner >= 0.0) & (a > 0.0)
    root = np.sqrt(np.where(real, inner, 0.0))
    whole = np.where(a > 0.0, a, 1.0)
    t = np.stack([(-b - root) / whole, (-b + root) / whole], axis=-1)
    on = real[..., None] & (t >= -_SLIP) & (t <= 1.0 + _SLIP)
    x = start[:, :, None, None, 0] + t * way[:, :, None, None, 0]
    y = start[:, :, None, None, 1] + t * way[:, :, None, None, 1]
    return np.where(on, np.arctan2(y, x), np.nan)


def _overlapping(one: Floats, other: Floats) -> Bools:
    """(rows,) whether no side of either keeps two convex rings apart."""
    apart = np.full(len(one), -np.inf)
    for a, b in ((one, other), (other, one)):
        way = following(a) - a
        length = np.hypot(way[..., 0], way[..., 1])
        normal = np.stack([way[..., 1], -way[..., 0]], axis=-1)
        normal = normal / np.where(length > 0.0, length, 1.0)[..., None]
        reach = np.einsum("rsi,rpi->rsp", normal, b).min(axis=2)
        gap = reach - np.einsum("rsi,rsi->rs", normal, a)
        apart = np.maximum(apart, np.where(length > 0.0, gap, -np.inf).max(axis=1))
    return np.asarray(apart < 0.0)


def inset(section: Floats) -> Floats:
    """A rectangle (rows, 4, 2) drawn in by TOUCH all round, so that contact does not stop it."""
    after, before = following(section) - section, np.roll(section, 1, axis=1) - section
    drawn = section
    for way in (after, before):
        length = np.hypot(way[..., 0], way[..., 1])[..., None]
        step = np.minimum(TOUCH, length * 0.499)
        drawn = drawn + way * (step / np.where(length > 0.0, length, 1.0))
    return drawn


def upright_shadow(
    plan: Floats, low: Floats, high: Floats, ends: Floats, right: Floats, up: Floats
) -> tuple[Floats, Bools]:
    """Ring (rows, n, 2) of an upright prism about an upright axis, and whether it is between ends.

    plan : (rows, n, 2) from the axis; low, high : (rows,) along the axis; ends : (rows, 2) of the
    panel; right, up : (rows, 3) the plane's own axes
    """
    x = np.einsum("rni,ri->rn", plan, right[:, :2])
    y = np.einsum("rni,ri->rn", plan, up[:, :2])
    ring = np.stack([x, y], axis=-1)
    # Seen along an axis that points down, the outline runs the other way about.
    turned = right[:, 0] * up[:, 1] - right[:, 1] * up[:, 0] < 0.0
    ring = np.where(turned[:, None, None], ring[:, ::-1], ring)
    return ring, np.asarray((high > ends[:, 0]) & (low < ends[:, 1]), dtype=bool)


def level_shadow(
    plan: Floats, low: Floats, high: Floats, ends: Floats, axis: Floats, right: Floats
) -> tuple[Floats, Bools]:
    """Rectangle (rows, 4, 2) that an upright prism casts along a level axis, and where it does.

    plan : (rows, n, 2) from the axis; low, high : (rows,) above the axis; ends : (rows, 2) of the
    panel along it; the plane's upward axis must be z
    """
    along = np.einsum("rni,ri->rn", plan, axis[:, :2])
    across = np.einsum("rni,ri->rn", plan, right[:, :2])
    start, stop, on = _between(along, following(along), ends)
    way = following(across) - across
    points = np.stack([across + start * way, across + stop * way], axis=-1)
    least = np.where(on[..., None], points, np.inf).min(axis=(1, 2))
    most = np.where(on[..., None], points, -np.inf).max(axis=(1, 2))
    some = on.any(axis=1)
    least, most = np.where(some, least, 0.0), np.where(some, most, 0.0)
    corners = [(least, low), (most, low), (most, high), (least, high)]
    return np.stack([np.stack(corner, axis=-1) for corner in corners], axis=1), np.asarray(some)


def _between(here: Floats, there: Floats, ends: Floats) -> tuple[Floats, Floats, Bools]:
    """Shares of each side where it enters and leaves the space between two ends, and whether."""
    low, high = ends[:, :1], ends[:, 1:]
    step = there - here
    flat = np.abs(step) < 1e-12
    whole = np.where(flat, 1.0, step)
    one, two = (low - here) / whole, (high - here) / whole
    start, stop = np.minimum(one, two), np.maximum(one, two)
    on = np.where(flat, (here >= low) & (here <= high), (start <= 1.0) & (stop >= 0.0))
    start = np.where(flat, 0.0, np.clip(start, 0.0, 1.0))
    stop = np.where(flat, 1.0, np.clip(stop, 0.0, 1.0))
    return start, stop, np.asarray(on, dtype=bool)


def shadow(tails: Floats, heads: Floats, ends: Floats) -> tuple[Floats, Bools]:
    """Ring (rows, n, 2) that any convex solid casts along the axis, and where it casts one.

    tails, heads : (rows, e, 3) ends of its edges as right, up, along from the axis
    ends : (rows, 2) of the panel along the axis
    The corners of the part between the ends all lie on edges of the solid.
    """
    start, stop, on = _between(tails[..., 2], heads[..., 2], ends)
    way = heads - tails
    points = np.concatenate(
        [tails + start[..., None] * way, tails + stop[..., None] * way], axis=1
    )[..., :2]
    kept = np.concatenate([on, on], axis=1)
    rings = [_hull(points[row][kept[row]]) for row in range(len(points))]
    most = max((len(ring) for ring in rings), default=0)
    found = np.zeros((len(rings), max(most, 3), 2))
    for row, ring in enumerate(rings):
        if len(ring):
            found[row, : len(ring)] = ring
            found[row, len(ring) :] = ring[-1]
    casts: Bools = np.array([len(ring) >= 3 for ring in rings], dtype=bool)
    return found, casts


def _hull(points: Floats) -> Floats:
    if len(points) < 3:
        return points[:0]
    return points[list(hull_corners(points))]
