"""Tests of partitions: what they fill, the faces they offer, the openings they leave."""

from __future__ import annotations

import numpy as np
import pytest

from massing.errors import InputError
from massing.reading.nodes import parse_tree
from massing.room.measure import area_where, floor_area, volume
from massing.room.partitions import add_partitions
from massing.room.spec import PartitionSpec
from massing.survey.values import Values
from tests.zoo import named_room, room_from, thickness_of


def partition(text):
    """A partition as written in a file."""
    return PartitionSpec.model_validate(parse_tree("p: " + text, "zoo.yaml")["p"])


def with_partition(room, text, values=None):
    return add_partitions(room, [partition(text)], values or Values(), thickness_of)


def bulk(room, name):
    fabric = next(f for f in room.fabric if f.name == name)
    return sum(float(part.volume[0]) for part in fabric.parts)


ACROSS = (
    "{name: screen, thickness: 100, from: {wall: south, along: 3000}, "
    "to: {wall: north, along: 3000}}"
)


def test_a_full_partition_follows_slope_and_step():
    """Across the boathouse at x = 3000 on the low slab: 100 x 2400 x mean height 2350."""
    room = named_room("boathouse")
    parted = with_partition(room, ACROSS)

    assert bulk(parted, "screen") == pytest.approx(100 * 2400 * 2350)
    assert volume(parted) == pytest.approx(volume(room) - 100 * 2400 * 2350)
    assert floor_area(parted) == pytest.approx(floor_area(room) - 100 * 2400)
    assert parted.fabric[-1].kind == "partition"


def test_a_partition_over_a_step_stands_on_both_levels():
    """Along the boathouse at y = 1200, where the ceiling is 2350 in the middle."""
    room = named_room("boathouse")
    parted = with_partition(
        room, "{name: spine, thickness: 100, from: [0, 1200], to: [6000, 1200]}"
    )

    assert bulk(parted, "spine") == pytest.approx(100 * (3600 * 2350 + 2400 * (2350 - 180)))
    assert volume(parted) == pytest.approx(volume(room) - bulk(parted, "spine"))


def test_its_faces_are_walls_that_look_into_the_room():
    parted = with_partition(named_room("boathouse"), ACROSS)
    west, east = parted.walls[-2], parted.walls[-1]
    if west.name.endswith("east face"):
        west, east = east, west

    assert (west.name, east.name) == ("screen west face", "screen east face")
    assert west.partition
    # From the west of it you look east; left is north.
    assert west.outward[0] == pytest.approx([1, 0])
    assert west.left[0] == pytest.approx([2950, 2400])
    assert west.right[0] == pytest.approx([2950, 0])
    assert east.outward[0] == pytest.approx([-1, 0])
    assert east.left[0] == pytest.approx([3050, 0])
    assert east.thickness[0] == 100
    assert west.point(np.array([400.0]), np.array([50.0]))[0] == pytest.approx([2900, 2000])


def test_an_opening_is_cut_out_with_a_head_over_it():
    room = room_from("size: 4000 x 3000\nceiling: [{flat: 2400}]")
    parted = with_partition(
        room,
        "{name: screen, build-up: stud, from: [0, 1500], to: [4000, 1500], "
        "openings: [{name: gap, along: 1000, leaf: 762 x 1981 x 44}, "
        "{along: 2500, opening: 600 x 900, sill: 1000}]}",
    )
    gap, hatch = parted.openings

    assert bulk(parted, "screen") == pytest.approx(100 * (4000 * 2400 - 762 * 1981 - 600 * 900))
    assert gap.wall == "screen south face"
    assert (gap.left[0], gap.sill[0], gap.motion) == (1000, 0, "hinged")
    assert (hatch.name, hatch.motion) == ("screen opening 2", "open")
    assert hatch.sill[0] == 1000
    # The doorway's floor is still floor.
    assert floor_area(parted) == pytest.approx(12e6 - 100 * (4000 - 762))


