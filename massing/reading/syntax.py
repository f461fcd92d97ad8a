"""Text in; out a tree of tables, lists and texts that knows where each begins and ends.

The YAML library is asked for its events only, and the tree is built here without recursion:
nothing is converted, no tag is obeyed, and neither deep nesting nor a reference that holds
itself can exhaust the machine.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from massing.errors import Fault, InputError, Mark

__all__ = [
    "DEEPEST",
    "LARGEST_FILE",
    "MOST_ENTRIES",
    "Node",
    "Source",
    "Syntax",
    "parse_syntax",
    "sorted_faults",
]

LARGEST_FILE = 4 * 1024 * 1024
"""Bytes; a project of a thousand items is a hundredth of this."""
MOST_ENTRIES = 50_000
"""Values in a file, each counted as often as it is referred to."""
DEEPEST = 40
"""Tables and lists inside one another."""

_LINE_BREAK = re.compile(r"\r\n|\n|\r")
_COLON = re.compile(r"\s*:")
_DASH = re.compile(r"(?:\s|#[^\n]*\n)*-")
_LONGEST_SHOWN = 160
_LONGEST_SAID = 600
_LONGEST_KEY = 1024
_BYTE_ORDER_MARKS = (b"\xff\xfe", b"\xfe\xff")
_UNPRINTABLE = re.compile(
    "[^\\t\\n\\r\\x20-\\x7e\\x85\\xa0-\\ud7ff\\ue000-\\ufefe\\uff00-\\ufffd\\U00010000-\\U0010ffff]"
)
_WORDING = (
    ("cannot start any token", "this character cannot begin a value here; put the text in quotes"),
    ("mapping values are not allowed", "a second ': ' on this line; put the text in quotes"),
    ("could not find expected ':'", "a key without its ':' before this place"),
    ("sequence entries are not allowed", "a list entry '- ' must begin on its own line"),
    ("mapping keys are not allowed", "a key must begin on its own line"),
    ("expected ',' or '}'", "a ',' or the closing '}' is missing before this place"),
    ("expected ',' or ']'", "a ',' or the closing ']' is missing before this place"),
    ("expected <block end>", "this line's indent fits nothing above it, or a quote ends early"),
    ("unexpected end of stream", "the file ends before a quote is closed"),
    ("unexpected document separator", "a new document begins before a quote is closed"),
    ("unknown escape character", "unknown '\\' sequence; use single quotes to keep a backslash"),
    ("undefined tag handle", "tags ('!') are not used in this file"),
    ("expected the node content", "a value is missing before this place"),
    (
        "expected alphabetic or numeric",
        "a name must follow '&' or '*' here; put the text in quotes",
    ),
)


class Source:
    """The text of a file, turning offsets into places."""

    def __init__(self, text: str, name: str) -> None:
        self.text = text
        self.name = name
        self._starts = [0, *(found.end() for found in _LINE_BREAK.finditer(text))]
        self._shown: dict[int, str] = {}

    def mark(self, offset: int) -> Mark:
        """The place ``offset`` characters into the text."""
        offset = min(max(offset, 0), len(self.text))
        line = bisect_right(self._starts, offset) - 1
        column = offset - self._starts[line]
        return Mark(self.name, line + 1, column + 1, self._line(line, column))

    def _line(self, line: int, column: int) -> str:
        """The line to show under a message; nothing where the place is far along a long line."""
        if line not in self._shown:
            start = self._starts[line]
            end = self._starts[line + 1] if line + 1 < len(self._starts) else len(self.text)
            whole = self.text[start : min(end, start + _LONGEST_SHOWN + 2)].rstrip("\r\n")
            cut = whole if len(whole) <= _LONGEST_SHOWN else whole[: _LONGEST_SHOWN - 1] + "…"
            self._shown[line] = "".join(c if c.isprintable() else " " for c in cut)
        return self._shown[line] if column < _LONGEST_SHOWN else ""

    def fault(self, says: str, offset: int) -> Fault:
        """A fault at ``offset``."""
        return Fault(says, self.mark(offset))


@dataclass(slots=True, eq=False)
class Node:
    """A table, list, text or reference, with its span ``start:end`` in the text.

    keys : for a table, the text node of each key; same length as ``values``
    values : what a table or list holds
    text : what a text holds, quotes and escapes resolved
    style : quote or block character of a text, "" when plain
    flow : a table or list written in brackets
    target : for a reference (``*name``), the node it stands for
    size, depth : nodes in it and levels in it, references followed
    """

    kind: Literal["table", "list", "text", "reference"]
    start: int
    end: int
    text: str = ""
    style: str = ""
    flow: bool = False
    keys: list[Node] = field(default_factory=list)
    values: list[Node] = field(default_factory=list)
    target: Node | None = None
    anchored: bool = False
    size: int = 1
    depth: int = 0

    @property
    def is_null(self) -> bool:
        """Nothing written, or plain ``null`` or ``~``."""
        return self.kind == "text" and not self.style and self.text in _NULLS


_NULLS = frozenset(("", "~", "null", "Null", "NULL"))


@dataclass(frozen=True, slots=True)
class Syntax:
    """A file's tree, the text it stands in, and the faults that did not stop the reading."""

    root: Node
    source: Source
    faults: tuple[Fault, ...]


