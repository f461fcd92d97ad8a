"""How much of a strip is surely free, by bounds alone? A layout in, stretches never too short out.

``strip.stretches`` answers exactly, world by world. Most strips are clear enough for that to be
seen from the bounds of what stands near, over all worlds at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from massing.checks.strip import FAR, Band, Stretch, Strip
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.extents import Extents, extents_of
from massing.scheme.layout import Layout

__all__ = ["block_bounds", "span_of", "surely_within"]

Bools = NDArray[np.bool_]
_LEVEL = 1e-9  # slope; what leans less is taken as level
_ACROSS = 1e5  # mm, further than any strip lies from the datum


def block_bounds(strip: Strip, band: Band) -> tuple[Floats, Floats]:
    """(3,) and (3,) bounds of all that ``strip.stretches`` looks at."""
    plan = strip.rectangle(-FAR, strip.width + FAR, band.depth)
    return np.append(plan.min(axis=0), band.low), np.append(plan.max(axis=0), band.high)


def surely_within(
    layout: Layout, without: frozenset[str], strip: Strip, band: Band, world: int
) -> list[Stretch]:
    """Stretches that hold all ``strip.stretches`` finds in a world, and in each with its shell.

    Bodies and fabric are taken by their bounds over all worlds, the shell as it is in this one.
    """
    found: list[Stretch] = []
    parts, boxes = _solid_bounds(layout, without)
    low, high = (each[parts] for each in boxes)
    _add(found, strip, band, _corners(low, high), low[:, 2], high[:, 2])
    room = layout.room
    for ceiling in room.ceilings:
        for plane in ceiling.planes[min(world, len(ceiling.planes) - 1)]:
            low_part = _dips(plane, strip, band)
            if low_part is not None:
                _add(found, strip, band, _ring(ceiling.polygon, world), within=low_part)
    for piece in room.outside:
        _add(found, strip, band, _ring(piece.polygon, world))
    for floor in room.floors:
        if float(floor.level[min(world, len(floor.level) - 1)]) > band.low + TOUCH:
            _add(found, strip, band, _ring(floor.polygon, world))
    return found


def _ring(polygon: Floats, world: int) -> Floats:
    """(1, n, 2) the polygon in a world."""
    number = min(world, len(polygon) - 1)
    return polygon[number : number + 1]


def _dips(plane: Floats, strip: Strip, band: Band) -> tuple[float, float] | None:
    """Where along the strip a plane (3,) may be lower than the band's top."""
    slope, aside = float(plane[:2] @ strip.along), float(plane[:2] @ strip.out)
    spare = float(plane[:2] @ strip.corner + plane[2]) + min(aside * band.depth, 0.0) - band.high
    if abs(slope) < _LEVEL:
        return (-np.inf, np.inf) if spare < _LEVEL * _ACROSS else None
    return (-np.inf, -spare / slope) if slope > 0.0 else (-spare / slope, np.inf)


def _solid_bounds(layout: Layout, without: frozenset[str]) -> tuple[Bools, tuple[Floats, Floats]]:
    """Which of all parts count, and the bounds of each over all worlds, fabric after bodies."""
    extents: Extents = extents_of(layout)
    counts = np.array(
        [not item.spec.passable and item.name not in without for item in layout.items], dtype=bool
    )
    low, high = layout.kept("solid bounds", _every_bounds)
    wanted = np.ones(len(low), dtype=bool)
    wanted[: len(extents.owner)] = counts[extents.owner]
    return wanted, (low, high)


def _every_bounds(layout: Layout) -> tuple[Floats, Floats]:
    """(parts, 3) and (parts, 3) bounds over all worlds, those of the fabric after the bodies'."""
    extents: Extents = extents_of(layout)
    fabric = [solid for each in layout.room.fabric for solid in each.parts]
    low = [extents.least, *(solid.corners.min(axis=(0, 1))[None] for solid in fabric)]
    high = [extents.most, *(solid.corners.max(axis=(0, 1))[None] for solid in fabric)]
    return np.concatenate(low), np.concatenate(high)


def span_of(
    low: Floats, high: Floats, strip: Strip
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Least and greatest (n,) that bounds (n, 3) from a strip's corner reach along it, and out."""
    spans = []
    for way in (strip.along, strip.out):
        one, other = low[:, :2] * way, high[:, :2] * way
        spans.append((np.minimum(one, other).sum(axis=1), np.maximum(one, other).sum(axis=1)))
    return spans[0], spans[1]


def _corners(low: Floats, high: Floats) -> Floats:
    """(n, 4, 2) plan corners of bounds."""
    x0, y0, x1, y1 = low[:, 0], low[:, 1], high[:, 0], high[:, 1]
    return np.stack([x0, y0, x1, y0, x1, y1, x0, y1], axis=1).reshape(-1, 4, 2)


def _add(
    found: list[Stretch],
    strip: Strip,
    band: Band,
    plan: Floats,
    low: Floats | None = None,
    high: Floats | None = None,
    within: tuple[float, float] = (-np.inf, np.inf),
) -> None:
    """Where each of some plan point sets (n, k, 2) lies along the strip, if it comes into it."""
    off = plan - strip.corner
    along, out = off @ strip.along, off @ strip.out
    left = np.maximum(along.min(axis=1), within[0])
    right = np.minimum(along.max(axis=1), within[1])
    near = (out.max(axis=1) > 0.0) & (out.min(axis=1) < band.depth)
    near &= (right > -FAR) & (left < strip.width + FAR) & (left < right)
    if low is not None and high is not None:
        near &= (high > band.low) & (low < band.high)
    found += [("", a, b) for a, b in zip(left[near].tolist(), right[near].tolist(), strict=True)]
