"""Tests for what two things cost each other, and all of them the room: all worked by hand."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon, box

from tests.arrange.costs import DOOR, model_of, priced

TWO = {"one": "body: 500 x 400 x 600", "two": "body: 300 x 300 x 900"}


def _pair(model, **places):
    """What the first two cost each other, the same either way round."""
    pair = priced(model, **places).pair
    assert pair[0, 1].tolist() == pair[1, 0].tolist()
    return tuple(pair[0, 1].tolist())


@pytest.mark.parametrize(
    ("one", "two", "hard"),
    [
        ((1000, 1000), (1500, 1000), 0.0),
        ((1000, 1000), (1499.995, 1000), 0.0),  # no deeper than touching
        ((1000, 1000), (1450, 1000), 70.0),
        ((1000, 1000), (1450, 1370), 50.0),  # 30 in y is the shorter way out
        ((1000, 1000), (720, 1100), 40.0),
        ((1000, 1000), (1100, 720), 40.0),
        ((1000, 1000), (1100, 1050), 370.0),  # inside: out by the nearer long side, 350
        ((1000, 1000), (1110, 1080), 340.0),  # 320 upwards
        ((1000, 1000), (1500, 1400), 0.0),
        ((1000, 1000), (600, 1000), 0.0),
        ((1000, 1000), (1000, 600), 0.0),
    ],
)
def test_two_boxes(one, two, hard):
    """The shortest way out in plan and 20, never more than the height they share."""
    model = model_of(TWO)

    assert _pair(model, one=one, two=two)[0] == pytest.approx(hard)
    turned = [(3000 - x, 2400 - y, 180) for x, y in (one, two)]
    assert _pair(model, one=turned[0], two=turned[1])[0] == pytest.approx(hard)
    quarter = [(2400 - y, x, 90) for x, y in (one, two)]
    assert _pair(model, one=quarter[0], two=quarter[1])[0] == pytest.approx(hard)


def test_two_boxes_askew():
    """A square of 300 turned by 45 degrees reaches 150 * sqrt(2) from its middle."""
    model = model_of(TWO)
    half = 150.0 * math.sqrt(2.0)

    for gap in (-40.0, -5.0, 1.0):
        # its middle so far beyond the other's right side; turned about its own corner
        x, y = 1500.0 + half + gap, 1200.0 - half
        hard = 20.0 - gap if gap < 0.0 else 0.0
        assert _pair(model, one=(1000, 1000), two=(x, y, 45))[0] == pytest.approx(hard)


def test_one_over_the_other():
    """In height the way out may be shorter than in plan; hung clear above costs nothing."""
    items = {"rack": "body: 500 x 400 x 600, mount: wall", "box": "body: 300 x 300 x 900"}
    model = model_of(items)

    for z, hard in ((900, 0.0), (870, 50.0), (899.995, 0.0), (700, 220.0)):
        assert _pair(model, rack=(1000, 2000, 0, z), box=(1100, 2050))[0] == pytest.approx(hard)
    # from below: 600 high, hung 280 deep under a top at 900 is further than out of the side
    assert _pair(model, rack=(1000, 2000, 0, 300), box=(1450, 2050))[0] == pytest.approx(70.0)


def test_bodies_of_two_parts():
    """Each body of one with each of the other, each with its charge."""
    items = {
        "frame": (
            "parts: [{name: a, box: 0..200 x 0..400 x 0..600}, "
            "{name: b, box: 800..1000 x 0..400 x 0..600}]"
        ),
        "box": "body: 300 x 300 x 900",
    }
    model = model_of(items)

    assert _pair(model, frame=(1000, 1000), box=(1350, 1000))[0] == 0.0
    assert _pair(model, frame=(1000, 1000), box=(1150, 1000))[0] == pytest.approx(70.0)
    assert _pair(model, frame=(1000, 1000), box=(1720, 1000))[0] == pytest.approx(240.0)


ZONED = {"bench": "body: 1000 x 600 x 900, zone: {front: 700}", "box": "body: 300 x 300 x 600"}


@pytest.mark.parametrize(
    ("box", "hard"),
    [((1200, 700), 0.0), ((1200, 750), 70.0), ((1950, 1300), 70.0), ((2000, 1300), 0.0)],
)
def test_in_the_zone_of_another(box, hard):
    """A bench at 1000, 1700 is worked at from y = 1000; what stands there pays its depth."""
    assert _pair(model_of(ZONED), bench=(1000, 1700), box=box)[0] == pytest.approx(hard)
    swapped = model_of(dict(reversed(ZONED.items())))
    assert _pair(swapped, bench=(1000, 1700), box=box)[0] == pytest.approx(hard)


def test_what_may_stand_in_a_zone():
    """What is passed through is no hindrance, nor a light thing in a zone to serve something."""
    for words, zone, hard in (
        ("body: 300 x 300 x 600, weight: 5", "zone: {front: 700}", 70.0),
        ("body: 300 x 300 x 600, weight: 5", "zone: {front: 700, kind: service}", 0.0),
        ("body: 300 x 300 x 600, weight: 15", "zone: {front: 700, kind: service}", 70.0),
        ("body: 300 x 300 x 600, passable: true", "zone: {front: 700}", 0.0),
    ):
        items = {"bench": f"body: 1000 x 600 x 900, {zone}", "box": words}
        cost = _pair(model_of(items), bench=(1000, 1700), box=(1200, 750))
        assert cost[0] == pytest.approx(hard), (words, zone)


def test_before_a_store_stands_another():
    """What is shut in from its front costs 0.1 m² and a little by how much, and is not wrong."""
    items = {"chest": "body: 1000 x 600 x 900, stores: true", "box": "body: 300 x 300 x 600"}

    # its front is 450 deep: from 1250
    for y, soft in ((900, 0.0), (950, 0.0), (1000, 0.107), (1050, 0.112)):
        cost = _pair(model_of(items), chest=(1000, 1700), box=(1200, y))
        assert cost == pytest.approx((0.0, soft))


def test_in_the_air_of_another():
    """Air kept beside a thing is not stood in by another, and may overlap other air."""
    items = {
        "drier": "body: 600 x 600 x 900, gaps: {left: 80, why: air}",
        "box": "body: 300 x 300 x 600",
    }
    model = model_of(items)

    # its left as one faces it; it faces south
    for x, hard in ((620, 0.0), (650, 50.0), (700, 100.0), (1600, 0.0)):
        assert _pair(model, drier=(1000, 1000), box=(x, 1100))[0] == pytest.approx(hard)
    items["box"] = "body: 300 x 300 x 600, gaps: {right: 80, why: air}"
    assert _pair(model_of(items), drier=(1000, 1000), box=(620, 1100))[0] == 0.0


def test_used_at_once():
    """Two benches' zones may lie over each other unless both are used at once."""
    items = dict.fromkeys(("one", "two"), "body: 1000 x 600 x 900, zone: {front: 700}")
    places = {"one": (1000, 1700), "two": (2000, 600, 180)}

    # zones from 1000 to 1700, and from 600 to 1300
    assert _pair(model_of(items), **places)[0] == 0.0
    both = model_of(items, together="[one in use, two in use]")
    assert _pair(both, **places)[0] == pytest.approx(320.0)


