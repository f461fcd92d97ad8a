"""The exact search for the largest empty boxes against voxel searches, and how it grows.

Two voxel searches of 20 mm, filling in the voxels included: the array one of the oracles, and the
same method compiled, which is the fairest peer there is. No free box of voxels may be larger than
our first. Later boxes of two such searches lie in what different boxes left, so each of ours is
held against voxels with our boxes before it filled in; the two sequences are told as sums.

Run ``python -m tests.bench --only empty_boxes_against_voxels [--long]``.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numba
import numpy as np

from massing.geometry.solids import Convex, box, prism
from massing.geometry.space.empty_boxes import CeilingCell, EmptyBoxes, Wanted, largest_empty_boxes
from tests.bench.record import Count, Measured, Times, each_ms, side_by_side
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


def exact(solids: list[Convex], count: int) -> EmptyBoxes:
    """The search, from bodies as they come."""
    return largest_empty_boxes(ROOM, solids=solids, count=count, wanted=Wanted())


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


Search = Callable[[np.ndarray], tuple[int, tuple[int, ...]]]


def grid(solids: list[Convex]) -> np.ndarray:
    """The voxels of room and bodies that are not free."""
    return blocked_voxels(np.zeros(3), HIGH, SLOPE[None], solids, VOXEL)


def by_voxels(solids: list[Convex], search: Search, count: int = 1) -> list[float]:
    """Volumes of disjoint empty boxes of a voxel search, each the largest it then finds, mm³."""
    blocked, found = grid(solids), []
    for _ in range(count):
        size, (x0, y0, z0, x1, y1, z1) = search(blocked)
        found.append(float(size * VOXEL**3))
        blocked[x0:x1, y0:y1, z0:z1] = True
    return found


def voxel_boxes_larger(solids: list[Convex], found: EmptyBoxes) -> int:
    """How many of our boxes a voxel search beats, each among what our boxes before it leave."""
    before = [box(row[:3], row[3:]) for row in found.boxes]
    return sum(
        by_voxels([*solids, *before[:number]], _compiled_voxel_box)[0] > volume * (1 + 1e-9)
        for number, volume in enumerate(found.volumes)
    )


SCENES: dict[str, Callable[[int], list[Convex]]] = {
    "scattered": lambda n: scattered(n, yawed=False),
    "yawed": lambda n: scattered(n, yawed=True),
    "shelved": shelving,
    "shelved and yawed": lambda n: shelving(n, yawed=True),
}
TEN = 10
AT = 200  # bodies, where the goals are


def _first(scene: str, search: Search, peer: str, runs: int) -> Measured:
    """The largest box alone."""
    solids = SCENES[scene](AT)
    found, voxels = exact(solids, 1), by_voxels(solids, search)[0]
    times = side_by_side(lambda: exact(solids, 1), lambda: by_voxels(solids, search), runs=runs)
    # A box of free voxels is an empty box, so none may be larger than the largest.
    larger = int(voxels > found.volumes[0] * (1 + 1e-9))
    return Measured(
        f"largest empty box among {len(solids):,} {scene} bodies",
        peer,
        times,
        100.0,
        (Count("proved", int(found.proved.sum()), 1), Count("voxel box larger", larger, 0)),
        note=f"{found.nodes} nodes; voxels short by {1 - voxels / found.volumes[0]:.1%}",
    )


def _ten(scene: str, *, held: bool) -> Measured:
    """Ten disjoint boxes; with ``held`` each is held against voxels among what is left for it."""
    solids = SCENES[scene](AT)
    found = exact(solids, TEN)
    begun = time.process_time()
    voxels = by_voxels(solids, _compiled_voxel_box, TEN)
    peer = (time.process_time() - begun) * 1e3
    ours = each_ms(lambda: exact(solids, TEN))
    counts = [
        Count("proved", int(found.proved.sum()), TEN),
        Count("first voxel box larger", int(voxels[0] > found.volumes[0] * (1 + 1e-9)), 0),
    ]
    if held:
        larger = voxel_boxes_larger(solids, found)
        counts.append(Count("voxel box larger where ours before it are filled in", larger, 0))
    return Measured(
        f"ten largest disjoint empty boxes among {len(solids):,} {scene} bodies",
        "compiled search of 20 mm voxels, ten times",
        Times(ours, peer, peer / ours),
        20.0,
        tuple(counts),
        note=f"{found.nodes} nodes; ten voxel boxes together "
        f"{sum(voxels) / found.volumes.sum() - 1:+.1%}; peer timed once",
    )


def _growth(scene: str, count: int) -> Measured:
    """Ten boxes among more and more bodies, held against the time for ten bodies in that scene."""
    few, many = SCENES[scene](10), SCENES[scene](count)
    found = exact(many, TEN)
    return Measured(
        f"ten empty boxes, growth to {len(many):,} {scene} bodies",
        "ours among 10 bodies",
        side_by_side(lambda: exact(many, TEN), lambda: exact(few, TEN), runs=3),
        None,
        (Count("proved", int(found.proved.sum()), TEN),),
        f"ten empty boxes, {scene}",
        len(many),
        f"{found.nodes} nodes",
    )


def measure(long: bool) -> list[Measured]:
    """The largest box and ten boxes, exact, against voxels; every scene and check when long."""
    _compiled_voxel_box(np.zeros((2, 2, 2), dtype=bool))
    compiled = "compiled search of 20 mm voxels"
    told = [_first(scene, _compiled_voxel_box, compiled, runs=3 if long else 1) for scene in SCENES]
    if long:
        arrays = "array search of 20 mm voxels"
        told += [_first(scene, largest_voxel_box, arrays, runs=1) for scene in SCENES]
    told += [
        _ten(scene, held=long or scene == "shelved and yawed")
        for scene in (SCENES if long else ("scattered", "shelved and yawed"))
    ]
    grown = SCENES if long else ("scattered", "yawed")
    return told + [_growth(scene, count) for scene in grown for count in (10, 50, 200, 1000)]
