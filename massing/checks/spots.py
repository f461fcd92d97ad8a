"""How deep a spot is there for a person before a side? Faces in, the deepest spots out.

Someone who sits at a desk or looks into a drawer needs a spot of a person's width whose middle
lies before it, not the whole of its length. So what takes one end of a long side takes nothing
from them: the depth asked about is that of the deepest spot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.ahead import Air, Face, Thing, Things, in_the_way, things_in
from massing.checks.alike import alike
from massing.checks.context import Context
from massing.checks.strip import Stretch, Strip, free_runs
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Placed

__all__ = ["PERSON", "Spot", "spots_before"]

PERSON = 600.0
"""Width of a person standing or sitting, mm. Source: common practice, no source."""
_CLOSE = 1e-7  # mm, to which the depth is found


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """The deepest spot: (worlds,) its depth, at most what was asked for, mm, and what ends it.

    things : what stands in the way of a deeper one in the nominal world, the nearest first
    air : all that a spot could take
    """

    depth: Floats
    things: tuple[Thing, ...]
    air: Air

    @property
    def names(self) -> tuple[str, ...]:
        """What ends it first."""
        return tuple(thing.name for thing in self.things[:1])


def spots_before(
    context: Context,
    items: Sequence[Placed],
    faces: Face,
    depths: tuple[Floats, Floats],
    heights: tuple[Floats, Floats],
) -> Iterator[tuple[int, Spot]]:
    """The deepest spot before each of many faces where something may be in the way, by number.

    depths, heights : (faces, worlds) from and to, mm out from the face, and z
    A spot may lie half a person past either end of its face.
    """
    half, things = PERSON / 2.0, things_in(context.layout)
    wide = replace(faces, left=faces.left - half, right=faces.right + half)
    rings = wide.ring(*depths)
    low = np.column_stack([rings.min(axis=(1, 2)), heights[0].min(axis=1)])
    high = np.column_stack([rings.max(axis=(1, 2)), heights[1].max(axis=1)])
    for number, item in enumerate(items):
        near, counts = things.near(low[number], high[number]), in_the_way(context, item)
        parts = [p for p in near.tolist() if counts(things.every[things.owner[p]])]
        names = (things.every[things.owner[p]].name for p in parts)
        if not parts or not context.wanted(item.name, *names):
            continue
        face, ends = wide[number], (depths[0][number], depths[1][number])
        if _surely_deep(face, ends, things.least[parts], things.most[parts]):
            continue
        air = face.air(*ends, heights[0][number], heights[1][number])
        spot = _deepest(context.layout.worlds, air, things, parts)
        if context.wanted(item.name, *(thing.name for thing in spot.things)):
            yield number, spot


def _surely_deep(face: Face, depths: tuple[Floats, Floats], least: Floats, most: Floats) -> bool:
    """Whether bounds (parts, 3) alone leave a spot of the whole depth, the same in all worlds."""
    if np.ptp(face.out, axis=0).any():
        return False
    xs, ys = (np.stack([least[:, k], most[:, k]], axis=1) for k in (0, 1))
    corners = np.stack([xs[:, [0, 1, 1, 0]], ys[:, [0, 0, 1, 1]]], axis=2)
    across, ahead = corners @ face.along[0], corners @ face.out[0]
    first, last = float((face.level + depths[0]).min()), float((face.level + depths[1]).max())
    takes = (ahead.min(axis=1) < last) & (ahead.max(axis=1) > first)
    left, right = float(face.left.max()), float(face.right.min())
    spans = across[takes] - left
    taken = [("", a, b) for a, b in zip(spans.min(axis=1), spans.max(axis=1), strict=True)]
    return _free(taken, right - left) >= PERSON


def _free(taken: list[Stretch], width: float) -> float:
    """The longest run left within so much."""
    runs = free_runs(taken, width)
    return max((min(b, width) - max(a, 0.0) for a, b, _, _ in runs), default=0.0)


def _deepest(worlds: int, air: Air, things: Things, parts: list[int]) -> Spot:
    """The deepest spot, found once of each kind of world."""
    solids = [things.solids[part] for part in parts]
    same = alike(worlds, (air.solid.corners, *(solid.corners for solid in solids)))
    found = {w: _in_world(solids, air, w) for w in sorted(set(same.tolist()))}
    depth = np.array([found[int(w)][0] for w in same])
    ends = dict.fromkeys(int(things.owner[parts[k]]) for k in found[0][1])
    return Spot(depth, tuple(things.every[k] for k in ends), air)


def _in_world(solids: list[Convex], air: Air, world: int) -> tuple[float, tuple[int, ...]]:
    """Depth of the deepest spot in one world, and the numbers of the solids that end it."""
    block = air.solid.world(min(world, air.solid.worlds - 1))
    strip = _strip(block, air.way[world, :2])
    deep = float(air.deep[world])
    rings = [
        (k, ring)
        for k, solid in enumerate(solids)
        if (ring := _inside(solid.world(min(world, solid.worlds - 1)), block, strip)) is not None
    ]
    if _fits(rings, strip.width, deep):
        return deep, ()
    least, most = 0.0, deep
    while most - least > _CLOSE:
        middle = (least + most) / 2.0
        least, most = (middle, most) if _fits(rings, strip.width, middle) else (least, middle)
    ends = sorted((*_order(ring), k) for k, ring in rings)
    return least, tuple(k for nearest, _, k in ends if nearest < most + TOUCH)


def _order(ring: Floats) -> tuple[float, float]:
    """How near a ring comes, mm, and of what is as near but for rounding the widest first."""
    return round(float(ring[:, 1].min()), 3), -round(float(np.ptp(ring[:, 0])), 3)


def _strip(block: Convex, out: Floats) -> Strip:
    along = np.array([-out[1], out[0]])
    ring = block.corners[0, :, :2]
    reach = ring @ along
    corner = along * reach.min() + out * (float((ring @ out).min()) - TOUCH)
    return Strip(corner, along, out, float(np.ptp(reach)))


def _inside(solid: Convex, block: Convex, strip: Strip) -> Floats | None:
    """(n, 2) plan outline of what of a solid lies in a block, in the strip's own axes."""
    if np.any(solid.high[0] <= block.low[0] + TOUCH):
        return None
    if np.any(solid.low[0] >= block.high[0] - TOUCH):
        return None
    ends = [[0.0, 0.0, 1.0, block.high[0, 2]], [0.0, 0.0, -1.0, -block.low[0, 2]]]
    cut = clip_solid(solid, np.vstack([prism_planes(outline_of(block)[0]), ends]))
    if cut is None:
        return None
    ring = strip.own(outline_of(cut)[0])
    # What ends where the block begins takes nothing of it, whatever rounding says.
    return None if float(np.ptp(ring, axis=0).min()) <= TOUCH else ring


def _fits(rings: list[tuple[int, Floats]], width: float, depth: float) -> bool:
    """Whether a person's width is free to a depth somewhere along a strip."""
    spans = (_span(ring, depth) for _, ring in rings)
    taken: list[Stretch] = [("", *span) for span in spans if span is not None]
    return _free(taken, width) >= PERSON - 3.0 * TOUCH


def _span(ring: Floats, depth: float) -> tuple[float, float] | None:
    """From where to where a convex ring lies nearer than a depth."""
    inside = ring[:, 1] < depth
    if not inside.any():
        return None
    found = ring[inside, 0].tolist()
    ahead = np.roll(ring, -1, axis=0)
    crossed = inside != np.roll(inside, -1)
    for one, other in zip(ring[crossed], ahead[crossed], strict=True):
        share = (depth - one[1]) / (other[1] - one[1])
        found.append(float(one[0] + share * (other[0] - one[0])))
    return min(found), max(found)
