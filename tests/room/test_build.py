"""Tests of building a room: many worlds at once, and everything wrong told at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import InputError
from massing.geometry.pieces import turns
from massing.geometry.polygons import area
from massing.room.build import build_room, one_world
from massing.room.heights import ceiling_height, floor_level
from massing.room.measure import cells, floor_area, volume
from massing.room.spec import RoomSpec
from massing.survey.values import Values
from massing.units import Length
from tests.zoo import ROOMS, named_room, room_from, room_spec, spec_from, thickness_of

seeds = st.integers(0, 2**32 - 1)
MEASURED = ("boathouse", "bindery", "ell")


def shaken(name, seed, count=4):
    """A named room in ``count`` worlds, the first nominal, and the shifts that make them."""
    nominal = Values()
    spec = room_spec(name)
    build_room(spec, nominal, thickness_of)
    half = np.array([measure.half_width for measure in nominal.measures])
    shifts = np.random.default_rng(seed).uniform(-1, 1, (count, len(half))) * half
    shifts[0] = 0
    values = Values.shifted(nominal.measures, shifts)
    return spec, nominal.measures, shifts, build_room(spec, values, thickness_of)


def probes(room):
    """Plan points well inside a one-world room, most of them off the joints of pieces."""
    return np.concatenate(
        [
            c.polygon.mean(axis=0) + 0.35 * (c.polygon - c.polygon.mean(axis=0))
            for c in cells(room)
            if np.ptp(c.polygon, axis=0).min() > 200
        ]
    )


@settings(deadline=None, max_examples=10)
@given(seeds, st.sampled_from(MEASURED))
def test_many_worlds_at_once_are_each_world_alone(seed, name):
    """Corners, heights, openings, area and volume agree to 1e-9 with each world by itself."""
    spec, measures, shifts, together = shaken(name, seed)
    for k in range(len(shifts)):
        alone = build_room(spec, Values.shifted(measures, shifts[k : k + 1]), thickness_of)
        one = one_world(together, k)
        points = probes(alone)[None]

        assert one.outline == pytest.approx(alone.outline, abs=1e-9)
        for a, b in zip(one.walls, alone.walls, strict=True):
            assert a.left == pytest.approx(b.left, abs=1e-9)
            assert a.thickness == pytest.approx(b.thickness, abs=1e-12)
        assert ceiling_height(one, points) == pytest.approx(ceiling_height(alone, points), abs=1e-9)
        assert floor_level(one, points) == pytest.approx(floor_level(alone, points), abs=1e-9)
        for a, b in zip(one.openings, alone.openings, strict=True):
            assert (a.left, a.sill) == (pytest.approx(b.left), pytest.approx(b.sill))
        for a, b in zip(one.fabric, alone.fabric, strict=True):
            assert sum(p.volume for p in a.parts) == pytest.approx(sum(p.volume for p in b.parts))
        assert floor_area(one) == pytest.approx(floor_area(alone), rel=1e-9)
        assert volume(one) == pytest.approx(volume(alone), rel=1e-9)


@settings(deadline=None, max_examples=10)
@given(seeds, st.sampled_from(MEASURED))
def test_pieces_cover_the_outline_in_every_world(seed, name):
    """Floor pieces and ceiling pieces each add up to the outline, and stay convex."""
    *_, room = shaken(name, seed)
    whole = area(room.outline)
    for pieces in (room.floors, room.ceilings):
        assert sum(area(p.polygon) for p in pieces) == pytest.approx(whole, rel=1e-12)
        for piece in pieces:
            assert (area(piece.polygon) > 0).all()
            assert min(turns(world).min() for world in piece.polygon) > -1e-6


@pytest.mark.parametrize("name", sorted(ROOMS))
def test_walls_run_left_to_right_as_seen_from_inside(name):
    """Facing out, left to right is clockwise; a step in from each face is in the room."""
    room = named_room(name)
    for wall in room.walls:
        along, outward = wall.along[0], wall.outward[0]
        # Facing outward, right is the outward direction turned clockwise.
        assert along == pytest.approx([outward[1], -outward[0]])
        assert wall.right - wall.left == pytest.approx(wall.length[:, None] * wall.along)
        middle = wall.point(wall.length / 2, np.array([5.0]))[:, None]
        beyond = wall.point(wall.length / 2, np.array([-5.0]))[:, None]
        assert not np.isnan(floor_level(room, middle)[0, 0])
        assert np.isnan(floor_level(room, beyond)[0, 0])


def test_outside_sizes_lose_each_walls_own_thickness():
    """One build-up is four walls, each with its own error."""
    values = Values()
    spec = room_spec("boathouse")
    build_room(spec, values, thickness_of)
    keys = [measure.key for measure in values.measures]
    assert keys == [f"wall {side} thickness" for side in ("south", "east", "north", "west")]
    shifts = np.zeros((2, 4))
    shifts[1] = [20, 5, -20, 0]
    room = build_room(spec, Values.shifted(values.measures, shifts), thickness_of)

    assert room.walls[0].length.tolist() == [6000, 5995]
    assert room.walls[1].length.tolist() == [2400, 2400]
    assert room.outline[1].min(axis=0).tolist() == [0, 0]
    assert {wall.provenance for wall in room.walls} == {"derived"}


def test_outside_corners_are_brought_in_square_to_each_wall():
    """A skew corner moves along both walls: an L of 100 walls keeps 100 all round."""
    room = room_from(
        """
        measured: outside
        thickness: 100
        corners: [[0, 0], [4200, 0], [4200, 2000], [2000, 2000], [2000, 4200], [0, 4200]]
        ceiling: [{flat: 2400}]
        """
    )

    # The inward corner moves the other way.
    assert floor_area(room) / 1e6 == pytest.approx(4.0 * 1.8 + 1.8 * 2.2)
    assert room.outline[0].min(axis=0).tolist() == [0, 0]


def test_corners_may_be_given_either_way_round():
    """Walls keep the names of the corners they join."""
    text = "corners: {}\nnames: {}\nceiling: [{{flat: 2400}}]"
    there = room_from(text.format("[[0, 0], [4000, 0], [4000, 3000]]", "[a, b, c]"))
    back = room_from(text.format("[[0, 0], [4000, 3000], [4000, 0]]", "[c, b, a]"))
    for name in "abc":
        assert there.wall(name).left.tolist() == back.wall(name).left.tolist()
        assert there.wall(name).right.tolist() == back.wall(name).right.tolist()


def test_a_strip_takes_only_its_own_arm_of_a_horseshoe():
    room = named_room("horseshoe")
    raised = sum(float(area(f.polygon)[0]) for f in room.floors if f.level[0] == 200)

    assert raised == pytest.approx(1200 * 800)


def test_a_strip_stops_square_at_an_inward_corner():
    """A plinth 400 deep along an inner wall does not run on across the room."""
    text = """
        corners: [[0, 0], [4000, 0], [4000, 2000], [2000, 2000], [2000, 4000], [0, 4000]]
        names: [south, east, ledge, inner, north, west]
        floor: [{from: ledge, depth: 400, level: 100}]
        ceiling: [{flat: 2400}]
        """
    raised = [f for f in room_from(text).floors if f.level[0] == 100]

    assert sum(float(area(f.polygon)[0]) for f in raised) == pytest.approx(2000 * 400)


def test_a_strip_stops_where_another_wall_runs_straight_on():
    text = """
        corners: [[0, 0], [1500, 0], [4000, 0], [4000, 3000], [0, 3000]]
        names: [counter, rest, east, north, west]
        floor: [{from: counter, depth: 600, level: 100}]
        ceiling: [{flat: 2400}]
        """
    raised = [f for f in room_from(text).floors if f.level[0] == 100]

    assert sum(float(area(f.polygon)[0]) for f in raised) == pytest.approx(1500 * 600)


def test_a_guessed_size_is_remembered_on_its_walls():
    size = (Length(3000.0, method="guess"), Length(2000.0))
    spec = RoomSpec.model_validate({"size": size, "ceiling": [{"flat": 2400}]})
    room = build_room(spec, Values(), thickness_of)

    assert [wall.provenance for wall in room.walls] == ["guessed", "measured"] * 2


def test_pieces_still_cover_a_world_far_from_nominal():
    """A step 300 in from the end of the room, and a world where it would be beyond it."""
    recorded = Values()
    spec = spec_from(
        """
        size: 3000 ±500 x 2000
        floor: [{area: 2700 ±500..2900 x 0..2000, level: 100}]
        ceiling: [{flat: 2400}]
        """
    )
    build_room(spec, recorded, thickness_of)
    shifts = np.array([[0.0, 0.0], [-500.0, 500.0], [500.0, -500.0]])
    room = build_room(spec, Values.shifted(recorded.measures, shifts), thickness_of)

    assert sum(area(f.polygon) for f in room.floors) == pytest.approx(area(room.outline))


def test_the_ceiling_is_concave_where_it_is_the_least_of_planes():
    """Midway between any two points under one piece the ceiling is no lower than their mean."""
    rng = np.random.default_rng(5)
    for name in ("loft", "hipped"):
        piece = named_room(name).ceilings[0]
        ends = rng.uniform([0, 0], [4000, 2200], (2, 500, 2))
        a, b, middle = (piece.height(p[None])[0] for p in (*ends, ends.mean(axis=0)))
        assert (middle >= (a + b) / 2 - 1e-9).all()
        # The greatest of the same planes is not: planted fault.
        tops = np.einsum("ki,emi->ekm", piece.planes[0, :, :2], [*ends, ends.mean(axis=0)])
        wrong = (tops + piece.planes[0, :, 2:]).max(axis=1)
        assert (wrong[2] < (wrong[0] + wrong[1]) / 2 - 1e-9).any()


FAULTY = {
    "corners: [[0, 0], [4000, 3000], [4000, 0], [0, 3000]]\nceiling: [{flat: 2400}]": "cross",
    "corners: [[0, 0], [4000, 0], [8000, 0]]\nceiling: [{flat: 2400}]": "fold back",
    "corners: [[0, 0], [4000, 0], [4000, 0], [0, 3000]]\nceiling: [{flat: 2400}]": "repeated",
    "corners: [[0, 0], [4000, 0]]\nceiling: [{flat: 2400}]": "at least 3 corners",
    "walls: [{length: 3000}, {length: 2000}, {length: 3040}, {length: 2000}]\n"
    "ceiling: [{flat: 2400}]": "ends 40 mm from where it began",
    "walls: [{length: 3000, turn: left}, {length: 2000, turn: left}, {length: 3000, turn: left}, "
    "{length: 2000, turn: left}]\nceiling: [{flat: 2400}]": "clockwise makes 360",
    "walls: [{length: 3000}, {}, {}, {}]\nceiling: [{flat: 2400}]": "at most two",
    "walls: [{length: 3000}, {}, {length: 3000}, {}]\nceiling: [{flat: 2400}]": "same way",
    "measured: outside\nsize: 3000 x 2000\nceiling: [{flat: 2400}]": "needs a build-up",
    "measured: outside\nthickness: 1200\nsize: 3000 x 2000\nceiling: [{flat: 2400}]": "too thick",
    "build-up: adobe\nsize: 3000 x 2000\nceiling: [{flat: 2400}]": "no build-up 'adobe'",
    "size: 3000 x 2000\nceiling: [{slopes: {sout: 2000, north: 2400}}]": "mean 'south'",
    "size: 3000 x 2000\nceiling: [{slopes: {south: 2000, east: 2400}}]": "not opposite",
    "size: 3000 x 2000\nceiling: [{from: east, depth: 900, flat: 2400}]": "no ceiling is given",
    "size: 3000 x 2000\nceiling: [{flat: 2400}]\nfloor: [{from: east, depth: 3100, level: 90}]":
    "only 3000 deep",
    "size: 3000 x 2000\nceiling: [{flat: 2400}]\nfloor: [{area: 4000..5000 x 0..90, level: 90}]":
    "outside the room",
    "size: 3000 x 2000\nceiling: [{slopes: {south: -100, north: 2400}}]": "is below floor at",
    "size: 3000 x 2000\nceiling: [{plane: [[0, 0, 1], [1000, 0, 1], [2000, 0, 1]]}]": "in line",
    "size: 3000 x 2000\nceiling:\n  - {ridge: {along: x, height: 850}, "
    "eaves: {south: 900, north: 890}}": "ridge at 850 is lower than the eaves at 900",
    "size: 3000 x 2000\nceiling:\n  - {ridge: {along: x, at: 2500, height: 2400}, "
    "eaves: {south: 900, north: 900}}": "not between",
    "size: 3000 x 2000\nceiling: [{flat: 2400}]\n"
    "fabric: [{name: b, box: 3100..3200 x 0..9 x 0..9}]":
    "wholly outside",
    "size: 3000 x 2000\nceiling: [{flat: 2400}]\n"
    "fabric: [{name: b, box: 100..200 x 0..9 x 2500..2600}]": "wholly above",
}  # fmt: skip


@pytest.mark.parametrize("text", sorted(FAULTY))
def test_what_is_wrong_is_said(text):
    """Each fault in plain words, with the place it was written."""
    with pytest.raises(InputError, match=FAULTY[text]) as raised:
        room_from(text)
    assert all(fault.mark is not None for fault in raised.value.faults)


STEEP = "size: 3000 x 2000\nceiling: [{slopes: {south: 300, north: 2400}}]\n"


def test_a_floor_above_the_low_side_of_a_ceiling():
    """Raised where the slope is high it is a room; where the slope is low it is none."""
    room = room_from(STEEP + "floor: [{level: 0}, {from: north, depth: 900, level: 500}]")
    assert volume(room) > 0
    with pytest.raises(InputError, match="below floor from south at 0, 0: 300 against 500"):
        room_from(STEEP + "floor: [{level: 0}, {from: south, depth: 900, level: 500}]")


def test_nothing_is_cut_where_every_ceiling_is_above_every_floor(monkeypatch):
    """Forty levels under two dozen ceilings would be a hundred thousand pairs of pieces."""
    monkeypatch.setattr("massing.room.build.overlap", None)
    floors = "floor: [{level: 0}, {from: north, depth: 900, level: 299}]"
    assert len(room_from(STEEP + floors).floors) == 2


DOORS = {
    "wall: north, along: 300, leaf: 3100 x 1981 x 44": "3100 wide and wall 'north' only 3000",
    "wall: north, along: 2500, leaf: 762 x 1981 x 44": "runs from 2500 to 3262",
    "wall: north, along: -20, leaf: 762 x 1981 x 44": "runs from -20",
    "wall: south, along: 300, leaf: 762 x 1981 x 44": "ceiling at 300 along wall 'south' is 1900",
    "wall: nroth, along: 300, leaf: 762 x 1981 x 44": "mean 'north'",
    "wall: north, along: 900, leaf: 762 x 1981 x 44": "overlaps door 'first'",
}


@pytest.mark.parametrize("door", sorted(DOORS))
def test_a_door_that_cannot_be_is_said(door):
    text = f"""
        size: 3000 x 2000
        ceiling: [{{slopes: {{south: 1900, north: 2400}}}}]
        doors:
          - {{name: first, wall: north, along: 1600, leaf: 762 x 1981 x 44}}
          - {{name: second, {door}}}
        """
    with pytest.raises(InputError, match=DOORS[door]) as raised:
        room_from(text)
    assert len(raised.value.faults) == 1


def test_everything_wrong_is_told_at_once():
    text = """
        size: 3000 x 2000
        floor: [{from: eats, depth: 900, level: 100}]
        ceiling: [{flat: 2400}]
        fabric: [{name: beam, box: 9000..9100 x 0..90 x 0..90}]
        windows: [{name: light, wall: north, along: 2900, size: 900 x 700, sill: 900}]
        """
    with pytest.raises(InputError) as raised:
        room_from(text)
    assert [fault.mark.line for fault in raised.value.faults] == [3, 5, 6]


def test_sizes_that_are_not_sizes_are_refused_while_reading():
    for text in ("size: 0 x 2000", "size: -3000 x 2000", "size: 3000 x 2000\nnames: [a]"):
        with pytest.raises(ValueError):  # noqa: PT011 - pydantic's own class is a ValueError
            spec_from(text + "\nceiling: [{flat: 2400}]")


def test_a_room_of_two_hundred_corners_is_the_limit():
    def corners(count):
        turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
        ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) * 2000
        told = ", ".join(f"[{x:.3f}, {y:.3f}]" for x, y in ring)
        return f"corners: [{told}]\nceiling: [{{flat: 2400}}]"

    assert len(room_from(corners(200)).walls) == 200
    with pytest.raises(InputError, match="at most 200"):
        room_from(corners(201))


def test_a_traverse_shares_its_misclosure_by_the_square_of_each_tolerance():
    """8 mm out of square, between ±10 and ±5 walls: four parts to one."""
    room = room_from(
        """
        walls:
          - {name: north, length: 3008 ±10}
          - {name: east, length: 2000 ±5}
          - {name: south, length: 3000 ±5}
          - {name: west, length: 2000 ±5}
        ceiling: [{flat: 2400}]
        """
    )

    assert room.wall("north").length[0] == pytest.approx(3008 - 8 * 4 / 5)
    assert room.wall("south").length[0] == pytest.approx(3000 + 8 / 5)


def test_the_corner_of_an_ell_follows_the_lengths_it_was_walked_with():
    room = named_room("ell")
    assert room.wall("south").length[0] == pytest.approx(2000)
    assert room.wall("west").length[0] == pytest.approx(2700)
    assert room.wall("south").provenance == "derived"
    assert room.wall("north").provenance == "measured"
    assert floor_area(room) / 1e6 == pytest.approx(3.6 * 1.5 + 2.0 * 1.2)
