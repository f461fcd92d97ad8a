"""How much room do solids share or take up: convex solids of one world in, volumes out.

The Boolean work is done by manifold3d in double precision; it is loaded on first use.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import EXACT

__all__ = ["common_volume", "overlap_volume", "taken_up", "union_volume"]


def overlap_volume(a: Convex, b: Convex) -> float:
    """Volume two one-world solids share, mm³; exactly 0.0 when they only touch.

    Raises GeometryError when a solid has several worlds.

    >>> from massing.geometry.solids import box
    >>> desk = box([0, 0, 0], [1200, 600, 720])
    >>> round(overlap_volume(desk, box([1100, 500, 0], [1400, 800, 300])), 6)
    3000000.0
    >>> overlap_volume(desk, box([1200, 0, 0], [1400, 600, 720]))
    0.0
    """
    for solid in (a, b):
        _one_world(solid)
    low, high = np.maximum(a.low[0], b.low[0]), np.minimum(a.high[0], b.high[0])
    if (high - low).min() <= 0.0:
        return 0.0
    shared = _body(a, low) ^ _body(b, low)
    return _volume(shared)


def common_volume(first: Sequence[Convex], second: Sequence[Convex]) -> float:
    """Volume two bodies share, each a union of one-world solids, mm³, counted once.

    >>> from massing.geometry.solids import box
    >>> tee = [box([0, 0, 0], [6, 2, 2]), box([2, 0, 0], [4, 2, 6])]
    >>> round(common_volume(tee, [box([3, 0, 0], [9, 2, 4])]), 9)
    16.0
    """
    from manifold3d import Manifold, OpType

    for solid in (*first, *second):
        _one_world(solid)
    if not first or not second:
        return 0.0
    origin = first[0].low[0]
    one, other = (
        Manifold.batch_boolean([_body(solid, origin) for solid in each], OpType.Add)
        for each in (first, second)
    )
    return _volume(one ^ other)


def union_volume(solids: Sequence[Convex]) -> float:
    """Volume taken up by one-world solids together, mm³, shared room counted once.

    >>> from massing.geometry.solids import box
    >>> round(union_volume([box([0, 0, 0], [2, 2, 2]), box([1, 0, 0], [3, 2, 2])]), 9)
    12.0
    """
    from manifold3d import Manifold, OpType

    for solid in solids:
        _one_world(solid)
    if not solids:
        return 0.0
    bodies = [_body(solid, solids[0].low[0]) for solid in solids]
    return float(Manifold.batch_boolean(bodies, OpType.Add).volume())


def taken_up(solids: Sequence[Convex]) -> float:
    """The same, told of one solid or none without the library, mm³."""
    return sum(float(s.volume[0]) for s in solids) if len(solids) < 2 else union_volume(solids)


def _one_world(solid: Convex) -> None:
    if solid.worlds != 1:
        raise GeometryError(f"a volume is asked of one world at a time, not {solid.worlds}")


def _body(solid: Convex, origin: Floats) -> Any:
    """The solid as a library body, near the origin so that no digits are spent on its place."""
    from manifold3d import Manifold

    return Manifold.hull_points(np.ascontiguousarray(solid.corners[0] - origin))


def _volume(body: Any) -> float:
    """Volume of a body, nothing when it is a film no thicker than rounding."""
    volume = float(body.volume())
    # A convex body around a ball of radius r has V >= S r / 3, so nothing that holds a ball
    # EXACT across is ever dropped.
    return volume if volume > EXACT * float(body.surface_area()) / 6.0 else 0.0
