"""Words from a file in, typed values out: the field types and the base of every file model.

Each field takes what :mod:`massing.reading.nodes` hands over (text that knows its place) and also
plain Python values, so that a model can be made in code as well as read.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, TypeAlias

from pydantic import PlainSerializer, PlainValidator, WithJsonSchema

from massing.reading.spec import Spec, by_form, by_key, one_of, variant
from massing.reading.values import (
    LONGEST_NAME,
    read_angle,
    read_box,
    read_count,
    read_flag,
    read_length,
    read_name,
    read_number,
    read_point,
    read_positive_length,
    read_range,
    size_reader,
)
from massing.units import LARGEST, Length

__all__ = [
    "AngleField",
    "BoxRanges",
    "Count",
    "Flag",
    "LengthField",
    "Name",
    "Number",
    "PointField",
    "PositiveLength",
    "RangeField",
    "Size2",
    "Size3",
    "Spec",
    "by_form",
    "by_key",
    "one_of",
    "variant",
]


def _joined(sign: str, inner: Callable[[Any], str] = str) -> PlainSerializer:
    """Write a value of several parts to JSON as the file would have it."""
    return PlainSerializer(
        lambda parts: sign.join(map(inner, parts)), return_type=str, when_used="json-unless-none"
    )


_SAID = PlainSerializer(str, return_type=str, when_used="json-unless-none")


def _schema(description: str, *forms: dict[str, Any]) -> WithJsonSchema:
    return WithJsonSchema({"description": description, "anyOf": [dict(form) for form in forms]})


_NUMERIC: dict[str, Any] = {"type": "number"}
_LENGTH_TEXT: dict[str, Any] = {"type": "string", "pattern": r"^\s*[-+−]?\s*[0-9½¼¾]"}
_LENGTH_SCHEMA: dict[str, Any] = {"anyOf": [_NUMERIC, _LENGTH_TEXT]}
_UNITS = "mm unless a unit is written (mm, cm, m, in, ft), with a ± if known"


def _text_form(pattern: str) -> dict[str, Any]:
    return {"type": "string", "pattern": pattern}


def _list_form(entry: dict[str, Any], parts: int) -> dict[str, Any]:
    return {"type": "array", "items": entry, "minItems": parts, "maxItems": parts}


LengthField: TypeAlias = Annotated[
    Length,
    PlainValidator(read_length),
    _SAID,
    _schema(
        f"A length: {_UNITS}, such as 2400, 2400 ±10 or 6 ft 8 in",
        {"type": "number", "minimum": -LARGEST, "maximum": LARGEST},
        _LENGTH_TEXT,
    ),
]
"""A length, signed."""

PositiveLength: TypeAlias = Annotated[
    Length,
    PlainValidator(read_positive_length),
    _SAID,
    _schema(
        f"A length above 0: {_UNITS}",
        {"type": "number", "exclusiveMinimum": 0, "maximum": LARGEST},
        _LENGTH_TEXT,
    ),
]
"""A length above 0 and above its own ±."""

Size2: TypeAlias = Annotated[
    tuple[Length, Length],
    PlainValidator(size_reader(2)),
    _joined(" x "),
    _schema(
        f"Two lengths, 900 x 700: {_UNITS}",
        _text_form(r"^[^xX×]+[xX×][^xX×]+$"),
        _list_form(_LENGTH_SCHEMA, 2),
    ),
]
"""Width by height (or depth)."""

Size3: TypeAlias = Annotated[
    tuple[Length, Length, Length],
    PlainValidator(size_reader(3)),
    _joined(" x "),
    _schema(
        f"Three lengths, 600 x 600 x 850: {_UNITS}",
        _text_form(r"^[^xX×]+[xX×][^xX×]+[xX×][^xX×]+$"),
        _list_form(_LENGTH_SCHEMA, 3),
    ),
]
"""Width by depth by height."""

RangeField: TypeAlias = Annotated[
    tuple[Length, Length],
    PlainValidator(read_range),
    _joined(".."),
    _schema(
        f"A range, 0..5200: {_UNITS}",
        _text_form(r"^.+\.\..+$"),
        _list_form(_LENGTH_SCHEMA, 2),
    ),
]
"""Lower and higher end."""

BoxRanges: TypeAlias = Annotated[
    tuple[tuple[Length, Length], tuple[Length, Length], tuple[Length, Length]],
    PlainValidator(read_box),
    _joined(" x ", lambda ends: "..".join(map(str, ends))),
    _schema(
        f"A box at its place, 0..5200 x 1200..1350 x 2050..2200: {_UNITS}",
        _text_form(r"^.+\.\..+[xX×].+\.\..+[xX×].+\.\..+$"),
        _list_form({"type": "string", "pattern": r"^.+\.\..+$"}, 3),
    ),
]
"""Ranges along x, y and z."""

PointField: TypeAlias = Annotated[
    tuple[Length, Length, Length],
    PlainValidator(read_point),
    _joined(", "),
    _schema(
        f"A point x, y, z: {_UNITS}",
        _text_form(r"^[^,]+,[^,]+,[^,]+$"),
        _list_form(_LENGTH_SCHEMA, 3),
    ),
]
"""x, y and z."""

AngleField: TypeAlias = Annotated[
    float,
    PlainValidator(read_angle),
    _schema(
        "Degrees, such as 30 or 30 deg, or a slope such as 1:12",
        {"type": "number", "minimum": -360, "maximum": 360},
        _text_form(r"^\s*[-+−]?[0-9.]+\s*(°|deg|degs|degrees?)?\s*$"),
        _text_form(r"^\s*[-+−]?[0-9.]+\s*:\s*[0-9.]+\s*$"),
    ),
]
"""Degrees."""

Number: TypeAlias = Annotated[
    float,
    PlainValidator(read_number),
    WithJsonSchema({"type": "number", "description": "A number"}),
]
"""A number without a unit."""

Count: TypeAlias = Annotated[
    int,
    PlainValidator(read_count),
    WithJsonSchema({"type": "integer", "minimum": 0, "description": "A whole number"}),
]
"""A whole number from 0 up."""

Flag: TypeAlias = Annotated[
    bool,
    PlainValidator(read_flag),
    _schema("yes or no", {"type": "boolean"}, {"enum": ["yes", "no", "true", "false"]}),
]
"""yes or no."""

Name: TypeAlias = Annotated[
    str,
    PlainValidator(read_name),
    WithJsonSchema(
        {
            "type": ["string", "number", "boolean"],
            "minLength": 1,
            "maxLength": LONGEST_NAME,
            "description": "A name on one line",
        }
    ),
]
"""A name on one line; read from a file it still knows its place (``mark_of``)."""
