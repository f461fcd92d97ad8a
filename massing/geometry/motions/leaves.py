"""A flat leaf turning about an upright line: how far it gets, and the floor it sweeps.

Angles are measured from the shut leaf in the sense it opens, radians. In the leaf's own plan
frame the pin is the origin, x runs along the shut leaf and y is the way it starts to move, so
the leading face sweeps from the x axis upward and the leaf's thickness trails behind it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Floats, following
from massing.geometry.tolerance import TOUCH

__all__ = ["first_touch", "leaf_frame", "swept_area", "swept_ring"]

Bools = NDArray[np.bool_]
_ROUND = 0.05  # mm, how far the many-sided sweep may stand outside the true arc
_BEHIND = 1e-7  # radians; a corner this little behind the shut leaf touches it


def leaf_frame(points: Floats, pin: Floats, shut: Floats, swing: float) -> Floats:
    """Plan points (worlds, n, 2) in the leaf's own frame; a clockwise leaf is mirrored."""
    off = points - pin[:, None, :]
    x = np.einsum("wi,wni->wn", shut, off)
    y = swing * (shut[:, None, 0] * off[..., 1] - shut[:, None, 1] * off[..., 0])
    return np.stack([x, y], axis=-1)


def first_touch(ring: Floats, width: Floats, thickness: Floats, full: float) -> Floats:
    """Angle (worlds,) at which an opening leaf first touches a convex ring, ``full`` if never.

    ring : (worlds, n, 2) in the leaf's own frame; width, thickness : (worlds,) mm
    Closed form: the leading face meets a corner, or an end corner of the leaf meets a side.
    Contact shallower than TOUCH does not stop the leaf.

    >>> bin_ = np.array([[[362.0, 400], [662, 400], [662, 700], [362, 700]]])
    >>> angle = first_touch(bin_, np.array([762.0]), np.array([0.0]), np.pi / 2)
    >>> np.degrees(angle).round(1).tolist()
    [31.7]
    """
    wide = (width - TOUCH)[:, None]
    thick = np.maximum(thickness, 0.0)[:, None]
    outer = np.hypot(wide, thick)
    radius = np.linalg.norm(ring, axis=-1)
    turn = _turn(ring)
    lag = np.arctan(np.sqrt(np.maximum(radius**2 - wide**2, 0.0)) / wide)
    # What touches the pin alone is in no leaf's way.
    hits = [np.where((radius <= wide) & (radius > TOUCH), turn, np.inf)]
    # A corner between the two arcs is met by the end of the leaf, a little after the face passes.
    hits.append(np.where((radius > wide) & (radius < outer), turn + lag, np.inf))
    hits.append(_arc_hits(ring, wide[:, 0]))
    end = np.arctan2(thick, wide)
    late = _arc_hits(ring, outer[:, 0])
    hits.append(np.where(thick > 0, late + end, np.inf))
    angle = np.concatenate(hits, axis=1)
    angle = np.where(angle < 0, np.inf, angle).min(axis=1)
    return np.asarray(np.where(_across_shut(ring, wide[:, 0]), 0.0, np.minimum(angle, full)))


def _across_shut(ring: Floats, wide: Floats) -> Bools:
    """(worlds,) whether a ring lies right across the shut leaf, so that it stays where it is."""
    x, y = ring[..., 0], ring[..., 1]
    far_x, far_y = np.roll(x, -1, axis=1), np.roll(y, -1, axis=1)
    both = (y.min(axis=1) < -TOUCH) & (y.max(axis=1) > TOUCH)
    crosses = (y < 0.0) != (far_y < 0.0)
    meets = x - y * (far_x - x) / np.where(crosses, far_y - y, 1.0)
    least = np.where(crosses, meets, np.inf).min(axis=1)
    most = np.where(crosses, meets, -np.inf).max(axis=1)
    return np.asarray(both & (least < wide - TOUCH) & (most > TOUCH))


def _turn(points: Floats) -> Floats:
    """Angles in [0, 2 pi), those a hair behind the shut leaf counted as 0."""
    angle = np.mod(np.arctan2(points[..., 1], points[..., 0]), 2 * np.pi)
    return np.where(angle > 2 * np.pi - _BEHIND, 0.0, angle)


def _arc_hits(ring: Floats, radius: Floats) -> Floats:
    """(worlds, 2 n) angles where a circle about the pin crosses the sides; inf for a miss."""
    start = ring
    way = following(ring) - ring
    a = np.einsum("wni,wni->wn", way, way)
    b = np.einsum("wni,wni->wn", start, way)
    c = np.einsum("wni,wni->wn", start, start) - radius[:, None] ** 2
    inside = b * b - a * c
    real = (inside >= 0) & (a > 0)
    root = np.sqrt(np.where(real, inside, 0.0))
    found = []
    for sign in (-1.0, 1.0):
        t = (-b + sign * root) / np.where(a > 0, a, 1.0)
        on = real & (t >= 0) & (t <= 1)
        found.append(np.where(on, _turn(start + t[..., None] * way), np.inf))
    return np.concatenate(found, axis=1)


def swept_area(width: float, thickness: float, angle: float) -> float:
    """Plan area a leaf covers while turning, its shut place included, mm².

    angle/2 (w² + t²) + w t for a leaf turning about its corner (thin: angle w²/2).

    >>> round(swept_area(762.0, 35.0, np.pi / 2) / 1e6, 6)
    0.483669
    """
    return angle / 2.0 * (width**2 + thickness**2) + width * thickness


def swept_ring(
    pin: Floats,
    shut: Floats,
    swing: float,
    width: Floats,
    thickness: Floats,
    full: float,
    rounding: float = _ROUND,
) -> Floats:
    """(worlds, n, 2) convex ring round the floor swept on the side the leaf opens to.

    Never smaller than the truth and at most ``rounding`` mm outside it; the shut place, which lies
    in the wall, is left out. ``full`` up to pi. Counter-clockwise seen from above.
    """
    outer = np.hypot(width, thickness)
    step = 2.0 * np.arccos(1.0 - rounding / (float(outer.max()) + rounding))
    lag = float(np.arctan2(thickness.max(), width.max()))
    arc = max(full - lag, full * 1e-6)
    sides = max(2, int(np.ceil(arc / step)))
    # The sides touch the arc at their middles, so their ends stand a little outside it.
    half = arc / sides / 2.0
    angles = np.concatenate([[0.0], half + 2.0 * half * np.arange(sides), [arc]])
    radii = np.concatenate([[1.0], np.full(sides, 1.0 / np.cos(half)), [1.0]])
    reach = outer[:, None] * radii
    if lag > 0:
        angles = np.append(angles, full)
        reach = np.concatenate([reach, width[:, None]], axis=1)
    along = np.cos(angles) * reach
    away = np.sin(angles) * reach * swing
    left = np.stack([-shut[:, 1], shut[:, 0]], axis=-1)
    arc_points = pin[:, None] + along[..., None] * shut[:, None] + away[..., None] * left[:, None]
    ring = np.concatenate([pin[:, None], arc_points], axis=1)
    return ring if swing > 0 else ring[:, ::-1]
