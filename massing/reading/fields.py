"""Words from a file in, typed values out: the field types and the base of every file model.

Each field takes what :mod:`massing.reading.nodes` hands over (text that knows its place) and also
plain Python values, so that a model can be made in code as well as read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any, TypeAlias

from pydantic import PlainValidator, WithJsonSchema

from massing.reading.nodes import Rows, Scalar, join_path, mark_of
from massing.reading.spec import Spec, by_form, by_key, one_of, variant
from massing.units import (
    LARGEST,
    Length,
    parse_angle,
    parse_box,
    parse_length,
    parse_range,
    parse_size,
    positive,
    quoted,
)

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

Pair: TypeAlias = tuple[Length, Length]
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,3})?")
_COUNT = re.compile(r"[0-9]{1,9}")
_YES = frozenset(("true", "yes"))
_NO = frozenset(("false", "no"))
_LONGEST_NAME = 80


def _placed(length: Length, origin: object, step: tuple[int, ...] = ()) -> Length:
    """The length with the place and path of the text it came from."""
    if not isinstance(origin, Scalar):
        return length
    path = origin.path
    for index in step:
        path = join_path(path, index)
    return replace(length, mark=origin.mark, path=path)


def _as_text(value: object, wanted: str) -> str:
    """The value as text; a plain Python number is written out first."""
    if isinstance(value, str):
        if value.strip():
            return value
        raise ValueError(f"empty; {wanted}")
    if value is None:
        raise ValueError(f"empty; {wanted}")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:.12f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    raise ValueError(f"{_shape(value)} where one value belongs; {wanted}")


def _shape(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list | tuple) else f"{quoted(repr(value))}"


def _length(value: object) -> Length:
    if isinstance(value, Length):
        return value
    text = _as_text(value, "write a length such as 2400, 2.4 m or 7 ft 10 in")
    return _placed(parse_length(text), value)


def _positive_length(value: object) -> Length:
    length = _length(value)
    return positive(length, str(value))


def _row(value: object, parts: int, wanted: str) -> list[Any] | tuple[Any, ...] | None:
    """The entries of a list of ``parts``; nothing when the value is no list."""
    if not isinstance(value, list | tuple):
        return None
    if len(value) != parts:
        raise ValueError(f"{len(value)} entries where {parts} belong; {wanted}")
    return value


def _each(entries: list[Any] | tuple[Any, ...], read: Callable[[object], Any]) -> tuple[Any, ...]:
    """Every entry read, naming the entry that cannot be."""
    made = []
    for index, entry in enumerate(entries):
        try:
            made.append(read(entry))
        except ValueError as error:
            if isinstance(entries, Rows):
                raise PlacedError(str(error), entries.mark_of(index)) from None
            raise ValueError(f"entry {index + 1}: {error}") from None
    return tuple(made)


class PlacedError(ValueError):
    """A refusal that knows a nearer place than the value it is about."""

    def __init__(self, says: str, mark: object) -> None:
        super().__init__(says)
        self.mark = mark


def _size(parts: int) -> Callable[[object], tuple[Length, ...]]:
    wanted = "write " + " x ".join(("600", "450", "850")[:parts])

    def read(value: object) -> tuple[Length, ...]:
        entries = _row(value, parts, wanted)
        if entries is not None:
            return _each(entries, _positive_length)
        lengths = parse_size(_as_text(value, wanted), parts)
        return tuple(_placed(length, value, (i,)) for i, length in enumerate(lengths))

    return read


def _range(value: object) -> Pair:
    wanted = "write its two ends as 0..5200"
    entries = _row(value, 2, wanted)
    if entries is None:
        low, high = parse_range(_as_text(value, wanted))
        return _placed(low, value, (0,)), _placed(high, value, (1,))
    low, high = _each(entries, _length)
    if not low.mm < high.mm:
        raise ValueError("the range must run from the lower to the higher end")
    return low, high


def _box(value: object) -> tuple[Pair, ...]:
    wanted = "write three ranges such as 0..5200 x 1200..1350 x 2050..2200"
    entries = _row(value, 3, wanted)
    if entries is not None:
        return _each(entries, _range)
    box = parse_box(_as_text(value, wanted))
    return tuple(
        (_placed(low, value, (axis, 0)), _placed(high, value, (axis, 1)))
        for axis, (low, high) in enumerate(box)
    )


def _point(value: object) -> tuple[Length, ...]:
    wanted = "write three lengths such as [2100, 0, 0]"
    entries = _row(value, 3, wanted)
    if entries is not None:
        return _each(entries, _length)
    pieces = _as_text(value, wanted).split(",")
    if len(pieces) != 3:
        raise ValueError(f"{quoted(str(value))} is not a point; {wanted}")
    return tuple(_placed(parse_length(piece), value, (i,)) for i, piece in enumerate(pieces))


def _angle(value: object) -> float:
    return parse_angle(_as_text(value, "write degrees such as 30, or a slope such as 1:12"))


def _number(value: object) -> float:
    text = _as_text(value, "write a number").strip()
    if not _NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        raise ValueError(f"{quoted(text)} is not a number; write it as 12 or 0.5, without a unit")
    return float(text)


def _whole(value: object) -> int:
    text = _as_text(value, "write a whole number").strip()
    if not _COUNT.fullmatch(text):
        raise ValueError(f"{quoted(text)} is not a whole number from 0 up")
    return int(text)


def _flag(value: object) -> bool:
    if isinstance(value, bool):
        return value
    text = _as_text(value, "write yes or no")
    word = text.strip().casefold()
    if word not in _YES | _NO:
        raise ValueError(f"{quoted(text)} is neither yes nor no")
    return word in _YES


def _name(value: object) -> str:
    text = _as_text(value, "write a name").strip()
    if "\n" in text or "\r" in text:
        raise ValueError(f"the name {quoted(text)} must be on one line")
    if len(text) > _LONGEST_NAME:
        raise ValueError(f"the name {quoted(text)} is longer than {_LONGEST_NAME} letters")
    if not text.isprintable():
        raise ValueError(f"the name {quoted(text)} holds a character that cannot be printed")
    mark = mark_of(value)
    if not isinstance(value, Scalar) or mark is None or text == value:
        return value if isinstance(value, Scalar) else text
    return Scalar(text, mark=mark, path=value.path, quoted=value.quoted)


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
    PlainValidator(_length),
    _schema(
        f"A length: {_UNITS}, such as 2400, 2400 ±10 or 6 ft 8 in",
        {"type": "number", "minimum": -LARGEST, "maximum": LARGEST},
        _LENGTH_TEXT,
    ),
]
"""A length, signed."""

PositiveLength: TypeAlias = Annotated[
    Length,
    PlainValidator(_positive_length),
    _schema(
        f"A length above 0: {_UNITS}",
        {"type": "number", "exclusiveMinimum": 0, "maximum": LARGEST},
        _LENGTH_TEXT,
    ),
]
"""A length above 0 and above its own ±."""

Size2: TypeAlias = Annotated[
    tuple[Length, Length],
    PlainValidator(_size(2)),
    _schema(
        f"Two lengths, 900 x 700: {_UNITS}",
        _text_form(r"^[^xX×]+[xX×][^xX×]+$"),
        _list_form(_LENGTH_SCHEMA, 2),
    ),
]
"""Width by height (or depth)."""

Size3: TypeAlias = Annotated[
    tuple[Length, Length, Length],
    PlainValidator(_size(3)),
    _schema(
        f"Three lengths, 600 x 600 x 850: {_UNITS}",
        _text_form(r"^[^xX×]+[xX×][^xX×]+[xX×][^xX×]+$"),
        _list_form(_LENGTH_SCHEMA, 3),
    ),
]
"""Width by depth by height."""

RangeField: TypeAlias = Annotated[
    tuple[Length, Length],
    PlainValidator(_range),
    _schema(
        f"A range, 0..5200: {_UNITS}",
        _text_form(r"^.+\.\..+$"),
        _list_form(_LENGTH_SCHEMA, 2),
    ),
]
"""Lower and higher end."""

BoxRanges: TypeAlias = Annotated[
    tuple[tuple[Length, Length], tuple[Length, Length], tuple[Length, Length]],
    PlainValidator(_box),
    _schema(
        f"A box at its place, 0..5200 x 1200..1350 x 2050..2200: {_UNITS}",
        _text_form(r"^.+\.\..+[xX×].+\.\..+[xX×].+\.\..+$"),
        _list_form({"type": "string", "pattern": r"^.+\.\..+$"}, 3),
    ),
]
"""Ranges along x, y and z."""

PointField: TypeAlias = Annotated[
    tuple[Length, Length, Length],
    PlainValidator(_point),
    _schema(
        f"A point x, y, z: {_UNITS}",
        _text_form(r"^[^,]+,[^,]+,[^,]+$"),
        _list_form(_LENGTH_SCHEMA, 3),
    ),
]
"""x, y and z."""

AngleField: TypeAlias = Annotated[
    float,
    PlainValidator(_angle),
    _schema(
        "Degrees, such as 30 or 30 deg, or a slope such as 1:12",
        {"type": "number", "minimum": -360, "maximum": 360},
        _text_form(r"^\s*[-+−]?[0-9.]+\s*(°|deg|degs|degrees?)?\s*$"),
        _text_form(r"^\s*[-+−]?[0-9.]+\s*:\s*[0-9.]+\s*$"),
    ),
]
"""Degrees."""

Number: TypeAlias = Annotated[
    float, PlainValidator(_number), WithJsonSchema({"type": "number", "description": "A number"})
]
"""A number without a unit."""

Count: TypeAlias = Annotated[
    int,
    PlainValidator(_whole),
    WithJsonSchema({"type": "integer", "minimum": 0, "description": "A whole number"}),
]
"""A whole number from 0 up."""

Flag: TypeAlias = Annotated[
    bool,
    PlainValidator(_flag),
    _schema("yes or no", {"type": "boolean"}, {"enum": ["yes", "no", "true", "false"]}),
]
"""yes or no."""

Name: TypeAlias = Annotated[
    str,
    PlainValidator(_name),
    WithJsonSchema(
        {
            "type": ["string", "number", "boolean"],
            "minLength": 1,
            "maxLength": _LONGEST_NAME,
            "description": "A name on one line",
        }
    ),
]
"""A name on one line; read from a file it still knows its place (``mark_of``)."""
