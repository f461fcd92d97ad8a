"""From which places does one convex solid overlap another: solids in, stretches or regions out.

The places from which a convex solid overlaps another form a convex body (their Minkowski
difference), so a straight slide is in it over one stretch, which ends on two of its face planes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.outline import plan_hull
from massing.geometry.solids import Convex, Floats

__all__ = ["Faced", "faced", "faced_meeting", "meeting", "overlap_moves"]

_LEVEL = 1e-12
_LEAST = 1e-7  # mm; a shorter stretch only touches


@dataclass(frozen=True, slots=True, eq=False)
class Faced:
    """A solid's corners (n, 3) with the unit normals of its faces and its edges' directions."""

    corners: Floats
    normals: Floats
    edges: Floats
    upright: bool

    def moved(self, by: Floats) -> Faced:
        """The same elsewhere."""
        return Faced(self.corners + by, self.normals, self.edges, self.upright)


def faced(solid: Convex) -> Faced:
    """What a one-world solid needs for many meetings, worked out once."""
    corners = solid.corners[0]
    rows = [_newell(corners[list(ring)]) for ring in solid.faces.rings]
    ends = corners[solid.faces.edges]
    edges = _distinct(_units(ends[:, 1] - ends[:, 0]))
    return Faced(corners, _distinct(_units(np.array(rows))), edges, solid.faces.upright)


def meeting(a: Convex, b: Convex, way: Floats) -> tuple[float, float] | None:
    """The stretch of the slide of one-world solid a along unit ``way`` (3,) that overlaps b, mm.

    None where they never overlap; touching is no overlap.

    >>> from massing.geometry.solids import box
    >>> case, post = box([0, 0, 0], [600, 500, 900]), box([1000, 400, 0], [1100, 700, 2000])
    >>> meeting(case, post, np.array([1.0, 0.0, 0.0]))
    (400.0, 1100.0)
    >>> meeting(case, post, np.array([0.0, 1.0, 0.0])) is None
    True
    """
    return faced_meeting(faced(a), faced(b), way)


def faced_meeting(a: Faced, b: Faced, way: Floats) -> tuple[float, float] | None:
    """The same for solids made ready with ``faced``."""
    normals = _directions(a, b)
    pace = normals @ way
    one, two = a.corners @ normals.T, b.corners @ normals.T
    # Each direction counts both ways: a may be short of b on either side of it.
    short = np.concatenate([two.min(axis=0) - one.max(axis=0), one.min(axis=0) - two.max(axis=0)])
    pace = np.concatenate([pace, -pace])
    still = np.abs(pace) <= _LEVEL
    if bool((short[still] >= -_LEAST).any()):
        return None
    ends = short[~still] / pace[~still]
    ahead = pace[~still] > 0
    start = float(ends[ahead].max(initial=-np.inf))
    stop = float(ends[~ahead].min(initial=np.inf))
    return (start, stop) if stop - start > _LEAST else None


def _directions(a: Faced, b: Faced) -> Floats:
    """(k, 3) unit normals of every face the Minkowski difference can have, one of each pair."""
    found = [a.normals, b.normals]
    if not (a.upright and b.upright):
        one, two = a.edges[:, None], b.edges[None]
        (x, y, z), (u, v, w) = np.moveaxis(one, 2, 0), np.moveaxis(two, 2, 0)
        cross = np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1).reshape(-1, 3)
        found.append(_units(cross))
    return np.concatenate(found)


def _newell(ring: Floats) -> Floats:
    """Normal of a planar ring, as long as twice its area."""
    x, y, z = ring.T
    u, v, w = np.roll(ring, -1, axis=0).T
    return np.array([(y * w - z * v).sum(), (z * u - x * w).sum(), (x * v - y * u).sum()])


def _units(rows: Floats) -> Floats:
    size = np.linalg.norm(rows, axis=1)
    return np.asarray(rows[size > 1e-9] / size[size > 1e-9, None])


def _distinct(rows: Floats) -> Floats:
    """Rows once each, opposite ones counting as the same."""
    sign = np.where(rows[:, 0] != 0, rows[:, 0], np.where(rows[:, 1] != 0, rows[:, 1], rows[:, 2]))
    turned = np.round(rows * np.where(sign < 0, -1.0, 1.0)[:, None], 9)
    return np.asarray(rows[np.sort(np.unique(turned, axis=0, return_index=True)[1])])


def overlap_moves(a: Convex, b: Convex, axes: Floats) -> Floats | None:
    """The moves of one-world solid a in a plane that make it overlap b: a convex ring, mm.

    axes : (3, 3) rows that give a point's place along the two ways a moves and a third it does
        not; unit rows square to one another, or sheared where a rises as it goes

    Returns (n, 2) counter-clockwise, along those two, or None where no move does. Exact: the
    cut through the solids' Minkowski difference in which nothing moves along the third.

    >>> from massing.geometry.solids import box
    >>> case, post = box([0, 0, 0], [600, 500, 900]), box([1000, 400, 0], [1100, 700, 2000])
    >>> overlap_moves(case, post, np.eye(3)).tolist()
    [[400.0, -100.0], [1100.0, -100.0], [1100.0, 700.0], [400.0, 700.0]]
    """
    level = np.abs(axes[2, :2]).max() <= _LEVEL
    flat = a.faces.upright and b.faces.upright and level
    one, two = a.corners[0] @ axes.T, b.corners[0] @ axes.T
    if one[:, 2].max() <= two[:, 2].min() + _LEAST or two[:, 2].max() <= one[:, 2].min() + _LEAST:
        return None
    if flat:  # what the upper rings say the lower ones do
        one, two = one[: len(one) // 2], two[: len(two) // 2]
    apart = (two[:, None] - one[None]).reshape(-1, 3)
    return np.asarray(plan_hull(apart[None, :, :2])[0]) if flat else _cut(apart)


def _cut(points: Floats) -> Floats | None:
    """Convex ring in which the hull of some points meets the plane of the first two axes."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        sides = ConvexHull(points).simplices
    except QhullError:
        return None
    pairs = np.concatenate([sides[:, [0, 1]], sides[:, [1, 2]], sides[:, [2, 0]]])
    low, high = points[pairs[:, 0]], points[pairs[:, 1]]
    across = (low[:, 2] <= 0.0) & (high[:, 2] >= 0.0) & (high[:, 2] > low[:, 2])
    across |= (high[:, 2] <= 0.0) & (low[:, 2] >= 0.0) & (low[:, 2] > high[:, 2])
    low, high = low[across], high[across]
    share = low[:, 2] / (low[:, 2] - high[:, 2])
    ring = low[:, :2] + share[:, None] * (high[:, :2] - low[:, :2])
    if len(ring) < 3 or np.ptp(ring, axis=0).min() <= _LEAST:
        return None
    return np.asarray(plan_hull(ring[None])[0])
