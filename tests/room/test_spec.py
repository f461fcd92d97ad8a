"""Tests of what a file may say of a room: one cause is one fault, at its place."""

from __future__ import annotations

import pytest

from massing.errors import InputError
from massing.reading.faults import validate
from massing.reading.nodes import parse_tree
from massing.room.spec import PartitionSpec, RoomSpec
from tests.zoo import ROOMS, room_spec, spec_from

PLAIN = "size: 3000 x 2000\n"
FAULTY = {
    "ceiling: [{flatt: 2400}]": (2, 12, "unknown key 'flatt'"),
    "ceiling: []": (1, 1, "empty list"),
    "ceiling: [{flat: 2400, from: east}]": (2, 11, "given together"),
    "ceiling: [{flat: 2400, area: 0..900}]": (2, 30, "is not an area"),
    "ceiling: [{flat: 2400, area: 0..9 x 9..0}]": (2, 30, "from the lower to the higher"),
    "ceiling: [{flat: 2400, slopes: {south: 1, north: 2}}]": (2, 11, "exactly one of"),
    "ceiling: [{slopes: {south: 1900}}]": (2, 11, "two opposite walls"),
    "ceiling: [{hip: {eaves: 2000, pitch: {south: x}}}]": (2, 46, "not an angle"),
    "ceiling: [{flat: 2400}]\ndoors: [{name: a, wall: north, along: 300}]": (3, 9, "has a 'leaf'"),
    "ceiling: [{flat: 2400}]\nfabric: [{name: a, box: 0..9 x 0..9}]": (3, 10, "one height"),
    "ceiling: [{flat: 2400}]\nfabric: [{name: a, prism: [[0, 0], [1, 2]], z: 0..9}]":
    (3, 10, "from 3 to"),
    "ceiling: [{flat: 2400}]\nfloor: [{level: 0, area: 0..9 x 0..9 x 0..9}]":
    (3, 26, "an area has two"),
    "ceiling: [{flat: 2400}]\ncorners: [[0, 0], [9, 0], [9, 9]]": (1, 1, "size and corners"),
}  # fmt: skip


@pytest.mark.parametrize("text", sorted(FAULTY))
def test_one_cause_is_one_fault_at_its_place(text):
    line, column, says = FAULTY[text]
    with pytest.raises(InputError, match=says) as raised:
        validate(RoomSpec, parse_tree(PLAIN + text, "a.yaml"))
    (fault,) = raised.value.faults

    assert (fault.mark.line, fault.mark.column) == (line, column)


@pytest.mark.parametrize("name", sorted(ROOMS))
def test_every_room_of_the_zoo_is_read(name):
    assert room_spec(name) == room_spec(name)


def test_an_area_keeps_its_units_its_tolerance_and_its_path():
    (entry,) = spec_from(PLAIN + "ceiling: [{flat: 2400, area: 0.1..0.9 x 1.2..1.5 m}]").ceiling
    assert [[end.mm for end in ends] for ends in entry.area] == [[100, 900], [1200, 1500]]
    (entry,) = spec_from(PLAIN + "ceiling: [{flat: 2400, area: 0..900 ±5 x 0..600}]").ceiling
    assert entry.area[0][1].pm == 5
    assert entry.area[0][1].path == "room.ceiling[0].area[0][1]"
    with pytest.raises(ValueError, match=r"'0\.\.900 x 0\.\.6q'"):
        spec_from(PLAIN + "ceiling: [{flat: 2400, area: 0..900 x 0..6q}]")


def test_turns_are_read_as_said():
    text = "walls: [{turn: right}, {turn: left}, {turn: left 45}, {turn: right 30 deg}]\n"
    walls = spec_from(text + "ceiling: [{flat: 2400}]").walls

    assert [wall.turn for wall in walls] == [90, -90, -45, 30]
    with pytest.raises(ValueError, match="is not a turn"):
        spec_from("walls: [{turn: rigth}]\nceiling: [{flat: 2400}]")
    with pytest.raises(ValueError, match="less than 180"):
        spec_from("walls: [{turn: left 180}]\nceiling: [{flat: 2400}]")


def test_a_partition_needs_one_thickness():
    with pytest.raises(ValueError, match="exactly one of build-up and thickness"):
        PartitionSpec.model_validate({"name": "p", "from": [0, 0], "to": [9, 0]})


def test_the_schema_of_a_room_can_be_written():
    schema = RoomSpec.model_json_schema()
    assert "build-up" in schema["properties"]
