"""What people write wrongly in a room and its schemes: one plain message each, where it stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from massing.errors import InputError
from massing.project.read import parse_project

LOFT = """\
massing: 1
project: loft
people: {stature: 1855}
room:
  measured: inside
  build-up: half-brick, plastered
  size: 5200 ±20 x 2600 ±20
  floor:
    - level: 0
    - {from: east, depth: 1800 ±10, level: 150 ±5}
  ceiling:
    - {slopes: {south: 2010 ±15, north: 2640 ±15}}
    - {from: east, depth: 1800, flat: 2300}
  fabric:
    - {name: tie beam, box: 0..5200 x 1200..1350 x 2050..2200}
  doors:
    - {name: entry, wall: west, along: 700, leaf: 762 x 1881 x 44, hinge: left, opens: in}
  windows:
    - {name: street light, wall: north, along: 1500, size: 900 x 700, sill: 1050}
rules: {headroom: 1900}
items:
  nipping press: {body: 500 x 450 x 620, weight: 95, zone: {front: 800, headroom: 2000}}
  chest: {body: 600 x 450 x 800}
schemes:
  as found:
    - {item: washer, against: south, along: 300, stays: false}
    - {item: dryer, on: washer}
    - {item: nipping press, at: [2100, 0, 0], facing: north}
  proposed:
    from: as found
    remove: [nipping press]
    move: {washer: {against: east, along: 150}}
    add:
      - {item: chest, against: north, along: 400, height: 100}
    together: [[washer in use, entry open]]
"""


def mistakes():
    """What stands there, what someone writes instead, and all that is then said."""
    text = Path(__file__).with_name("mistakes.txt").read_text("utf-8")
    for case in text.rstrip().split("\n\n"):
        was, written, says = case.split("\n")
        written = written.removeprefix("(nothing)").replace("\\t", "\t")
        yield was.replace("\\n", "\n"), written.replace("\\n", "\n"), says


def faults(text):
    with pytest.raises(InputError) as caught:
        parse_project(text, "loft.yaml")
    return [str(fault).split("\n")[0].removeprefix("loft.yaml:") for fault in caught.value.faults]


def test_the_room_itself_is_read():
    """Without a mistake nothing is said."""
    assert parse_project(LOFT).name == "loft"


@pytest.mark.parametrize(("was", "written", "says"), list(mistakes()))
def test_a_mistake_is_told_once_and_where_it_stands(was, written, says):
    """Exactly one fault: what follows from a mistake is not told as another."""
    assert LOFT.count(was) >= 1
    assert faults(LOFT.replace(was, written, 1)) == [says]


def test_everything_wrong_is_told_at_once():
    """A slip in each part of the file: of writing, of size and of names."""
    text = LOFT
    for was, written in (
        ("stature: 1855", "stature: 1.855"),
        ("leaf: 762 x 1881 x 44", "leaf: 2762 x 1881 x 44"),
        ("headroom: 1900", "hedroom: 1900"),
        ("body: 500 x 450 x 620", "body: 500 x 450"),
        ("on: washer", "on: washr"),
        ("remove: [nipping press]", "remove: [niping press]"),
    ):
        text = text.replace(was, written, 1)
    assert faults(text) == [
        "3:19: '1.855' is in mm; write 1.855 m, or 1.855 mm if that is meant",
        "17:7: door 'entry' is 2762 wide and wall 'west' only 2600",
        "20:9: unknown key 'hedroom' (did you mean 'headroom'?)",
        "22:25: '500 x 450' is not three sizes; write 600 x 450 x 850",
        "27:25: nothing called 'washr' to stand on (did you mean 'washer'?)",
        "31:14: nothing called 'niping press' to remove (did you mean 'nipping press'?)",
    ]


@pytest.mark.parametrize(
    ("was", "written", "also"),
    [
        ("chest: {body", "chest: {bdy", "chest lid open"),
        ("size: 5200 ±20", "size: 5.2 x", "washer in use"),
    ],
)
def test_what_hangs_on_a_part_at_fault_is_not_told(was, written, also):
    """No message about things of an item or a room that cannot be read itself."""
    text = LOFT.replace(was, written).replace("washer in use", also)
    assert len(faults(text)) == 1


def test_what_is_like_an_item_at_fault_goes_with_it():
    text = LOFT.replace("chest: {body: 600 x 450 x 800}", "chest: {bdy: 6}\n  box: {like: chest}")
    text = text.replace("item: chest", "item: box").replace("from: as found", "from: as fond")
    assert [said.split(":")[0] for said in faults(text)] == ["23", "31"]


@pytest.mark.parametrize("size", ["400 mm x 29.9 m", "0.3 m x 2 m"])
def test_rooms_from_a_cupboard_to_a_hall_are_taken(size):
    assert parse_project(
        f"massing: 1\nproject: p\nroom: {{size: {size}, ceiling: [{{flat: 2400}}]}}\n"
    )


@pytest.mark.parametrize(
    "room",
    [
        "size: 290 x 2000",
        "size: 30 m x 4 m",
        "corners: [[0, 0], [4.2, 0], [4.2, 3.1], [0, 3.1]]",
        "walls: [{length: 520 m}, {length: 260 m}, {}, {}]",
    ],
)
def test_a_room_of_another_size_than_rooms_have(room):
    """Metres read as mm, or tenths; one message, at the outline."""
    text = f"massing: 1\nproject: p\nroom: {{{room}, ceiling: [{{flat: 2400}}]}}\n"
    (said,) = faults(text)
    assert said.startswith("3:")
    assert "is the unit right?" in said


@pytest.mark.parametrize(
    "written",
    ["2.5 mm", "2.5 mm ±0.1", "12.5", "2", "'2.5 m'", "10"],
)
def test_little_sizes_with_their_unit_are_taken(written):
    text = LOFT.replace("{front: 800", f"{{front: {written}")
    assert parse_project(text).items["nipping press"].zone
