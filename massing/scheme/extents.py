"""How far does each part of a body reach, world by world? A layout in, bounds out.

Bounds are worked out once for a layout; most questions between two things that are far apart are
answered by them alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Convex, Floats, Ints, spread
from massing.scheme.layout import Layout

__all__ = ["Extents", "bounds_by_world", "extents_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Extents:
    """Every part of every body, item by item as in the layout.

    owner : (parts,) number of the item; first : (items + 1,) where each item's parts begin
    low, high : (worlds, parts, 3) bounds, mm; least, most : (parts, 3) the same over all worlds
    """

    solids: tuple[Convex, ...]
    owner: Ints
    first: Ints
    low: Floats
    high: Floats
    least: Floats
    most: Floats

    def parts(self, item: int) -> slice:
        """Where an item's parts are."""
        return slice(int(self.first[item]), int(self.first[item + 1]))


def extents_of(layout: Layout) -> Extents:
    """Bounds of all parts of a layout, asked again without new work."""
    return layout.kept("extents", _extents)


def _extents(layout: Layout) -> Extents:
    solids = tuple(part.solid for item in layout.items for part in item.parts)
    counts = [len(item.parts) for item in layout.items]
    owner = np.repeat(np.arange(len(counts)), counts)
    low, high = bounds_by_world(solids, layout.worlds)
    least, most = low.min(axis=0), high.max(axis=0)
    return Extents(solids, owner, np.cumsum([0, *counts]), low, high, least, most)


def bounds_by_world(solids: Sequence[Convex], worlds: int) -> tuple[Floats, Floats]:
    """Least and greatest corner, each (worlds, solids, 3) mm.

    >>> from massing.geometry.solids import box
    >>> low, high = bounds_by_world([box([0, 0, 0], [1, 2, 3])], 2)
    >>> low.shape, high[1].tolist()
    ((2, 1, 3), [[1.0, 2.0, 3.0]])
    """
    if not solids:
        return np.empty((worlds, 0, 3)), np.empty((worlds, 0, 3))
    sizes = [solid.corners.shape[1] for solid in solids]
    starts = np.cumsum([0, *sizes[:-1]])
    corners = [spread(solid.corners, worlds) for solid in solids]
    cloud = np.concatenate(corners, axis=1)
    return np.minimum.reduceat(cloud, starts, axis=1), np.maximum.reduceat(cloud, starts, axis=1)
