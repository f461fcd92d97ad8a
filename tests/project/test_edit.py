"""Tests for changing a project's text without disturbing the rest of it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import InputError, MassingError
from massing.project.edit import insert_entry, remove_entry, replace_value, set_value, yaml_text
from massing.reading.nodes import parse_tree

HOUSE = """\
# Bindery
massing: 1      # the version

schemes:
    as found:
    - {item: washer,   against: south, along: 300}   # kept
    - item: press   # heavy
      at: [2100, 0, 0]
      facing: north

    # what we propose
    proposed:
        from: as found
        move: {washer: {against: east}}
        add:
          - item: bicycle
            height: 100  # hook
        remove:
        note: |
          two
          lines

        together: [[washer in use, entry open]]
"""


def changed_lines(before, after):
    """Lines gone and lines come, by set difference kept in order."""
    old, new = before.split("\n"), after.split("\n")
    return [line for line in old if line not in new], [line for line in new if line not in old]


@pytest.mark.parametrize(
    ("path", "new", "gone", "come"),
    [
        (("massing",), "2", "massing: 1      # the version", "massing: 2      # the version"),
        (
            ("schemes", "as found", 0, "along"),
            "450 ±5",
            "    - {item: washer,   against: south, along: 300}   # kept",
            "    - {item: washer,   against: south, along: 450 ±5}   # kept",
        ),
        (
            ("schemes", "as found", 1, "at"),
            "[0, 0, 0]",
            "      at: [2100, 0, 0]",
            "      at: [0, 0, 0]",
        ),
        (
            ("schemes", "as found", 1, "at", 0),
            "1.2 m",
            "      at: [2100, 0, 0]",
            "      at: [1.2 m, 0, 0]",
        ),
        (
            ("schemes", "proposed", "move", "washer"),
            "{corner: [north, east]}",
            "        move: {washer: {against: east}}",
            "        move: {washer: {corner: [north, east]}}",
        ),
        (
            ("schemes", "proposed", "remove"),
            "[press]",
            "        remove:",
            "        remove: [press]",
        ),
        (
            ("schemes", "proposed", "add", 0, "height"),
            "1.4 m",
            "            height: 100  # hook",
            "            height: 1.4 m  # hook",
        ),
    ],
)
def test_replacing_a_value_changes_its_own_characters_only(path, new, gone, come):
    """One line differs and every other, comments and odd spacing included, is as it was."""
    assert changed_lines(HOUSE, replace_value(HOUSE, path, new)) == ([gone], [come])


def test_replacing_a_block_pulls_the_value_up_to_its_key():
    """A block table, list or text gives way to a value on the key's own line."""
    add = ("schemes", "proposed", "add")
    note = ("schemes", "proposed", "note")

    assert "        add: []\n        remove:\n" in replace_value(HOUSE, add, "[]")
    assert "        note: short\n\n        together:" in replace_value(HOUSE, note, "short")
    assert replace_value("a:\n- 1\n- 2\nb: 3", ("a",), "x") == "a: x\nb: 3"


@pytest.mark.parametrize(
    ("path", "lines", "come"),
    [
        ((), ["people: {stature: 1855}"], ["people: {stature: 1855}"]),
        (
            ("schemes", "as found"),
            ["- item: bin", "  on: press"],
            ["    - item: bin", "      on: press"],
        ),
        (("schemes", "as found", 1), ["stays: yes"], ["      stays: yes"]),
        (
            ("schemes", "proposed", "add"),
            ["- {item: bin}"],
            ["          - {item: bin}"],
        ),
        (
            ("schemes", "proposed", "remove"),
            ["- press"],
            ["          - press"],
        ),
        (
            ("schemes", "proposed", "add", 0),
            ["state:", "  door: open"],
            ["            state:", "              door: open"],
        ),
    ],
)
def test_an_entry_goes_below_at_the_right_indent(path, lines, come):
    """Whole lines are added below the last entry; nothing else changes."""
    for text in (HOUSE, HOUSE.replace("\n", "\r\n")):
        gone, added = changed_lines(text, insert_entry(text, path, lines))

        assert gone == []
        assert [line.rstrip("\r") for line in added] == come
        assert ("\r\n" in text) == all(line.endswith("\r") for line in added)


