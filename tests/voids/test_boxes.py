"""Tests for massing.voids.boxes and whereabouts."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box as area_box

from massing.checks.rules import Rules, rules_of
from massing.cli.voids_command import command
from massing.errors import InputError
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import box as solid_box
from massing.geometry.solids import prism
from massing.geometry.space.empty_boxes import penetrations
from massing.project.read import parse_project, read_project
from massing.room.measure import cells
from massing.scheme.layout import Layout
from massing.voids.boxes import BoxWish, UsableBox, aisles, eaves_runs, usable_boxes
from massing.voids.open_floor import largest_rectangle
from massing.voids.space import taken_up, walked_floor
from massing.voids.whereabouts import box_words, run_words, size_words
from tests.voids.rooms import EXAMPLES, boxes, laid, project_of

BOATHOUSE = EXAMPLES / "boathouse.yaml"
ANY = BoxWish(count=1, smallest=(1, 1, 1), open_front=False, floor=True, reach=1e6)


def under_plane(size: float):
    """A room in metres over a triangle, its ceiling x + 2y + 3z = size down to the floor."""
    a, b, c = (1000 * size / k for k in (1, 2, 3))
    return laid(
        boxes(
            room=f"corners: [[0, 0], [{a!r}, 0], [0, {b!r}]]\n"
            f"ceiling: [{{plane: [[0, 0, {c!r}], [{a!r}, 0, 0], [0, {b!r}, 0]]}}]"
        )
    )


@pytest.mark.parametrize(
    ("size", "volume", "corner"), [(6, 4 / 3, (2, 1, 2 / 3)), (9, 9 / 2, (3, 1.5, 1))]
)
def test_largest_box_under_a_plane(size: float, volume: float, corner: tuple[float, ...]):
    """abc/27 under x/a + y/b + z/c = 1: 4/3 at (2, 1, 2/3) and 9/2 at (3, 1.5, 1).

    Both are textbook examples seen quoted (Lagrange multipliers).
    """
    (found,) = usable_boxes(under_plane(size), Rules(), ANY)
    assert found.volume / 1e9 == pytest.approx(volume, rel=1e-6)
    # A largest volume is flat at its top, so the corner is known only to the root of that.
    assert [v / 1000 for v in found.high] == pytest.approx(corner, abs=2e-3)
    assert found.proved


def test_largest_rectangle_in_a_right_triangle():
    """bh/4, classical (from memory): 4000 x 3000 holds 3 m²."""
    layout = laid(boxes(room="corners: [[0, 0], [4000, 0], [0, 3000]]\nceiling: [{flat: 2400}]"))
    found = largest_rectangle(layout)
    assert found.size[0] * found.size[1] == pytest.approx(4000 * 3000 / 4, rel=1e-6)


def test_above_the_boathouse_bench():
    """Between the bench's top, the east wall and the slope over its front edge (by hand).

    As first tried the bench is 4000 to 5800 and 1080 high, the chest beside it 1160; the slope
    over y 0 is 1950, so above both there is 1950 - 1160 = 790, 3210 (the screen) to 6000, 650 deep.
    """
    project = read_project(BOATHOUSE)
    layout = laid(project, "first try")
    first = usable_boxes(layout, rules_of(project), BoxWish())[0]
    assert first.low == pytest.approx((3210, 0, 1160))
    assert first.high == pytest.approx((6000, 650, 1950))
    assert box_words(layout, first).startswith("above bench, against the south wall")
    assert size_words(first) == "2790 x 650 x 790 at 1160"


def test_below_the_rack():
    """Under the rack from the compressor to its end, 900 high and 300 deep (by hand)."""
    project = read_project(BOATHOUSE)
    layout = laid(project, "first try")
    found = usable_boxes(layout, rules_of(project), BoxWish())
    (below,) = [b for b in found if "below rack" in box_words(layout, b)]
    assert below.size == pytest.approx((2350, 300, 900))  # the chest's screen ends it at 3150


PLACES = st.lists(
    st.tuples(
        st.integers(0, 35).map(lambda v: v * 100),
        st.integers(0, 25).map(lambda v: v * 100),
        st.sampled_from([0, 0, 900, 1400]),
        st.integers(3, 15).map(lambda v: v * 100),
        st.integers(3, 12).map(lambda v: v * 100),
        st.integers(3, 9).map(lambda v: v * 100),
    ),
    min_size=1,
    max_size=4,
)
SLOPED = "size: 4000 x 3000\nceiling: [{slopes: {south: 1400, north: 2600}}]"


def inside(layout: Layout, box: UsableBox) -> bool:
    """Whether each corner of a box is in the room of one slope."""
    (cell,) = cells(layout.room)
    (x0, y0, z0), (x1, y1, z1) = box.low, box.high
    plan = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    roof = plan @ cell.plane[:2] + cell.plane[2]
    low, high = cell.polygon.min(axis=0), cell.polygon.max(axis=0)
    return bool(
        z0 >= cell.floor - 1e-6
        and (roof >= z1 - 1e-6).all()
        and (plan >= low - 1e-6).all()
        and (plan <= high + 1e-6).all()
    )


@given(PLACES)
@settings(max_examples=20, deadline=None)
def test_boxes_are_empty_disjoint_and_reached(places):
    """Every box is in the room, clear of all in use and of the others, big enough, and open."""
    layout = laid(boxes(*places, room=SLOPED))
    wish = BoxWish(count=5, reach=1500)
    found = usable_boxes(layout, Rules(), wish)
    used = [solid for group in taken_up(layout, Rules()) for solid in group.solids]
    ways = aisles(layout, Rules())
    walked = walked_floor(layout, Rules()).buffer(1e-3)
    assert all(walked.contains(area_box(x0, y0, x1, y1)) for x0, y0, _, x1, y1, _ in ways.tolist())
    for number, box in enumerate(found):
        row = np.array([*box.low, *box.high])
        assert inside(layout, box)
        assert penetrations(row, used).max(initial=0.0) <= 1e-6
        others = [solid_box(b.low, b.high) for k, b in enumerate(found) if k != number]
        assert penetrations(row, others).max(initial=0.0) <= 1e-6
        assert min(box.size) >= 300 - 1e-6
        assert box.low[2] <= 1500 + 1e-6
        assert box.bound >= box.volume - 1e-3
        shared = np.minimum(row[3:], ways[:, 3:]) - np.maximum(row[:3], ways[:, :3])
        opens = (shared >= -1e-6).all(axis=1) & ((shared >= 300 - 1e-6).sum(axis=1) >= 2)
        assert opens.any()


@given(PLACES)
@settings(max_examples=10, deadline=None)
def test_a_thing_more_never_makes_a_larger_box(places):
    """Adding a body frees nothing: with floor counted as free the largest box cannot grow."""
    wish = BoxWish(count=1, smallest=(1, 1, 1), open_front=False, floor=True, reach=1e6)

    def largest(some) -> float:
        found = usable_boxes(laid(boxes(*some, room=SLOPED)), Rules(), wish)
        return found[0].volume if found else 0.0

    assert largest(places) <= largest(places[:-1]) * (1 + 1e-6)


def test_a_closed_hole_is_not_told_of():
    """Space boxed in on every side is a void, but nobody can reach into it."""
    ring = [
        (0, 0, 0, 2000, 200, 2400),
        (0, 1800, 0, 2000, 200, 2400),
        (0, 200, 0, 200, 1600, 2400),
        (1800, 200, 0, 200, 1600, 2400),
        (200, 200, 0, 1600, 1600, 900),
    ]
    layout = laid(boxes(*ring))
    hole = (200.0, 200.0, 900.0)
    closed = usable_boxes(layout, Rules(), BoxWish(open_front=False, reach=1000))
    assert hole in [box.low for box in closed]
    opened = usable_boxes(layout, Rules(), BoxWish(reach=1000))
    assert hole not in [box.low for box in opened]


def test_smallest_sides_and_turning():
    """A slot 400 wide takes a 900 x 400 box only when that may be turned."""
    slot = [(0, 0, 0, 1800, 3000, 1000), (2200, 0, 0, 1800, 3000, 1000)]
    layout = laid(boxes(*slot, room="size: 4000 x 3000\nceiling: [{flat: 1000}]"))
    wish = {"smallest": (900.0, 400.0, 300.0), "open_front": False}
    assert usable_boxes(layout, Rules(), BoxWish(turnable=False, **wish)) == ()
    (found,) = usable_boxes(layout, Rules(), BoxWish(turnable=True, **wish))
    assert found.size == pytest.approx((400, 3000, 1000))


def test_eaves_runs_by_hand():
    """A shelf 400 deep along the low wall, and one cut short by a thing in the corner."""
    layout = laid(boxes((0, 0, 0, 1000, 500, 2000), room=SLOPED))
    runs = {run.wall: run for run in eaves_runs(layout, Rules(), 400.0, count=1)}
    south = runs["south"]
    # Faced from inside the south wall's left end is in the east: 3000 of it is free.
    assert (south.start, south.stop) == pytest.approx((0.0, 3000.0))
    assert (south.low, south.high) == pytest.approx((0.0, 1400.0))
    assert run_words(south) == "south wall, 0 to 3000 along: 3000 x 400 x 1400 at 0"


def test_nowhere_to_stand():
    """A crawl space has no open floor: no box opens on any, and none is told of."""
    layout = laid(boxes(room="size: 4000 x 3000\nceiling: [{flat: 1200}]"))
    assert usable_boxes(layout, Rules(), BoxWish()) == ()
    assert len(usable_boxes(layout, Rules(), BoxWish(open_front=False))) == 1


def test_words_in_the_middle_and_on_a_slant():
    """A box that touches nothing says so; zones at an angle are no aisle along the axes."""
    layout = laid(boxes())
    lone = UsableBox((1500, 1000, 500), (2000, 1500, 900), 1e8, proved=True)
    assert box_words(layout, lone) == "in the middle of the room"
    for centre in ("[2000, 1500]", "[2600, 2200]"):
        project = project_of(
            "items: {case: {body: 600 x 600 x 900, zone: {front: 900}}}\n"
            f"schemes: {{one: [{{item: case, centre: {centre}, turn: 30}}]}}\n"
        )
        slanted = laid(project)
        zone = slanted.items[0].zones[0].polygon[0]
        rows = aisles(slanted, Rules())
        assert not any(np.allclose(row[:2], zone.min(axis=0)) for row in rows)


def test_command_in_both_forms():
    """`massing voids` prints the shares and the boxes; JSON adds up to the room."""
    told = CliRunner().invoke(command, [str(BOATHOUSE)], standalone_mode=False)
    assert told.exception is None
    assert "above bench, against the south wall" in told.output
    answer = json.loads(
        CliRunner()
        .invoke(command, [str(BOATHOUSE), "--format", "json"], standalone_mode=False)
        .output
    )
    assert sum(answer["shares"].values()) == pytest.approx(answer["room_l"], abs=1e-4)
    assert answer["room_l"] == pytest.approx(32803.2, abs=0.05)
    assert all(box["proved"] for box in answer["boxes"])


def test_a_bad_size_is_told():
    """The smallest box is three numbers."""
    done = CliRunner().invoke(command, [str(BOATHOUSE), "--least", "300x0"], standalone_mode=False)
    assert isinstance(done.exception, InputError)


def askew(degrees: float, *, case: bool = False) -> Layout:
    """A room of 3000 x 2000, 2400 high, lying turned, with a case in its middle or without."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    ring = np.array([[0, 0], [3000, 0], [3000, 2000], [0, 2000]]) @ np.array([[c, s], [-s, c]])
    corners = ", ".join(f"[{x:.9f}, {y:.9f}]" for x, y in ring.tolist())
    x, y = ring.mean(axis=0) - 200
    things = [(x, y, 0, 400, 400, 1500)] if case else []
    return laid(boxes(*things, room=f"corners: [{corners}]\nceiling: [{{flat: 2400}}]"))


