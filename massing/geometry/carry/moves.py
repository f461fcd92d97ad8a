"""Compiled tests of one rigid move in plan: packed outlines in, free or not and the gap out.

Outlines are convex and counter-clockwise, packed as rows x, y, nx, ny: a corner and the outward
normal of the edge that leaves it. A footprint may have several such parts, given by offsets.

``apart`` is the largest gap along any edge normal: its sign is exact for convex outlines and it
never exceeds their distance, which is what makes the tests of whole moves safe.
"""

# ruff: noqa: C901, PLR0912, PLR0913, PLR0917
# Same reason as in carry_compiled.

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeVar, cast

import numba
import numpy as np

from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import TOUCH

__all__ = [
    "apart",
    "compiled",
    "link_is_free",
    "link_nearest",
    "placed",
    "shift_clears",
    "shift_is_free",
    "turn_clears",
    "turn_is_free",
]

F = TypeVar("F", bound=Callable[..., object])

_DEEP = 40  # halvings of a turn; reached only where the outlines touch all along
_GAIN = 0.01  # mm; a turn is halved until what is left could lower the gap by no more


def compiled(function: F) -> F:
    """Compile a function once per machine; the result is kept beside the source."""
    return cast("F", numba.njit(cache=True)(function))


@compiled
def placed(corners: Floats, normals: Floats, first: int, last: int, at: Floats) -> Floats:
    """Footprint corners and normals turned and moved: rows x, y, nx, ny."""
    out = np.empty((last - first, 4))
    cosine, sine = math.cos(at[2]), math.sin(at[2])
    for r in range(first, last):
        x, y = corners[r, 0], corners[r, 1]
        out[r - first, 0] = at[0] + cosine * x - sine * y
        out[r - first, 1] = at[1] + sine * x + cosine * y
        x, y = normals[r, 0], normals[r, 1]
        out[r - first, 2] = cosine * x - sine * y
        out[r - first, 3] = sine * x + cosine * y
    return out


@compiled
def apart(body: Floats, solid: Floats, vx: float, vy: float) -> float:
    """Largest separation along an edge normal while ``body`` shifts by (vx, vy).

    body, solid : (n, 4) rows x, y, nx, ny; the shifted body sweeps a convex outline, so the
    normals of both and of the shift decide exactly.
    """
    best = -1e300
    for i in range(body.shape[0]):
        nx, ny = body[i, 2], body[i, 3]
        low = 1e300
        for j in range(solid.shape[0]):
            d = nx * solid[j, 0] + ny * solid[j, 1]
            low = min(low, d)
        gap = low - nx * body[i, 0] - ny * body[i, 1]
        push = nx * vx + ny * vy
        if push > 0.0:
            gap -= push
        best = max(best, gap)
    for j in range(solid.shape[0]):
        nx, ny = solid[j, 2], solid[j, 3]
        low = 1e300
        for i in range(body.shape[0]):
            d = nx * body[i, 0] + ny * body[i, 1]
            low = min(low, d)
        gap = low - nx * solid[j, 0] - ny * solid[j, 1]
        push = nx * vx + ny * vy
        if push < 0.0:
            gap += push
        best = max(best, gap)
    size = math.sqrt(vx * vx + vy * vy)
    if size > 0.0:
        nx, ny = -vy / size, vx / size
        least, most = 1e300, -1e300
        for i in range(body.shape[0]):
            d = nx * body[i, 0] + ny * body[i, 1]
            least = min(least, d)
            most = max(most, d)
        low, high = 1e300, -1e300
        for j in range(solid.shape[0]):
            d = nx * solid[j, 0] + ny * solid[j, 1]
            low = min(low, d)
            high = max(high, d)
        best = max(best, low - most)
        best = max(best, least - high)
    return best


@compiled
def shift_is_free(
    feet: Floats, foot: Ints, solids: Floats, solid: Ints, at: Floats, vx: float, vy: float
) -> bool:
    """Whether one convex part, shifted by (vx, vy), overlaps one obstacle by at most TOUCH."""
    body = placed(feet[:, :2], feet[:, 2:], foot[0], foot[1], at)
    return bool(apart(body, solids[solid[0] : solid[1]], vx, vy) >= -TOUCH)