def parse_syntax(text: str | bytes, name: str) -> Syntax:
    """The tree of one YAML document.

    Raises InputError when the text cannot be taken apart at all.

    >>> tree = parse_syntax("room: {size: 3000 x 2000}", "a.yaml").root
    >>> tree.kind, tree.keys[0].text, tree.values[0].values[0].text
    ('table', 'room', '3000 x 2000')
    """
    source = Source(_decoded(text, name), name)
    if found := _UNPRINTABLE.search(source.text):
        letter = found.group()
        what = "a NUL character" if letter == "\0" else f"the character U+{ord(letter):04X}"
        raise InputError([source.fault(f"{what} cannot stand in the file", found.start())])
    builder = _Builder(source)
    try:
        for event in YAML(typ="safe", pure=True).parse(source.text):
            builder.take(event)
    except MarkedYAMLError as error:
        raise InputError(sorted_faults([*builder.faults, _reworded(error, source)])) from None
    except (YAMLError, ValueError, OverflowError, IndexError) as error:
        says = f"the text cannot be read from here on ({_first_line(error)})"
        stop = source.fault(says, builder.reached)
        raise InputError(sorted_faults([*builder.faults, stop])) from None
    if builder.root is None:
        raise InputError([source.fault("the file is empty", 0)])
    return Syntax(builder.root, source, tuple(builder.faults))


def sorted_faults(faults: list[Fault]) -> list[Fault]:
    r"""In file order, each said once and on one line; those without a place come last.

    >>> [fault.says for fault in sorted_faults([Fault("no item 'a\nb'"), Fault("no item 'a b'")])]
    ["no item 'a b'"]
    """
    once = list(dict.fromkeys(replace(fault, says=_one_line(fault.says)) for fault in faults))
    return sorted(once, key=lambda f: (0, f.mark.line, f.mark.column) if f.mark else (1, 0, 0))


def _one_line(says: str) -> str:
    """What a terminal can show on a line or two, whatever the file put into the message."""
    cut = says if len(says) <= _LONGEST_SAID else f"{says[: _LONGEST_SAID - 1]}…"
    return "".join(c if c.isprintable() else " " for c in cut)


