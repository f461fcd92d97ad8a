"""A placed item as something to carry: its parts in one frame in, ways of holding it out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.geometry.corners import tilt_up_height
from massing.geometry.outline import outline_of
from massing.geometry.pieces import hull_corners
from massing.geometry.solids import Convex, Floats
from massing.scheme.layout import Placed

__all__ = ["HEAVY", "Hold", "Tilt", "holds_of", "least_width", "tilts_of", "widened"]

HEAVY = 60.0
"""kg; heavier things are carried upright unless said otherwise. Common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Hold:
    """One way of carrying: upright, on its back, or on its side.

    rings : convex plan outlines (n, 2) of its parts about the middle of the whole, mm
    height : mm; size : (2,) extents in its own x and y, mm
    """

    name: str
    rings: tuple[Floats, ...]
    height: float
    size: Floats

    @property
    def radius(self) -> float:
        """How far it reaches from its middle in plan, mm."""
        return float(max(np.hypot(ring[:, 0], ring[:, 1]).max() for ring in self.rings))


@dataclass(frozen=True, slots=True, eq=False)
class Tilt:
    """A change between upright and laid down on the spot, the foot sliding on the floor.

    between : names of the two holds; ring : (4, 2) floor it takes; height : its diagonal, mm

    With its middle kept over one place, a thing h high and d deep is at most sqrt(h² + d²) both
    deep and high while it turns: the exact height on a level floor, and never too small a floor.
    """

    between: tuple[str, str]
    ring: Floats
    height: float


def holds_of(item: Placed, *, tilting: bool) -> tuple[Hold, ...]:
    """The ways to carry an item, upright first, in the nominal world.

    Laid on its back its top goes where its back was; on its side, where its right side was.
    """
    solids = [_own(part.solid, item) for part in item.parts]
    found = [_hold("upright", solids)]
    if tilting:
        found.append(_hold("on its back", [_rolled(solid, 1) for solid in solids]))
        found.append(_hold("on its side", [_rolled(solid, 0) for solid in solids]))
    return tuple(found)


def tilts_of(holds: Sequence[Hold]) -> tuple[Tilt, ...]:
    """The changes between the first hold, upright, and each of the others."""
    found = []
    for hold in holds[1:]:
        upright = holds[0]
        axis = 1 if hold.name == "on its back" else 0
        height = tilt_up_height(upright.height, float(upright.size[axis]))
        half = upright.size / 2.0
        half[axis] = height / 2.0
        ring = half * np.array([[-1.0, -1.0], [1, -1], [1, 1], [-1, 1]])
        found.append(Tilt((upright.name, hold.name), ring, height))
    return tuple(found)


def _own(solid: Convex, item: Placed) -> Convex:
    """A part in the item's own axes."""
    yaw = float(item.yaw[0])
    off = solid.corners[:1] - item.origin[:1, None]
    cos, sin = np.cos(yaw), np.sin(yaw)
    x, y = off[..., 0], off[..., 1]
    return Convex(
        np.stack([cos * x + sin * y, cos * y - sin * x, off[..., 2]], axis=-1), solid.faces
    )


def _rolled(solid: Convex, axis: int) -> Convex:
    """Tipped over towards +x or +y: height goes along the axis, the axis goes down."""
    corners = solid.corners.copy()
    corners[..., axis] = solid.corners[..., 2]
    corners[..., 2] = -solid.corners[..., axis]
    faces = type(solid.faces)(solid.faces.rings, upright=False)
    return Convex(corners, faces)


def _hold(name: str, solids: list[Convex]) -> Hold:
    low = np.min([solid.low[0] for solid in solids], axis=0)
    high = np.max([solid.high[0] for solid in solids], axis=0)
    middle = (low + high)[:2] / 2.0
    rings = tuple(outline_of(solid)[0] - middle for solid in solids)
    return Hold(name, rings, float(high[2] - low[2]), (high - low)[:2])


def widened(rings: Sequence[Floats], by: float) -> tuple[Floats, ...]:
    """Convex rings grown by a margin all round, corners kept square; unchanged for none."""
    if by <= 0.0:
        return tuple(rings)
    from shapely import Polygon

    grown = [Polygon(ring).buffer(by, join_style="mitre") for ring in rings]
    return tuple(np.asarray(shape.exterior.coords)[:-1] for shape in grown)


def least_width(rings: Sequence[Floats]) -> float:
    """Narrowest slot the widest part of a thing passes, mm: exact for convex parts.

    A convex outline passes a slot in the plane only if it is at least its own least width, the
    least distance of two parallel lines that hold it, one of them along an edge.

    >>> round(least_width([np.array([[0, 0], [3.0, 0], [3, 4], [0, 4]])]), 6)
    3.0
    """
    return max(_calipers(ring) for ring in rings)


def _calipers(ring: Floats) -> float:
    hull = ring[list(hull_corners(ring))]
    edge = np.roll(hull, -1, axis=0) - hull
    unit = edge / np.hypot(edge[:, :1], edge[:, 1:])
    normal = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    reach = normal @ hull.T
    return float((reach.max(axis=1) - reach.min(axis=1)).min())
