"""A YAML file in, plain tables, lists and texts out, each knowing its place and its path.

Every plain value stays text: ``on``, ``no``, ``1:30``, ``010`` and ``1e3`` mean what they look
like until a field says what it wants. Only ``null``, ``~`` and nothing at all become ``None``.
"""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any, Self

from massing.errors import Fault, InputError, Mark
from massing.reading.syntax import LARGEST_FILE, Node, Source, parse_syntax, sorted_faults
from massing.reading.words import nearest

__all__ = [
    "Rows",
    "Scalar",
    "Table",
    "file_bytes",
    "join_path",
    "mark_of",
    "parse_tree",
    "read_tree",
    "sorted_faults",
]


class Scalar(str):
    """A text from a file: equal to the plain string, and knowing where it was written.

    mark : its place; path : which value it is (``room.size[0]``; of a key, its entry's)
    quoted : written in quotes or as a block
    """

    __slots__ = ("mark", "path", "quoted")

    mark: Mark
    path: str
    quoted: bool

    def __new__(cls, text: str, *, mark: Mark, path: str = "", quoted: bool = False) -> Self:
        """Make one."""
        self = super().__new__(cls, text)
        self.mark = mark
        self.path = path
        self.quoted = quoted
        return self

    def __getnewargs_ex__(self) -> tuple[tuple[str], dict[str, Any]]:
        """What copying and pickling need."""
        return (str(self),), {"mark": self.mark, "path": self.path, "quoted": self.quoted}


class Table(dict[str, Any]):
    """A mapping from a file; its keys are Scalars and can be looked up as plain strings.

    >>> table = parse_tree("room: {size: 3000 x 2000}", "a.yaml")
    >>> table["room"]["size"], str(table["room"].mark_of("size")), table["room"]["size"].path
    ('3000 x 2000', 'a.yaml:1:14', 'room.size')
    """

    __slots__ = ("_keys", "_places", "mark", "path")

    def __init__(self, mark: Mark, path: str = "") -> None:
        super().__init__()
        self.mark = mark
        self.path = path
        self._keys: dict[str, Scalar] = {}
        self._places: dict[str, Mark] = {}

    def add(self, key: Scalar, value: Any, place: Mark) -> None:
        """Put in an entry whose value stands at ``place``."""
        self[key] = value
        self._keys[key] = key
        self._places[key] = place

    def key(self, name: str) -> Scalar | None:
        """The key as written, if it is there."""
        return self._keys.get(name)

    def mark_of(self, name: str) -> Mark:
        """Where the value of ``name`` stands, also when empty; the table's own place if absent."""
        return self._places.get(name, self.mark)


class Rows(list[Any]):
    """A list from a file."""

    __slots__ = ("_places", "mark", "path")

    def __init__(self, mark: Mark, path: str = "") -> None:
        super().__init__()
        self.mark = mark
        self.path = path
        self._places: list[Mark] = []

    def add(self, value: Any, place: Mark) -> None:
        """Put in an entry standing at ``place``."""
        self.append(value)
        self._places.append(place)

    def mark_of(self, index: int) -> Mark:
        """Where entry ``index`` stands; the list's own place if there is none."""
        inside = -len(self._places) <= index < len(self._places)
        return self._places[index] if inside else self.mark


def mark_of(value: object) -> Mark | None:
    """The place a value was written, if it came from a file and kept it.

    >>> str(mark_of(parse_tree("a: b", "a.yaml")["a"])), mark_of("b")
    ('a.yaml:1:4', None)
    """
    mark = getattr(value, "mark", None)
    return mark if isinstance(mark, Mark) else None


def join_path(path: str, step: str | int) -> str:
    """The path one step further in; a key that would read as more than one step is quoted.

    >>> join_path("room.size", 0), join_path("items", "nipping press"), join_path("a", "b.c")
    ('room.size[0]', 'items.nipping press', 'a."b.c"')
    """
    if isinstance(step, int):
        return f"{path}[{step}]"
    plain = step and not re.search(r'[.\[\]"\s]', step.replace(" ", "_"))
    name = step if plain else json.dumps(step, ensure_ascii=False)
    return f"{path}.{name}" if path else name


