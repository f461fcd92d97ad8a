"""Slow answers to "what is the largest empty box?", sharing no code with the search."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Convex

__all__ = [
    "blocked_voxels",
    "largest_by_every_side",
    "largest_by_growing",
    "largest_voxel_box",
    "overlap_volume",
]

Floats = NDArray[np.float64]


def largest_by_every_side(size: Floats, slope: float, eaves: float, obstacles: Floats) -> float:
    """Largest empty volume in a box room whose ceiling is ``eaves + slope * y``, slope >= 0.

    Every pair of sides is tried in x, y and z, with sides taken from the obstacles' own (the low
    side from an obstacle's high one and the other way round). Under the slope the low y side may
    also stand free; there the volume is a quadratic, so its turning point and its kink are tried.
    """
    lows = [np.unique(np.concatenate([[0.0], obstacles[:, 3 + k]])) for k in range(3)]
    top = eaves + slope * size[1]
    room = np.array([size[0], size[1], top])
    highs = [np.unique(np.concatenate([[room[k]], obstacles[:, k]])) for k in range(3)]
    best = 0.0
    for x0, x1 in product(lows[0], highs[0]):
        if x1 <= x0:
            continue
        near = obstacles[(obstacles[:, 0] < x1) & (obstacles[:, 3] > x0)]
        y0, y1, z0, z1 = (
            side.ravel() for side in np.meshgrid(lows[1], highs[1], lows[2], highs[2])
        )
        fits = (y1 > y0) & (z1 > z0)
        y0, y1, z0, z1 = y0[fits], y1[fits], z0[fits], z1[fits]
        hit = (
            (near[:, 1] < y1[:, None])
            & (near[:, 4] > y0[:, None])
            & (near[:, 2] < z1[:, None])
            & (near[:, 5] > z0[:, None])
        ).any(axis=1)
        y0, y1, z0, z1 = y0[~hit], y1[~hit], z0[~hit], z1[~hit]
        starts = [y0]
        if slope > 0:
            starts += [(z1 - eaves) / slope, (y1 + (z0 - eaves) / slope) / 2]
        for start in starts:
            y = np.clip(start, y0, y1)
            height = np.minimum(z1, eaves + slope * y) - z0
            best = max(best, float(np.max((x1 - x0) * (y1 - y) * height, initial=0.0)))
    return best


def overlap_volume(box: Floats, solid: Convex) -> float:
    """Common volume of a box and a convex solid by a mesh boolean, mm³."""
    from manifold3d import Manifold

    cube = Manifold.cube(tuple(box[3:] - box[:3])).translate(tuple(box[:3]))
    return float((cube ^ Manifold.hull_points(solid.corners[0])).volume())


def largest_by_growing(
    low: Floats,
    high: Floats,
    ceiling: Floats,
    solids: Sequence[Convex],
    starts: int,
    rng: np.random.Generator,
) -> tuple[float, Floats]:
    """Largest box found by growing from random points, side by side until each side is stopped.

    ceiling : (m, 3) planes a, b, c, all above the room. Emptiness is asked of mesh booleans.
    """
    best, winner = 0.0, np.zeros(6)
    limits = (low, high, ceiling)
    for _ in range(starts):
        point = rng.uniform(low, high)
        box = np.concatenate([point, point + 1.0])
        if _is_free(box, limits, solids):
            box = _grown(box, limits, solids, rng)
            volume = float(np.prod(box[3:] - box[:3]))
            if volume > best:
                best, winner = volume, box
    return best, winner


def _is_free(box: Floats, limits: tuple[Floats, Floats, Floats], solids: Sequence[Convex]) -> bool:
    low, high, ceiling = limits
    if (box[:3] < low).any() or (box[3:] > high).any():
        return False
    over = np.array([(x, y, 1.0) for x, y in product(box[[0, 3]], box[[1, 4]])])
    if box[5] > (over @ ceiling.T).min():
        return False
    near = [s for s in solids if (s.low[0] < box[3:]).all() and (s.high[0] > box[:3]).all()]
    return all(overlap_volume(box, s) <= 1e-9 for s in near)


def _grown(
    box: Floats,
    limits: tuple[Floats, Floats, Floats],
    solids: Sequence[Convex],
    rng: np.random.Generator,
) -> Floats:
    for stride in (640.0, 160.0, 40.0, 10.0, 2.0):
        moving = True
        while moving:
            moving = False
            for side in rng.permutation(6):
                trial = box.copy()
                trial[side] += stride if side >= 3 else -stride
                if _is_free(trial, limits, solids):
                    box, moving = trial, True
    return box


def blocked_voxels(
    low: Floats, high: Floats, ceiling: Floats, solids: Sequence[Convex], size: float
) -> NDArray[np.bool_]:
    """Cubes touched by a solid or the ceiling; cubes that would stick out of the room are left out.

    Upright prisms only: a cube is blocked when its plan square overlaps the ring (separating
    axes) and its height overlaps the prism's.
    """
    counts = np.floor((high - low) / size + 1e-9).astype(int)
    blocked = np.zeros(counts, dtype=bool)
    x, y, z = (low[k] + size * np.arange(counts[k] + 1) for k in range(3))
    corners = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    heights = (corners @ ceiling[:, :2].T + ceiling[:, 2]).min(axis=-1)
    lowest = np.minimum.reduce(
        [heights[:-1, :-1], heights[1:, :-1], heights[:-1, 1:], heights[1:, 1:]]
    )
    blocked |= z[None, None, 1:] > lowest[:, :, None] + 1e-9
    for solid in solids:
        first = np.maximum(np.floor((solid.low[0] - low) / size + 1e-9).astype(int), 0)
        last = np.minimum(np.ceil((solid.high[0] - low) / size - 1e-9).astype(int), counts)
        if (first >= last).any():
            continue
        ring = solid.corners[0, : solid.corners.shape[1] // 2, :2]
        part = np.ones(last[:2] - first[:2], dtype=bool)
        west = corners[first[0] : last[0], first[1] : last[1]]
        for along in np.roll(ring, -1, axis=0) - ring:
            out = np.array([along[1], -along[0]])
            nearest = west @ out + size * np.minimum(out, 0.0).sum()
            part &= nearest < (ring @ out).max() - 1e-6
        blocked[first[0] : last[0], first[1] : last[1], first[2] : last[2]] |= part[:, :, None]
    return blocked


def largest_voxel_box(blocked: NDArray[np.bool_]) -> tuple[int, tuple[int, ...]]:
    """Most cubes in an empty box of cubes, and its six sides: every base and top, best first.

    Between a base and a top the plan is one bitmap; its largest rectangle comes from the free
    runs along y, narrowed over ever wider spans of x. Pairs that cannot win are skipped.
    """
    nx, ny, nz = blocked.shape
    below = np.zeros((nz + 1, nx, ny), dtype=np.int32)
    np.cumsum(np.moveaxis(blocked, 2, 0), axis=0, out=below[1:])
    pairs = []
    for base in range(nz):
        free = (below[base + 1 :] == below[base]).sum(axis=(1, 2))
        pairs += [(int(f) * (h + 1), base, base + h + 1) for h, f in enumerate(free) if f]
    best, where = 0, (0,) * 6
    for limit, base, top in sorted(pairs, reverse=True):
        if limit <= best:
            break
        free = below[top] == below[base]
        area, rectangle = _largest_rectangle(free, best // (top - base))
        if area * (top - base) > best:
            best = area * (top - base)
            where = (rectangle[0], rectangle[1], base, rectangle[2], rectangle[3], top)
    return best, where


def _largest_rectangle(
    free: NDArray[np.bool_], at_least: int
) -> tuple[int, tuple[int, int, int, int]]:
    nx, ny = free.shape
    runs = np.zeros((nx, ny + 1), dtype=np.int32)
    for y in range(ny - 1, -1, -1):
        runs[:, y] = np.where(free[:, y], runs[:, y + 1] + 1, 0)
    best, where = at_least, (0, 0, 0, 0)
    narrow = runs
    for width in range(1, nx + 1):
        if width > 1:
            narrow = np.minimum(narrow[:-1], runs[width - 1 :])
        longest = int(narrow.max())
        if longest == 0 or longest * nx <= best:
            break
        if longest * width > best:
            best = longest * width
            x, y = np.unravel_index(int(narrow.argmax()), narrow.shape)
            where = (int(x), int(y), int(x) + width, int(y) + longest)
    return (best if where[2] else 0), where