def test_stood_on_another():
    """Of a stack nothing is counted against its own, and its floor is that of the lowest."""
    items = dict.fromkeys(("one", "two"), "body: 600 x 400 x 500, stores: true, weight: 10")
    model = model_of(items)
    stacked = priced(model, on={"two": "one"}, one=(1000, 2000), two=(1000, 2000))

    assert stacked.hard == 0.0
    assert stacked.shell["one"] == pytest.approx((0.0, 0.24))
    assert stacked.shell["two"] == pytest.approx((0.0, 0.0))


def test_floor_taken_twice_is_counted_once():
    """A shelf over a chest takes no more floor than the chest where it lies over it."""
    items = {"shelf": "body: 900 x 300 x 300, mount: wall", "chest": "body: 500 x 400 x 600"}
    model = model_of(items)

    for x, shared in ((1000, 0.15), (1600, 0.09), (1900, 0.0), (600, 0.03)):
        cost = priced(model, shelf=(1000, 2100, 0, 1300), chest=(x, 2000))
        assert cost.pair[0, 1].tolist() == pytest.approx([0.0, -shared])
        assert cost.soft == pytest.approx(0.27 + 0.2 - shared)
    # hung at 2000 and higher it takes none
    assert _pair(model, shelf=(1000, 2100, 0, 2000), chest=(1000, 2000)) == (0.0, 0.0)


