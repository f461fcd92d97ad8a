"""Where the eye is: a room's bounds and a view's name in, a parallel camera out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Floats

__all__ = ["VIEWS", "View", "view_of"]

VIEWS = ("corner", "back corner", "plan", "long section", "cross section")
_MARGIN = 1.08

# Towards the eye, and which way is up in the picture; the sections cut through the middle.
_WAYS = {
    "corner": ((0.55, -1.0, 0.62), (0.0, 0.0, 1.0)),
    "back corner": ((-0.55, 1.0, 0.62), (0.0, 0.0, 1.0)),
    "plan": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
    "long section": ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
    "cross section": ((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
}


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A parallel view.

    right, up, towards : (3,) unit vectors of the picture, towards being to the eye
    middle : (3,) mm, the room's middle; half_height : mm shown above and below it
    """

    name: str
    right: Floats
    up: Floats
    towards: Floats
    middle: Floats
    half_height: float
    size: tuple[int, int]

    def pixel(self, point: Floats) -> tuple[float, float]:
        """Where a point of the room falls in the picture, pixels from the top left."""
        width, height = self.size
        off = np.asarray(point, dtype=np.float64) - self.middle
        scale = height / 2.0 / self.half_height
        return (
            width / 2.0 + float(off @ self.right) * scale,
            height / 2.0 - float(off @ self.up) * scale,
        )


def view_of(name: str, low: Floats, high: Floats, size: tuple[int, int]) -> View:
    """The view of that name, fitted so that every corner of the bounds is in the picture."""
    way, up_way = _WAYS[name]
    towards = np.array(way) / np.linalg.norm(way)
    right = np.cross(up_way, towards)
    right = right / np.linalg.norm(right)
    up = np.cross(towards, right)
    middle = (low + high) / 2.0
    corners = (
        np.array(
            [
                [x, y, z]
                for x in (low[0], high[0])
                for y in (low[1], high[1])
                for z in (low[2], high[2])
            ]
        )
        - middle
    )
    across, tall = corners @ right, corners @ up
    middle = middle + right * (across.max() + across.min()) / 2 + up * (tall.max() + tall.min()) / 2
    half = max((tall.max() - tall.min()) / 2, (across.max() - across.min()) / 2 * size[1] / size[0])
    return View(name, right, up, towards, middle, float(half * _MARGIN), size)