@compiled
def turn_is_free(
    feet: Floats, foot: Ints, solids: Floats, solid: Ints, at: Floats, by: float, radius: float
) -> bool:
    """No overlap above TOUCH while turning on the spot, by halving the turn.

    At mid-turn every point is within ``radius * half`` of all it sweeps, so that much separation
    clears the interval; where there is less, each half is asked again.
    """
    middles = np.empty(2 * _DEEP)
    halves = np.empty(2 * _DEEP)
    middles[0], halves[0] = at[2] + 0.5 * by, 0.5 * abs(by)
    count = 1
    pose = at.copy()
    while count:
        count -= 1
        middle, half = middles[count], halves[count]
        pose[2] = middle
        body = placed(feet[:, :2], feet[:, 2:], foot[0], foot[1], pose)
        room = apart(body, solids[solid[0] : solid[1]], 0.0, 0.0) + TOUCH
        if room < 0.0:
            return False
        if room < radius * half:
            if count + 2 > _DEEP or radius * half < 1e-3 * TOUCH:
                return False
            for sign in (-1.0, 1.0):
                middles[count], halves[count] = middle + sign * 0.5 * half, 0.5 * half
                count += 1
    return True


@compiled
def link_is_free(
    feet: Floats, foot: Ints, solids: Floats, solid: Ints, at: Floats, by: Floats, radius: float
) -> bool:
    """Whether a shift (by[0], by[1]) at the turn of ``at``, then a turn by[2], stays clear.

    feet, solids : (n, 4) rows x, y, nx, ny; foot, solid : (m + 1,) offsets of the convex parts
    """
    moved = at.copy()
    moved[0] += by[0]
    moved[1] += by[1]
    for a in range(foot.shape[0] - 1):
        for b in range(solid.shape[0] - 1):
            one, two = foot[a : a + 2], solid[b : b + 2]
            if not shift_is_free(feet, one, solids, two, at, by[0], by[1]):
                return False
            if by[2] != 0.0 and not turn_is_free(feet, one, solids, two, moved, by[2], radius):
                return False
    return True


@compiled
def _segment_point(ax: float, ay: float, bx: float, by: float, x: float, y: float) -> Floats:
    """Point of segment a-b nearest to (x, y), and its distance."""
    dx, dy = bx - ax, by - ay
    size = dx * dx + dy * dy
    share = 0.0
    if size > 0.0:
        share = min(1.0, max(0.0, ((x - ax) * dx + (y - ay) * dy) / size))
    out = np.empty(3)
    out[0], out[1] = ax + share * dx, ay + share * dy
    out[2] = math.sqrt((x - out[0]) ** 2 + (y - out[1]) ** 2)
    return out


@compiled
def _nearest(body: Floats, solid: Floats, vx: float, vy: float, best: Floats) -> bool:
    """Lower ``best`` (gap, x, y) to the distance from the shifted sweep of ``body``, if less.

    Apart, the least distance runs from a corner of one to an edge of the other; the sweep's
    corners and edges are those of the body at both ends and the tracks between them.
    """
    gap = apart(body, solid, vx, vy)
    if gap >= best[0]:
        return False
    if gap <= 0.0:
        best[0], best[1], best[2] = gap, body[:, 0].mean(), body[:, 1].mean()
        for j in range(solid.shape[0]):
            inside = True
            for i in range(body.shape[0]):
                side = body[i, 2] * (solid[j, 0] - body[i, 0])
                side += body[i, 3] * (solid[j, 1] - body[i, 1])
                if side > TOUCH:
                    inside = False
            if inside:
                best[1], best[2] = solid[j, 0], solid[j, 1]
        return True
    found = False
    n, m = body.shape[0], solid.shape[0]
    for end in range(2):
        sx, sy = end * vx, end * vy
        for i in range(n):
            ax, ay = body[i, 0] + sx, body[i, 1] + sy
            h = (i + 1) % n
            bx, by = body[h, 0] + sx, body[h, 1] + sy
            for j in range(m):
                g = (j + 1) % m
                near = _segment_point(solid[j, 0], solid[j, 1], solid[g, 0], solid[g, 1], ax, ay)
                if near[2] < best[0]:
                    best[0], found = near[2], True
                    best[1], best[2] = 0.5 * (near[0] + ax), 0.5 * (near[1] + ay)
                near = _segment_point(ax, ay, bx, by, solid[j, 0], solid[j, 1])
                if near[2] < best[0]:
                    best[0], found = near[2], True
                    best[1] = 0.5 * (near[0] + solid[j, 0])
                    best[2] = 0.5 * (near[1] + solid[j, 1])
                if end == 0:
                    near = _segment_point(ax, ay, ax + vx, ay + vy, solid[j, 0], solid[j, 1])
                    if near[2] < best[0]:
                        best[0], found = near[2], True
                        best[1] = 0.5 * (near[0] + solid[j, 0])
                        best[2] = 0.5 * (near[1] + solid[j, 1])
    return found


