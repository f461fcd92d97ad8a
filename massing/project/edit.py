"""A project's text and one change in; the text with that change and nothing else disturbed, out.

Places are found through the syntax tree, so comments, alignment and quoting elsewhere stay as the
user wrote them. Every result is read again and compared with what was meant; a change that would
touch anything more is refused.

A path is a tuple of keys and list indices: ``("schemes", "proposed", "move", "washer")``. What a
name refers to (``*name``) is changed where it is written, never through the reference.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from massing.errors import InputError, MassingError
from massing.reading.nodes import join_path
from massing.reading.syntax import Node, Source, parse_syntax
from massing.reading.words import nearest

__all__ = ["Path", "insert_entry", "remove_entry", "replace_value", "set_value", "yaml_text"]

Path: TypeAlias = tuple[str | int, ...]

_NAME = "the project"
_BLANK_OR_COMMENT = re.compile(r"[ \t]*(?:#[^\r\n]*)?(?:\r\n|\n|\r|$)")
_COMMENT = re.compile(r"[ \t]+#[^\r\n]*")
_DASH = re.compile(r"(?:\s|#[^\n]*\n|&\S+)*-(?=\s|$)")


@dataclass(frozen=True, slots=True)
class _Way:
    """A node, what holds it and where in that it is, and how its path reads."""

    node: Node
    holder: Node | None
    index: int
    words: str


def replace_value(text: str, path: Path, new_text: str) -> str:
    r"""The text with the value at ``path`` replaced by ``new_text``, one line of YAML.

    Raises MassingError when there is no such value or the change would spill over.

    >>> replace_value("along: 300   # from the left\nitem: washer\n", ("along",), "450")
    'along: 450   # from the left\nitem: washer\n'
    """
    _require_one_line(new_text)
    source, root = _parsed(text)
    way = _find(source, root, path)
    changed = _spliced(text, way, new_text.strip())
    meant = _with(_plain(root), path, _value_of(new_text))
    return _proven(changed, meant, f"'{new_text.strip()}' cannot stand at {way.words}")


def set_value(text: str, path: Path, new_text: str) -> str:
    """Replace the value of a key, or append the key where the table has none yet.

    >>> set_value("{item: washer}", ("along",), "300")
    '{item: washer, along: 300}'
    """
    _require_one_line(new_text)
    source, root = _parsed(text)
    holder = _find(source, root, path[:-1]).node
    if holder.kind == "table" and path[-1] not in _words(holder):
        return insert_entry(text, path[:-1], [f"{yaml_text(str(path[-1]))}: {new_text.strip()}"])
    return replace_value(text, path, new_text)


def insert_entry(text: str, path: Path, lines: Sequence[str]) -> str:
    r"""The text with an entry appended to the table or list at ``path``.

    lines : the entry as it would stand at the left margin: ``["move:", "  washer: {along: 150}"]``
        for a table, ``["- item: washer", "  against: south"]`` for a list

    Inside brackets the entry must be one line. A value left empty becomes the table or list the
    lines begin. Raises MassingError when a key is there already or the change would spill over.

    >>> insert_entry("a:\n  - 1   # one", ("a",), ["- 2"])
    'a:\n  - 1   # one\n  - 2'
    """
    source, root = _parsed(text)
    way = _find(source, root, path)
    entry = _fragment(lines)
    node = way.node
    if not node.is_null and node.kind != entry.kind:
        raise MassingError(f"a {entry.kind} entry cannot be added: {way.words} is a {node.kind}")
    for word in _words(entry):
        if word in _words(node):
            raise MassingError(f"{way.words} already has '{word}'")
    if node.is_null:
        changed = _filled(text, way, lines)
    elif node.flow or not node.values:
        changed = _inserted_in_brackets(text, node, lines)
    else:
        changed = _inserted_below(text, node, lines)
    meant = _with(_plain(root), path, _joined(_plain(node), _plain(entry)))
    return _proven(changed, meant, f"the entry cannot be added to {way.words}")


def remove_entry(text: str, path: Path) -> str:
    r"""The text without the entry at ``path``; its own trailing comment goes with it.

    The last entry of a table or list leaves ``{}`` or ``[]``. Comment lines above stay.

    >>> remove_entry("a: 1  # one\nb: 2\n", ("a",))
    'b: 2\n'
    """
    if not path:
        raise MassingError("the whole file cannot be removed")
    source, root = _parsed(text)
    way = _find(source, root, path)
    holder = way.holder
    if holder is None:
        raise MassingError("the whole file cannot be removed")
    if len(holder.values) == 1:
        empty = "{}" if holder.kind == "table" else "[]"
        changed = _spliced(text, _find(source, root, path[:-1]), empty)
    elif holder.flow:
        changed = _removed_in_brackets(text, holder, way.index)
    else:
        changed = _removed_lines(text, holder, way.index)
    meant = _without(_plain(root), path)
    return _proven(changed, meant, f"{way.words} cannot be removed alone")


def yaml_text(words: str) -> str:
    r"""The words as YAML that reads back as that very text, quoted only where it must be.

    >>> yaml_text("entry open"), yaml_text("null"), yaml_text("a: b"), yaml_text("it's:")
    ('entry open', "'null'", "'a: b'", "'it''s:'")
    """
    single = "'" + words.replace("'", "''") + "'"
    for shown in (words, single):
        if "\n" not in shown and _reads_as(shown, words):
            return shown
    return '"' + "".join(_escaped(letter) for letter in words) + '"'


def _escaped(letter: str) -> str:
    plain = letter.isprintable() and letter not in '"\\'
    return letter if plain else f"\\U{ord(letter):08X}"


def _reads_as(shown: str, words: str) -> bool:
    """Whether it reads back as a key and as a value, inside brackets and out."""
    try:
        inside = _plain(parse_syntax(f"{{{shown}: [{shown}]}}", _NAME).root)
        outside = _plain(parse_syntax(f"{shown}: {shown}", _NAME).root)
    except InputError:
        return False
    return bool(inside == ((words, [words]),) and outside == ((words, words),))


def _require_one_line(new_text: str) -> None:
    if "\n" in new_text or "\r" in new_text:
        raise MassingError("a replaced value must be one line")


def _parsed(text: str) -> tuple[Source, Node]:
    syntax = parse_syntax(text, _NAME)
    if syntax.faults:
        raise InputError(syntax.faults)
    return syntax.source, syntax.root


def _value_of(new_text: str) -> Any:
    """What one line of YAML says, as plain data."""
    try:
        (_, value), *more = _plain(parse_syntax(f"value: {new_text}", _NAME).root)
    except InputError as error:
        raise MassingError(f"'{new_text}' is not a value: {error.faults[0].says}") from None
    if more:
        raise MassingError(f"'{new_text}' is more than one value")
    return value


def _fragment(lines: Sequence[str]) -> Node:
    if not lines or any("\n" in line or "\r" in line for line in lines) or lines[0][:1].isspace():
        raise MassingError("an entry is one or more lines, the first at the left margin")
    try:
        entry = parse_syntax("\n".join(lines), _NAME).root
    except InputError as error:
        raise MassingError(f"the entry cannot be read: {error.faults[0].says}") from None
    if entry.kind not in ("table", "list") or entry.flow:
        raise MassingError("an entry is a 'key: value' of a table or a '- value' of a list")
    return entry


def _find(source: Source, root: Node, path: Path) -> _Way:
    """Follow a path; refuses to pass through a reference."""
    node, holder, index, words = root, None, 0, ""
    for step in path:
        if node.kind == "reference":
            line = source.mark(node.target.start if node.target else 0).line
            raise MassingError(f"{words} is a reference; change what it names, on line {line}")
        holder, index = node, _index(node, step, words or _NAME)
        node = holder.values[index]
        words = join_path(words, step)
    if node.kind == "reference" and holder is None:
        raise MassingError("the whole file is a reference")
    return _Way(node, holder, index, words or _NAME)


def _index(node: Node, step: str | int, words: str) -> int:
    if node.kind == "list" and isinstance(step, int) and 0 <= step < len(node.values):
        return step
    known = _words(node)
    if node.kind == "table" and isinstance(step, str) and step in known:
        return known.index(step)
    near = nearest(str(step), known)
    hint = f" (did you mean '{near}'?)" if near else ""
    raise MassingError(f"{words} has no entry '{step}'{hint}")


def _words(node: Node) -> list[str]:
    return [key.text for key in node.keys]


def _spliced(text: str, way: _Way, new: str) -> str:
    """The text with a node's span replaced, pulled up to its key's line where that is empty.

    A comment that ends the last of several lines belongs to them and goes too.
    """
    start, end = way.node.start, way.node.end
    lead = text[:start]
    if way.holder is not None and not way.holder.flow:
        head = lead.rstrip()
        if head.endswith((":", "-")) and (len(head) == start or "\n" in lead[len(head) :]):
            own = _COMMENT.match(text, end) if "\n" in text[start:end] else None
            return f"{head} {new}{text[own.end() if own else end :]}"
    gap = " " if lead.endswith((":", "-")) else ""
    return f"{lead}{gap}{new}{text[end:]}"


def _ending(text: str) -> str:
    found = re.search(r"\r\n|\n|\r", text)
    return found.group() if found else "\n"


def _line_start(text: str, offset: int) -> int:
    return max(text.rfind("\n", 0, offset), text.rfind("\r", 0, offset)) + 1


def _rest_of_line(text: str, offset: int) -> int:
    """Past the blanks, the comment and the line break after ``offset``; itself if more follows."""
    found = _BLANK_OR_COMMENT.match(text, offset)
    return found.end() if found else offset


def _first(text: str, node: Node, index: int) -> int:
    """Where an entry begins: its key, or the dash before it."""
    if node.kind == "table":
        return node.keys[index].start
    if node.flow:
        return node.values[index].start
    before = node.values[index - 1].end if index else node.start
    found = _DASH.match(text, before)
    return found.end() - 1 if found else node.values[index].start


def _inserted_below(text: str, node: Node, lines: Sequence[str]) -> str:
    """A block table or list, one entry longer, at the indent of its first entry."""
    first = _first(text, node, 0)
    indent = " " * (first - _line_start(text, first))
    return _put_below(text, node.end, [indent + line if line else line for line in lines])


def _put_below(text: str, offset: int, lines: Sequence[str]) -> str:
    """Whole lines put in below the line of ``offset``; a missing final line break stays missing."""
    ending = _ending(text)
    place = _rest_of_line(text, offset)
    block = ending.join(lines)
    if place and text[place - 1] in "\r\n":
        return text[:place] + block + ending + text[place:]
    return text[:place] + ending + block + text[place:]


def _inserted_in_brackets(text: str, node: Node, lines: Sequence[str]) -> str:
    if len(lines) != 1:
        raise MassingError("inside brackets an entry must be one line")
    new = lines[0].removeprefix("- ") if node.kind == "list" else lines[0]
    if not node.values:
        return text[: node.end - 1] + new + text[node.end - 1 :]
    last = node.values[-1].end
    comma = re.match(r"\s*,", text[last : node.end])
    if comma:
        return text[: last + comma.end()] + f" {new}," + text[last + comma.end() :]
    gap = " " if text[last - 1] == ":" else ""
    return text[:last] + f"{gap}, {new}" + text[last:]


def _filled(text: str, way: _Way, lines: Sequence[str]) -> str:
    """A value left empty, now holding its first entry on the lines below its key."""
    if way.holder is None or way.holder.flow or way.node.start != way.node.end:
        raise MassingError(f"{way.words} is empty in a way that cannot be filled; write {{}} or []")
    first = _first(text, way.holder, way.index)
    indent = " " * (first - _line_start(text, first) + 2)
    return _put_below(text, way.node.end, [indent + line if line else line for line in lines])


def _removed_in_brackets(text: str, holder: Node, index: int) -> str:
    if index + 1 < len(holder.values):
        return text[: _first(text, holder, index)] + text[_first(text, holder, index + 1) :]
    return text[: holder.values[index - 1].end] + text[holder.values[index].end :]


def _removed_lines(text: str, holder: Node, index: int) -> str:
    start = _first(text, holder, index)
    line = _line_start(text, start)
    if text[line:start].strip():
        return text[:start] + text[_first(text, holder, index + 1) :]
    return text[:line] + text[_rest_of_line(text, holder.values[index].end) :]


def _plain(node: Node) -> Any:
    """A node as data to compare: tables as tuples of pairs, so that order counts."""
    if node.kind == "reference":
        return _plain(node.target) if node.target is not None else None
    if node.kind == "table":
        pairs = zip(node.keys, node.values, strict=True)
        return tuple((key.text, _plain(value)) for key, value in pairs)
    if node.kind == "list":
        return [_plain(value) for value in node.values]
    return None if node.is_null else node.text


def _with(plain: Any, path: Path, value: Any) -> Any:
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(plain, list):
        return [_with(v, rest, value) if i == step else v for i, v in enumerate(plain)]
    return tuple((k, _with(v, rest, value) if k == step else v) for k, v in plain)


def _without(plain: Any, path: Path) -> Any:
    step, rest = path[0], path[1:]
    if isinstance(plain, list):
        kept = ((i, v) for i, v in enumerate(plain) if rest or i != step)
        return [_without(v, rest) if i == step else v for i, v in kept]
    pairs = ((k, v) for k, v in plain if rest or k != step)
    return tuple((k, _without(v, rest) if k == step else v) for k, v in pairs)


def _joined(plain: Any, entry: Any) -> Any:
    return entry if plain is None else plain + entry


def _proven(changed: str, meant: Any, says: str) -> str:
    """The changed text, once it reads as meant."""
    try:
        syntax = parse_syntax(changed, _NAME)
    except InputError as error:
        raise MassingError(f"{says}: {error.faults[0].says}") from None
    if syntax.faults:
        raise MassingError(f"{says}: {syntax.faults[0].says}")
    if _plain(syntax.root) != meant:
        raise MassingError(f"{says}: more than that would change")
    return changed
