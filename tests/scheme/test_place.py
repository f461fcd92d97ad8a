"""Where things go, in figures worked by hand.

The room is 4000 x 3000 under a flat of 2400 unless said. The crate is 600 wide, 400 deep and 500
high, seen from its front. Facing a wall from inside, ``along`` runs from its left end: the north
wall's left is west, the east wall's north, the south wall's east, the west wall's south.
"""

from __future__ import annotations

import numpy as np
import pytest

from massing.project.read import parse_project
from massing.scheme.layout import Layout, Placed
from massing.scheme.place import place
from massing.survey.values import Values

PLAIN = "{size: 4000 x 3000, ceiling: [{flat: 2400}]}"
SLOPE = "{size: 4000 x 3000, ceiling: [{slopes: {south: 2000, north: 2600}}]}"
STEP = (
    "{size: 4000 x 3000, floor: [{name: low, level: 0}, {name: high, from: east, depth: 1500, "
    "level: 180}], ceiling: [{flat: 2400}]}"
)
# The wall cut across the north-east corner runs from (4000, 2200) to (3200, 3000).
CUT = (
    "{corners: [[0, 0], [4000, 0], [4000, 2200], [3200, 3000], [0, 3000]], "
    "names: [south, east, cut, north, west], ceiling: [{flat: 2400}]}"
)
ITEMS = """
  crate: {body: 600 x 400 x 500}
  desk: {body: 1200 x 600 x 740, zone: {front: 800}}
  cupboard: {body: 600 x 300 x 700, mount: wall}
  lamp: {body: 300 x 200 x 250, mount: ceiling}
  washer: {body: 600 x 600 x 850, gaps: {back: 60, left: 10, right: 10}}
"""


def laid(placements: list[str], room: str = PLAIN) -> Layout:
    lines = "\n".join(f"    - {{{words}}}" for words in placements)
    text = f"massing: 1\nproject: p\nroom: {room}\nitems:{ITEMS}schemes:\n  only:\n{lines}\n"
    return place(parse_project(text), "only", Values())


def put(words: str, room: str = PLAIN) -> Placed:
    return laid([words], room).items[0]


def box(item: Placed) -> list[float]:
    """Least x, y, z, then greatest."""
    return [*item.low[0], *item.high[0]]


def front(item: Placed) -> list[float]:
    """Unit vector the item's front looks along."""
    yaw = float(item.yaw[0])
    return [np.sin(yaw), -np.cos(yaw)]


NORTH, SOUTH, EAST, WEST = [0, 1], [0, -1], [1, 0], [-1, 0]


@pytest.mark.parametrize(
    ("wall", "wanted", "looks"),
    [
        ("north", [300, 2600, 0, 900, 3000, 500], SOUTH),
        ("east", [3600, 2100, 0, 4000, 2700, 500], WEST),
        ("south", [3100, 0, 0, 3700, 400, 500], NORTH),
        ("west", [0, 300, 0, 400, 900, 500], EAST),
    ],
)
def test_back_against_each_wall(wall, wanted, looks):
    """300 along from the left end."""
    crate = put(f"item: crate, against: {wall}, along: 300")
    assert box(crate) == wanted
    assert front(crate) == pytest.approx(looks, abs=1e-15)


@pytest.mark.parametrize(
    ("wall", "side", "wanted", "looks"),
    [
        ("north", "back", [300, 2600, 900, 3000], SOUTH),
        ("north", "front", [300, 2600, 900, 3000], NORTH),
        ("north", "left", [300, 2400, 700, 3000], WEST),
        ("north", "right", [300, 2400, 700, 3000], EAST),
        ("east", "front", [3600, 2100, 4000, 2700], EAST),
        ("east", "left", [3400, 2300, 4000, 2700], NORTH),
        ("east", "right", [3400, 2300, 4000, 2700], SOUTH),
        ("south", "front", [3100, 0, 3700, 400], SOUTH),
        ("south", "left", [3300, 0, 3700, 600], EAST),
        ("south", "right", [3300, 0, 3700, 600], WEST),
        ("west", "front", [0, 300, 400, 900], WEST),
        ("west", "left", [0, 300, 600, 700], SOUTH),
        ("west", "right", [0, 300, 600, 700], NORTH),
    ],
)
def test_each_side_against_a_wall(wall, side, wanted, looks):
    """The side named touches the wall; with a side on, the depth runs along the wall."""
    crate = put(f"item: crate, against: {wall}, along: 300, side: {side}")
    assert [*crate.low[0, :2], *crate.high[0, :2]] == wanted
    assert front(crate) == pytest.approx(looks, abs=1e-15)


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("along: 300, off: 50", [300, 2550, 900, 2950]),
        ("from-right: 300", [3100, 2600, 3700, 3000]),
        ("middle: yes", [1700, 2600, 2300, 3000]),
        ("along: 0", [0, 2600, 600, 3000]),
        ("off: 0", [0, 2600, 600, 3000]),
        ("along: -100", [-100, 2600, 500, 3000]),
        ("along: 300, turn: 90", [300, 2400, 700, 3000]),
        ("along: 300, by: [10, -20]", [310, 2580, 910, 2980]),
    ],
)
def test_along_a_wall(words, wanted):
    """Along, from the right, in the middle, off the wall, turned, and shifted in room axes."""
    crate = put(f"item: crate, against: north, {words}")
    assert [*crate.low[0, :2], *crate.high[0, :2]] == wanted