@compiled
def link_nearest(
    feet: Floats,
    foot: Ints,
    solids: Floats,
    solid: Ints,
    at: Floats,
    by: Floats,
    radius: float,
    best: Floats,
) -> None:
    """Lower ``best`` (gap, x, y, obstacle part) to the tightest gap during a shift then a turn.

    The shift is exact; the turn is halved until what is left could gain 0.01 mm at most.
    """
    moved = at.copy()
    moved[0] += by[0]
    moved[1] += by[1]
    pose = moved.copy()
    middles, halves = np.empty(128), np.empty(128)
    for a in range(foot.shape[0] - 1):
        start = placed(feet[:, :2], feet[:, 2:], foot[a], foot[a + 1], at)
        for b in range(solid.shape[0] - 1):
            stone = solids[solid[b] : solid[b + 1]]
            if _nearest(start, stone, by[0], by[1], best):
                best[3] = b
            if by[2] == 0.0:
                continue
            middles[0], halves[0] = at[2] + 0.5 * by[2], 0.5 * abs(by[2])
            count = 1
            while count:
                count -= 1
                middle, half = middles[count], halves[count]
                pose[2] = middle
                body = placed(feet[:, :2], feet[:, 2:], foot[a], foot[a + 1], pose)
                if apart(body, stone, 0.0, 0.0) - radius * half >= best[0]:
                    continue
                if _nearest(body, stone, 0.0, 0.0, best):
                    best[3] = b
                if radius * half > _GAIN and count < 120:
                    for sign in (-1.0, 1.0):
                        middles[count], halves[count] = middle + sign * 0.5 * half, 0.5 * half
                        count += 1


@compiled
def shift_clears(lines: Floats, start: int, stop: int, at: Floats, vx: float, vy: float) -> bool:
    """Whether one line alone shows the whole shift clear; no is not yet blocked."""
    for e in range(start, stop):
        gap = lines[e, 0] * at[0] + lines[e, 1] * at[1] - lines[e, 2]
        push = lines[e, 0] * vx + lines[e, 1] * vy
        if push < 0.0:
            gap += push
        if gap >= -TOUCH:
            return True
    return False


@compiled
def turn_clears(
    lines: Floats,
    after: Floats,
    start: int,
    box: Floats,
    at: Floats,
    radius: float,
    turn: float,
    sides: int,
    stop: int,
) -> bool:
    """Whether one line, clear at both ends of a turn, must be clear all through it.

    A corner's distance along a line is a sinusoid of the turn, so between the ends it sinks below
    the lower by at most amplitude * (1 - cos(turn / 2)). The amplitude is the footprint's radius
    for an obstacle's line, and the furthest obstacle corner for a line of the footprint.
    """
    sink = 1.0 - math.cos(0.5 * turn)
    wide = max(abs(box[0] - at[0]), abs(box[2] - at[0])) + radius
    high = max(abs(box[1] - at[1]), abs(box[3] - at[1])) + radius
    far = math.sqrt(wide * wide + high * high)
    for e in range(start, stop):
        need = sink * (far if e - start < sides else radius) - TOUCH
        gap = lines[e, 0] * at[0] + lines[e, 1] * at[1] - lines[e, 2]
        if gap < need:
            continue
        gap = after[e, 0] * at[0] + after[e, 1] * at[1] - after[e, 2]
        if gap >= need:
            return True
    return False
