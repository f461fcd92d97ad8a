"""Angles as read on site in; degrees that know their ± out."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, Self, TypeAlias

from pydantic import PlainValidator, WithJsonSchema

from massing.errors import Mark
from massing.reading.nodes import Scalar
from massing.units import parse_angle, quoted

__all__ = ["ANGLE_HALF_WIDTH", "Angle", "AngleReading", "Turn"]

ANGLE_HALF_WIDTH = 0.5
"""Degrees, the ± of an angle read without one. Common practice with a gauge, no source."""

_PLUS_MINUS = re.compile(r"±|\+\s*/\s*-|\+-")
_TURN = re.compile(r"(right|left)(?:\s+(.+))?")


class Angle(float):
    """Degrees: equal to the plain number, and knowing its ± and where it was written.

    pm : half-width, degrees, None where not said
    read : the degrees were written as a number, not taken from a bare ``right`` or ``left``

    >>> Angle(88.5, pm=0.5) + 1.5, Angle(88.5, pm=0.5).pm
    (90.0, 0.5)
    """

    __slots__ = ("mark", "path", "pm", "read")

    pm: float | None
    read: bool
    mark: Mark | None
    path: str

    def __new__(
        cls,
        degrees: float,
        *,
        pm: float | None = None,
        read: bool = True,
        mark: Mark | None = None,
        path: str = "",
    ) -> Self:
        """Make one."""
        self = super().__new__(cls, degrees)
        self.pm = pm
        self.read = read
        self.mark = mark
        self.path = path
        return self

    def __getnewargs_ex__(self) -> tuple[tuple[float], dict[str, Any]]:
        """What copying and pickling need."""
        more = {"pm": self.pm, "read": self.read, "mark": self.mark, "path": self.path}
        return (float(self),), more

    @property
    def half_width(self) -> float:
        """Its ±, or that of an angle read without one."""
        return ANGLE_HALF_WIDTH if self.pm is None else self.pm


def _origin(value: object) -> dict[str, Any]:
    return {"mark": value.mark, "path": value.path} if isinstance(value, Scalar) else {}


def _parted(text: str) -> tuple[float, float | None]:
    said, *margins = _PLUS_MINUS.split(text)
    if len(margins) > 1:
        raise ValueError(f"{quoted(text)} has more than one ±")
    if not margins:
        return parse_angle(said), None
    pm = parse_angle(margins[0])
    if not 0 < pm < 45 or not math.isfinite(pm):
        raise ValueError(f"the ± of {quoted(text)} must be more than 0 and less than 45 degrees")
    return parse_angle(said), pm


def _reading(value: object) -> Angle:
    if isinstance(value, Angle):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Angle(float(value))
    if not isinstance(value, str):
        raise ValueError("write degrees such as 88.5 or 88.5 ±0.5")  # noqa: TRY004
    degrees, pm = _parted(value)
    return Angle(degrees, pm=pm, **_origin(value))


def _turn(value: object) -> Angle:
    """Degrees to the right (clockwise seen from above); a left turn is negative."""
    if isinstance(value, Angle):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Angle(float(value))
    text = str(value).strip().casefold()
    found = _TURN.fullmatch(text)
    if not found:
        raise ValueError(f"{quoted(text)} is not a turn; write right, left or left 45")
    degrees, pm = _parted(found[2]) if found[2] else (90.0, None)
    if not 0 <= degrees < 180:
        raise ValueError(f"the turn {quoted(text)} must be from 0 to less than 180 degrees")
    signed = degrees if found[1] == "right" else -degrees
    return Angle(signed, pm=pm, read=bool(found[2]), **_origin(value))


AngleReading: TypeAlias = Annotated[
    Angle,
    PlainValidator(_reading),
    WithJsonSchema(
        {
            "description": "An angle as read, degrees with a ± if known: 88.5 or 88.5 ±0.5",
            "anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^\s*[-+−]?[0-9]"}],
        }
    ),
]
"""Degrees as read, with a ±."""

Turn: TypeAlias = Annotated[
    Angle,
    PlainValidator(_turn),
    WithJsonSchema(
        {
            "description": "The turn after a wall: right, left, left 45 or right 88.5 ±0.5",
            "type": "string",
            "pattern": r"^\s*(right|left)(\s+.+)?$",
        }
    ),
]
"""Degrees, positive to the right."""
