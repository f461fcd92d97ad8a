"""A small shaded drawing of solids with nothing but arrays: solids and tones in, pixels out.

Parallel view from the front, the right and above. Each pixel keeps the nearest face, so what is
hidden is hidden exactly to a pixel; edges are drawn where neighbouring pixels show different
parts or faces that turn away from one another. Drawn at three times the size and brought down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Convex, Floats

__all__ = ["Drawn", "Frame", "Patch", "Shade", "draw_solids", "frame_of", "rgb"]

Pixels = NDArray[np.float64]
_FINE = 3  # times the size it is drawn at
_TURN, _LIFT = np.radians(32.0), np.radians(26.0)
RIGHT = np.array([np.cos(_TURN), np.sin(_TURN), 0.0])
TOWARDS = np.array([np.sin(_TURN) * np.cos(_LIFT), -np.cos(_TURN) * np.cos(_LIFT), np.sin(_LIFT)])
UP = np.cross(TOWARDS, RIGHT)
_SUN = np.array([-0.35, -0.55, 0.76])
_BEND = np.cos(np.radians(30.0))  # faces that turn by less are one curved face


@dataclass(frozen=True, slots=True)
class Shade:
    """What a solid is drawn in: colour (3,) 0..1, and a name that parts cut from one share."""

    part: str
    colour: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """One solid to draw, nominal world; ``before`` mm nearer the eye than it is, to show flush."""

    solid: Convex
    shade: Shade
    before: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """A flat convex ring (n, 3) to tint, in a colour, striped or plain."""

    ring: Floats
    colour: tuple[float, float, float]
    striped: bool


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Where points fall: pixels a mm, and the pixel of the room's origin."""

    scale: float
    origin: Floats

    def pixels(self, points: Floats) -> Floats:
        """(n, 3) points in mm to (n, 2) pixels, x to the right and y down."""
        across = points @ RIGHT * self.scale + self.origin[0]
        down = self.origin[1] - points @ UP * self.scale
        return np.stack([across, down], axis=1)


def rgb(colour: str) -> tuple[float, float, float]:
    """A #RRGGBB colour as three shares.

    >>> rgb("#FF0000")
    (1.0, 0.0, 0.0)
    """
    red, green, blue = (int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5))
    return red, green, blue


def frame_of(points: Floats, size: tuple[int, int], margin: float) -> Frame:
    """The frame that shows all points (n, 3) in a picture, as large as they go, in the middle."""
    flat = np.stack([points @ RIGHT, points @ UP], axis=1)
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array(size, dtype=np.float64) - 2.0 * margin
    scale = float(np.min(room / np.maximum(high - low, 1e-9)))
    middle = (low + high) / 2.0 * scale
    return Frame(scale, np.array([size[0] / 2.0 - middle[0], size[1] / 2.0 + middle[1]]))


def draw_solids(
    drawn: list[Drawn],
    floor: list[Patch],
    frame: Frame,
    size: tuple[int, int],
    ground: tuple[float, float, float],
    ink: tuple[float, float, float],
) -> NDArray[np.uint8]:
    """(height, width, 3) picture of solids over faint flat polygons at their foot."""
    width, height = size[0] * _FINE, size[1] * _FINE
    fine = Frame(frame.scale * _FINE, frame.origin * _FINE)
    picture = np.empty((height, width, 3))
    picture[:] = ground
    for patch in floor:
        _tint(picture, fine.pixels(patch.ring), patch)
    nearest = np.full((height, width), -np.inf)
    part = np.full((height, width), -1, dtype=np.int64)
    normal = np.zeros((height, width, 3))
    names = {name: k for k, name in enumerate(dict.fromkeys(d.shade.part for d in drawn))}
    for one in drawn:
        corners = one.solid.corners[0]
        for face in one.solid.faces.rings:
            ring = corners[list(face)]
            out = _outward(ring)
            if float(out @ TOWARDS) <= 1e-9:
                continue
            where, inside = _covered(fine.pixels(ring), (height, width))
            if not inside.any():
                continue
            depth = _depth(ring, out, fine, where)
            depth += one.before
            seen = inside & (depth > nearest[where] + 1e-6)
            nearest[where][seen] = depth[seen]
            part[where][seen] = names[one.shade.part]
            normal[where][seen] = out
            picture[where][seen] = _lit(one.shade.colour, out)
    picture[_edges(part, normal)] = ink
    fine_rows = picture.reshape(size[1], _FINE, size[0], _FINE, 3)
    return np.asarray(np.round(fine_rows.mean(axis=(1, 3)) * 255.0).astype(np.uint8))