def test_along_walls_that_lie_askew():
    """Turned along its walls the box fills a turned room; along the axes it cannot (by hand)."""
    wish = BoxWish(count=1, open_front=False, floor=True)
    layout = askew(20.0)
    (square,) = usable_boxes(layout, Rules(), wish)
    (turned,) = usable_boxes(layout, Rules(), replace(wish, turned=True))
    assert square.turn == 0.0
    assert turned.volume == pytest.approx(3000 * 2000 * 2400, rel=1e-6)
    assert turned.turn == pytest.approx(20.0, abs=1e-6)
    assert turned.bound >= turned.volume * (1 - 1e-6)
    assert square.volume < 0.7 * turned.volume
    assert "turned 20°" in size_words(turned)


@pytest.mark.parametrize("degrees", [3.0, 41.0])
def test_turned_boxes_are_empty_and_apart(degrees: float):
    """They overlap neither what is in use nor one another, and the first is the largest."""
    layout = askew(degrees, case=True)
    wish = BoxWish(count=3, turned=True, open_front=False, floor=True)
    found = usable_boxes(layout, Rules(), wish)
    assert len(found) == 3
    solids = [prism(box.ring, box.low[2], box.high[2]) for box in found]
    used = [part.solid.world(0) for item in layout.items for part in item.parts]
    pairs = [(i, j) for i in range(len(solids)) for j in range(i + 1, len(solids) + len(used))]
    assert signed_gaps([*solids, *used], np.array(pairs)).gap[0].min() >= -1e-5
    plain = usable_boxes(layout, Rules(), replace(wish, turned=False))
    assert not plain or found[0].volume >= plain[0].volume - 1.0


def test_what_lies_between_two_parts_of_a_thing_is_within_it():
    """A stand of two boards, 100 and 900 high: the 700 between them are within the stand."""
    project = parse_project(
        """
        massing: 1
        project: One stand
        room: {size: 3000 x 2000, ceiling: [{flat: 2400}]}
        items:
          stand:
            parts:
              - {name: low, box: 0..900 x 0..400 x 0..100}
              - {name: high, box: 0..900 x 0..400 x 800..900}
        schemes: {here: [{item: stand, against: north, along: 500}]}
        """
    )
    layout = laid(project, "here")
    low, high = layout.items[0].low[0], layout.items[0].high[0]
    between = UsableBox((low[0], low[1], 100.0), (high[0], high[1], 800.0), 1e9, proved=True)
    assert box_words(layout, between).startswith("within stand, against the north wall")
