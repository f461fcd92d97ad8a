"""A placed item as something to carry: its parts in one frame in, ways of holding it out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.geometry.offset import offset_by
from massing.geometry.outline import outline_of
from massing.geometry.pieces import hull_corners
from massing.geometry.solids import Convex, Floats
from massing.scheme.layout import Placed

__all__ = [
    "HEAVY",
    "Band",
    "Hold",
    "hold_of",
    "holds_of",
    "least_width",
    "own",
    "rolled",
    "widened",
]

HEAVY = 60.0
"""kg; heavier things are carried upright unless said otherwise. Common practice, no source."""


_BANDS = 6  # heights told apart; a thing of more parts is taken as one from bottom to top


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Parts of a thing between two heights over its bottom, mm, and their plan rings (n, 2)."""

    low: float
    high: float
    rings: tuple[Floats, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Hold:
    """One way of carrying: upright, on its back, or on its side.

    bands : its parts, those of one height together; rings about the middle of the whole, mm
    height : mm; size : (2,) extents in its own x and y, mm
    axis, lean : the way it is tipped over, None for upright, and how upright it is left, radians
    """

    name: str
    bands: tuple[Band, ...]
    height: float
    size: Floats
    axis: int | None = None
    lean: float = math.pi / 2.0

    @property
    def rings(self) -> tuple[Floats, ...]:
        """Convex plan outlines (n, 2) of all its parts about the middle of the whole, mm."""
        return tuple(ring for band in self.bands for ring in band.rings)

    @property
    def thinnest(self) -> float:
        """Height of the lowest band, mm: what it can be lifted by and surely miss nothing."""
        return min(band.high - band.low for band in self.bands)

    @property
    def radius(self) -> float:
        """How far it reaches from its middle in plan, mm."""
        return float(max(np.hypot(ring[:, 0], ring[:, 1]).max() for ring in self.rings))


def holds_of(item: Placed, *, tilting: bool) -> tuple[Hold, ...]:
    """The ways to carry an item, upright first, in the nominal world.

    Laid on its back its top goes where its back was; on its side, where its right side was.
    """
    solids = [own(part.solid, item) for part in item.parts]
    found = [hold_of("upright", solids)]
    if tilting:
        found.append(hold_of("on its back", [rolled(solid, 1, 0.0) for solid in solids], 1, 0.0))
        found.append(hold_of("on its side", [rolled(solid, 0, 0.0) for solid in solids], 0, 0.0))
    return tuple(found)


def own(solid: Convex, item: Placed) -> Convex:
    """A part in the item's own axes."""
    yaw = float(item.yaw[0])
    off = solid.corners[:1] - item.origin[:1, None]
    cos, sin = np.cos(yaw), np.sin(yaw)
    x, y = off[..., 0], off[..., 1]
    return Convex(
        np.stack([cos * x + sin * y, cos * y - sin * x, off[..., 2]], axis=-1), solid.faces
    )


def rolled(solid: Convex, axis: int, lean: float) -> Convex:
    """Tipped over towards +x or +y: its height goes along the axis, the axis goes down.

    lean : how upright it is left, radians: a right angle is upright, 0 laid down
    """
    cos, sin = (0.0, 1.0) if lean == 0.0 else (math.sin(lean), math.cos(lean))
    along, up = solid.corners[..., axis], solid.corners[..., 2]
    corners = solid.corners.copy()
    corners[..., axis] = cos * along + sin * up
    corners[..., 2] = cos * up - sin * along
    faces = type(solid.faces)(solid.faces.rings, upright=False)
    return Convex(corners, faces)


def hold_of(
    name: str, solids: Sequence[Convex], axis: int | None = None, lean: float = math.pi / 2.0
) -> Hold:
    """A way of holding, of its parts as they are then held, in any axes of their own."""
    low = np.min([solid.low[0] for solid in solids], axis=0)
    high = np.max([solid.high[0] for solid in solids], axis=0)
    middle = (low + high)[:2] / 2.0
    height = float(high[2] - low[2])
    rings = [outline_of(solid)[0] - middle for solid in solids]
    spans = [
        (float(solid.low[0, 2] - low[2]), float(solid.high[0, 2] - low[2])) for solid in solids
    ]
    held: dict[tuple[float, float], list[Floats]] = {}
    for (start, stop), ring in zip(spans, rings, strict=True):
        held.setdefault((round(start, 3), round(stop, 3)), []).append(ring)
    bands = tuple(Band(*span, tuple(parts)) for span, parts in sorted(held.items()))
    if len(bands) > _BANDS:
        bands = (Band(0.0, height, tuple(rings)),)
    return Hold(name, bands, height, (high - low)[:2], axis, lean)


def widened(rings: Sequence[Floats], by: float) -> tuple[Floats, ...]:
    """Convex rings grown by a margin all round, corners kept square; unchanged for none."""
    if by <= 0.0:
        return tuple(rings)
    from shapely import Polygon

    grown = [offset_by(Polygon(ring), by, join_style="mitre") for ring in rings]
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
