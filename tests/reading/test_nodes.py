"""Tests for reading a file as tables, lists and texts that know their places."""

from __future__ import annotations

import copy
import pickle
import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from massing.errors import InputError, Mark
from massing.reading.nodes import Rows, Scalar, Table, mark_of, parse_tree, read_tree

ROOM = """\
# a room
room:
  size: 5200 ±20 x 2600   # outside
  doors:
    - {name: entry, leaf: [762, "1981"], 'in use': yes}
  note: |
    two
    lines
  empty:
  also: ~
"""


def faults(text, name="a.yaml"):
    with pytest.raises(InputError) as caught:
        parse_tree(text, name)
    return [(str(fault.mark).removeprefix(f"{name}:"), fault.says) for fault in caught.value.faults]


def test_values_know_where_they_stand():
    """Lines and columns count from 1, and the line is carried along."""
    tree = parse_tree(ROOM, "a.yaml")
    door = tree["room"]["doors"][0]

    assert tree["room"]["size"].mark == Mark("a.yaml", 3, 9, "  size: 5200 ±20 x 2600   # outside")
    assert str(door.mark) == "a.yaml:5:7"
    assert str(door["leaf"][1].mark) == "a.yaml:5:33"
    assert str(door.key("in use").mark) == "a.yaml:5:42"
    assert str(tree["room"].mark_of("note")) == "a.yaml:6:9"
    assert str(tree["room"]["doors"].mark_of(0)) == "a.yaml:5:7"


def test_values_know_which_they_are():
    """A path is the way from the top; keys carry their entry's."""
    tree = parse_tree(ROOM, "a.yaml")
    door = tree["room"]["doors"][0]

    assert door["leaf"][1].path == "room.doors[0].leaf[1]"
    assert door.key("in use").path == "room.doors[0].in use"
    assert (tree.path, tree["room"].path, door.path) == ("", "room", "room.doors[0]")


def test_quotes_are_noted_and_blocks_keep_their_lines():
    """A quoted ``null`` is a text; a block is one with line breaks."""
    tree = parse_tree(ROOM + "  said: 'null'\n", "a.yaml")["room"]

    assert (tree["said"], tree["said"].quoted) == ("null", True)
    assert tree["note"] == "two\nlines\n"
    assert tree["size"].quoted is False


def test_nothing_written_has_a_place_too():
    """An empty value stands just after its colon or dash, not at the next thing in the file."""
    tree = parse_tree("a:\n\nb: # later\n  - 1\n  - # none\n  - 3\nc: {d, e: }\n", "a.yaml")

    assert tree["a"] is None
    assert str(tree.mark_of("a")) == "a.yaml:1:3"
    assert tree["b"] == ["1", None, "3"]
    assert str(tree["b"].mark_of(1)) == "a.yaml:5:4"
    assert str(tree["c"].mark_of("d")) == "a.yaml:7:6"
    assert str(tree["c"].mark_of("e")) == "a.yaml:7:10"
    assert str(tree.mark_of("nowhere")) == "a.yaml:1:1"


@pytest.mark.parametrize(
    "word",
    ["on", "off", "yes", "no", "True", "1:30", "010", "0x1F", "1e3", ".5", "1_000", "2026-05-31"],
)
def test_no_word_changes_its_meaning(word):
    """What a YAML reader would turn into something else stays the text it is, also as a key."""
    tree = parse_tree(f"{word}: {word}\nlist: [{word}]\n", "a.yaml")

    assert tree == {word: word, "list": [word]}
    assert isinstance(tree[word], Scalar)
    assert all(isinstance(key, Scalar) for key in tree)


@pytest.mark.parametrize("word", ["", "~", "null", "Null", "NULL"])
def test_only_nothing_is_none(word):
    """``null``, ``~`` and an empty place are None."""
    assert parse_tree(f"a: {word}", "a.yaml") == {"a": None}