@pytest.mark.parametrize(
    ("text", "path", "lines", "after"),
    [
        ("a: 1", (), ["b: 2"], "a: 1\nb: 2"),
        ("a: 1\n", (), ["b: 2"], "a: 1\nb: 2\n"),
        ("a: 1  # one", (), ["b: 2"], "a: 1  # one\nb: 2"),
        ("a:\n  b:\n    - 1", ("a", "b"), ["- 2"], "a:\n  b:\n    - 1\n    - 2"),
        ("a:\n  b:\n    - 1", ("a",), ["c: 2"], "a:\n  b:\n    - 1\n  c: 2"),
        ("a:\n- 1\n- 2\nb: 3\n", ("a",), ["- x"], "a:\n- 1\n- 2\n- x\nb: 3\n"),
        ("a:\n  -\n", ("a",), ["- 2"], "a:\n  -\n  - 2\n"),
        ("a:\n", (), ["b: 2"], "a:\nb: 2\n"),
        ("a:", ("a",), ["b: 2"], "a:\n  b: 2"),
        ("a:  # later\n", ("a",), ["b: 2"], "a:  # later\n  b: 2\n"),
        ("a: {}\n", ("a",), ["b: 2"], "a: {b: 2}\n"),
        ("a: []\n", ("a",), ["- {b: 2}"], "a: [{b: 2}]\n"),
        ("a: {b: 1}\n", ("a",), ["c: 2"], "a: {b: 1, c: 2}\n"),
        ("a: [1]\n", ("a",), ["- 2"], "a: [1, 2]\n"),
        ("a: [1, ]\n", ("a",), ["- 2"], "a: [1, 2, ]\n"),
        (
            "a: [\n  1,  # one\n  2   # two\n]\n",
            ("a",),
            ["- 3"],
            "a: [\n  1,  # one\n  2, 3   # two\n]\n",
        ),
        ("a: {b}\n", ("a",), ["c: 2"], "a: {b, c: 2}\n"),
        ("a: {b: }\n", ("a",), ["c: 2"], "a: {b: , c: 2 }\n"),
        ("a: |\n  x\n", (), ["b: 2"], "a: |\n  x\nb: 2\n"),
        ("---\na: 1\n...\n", (), ["b: 2"], "---\na: 1\nb: 2\n...\n"),
        ("- - 1\n", None, None, None),
        ("a:\n- - 1\n  - 2\n", ("a", 0), ["- 3"], "a:\n- - 1\n  - 2\n  - 3\n"),
        ("a: &x\n  b: 1\nc: *x\n", (), ["d: 2"], "a: &x\n  b: 1\nc: *x\nd: 2\n"),
    ],
)
def test_where_an_entry_goes(text, path, lines, after):
    """The last block of a file, a missing final line break, brackets and empty values."""
    if path is None:
        with pytest.raises(MassingError):
            insert_entry(text, ("a",), ["- 1"])
        return
    assert insert_entry(text, path, lines) == after


