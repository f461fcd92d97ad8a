"""The space a moving solid passes through: a path in, convex solids round it out.

Never smaller than the truth, and outside it by no more than a stated rounding. A slide is exact.
The place a turning panel has while shut is left out: it lies within its own body.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.geometry.motions.stops import Path, Turn, turns_of
from massing.geometry.solids import Convex, Faces, Floats, prism, prism_faces

__all__ = ["all_swept", "swept_solids"]

_FINE = 0.05  # mm, how far a sweep about an upright axis may stand outside its arc
_COARSE = 1.0  # mm, the same about a level axis, where each more side costs more


def swept_solids(path: Path, amount: Floats) -> tuple[Convex, ...]:
    """Convex solids that together hold all a path passes through up to an amount, (worlds,).

    A turn of more than half a turn, and a slide that is not along one of its box's own ways, need
    more than one or are bounded from outside.

    >>> from massing.geometry.solids import box
    >>> drawer = Path(box([0, 0, 100], [600, 500, 300]), np.array([[0.0, -1, 0]]), None,
    ...               np.array([480.0]))
    >>> swept_solids(drawer, drawer.full)[0].low.tolist()
    [[0.0, -480.0, 100.0]]
    """
    return all_swept([path], [amount])[0]


def all_swept(
    paths: Sequence[Path], amounts: Sequence[Floats], rounding: float | None = None
) -> list[tuple[Convex, ...]]:
    """The solids of each path up to its own amount, as ``swept_solids`` has them.

    rounding : mm, how far a sweep may stand outside its arc; by the way its axis lies when None
    """
    turning = [k for k, path in enumerate(paths) if path.about is not None]
    fans: Iterator[tuple[Convex, ...]] = iter(())
    if turning:
        worlds = max(paths[k].worlds for k in turning)
        plane = turns_of([paths[k] for k in turning], worlds)
        most = np.empty((len(turning), worlds))
        for row, k in enumerate(turning):
            most[row] = amounts[k]
        fans = _fans(plane, most, rounding)
    found: list[tuple[Convex, ...]] = []
    for path, amount in zip(paths, amounts, strict=True):
        if path.about is None:
            far = np.broadcast_to(np.asarray(amount, dtype=np.float64), (path.worlds,))
            found.append((_slid(path, far),))
        else:
            found.append(next(fans))
    return found


def _fans(plane: Turn, far: Floats, rounding: float | None) -> Iterator[tuple[Convex, ...]]:
    """The sectors of each path, as many as keep each within half a turn; far (paths, worlds)."""
    shape = _shape_of(plane.section)
    for row, most in enumerate(far.max(axis=1).tolist()):
        pieces = max(1, int(np.ceil(most / np.pi - 1e-9)))
        shares = np.linspace(0.0, 1.0, pieces + 1).tolist() if pieces > 1 else [0.0, 1.0]
        fine = rounding or (_FINE if plane.kinds[row] == "upright" else _COARSE)
        yield tuple(
            _turned(plane, shape, row, (far[row] * a, far[row] * (b - a)), fine)
            for a, b in pairwise(shares)
        )


def _slid(path: Path, far: Floats) -> Convex:
    """Shut and moved together: the box drawn out along the way it slides."""
    shut, out = path.solid, path.at(far)
    if path.solid.corners.shape[1] == 8:
        ahead = np.einsum("wni,wi->wn", shut.corners, np.broadcast_to(path.axis, (len(far), 3)))
        middle = (ahead.min(axis=1) + ahead.max(axis=1))[:, None] / 2.0
        corners = np.where((ahead > middle)[..., None], out.corners, shut.corners)
        return Convex(corners, shut.faces)
    low, high = np.minimum(shut.low, out.low), np.maximum(shut.high, out.high)
    ring = np.stack(
        [
            low[:, :2],
            np.stack([high[:, 0], low[:, 1]], axis=1),
            high[:, :2],
            np.stack([low[:, 0], high[:, 1]], axis=1),
        ],
        axis=1,
    )
    return prism(ring, low[:, 2], high[:, 2])


@dataclass(frozen=True, slots=True, eq=False)
class _Shape:
    """What the sectors of some sections are like, (paths, worlds) each.

    outer : how far the section reaches; face : how far its leading face does
    first : the angle the leading face starts at; lag : how far the other far corner is behind it
    """

    outer: Floats
    face: Floats
    first: Floats
    lag: Floats


def _shape_of(section: Floats) -> _Shape:
    """For sections (paths, worlds, 4, 2).

    A section turns about a corner of its leading face, so that the face runs ahead and the far
    corner behind it reaches furthest.
    """
    radius = np.hypot(section[..., 0], section[..., 1])
    angle = np.arctan2(section[..., 1], section[..., 0])
    far = np.argsort(radius[:, 0], axis=1, kind="stable")[:, -2:, None]
    rows = np.arange(len(section))[:, None, None]
    worlds = np.arange(section.shape[1])
    a, b = (angle[rows[:, 0], worlds, far[:, k]] for k in (0, 1))
    # Of the two far corners, the one that leads the other round.
    ahead = np.where(np.mod(a - b, 2.0 * np.pi) < np.pi, far[:, 0], far[:, 1])
    behind = far[:, 0] + far[:, 1] - ahead
    first, last = (angle[rows[:, 0], worlds, which] for which in (ahead, behind))
    face = radius[rows[:, 0], worlds, ahead]
    return _Shape(radius.max(axis=2), face, first, np.mod(first - last, 2.0 * np.pi))


def _turned(
    plane: Turn, shape: _Shape, row: int, turns: tuple[Floats, Floats], rounding: float
) -> Convex:
    """Sector swept by a panel from one angle on, up to half a turn, as a prism along its axis."""
    start, turn = turns
    upright = plane.kinds[row] == "upright"
    about, axis, ends = plane.about[row], plane.axis[row], plane.ends[row]
    ring = _sector(shape, row, start, turn, rounding)
    flat = ring[..., :1] * plane.right[row][:, None]
    flat = flat + ring[..., 1:] * plane.up[row][:, None] + about[:, None]
    low, high = (ends[:, k, None, None] * axis[:, None] for k in (0, 1))
    if upright:
        down = float(axis[0, 2]) < 0
        corners = flat[:, ::-1] if down else flat
        levels = np.sort(np.stack([(flat + low)[:, 0, 2], (flat + high)[:, 0, 2]], axis=1), axis=1)
        return prism(corners[..., :2], levels[:, 0], levels[:, 1])
    faces: Faces = prism_faces(ring.shape[1], upright=False)
    return Convex(np.concatenate([flat + low, flat + high], axis=1), faces)


def _sector(shape: _Shape, row: int, start: Floats, turn: Floats, rounding: float) -> Floats:
    """(worlds, n, 2) convex ring round what a section sweeps, its place at the start left out."""
    outer = shape.outer[row]
    arc = np.maximum(turn - shape.lag[row], turn * 1e-6)
    widest = 2.0 * math.acos(1.0 - rounding / (float(outer.max()) + rounding))
    sides = max(2, math.ceil(float(arc.max()) / widest))
    half = arc[:, None] / sides / 2.0
    angles, reach = np.zeros((2, len(arc), sides + 3))
    angles[:, 1:-2] = half + 2.0 * half * np.arange(sides)
    angles[:, -2], angles[:, -1] = arc, turn
    reach[:, :-1] = outer[:, None]
    reach[:, 1:-2] *= 1.0 / np.cos(half)
    reach[:, -1] = shape.face[row]
    angles = angles + (shape.first[row] + start)[:, None]
    ring = np.zeros((len(arc), sides + 4, 2))
    ring[:, 1:, 0], ring[:, 1:, 1] = np.cos(angles) * reach, np.sin(angles) * reach
    return ring
