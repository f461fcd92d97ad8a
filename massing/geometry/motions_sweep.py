"""The space a moving solid passes through: a path in, convex solids round it out.

Never smaller than the truth, and outside it by no more than a stated rounding. A slide is exact.
The place a turning panel has while shut is left out: it lies within its own body.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from massing.geometry.motions import Path, Turn, turns_of
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


def all_swept(paths: Sequence[Path], amounts: Sequence[Floats]) -> list[tuple[Convex, ...]]:
    """The solids of each path up to its own amount, as ``swept_solids`` has them."""
    turning = [k for k, path in enumerate(paths) if path.about is not None]
    worlds = max((paths[k].worlds for k in turning), default=1)
    plane = turns_of([paths[k] for k in turning], worlds) if turning else None
    row = {k: number for number, k in enumerate(turning)}
    found: list[tuple[Convex, ...]] = []
    for k, (path, amount) in enumerate(zip(paths, amounts, strict=True)):
        far = np.asarray(amount, dtype=np.float64)
        if plane is None or path.about is None:
            found.append((_slid(path, np.broadcast_to(far, (path.worlds,))),))
            continue
        far = np.broadcast_to(far, (worlds,))
        pieces = max(1, int(np.ceil(float(far.max()) / np.pi - 1e-9)))
        shares = np.linspace(0.0, 1.0, pieces + 1).tolist()
        found.append(
            tuple(_turned(plane, row[k], far * a, far * (b - a)) for a, b in pairwise(shares))
        )
    return found


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


def _turned(plane: Turn, row: int, start: Floats, turn: Floats) -> Convex:
    """Sector swept by a panel from one angle on, up to half a turn, as a prism along its axis."""
    upright = plane.kinds[row] == "upright"
    about, right, up, axis, section, ends = plane.rows(np.array([row]))
    ring = _sector(section, start, turn, _FINE if upright else _COARSE)
    flat = np.einsum("wn,wi->wni", ring[..., 0], right)
    flat = flat + np.einsum("wn,wi->wni", ring[..., 1], up) + about[:, None]
    low, high = (ends[:, k, None, None] * axis[:, None] for k in (0, 1))
    if upright:
        down = float(axis[0, 2]) < 0
        corners = flat[:, ::-1] if down else flat
        levels = np.sort(np.stack([(flat + low)[:, 0, 2], (flat + high)[:, 0, 2]], axis=1), axis=1)
        return prism(corners[..., :2], levels[:, 0], levels[:, 1])
    faces: Faces = prism_faces(ring.shape[1], upright=False)
    return Convex(np.concatenate([flat + low, flat + high], axis=1), faces)


def _sector(section: Floats, start: Floats, turn: Floats, rounding: float) -> Floats:
    """(worlds, n, 2) convex ring round what a rectangle sweeps, its place at the start left out.

    The rectangle turns about a corner of its leading face, so that the face runs ahead and the
    far corner behind it reaches furthest.
    """
    radius = np.hypot(section[..., 0], section[..., 1])
    outer = radius.max(axis=1)
    angle = np.arctan2(section[..., 1], section[..., 0])
    far = np.argsort(radius[0], kind="stable")[-2:]
    # Of the two far corners, the one that leads the other round.
    a, b = angle[:, far[0]], angle[:, far[1]]
    ahead = np.where(np.mod(a - b, 2.0 * np.pi) < np.pi, far[0], far[1])
    rows = np.arange(len(section))
    first = angle[rows, ahead] + start
    face = radius[rows, ahead]
    behind = angle[rows, far[0] + far[1] - ahead]
    lag = np.mod(angle[rows, ahead] - behind, 2.0 * np.pi)
    arc = np.maximum(turn - lag, turn * 1e-6)
    widest = 2.0 * np.arccos(1.0 - rounding / (float(outer.max()) + rounding))
    sides = max(2, int(np.ceil(float(arc.max()) / widest)))
    half = arc[:, None] / sides / 2.0
    angles = np.concatenate(
        [
            np.zeros_like(half),
            half + 2.0 * half * np.arange(sides),
            arc[:, None],
            turn[:, None],
        ],
        axis=1,
    )
    shares = np.concatenate(
        [np.ones_like(half), np.repeat(1.0 / np.cos(half), sides, axis=1), np.ones_like(half)],
        axis=1,
    )
    reach = np.concatenate([outer[:, None] * shares, face[:, None]], axis=1)
    angles = angles + first[:, None]
    ring = np.stack([np.cos(angles), np.sin(angles)], axis=-1) * reach[..., None]
    return np.concatenate([np.zeros((len(ring), 1, 2)), ring], axis=1)
