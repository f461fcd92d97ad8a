"""What the ``room:`` part of a project file may say: a table in, frozen values out.

Heights (floor levels, eaves, ridges, flats) are from the survey datum, z = 0. The sill of a door
or window is above the floor just inside it. ``along`` runs from a wall's left end as you face it
from inside.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from pydantic import Field, model_validator

from massing.reading.fields import (
    AngleField,
    Flag,
    LengthField,
    Name,
    PointField,
    PositiveLength,
    RangeField,
    Size2,
    Spec,
    by_form,
    one_of,
    variant,
)
from massing.reading.places import LeafSize
from massing.room.angles import Turn
from massing.room.fields import BoxOrPlan, PlanRanges
from massing.room.readings_spec import (
    CornerAngleSpec,
    DiagonalSpec,
    OffsetSpec,
    SlopeReadingsSpec,
)

__all__ = [
    "MOST_CORNERS",
    "AnchorSpec",
    "CeilingSpec",
    "DoorSpec",
    "FabricSpec",
    "FloorSpec",
    "HipSpec",
    "PartitionOpeningSpec",
    "PartitionSpec",
    "RegionSpec",
    "RidgeSpec",
    "RoomSpec",
    "WallSpec",
    "WindowSpec",
]

MOST_CORNERS = 200

PlanPoint: TypeAlias = tuple[LengthField, LengthField]
Pitches: TypeAlias = Annotated[
    Annotated[AngleField, variant("one")] | Annotated[dict[Name, AngleField], variant("each")],
    one_of(by_form(text="one", table="each")),
]
"""One pitch for every wall, or a pitch for each wall that has one (the others are gables)."""


class WallSpec(Spec):
    """A wall as walked clockwise from inside; a length left out is worked out from the others.

    ``turn`` is made at its far end: ``right``, ``left``, ``left 45`` or, as read with a gauge,
    ``right 88.5 ±0.5``. Without any measurement across the room the turns are taken as exact.
    """

    name: Name | None = None
    length: PositiveLength | None = None
    turn: Turn | None = None
    build_up: Name | None = None
    thickness: PositiveLength | None = None


class RegionSpec(Spec):
    """Which part of the plan an entry speaks of: the whole room when nothing is said."""

    name: Name | None = None
    from_: Name | None = None
    depth: PositiveLength | None = None
    area: PlanRanges | None = None

    @model_validator(mode="after")
    def _one_region(self) -> RegionSpec:
        if (self.from_ is None) != (self.depth is None):
            raise ValueError("'from' (a wall) and 'depth' are given together or not at all")
        if self.from_ is not None and self.area is not None:
            raise ValueError("'from' and 'area' are given together; keep one")
        return self


class FloorSpec(RegionSpec):
    """A level of the floor, over the room or a part of it."""

    level: LengthField


class RidgeSpec(Spec):
    """A level ridge along an axis; midway between its eaves walls when ``at`` is left out."""

    along: Literal["x", "y"]
    at: LengthField | None = None
    height: PositiveLength


class HipSpec(Spec):
    """A slope rising from each wall."""

    eaves: LengthField
    pitch: Pitches


class CeilingSpec(RegionSpec):
    """A ceiling over the room or a part of it: exactly one of the five forms.

    ``collar`` cuts a slope off with a flat; ``lowers`` takes the lower of this and what is there.
    ``measured`` gives, by the wall a slope rises from, what else was measured of it: heights, run,
    slope length and pitch are then adjusted together.

    ::

        - ridge: {along: x, height: 2250 ±10}
          eaves: {south: 900 ±10, north: 900 ±10}
          measured: {south: {run: 1620 ±5, slope: 2110 ±10, pitch: 39.8 ±0.5}}
    """

    flat: LengthField | None = None
    slopes: dict[Name, LengthField] | None = None
    pitch: AngleField | None = None
    ridge: RidgeSpec | None = None
    eaves: dict[Name, LengthField] | None = None
    hip: HipSpec | None = None
    plane: tuple[PointField, PointField, PointField] | None = None
    collar: LengthField | None = None
    lowers: Flag = False
    measured: dict[Name, SlopeReadingsSpec] | None = None

    @property
    def form(self) -> str:
        """Which form it has."""
        forms = ("flat", "slopes", "ridge", "hip", "plane")
        return next(name for name in forms if getattr(self, name) is not None)

    @model_validator(mode="after")
    def _one_form(self) -> CeilingSpec:
        forms = ("flat", "slopes", "ridge", "hip", "plane")
        held = [name for name in forms if getattr(self, name) is not None]
        if len(held) != 1:
            told = " and ".join(held) if held else "none"
            raise ValueError(f"a ceiling has exactly one of {', '.join(forms)}; this has {told}")
        if (self.ridge is None) != (self.eaves is None):
            raise ValueError("'ridge' and 'eaves' are given together or not at all")
        wanted = 1 if self.pitch is not None else 2
        if self.slopes is not None and len(self.slopes) != wanted:
            raise ValueError(
                "'slopes' gives the heights at two opposite walls, or at one wall with a 'pitch'"
            )
        if self.pitch is not None and self.slopes is None:
            raise ValueError("'pitch' goes with 'slopes'; a hip has its own")
        if self.eaves is not None and len(self.eaves) != 2:
            raise ValueError("'eaves' gives the heights at the two walls beside the ridge")
        return self

    @model_validator(mode="after")
    def _measured_fits(self) -> CeilingSpec:
        if self.measured is None:
            return self
        sloped = self.eaves if self.slopes is None else self.slopes
        if sloped is None or self.pitch is not None:
            raise ValueError("'measured' goes with two 'slopes' or with 'ridge' and 'eaves'")
        for name in self.measured:
            if name not in (sloped or ()):
                told = ", ".join(sloped or ())
                raise ValueError(f"'measured' speaks of wall '{name}'; the slopes are {told}")
        if self.slopes is not None and len(self.measured) > 1:
            raise ValueError("'measured' with 'slopes' speaks of the low wall alone")
        if self.ridge is not None and self.ridge.at is not None:
            raise ValueError("'at' and 'measured' are given together; give the run instead")
        return self


class FabricSpec(Spec):
    """A solid part of the building: a box, or a prism over plan corners.

    The height is the box's third range, or ``z``, or ``to: ceiling`` (from the floor, or from
    the level ``above``).
    """

    name: Name
    box: BoxOrPlan | None = None
    prism: tuple[PlanPoint, ...] | None = None
    z: RangeField | None = None
    to: Literal["ceiling"] | None = None
    above: LengthField | None = None
    stays: Flag = True

    @model_validator(mode="after")
    def _one_shape(self) -> FabricSpec:
        if (self.box is None) == (self.prism is None):
            raise ValueError("a part of the fabric has exactly one of box and prism")
        if self.prism is not None and not 3 <= len(self.prism) <= MOST_CORNERS:
            raise ValueError(f"a 'prism' has from 3 to {MOST_CORNERS} corners")
        heights = [self.box is not None and len(self.box) == 3, self.z is not None, bool(self.to)]
        if sum(heights) != 1:
            raise ValueError(
                "a part of the fabric has exactly one height: a third range in its box, z, or "
                "to: ceiling"
            )
        if self.above is not None and self.to is None:
            raise ValueError("'above' goes with 'to: ceiling'")
        return self


class DoorSpec(Spec):
    """A door; its opening is the leaf's size unless given (two leaves wide when double)."""

    name: Name
    wall: Name
    along: LengthField
    leaf: LeafSize | None = None
    opening: Size2 | None = None
    sill: LengthField | None = None
    hinge: Literal["left", "right"] = "left"
    opens: Literal["in", "out"] = "in"
    angle: AngleField = 90.0
    kind: Literal["hinged", "sliding", "double", "overhead", "open"] = "hinged"

    @model_validator(mode="after")
    def _leaf_or_opening(self) -> DoorSpec:
        if self.kind == "open" and (self.leaf is not None or self.opening is None):
            raise ValueError("an open doorway has an 'opening' and no 'leaf'")
        if self.kind != "open" and self.leaf is None:
            raise ValueError("a door has a 'leaf' such as 762 x 1981 x 44, or 'kind: open'")
        if not 0 < self.angle <= 270:
            raise ValueError("a door's 'angle' is more than 0 and at most 270 degrees")
        return self