def test_containers_are_plain_data_with_a_place():
    """A table is a dict, a list a list, a text a str; all survive copying and pickling."""
    tree = parse_tree(ROOM, "a.yaml")

    assert (type(tree), type(tree["room"]["doors"])) == (Table, Rows)
    for twin in (copy.deepcopy(tree), pickle.loads(pickle.dumps(tree))):  # noqa: S301
        assert twin == tree
        assert twin["room"]["size"].mark == tree["room"]["size"].mark
        assert twin["room"].mark_of("empty") == tree["room"].mark_of("empty")
    assert mark_of(tree["room"]["size"]).line == 3
    assert mark_of("plain") is None


def test_a_reference_is_the_value_it_names():
    """One measurement referred to twice keeps one path, so it stays one measurement."""
    tree = parse_tree("a: &w 120 ±5\nb: *w\nc: &t {d: 1}\ne: [*t, *t]\n", "a.yaml")

    assert tree["b"].path == "a"
    assert str(tree["b"].mark) == "a.yaml:1:4"
    assert str(tree.mark_of("b")) == "a.yaml:2:4"
    assert tree["e"] == [{"d": "1"}, {"d": "1"}]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a: 1\nb: 2\na: 3\n", [("3:1", "'a' is given twice, first on line 1")]),
        ('a: {b: 1, "b": 2}\n', [("1:11", "'b' is given twice, first on line 1")]),
        ("a: &x {b: 1}\nc:\n  <<: *x\n", [("3:3", "merge keys ('<<') are not used in this file")]),
        ("a: !!int 3\n", [("1:4", "the tag 'tag:yaml.org,2002:int' is not used in this file")]),
        ("a: !thing {b: 1}\n", [("1:4", "the tag '!thing' is not used in this file")]),
        (
            "a: 1\n---\nb: 2\n",
            [("2:1", "a second document begins here; keep one project to a file")],
        ),
        ("a: *x\n", [("1:4", "nothing above is named '&x'")]),
        ("a: &x [1, *x]\n", [("1:11", "'*x' would hold itself")]),
        ("? [a]\n: 1\n", [("1:3", "a key must be plain words")]),
        ("{a: 1}: 2\n", [("1:1", "a key must be plain words")]),
        (": 1\n", [("1:1", "a key must be plain words")]),
        ("~: 1\n", [("1:1", "a key must be plain words")]),
        ("- 1\n", [("1:1", "the file must be a table of 'key: value' lines")]),
        ("hello\n", [("1:1", "the file must be a table of 'key: value' lines")]),
        ("", [("1:1", "the file is empty")]),
        ("# nothing\n", [("1:1", "the file is empty")]),
        ("---\n", [("2:1", "the file is empty")]),
        ("a:\n\tb: 1\n", [("2:1", "a tab cannot indent; use spaces")]),
        ("a: b: c\n", [("1:5", "a second ': ' on this line; put the text in quotes")]),
        ("a: [1, 2\n", [("1:4", "this bracket is never closed")]),
        ("a: {b: 1\n", [("1:4", "this bracket is never closed")]),
        (
            "a: [1, 2\nb: 3\n",
            [("2:2", "a ',' or the closing ']' of line 1 is missing before this place")],
        ),
        ("a: {b: 1 c: 2}\n", [("1:11", "a ',' or the closing '}' is missing before this place")]),
        ("a: 'x\n", [("1:4", "this quote is never closed")]),
        (
            "a: 'x\nb: it's\n",
            [("2:7", "this line's indent fits nothing above it, or a quote ends early")],
        ),
        ("a:\n  b c\n  d: 1\n", [("2:3", "this line has no ':' between a key and its value")]),
        ("a: @b\n", [("1:4", "this character cannot begin a value here; put the text in quotes")]),
        (
            "a:\n  b: 1\n c: 2\n",
            [("3:2", "this line's indent fits nothing above it, or a quote ends early")],
        ),
        ("a: 1\nb\nc: 2\n", [("2:1", "this line has no ':' between a key and its value")]),
        ('a: "\\q"\n', [("1:6", "unknown '\\' sequence; use single quotes to keep a backslash")]),
        ('a: "\\uD800"\n', [("1:4", "half of a two-part character ('\\uD800' to '\\uDFFF')")]),
        ("a: 1\nb: \0\n", [("2:4", "a NUL character cannot stand in the file")]),
        ("a: \x07\n", [("1:4", "the character U+0007 cannot stand in the file")]),
        (
            "\ufeffa: 1\n",
            [("1:1", "the file begins with a byte-order mark; save it as UTF-8 without one")],
        ),
        (
            b"\xef\xbb\xbfa: 1\n",
            [("1:1", "the file begins with a byte-order mark; save it as UTF-8 without one")],
        ),
        (b"\xff\xfea\0", [("1:1", "the file is UTF-16; save it as UTF-8")]),
        (
            b"a: 1\nb: caf\xe9\n",
            [("2:7", "the file is not UTF-8 from this place on; save it as UTF-8")],
        ),
        (b"a" * (4 * 1024 * 1024 + 1), [("1:1", "the file is larger than 4 MB")]),
    ],
)
def test_traps(text, expected):
    """Each trap is refused at its exact place in our own words."""
    assert faults(text) == expected


