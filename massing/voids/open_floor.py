"""The largest open circle and rectangle of floor a person can stand on: a layout in, shapes out.

Open floor has the headroom over it and nothing in the way below that height.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.geometry.solids import Floats, prism
from massing.scheme.layout import Layout
from massing.voids.regions import fabric_shadows, item_shadows, joined, tall_rings

__all__ = [
    "Circle",
    "Rectangle",
    "largest_circle",
    "largest_rectangle",
    "open_circle",
    "open_region",
]

_FINE = 0.05  # mm; how much larger than the circle found any circle can be, in radius
_HIGH = 1000.0  # mm; the height given to the plan for the search in three dimensions


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle of floor, mm; diameter 0 where there is no open floor."""

    diameter: float
    centre: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle of floor along the room's axes, mm; proved when none larger exists."""

    low: tuple[float, float]
    high: tuple[float, float]
    proved: bool

    @property
    def size(self) -> tuple[float, float]:
        """How long it is from west to east and from south to north, mm."""
        return (self.high[0] - self.low[0], self.high[1] - self.low[1])


def open_region(layout: Layout, headroom: float = 2000.0) -> Any:
    """Open floor as a shapely geometry, mm."""
    tall = joined(tall_rings(layout.room, at_least=headroom))
    rings = [ring for _, ring in _in_the_way(layout, headroom)]
    return tall.difference(joined(rings), grid_size=1e-6) if rings else tall


def _in_the_way(layout: Layout, headroom: float) -> tuple[tuple[str, Floats], ...]:
    return (*item_shadows(layout, headroom), *fabric_shadows(layout.room, headroom))


def open_circle(layout: Layout, headroom: float = 2000.0) -> Circle:
    """The largest circle of open floor, its diameter exact to 0.1 mm and never too large."""
    return largest_circle(open_region(layout, headroom))


def largest_circle(region: Any) -> Circle:
    """The largest circle inside a shapely region, its diameter exact to 0.1 mm, never too large.

    Squares of plan are halved until none can hold the middle of a circle 0.05 mm larger in radius
    than the best one seen: the clearance changes by no more than the way gone.

    >>> from shapely import box
    >>> round(largest_circle(box(0, 0, 900, 400)).diameter, 1)
    400.0
    """
    import shapely

    if region.is_empty or region.area <= 0:
        return Circle(0.0, (0.0, 0.0))
    edge = region.boundary
    shapely.prepare(region)
    shapely.prepare(edge)
    low, high = np.array(region.bounds[:2]), np.array(region.bounds[2:])
    half = float((high - low).min()) / 2.0
    counts = np.ceil((high - low) / (2.0 * half)).astype(int)
    grid = np.stack(np.meshgrid(*(np.arange(n) for n in counts), indexing="ij"), axis=-1)
    centres = low + half + 2.0 * half * grid.reshape(-1, 2)
    best, spot = 0.0, region.representative_point().coords[0]
    quarters = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]])
    while len(centres):
        clear = shapely.distance(shapely.points(centres), edge)
        clear = np.where(shapely.contains_xy(region, centres), clear, -clear)
        top = int(np.argmax(clear))
        if clear[top] > best:
            best, spot = float(clear[top]), (float(centres[top, 0]), float(centres[top, 1]))
        kept = centres[clear + half * np.sqrt(2.0) > best + _FINE]
        half /= 2.0
        centres = (kept[:, None] + half * quarters).reshape(-1, 2)
    return Circle(2.0 * best, (float(spot[0]), float(spot[1])))


def largest_rectangle(layout: Layout, headroom: float = 2000.0) -> Rectangle:
    """The largest rectangle of open floor along the room's axes, exact to 1e-7 of its area.

    Found by the search for empty boxes, in a room that is the same plan under a level ceiling.
    """
    from massing.geometry.space.empty_boxes import CeilingCell, largest_empty_boxes

    level = np.array([0.0, 0.0, _HIGH])
    plan = [CeilingCell(r, 0.0, level) for r in tall_rings(layout.room, at_least=headroom)]
    if not plan:
        return Rectangle((0.0, 0.0), (0.0, 0.0), proved=True)
    solids = [prism(ring, 0.0, _HIGH) for _, ring in _in_the_way(layout, headroom)]
    found = largest_empty_boxes(plan, solids=solids)
    if not len(found.boxes):
        return Rectangle((0.0, 0.0), (0.0, 0.0), proved=True)
    x0, y0, _, x1, y1, _ = (float(v) for v in found.boxes[0])
    return Rectangle((x0, y0), (x1, y1), proved=bool(found.proved[0]))
