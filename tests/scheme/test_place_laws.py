"""Laws of placing: worlds are independent, mirrors mirror, and one word moves one thing."""

from __future__ import annotations

import copy

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.project.read import parse_project
from massing.scheme import place as place_module
from massing.scheme import placing
from massing.scheme.ground import level_under, levels_under
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values
from tests.catalogue_rooms import layouts
from tests.strategies import mirrored, project_of, projects, shifted, turned

FAST = settings(max_examples=40, deadline=None)

UNSURE = """
massing: 1
project: p
room:
  measured: outside
  thickness: 120 ±20
  size: 4240 ±30 x 3240 ±25
  floor: [{level: 0}, {name: high, from: east, depth: 1500 ±10, level: 180 ±5}]
  ceiling: [{slopes: {south: 2000 ±15, north: 2600 ±10}}]
  doors: [{name: entry, wall: west, along: 700 ±10, leaf: 762 x 1800 x 44}]
items:
  crate: {body: 600 ±5 x 400 x 500 ±10, zone: {front: 700}}
  lamp: {body: 300 x 200 x 250, mount: ceiling}
schemes:
  only:
    - {item: crate, name: a, against: north, along: 300 ±10}
    - {item: crate, name: b, on: a, turn: 30}
    - {item: crate, name: c, corner: [east, south], off: 20 ±5}
    - {item: crate, name: d, centre: [1500, 1400], turn: 17}
    - {item: lamp, name: e, at: [2000, 2000], drop: 50 ±5}
    - {item: crate, name: f, against: east, middle: yes, height: 900}
"""


def arrays(layout: Layout) -> list[np.ndarray]:
    """Every array of a layout that placing works out, in order."""
    found = []
    for item in layout.items:
        found += [item.origin, item.yaw, item.low, item.high]
        found += [part.solid.corners for part in item.parts]
        found += [array for zone in item.zones for array in (zone.polygon, zone.level)]
        found += [gap.solid.corners for gap in item.gaps]
    for leaf in layout.leaves:
        found += [leaf.pin, leaf.shut, leaf.width, leaf.low, leaf.high]
    return found


@pytest.mark.parametrize("seed", range(5))
def test_worlds_are_placed_each_on_its_own(seed):
    """Many worlds at once are the same worlds one by one."""
    project = parse_project(UNSURE)
    sizes = Values()
    place(project, "only", sizes)
    assert len(sizes.measures) >= 14
    halves = np.array([m.half_width for m in sizes.measures])
    shifts = np.random.default_rng(seed).uniform(-1, 1, (7, len(halves))) * halves
    many = arrays(place(project, "only", Values.shifted(sizes.measures, shifts)))
    for world, row in enumerate(shifts):
        alone = arrays(place(project, "only", Values.shifted(sizes.measures, row[None])))
        for together, single in zip(many, alone, strict=True):
            spread = np.broadcast_to(together, (7, *together.shape[1:]))
            np.testing.assert_allclose(spread[world], single[0], atol=1e-9, rtol=0)


def test_placing_again_gives_the_same_bits():
    """Placing has no memory."""
    project = parse_project(UNSURE)
    first, second = (arrays(place(project, "only", Values())) for _ in range(2))
    assert all(np.array_equal(a, b) for a, b in zip(first, second, strict=True))


@FAST
@given(projects())
def test_mirrored_room_mirrors_the_layout(data):
    """Seen in a mirror, every body and zone is where the mirrored words put it."""
    width = float(str(data["room"]["size"][0]).split()[0])
    one = place(project_of(data), "only", Values())
    other = place(project_of(mirrored(data)), "only", Values())
    for here, there in zip(one.items, other.items, strict=True):
        flipped = [width - here.high[0, 0], here.low[0, 1], here.low[0, 2]]
        np.testing.assert_allclose(there.low[0], flipped, atol=1e-9)
        np.testing.assert_allclose(there.high[0, 2], here.high[0, 2], atol=1e-9)
        for a, b in zip(here.zones, there.zones, strict=True):
            np.testing.assert_allclose(
                b.polygon[0, :, 0].min(), width - a.polygon[0, :, 0].max(), atol=1e-9
            )
            assert a.level[0] == pytest.approx(b.level[0])


@FAST
@given(projects())
def test_turned_room_turns_the_layout(data):
    """A quarter turn of the words turns every body."""
    depth = float(data["room"]["size"][1])
    one = place(project_of(data), "only", Values())
    other = place(project_of(turned(data)), "only", Values())
    for here, there in zip(one.items, other.items, strict=True):
        np.testing.assert_allclose(
            there.low[0], [depth - here.high[0, 1], here.low[0, 0], here.low[0, 2]], atol=1e-9
        )


