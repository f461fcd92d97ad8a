"""Words for parts of a plan in; lengths out."""

from __future__ import annotations

import re
from typing import Annotated, TypeAlias

from pydantic import PlainValidator, WithJsonSchema

from massing.reading.nodes import Scalar, join_path
from massing.units import Length, parse_box, quoted

__all__ = ["BoxOrPlan", "PlanRanges"]

_TIMES = re.compile(r"\s*[x×X]\s*")

Pair: TypeAlias = tuple[Length, Length]


def _placed(ends: Pair, origin: object, axis: int) -> Pair:
    """Two lengths with the place and path of the text they came from."""
    if not isinstance(origin, Scalar):
        return ends
    path = join_path(origin.path, axis)
    low, high = (
        Length(e.mm, e.pm, e.method, origin.mark, join_path(path, i)) for i, e in enumerate(ends)
    )
    return low, high


def _plan(value: object) -> tuple[Pair, ...]:
    """Two ranges, or three where the text gives a height too."""
    if isinstance(value, list | tuple):
        if len(value) == 2 and all(isinstance(pair, tuple) for pair in value):
            return tuple(value)
        raise ValueError("write ranges such as 0..900 x 0..600")
    text = str(value)
    pieces = _TIMES.split(text.strip())
    if len(pieces) not in (2, 3):
        raise ValueError(f"{quoted(text)} is not an area; write two ranges such as 0..900 x 0..600")
    # A plan is read as a box whose first range is said twice, so units carry over as they do there.
    said = " x ".join(pieces if len(pieces) == 3 else (pieces[0], *pieces))
    try:
        box = parse_box(said)
    except ValueError as error:
        raise ValueError(str(error).replace(said, text)) from None
    kept = box if len(pieces) == 3 else box[1:]
    return tuple(_placed(ends, value, axis) for axis, ends in enumerate(kept))


def _area(value: object) -> tuple[Pair, ...]:
    ranges = _plan(value)
    if len(ranges) != 2:
        raise ValueError(f"{quoted(str(value))} has three ranges; an area has two")
    return ranges


_RANGES = {"type": "string", "pattern": r"^.+\.\..+[xX×].+\.\..+$"}
PlanRanges: TypeAlias = Annotated[
    tuple[Pair, Pair],
    PlainValidator(_area),
    WithJsonSchema({"description": "A part of the plan, 0..900 x 0..600", **_RANGES}),
]
"""Ranges along x and y."""

BoxOrPlan: TypeAlias = Annotated[
    tuple[Pair, ...],
    PlainValidator(_plan),
    WithJsonSchema({"description": "A box, 0..900 x 0..600 x 0..2100, or its plan", **_RANGES}),
]
"""Ranges along x, y and perhaps z."""