def read_tree(path: str | os.PathLike[str]) -> Table:
    """The table in a file. Raises InputError with every fault of its writing."""
    return parse_tree(file_bytes(path), os.fspath(path))


def parse_tree(text: str | bytes, name: str) -> Table:
    r"""The table in a text; ``name`` is what its marks call the file.

    A reference (``*name``) gives the very value it names, with the path where that was written,
    so one measurement referred to twice stays one measurement.

    Raises InputError with every fault of its writing.

    >>> parse_tree("on: no", "a.yaml")
    {'on': 'no'}
    >>> parse_tree("size: 1\nsize: 2", "a.yaml")
    Traceback (most recent call last):
    ...
    massing.errors.InputError: a.yaml:2:1: 'size' is given twice, first on line 1
        size: 2
        ^
    """
    syntax = parse_syntax(text, name)
    faults = list(syntax.faults)
    root = syntax.root
    if root.is_null:
        raise InputError([*faults, syntax.source.fault("the file is empty", root.start)])
    if root.kind != "table":
        says = "the file must be a table of 'key: value' lines"
        raise InputError([*faults, syntax.source.fault(says, root.start)])
    tree: Table = _Converter(syntax.source, faults).value(root, "")
    if faults:
        raise InputError(sorted_faults(faults))
    return tree


class _Converter:
    """Turns nodes into tables, lists and scalars, keeping those that may be referred to."""

    def __init__(self, source: Source, faults: list[Fault]) -> None:
        self._source = source
        self._faults = faults
        self._shared: dict[int, Any] = {}

    def value(self, node: Node, path: str) -> Any:
        """The value of a node; depth is bounded by the syntax, so recursion is safe."""
        if node.kind == "reference":
            return self._shared.get(id(node.target)) if node.target else None
        made: Any
        if node.kind == "table":
            made = self._table(node, path)
        elif node.kind == "list":
            made = Rows(self._source.mark(node.start), path)
            for index, entry in enumerate(node.values):
                made.add(self.value(entry, join_path(path, index)), self._source.mark(entry.start))
        else:
            made = None if node.is_null else self._scalar(node, path)
        if node.anchored:
            self._shared[id(node)] = made
        return made

    def _table(self, node: Node, path: str) -> Table:
        table = Table(self._source.mark(node.start), path)
        for key, value in zip(node.keys, node.values, strict=True):
            if key.kind != "text" or key.is_null:
                self._faults.append(self._source.fault("a key must be plain words", key.start))
                continue
            if key.text == "<<" and not key.style:
                says = "merge keys ('<<') are not used in this file"
                self._faults.append(self._source.fault(says, key.start))
                continue
            word = self._scalar(key, join_path(path, key.text))
            first = table.key(word)
            read = self.value(value, word.path)
            if first is not None:
                says = f"'{word}' is given twice, first on line {first.mark.line}"
                self._faults.append(Fault(says, word.mark))
                continue
            table.add(word, read, self._source.mark(value.start))
        return table

    def _scalar(self, node: Node, path: str) -> Scalar:
        mark = self._source.mark(node.start)
        return Scalar(node.text, mark=mark, path=path, quoted=bool(node.style))


def _file_like(place: Path) -> str | None:
    """The file of the same folder and ending whose name is most like it."""
    try:
        return nearest(place.name, (path.name for path in place.parent.glob(f"*{place.suffix}")))
    except (OSError, ValueError):
        return None


def file_bytes(path: str | os.PathLike[str]) -> bytes:
    """The file's content, once it is known to be a file of a bearable size."""
    place = Path(path)
    try:
        if place.is_dir():
            raise InputError([Fault(f"'{place}' is a folder, not a file")])
        with place.open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        says = f"there is no file '{place}'"
        raise InputError([Fault(says, hint=_file_like(place))]) from None
    except OSError as error:
        raise InputError([Fault(f"'{place}' cannot be read: {error.strerror}")]) from None
    except ValueError:
        raise InputError([Fault("the name of the file holds a NUL character")]) from None
