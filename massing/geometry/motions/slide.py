"""How far a sliding solid gets before a convex obstacle stops it: solids in, millimetres out.

The travels at which two convex solids meet are one interval, where a ray crosses their Minkowski
difference: it enters through the last of the facets it runs into and leaves through the first of
those it runs out of. A thin obstacle is a short interval, and is not missed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from massing.geometry.gaps.frames import dot, frames_of
from massing.geometry.gaps.polyhedra import crossings, face_directions, reaches
from massing.geometry.solids import Convex, Floats, following
from massing.geometry.tolerance import TOUCH

__all__ = ["prism_slide", "solid_slide"]

_STILL = 1e-12  # a facet gained on more slowly than this is run alongside
Bools = NDArray[np.bool_]


def prism_slide(
    mover: tuple[Floats, Floats, Floats],
    other: tuple[Floats, Floats, Floats],
    way: Floats,
    limit: Floats,
) -> tuple[Floats, Bools]:
    """Travel (rows,) of an upright prism along ``way`` (rows, 3) until another stops it.

    mover, other : plan ring (rows, n, 2) counter-clockwise, low and high (rows,)
    Returns ``limit`` where nothing stops it, and where the two overlap to begin with.

    >>> drawer = (np.array([[[0.0, 0], [600, 0], [600, 500], [0, 500]]]), *np.zeros((2, 1)))
    >>> drawer = (drawer[0], np.array([100.0]), np.array([300.0]))
    >>> post = (np.array([[[200.0, -401], [201, -401], [201, -400], [200, -400]]]),
    ...         np.array([0.0]), np.array([2000.0]))
    >>> prism_slide(drawer, post, np.array([[0.0, -1, 0]]), np.array([480.0]))[0].tolist()
    [400.0]
    """
    ring, low, high = mover
    over, under, top = other
    flat = way[:, :2]
    seps, paces = [], []
    for a, b, sign in ((ring, over, 1.0), (over, ring, -1.0)):
        step = following(a) - a
        length = np.hypot(step[..., 0], step[..., 1])
        normal = np.stack([step[..., 1], -step[..., 0]], axis=-1)
        normal = normal / np.where(length > 0.0, length, 1.0)[..., None]
        reach = np.einsum("rsi,rpi->rsp", normal, b).min(axis=2)
        gap = reach - np.einsum("rsi,rsi->rs", normal, a)
        seps.append(np.where(length > 0.0, gap, -np.inf))
        paces.append(sign * np.einsum("rsi,ri->rs", normal, flat))
    seps.append(np.stack([under - high, low - top], axis=1))
    paces.append(np.stack([way[:, 2], -way[:, 2]], axis=1))
    return _travel(np.concatenate(seps, axis=1), np.concatenate(paces, axis=1), limit)


def solid_slide(mover: Convex, other: Convex, way: Floats, limit: Floats) -> tuple[Floats, Bools]:
    """The same for any two convex solids, world by world; way (worlds, 3), limit (worlds,)."""
    count = len(way)
    one, two = (
        frame.take(np.arange(count) if frame.levels.shape[1] > 1 else np.zeros(count, np.int64))
        for frame in (frames_of([solid], 0, count) for solid in (mover, other))
    )
    along = way.T
    ways, seps = face_directions(one, two)
    paces = dot(ways, along[:, None])
    arcs = crossings(one, two)
    low_a, high_a = reaches(one, arcs.row, arcs.direction)
    low_b, high_b = reaches(two, arcs.row, arcs.direction)
    pace = dot(arcs.direction, along[:, arcs.row])
    # Each row has its own number of edge directions; they are gathered side by side.
    place = np.arange(len(arcs.row)) - np.searchsorted(np.sort(arcs.row), np.sort(arcs.row))
    order = np.argsort(arcs.row, kind="stable")
    most = int(place.max(initial=-1)) + 1
    more = np.full((2, count, most), -np.inf)
    gains = np.zeros((2, count, most))
    rows = arcs.row[order]
    more[0, rows, place], more[1, rows, place] = (low_b - high_a)[order], (low_a - high_b)[order]
    gains[0, rows, place], gains[1, rows, place] = pace[order], -pace[order]
    every = np.concatenate([seps.T, more[0], more[1]], axis=1)
    return _travel(every, np.concatenate([paces.T, gains[0], gains[1]], axis=1), limit)


def _travel(seps: Floats, paces: Floats, limit: Floats) -> tuple[Floats, Bools]:
    """Where separations (rows, k) that shrink by paces first are all gone, deeper than contact."""
    deep = seps + TOUCH
    gaining, losing = paces > _STILL, paces < -_STILL
    safe = np.where(gaining | losing, paces, 1.0)
    with np.errstate(invalid="ignore"):
        entry = np.where(gaining, deep / safe, -np.inf).max(axis=1)
        exit_ = np.where(losing, deep / safe, np.inf).min(axis=1)
        touch = np.where(gaining, seps / safe, -np.inf).max(axis=1)
    beside = np.where(gaining | losing, -np.inf, deep).max(axis=1)
    hit = (beside < 0.0) & (entry < exit_) & (exit_ > 0.0) & (entry < limit)
    travel = np.where(hit, np.clip(touch, 0.0, limit), limit)
    inside = hit & (entry < 0.0)
    return np.where(inside, 0.0, travel), inside