def test_faults_are_gathered():
    """What does not stop the reading is told all at once, in file order."""
    text = "a: !t 1\nb: 2\nb: 3\nc: {<<: 1, ? [x] : 2, d: *gone}\n"

    assert [place for place, _ in faults(text)] == ["1:4", "3:1", "4:5", "4:14", "4:26"]


def test_a_bomb_of_references_is_counted_not_expanded():
    """Nine levels of nine references would be 387 million values."""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    for level in range(1, 9):
        refs = ", ".join([f"*a{level - 1}"] * 9)
        lines.append(f"a{level}: &a{level} [{refs}]")

    assert [says for _, says in faults("\n".join(lines))] == [
        "more than 50,000 values, counting each reference in full"
    ]


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 100_000,
        "a: " + "{b: " * 100_000,
        "\n".join(" " * n + "a:" for n in range(200)),
        "- " * 5000 + "x",
        "a0: &a0 [1]\n" + "\n".join(f"a{n}: &a{n} [*a{n - 1}]" for n in range(1, 100)),
    ],
)
def test_nesting_is_bounded(text):
    """Depth is refused before it can exhaust anything, through references too."""
    assert faults(text)[0][1] == "tables and lists are nested more than 40 deep"


def test_the_deepest_nesting_allowed_is_read():
    """Forty levels are fine."""
    assert parse_tree("a: " + "[" * 39 + "]" * 39, "a.yaml")["a"]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings_of_every_kind(ending):
    """Places do not depend on how lines end."""
    tree = parse_tree(ROOM.replace("\n", ending), "a.yaml")

    assert str(tree["room"]["doors"][0]["leaf"][1].mark) == "a.yaml:5:33"
    assert tree["room"]["note"] == "two\nlines\n"
    assert not re.search(r"[\r\n]", tree["room"]["size"].mark.source)


def test_a_place_far_along_a_line_shows_no_line():
    """A message never prints a line of a megabyte."""
    tree = parse_tree("{" + ", ".join(f"k{n}: v" for n in range(1000)) + "}", "a.yaml")

    assert tree["k999"].mark.column > 1000
    assert tree["k999"].mark.source == ""
    assert len(tree["k0"].mark.source) <= 160


def test_files(tmp_path):
    """A file is read by its name; what is no readable file is said plainly."""
    good = tmp_path / "a.yaml"
    good.write_text(ROOM, encoding="utf-8")
    big = tmp_path / "big.yaml"
    big.write_bytes(b"#" * (4 * 1024 * 1024 + 1))

    assert read_tree(good) == parse_tree(ROOM, str(good))
    for path, says in [
        (tmp_path / "none.yaml", "there is no file"),
        (tmp_path, "is a folder, not a file"),
        (good / "inside", "cannot be read"),
        (big, "larger than 4 MB"),
        ("nul\0name", "NUL"),
    ]:
        with pytest.raises(InputError, match=says):
            read_tree(path)


