"""Field types for where things are and what is said of them, built on the plain readers."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from pydantic import PlainValidator, WithJsonSchema

from massing.reading.nodes import Rows, Scalar
from massing.reading.values import read_name, read_point, size_reader
from massing.units import Length, parse_length, quoted

__all__ = ["LeafSize", "PlaceField", "Words"]

_MOST_LETTERS = 400
_LENGTH = {"type": ["number", "string"]}


def _read_place(value: object) -> tuple[Length, ...]:
    """Two lengths x, y, or three with a height."""
    count = _count(value, ",")
    if count != 2:
        return read_point(value)
    if isinstance(value, Rows):
        longer = Rows(value.mark, value.path)
        for index, entry in enumerate(value):
            longer.add(entry, value.mark_of(index))
        longer.add("0", value.mark)
        return read_point(longer)[:2]
    if isinstance(value, list | tuple):
        return read_point([*value, "0"])[:2]
    return read_point(_like(value, f"{value}, 0"))[:2]


def _read_leaf(value: object) -> tuple[Length, ...]:
    """Width x height, with the thickness when it is known; a thin leaf where it is not."""
    if _count(value, "x") == 2:
        return (*size_reader(2)(value), parse_length("0"))
    return size_reader(3)(value)


def _count(value: object, separator: str) -> int:
    if isinstance(value, list | tuple):
        return len(value)
    text = str(value).lower().replace("×", "x")
    return text.count(separator) + 1


def _like(value: object, text: str) -> object:
    """The text with the place of the value it came from."""
    if isinstance(value, Scalar):
        return Scalar(text, mark=value.mark, path=value.path, quoted=value.quoted)
    return text


def _read_words(value: object) -> str:
    """A sentence or two on one line, up to 400 letters."""
    if isinstance(value, str) and len(value.strip()) > _MOST_LETTERS:
        raise ValueError(f"{quoted(value)} is longer than {_MOST_LETTERS} letters")
    if isinstance(value, str) and len(value.strip()) > 80:
        head, tail = value.strip()[:80], value.strip()[80:]
        for part in (head, *(tail[k : k + 80] for k in range(0, len(tail), 80))):
            if part.strip():
                read_name(part)
        return " ".join(value.split())
    return str(read_name(value))


PlaceField: TypeAlias = Annotated[
    tuple[Length, ...],
    PlainValidator(_read_place),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "array", "items": _LENGTH, "minItems": 2, "maxItems": 3},
                {"type": "string"},
            ],
            "description": "x, y from the room's inside corner, and a height z from the datum",
        }
    ),
]
"""x, y or x, y, z."""

LeafSize: TypeAlias = Annotated[
    tuple[Length, Length, Length],
    PlainValidator(_read_leaf),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": _LENGTH, "minItems": 2, "maxItems": 3},
            ],
            "description": "A door leaf, 762 x 1981 x 44; the thickness may be left out",
        }
    ),
]
"""Width, height and thickness of a leaf; thickness 0 where it is not given."""

Words: TypeAlias = Annotated[
    str,
    PlainValidator(_read_words),
    WithJsonSchema({"type": "string", "minLength": 1, "maxLength": _MOST_LETTERS}),
]
"""A sentence or two."""
