"""A side of an item in, the frame in which you face it out.

Facing a side you look at its face: ``along`` runs to your right, ``out`` towards you, z up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from massing.geometry.solids import Convex, Floats, box

__all__ = ["Side", "SideFrame", "face_side"]

Side: TypeAlias = Literal["front", "back", "left", "right"]

_ALONG = {"front": (1.0, 0.0), "right": (0.0, 1.0), "back": (-1.0, 0.0), "left": (0.0, -1.0)}
_OUT = {"front": (0.0, -1.0), "right": (1.0, 0.0), "back": (0.0, 1.0), "left": (-1.0, 0.0)}
_START = {"front": (0, 0), "right": (1, 0), "back": (1, 1), "left": (0, 1)}


@dataclass(frozen=True, slots=True, eq=False)
class SideFrame:
    """The frame of one side.

    start : (worlds, 2) plan corner at the left end of the side, mm
    along, out : (2,) unit vectors to your right and towards you
    width, depth : (worlds,) length of the side, and of the item away from you, mm
    """

    start: Floats
    along: Floats
    out: Floats
    width: Floats
    depth: Floats

    def point(self, along: Floats, out: Floats, up: Floats) -> Floats:
        """(worlds, 3) point at distances along the side, out from it and up, each (worlds,) mm."""
        plan = self.start + along[:, None] * self.along + out[:, None] * self.out
        return np.concatenate([plan, np.broadcast_to(up, along.shape)[:, None]], axis=1)

    def box(
        self, along: tuple[Floats, Floats], out: tuple[Floats, Floats], up: tuple[Floats, Floats]
    ) -> Convex:
        """Box between two distances along, out and up, each (worlds,) mm."""
        one = self.point(along[0], out[0], up[0])
        other = self.point(along[1], out[1], up[1])
        return box(np.minimum(one, other), np.maximum(one, other))

    @property
    def along3(self) -> tuple[float, float, float]:
        """Unit vector to your right."""
        return float(self.along[0]), float(self.along[1]), 0.0

    @property
    def out3(self) -> tuple[float, float, float]:
        """Unit vector towards you."""
        return float(self.out[0]), float(self.out[1]), 0.0


def face_side(side: Side, size: Floats) -> SideFrame:
    """Frame of a side of an item of that size, (worlds, 3) mm, its low corner at the origin.

    >>> frame = face_side("left", np.array([[600.0, 500.0, 850.0]]))
    >>> frame.start.tolist(), frame.along3, frame.out3, frame.width.tolist()
    ([[0.0, 500.0]], (0.0, -1.0, 0.0), (-1.0, 0.0, 0.0), [500.0])
    """
    flat = side in {"front", "back"}
    return SideFrame(
        start=size[:, :2] * np.array(_START[side], dtype=np.float64),
        along=np.array(_ALONG[side]),
        out=np.array(_OUT[side]),
        width=np.asarray(size[:, 0 if flat else 1]),
        depth=np.asarray(size[:, 1 if flat else 0]),
    )