def test_against_a_wall_across_a_corner():
    """Back flat on a wall at 45 degrees, its left end 100 from (3200, 3000)."""
    crate = put("item: crate, against: cut, along: 100", CUT)
    s = np.sqrt(0.5)
    start = np.array([3200 + 100 * s, 3000 - 100 * s])
    other = start + 600 * s * np.array([1, -1])
    wanted = [start, other, other - 400 * s, start - 400 * s]
    corners = crate.parts[0].solid.corners[0, :, :2]
    for corner in wanted:
        assert np.min(np.linalg.norm(corners - corner, axis=1)) < 1e-9
    assert box(crate)[:2] == pytest.approx([2987.8680, 2222.1825], abs=1e-4)
    assert front(crate) == pytest.approx([-s, -s])


@pytest.mark.parametrize(
    ("words", "wanted", "looks"),
    [
        ("corner: [north, east]", [3400, 2600, 4000, 3000], SOUTH),
        ("corner: [east, north]", [3600, 2400, 4000, 3000], WEST),
        ("corner: [south, west]", [0, 0, 600, 400], NORTH),
        ("corner: [north, west], side: left", [0, 2400, 400, 3000], WEST),
        ("corner: [north, east], off: 10, off-side: 20", [3380, 2590, 3980, 2990], SOUTH),
    ],
)
def test_in_a_corner(words, wanted, looks):
    """The named side on the first wall, and up to the second."""
    crate = put(f"item: crate, {words}")
    assert [*crate.low[0, :2], *crate.high[0, :2]] == pytest.approx(wanted, abs=1e-9)
    assert front(crate) == pytest.approx(looks, abs=1e-15)


def test_in_a_blunt_corner():
    """Back on the north wall; the far corner meets the line x + y = 6200 at x = 3200."""
    crate = put("item: crate, corner: [north, cut]", CUT)
    assert [*crate.low[0, :2], *crate.high[0, :2]] == pytest.approx([2600, 2600, 3200, 3000])


def test_stack_of_three():
    """Centred on the one below, shifted in its axes, turned from it."""
    layout = laid(
        [
            "item: crate, name: top, on: middle, turn: 90",
            "item: crate, name: middle, on: foot, shift: [100, -50]",
            "item: crate, name: foot, against: south, along: 300",
        ]
    )
    top, middle, foot = layout.items
    assert [item.name for item in layout.items] == ["top", "middle", "foot"]
    assert box(foot) == [3100, 0, 0, 3700, 400, 500]
    # The foot faces north, so its x axis runs west and its y axis south.
    assert box(middle) == [3000, 50, 500, 3600, 450, 1000]
    # The top's middle is the middle's, (3300, 250), and its width runs north and south.
    assert box(top) == [3100, -50, 1000, 3500, 550, 1500]
    assert front(top) == pytest.approx(WEST, abs=1e-15)
    assert (top.footing, middle.footing, foot.footing) == ("middle", "foot", "floor")
    assert top.mounted == "on"


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("at: [1000, 500]", [1000, 500, 0, 1600, 900, 500]),
        ("at: [1000, 500, 250]", [1000, 500, 250, 1600, 900, 750]),
        ("at: [1000, 500], facing: east", [1000, 500, 0, 1400, 1100, 500]),
        ("at: [1000, 500], facing: north", [1000, 500, 0, 1600, 900, 500]),
        ("at: [1000, 500], turn: 90", [1000, 500, 0, 1400, 1100, 500]),
        ("at: [1000, 500], height: 300", [1000, 500, 300, 1600, 900, 800]),
        ("centre: [1000, 500]", [700, 300, 0, 1300, 700, 500]),
        ("centre: [1000, 500, 40]", [700, 300, 40, 1300, 700, 540]),
        ("centre: [1000, 500], facing: west", [800, 200, 0, 1200, 800, 500]),
        ("centre: [1000, 500], by: [5, 6, 7]", [705, 306, 7, 1305, 706, 507]),
    ],
)
def test_at_a_point(words, wanted):
    """By its least corner or its centre, with or without a height."""
    assert box(put(f"item: crate, {words}")) == wanted