def test_a_dwarf_partition_stops_at_its_height_above_the_local_floor():
    room = named_room("boathouse")
    parted = with_partition(
        room, "{name: dwarf, thickness: 100, from: [3000, 600], to: [4200, 600], height: 1200}"
    )
    tops = [float(part.high[0, 2]) for part in parted.fabric[-1].parts]

    assert sorted(tops) == pytest.approx([1200, 1380])
    assert bulk(parted, "dwarf") == pytest.approx(100 * 1200 * 1200)


def test_a_tall_dwarf_is_cut_by_a_low_ceiling():
    """1400 high towards the eaves of the loft, where the ceiling comes down to 900."""
    parted = with_partition(
        named_room("loft"),
        "{name: wing, thickness: 100, height: 1400, from: {wall: south, along: 3200}, "
        "to: [2000, 1800]}",
    )
    # Full 1400 from y = 600 on; below it the slope rises from 900 by 5/6.
    assert bulk(parted, "wing") == pytest.approx(100 * (1200 * 1400 + 600 * (900 + 1400) / 2))


def test_a_skew_end_reaches_the_wall_right_across_its_thickness():
    room = room_from("size: 4000 x 3000\nceiling: [{flat: 2000}]")
    parted = with_partition(
        room, "{name: skew, thickness: 100, from: {wall: south, along: 3000}, to: [2500, 1500]}"
    )
    (part,) = parted.fabric[-1].parts
    on_wall = np.isclose(part.corners[0, :, 1], 0)

    assert on_wall.sum() == 4
    assert float(part.volume[0]) == pytest.approx(100 * np.hypot(1500, 1500) * 2000)


def test_one_partition_may_start_from_the_face_of_another():
    room = room_from("size: 4000 x 3000\nceiling: [{flat: 2000}]")
    parted = add_partitions(
        room,
        [
            partition("{name: spine, thickness: 100, from: [0, 1500], to: [4000, 1500]}"),
            partition(
                "{name: rib, thickness: 80, from: {wall: spine south face, along: 1200}, "
                "to: {wall: south, along: 2800}}"
            ),
        ],
        Values(),
        thickness_of,
    )

    assert bulk(parted, "rib") == pytest.approx(80 * 1450 * 2000)
    assert len(parted.walls) == 8


def test_every_world_has_its_own_partition():
    """A thicker build-up takes more floor; each world is measured by itself."""
    room = named_room("plain")
    recorded = Values()
    text = "{name: screen, build-up: stud, from: [0, 1000 ±10], to: [3000, 1000]}"
    with_partition(room, text, recorded)
    keys = [measure.key for measure in recorded.measures]
    assert keys == ["p.from[1]", "partition screen thickness"]


def test_clear_area_does_not_include_the_partition():
    room = named_room("plain")
    parted = with_partition(room, "{name: s, thickness: 100, from: [0, 900], to: [3000, 900]}")
    assert area_where(parted, at_least=2000) == pytest.approx(6e6 - 3e5)


FAULTY = {
    "{name: s, thickness: 100, from: [0, 900], to: [0, 900]}": "same place",
    "{name: s, thickness: 100, from: [0, 9000], to: [3000, 9000]}": "outside the room",
    "{name: s, build-up: studs, from: [0, 900], to: [3000, 900]}": "no build-up 'studs'",
    "{name: s, thickness: 100, from: {wall: nort, along: 9}, to: [3000, 900]}": "mean 'north'",
    "{name: s, thickness: 100, from: {wall: north, along: 3009}, to: [9, 9]}": "beyond wall",
    "{name: s, thickness: 100, from: [0, 900], to: [3000, 900], "
    "openings: [{along: 2500, leaf: 762 x 1981 x 44}]}": "runs from 2500 to 3262",
    "{name: s, thickness: 100, from: [0, 900], to: [3000, 900], "
    "openings: [{along: 500, opening: 762 x 2500}]}": "ceiling at",
    "{name: s, thickness: 100, from: [0, 900], to: [3000, 900], "
    "openings: [{along: 500, opening: 700 x 2000}, {along: 900, opening: 700 x 2000}]}": "overlaps",
}


@pytest.mark.parametrize("text", sorted(FAULTY))
def test_a_partition_that_cannot_be_is_said(text):
    with pytest.raises(InputError, match=FAULTY[text]):
        with_partition(named_room("plain"), text)
