"""A plan footprint between floor and ceiling in; convex solids that fill it out."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from massing.geometry.polygons import Ring, overlap
from massing.geometry.solids import Convex, Floats, prism, prism_to_planes
from massing.room.lowest import heights, level_plane, lowest_parts, part_above
from massing.room.shape import CeilingPiece, FloorPiece

__all__ = ["columns"]


def columns(
    ring: Ring,
    floors: Iterable[FloorPiece],
    ceilings: Iterable[CeilingPiece],
    *,
    low: Floats | None = None,
    high: Floats | None = None,
    rise: Floats | None = None,
) -> tuple[Convex, ...]:
    """Convex solids over a convex ring, from the floor up to the ceiling.

    low : (worlds,) z they begin at where it is above the floor, mm
    high : (worlds,) z they end at where it is below the ceiling, mm
    rise : (worlds,) height above the local floor they end at where that is below the ceiling, mm
    """
    over = tuple(ceilings)
    solids: list[Convex] = []
    for floor in floors:
        footing = overlap(ring, Ring.of(floor.polygon))
        if footing is None:
            continue
        bases = [floor.level] if low is None else [floor.level, low]
        caps = [level_plane(high)] if high is not None else []
        if rise is not None:
            caps.append(level_plane(floor.level + rise))
        for ceiling in over:
            part = overlap(footing, Ring.of(ceiling.polygon))
            if part is not None:
                solids.extend(_under(part, ceiling.planes, caps, bases))
    return tuple(solids)


def _under(part: Ring, planes: Floats, caps: list[Floats], bases: list[Floats]) -> Iterable[Convex]:
    """Solids over a ring from the highest base up to the least of the planes and caps."""
    tops = np.concatenate([planes, *(cap[:, None] for cap in caps)], axis=1)
    base = np.maximum.reduce(bases)
    for piece, number in lowest_parts(part, tops):
        top = tops[:, number]
        kept = part_above(piece, top, [level_plane(level) for level in bases])
        if kept is None:
            continue
        if not top[:, :2].any():
            yield prism(kept.points, base, np.maximum(top[:, 2], base))
        else:
            level = np.maximum(heights(top, kept.points), base[:, None])
            yield prism_to_planes(kept.points, base, level)
