"""Tilting a thing on the spot, and carrying it tilted: ways of holding it in, changes out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.geometry.solids import Floats
from massing.routes.thing import Hold, hold_of, own, rolled
from massing.scheme.layout import Placed

__all__ = ["LONG", "Tilt", "leans_of", "tilts_of"]

LONG = 3.0
"""A thing this many times as long as it is wide and high is carried tilted too, to shorten it.
Common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Tilt:
    """A change between upright and laid down on the spot, the foot sliding on the floor.

    between : numbers of the two holds; ring : (4, 2) floor it takes; height : its most, mm
    axis : 0 or 1, the way its top goes down; tall, deep, wide : upright, mm, deep along the axis
    span : from how upright to how upright it goes, radians: laid down is 0

    With its middle kept over one place, a thing h high and d deep is at most sqrt(h² + d²) both
    deep and high while it turns: the exact height under a level ceiling, and never too small a
    floor. Under a slope each corner is followed on its own way, see ``lines``.
    """

    between: tuple[int, int]
    ring: Floats
    height: float
    axis: int
    tall: float
    deep: float
    wide: float
    span: tuple[float, float] = (0.0, math.pi / 2.0)

    def reach(self, along: Floats, across: Floats) -> Floats:
        """Greatest height over the floor, mm, less what a ceiling rises to that corner.

        along, across : its slope the way the top goes, and square to that
        At a tilt of p a corner of the box that bounds the thing is A sin p + B cos p over the
        ceiling's own change: the least upper bound over the span, in closed form.

        >>> cabinet = Tilt((0, 1), np.empty((0, 2)), 0.0, 1, 1850.0, 600.0, 700.0)
        >>> cabinet.reach(np.array([0.0, 0.25]), np.zeros(2)).round(2).tolist()
        [1944.87, 1960.0]
        """
        best = np.full(np.shape(along), -np.inf)
        for end in (-0.5, 0.5):
            for side in (-0.5, 0.5):
                s, t = end * self.tall, side * self.deep
                rise = self.tall / 2.0 + s + along * t
                level = self.deep / 2.0 + t - along * s
                best = np.maximum(best, _most(rise, level, self.span))
        return np.asarray(best + np.abs(across) * self.wide / 2.0)

    def lines(self, plane: Floats, level: float, turns: Floats) -> Floats:
        """(turns, 3) nx, ny, limit: it meets a ceiling plane (3,) where nx x + ny y < limit.

        level : z of the floor it tilts on, mm; turns : radians; x, y : of its middle
        """
        right = plane[0] * np.cos(turns) + plane[1] * np.sin(turns)
        ahead = plane[1] * np.cos(turns) - plane[0] * np.sin(turns)
        along, across = (right, ahead) if self.axis == 0 else (ahead, right)
        steep = float(np.hypot(plane[0], plane[1]))
        rows = np.empty((len(turns), 3))
        rows[:, 0], rows[:, 1] = plane[0] / steep, plane[1] / steep
        rows[:, 2] = (level + self.reach(along, across) - plane[2]) / steep
        return rows


def _most(sine: Floats, cosine: Floats, span: tuple[float, float]) -> Floats:
    """Greatest of ``sine * sin p + cosine * cos p`` over a span of p, radians."""
    low, high = span
    ends = [sine * np.sin(p) + cosine * np.cos(p) for p in span]
    top = np.arctan2(sine, cosine)
    inside = (top >= low) & (top <= high)
    return np.where(inside, np.hypot(sine, cosine), np.maximum(*ends))


def tilts_of(holds: Sequence[Hold]) -> tuple[Tilt, ...]:
    """The changes between upright, the first hold, and those tipped over, each to the next."""
    found = []
    upright = holds[0]
    for axis in (1, 0):
        chain = [k for k, hold in enumerate(holds) if hold.axis == axis]
        chain = [*sorted(chain, key=lambda k: holds[k].lean), 0]
        sizes = (upright.height, float(upright.size[axis]), float(upright.size[1 - axis]))
        tall, deep = np.array(sizes[0]), np.array(sizes[1])
        for one, other in pairwise(chain):
            span = (holds[one].lean, holds[other].lean)
            half = upright.size / 2.0
            half[axis] = float(_most(deep, tall, span)) / 2.0
            ring = half * np.array([[-1.0, -1.0], [1, -1], [1, 1], [-1, 1]])
            height = float(_most(tall, deep, span))
            found.append(Tilt((other, one), ring, height, axis, *sizes, span))
    return tuple(found)


def leans_of(item: Placed, upright: Hold, heights: Sequence[float]) -> tuple[Hold, ...]:
    """Ways to hold a long thing tilted about one axis, so that it just fits under each height, mm.

    None for a thing that is not ``LONG``. A thing h high and d deep is h sin p + d cos p high at a
    tilt of p; what is highest is left out where a lesser tilt would do.
    """
    low, *more = sorted((*upright.size.tolist(), upright.height))
    if more[-1] < LONG * max(low, more[0]):
        return ()
    solids = [own(part.solid, item) for part in item.parts]
    found = []
    for axis in (1, 0):
        tall, deep = upright.height, float(upright.size[axis])
        whole = math.hypot(tall, deep)
        for height in heights:
            if height >= whole or max(tall, deep) < LONG * float(upright.size[1 - axis]):
                continue
            off, peak = math.acos(height / whole), math.atan2(tall, deep)
            for lean in (peak - off, peak + off):
                if 0.05 < lean < math.pi / 2.0 - 0.05:
                    name = f"leaning {math.degrees(lean):.0f}°"
                    tipped = [rolled(solid, axis, lean) for solid in solids]
                    found.append(hold_of(name, tipped, axis, lean))
    return tuple({hold.name: hold for hold in found}.values())