@pytest.mark.parametrize(
    ("text", "path", "after"),
    [
        ("a: 1\nb: 2\n", ("b",), "a: 1\n"),
        ("a: 1\nb: 2", ("b",), "a: 1\n"),
        ("a: 1  # one\n# two\nb: 2\n", ("a",), "# two\nb: 2\n"),
        ("a:\n  b:\n    - 1\n    - 2\nc: 3\n", ("a",), "c: 3\n"),
        ("a:\n  b:\n    - 1\n    - 2\nc: 3\n", ("a", "b", 0), "a:\n  b:\n    - 2\nc: 3\n"),
        ("a:\n  b:\n    - 1\n    - 2\nc: 3\n", ("a", "b"), "a: {}\nc: 3\n"),
        ("a:\n  - 1\nc: 3\n", ("a", 0), "a: []\nc: 3\n"),
        ("a:\n- b: 1\n  c: 2\n- d: 3\n", ("a", 0), "a:\n- d: 3\n"),
        ("a:\n- b: 1\n  c: 2\n- d: 3\n", ("a", 0, "b"), "a:\n- c: 2\n- d: 3\n"),
        ("a:\n- b: 1\n  c: 2\n- d: 3\n", ("a", 0, "c"), "a:\n- b: 1\n- d: 3\n"),
        ("a: {b: 1, c: 2, d: 3}  # x\n", ("a", "b"), "a: {c: 2, d: 3}  # x\n"),
        ("a: {b: 1, c: 2, d: 3}  # x\n", ("a", "c"), "a: {b: 1, d: 3}  # x\n"),
        ("a: {b: 1, c: 2, d: 3}  # x\n", ("a", "d"), "a: {b: 1, c: 2}  # x\n"),
        ("a: {b: 1}\n", ("a", "b"), "a: {}\n"),
        ("a: [1, ]\n", ("a", 0), "a: []\n"),
        ("a: [1, [2, 3]]\n", ("a", 1, 0), "a: [1, [3]]\n"),
        ("a: 1\n", ("a",), "{}\n"),
        ("a: |\n  x\n  y\nb: 2\n", ("a",), "b: 2\n"),
    ],
)
def test_removing(text, path, after):
    """An entry goes with its lines and its trailing comment; the last leaves empty brackets."""
    assert remove_entry(text, path) == after


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (
            lambda: replace_value(HOUSE, ("scheme",), "1"),
            "has no entry 'scheme' (did you mean 'schemes'?)",
        ),
        (
            lambda: replace_value(HOUSE, ("schemes", "as found", 7), "1"),
            "schemes.as found has no entry '7'",
        ),
        (lambda: replace_value(HOUSE, ("massing", "x"), "1"), "massing has no entry 'x'"),
        (lambda: replace_value("a: 1", ("a",), "1\nb: 2"), "one line"),
        (lambda: replace_value("a: 1", ("a",), "b: 2"), "is not a value"),
        (lambda: replace_value("a: 1", ("a",), "[1"), "is not a value"),
        (lambda: replace_value("a: {b: 1}", ("a", "b"), "1, c"), "cannot stand at a.b"),
        (lambda: replace_value("a: [1]", ("a", 0), "1, 2"), "more than that would change"),
        (lambda: replace_value("a: [1]", ("a", 0), "x # y"), "cannot stand at a[0]"),
        (lambda: replace_value("a: &x 1\nb: *x", ("a",), "2"), "nothing above is named '&x'"),
        (
            lambda: replace_value("a: &x {c: 1}\nb: *x", ("b", "c"), "2"),
            "b is a reference; change what it names, on line 1",
        ),
        (
            lambda: replace_value("a: &x {c: 1}\nb: *x", ("a", "c"), "2"),
            "more than that would change",
        ),
        (lambda: insert_entry("a: 1", ("a",), ["b: 2"]), "a is a text"),
        (lambda: insert_entry("a: 1", (), ["- 2"]), "a list entry cannot be added"),
        (lambda: insert_entry("a: 1", (), ["a: 2"]), "already has 'a'"),
        (lambda: insert_entry("a: 1", (), []), "one or more lines"),
        (lambda: insert_entry("a: 1", (), ["  b: 2"]), "at the left margin"),
        (lambda: insert_entry("a: 1", (), ["b: 2\nc: 3"]), "one or more lines"),
        (lambda: insert_entry("a: 1", (), ["b"]), "an entry is a 'key: value'"),
        (lambda: insert_entry("a: 1", (), ["b: [2"]), "cannot be read"),
        (
            lambda: insert_entry("a: {b: 1}", ("a",), ["c:", "  d: 2"]),
            "inside brackets an entry must be one line",
        ),
        (lambda: insert_entry("a: {b: , c: 1}", ("a", "b"), ["d: 2"]), "cannot be filled"),
        (lambda: insert_entry("a: ~", ("a",), ["d: 2"]), "cannot be filled"),
        (lambda: remove_entry("a: 1", ()), "whole file"),
        (lambda: remove_entry("a: &x 1\nb: *x", ("a",)), "nothing above is named '&x'"),
    ],
)
def test_what_cannot_be_done_is_refused(edit, says):
    """A change that is not there to make, or would spill over, is refused in words."""
    with pytest.raises(MassingError) as caught:
        edit()

    assert says in str(caught.value)


