"""Plan polygons in compiled loops: convex rings in, depths and shared areas out.

Rings are rows (k, 2) counter-clockwise, with how many of them count.
"""

# ruff: noqa: PLR1730
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, cast

from numba import njit

from massing.geometry.solids import Floats

__all__ = ["area_of", "clipped", "compiled", "cut", "depth_in", "sector_depth"]


def compiled(function: Callable[..., Any]) -> Any:
    """Compile a function, kept between runs, free of the interpreter's lock.

    What is kept is thrown away when the function's own file changes, not when one it calls does:
    after editing one of these modules remove the kept ``*.nbi`` and ``*.nbc`` beside them.
    """
    return cast("Any", njit(cache=True, nogil=True, error_model="numpy")(function))


@compiled
def depth_in(a: Floats, na: int, b: Floats, nb: int) -> float:
    """How far two convex rings overlap, mm along the shortest way out; 0 or less when apart."""
    best = 1e18
    for turn in range(2):
        ring, n = (a, na) if turn == 0 else (b, nb)
        other, m = (b, nb) if turn == 0 else (a, na)
        for i in range(n):
            j = i + 1 if i + 1 < n else 0
            dx, dy = ring[j, 0] - ring[i, 0], ring[j, 1] - ring[i, 1]
            size = math.sqrt(dx * dx + dy * dy)
            if size < 1e-9:
                continue
            nx, ny = dy / size, -dx / size
            edge = nx * ring[i, 0] + ny * ring[i, 1]
            least = 1e18
            for k in range(m):
                s = nx * other[k, 0] + ny * other[k, 1]
                if s < least:
                    least = s
            if edge - least < best:
                best = edge - least
                if best <= 0.0:
                    return best
    return best


@compiled
def cut(ring: Floats, n: int, line: tuple[float, float, float], out: Floats) -> int:
    """Keep the part of a ring where a x + b y + c >= 0; returns how many corners ``out`` has."""
    a, b, c = line
    kept = 0
    px, py = ring[n - 1, 0], ring[n - 1, 1]
    ps = a * px + b * py + c
    for i in range(n):
        x, y = ring[i, 0], ring[i, 1]
        s = a * x + b * y + c
        if (s >= 0.0) != (ps >= 0.0):
            t = ps / (ps - s)
            out[kept, 0] = px + t * (x - px)
            out[kept, 1] = py + t * (y - py)
            kept += 1
        if s >= 0.0:
            out[kept, 0] = x
            out[kept, 1] = y
            kept += 1
        px, py, ps = x, y, s
    return kept


@compiled
def clipped(ring: Floats, n: int, by: Floats, nb: int, one: Floats, two: Floats) -> int:
    """The part of a ring inside a convex one, left in ``one``; how many corners it has."""
    for k in range(n):
        one[k, 0] = ring[k, 0]
        one[k, 1] = ring[k, 1]
    count = n
    for i in range(nb):
        j = i + 1 if i + 1 < nb else 0
        a, b = by[i, 1] - by[j, 1], by[j, 0] - by[i, 0]
        c = -(a * by[i, 0] + b * by[i, 1])
        inside = True
        for k in range(count):
            if a * one[k, 0] + b * one[k, 1] + c < 0.0:
                inside = False
                break
        if inside:
            continue
        count = cut(one, count, (a, b, c), two)
        if count < 3:
            return 0
        for k in range(count):
            one[k, 0] = two[k, 0]
            one[k, 1] = two[k, 1]
    return count


@compiled
def area_of(ring: Floats, n: int) -> float:
    """Area of a ring, mm²."""
    total = 0.0
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        total += ring[i, 0] * ring[j, 1] - ring[j, 0] * ring[i, 1]
    return 0.5 * total


@compiled
def sector_depth(ring: Floats, n: int, leaf: Floats, one: Floats, two: Floats) -> float:
    """How far a convex ring reaches into the floor a leaf sweeps, mm from its arc inward.

    leaf : pin x, y, shut x, y, swing, width, ..., angle at 8 (up to half a turn)
    Exact: the ring is cut to the angle swept, and its nearest point to the pin measured.
    """
    px, py, sx, sy, swing, width, angle = (
        leaf[0],
        leaf[1],
        leaf[2],
        leaf[3],
        leaf[4],
        leaf[5],
        min(leaf[8], math.pi),
    )
    # Left of the shut leaf in the sense it opens, and right of the open one.
    nx, ny = -swing * sy, swing * sx
    count = cut(ring, n, (nx, ny, -(nx * px + ny * py) - 0.01), one)
    if count < 3:
        return 0.0
    ox, oy = (
        sx * math.cos(angle) + nx * math.sin(angle),
        sy * math.cos(angle) + ny * math.sin(angle),
    )
    mx, my = swing * oy, -swing * ox
    count = cut(one, count, (mx, my, -(mx * px + my * py) - 0.01), two)
    if count < 3:
        return 0.0
    near = 1e18
    inside = True
    turning = 1.0 if area_of(two, count) > 0.0 else -1.0
    for i in range(count):
        j = i + 1 if i + 1 < count else 0
        dx, dy = two[j, 0] - two[i, 0], two[j, 1] - two[i, 1]
        size = dx * dx + dy * dy
        if turning * (dx * (py - two[i, 1]) - dy * (px - two[i, 0])) < 0.0:
            inside = False
        t = ((px - two[i, 0]) * dx + (py - two[i, 1]) * dy) / size if size > 1e-12 else 0.0
        t = min(max(t, 0.0), 1.0)
        far = (two[i, 0] + t * dx - px) ** 2 + (two[i, 1] + t * dy - py) ** 2
        if far < near:
            near = far
    if inside:
        return width
    return max(width - math.sqrt(near), 0.0)
