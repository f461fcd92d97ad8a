"""A table and a model type in; the model out, or every fault with its place and plain words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import core_schema

from massing.errors import Fault, InputError, Mark
from massing.reading.nodes import Rows, Table, join_path, sorted_faults
from massing.reading.spec import VARIANT
from massing.reading.values import PlacedError
from massing.reading.words import nearest
from massing.units import quoted

__all__ = ["nearest", "validate", "wording"]

Model = TypeVar("Model", bound=BaseModel)

_WORDED: dict[str, str] = {
    "greater_than": "{shown} must be more than {gt}",
    "greater_than_equal": "{shown} must be {ge} or more",
    "less_than": "{shown} must be less than {lt}",
    "less_than_equal": "{shown} must be {le} or less",
    "multiple_of": "{shown} must be a multiple of {multiple_of}",
    "finite_number": "{shown} is not a finite number",
    "too_short": "{step} needs at least {min_length} entries",
    "too_long": "{step} may have at most {max_length} entries",
    "string_too_short": "{shown} needs at least {min_length} letters",
    "string_too_long": "{shown} may have at most {max_length} letters",
    "string_pattern_mismatch": "{shown} is not written as '{pattern}'",
    "string_not_ascii": "{shown} may only have plain letters (ASCII)",
    "bool_type": "{shown} is neither yes nor no",
    "bool_parsing": "{shown} is neither yes nor no",
    "none_required": "{shown} must be left empty",
    "recursion_loop": "{step} would hold itself",
    "recursion_depth_exceeded": "{step} is nested too deep",
    "invalid_key": "a key must be plain words",
    "default_factory_not_called": "{step} waits for the faults beside it",
}
_STOCK = frozenset(get_args(core_schema.ErrorType))
"""The kinds pydantic itself raises; any other brings its own words."""
_FORMS: tuple[tuple[str, str], ...] = (
    (r"model|dataclass|dict|mapping|counter|arguments|named_tuple", "a table of 'key: value'"),
    (r"list|tuple|set|frozen_set|deque|iter.*", "a list"),
    (r"string|bytes", "a text"),
    (r"int", "a whole number"),
    (r"float|decimal|fraction|complex", "a number"),
    (r"datetime|date", "a date such as 2026-05-31"),
    (r"time", "a time such as 14:30"),
    (r"url", "a web address"),
)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an error stands: the value there, who holds it, and what of the way was not found."""

    mark: Mark
    value: Any
    path: str
    holder: Table | None
    word: str
    step: str
    lost: tuple[str | int, ...]


def validate(model_type: type[Model], tree: Table) -> Model:
    """The model a table describes.

    Raises InputError carrying every fault at once, in file order.

    >>> from pydantic import create_model
    >>> from massing.reading.fields import Size2, Spec
    >>> from massing.reading.nodes import parse_tree
    >>> Window = create_model("Window", __base__=Spec, size=(Size2, ...))
    >>> validate(Window, parse_tree("size: 900 x six", "a.yaml"))
    Traceback (most recent call last):
    ...
    massing.errors.InputError: a.yaml:1:7: 'six' is not a length; write 2400, 2.4 m or 7 ft 10 in
        size: 900 x six
              ^
    """
    known: dict[int, tuple[str, ...]] = {}
    try:
        return model_type.model_validate(tree, context=known)
    except ValidationError as error:
        found = error.errors(include_url=False, include_input=False)
    faults = _faults([dict(entry) for entry in found], tree, known)
    raise InputError(sorted_faults(faults)) from None


def wording(kind: str, context: Mapping[str, Any], value: object, step: str) -> str:
    """Plain words for one kind of validation error.

    kind, context : as pydantic names them; value : what the file has; step : its key

    >>> wording("int_parsing", {}, "six", "count")
    "'six' is not a whole number"
    >>> wording("list_type", {}, "six", "'items'")
    "'six' is not a list"
    """
    if kind in ("literal_error", "enum"):
        known = _expected(context)
        choice = f"one of {', '.join(known)}" if len(known) > 1 else f"'{known[0]}'"
        return _unfit(value, step, choice)
    if kind in ("value_error", "assertion_error"):
        says = str(context.get("error", "not valid"))
        return f"{step} is {says}" if says.startswith("empty;") else says
    if kind == "tuple_type" and isinstance(value, str):
        return f"{_shown(value, step)} is not a list; its entries stand in [ ] or begin with '- '"
    if kind in _WORDED:
        shown = _shown(value, step)
        return _WORDED[kind].format_map(_Blanks(context, shown=shown, step=step))
    family = re.sub(r"_(type|parsing|error|parsing_size|from_.*|.*invalid.*)$", "", kind)
    for pattern, form in _FORMS:
        if re.fullmatch(pattern, family):
            return _unfit(value, step, form)
    return f"{_shown(value, step)} cannot be used here"


class _Blanks(dict[str, Any]):
    """Context for a template; what is missing shows as '?' instead of failing."""

    def __init__(self, context: Mapping[str, Any], **more: str) -> None:
        super().__init__({**context, **more})

    def __missing__(self, key: str) -> str:
        return "?"


def _shown(value: object, step: str) -> str:
    """The value in quotes when it is a text, else the key it stands under."""
    return quoted(str(value)) if isinstance(value, str | int | float) else step


