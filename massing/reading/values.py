"""One value of a file in, one typed value out, or a plain refusal.

Each reader takes what :mod:`massing.reading.nodes` hands over (text that knows its place) and
also plain Python values. Every reader raises ValueError saying what to write instead.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeAlias

from massing.errors import Mark
from massing.reading.nodes import Rows, Scalar, join_path
from massing.units import (
    Length,
    parse_angle,
    parse_box,
    parse_length,
    parse_point,
    parse_range,
    parse_size,
    positive,
    quoted,
)

__all__ = [
    "LONGEST_NAME",
    "PlacedError",
    "read_angle",
    "read_box",
    "read_count",
    "read_flag",
    "read_length",
    "read_name",
    "read_number",
    "read_point",
    "read_positive_length",
    "read_range",
    "size_reader",
]

Pair: TypeAlias = tuple[Length, Length]
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,3})?")
_COUNT = re.compile(r"[0-9]{1,9}")
_YES = frozenset(("true", "yes"))
_NO = frozenset(("false", "no"))
LONGEST_NAME = 80


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


def read_length(value: object) -> Length:
    """A length, signed.

    >>> str(read_length("240 cm ±1 cm")), read_length(600).mm
    ('2400 ±10', 600.0)
    """
    if isinstance(value, Length):
        return value
    text = _as_text(value, "write a length such as 2400, 2.4 m or 7 ft 10 in")
    return _placed(parse_length(text), value)


def read_positive_length(value: object) -> Length:
    """A length above 0 and above its own ±."""
    length = read_length(value)
    return positive(length, str(value))


def _row(value: object, parts: int, wanted: str) -> list[Any] | tuple[Any, ...] | None:
    """The entries of a list of ``parts``; nothing when the value is no list."""
    if not isinstance(value, list | tuple):
        return None
    if len(value) != parts:
        many = "1 entry" if len(value) == 1 else f"{len(value)} entries"
        raise ValueError(f"{many} where {parts} belong; {wanted}")
    return value


def _each(entries: list[Any] | tuple[Any, ...], read: Callable[[object], Any]) -> tuple[Any, ...]:
    """Every entry read, or every entry that cannot be named in one refusal."""
    made: list[Any] = []
    refused: list[tuple[str, Mark | None]] = []
    for index, entry in enumerate(entries):
        try:
            made.append(read(entry))
        except PlacedError as error:
            refused.extend(error.each)
        except ValueError as error:
            mark = entries.mark_of(index) if isinstance(entries, Rows) else None
            refused.append((str(error) if mark else f"entry {index + 1}: {error}", mark))
    if refused:
        raise PlacedError(refused)
    return tuple(made)


class PlacedError(ValueError):
    """Refusals of the parts of one value, each with its own place where it has one."""

    def __init__(self, each: list[tuple[str, Mark | None]]) -> None:
        super().__init__("; ".join(says for says, _ in each))
        self.each = tuple(each)


def size_reader(parts: int) -> Callable[[object], tuple[Length, ...]]:
    """A reader of ``parts`` positive lengths, from ``600 x 450`` or a list."""
    wanted = "write " + " x ".join(("600", "450", "850")[:parts])

    def read(value: object) -> tuple[Length, ...]:
        entries = _row(value, parts, wanted)
        if entries is not None:
            return _each(entries, read_positive_length)
        lengths = parse_size(_as_text(value, wanted), parts)
        return tuple(_placed(length, value, (i,)) for i, length in enumerate(lengths))

    return read


def read_range(value: object) -> Pair:
    """A lower and a higher end, from ``0..5200`` or a list of two."""
    wanted = "write its two ends as 0..5200"
    entries = _row(value, 2, wanted)
    if entries is None:
        low, high = parse_range(_as_text(value, wanted))
        return _placed(low, value, (0,)), _placed(high, value, (1,))
    low, high = _each(entries, read_length)
    if not low.mm < high.mm:
        raise ValueError("the range must run from the lower to the higher end")
    return low, high


def read_box(value: object) -> tuple[Pair, ...]:
    """Ranges along x, y and z, from ``0..600 x 0..450 x 0..850`` or a list of three ranges."""
    wanted = "write three ranges such as 0..5200 x 1200..1350 x 2050..2200"
    entries = _row(value, 3, wanted)
    if entries is not None:
        return _each(entries, read_range)
    box = parse_box(_as_text(value, wanted))
    return tuple(
        (_placed(low, value, (axis, 0)), _placed(high, value, (axis, 1)))
        for axis, (low, high) in enumerate(box)
    )


def read_point(value: object) -> tuple[Length, ...]:
    """x, y and z, from ``2100, 0, 0`` or a list of three."""
    wanted = "write three lengths such as [2100, 0, 0]"
    entries = _row(value, 3, wanted)
    if entries is not None:
        return _each(entries, read_length)
    point = parse_point(_as_text(value, wanted))
    return tuple(_placed(length, value, (axis,)) for axis, length in enumerate(point))


def read_angle(value: object) -> float:
    """Degrees, from ``30``, ``30 deg`` or a slope ``1:12``."""
    return parse_angle(_as_text(value, "write degrees such as 30, or a slope such as 1:12"))


def read_number(value: object) -> float:
    """A finite number without a unit; ``1e3`` is a thousand and ``010`` ten."""
    text = _as_text(value, "write a number").strip()
    if not _NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        raise ValueError(f"{quoted(text)} is not a number; write it as 12 or 0.5, without a unit")
    return float(text)


def read_count(value: object) -> int:
    """A whole number from 0 up to nine digits."""
    text = _as_text(value, "write a whole number").strip()
    if not _COUNT.fullmatch(text):
        raise ValueError(f"{quoted(text)} is not a whole number from 0 up")
    return int(text)


def read_flag(value: object) -> bool:
    """Yes or no, also written true or false.

    >>> read_flag("no"), read_flag("True")
    (False, True)
    """
    if isinstance(value, bool):
        return value
    text = _as_text(value, "write yes or no")
    word = text.strip().casefold()
    if word not in _YES | _NO:
        raise ValueError(f"{quoted(text)} is neither yes nor no")
    return word in _YES


def read_name(value: object) -> str:
    """A name on one line of 80 letters at most; from a file it keeps its place."""
    text = _as_text(value, "write a name").strip()
    if "\n" in text or "\r" in text:
        raise ValueError(f"the name {quoted(text)} must be on one line")
    if len(text) > LONGEST_NAME:
        raise ValueError(f"the name {quoted(text)} is longer than {LONGEST_NAME} letters")
    if not text.isprintable():
        raise ValueError(f"the name {quoted(text)} holds a character that cannot be printed")
    if not isinstance(value, Scalar):
        return text
    return Scalar(text, mark=value.mark, path=value.path, quoted=value.quoted)