def test_floor_taken_twice_askew_and_on_a_raised_floor():
    """The shared floor of turned things is what a polygon library says; heights from the floor."""
    items = {"shelf": "body: 900 x 300 x 300, mount: wall", "chest": "body: 500 x 400 x 600"}
    floor = "floor: [{level: 0}, {from: east, depth: 1500, level: 150}]"
    models = [model_of(each, room=floor) for each in (items, dict(reversed(items.items())))]
    for turn in (20, 45, 130):
        t = math.radians(turn)
        ring = [(0, 0), (500, 0), (500, 400), (0, 400)]
        ring = [
            (2000 + math.cos(t) * x - math.sin(t) * y, 1000 + math.sin(t) * x + math.cos(t) * y)
            for x, y in ring
        ]
        shared = Polygon(ring).intersection(box(1900, 1100, 2800, 1400)).area / 1e6
        assert shared > 1e-4
        # 2100 up is 1950 above the floor there, 2200 is over standing height
        for z, share in ((2100, shared), (2200, 0.0)):
            for model in models:
                cost = _pair(model, shelf=(1900, 1100, 0, z), chest=(2000, 1000, turn))
                assert cost == pytest.approx((0.0, -share), abs=1e-9)


DOORS = DOOR.replace("opens: in", "opens: out")


@pytest.mark.parametrize(
    ("prefer", "words", "soft"),
    [
        ("{standing: 2}", "", 2 * 0.2),
        ("{daily: 3}", ", zone: {front: 700}", 3 * math.hypot(1250, 1650 - 981) / 1000),
        ("{daily: 3}", "", 0.0),
        ("{reach: 5}", ", stores: true", 5 * 0.3),
        ("{reach: 5}", "", 0.0),
    ],
)
def test_what_is_preferred(prefer, words, soft):
    """Each wish by its weight: floor, the way from the door to what is used, what is in reach."""
    items = {"box": f"body: 500 x 400 x 600, weight: 5{words}"}
    model = model_of(items, room=DOORS, rest=f"prefer: {prefer}")

    cost = priced(model, box=(1000, 2000))

    assert cost.shell["box"][1] == pytest.approx(soft)


def test_wet_things_near_each_other():
    """Two things with hoses pay by the metre between their middles."""
    items = dict.fromkeys(("one", "two"), "body: 600 x 400 x 500, wet: true")
    model = model_of(items, rest="prefer: {wet: 2}")

    cost = _pair(model, one=(0, 2000), two=(1200, 500))
    assert cost == pytest.approx((0.0, 2.0 * math.hypot(1200, 1500) / 1000))


@pytest.mark.parametrize(
    ("box", "prefer", "area"), [((0, 0), 1.5, 2.4 * 2.5), ((1000, 1000), 1.0, 2.4 * 1.5)]
)
def test_the_largest_open_rectangle(box, prefer, area):
    """With open floor preferred, the largest clear rectangle is taken off what all costs."""
    model = model_of({"box": "body: 500 x 400 x 600"}, rest=f"prefer: {{open_floor: {prefer}}}")

    cost = priced(model, box=box)

    free = 0.02 if box != (0, 0) else 0.0
    assert cost.soft == pytest.approx(free - prefer * area)


def test_before_a_window():
    """Half a m² for a whole window hidden: by the share of it, of what stands near enough."""
    window = "windows: [{name: light, wall: north, along: 1000, size: 1000 x 800, sill: 900}]"
    model = model_of({"box": "body: 500 x 400 x 1300"}, room=window)
    depth = float(model.fixed["panes"][0][0, 5])

    for x, y, share in (
        (1000, 2000, 0.25),
        (1250, 2000, 0.25),
        (750, 2000, 0.125),
        (1750, 2000, 0.125),
        (500, 2000, 0.0),
        (1200, 2000 - depth, 0.0),
        (1200, 2000 - depth + 1.0, 0.25),
    ):
        soft = priced(model, box=(x, y)).shell["box"][1]
        loose = 0.02 if y < 2000 else 0.0
        assert soft - loose - 0.2 == pytest.approx(0.5 * share, abs=1e-9), (x, y)
