"""How much store a scheme makes within whose reach: a layout in, litres by height band out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from massing.geometry.clip import clip_solid
from massing.geometry.outline import rectangle
from massing.geometry.overlap import union_volume
from massing.geometry.solids import Convex
from massing.scheme.ground import level_under
from massing.scheme.layout import Layout, Placed

__all__ = ["REACH", "reach_words", "store_by_reach"]

REACH = (600.0, 1500.0, 1800.0)
"""Heights above the floor between stooping, easy reach, reach up and out of reach, mm.

Common practice, no source: daily things between 600 and 1500, a top shelf at 1800.
"""


def store_by_reach(layout: Layout, bands: Sequence[float] = REACH) -> tuple[float, ...]:
    """Volume of what stores, mm³, in each band of height above the floor the item is reached from.

    bands : rising heights, mm; one more volume than bands comes back, nominal world
    """
    items = [item for item in layout.items if item.spec.stores]
    limits = (-math.inf, *bands, math.inf)
    return tuple(
        math.fsum(_between(layout, item, low, high) for item in items)
        for low, high in pairwise(limits)
    )


def _between(layout: Layout, item: Placed, low: float, high: float) -> float:
    floor = float(level_under(layout.room, rectangle(item.low[:1], item.high[:1]))[0])
    planes = []
    if math.isfinite(low):
        planes.append([0.0, 0.0, -1.0, -(floor + low)])
    if math.isfinite(high):
        planes.append([0.0, 0.0, 1.0, floor + high])
    kept: list[Convex] = []
    for part in item.parts:
        solid = part.solid.world(0)
        cut = clip_solid(solid, np.array(planes)) if planes else solid
        if cut is not None:
            kept.append(cut)
    if not kept:
        return 0.0
    return float(kept[0].volume[0]) if len(kept) == 1 else union_volume(kept)


def reach_words(bands: Sequence[float] = REACH) -> tuple[str, ...]:
    """What each band is called.

    >>> reach_words()
    ('below 600', '600 to 1500', '1500 to 1800', '1800 and up')
    """
    middle = (f"{low:g} to {high:g}" for low, high in pairwise(bands))
    return (f"below {bands[0]:g}", *middle, f"{bands[-1]:g} and up")
