"""What a file may say of measurements that check one another: tables in, frozen values out.

A *corner* is named by the two walls that meet there, in either order: ``south/east``, or
``south-east`` where no name has a hyphen of its own. The corners also have letters: A where the
first wall begins, B where it ends, and so on in the order the walls are given (a room given by
its size: A south-west, B south-east, C north-east, D north-west).
"""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from massing.reading.fields import LengthField, Name, PositiveLength, Spec
from massing.room.angles import AngleReading

__all__ = ["CornerAngleSpec", "DiagonalSpec", "OffsetSpec", "SlopeReadingsSpec"]


class DiagonalSpec(Spec):
    """A length from corner to corner: ``{from: south/east, to: north/west, length: 4210 ±10}``."""

    name: Name | None = None
    from_: Name
    to: Name
    length: PositiveLength


class CornerAngleSpec(Spec):
    """The angle inside the room at a corner: ``{corner: south/east, inside: 88.5 ±0.5}``."""

    corner: Name
    inside: AngleReading

    @model_validator(mode="after")
    def _within_a_turn(self) -> Self:
        if not 0 < self.inside < 360:
            raise ValueError("the angle inside a corner is more than 0 and less than 360 degrees")
        return self


class OffsetSpec(Spec):
    """How far a corner lies square off the line between two others, positive into the room.

    ``{corner: B, from: A, to: C, length: 340 ±10}``
    """

    corner: Name
    from_: Name
    to: Name
    length: LengthField


class SlopeReadingsSpec(Spec):
    """More measurements of the slope that rises from a wall, beside its eaves and ridge heights.

    run : level, from the wall's face to the ridge (or to the face of the high wall)
    slope : along the rafter line over that run; pitch : degrees
    """

    run: PositiveLength | None = None
    slope: PositiveLength | None = None
    pitch: AngleReading | None = None

    @model_validator(mode="after")
    def _something(self) -> Self:
        if self.run is None and self.slope is None and self.pitch is None:
            raise ValueError("'measured' gives at least one of run, slope and pitch")
        if self.pitch is not None and not 0 < self.pitch < 89:
            raise ValueError("a pitch is more than 0 and less than 89 degrees")
        return self