def _outward(ring: Floats) -> Floats:
    """Unit normal of a flat ring, counter-clockwise seen from outside (Newell's sum)."""
    out = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)
    size = float(np.linalg.norm(out))
    return out / size if size > 1e-12 else np.zeros(3)


def _lit(colour: tuple[float, float, float], out: Floats) -> Floats:
    light = 0.62 + 0.38 * max(float(out @ _SUN), 0.0)
    return np.clip(np.array(colour) * light, 0.0, 1.0)


def _covered(ring: Floats, limit: tuple[int, int]) -> tuple[tuple[slice, slice], NDArray[np.bool_]]:
    """The window of pixels round a convex ring (n, 2), and which of them it covers."""
    low = np.maximum(np.floor(ring.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(ring.max(axis=0)).astype(int) + 1, [limit[1], limit[0]])
    where = (
        slice(int(low[1]), int(max(high[1], low[1]))),
        slice(int(low[0]), int(max(high[0], low[0]))),
    )
    y, x = np.mgrid[where]
    inside = np.ones(x.shape, dtype=bool)
    ends = np.roll(ring, -1, axis=0)
    turn = np.sum(ring[:, 0] * ends[:, 1] - ends[:, 0] * ring[:, 1])
    for (x0, y0), (x1, y1) in zip(ring, ends, strict=True):
        side = (x1 - x0) * (y + 0.5 - y0) - (y1 - y0) * (x + 0.5 - x0)
        inside &= side * np.sign(turn) >= 0.0
    return where, inside


def _depth(ring: Floats, out: Floats, frame: Frame, where: tuple[slice, slice]) -> Pixels:
    """How near each pixel's point on the face's plane is, mm towards the eye."""
    y, x = np.mgrid[where]
    across = (x + 0.5 - frame.origin[0]) / frame.scale
    up = (frame.origin[1] - y - 0.5) / frame.scale
    known = float(out @ ring[0]) - across * float(out @ RIGHT) - up * float(out @ UP)
    return np.asarray(known / float(out @ TOWARDS))


def _tint(picture: Pixels, ring: Floats, patch: Patch) -> None:
    """Lay a faint colour over a flat convex ring, with a firmer rim, and stripes if asked."""
    colour = np.array(patch.colour)
    where, inside = _covered(ring, (picture.shape[0], picture.shape[1]))
    picture[where][inside] += 0.16 * (colour - picture[where][inside])
    firm = inside & ~_eaten(inside, _FINE - 1)
    if patch.striped:
        y, x = np.mgrid[where]
        firm |= inside & ((x - y) % (7 * _FINE) < _FINE)
    picture[where][firm] += 0.45 * (colour - picture[where][firm])


def _eaten(inside: NDArray[np.bool_], far: int) -> NDArray[np.bool_]:
    """What is left of a shape when so many pixels are taken off all round."""
    left = np.pad(inside, far)
    for _ in range(far):
        core = left.copy()
        for axis in (0, 1):
            for step in (-1, 1):
                core &= np.roll(left, step, axis=axis)
        left = core
    return np.asarray(left[far:-far, far:-far])


def _edges(part: NDArray[np.int64], normal: Pixels) -> NDArray[np.bool_]:
    """Pixels on an edge: where parts meet, where one ends, where a face turns."""
    edge = np.zeros(part.shape, dtype=bool)
    for axis in (0, 1):
        one = [slice(None), slice(None)]
        other = [slice(None), slice(None)]
        one[axis], other[axis] = slice(None, -1), slice(1, None)
        a, b = tuple(one), tuple(other)
        turned = np.sum(normal[a] * normal[b], axis=2) < _BEND
        differs = (part[a] != part[b]) | (turned & (part[a] >= 0))
        edge[a] |= differs
        edge[b] |= differs
    return edge