def _decoded(text: str | bytes, name: str) -> str:
    """The text, once it is known to be UTF-8 of a bearable size."""
    if len(text) > LARGEST_FILE:
        raise InputError([Fault("the file is larger than 4 MB", Mark(name, 1, 1))])
    if isinstance(text, bytes):
        if text.startswith(_BYTE_ORDER_MARKS):
            raise InputError([Fault("the file is UTF-16; save it as UTF-8", Mark(name, 1, 1))])
        try:
            text = text.decode("utf-8")
        except UnicodeDecodeError as error:
            source = Source(error.object[: error.start].decode("utf-8"), name)
            says = "the file is not UTF-8 from this place on; save it as UTF-8"
            raise InputError([source.fault(says, error.start)]) from None
    if text.startswith("\ufeff"):
        says = "the file begins with a byte-order mark; save it as UTF-8 without one"
        raise InputError([Fault(says, Mark(name, 1, 1))])
    return text


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]


def _reworded(error: MarkedYAMLError, source: Source) -> Fault:
    """Our own words for what the YAML library found, at the most telling place."""
    place = error.problem_mark or error.context_mark
    offset = min(place.index, len(source.text)) if place is not None else 0
    problem = error.problem or error.context or "not YAML"
    if source.text[offset : offset + 1] == "\t" and "cannot start any token" in problem:
        return source.fault("a tab cannot indent; use spaces", offset)
    if offset == len(source.text) and ("',' or" in problem or "expected the node" in problem):
        opened = error.context_mark.index if error.context_mark is not None else offset
        return source.fault("this bracket is never closed", opened)
    begun = source.text.rfind("\n", 0, offset) + 1
    if "mapping values are not" in problem and offset - begun > _LONGEST_KEY:
        return source.fault(f"a key of more than {_LONGEST_KEY:,} letters", begun)
    opened = error.context_mark.index if error.context_mark is not None else offset
    if fault := _further_up(problem, source, offset, opened):
        return fault
    for words, says in _WORDING:
        if words in problem:
            return source.fault(says, offset)
    return source.fault(f"the text cannot be read here ({problem.strip()})", offset)


def _stripped(text: str, end: int) -> int:
    """Where the text before ``end`` ends, white space aside; only that much is looked at."""
    while end and text[end - 1].isspace():
        end -= 1
    return end


def _further_up(problem: str, source: Source, offset: int, opened: int) -> Fault | None:
    """A fault whose cause stands before the place where the library trips over it."""
    if "unexpected end of stream" in problem and opened < offset:
        return source.fault("this quote is never closed", opened)
    begun = source.text.rfind("\n", 0, offset) + 1
    if "could not find expected ':'" in problem and opened < begun:
        return source.fault("this line has no ':' between a key and its value", opened)
    if "mapping values are not" in problem and (lone := _lone_line(source.text, begun, offset)):
        return source.fault("this line has no ':' between a key and its value", lone)
    line = source.mark(opened).line
    for bracket in "}]":
        if f"or '{bracket}'" in problem and line < source.mark(offset).line:
            says = f"a ',' or the closing '{bracket}' of line {line} is missing before this place"
            return source.fault(says, offset)
    return None


def _lone_line(text: str, begun: int, offset: int) -> int:
    """Where the line above begins its words, if it has no colon and this line has one key; or 0.

    The library reads such a line on into the next, and trips over the next one's colon.
    """
    start = text.rfind("\n", 0, max(begun - 1, 0)) + 1
    above, this = text[start : max(begun - 1, 0)], text[begun:offset]
    words, deep = above.strip(), len(above) - len(above.lstrip())
    alike = deep == len(this) - len(this.lstrip()) and re.match(r"\w", words)
    lone = alike and ":" not in words and ": " not in this
    return start + deep if lone else 0


