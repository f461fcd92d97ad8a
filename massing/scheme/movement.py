"""How far anything moves from its nominal place: a layout in many worlds in, mm a world out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.geometry.solids import Floats
from massing.scheme.layout import Layout

__all__ = ["movement"]


def movement(layout: Layout) -> Floats:
    """(worlds,) greatest displacement from world 0 of any corner of anything placed, mm.

    Bodies, zones, air, motions, door leaves, fabric and the room's own corners all count.
    """
    far = np.zeros(layout.worlds)
    for corners in _corners(layout):
        if corners.shape[0] > 1:
            moved = np.abs(corners - corners[:1])
            # The sum over the axes bounds the distance and needs no root.
            far = np.maximum(far, moved.sum(axis=-1).reshape(layout.worlds, -1).max(axis=1))
    return far


def _corners(layout: Layout) -> Iterator[Floats]:
    for item in layout.items:
        for part in item.parts:
            yield part.solid.corners
        for zone in item.zones:
            yield zone.polygon
        for gap in item.gaps:
            yield gap.solid.corners
        for motion in item.motions:
            yield motion.solid.corners
    for leaf in layout.leaves:
        yield leaf.pin
        yield (leaf.pin + leaf.shut * leaf.width[:, None])[:, None]
    for fabric in layout.room.fabric:
        for solid in fabric.parts:
            yield solid.corners
    yield layout.room.outline