def _unfit(value: object, step: str, wanted: str) -> str:
    if value is None:
        return f"{step} is empty; {wanted} belongs here"
    if isinstance(value, Mapping):
        return f"{step} is a table where {wanted} belongs"
    if isinstance(value, list | tuple):
        return f"{step} is a list where {wanted} belongs"
    return f"{_shown(value, step)} is not {wanted}"


def _expected(context: Mapping[str, Any]) -> list[str]:
    """The words a choice allows, from the sentence pydantic lists them in."""
    sentence = str(context.get("expected", ""))
    return re.findall(r"'([^']*)'", sentence) or re.split(r", | or ", sentence)


def _faults(
    found: list[dict[str, Any]], tree: Table, known: Mapping[int, tuple[str, ...]]
) -> list[Fault]:
    placed = [(entry, _locate(tree, entry["loc"])) for entry in found]
    unknown = [
        _unknown(place, known) for entry, place in placed if entry["type"] == "extra_forbidden"
    ]
    meant = {(id(holder), str(fault.hint).partition(":")[0]) for holder, fault in unknown}
    faults = [fault for _, fault in unknown]
    alternatives: dict[Mark, list[tuple[dict[str, Any], _Place]]] = {}
    for entry, place in placed:
        if entry["type"] == "extra_forbidden":
            continue
        if entry["type"] == "missing":
            if (id(place.value), str(place.lost[-1] if place.lost else "")) not in meant:
                faults.append(_missing(place))
        elif place.lost and place.lost != ("[key]",):
            alternatives.setdefault(place.mark, []).append((entry, place))
        elif isinstance(parts := entry.get("ctx", {}).get("error"), PlacedError):
            faults.extend(Fault(says, mark or place.mark) for says, mark in parts.each)
        else:
            faults.append(_fault(entry, place))
    faults.extend(_one_of_several(entries) for entries in alternatives.values())
    return faults


def _locate(tree: Table, loc: Iterable[str | int]) -> _Place:
    """Follow pydantic's way into the tree, past the names it gives to a union's variants."""
    value: Any = tree
    mark, path, word, step = tree.mark, tree.path, "", "the file"
    holder: Table | None = None
    lost: list[str | int] = []
    for key in loc:
        if isinstance(value, Table) and value.key(str(key)) is not None:
            word = str(key)
            holder, mark, path, step = (
                value,
                value.mark_of(word),
                join_path(path, word),
                f"'{word}'",
            )
            value = value[word]
        elif isinstance(value, Rows) and isinstance(key, int) and key < len(value):
            mark, path, step = value.mark_of(key), join_path(path, key), f"entry {key + 1}"
            value = value[key]
        elif not (isinstance(key, str) and key.startswith(VARIANT)):
            lost.append(key)
    return _Place(mark, value, path, holder, word, step, tuple(lost))


def _unknown(place: _Place, known: Mapping[int, tuple[str, ...]]) -> tuple[Table | None, Fault]:
    """A key nobody asked for, with the nearest key that is known and not yet used."""
    word = place.word
    key = place.holder.key(word) if place.holder is not None else None
    mark = key.mark if key is not None else place.mark
    holder = place.holder
    words = known.get(id(holder), ())
    free = [other for other in words if holder is None or other not in holder]
    hint = nearest(word, free) or nearest(word, words)
    says = f"unknown key {quoted(word)}"
    if place.value is None and re.match(r"[0-9]", word):
        how = "without it" if re.fullmatch(r"[0-9]{3}\b.*", word) else "with a point"
        says = f"{quoted(word)} follows a comma inside a number; write the number {how}"
        return holder, Fault(says, mark)
    before, colon, after = word.partition(":")
    if colon and before.strip() in words:
        says = f"{quoted(word)} needs a space after the colon"
        return holder, Fault(says, mark, f"{before.strip()}: {after.strip()}"[:80])
    if hint is None and words:
        says += f"; known here: {', '.join(words)}"
    return holder, Fault(says, mark, hint)


def _missing(place: _Place) -> Fault:
    """A key or an entry that must be there and is not, told at what should hold it."""
    last = place.lost[-1] if place.lost else "?"
    where = place.path or "the file"
    what = f"entry {last + 1}" if isinstance(last, int) else f"the key '{last}'"
    return Fault(f"{where} needs {what}", place.mark)


def _fault(entry: Mapping[str, Any], place: _Place) -> Fault:
    kind, context = entry["type"], entry.get("ctx", {})
    mark = place.mark
    if place.lost == ("[key]",) and place.holder is not None:
        key = place.holder.key(place.word)
        mark = key.mark if key is not None else mark
    hint = None
    if kind in ("literal_error", "enum") and isinstance(place.value, str):
        known = _expected(context)
        begins = (word for word in known if len(word) > 1 and place.value.startswith(word))
        hint = nearest(place.value, known) or next(begins, None)
    says = wording(kind, context, place.value, place.step)
    if kind not in _STOCK:
        says = str(entry.get("msg", says))
    return Fault(says, mark, hint)


def _one_of_several(entries: list[tuple[dict[str, Any], _Place]]) -> Fault:
    """One fault for a value that none of several forms accepts."""
    each = [_fault(entry, place) for entry, place in entries]
    says = "; or: ".join(dict.fromkeys(fault.says for fault in each))
    hint = next((fault.hint for fault in each if fault.hint), None)
    return Fault(says, each[0].mark, hint)