class _Builder:
    """Collects events into nodes; ``open`` is the chain of containers not yet ended."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.faults: list[Fault] = []
        self.root: Node | None = None
        self.reached = 0
        self._open: list[Node] = []
        self._waiting: list[Node | None] = []
        self._named: dict[str, Node] = {}

    def take(self, event: Any) -> None:
        kind = type(event).__name__
        self.reached = event.start_mark.index
        if kind == "DocumentStartEvent" and self.root is not None:
            says = "a second document begins here; keep one project to a file"
            raise self._stopped(says, self.reached)
        if kind in ("MappingStartEvent", "SequenceStartEvent"):
            self._begin(event, "table" if kind == "MappingStartEvent" else "list")
        elif kind in ("MappingEndEvent", "SequenceEndEvent"):
            self._finish(event)
        elif kind == "ScalarEvent":
            self._text(event)
        elif kind == "AliasEvent":
            self._reference(event)

    def _begin(self, event: Any, kind: Literal["table", "list"]) -> None:
        node = Node(kind, event.start_mark.index, event.end_mark.index)
        node.flow = bool(event.flow_style)
        self._note(node, event)
        if len(self._open) >= DEEPEST:
            says = f"tables and lists are nested more than {DEEPEST} deep"
            raise self._stopped(says, node.start)
        self._open.append(node)
        self._waiting.append(None)

    def _finish(self, event: Any) -> None:
        node = self._open.pop()
        self._waiting.pop()
        if node.flow:
            node.end = event.end_mark.index
        elif node.values:
            node.end = max(node.end, node.values[-1].end)
        self._place(node)

    def _text(self, event: Any) -> None:
        end = event.end_mark.index
        style = event.style or ""
        if style in ("|", ">"):
            end = _stripped(self.source.text, end)
        start = event.start_mark.index
        if not style and start == end:
            start = end = self._empty_place(start)
        node = Node("text", start, end, event.value, style)
        if any("\ud800" <= letter <= "\udfff" for letter in node.text):
            self._fault("half of a two-part character ('\\uD800' to '\\uDFFF')", node.start)
        self._note(node, event)
        self._place(node)

    def _empty_place(self, offset: int) -> int:
        """Just after the ':' or '-' whose value was left out; the library says the next token."""
        if not self._open:
            return offset
        holder, key = self._open[-1], self._waiting[-1]
        if holder.kind == "table":
            if key is None:
                return offset
            colon = _COLON.match(self.source.text, key.end)
            return colon.end() if colon else key.end
        before = holder.values[-1].end if holder.values else holder.start
        dash = _DASH.match(self.source.text, before)
        return dash.end() if dash else offset

    def _reference(self, event: Any) -> None:
        node = Node("reference", event.start_mark.index, event.end_mark.index)
        target = self._named.get(event.anchor)
        if target is None:
            self._fault(f"nothing above is named '&{event.anchor}'", node.start)
        elif target in self._open:
            self._fault(f"'*{event.anchor}' would hold itself", node.start)
            target = None
        else:
            node.size, node.depth = target.size, target.depth
        node.target = target
        self._place(node)

    def _note(self, node: Node, event: Any) -> None:
        """Remember a name given with ``&``; refuse a tag."""
        if event.anchor is not None:
            node.anchored = True
            self._named[event.anchor] = node
        if event.tag is not None:
            self._fault(f"the tag '{event.tag}' is not used in this file", node.start)

    def _place(self, node: Node) -> None:
        """Put a finished node where it belongs, counting what it holds."""
        if not self._open:
            self.root = node
            return
        holder = self._open[-1]
        holder.size += node.size
        holder.depth = max(holder.depth, node.depth + 1)
        if holder.size > MOST_ENTRIES:
            says = f"more than {MOST_ENTRIES:,} values, counting each reference in full"
            raise self._stopped(says, node.start)
        if len(self._open) + node.depth > DEEPEST:
            says = f"tables and lists are nested more than {DEEPEST} deep"
            raise self._stopped(says, node.start)
        if holder.kind == "list":
            holder.values.append(node)
        elif self._waiting[-1] is None:
            self._waiting[-1] = node
        else:
            holder.keys.append(self._waiting[-1])
            holder.values.append(node)
            self._waiting[-1] = None

    def _fault(self, says: str, offset: int) -> None:
        self.faults.append(self.source.fault(says, offset))

    def _stopped(self, says: str, offset: int) -> InputError:
        """What ends the reading, with all that was found before it."""
        return InputError(sorted_faults([*self.faults, self.source.fault(says, offset)]))
