"""The shape of one item in its own frame, in many worlds: what placing moves into the room.

As you stand in front of the item: x to your right, y away from you, z up; the origin is the
bottom front left corner of the body's bounds, the front is the face at y = 0. Millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

from massing.geometry.solids import Convex, Floats
from massing.items.spec import ItemSpec

__all__ = ["GapShape", "ItemShape", "MotionShape", "PartShape", "ZoneShape"]


@dataclass(frozen=True, slots=True, eq=False)
class PartShape:
    """One convex part of the body; parts cut from one written part share its name."""

    name: str
    kind: str
    solid: Convex


@dataclass(frozen=True, slots=True, eq=False)
class ZoneShape:
    """Floor needed beside the item: one rectangle, (worlds, 4, 2) counter-clockwise, mm.

    headroom : (worlds,) mm, or None for the rule's default
    """

    name: str
    kind: str
    posture: str
    polygon: Floats
    headroom: Floats | None


@dataclass(frozen=True, slots=True, eq=False)
class GapShape:
    """Clear air needed on one side of the body's bounds, as a solid; depth (worlds,) mm."""

    side: str
    why: str
    depth: Floats
    solid: Convex


@dataclass(frozen=True, slots=True, eq=False)
class MotionShape:
    """Something that turns or slides.

    solid : the moving part in its shut position
    turn_about : (worlds, 3) a point on the axis and ``axis`` (3,) its direction, right-hand rule,
        for leaf, flap, lid and overhead; None for drawer and rise
    slide : (worlds, 3) displacement at full travel for drawer and rise; None for those that turn
    full : (worlds,) full travel, radians or mm; needs : the least that is enough, same unit
    """

    name: str
    kind: str
    solid: Convex
    axis: tuple[float, float, float]
    turn_about: Floats | None
    slide: Floats | None
    full: Floats
    needs: float | None


@dataclass(frozen=True, slots=True, eq=False)
class ItemShape:
    """The whole item; low and high are (worlds, 3) bounds of its body."""

    spec: ItemSpec
    parts: tuple[PartShape, ...]
    low: Floats
    high: Floats
    zones: tuple[ZoneShape, ...] = ()
    gaps: tuple[GapShape, ...] = ()
    motions: tuple[MotionShape, ...] = ()