class WindowSpec(Spec):
    """A window in a wall; ``escape`` says that people get out by it in a fire."""

    name: Name
    wall: Name
    along: LengthField
    size: Size2
    sill: LengthField
    opens: Literal["fixed", "in", "out", "sliding"] = "fixed"
    hinge: Literal["left", "right", "top", "bottom"] = "left"
    leaf: LeafSize | None = None
    angle: AngleField = 90.0
    escape: Flag = False

    @model_validator(mode="after")
    def _opens_to_escape(self) -> WindowSpec:
        if self.escape and self.opens == "fixed":
            raise ValueError("an escape window opens: say 'opens: in', 'out' or 'sliding'")
        return self


class AnchorSpec(Spec):
    """A place on a wall's face."""

    wall: Name
    along: LengthField


Anchor: TypeAlias = Annotated[
    Annotated[AnchorSpec, variant("wall")] | Annotated[PlanPoint, variant("point")],
    one_of(by_form(table="wall", rows="point")),
]


class PartitionOpeningSpec(Spec):
    """An opening in a partition, ``along`` from its ``from`` end; a leaf where it has a door."""

    name: Name | None = None
    along: LengthField
    leaf: LeafSize | None = None
    opening: Size2 | None = None
    sill: LengthField | None = None
    hinge: Literal["left", "right"] = "left"
    opens: Literal["in", "out"] = "in"
    angle: AngleField = 90.0
    kind: Literal["hinged", "sliding", "open"] = "hinged"

    @model_validator(mode="after")
    def _some_size(self) -> PartitionOpeningSpec:
        if self.leaf is None and self.opening is None:
            raise ValueError("an opening has a 'leaf' such as 762 x 1981 x 44, or an 'opening'")
        return self