@FAST
@given(projects(), st.tuples(st.integers(-5000, 5000), st.integers(-5000, 5000)))
def test_shifted_corners_shift_the_layout(data, by):
    """The origin is only a place to measure from."""
    one = place(project_of(data), "only", Values())
    other = place(project_of(shifted(data, by)), "only", Values())
    for here, there in zip(one.items, other.items, strict=True):
        np.testing.assert_allclose(there.low[0] - here.low[0], [*by, 0], atol=1e-9)


@FAST
@given(projects(), st.integers(1, 300))
def test_one_word_moves_one_thing(data, step):
    """Another `along` moves that item and what stands on it, and nothing else."""
    moved = copy.deepcopy(data)
    words = moved["schemes"]["only"]
    changed = next((w for w in words if "along" in w or "from-right" in w), None)
    if changed is None:
        return
    changed["along" if "along" in changed else "from-right"] += step
    riders = {changed["name"]}
    for placement in words:
        if placement.get("on") in riders:
            riders.add(placement["name"])
    one = place(project_of(data), "only", Values())
    other = place(project_of(moved), "only", Values())
    for here, there in zip(one.items, other.items, strict=True):
        apart = np.abs(here.origin[0, :2] - there.origin[0, :2]).max()
        assert apart == pytest.approx(step if here.name in riders else 0.0, abs=1e-9)


def fields(item):
    """Every array of one placed item."""
    found = [item.origin, item.yaw, item.low, item.high]
    found += [part.solid.corners for part in item.parts]
    found += [array for zone in item.zones for array in (zone.polygon, zone.level)]
    found += [array for gap in item.gaps for array in (gap.solid.corners, gap.depth)]
    for motion in item.motions:
        found += [motion.solid.corners, motion.axis, motion.full]
        found += [each for each in (motion.turn_about, motion.slide) if each is not None]
    return found


def puts_of(layout_of, monkeypatch):
    """What is put in its place, and the room, when a layout is placed."""
    asked = []

    def noted(puts, room):
        asked.append((list(puts), room))
        return placing.put_all(puts, room)

    monkeypatch.setattr(place_module, "put_all", noted)
    layout_of()
    assert asked
    return asked


def test_items_put_at_once_are_those_put_one_by_one(monkeypatch):
    """A room of the catalogue in one world and an unsure one in many: to the last bit."""
    project = parse_project(UNSURE)
    sizes = Values()
    place(project, None, sizes)
    shifts = np.random.default_rng(3).uniform(-5, 5, (4, len(sizes.measures)))
    worlds = Values.shifted(sizes.measures, shifts)
    asked = puts_of(lambda: place(project, None, worlds), monkeypatch)
    asked += puts_of(lambda: layouts.__wrapped__(6), monkeypatch)
    assert sum(len(puts) for puts, _ in asked) > 40
    for puts, room in asked:
        every = placing.put_all(puts, room)
        with monkeypatch.context() as few:
            few.setattr(placing, "_POINTS_AT_ONCE", 60)
            runs = placing.put_all(puts, room)
        alone = [item for put in puts for item in placing.put_all([put], room)]
        for one, two, three in zip(every, alone, runs, strict=True):
            assert one.name == two.name == three.name
            for a, b, c in zip(fields(one), fields(two), fields(three), strict=True):
                assert np.array_equal(a, b)
                assert np.array_equal(a, c)


def test_an_item_is_put_where_its_frame_says(monkeypatch):
    """The plain form: its own corners turned about its origin and lifted, part by part."""
    for puts, room in puts_of(lambda: layouts.__wrapped__(6), monkeypatch):
        for put, item in zip(puts, placing.put_all(puts, room), strict=True):
            for shape, part in zip(put.shape.parts, item.parts, strict=False):
                corners = shape.solid.corners
                plan = put.frame.points(
                    np.broadcast_to(corners[..., :2], part.solid.corners[..., :2].shape)
                )
                assert np.array_equal(part.solid.corners[..., :2], plan)
                assert np.array_equal(
                    part.solid.corners[..., 2], corners[..., 2] + put.base[:, None]
                )
            assert np.array_equal(
                item.low, np.min([p.solid.low for p in item.parts[: len(put.shape.parts)]], axis=0)
            )


def test_levels_under_many_are_those_under_each(monkeypatch):
    for puts, room in puts_of(lambda: layouts.__wrapped__(8), monkeypatch):
        rings = [z.polygon for item in placing.put_all(puts, room) for z in item.zones]
        found = levels_under(room, rings)
        assert len(found) == len(rings)
        assert all(
            np.array_equal(a, level_under(room, ring)) for a, ring in zip(found, rings, strict=True)
        )
