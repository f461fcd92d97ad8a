"""A file's tree in; its model out, or that of the parts without a fault, so that they are checked.

Someone who misspells a word in the room and names a wall wrongly in a scheme is told of both.
What hangs on a part at fault (a scheme that begins from it, an item like it) goes with it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field

from massing.errors import Fault, InputError, Mark
from massing.items.catalog import plain_name
from massing.project.file import ProjectFile
from massing.project.metres import metres_meant
from massing.reading.faults import validate
from massing.reading.nodes import Scalar, Table, parse_tree, sorted_faults

__all__ = ["Understood", "understood"]

_INSTEAD = parse_tree(
    "massing: 1\nproject: unnamed\nroom: {size: 3000 x 3000, ceiling: [{flat: 2400}]}\n", "none"
)
"""Stands for what a file must have and does not have rightly; nothing is told of it."""


@dataclass(frozen=True, slots=True)
class Understood:
    """What can be followed further.

    faults : of the parts left out
    room : whether the room is the file's own
    items : names of items left out, as :func:`plain_name` has them
    """

    file: ProjectFile
    faults: tuple[Fault, ...] = ()
    room: bool = True
    items: frozenset[str] = field(default_factory=frozenset)


def understood(tree: Table) -> Understood:
    """The whole file, or as much of it as has no fault of its own.

    Raises InputError where nothing can be followed further.
    """
    faults = list(metres_meant(tree))
    try:
        file = validate(ProjectFile, tree)
    except InputError as error:
        faults += error.faults
    else:
        if not faults:
            return Understood(file)
    lost = {_part_of(tree, fault.mark) for fault in faults}
    items = _lost_items(tree, faults) if "items" in lost else frozenset()
    schemes = _lost_schemes(tree, faults) if "schemes" in lost else frozenset()
    kept = Table(tree.mark, tree.path)
    for name in ProjectFile.model_fields:
        value = tree.get(name)
        if name in lost and isinstance(value, Table) and name in ("items", "schemes"):
            gone = items if name == "items" else schemes
            _take(kept, tree, name, _without(value, gone))
        elif name in tree and name not in lost:
            _take(kept, tree, name, value)
        elif name in _INSTEAD:
            _take(kept, _INSTEAD, name, _INSTEAD[name])
    try:
        file = validate(ProjectFile, kept)
    except InputError:
        raise InputError(sorted_faults(faults)) from None
    return Understood(file, tuple(faults), "room" in tree and "room" not in lost, items)


def _take(kept: Table, source: Table, name: str, value: object) -> None:
    key = source.key(name)
    if key is not None:
        kept.add(key, value, source.mark_of(name))


def _without(table: Table, gone: frozenset[str]) -> Table:
    kept = Table(table.mark, table.path)
    for name in table:
        if plain_name(name) not in gone:
            _take(kept, table, name, table[name])
    return kept


def _part_of(table: Table, mark: Mark | None) -> str:
    """The key of a table whose entry a place is in; the first before any."""
    keys = [key for name in table if (key := table.key(name)) is not None]
    starts = [(key.mark.line, key.mark.column) for key in keys]
    at = bisect_right(starts, (mark.line, mark.column)) - 1 if mark is not None else 0
    return str(keys[max(at, 0)]) if keys else ""


def _at_fault(tree: Table, part: str, faults: Iterable[Fault]) -> set[str]:
    table = tree[part]
    if not isinstance(table, Table):
        return set()
    inside = [fault for fault in faults if _part_of(tree, fault.mark) == part]
    return {plain_name(_part_of(table, fault.mark)) for fault in inside}


def _lost_items(tree: Table, faults: Iterable[Fault]) -> frozenset[str]:
    """Items at fault, and those that are like them."""
    return _with_heirs(tree["items"], _at_fault(tree, "items", faults), "like")


def _lost_schemes(tree: Table, faults: Iterable[Fault]) -> frozenset[str]:
    """Schemes at fault, and those that begin from them."""
    return _with_heirs(tree["schemes"], _at_fault(tree, "schemes", faults), "from")


def _with_heirs(table: object, lost: set[str], word: str) -> frozenset[str]:
    heirs: dict[str, list[str]] = {}
    for name, value in table.items() if isinstance(table, Table) else ():
        above = value.get(word) if isinstance(value, Table) else None
        if isinstance(above, Scalar):
            heirs.setdefault(plain_name(above), []).append(plain_name(name))
    waiting = list(lost)
    while waiting:
        new = [heir for heir in heirs.get(waiting.pop(), ()) if heir not in lost]
        lost.update(new)
        waiting += new
    return frozenset(lost)
