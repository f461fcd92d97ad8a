"""How each size of a file was got: a file as written in, every size knowing its method out.

A size says so itself (``2400 by laser``); sizes of the room that do not are by the method the
file names once (``survey: {by: client tape}``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, TypeVar

from massing.errors import Fault
from massing.reading.spec import Spec
from massing.reading.words import nearest
from massing.survey.methods import method_names
from massing.units import Length

__all__ = ["method_faults", "with_method"]

Made = TypeVar("Made")


def with_method(spec: Made, by: str) -> Made:
    """The same with every length that names no method and no ± of its own got by that one.

    >>> from massing.room.spec import RoomSpec
    >>> room = RoomSpec.model_validate({"size": "3000 x 2000", "ceiling": [{"flat": 2400}]})
    >>> with_method(room, "guess").size[0].method
    'guess'
    """
    made: Made = _changed(spec, by)
    return made


def _changed(value: Any, by: str) -> Any:
    if isinstance(value, Length):
        return replace(value, method=by) if value.method is None else value
    if isinstance(value, Spec):
        pairs = ((name, getattr(value, name)) for name in type(value).model_fields)
        found = {name: (old, _changed(old, by)) for name, old in pairs}
        update = {name: new for name, (old, new) in found.items() if new is not old}
        return value.model_copy(update=update) if update else value
    if isinstance(value, tuple):
        changed = tuple(_changed(entry, by) for entry in value)
        return value if all(a is b for a, b in zip(changed, value, strict=True)) else changed
    if isinstance(value, dict):
        table = {key: _changed(entry, by) for key, entry in value.items()}
        return value if all(table[key] is value[key] for key in value) else table
    return value


def method_faults(spec: Spec) -> Iterator[Fault]:
    """A fault for every length of a file said to be got in a way nobody knows."""
    known = method_names()
    seen = set()
    for length in _lengths(spec):
        if length.method is None or length.method in known:
            continue
        fault = Fault(
            f"there is no way of measuring '{length.method}'; the ways are {', '.join(known)}",
            length.mark,
            nearest(length.method, known),
        )
        if fault not in seen:
            seen.add(fault)
            yield fault


def _lengths(value: Any) -> Iterator[Length]:
    if isinstance(value, Length):
        yield value
    elif isinstance(value, Spec):
        for name in type(value).model_fields:
            yield from _lengths(getattr(value, name))
    elif isinstance(value, tuple):
        for entry in value:
            yield from _lengths(entry)
    elif isinstance(value, dict):
        for entry in value.values():
            yield from _lengths(entry)