def test_a_text_that_cannot_be_read_is_not_changed():
    """Faults of the file come out as when reading it."""
    with pytest.raises(InputError):
        replace_value("a: [1", ("a",), "2")


def test_setting_replaces_or_appends():
    """A value that is there is replaced; a key that is not is appended."""
    path = ("schemes", "as found", 1)
    once = set_value(HOUSE, (*path, "along"), "300")
    twice = set_value(once, (*path, "along"), "450")

    assert changed_lines(HOUSE, once) == ([], ["      along: 300"])
    assert changed_lines(once, twice) == (["      along: 300"], ["      along: 450"])
    assert set_value("a: {}", ("a", "b: c"), "1") == "a: {'b: c': 1}"


names = st.text(min_size=1, max_size=12).filter(
    lambda text: not any("\ud800" <= letter <= "\udfff" for letter in text)
)


@given(names)
@settings(max_examples=50, deadline=None)
def test_any_words_can_be_written_as_yaml(words):
    """As a key or a value, in brackets or not, it reads back as the very same text."""
    shown = yaml_text(words)

    assert parse_tree(f"{shown}: {shown}\n", "a") == {words: words}
    assert parse_tree(f"a: {{{shown}: [{shown}, x]}}\n", "a") == {"a": {words: [words, "x"]}}


LEAVES = [
    ("massing",), ("schemes", "as found", 0, "item"), ("schemes", "as found", 0, "along"),
    ("schemes", "as found", 1, "at", 2), ("schemes", "as found", 1, "facing"),
    ("schemes", "proposed", "from"), ("schemes", "proposed", "move", "washer", "against"),
    ("schemes", "proposed", "add", 0, "height"), ("schemes", "proposed", "remove"),
    ("schemes", "proposed", "together", 0, 1),
]  # fmt: skip


@given(st.sampled_from(LEAVES), names)
@settings(max_examples=50, deadline=None)
def test_a_replaced_value_reads_back_and_nothing_else_changes(path, words):
    """Putting in any text and then the old one again restores the file to the letter."""
    tree = parse_tree(HOUSE, "a")
    old = tree
    for step in path:
        old = old[step]
    changed = replace_value(HOUSE, path, yaml_text(words))
    found = parse_tree(changed, "a")
    for step in path:
        found = found[step]

    assert found == words
    if old is not None:
        assert replace_value(changed, path, old) == HOUSE


TABLES = [
    (),
    ("schemes",),
    ("schemes", "as found", 0),
    ("schemes", "as found", 1),
    ("schemes", "proposed"),
    ("schemes", "proposed", "add", 0),
]


@given(st.sampled_from(TABLES), names)
@settings(max_examples=50, deadline=None)
def test_what_is_added_can_be_taken_away(path, words):
    """Adding a new key to any table and removing it again restores the file to the letter."""
    key = "new " + words
    added = insert_entry(HOUSE, path, [f"{yaml_text(key)}: 1"])

    assert added != HOUSE
    assert remove_entry(added, (*path, key)) == HOUSE
