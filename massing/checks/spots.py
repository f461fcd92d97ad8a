"""How deep a spot is there for a person before a side? Air before a face in, depths out.

Someone who sits at a desk or looks into a drawer needs a spot of a person's width whose middle
lies before it, not the whole of its length. So what takes one end of a long side takes nothing
from them: the depth asked about is that of the deepest spot.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.ahead import Air, Face, Thing, things_in
from massing.checks.alike import alike, item_arrays, near_box, room_arrays
from massing.checks.strip import Stretch, Strip, free_runs
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Placed

__all__ = ["PERSON", "Spot", "deepest", "spot_air"]

PERSON = 600.0
"""Width of a person standing or sitting, mm. Source: common practice, no source."""
_CLOSE = 1e-7  # mm, to which the depth is found


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """The deepest spot: (worlds,) its depth, at most what was asked for, mm, and what ends it.

    things : what stands in the way of a deeper one in the nominal world, the nearest first
    """

    depth: Floats
    things: tuple[Thing, ...]


def spot_air(
    face: Face, near: Floats | float, far: Floats | float, heights: tuple[Floats, Floats]
) -> Air:
    """All of the air that a spot before a face may take."""
    half = PERSON / 2.0
    wide = replace(face, left=face.left - half, right=face.right + half)
    return wide.air(near, far, *heights)


def deepest(layout: Layout, item: Placed, air: Air, counts: Callable[[Thing], bool]) -> Spot | None:
    """The deepest spot in some air; None where nothing at all comes into it in any world."""
    low, high = air.solid.low.min(axis=0), air.solid.high.max(axis=0)
    if not any(_near(thing, low, high) and counts(thing) for thing in things_in(layout)):
        return None
    near = near_box(layout, low, high)
    things = tuple(t for t in things_in(near) if _near(t, low, high) and counts(t))
    every = (item_arrays([item, *near.items]), room_arrays(near.room), (air.solid.corners,))
    same = alike(layout.worlds, (array for arrays in every for array in arrays))
    found = {int(w): _deepest(things, air, int(w)) for w in np.unique(same)}
    depth = np.array([found[int(w)][0] for w in same])
    return Spot(depth, tuple(things[k] for k in found[0][1]))


def _near(thing: Thing, low: Floats, high: Floats) -> bool:
    return bool((thing.least < high).all() and (thing.most > low).all())


def _deepest(things: tuple[Thing, ...], air: Air, world: int) -> tuple[float, tuple[int, ...]]:
    """Depth of the deepest spot in one world, and the numbers of what ends it."""
    block = air.solid.world(min(world, air.solid.worlds - 1))
    out = air.way[min(world, len(air.way) - 1), :2]
    strip = _strip(block, out)
    deep = float(air.deep[min(world, len(air.deep) - 1)])
    rings = [
        (k, ring)
        for k, thing in enumerate(things)
        for solid in thing.solids
        if (ring := _inside(solid.world(min(world, solid.worlds - 1)), block, strip)) is not None
    ]
    if _fits(rings, strip.width, deep):
        return deep, ()
    least, most = 0.0, deep
    while most - least > _CLOSE:
        middle = (least + most) / 2.0
        least, most = (middle, most) if _fits(rings, strip.width, middle) else (least, middle)
    ends = sorted(
        (float(r[:, 1].min()), k) for k, r in rings if float(r[:, 1].min()) < most + TOUCH
    )
    return least, tuple(dict.fromkeys(k for _, k in ends))


def _strip(block: Convex, out: Floats) -> Strip:
    along = np.array([-out[1], out[0]])
    ring = block.corners[0, :, :2]
    reach = ring @ along
    corner = along * reach.min() + out * (float((ring @ out).min()) - TOUCH)
    return Strip(corner, along, out, float(np.ptp(reach)))


def _inside(solid: Convex, block: Convex, strip: Strip) -> Floats | None:
    """(n, 2) plan outline of what of a solid lies in a block, in the strip's own axes."""
    if np.any(solid.high[0] <= block.low[0]) or np.any(solid.low[0] >= block.high[0]):
        return None
    ends = [[0.0, 0.0, 1.0, block.high[0, 2]], [0.0, 0.0, -1.0, -block.low[0, 2]]]
    cut = clip_solid(solid, np.vstack([prism_planes(outline_of(block)[0]), ends]))
    return None if cut is None else strip.own(outline_of(cut)[0])


def _fits(rings: list[tuple[int, Floats]], width: float, depth: float) -> bool:
    """Whether a person's width is free to a depth somewhere along a strip."""
    taken: list[Stretch] = []
    for _, ring in rings:
        span = _span(ring, depth)
        if span is not None:
            taken.append(("", *span))
    runs = free_runs(taken, width)
    free = (min(right, width) - max(left, 0.0) for left, right, _, _ in runs)
    return max(free, default=0.0) >= PERSON - 3.0 * TOUCH


def _span(ring: Floats, depth: float) -> tuple[float, float] | None:
    """From where to where a convex ring lies nearer than a depth."""
    inside = ring[:, 1] < depth
    if not inside.any():
        return None
    found = list(ring[inside, 0])
    ahead = np.roll(ring, -1, axis=0)
    crossed = inside != np.roll(inside, -1)
    for one, other in zip(ring[crossed], ahead[crossed], strict=True):
        share = (depth - one[1]) / (other[1] - one[1])
        found.append(one[0] + share * (other[0] - one[0]))
    return min(found), max(found)