def inside(mark, text):
    """Whether a mark points at a character of the text, or just past a line's end."""
    lines = re.split(r"\r\n|\n|\r", text)
    return 1 <= mark.line <= len(lines) and 1 <= mark.column <= len(lines[mark.line - 1]) + 1


pieces = st.sampled_from(
    ["a", "b: ", "- ", "? ", ": ", "\n", "\n  ", "\n    ", "[", "]", "{", "}", ", ", "&x ", "*x",
     "!t ", "|\n", ">-\n", "'", '"', "#", " #c", "<<: ", "~", "\t", "%YAML 1.2\n", "---\n", "...\n",
     "\\", "\\x0", "\\UFFFFFFFF", "\r", "\u2028", "\x85", "é", "😀", "@", "`", "!<", "%TAG ! x\n"]
)  # fmt: skip


@given(st.lists(pieces, max_size=25).map("".join) | st.text(max_size=60))
@settings(max_examples=400, deadline=None)
@example('a: "\\UFFFFFFFF"')
@example("a: !<")
@example("%YAML 9.9\n---\na: 1")
@example("%TAG\n---\na: 1")
def test_any_text_is_a_table_or_input_error(text):
    """No text makes any other error, and every fault points inside the text."""
    try:
        tree = parse_tree(text, "a.yaml")
    except InputError as error:
        found = error.faults
    else:
        assert type(tree) is Table
        assert all(inside(mark, text) for mark in marks(tree))
        return
    assert found
    assert all(fault.mark is not None and inside(fault.mark, text) for fault in found)


@given(st.binary(max_size=80))
@settings(max_examples=200, deadline=None)
def test_any_bytes_are_a_table_or_input_error(data):
    """No bytes make any other error."""
    try:
        tree = parse_tree(data, "a.yaml")
    except InputError as error:
        found = error.faults
    else:
        assert type(tree) is Table
        return
    assert all(fault.mark is not None for fault in found)


def marks(value):
    if isinstance(value, Table):
        yield value.mark
        for key, entry in value.items():
            yield key.mark
            yield value.mark_of(key)
            yield from marks(entry)
    elif isinstance(value, Rows):
        for index, entry in enumerate(value):
            yield value.mark_of(index)
            yield from marks(entry)
    elif isinstance(value, Scalar):
        yield value.mark


words = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=12)
trees = st.recursive(
    words | st.none(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=15,
)


@given(st.dictionaries(words, trees, max_size=4))
@settings(max_examples=150, deadline=None)
def test_what_is_written_is_what_is_read(tree):
    """Any tree of texts, written with every text quoted, comes back as it was."""
    assert parse_tree(shown(tree), "a.yaml") == tree


def shown(value):
    if isinstance(value, dict):
        return (
            "{" + ", ".join(f"{shown(key)}: {shown(entry)}" for key, entry in value.items()) + "}"
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(shown, value)) + "]"
    return "~" if value is None else "'" + value.replace("'", "''") + "'"


def test_a_file_that_is_not_there_is_likened_to_those_that_are(tmp_path):
    """Only of the same ending, and of the same folder."""
    (tmp_path / "attic.yaml").write_text("a: 1\n", "utf-8")
    (tmp_path / "attik.txt").write_text("a: 1\n", "utf-8")
    hints = {}
    for name in ("atic.yaml", "cellar.yaml", "attic.yml", "none/attic.yaml"):
        with pytest.raises(InputError) as caught:
            read_tree(tmp_path / name)
        hints[name] = caught.value.faults[0].hint
    assert hints == {
        "atic.yaml": "attic.yaml",
        "cellar.yaml": None,
        "attic.yml": None,
        "none/attic.yaml": None,
    }