@pytest.mark.parametrize(
    ("wall", "looks"), [("north", NORTH), ("east", EAST), ("south", SOUTH), ("west", WEST)]
)
def test_facing_a_wall(wall, looks):
    """The front looks at the wall named."""
    assert front(put(f"item: crate, at: [9, 9], facing: {wall}")) == pytest.approx(looks, abs=1e-15)


def test_turned_thirty_degrees():
    """Counter-clockwise seen from above; the bounds' least corner is where it was asked."""
    crate = put("item: crate, at: [1000, 500], turn: 30")
    c, s = np.cos(np.pi / 6), 0.5
    assert box(crate) == pytest.approx(
        [1000, 500, 0, 1000 + 600 * c + 400 * s, 500 + 600 * s + 400 * c, 500]
    )
    assert front(crate) == pytest.approx([s, -c])


@pytest.mark.parametrize(
    ("words", "low", "footing"),
    [
        ("height: 700", 700, "wall"),
        ("height: 0", 0, "floor"),
        ("top: 2000", 1500, "wall"),
        ("drop: 50", 1850, "ceiling"),
        ("height: 700, mount: floor", 700, "wall"),
    ],
)
def test_heights_on_a_wall(words, low, footing):
    """Above the floor, by its top, or below the ceiling."""
    crate = put(f"item: crate, against: north, along: 300, {words}")
    assert (crate.low[0, 2], crate.high[0, 2], crate.footing) == (low, low + 500, footing)


def test_hung_under_a_slope():
    """By the lowest ceiling over it: at y = 1000 the slope is 2000 + 600 / 3."""
    lamp = put("item: lamp, at: [1000, 1000]", SLOPE)
    assert box(lamp) == pytest.approx([1000, 1000, 1950, 1300, 1200, 2200])
    assert lamp.footing == "ceiling"
    assert put("item: lamp, at: [1000, 1000], drop: 60", SLOPE).high[0, 2] == pytest.approx(2140)


def test_wall_hung_item_keeps_its_mount():
    """A wall item at a point still hangs on the wall."""
    cupboard = put("item: cupboard, at: [0, 0], height: 1400")
    assert (cupboard.footing, cupboard.low[0, 2]) == ("wall", 1400)


@pytest.mark.parametrize(
    ("x", "level"), [(1800, 0), (1900, 0), (1901, 180), (2300, 180), (3000, 180)]
)
def test_stands_on_the_highest_floor_under_it(x, level):
    """The step is at x = 2500; touching it is not being on it."""
    assert put(f"item: crate, at: [{x}, 0]", STEP).low[0, 2] == level


def test_heights_are_above_the_floor_under_it():
    """Height and top are from the floor; a height in `at` is from the datum."""
    assert put("item: crate, at: [3000, 0], height: 700", STEP).low[0, 2] == 880
    assert put("item: crate, at: [3000, 0], top: 2000", STEP).high[0, 2] == 2180
    assert put("item: crate, at: [3000, 0, 200]", STEP).low[0, 2] == 200


def test_zone_stands_on_the_highest_floor_under_it():
    """The desk is low and faces east; its zone runs to x = 2600, over the step."""
    desk = put("item: desk, at: [1200, 0], facing: east", STEP)
    assert box(desk) == [1200, 0, 0, 1800, 1200, 740]
    (zone,) = desk.zones
    assert [*zone.polygon[0].min(axis=0), *zone.polygon[0].max(axis=0)] == [1800, 0, 2600, 1200]
    assert zone.level[0] == 180
    assert put("item: desk, at: [1000, 0], facing: east", STEP).zones[0].level[0] == 0


def test_hung_wholly_outside_the_room():
    """There is no ceiling over it: it hangs from the room's highest, and is found in the wall."""
    lamp = put("item: lamp, at: [-900, -900]", SLOPE)
    assert box(lamp) == pytest.approx([-900, -900, 2350, -600, -700, 2600])


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("against: north, along: 300", [300, 2340, 900, 2940]),
        ("against: north, along: 300, off: 0", [300, 2400, 900, 3000]),
        ("against: north, along: 300, side: front", [300, 2400, 900, 3000]),
        ("corner: [north, west]", [10, 2340, 610, 2940]),
        ("corner: [north, west], off-side: 0", [0, 2340, 600, 2940]),
    ],
)
def test_keeps_the_air_it_asks_for(words, wanted):
    """Off the wall by the gap of the side that faces it, unless the file says how far."""
    washer = put(f"item: washer, {words}")
    assert [*washer.low[0, :2], *washer.high[0, :2]] == pytest.approx(wanted, abs=1e-9)