Height: TypeAlias = Annotated[
    Annotated[Literal["full"], variant("full")] | Annotated[PositiveLength, variant("height")],
    one_of(lambda value: "full" if str(value).strip() == "full" else "height"),
]


class PartitionSpec(Spec):
    """A stud wall inside the room, between two places on its centre line."""

    name: Name
    build_up: Name | None = None
    thickness: PositiveLength | None = None
    from_: Anchor
    to: Anchor
    height: Height = "full"
    openings: tuple[PartitionOpeningSpec, ...] = ()

    @model_validator(mode="after")
    def _some_thickness(self) -> PartitionSpec:
        if (self.build_up is None) == (self.thickness is None):
            raise ValueError("a partition has exactly one of build-up and thickness")
        return self


class RoomSpec(Spec):
    """The room: an outline in one of three forms, and what bounds and fills it.

    x runs along the first size and y along the second, from the room's inside south-west corner.
    Corners measured inside keep their own origin; any other outline is shifted so that its least
    inside x and y are 0, and areas, boxes and points are written in that frame.

    Measurements across the room check a size or walls: ``diagonals``, ``offsets``, ``angles`` or a
    turn with a ±. All are then adjusted together by least squares. A bare ``right`` or ``left``
    only says which way the wall turns, unless ``square`` says within how many degrees the corners
    are square (a room given by its size: 1 degree when not said). A length without a ± is taken
    as a tape's; they are outside sizes where the room is ``measured: outside``.

    ::

        walls:
          - {name: north, length: 3610 ±5}
          - {name: east, length: 2240 ±5}
          - {name: south, length: 3655 ±5}
          - {name: west, length: 1985 ±5}
        diagonals:
          - {from: north/west, to: south/east, length: 4190 ±5}
          - {from: north/east, to: south/west, length: 4240 ±5}
    """

    measured: Literal["inside", "outside"] = "inside"
    build_up: Name | None = None
    thickness: PositiveLength | None = None
    build_ups: dict[Name, Name] = Field(default_factory=dict)
    thicknesses: dict[Name, PositiveLength] = Field(default_factory=dict)
    size: Size2 | None = None
    walls: tuple[WallSpec, ...] | None = None
    corners: tuple[PlanPoint, ...] | None = None
    names: tuple[Name, ...] | None = None
    diagonals: tuple[DiagonalSpec, ...] = ()
    offsets: tuple[OffsetSpec, ...] = ()
    angles: tuple[CornerAngleSpec, ...] = ()
    square: AngleField | None = None
    north: AngleField = Field(
        0.0,
        description="Where true north lies: degrees clockwise from +y, which is up the plan. "
        "Walls keep the names north, east, south and west of the room's own axes.",
    )
    # Every level and every ceiling is cut against every other: many more than a room has would
    # keep a checker busy for minutes.
    floor: tuple[FloorSpec, ...] = Field((), max_length=40)
    ceiling: tuple[CeilingSpec, ...] = Field(max_length=24)
    fabric: tuple[FabricSpec, ...] = Field((), max_length=200)
    doors: tuple[DoorSpec, ...] = Field((), max_length=40)
    windows: tuple[WindowSpec, ...] = Field((), max_length=40)

    @property
    def crossed(self) -> bool:
        """Whether the shape comes of measurements: across the room, or a triangle's three sides."""
        turns = [wall.turn for wall in self.walls or ()]
        turned = any(turn is not None and turn.pm is not None for turn in turns)
        across = self.diagonals or self.offsets or self.angles
        triangle = len(turns) == 3 and all(turn is None for turn in turns)
        return bool(across) or turned or triangle or self.square is not None

    @model_validator(mode="after")
    def _one_outline(self) -> RoomSpec:
        forms = [name for name in ("size", "walls", "corners") if getattr(self, name) is not None]
        if len(forms) != 1:
            told = " and ".join(forms) if forms else "none"
            raise ValueError(f"a room has exactly one of size, walls and corners; this has {told}")
        if not self.ceiling:
            raise ValueError("'ceiling' is an empty list; give at least one entry")
        if self.build_up is not None and self.thickness is not None:
            raise ValueError("'build-up' and 'thickness' are given together; keep one")
        if self.names is not None and self.corners is None:
            raise ValueError("'names' goes with 'corners'")
        across = [n for n in ("diagonals", "offsets", "angles") if getattr(self, n)]
        if self.corners is not None and (across or self.square is not None):
            told = across[0] if across else "square"
            raise ValueError(f"'{told}' goes with 'size' or 'walls', not with 'corners'")
        if self.square is not None and not 0 < self.square <= 10:
            raise ValueError("'square' is more than 0 and at most 10 degrees")
        return self
