"""What a catalogue entry, or an item in a project file, may say: the models it is read into.

An item is described as you stand in front of it: x runs to your right, y away from you, z up,
with the origin at its bottom front left corner. Its front is the face at y = 0.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from massing.reading.fields import (
    AngleField,
    BoxRanges,
    Flag,
    LengthField,
    Name,
    Number,
    PointField,
    PositiveLength,
    RangeField,
    Size3,
    Spec,
)

__all__ = [
    "ControlSpec",
    "CylinderSpec",
    "GapsSpec",
    "ItemSpec",
    "MeshSpec",
    "MotionSpec",
    "PartSpec",
    "PrismSpec",
    "StackSpec",
    "WedgeSpec",
    "WorkingSpaceSpec",
    "ZoneSpec",
]

Side = Literal["front", "back", "left", "right"]
Axis = Literal["x", "y", "z"]


class CylinderSpec(Spec):
    """A round part: diameter and length, from the middle of one end along an axis."""

    at: PointField
    diameter: PositiveLength
    length: PositiveLength
    axis: Axis = "z"


class PrismSpec(Spec):
    """An upright prism: convex or not, over plan corners, between two levels."""

    corners: tuple[tuple[LengthField, LengthField], ...] = Field(min_length=3, max_length=60)
    z: RangeField


class WedgeSpec(Spec):
    """A box whose top slopes down to ``edge_height`` at one side."""

    box: BoxRanges
    low_side: Side
    edge_height: LengthField


class MeshSpec(Spec):
    """A closed mesh of the user's own, as GLB, OBJ or STL beside the project file.

    Left unsaid, a GLB is in metres with y up, as its standard (glTF 2.0) has it; OBJ and STL
    carry neither and are taken as mm with z up. ``at`` is where its least corner goes.
    """

    file: Name
    unit: Literal["mm", "cm", "m", "in"] | None = None
    up: Literal["z", "y"] | None = None
    at: PointField | None = None


class PartSpec(Spec):
    """One part of a body: exactly one of box, cylinder, prism, wedge or mesh."""

    name: Name
    kind: Literal["body", "door", "glass", "handle", "top", "metal", "frame", "soft"] = "body"
    box: BoxRanges | None = None
    cylinder: CylinderSpec | None = None
    prism: PrismSpec | None = None
    wedge: WedgeSpec | None = None
    mesh: MeshSpec | None = None

    @model_validator(mode="after")
    def _one_form(self) -> PartSpec:
        forms = [f for f in ("box", "cylinder", "prism", "wedge", "mesh") if getattr(self, f)]
        if len(forms) != 1:
            told = " and ".join(forms) if forms else "none"
            raise ValueError(
                f"a part has exactly one of box, cylinder, prism, wedge or mesh; it has {told}"
            )
        return self


class ZoneSpec(Spec):
    """Floor a person or a service needs beside the item, by the sides it lies on.

    Depths are measured out from the body's bounds. ``width`` and ``shift`` narrow and slide the
    part in front, at the back or beneath along the item (shift to the right, from the left edge as
    you stand in front; in the middle when unsaid). Where two sides meet, the corner between is
    included.
    """

    name: Name = "use"
    kind: Literal["person", "service"] = "person"
    front: PositiveLength | None = None
    back: PositiveLength | None = None
    left: PositiveLength | None = None
    right: PositiveLength | None = None
    under: Flag = False
    width: PositiveLength | None = None
    shift: LengthField | None = None
    headroom: PositiveLength | None = None
    posture: Literal[
        "standing",
        "sitting",
        "rising",
        "kneeling",
        "crawling",
        "lying",
        "pressing",
        "jumping",
        "none",
    ] = "standing"

    @model_validator(mode="after")
    def _some_side(self) -> ZoneSpec:
        if not (self.front or self.back or self.left or self.right or self.under):
            raise ValueError(
                "a zone says its depth on at least one side: front, back, left or right"
            )
        return self


class GapsSpec(Spec):
    """Clear air the item needs on each side: for ventilation, hoses, fixing or lifting off."""

    front: LengthField | None = None
    back: LengthField | None = None
    left: LengthField | None = None
    right: LengthField | None = None
    top: LengthField | None = None
    under: LengthField | None = None
    why: Name = "air and hoses"


class MotionSpec(Spec):
    """Something that moves: how it turns or slides, how far it goes, and how far it needs to.

    leaf : turns about an upright edge on ``side``; hinge left (default) or right as you face it
    flap : drops about its lower edge on ``side``
    lid : lifts about the ``hinge`` edge of the top (back by default); ``width`` runs along the
        hinge and ``height`` away from it
    drawer : slides straight out of ``side``; ``thickness`` is how deep it is
    rise : ``low``..``low + travel`` of the top and all that stands on it
    overhead : a panel that swings up and in from ``side`` under the ceiling

    Unsaid sizes come from the body: the whole width and height of its side, 20 thick, 90 degrees.
    ``shift`` runs from the left end as you face the side. ``needs`` is degrees or mm.
    """

    name: Name
    kind: Literal["leaf", "flap", "lid", "drawer", "rise", "overhead"]
    side: Side = "front"
    hinge: Literal["left", "right", "front", "back"] | None = None
    shift: LengthField | None = None
    low: LengthField | None = None
    width: PositiveLength | None = None
    height: PositiveLength | None = None
    thickness: PositiveLength | None = None
    angle: AngleField | None = None
    travel: PositiveLength | None = None
    needs: Number | None = None

    @model_validator(mode="after")
    def _enough(self) -> MotionSpec:
        if self.kind in {"drawer", "rise"} and self.travel is None:
            raise ValueError(f"a {self.kind} says its travel")
        if self.kind == "leaf" and self.hinge in {"front", "back"}:
            raise ValueError("a leaf is hinged left or right, as you face its side")
        if self.angle is not None and not 0 < self.angle <= 270:
            raise ValueError("it opens by more than 0 and at most 270 degrees")
        return self


class WorkingSpaceSpec(Spec):
    """Floor kept free before a thing that is worked on, which may lie off its centre.

    As wide as ``width`` or the thing itself, whichever is more; it must take in the whole of the
    thing's width. ``height`` from the floor, or the thing's own top where that is higher.
    """

    side: Side = "front"
    width: PositiveLength
    depth: PositiveLength
    height: PositiveLength
    centred: Flag = False
    why: Name = "working space"


class ControlSpec(Spec):
    """A control, valve or filter a hand must reach, and the band of heights it should be in.

    It is on ``side``, ``shift`` from the left end as you face that side; in the middle when
    unsaid. ``height`` is above the item's own base.
    """

    name: Name
    height: LengthField
    side: Side = "front"
    shift: LengthField | None = None
    between: RangeField | None = None


class StackSpec(Spec):
    """What may stand on what: ``on`` names the items this one may stand on."""

    on: tuple[Name, ...] = ()
    kit: Name | None = None
    carries: Number | None = None


class ItemSpec(Spec):
    """A catalogue entry, or an item in a project file.

    ``name`` may be left out in a project file, where the item's key is its name. ``stretch``
    says that the parts were drawn for another size and are to fill the body. ``kin`` is filled in
    when the item is resolved: what it is like, nearest first. ``wet`` is what holds or runs
    water; ``electrical`` a board, socket or switch that keeps away from it. ``vents`` names the
    faces it vents by, or that gas or a flue comes to: nothing ever stands before them.
    ``breathes`` is what takes its air from the room, and is never shut in.
    """

    name: Name = ""
    group: Name = "own"
    says: Name | None = None
    like: Name | None = None
    body: Size3 | None = None
    parts: tuple[PartSpec, ...] = ()
    stretch: Flag = False
    zones: tuple[ZoneSpec, ...] = ()
    zone: ZoneSpec | None = None
    gaps: GapsSpec | None = None
    motions: tuple[MotionSpec, ...] = ()
    controls: tuple[ControlSpec, ...] = ()
    working_space: WorkingSpaceSpec | None = None
    weight: Number | None = None
    mount: Literal["floor", "wall", "ceiling", "on"] = "floor"
    stack: StackSpec | None = None
    stores: Flag = False
    passable: Flag = False
    wet: Flag = False
    electrical: Flag = False
    vents: tuple[Literal["front", "back", "left", "right", "top", "under"], ...] = ()
    breathes: Flag = False
    cautions: tuple[str, ...] = ()
    basis: dict[str, str] = Field(default_factory=dict)
    kin: tuple[Name, ...] = ()

    @property
    def all_zones(self) -> tuple[ZoneSpec, ...]:
        """The zones, whether written one at a time or as a list."""
        return (*self.zones, self.zone) if self.zone else self.zones
