"""Tests for telling every fault of a file at once, at its place and in plain words."""

from __future__ import annotations

import enum
from typing import Annotated, Literal, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError, core_schema

from massing.errors import InputError, Mark
from massing.reading.faults import nearest, validate, wording
from massing.reading.fields import (
    Count,
    Flag,
    LengthField,
    Name,
    Number,
    PointField,
    PositiveLength,
    Size2,
    Spec,
)
from massing.reading.nodes import parse_tree


class Hinge(enum.Enum):
    """Which side a leaf hangs on."""

    LEFT = "left"
    RIGHT = "right"


class Door(Spec):
    """A door."""

    name: Name
    wall: Literal["north", "east", "south", "west"]
    along: LengthField
    hinge: Hinge = Hinge.LEFT
    opens_in: Flag = True


class Room(Spec):
    """A room."""

    size: Size2
    doors: tuple[Door, ...] = ()
    heights: dict[Name, PositiveLength] = Field(default_factory=dict)
    at: PointField | None = None
    people: Annotated[Count, Field(le=8)] = 1
    share: Annotated[Number, Field(gt=0, le=100)] = 50.0
    pair: tuple[Name, Name] | None = None
    lift: LengthField | Literal["full"] | None = None
    limits: Annotated[tuple[Number, ...], Field(min_length=2, max_length=3)] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Room:
        if self.pair and self.lift:
            raise ValueError("pair and lift are given together; keep one")
        if self.people == 7:
            raise PydanticCustomError("seven", "seven is one too many for {room}", {"room": "this"})
        return self


class Project(Spec):
    """A file."""

    massing: Literal[1]
    room: Room


def faults(text):
    with pytest.raises(InputError) as caught:
        validate(Project, parse_tree(text, "a.yaml"))
    return [(f.mark.line, f.mark.column, f.says, f.hint) for f in caught.value.faults]


SIX = """\
massing: 1
room:
  size: 5200 x six
  flor: 0
  people: many
  doors:
    - {name: entry, wall: nroth, along: 700}
    - name: back
      wall: west
      hinge: left
    - {name: '', wall: east, along: 2,400, opens-in: perhaps}
"""


def test_six_kinds_of_fault_are_told_at_once():
    """A file wrong in many ways says them all, in file order, each at its own character."""
    assert faults(SIX) == [
        (3, 9, "'six' is not a length; write 2400, 2.4 m or 7 ft 10 in", None),
        (4, 3, f"unknown key 'flor'; known here: {', '.join(Room.file_words())}", None),
        (5, 11, "'many' is not a whole number from 0 up", None),
        (7, 27, "'nroth' is not one of north, east, south, west", "north"),
        (8, 7, "room.doors[1] needs the key 'along'", None),
        (11, 14, "'name' is empty; write a name", None),
        (11, 39, "'400' follows a comma inside a number; write the number without it", None),
        (11, 54, "'perhaps' is neither yes nor no", None),
    ]  # fmt: skip


def test_the_message_shows_the_line_and_points_at_the_place():
    """What a user sees is file, place, words, the line, and a caret under the place."""
    with pytest.raises(InputError) as caught:
        validate(Project, parse_tree("massing: 1\nroom: {size: 5 x 6, peple: 2}\n", "attic.yaml"))

    assert str(caught.value) == (
        "attic.yaml:2:21: unknown key 'peple' (did you mean 'people'?)\n"
        "    room: {size: 5 x 6, peple: 2}\n"
        "                        ^"
    )


@pytest.mark.parametrize(
    ("room", "expected"),
    [
        ("§[1]", ("'room' is a list where a table of 'key: value' belongs", None)),
        ("§hall", ("'hall' is not a table of 'key: value'", None)),
        ("§{}", ("room needs the key 'size'", None)),
        ("{§siez: 5 x 6}", ("unknown key 'siez'", "size")),
        ("{size: 5 x 6, doors: §3}",
         ("'3' is not a list; its entries stand in [ ] or begin with '- '", None)),
        ("{size: 5 x 6, doors: §{}}", ("'doors' is a table where a list belongs", None)),
        ("{size: 5 x 6, doors: [§x]}", ("'x' is not a table of 'key: value'", None)),
        ("{size: 5 x 6, heights: §[x]}",
         ("'heights' is a list where a table of 'key: value' belongs", None)),
        ("{size: 5 x 6, heights: {§'': 3}}", ("'' is empty; write a name", None)),
        ("{size: 5 x 6, heights: {a: §-1}}", ("'-1' must be more than 0", None)),
        ("{size: 5 x 6, people: §9}", ("'9' must be 8 or less", None)),
        ("{size: 5 x 6, share: §0}", ("'0' must be more than 0", None)),
        ("{size: 5 x 6, share: §101}", ("'101' must be 100 or less", None)),
        ("{size: 5 x 6, pair: §[a]}", ("room.pair needs entry 2", None)),
        ("{size: 5 x 6, pair: §[a, b, c]}", ("'pair' may have at most 2 entries", None)),
        ("{size: 5 x 6, limits: §[1]}", ("'limits' needs at least 2 entries", None)),
        ("{size: 5 x 6, limits: §[1, 2, 3, 4]}",
         ("'limits' may have at most 3 entries", None)),
        ("{size: 5 x 6, lift: §ful}",
         ("'ful' is not a length; write 2400, 2.4 m or 7 ft 10 in; or: 'ful' is not 'full'",
          "full")),
        ("§{size: 5 x 6, pair: [a, b], lift: 5}",
         ("pair and lift are given together; keep one", None)),
        ("§{size: 5 x 6, people: 7}", ("seven is one too many for this", None)),
        ("{size: 5 x 6, doors: [{name: a, wall: §[b], along: 1}]}",
         ("'wall' is a list where one of north, east, south, west belongs", None)),
        ("{size: 5 x 6, doors: [{name: a, wall:§ , along: 1}]}",
         ("'wall' is empty; one of north, east, south, west belongs here", None)),
        ("{size: 5 x 6, doors: [{name: a, wall: §East, along: 1}]}",
         ("'East' is not one of north, east, south, west", "east")),
        ("{size: 5 x 6, doors: [{name: a, wall: east, along: 1, hinge: §rigth}]}",
         ("'rigth' is not one of left, right", "right")),
    ],
)  # fmt: skip
def test_one_fault_one_message(room, expected):
    """Each wrong thing gives exactly one fault, at the place of the § in the text."""
    line = f"room: {room}"

    found = faults(f"massing: 1\n{line.replace('§', '')}\n")

    assert found == [(2, line.index("§") + 1, *expected)]


