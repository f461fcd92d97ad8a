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

__all__ = ["HEAVY", "Band", "Hold", "Tilt", "holds_of", "least_width", "tilts_of", "widened"]

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
    """

    name: str
    bands: tuple[Band, ...]
    height: float
    size: Floats

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


@dataclass(frozen=True, slots=True, eq=False)
class Tilt:
    """A change between upright and laid down on the spot, the foot sliding on the floor.

    between : names of the two holds; ring : (4, 2) floor it takes; height : its diagonal, mm
    axis : 0 or 1, the way its top goes down; tall, deep, wide : upright, mm, deep along the axis

    With its middle kept over one place, a thing h high and d deep is at most sqrt(h² + d²) both
    deep and high while it turns: the exact height under a level ceiling, and never too small a
    floor. Under a slope each corner is followed on its own way, see ``lines``.
    """

    between: tuple[str, str]
    ring: Floats
    height: float
    axis: int
    tall: float
    deep: float
    wide: float

    def reach(self, along: Floats, across: Floats) -> Floats:
        """Greatest height over the floor, mm, less what a ceiling rises to that corner.

        along, across : its slope the way the top goes, and square to that
        At a tilt of p a corner of the box that bounds the thing is A sin p + B cos p over the
        ceiling's own change, from p = 0, lying, to a right angle: least upper bound in closed form.

        >>> names = ("upright", "on its back")
        >>> cabinet = Tilt(names, np.empty((0, 2)), 0.0, 1, 1850.0, 600.0, 700.0)
        >>> cabinet.reach(np.array([0.0, 0.25]), np.zeros(2)).round(2).tolist()
        [1944.87, 1960.0]
        """
        best = np.full(np.shape(along), -np.inf)
        for end in (-0.5, 0.5):
            for side in (-0.5, 0.5):
                s, t = end * self.tall, side * self.deep
                rise = self.tall / 2.0 + s + along * t
                level = self.deep / 2.0 + t - along * s
                both = np.where((rise > 0.0) & (level > 0.0), np.hypot(rise, level), -np.inf)
                best = np.maximum(best, np.maximum(both, np.maximum(rise, level)))
        return np.asarray(best + np.abs(across) * self.wide / 2.0)

    def lines(self, plane: Floats, level: float, turns: Floats) -> Floats:
        """(turns, 3) nx, ny, limit: it meets a ceiling plane (3,) where nx x + ny y < limit.

        level : z of the floor it tilts on, mm; turns : radians; x, y : of its middle
        """
        right = plane[0] * np.cos(turns) + plane[1] * np.sin(turns)
        ahead = plane[1] * np.cos(turns) - plane[0] * np.sin(turns)
        along, across = (right, ahead) if self.axis == 0 else (ahead, right)
        steep = float(np.hypot(plane[0], plane[1]))
        rows = np.empty((len(turns), 3))
        rows[:, 0], rows[:, 1] = plane[0] / steep, plane[1] / steep
        rows[:, 2] = (level + self.reach(along, across) - plane[2]) / steep
        return rows


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
        sizes = (upright.height, float(upright.size[axis]), float(upright.size[1 - axis]))
        found.append(Tilt((upright.name, hold.name), ring, height, axis, *sizes))
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
    return Hold(name, bands, height, (high - low)[:2])


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
