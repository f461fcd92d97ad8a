"""The exact search for the largest empty box against voxel searches, and how it grows.

Two voxel searches of 20 mm, filling in the voxels included: the array one of the oracles, and the
same method compiled, which is the fairest peer there is.

Run ``python -m tests.bench --only empty_boxes_against_voxels [--long]``.
"""

from __future__ import annotations

from collections.abc import Callable

import numba
import numpy as np

from massing.geometry.empty_boxes import CeilingCell, EmptyBoxes, Wanted, largest_empty_boxes
from massing.geometry.solids import Convex, box, prism
from tests.bench.record import Count, Measured, side_by_side
from tests.oracles_voids import blocked_voxels, largest_voxel_box

PLAN = np.array([[0, 0], [5000, 0], [5000, 3000], [0, 3000.0]])
SLOPE = np.array([0.0, 1400 / 3000, 1200.0])
ROOM = [CeilingCell(PLAN, 0.0, SLOPE)]
HIGH = np.array([5000.0, 3000.0, 2600.0])
VOXEL = 20.0


def scattered(count: int, *, yawed: bool, seed: int = 1) -> list[Convex]:
    """Bodies all through the room, smaller when there are more of them."""
    rng = np.random.default_rng(seed)
    largest = 900.0 * (10 / count) ** (1 / 3)
    sizes = rng.uniform(0.25, 1.0, (count, 3)) * largest
    lows = rng.uniform(0.0, 1.0, (count, 3)) * (HIGH - sizes)
    solids = []
    for low, size, turn in zip(lows, sizes, rng.uniform(0, np.pi, count), strict=True):
        half = size[:2] / 2
        ring = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
        c, s = (np.cos(turn), np.sin(turn)) if yawed else (1.0, 0.0)
        ring = ring @ np.array([[c, s], [-s, c]]) + low[:2] + half
        solids.append(prism(ring, low[2], low[2] + size[2]))
    return solids


def shelving(count: int, *, yawed: bool = False) -> list[Convex]:
    """Equal bodies in equal bays, all gaps alike: the worst case for ties."""
    across = max(1, round((count / 3) ** 0.5))
    rows, levels = 3, max(1, round(count / (3 * across)))
    pitch = np.array([5000 / across, 3000 / rows, 1200 / levels])
    solids = []
    for i in range(across):
        for j in range(rows):
            for k in range(levels):
                low = np.array([i, j, k]) * pitch
                if yawed:
                    middle, half = (low + pitch / 2)[:2], 0.35 * pitch[:2].min()
                    ring = middle + half * np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])
                    solids.append(prism(ring, low[2], low[2] + 0.6 * pitch[2]))
                else:
                    solids.append(box(low, low + pitch * (0.7, 0.6, 0.6)))
    return solids


def is_square(solid: Convex) -> bool:
    """Whether a prism is an axis-aligned box."""
    ring = solid.corners[0, : solid.corners.shape[1] // 2, :2]
    along = np.roll(ring, -1, axis=0) - ring
    return bool((np.abs(along).min(axis=1) < 1e-9).all())


def exact(solids: list[Convex], count: int) -> EmptyBoxes:
    """The search, with square bodies handed over as boxes."""
    square = [s for s in solids if is_square(s)]
    table = np.array([[*s.low[0], *s.high[0]] for s in square]).reshape(-1, 6)
    return largest_empty_boxes(
        ROOM, table, [s for s in solids if not is_square(s)], count=count, wanted=Wanted()
    )


@numba.njit(cache=True)
def _rectangle(free: np.ndarray, least: int) -> tuple[int, tuple[int, int, int, int]]:
    """Largest rectangle of free squares above a least area, by histogram and stack."""
    nx, ny = free.shape
    best, where = least, (0, 0, 0, 0)
    stack, run = np.empty(ny + 1, np.int64), np.zeros(ny + 1, np.int64)
    for x in range(nx):
        deep = 0
        for y in range(ny + 1):
            run[y] = run[y] + 1 if y < ny and free[x, y] else 0
            while deep and run[stack[deep - 1]] >= run[y]:
                deep -= 1
                tall = run[stack[deep]]
                left = stack[deep - 1] + 1 if deep else 0
                if tall * (y - left) > best:
                    best, where = tall * (y - left), (x - tall + 1, left, x + 1, y)
            stack[deep] = y
            deep += 1
    return best, where


@numba.njit(cache=True)
def _compiled_voxel_box(blocked: np.ndarray) -> tuple[int, tuple[int, int, int, int, int, int]]:
    """Largest box of free cubes: for each base, tops upwards, the largest rectangle in plan."""
    nx, ny, nz = blocked.shape
    best, where = 0, (0, 0, 0, 0, 0, 0)
    for base in range(nz):
        free = np.ones((nx, ny), np.bool_)
        for top in range(base + 1, nz + 1):
            count = 0
            for x in range(nx):
                for y in range(ny):
                    free[x, y] &= not blocked[x, y, top - 1]
                    count += free[x, y]
            if count * (nz - base) <= best:
                break
            if count * (top - base) > best:
                area, (x0, y0, x1, y1) = _rectangle(free, best // (top - base))
                if x1 > x0:
                    best, where = area * (top - base), (x0, y0, base, x1, y1, top)
    return best, where


def by_voxels(solids: list[Convex], search: Callable[[np.ndarray], tuple]) -> float:
    """Largest empty box of a voxel search, mm³."""
    blocked = blocked_voxels(np.zeros(3), HIGH, SLOPE[None], solids, VOXEL)
    return float(search(blocked)[0] * VOXEL**3)


SCENES: dict[str, Callable[[int], list[Convex]]] = {
    "scattered": lambda n: scattered(n, yawed=False),
    "yawed": lambda n: scattered(n, yawed=True),
    "shelved": shelving,
    "shelved and yawed": lambda n: shelving(n, yawed=True),
}


def _line(scene: str, count: int, *, arrays: bool) -> list[Measured]:
    solids = SCENES[scene](count)
    found = exact(solids, 1)
    told: list[Measured] = []
    peers = [("compiled search of 20 mm voxels", _compiled_voxel_box, 3)]
    if arrays and count == 200:
        peers.append(("array search of 20 mm voxels", largest_voxel_box, 1))
    for peer, search, runs in peers:
        voxels = by_voxels(solids, search)
        times = side_by_side(
            lambda: exact(solids, 1), lambda s=search: by_voxels(solids, s), runs=runs
        )
        # A box of free voxels is an empty box, so none may be larger than the largest.
        larger = int(voxels > found.volumes[0] * (1 + 1e-9))
        told.append(
            Measured(
                f"largest empty box among {len(solids):,} {scene} bodies",
                peer,
                times,
                100.0,
                (Count("proved", int(found.proved.sum()), 1), Count("voxel box larger", larger, 0)),
                f"largest box, {scene}",
                len(solids),
                f"{found.nodes} nodes; voxels short by {1 - voxels / found.volumes[0]:.1%}",
            )
        )
    return told


def measure(long: bool) -> list[Measured]:
    """The largest box, exact, against a compiled voxel search; when long, the slow one as well."""
    _compiled_voxel_box(np.zeros((2, 2, 2), dtype=bool))
    sizes = (50, 200, 1000) if long else (200,)
    return [
        line for scene in SCENES for count in sizes for line in _line(scene, count, arrays=long)
    ]