def test_an_empty_value_is_told_after_its_colon():
    """Not at the next thing in the file."""
    says = "'room' is empty; a table of 'key: value' belongs here"

    assert faults("massing: 1\nroom:\n\n# the end\n") == [(2, 6, says, None)]


def test_a_version_is_a_number_and_anything_else_is_refused():
    """``massing: 1`` is read though every value is text."""
    assert validate(Project, parse_tree("massing: 1\nroom: {size: 5 x 6}", "a")).massing == 1
    assert faults("massing: 2\nroom: {size: 5 x 6}") == [(1, 10, "'2' is not '1'", None)]
    assert faults("massing: one\nroom: {size: 5 x 6}") == [(1, 10, "'one' is not '1'", None)]


def test_a_mistyped_key_is_not_also_a_missing_one():
    """One cause is one fault; a key missing for another reason is still told."""
    assert [says for *_, says, _ in faults("masing: 1\nroom: {siez: 5 x 6}")] == [
        "unknown key 'masing'",
        "unknown key 'siez'",
    ]
    assert [says for *_, says, _ in faults("massing: 1\nrom: {size: 5 x 6}\nextra: 3")] == [
        "unknown key 'rom'",
        "unknown key 'extra'; known here: massing, room",
    ]


def test_a_value_referred_to_twice_is_one_fault():
    """What is wrong where it is written is told there, once."""
    text = "massing: 1\nroom:\n  size: 5 x 6\n  doors: [&d {name: a, wall: up, along: 1}, *d]\n"

    assert faults(text) == [(4, 30, "'up' is not one of north, east, south, west", None)]


@pytest.mark.parametrize("kind", get_args(core_schema.ErrorType))
@pytest.mark.parametrize("value", ["six", None, {}, []])
def test_every_kind_of_error_has_plain_words(kind, value):
    """Nothing of the checking library's own language reaches the user."""
    context = {"expected": "'a' or 'b'", "error": "too steep", "class_name": "Spec"}
    says = wording(kind, context, value, "'size'")

    assert says
    for foreign in (
        "Input",
        "valid",
        "dict",
        "str ",
        "instance",
        "Spec",
        "None",
        "parse",
        "{",
        "}",
    ):
        assert foreign not in says


def test_the_nearest_word():
    """Case, hyphens and spaces count for little; nothing near is nothing."""
    assert nearest("Build Up", ["build-up", "size"]) == "build-up"
    assert nearest("wsher", ["washer", "dryer"]) == "washer"
    assert nearest("piano", ["washer", "dryer"]) is None
    assert nearest("", ["washer"]) is None
    assert nearest("x" * 5000, ["washer"]) is None
    assert nearest("ab", ["abc", "abd"]) == nearest("ab", ["abd", "abc"]) == "abc"


snippets = st.recursive(
    st.sampled_from(
        ["north", "700", "5 x 6", "six", "''", "~", "yes", "left", "-1", "[", "}", "*x"]
    ),
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda v: f"[{', '.join(v)}]")
        | st.dictionaries(
            st.sampled_from(
                [
                    "size",
                    "doors",
                    "name",
                    "wall",
                    "along",
                    "at",
                    "pair",
                    "lift",
                    "people",
                    "heights",
                    "x",
                ]
            ),
            inner,
            max_size=4,
        ).map(lambda v: "{" + ", ".join(f"{key}: {entry}" for key, entry in v.items()) + "}")
    ),
    max_leaves=8,
)


@given(snippets)
@settings(max_examples=300, deadline=None)
def test_any_file_is_a_model_or_faults_with_places(room):
    """Whatever shape the values have, each fault points into the file in our own words."""
    text = f"massing: 1\nroom: {room}\n"
    try:
        validate(Project, parse_tree(text, "a.yaml"))
    except InputError as error:
        found = error.faults
    else:
        return
    assert found
    lines = text.split("\n")
    for fault in found:
        assert isinstance(fault.mark, Mark)
        assert fault.mark.column <= len(lines[fault.mark.line - 1]) + 1
        assert "Input should" not in fault.says
    places = [(fault.mark.line, fault.mark.column) for fault in found]
    assert places == sorted(places)
