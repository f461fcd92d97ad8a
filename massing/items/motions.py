"""What an item says of its doors, drawers and lids in, moving solids with their travel out.

A shut leaf, flap or overhead panel lies within the body's bounds with its face flush, and turns
about the edge of that face; so open it stands in front of its side and nowhere beside the item.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Convex, Floats, box
from massing.items.shape import MotionShape
from massing.items.sides import SideFrame, face_side
from massing.items.spec import MotionSpec
from massing.survey.values import Values
from massing.units import Length

__all__ = ["build_motions"]

THICKNESS = 20.0
"""Of a leaf, flap, lid or top that does not say, mm. Source: common practice, no source."""
OPENS = 90.0
"""Degrees, where unsaid."""


def build_motions(
    specs: tuple[MotionSpec, ...], size: Floats, values: Values, key: str
) -> tuple[MotionShape, ...]:
    """Each motion's moving solid, shut, with its axis or slide and its full travel.

    size : (worlds, 3) mm of the body's bounds, low corner at the origin

    >>> door = MotionSpec.model_validate({"name": "door", "kind": "leaf", "needs": 90})
    >>> motion = build_motions((door,), np.array([[600.0, 650, 1850]]), Values(), "fridge")[0]
    >>> motion.axis, motion.turn_about.tolist(), motion.solid.high.tolist()
    ((0.0, 0.0, -1.0), [[0.0, 0.0, 0.0]], [[600.0, 20.0, 1850.0]])
    """
    makers = {
        "leaf": _leaf,
        "flap": _flap,
        "lid": _lid,
        "drawer": _drawer,
        "rise": _rise,
        "overhead": _overhead,
    }
    return tuple(makers[spec.kind](_Said(spec, size, values, key)) for spec in specs)


@dataclass(frozen=True, slots=True, eq=False)
class _Said:
    """A motion's words with the item they speak of, answering with (worlds,) sizes."""

    spec: MotionSpec
    size: Floats
    values: Values
    key: str

    def of(self, name: str, otherwise: Floats | float) -> Floats:
        """The size said under that name, or the one that goes without saying."""
        length: Length | None = getattr(self.spec, name)
        if length is None:
            return np.broadcast_to(np.asarray(otherwise, dtype=np.float64), (len(self.size),))
        return self.values(length, key=f"{self.key} {self.spec.name} {name}")

    @property
    def frame(self) -> SideFrame:
        """The frame of the side it is on."""
        return face_side(self.spec.side, self.size)

    def panel(self, frame: SideFrame) -> tuple[Convex, _Panel]:
        """The shut panel in a side, flush with its face."""
        width = self.of("width", frame.width)
        flush_right = self.spec.kind == "leaf" and self.spec.hinge == "right"
        left = self.of("shift", frame.width - width if flush_right else 0.0)
        low = self.of("low", 0.0)
        high = low + self.of("height", self.size[:, 2] - low)
        thickness = self.of("thickness", THICKNESS)
        solid = frame.box((left, left + width), (-thickness, 0 * thickness), (low, high))
        return solid, _Panel(left, left + width, low, high, thickness)

    def turning(
        self, solid: Convex, axis: tuple[float, float, float], about: Floats
    ) -> MotionShape:
        """A motion that turns."""
        angle = math.radians(OPENS if self.spec.angle is None else self.spec.angle)
        needs = None if self.spec.needs is None else math.radians(self.spec.needs)
        full = np.full(len(self.size), angle)
        axis = (axis[0] + 0.0, axis[1] + 0.0, axis[2] + 0.0)
        return MotionShape(self.spec.name, self.spec.kind, solid, axis, about, None, full, needs)

    def sliding(self, solid: Convex, way: tuple[float, float, float]) -> MotionShape:
        """A motion that slides by its travel."""
        travel = self.of("travel", 0.0)
        slide = travel[:, None] * np.array(way)
        needs = self.spec.needs
        return MotionShape(self.spec.name, self.spec.kind, solid, way, None, slide, travel, needs)


@dataclass(frozen=True, slots=True, eq=False)
class _Panel:
    """Ends of a panel in its side's frame, each (worlds,) mm."""

    left: Floats
    right: Floats
    low: Floats
    high: Floats
    thickness: Floats


def _leaf(said: _Said) -> MotionShape:
    frame = said.frame
    solid, panel = said.panel(frame)
    on_right = said.spec.hinge == "right"
    about = frame.point(panel.right if on_right else panel.left, 0 * panel.low, panel.low)
    return said.turning(solid, (0.0, 0.0, 1.0 if on_right else -1.0), about)


def _flap(said: _Said) -> MotionShape:
    frame = said.frame
    solid, panel = said.panel(frame)
    return said.turning(solid, frame.along3, frame.point(panel.left, 0 * panel.low, panel.low))


def _overhead(said: _Said) -> MotionShape:
    """Turns about the inner face's top edge, so that open it hangs wholly below that level."""
    frame = said.frame
    solid, panel = said.panel(frame)
    return said.turning(solid, frame.along3, frame.point(panel.left, -panel.thickness, panel.high))


def _lid(said: _Said) -> MotionShape:
    frame = face_side(said.spec.hinge or "back", said.size)
    width, reach = said.of("width", frame.width), said.of("height", frame.depth)
    left = said.of("shift", 0.0)
    top, thickness = said.of("low", said.size[:, 2]), said.of("thickness", THICKNESS)
    solid = frame.box((left, left + width), (-reach, 0 * reach), (top - thickness, top))
    return said.turning(solid, frame.along3, frame.point(left, 0 * reach, top))


def _drawer(said: _Said) -> MotionShape:
    frame = said.frame
    width, low = said.of("width", frame.width), said.of("low", 0.0)
    left, deep = said.of("shift", 0.0), said.of("thickness", frame.depth)
    high = low + said.of("height", said.size[:, 2] - low)
    return said.sliding(frame.box((left, left + width), (-deep, 0 * deep), (low, high)), frame.out3)


def _rise(said: _Said) -> MotionShape:
    """The top over the whole plan, its upper face at ``low``; as drawn where that is unsaid."""
    top, thickness = said.of("low", said.size[:, 2]), said.of("thickness", THICKNESS)
    low, high = np.zeros_like(said.size), said.size.copy()
    low[:, 2], high[:, 2] = top - thickness, top
    return said.sliding(box(low, high), (0.0, 0.0, 1.0))
