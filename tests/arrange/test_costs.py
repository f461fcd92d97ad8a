"""Tests for what one thing costs where it stands, by the building: all worked by hand.

The room is 3000 x 2400 and 2400 high. Hard costs are mm of penetration and 20 more for each thing
that is wrong; soft ones are m² of standing floor taken, and 0.02 for standing free.
"""

from __future__ import annotations

import math

import pytest

from tests.arrange.costs import DOOR, model_of, priced

BOX = {"box": "body: 500 x 400 x 600"}
LEVELS = "floor: [{level: 0}, {from: east, depth: 1000, level: 150}]"
BENCH = {"bench": "body: 1400 x 600 x 900, zone: {front: 700}"}


@pytest.mark.parametrize(
    ("place", "hard", "soft"),
    [
        ((1000, 1000), 0.0, 0.22),
        ((1000, 0), 0.0, 0.2),
        ((1000, 0.4), 0.0, 0.2),  # within half a mm of a wall is at it
        ((1000, 0.6), 0.0, 0.22),
        ((2500, 1000), 0.0, 0.2),
        ((-30, 1000), 50.0, 0.208),  # 470 x 400 of it in the room
        ((-30, -50), 70.0, 0.1645 + 0.02),  # the further of the two
        ((2500.009, 1000), 0.0, 0.2),  # no deeper than touching
        ((2530, 2010), 50.0, 0.02 + 0.47 * 0.39),
    ],
)
def test_a_box_by_itself(place, hard, soft):
    """Out of the room costs its depth; floor taken is counted inside it; a wall is worth 0.02."""
    cost = priced(model_of(BOX), box=place)

    assert cost.shell["box"] == pytest.approx((hard, soft), abs=1e-5)
    assert (cost.hard, cost.soft) == pytest.approx((hard, soft), abs=1e-5)


def test_turned_by_any_angle_takes_the_same_floor():
    """Standing floor under a turned box is its own area, however it is measured."""
    model = model_of(BOX)

    for turn in (0, 17, 45, 90, 133, 180, 270):
        cost = priced(model, box=(1500, 1200, turn))
        assert cost.shell["box"] == pytest.approx((0.0, 0.22), abs=1e-9)


@pytest.mark.parametrize(("tall", "hard"), [(2400, 0.0), (2450, 70.0), (2500, 120.0)])
def test_under_a_flat_ceiling(tall, hard):
    """Through the ceiling costs by how much."""
    cost = priced(model_of({"box": f"body: 500 x 400 x {tall}"}), box=(1000, 0))

    assert cost.shell["box"] == pytest.approx((hard, 0.2), abs=1e-9)


def test_under_a_slope():
    """The lowest ceiling over it counts, and only floor with 2000 over it is standing floor.

    The ceiling rises 1500 to 2700 over 2400, so 2000 is passed 1000 from the south wall.
    """
    model = model_of(
        {"box": "body: 500 x 400 x 1900"}, ceiling="{slopes: {south: 1500, north: 2700}}"
    )

    assert priced(model, box=(0, 700)).shell["box"] == pytest.approx((70.0, 0.05), abs=1e-6)
    assert priced(model, box=(0, 800)).shell["box"] == pytest.approx((0.0, 0.1), abs=1e-6)
    assert priced(model, box=(0, 1500)).shell["box"] == pytest.approx((0.0, 0.2), abs=1e-6)


@pytest.mark.parametrize(
    ("place", "hard"),
    [
        ((300, 900), 762 - math.hypot(300, 300) + 20),  # from the arc inward
        ((300, 1400), 0.0),  # past the shut leaf's end
        ((600, 1100), 0.0),  # outside the arc
        ((700, 600), 82.0),
        ((700, 400), 82.0),  # past the open leaf in part
        ((700, 150), 0.0),
    ],
)
def test_in_the_sweep_of_a_door(place, hard):
    """A leaf is pinned at 0, 600 and 762 wide: what reaches into its quarter of a disc pays.

    What its doorway, 400 deep, costs besides is what it costs where the leaf opens outward.
    """
    model = model_of({"box": "body: 300 x 300 x 600"}, room=DOOR.replace("in}", "out}"))
    without = priced(model, box=place).shell["box"][0]
    inward = model_of({"box": "body: 300 x 300 x 600"}, room=DOOR)

    assert priced(inward, box=place).shell["box"][0] - without == pytest.approx(hard, abs=0.02)


@pytest.mark.parametrize(
    ("place", "hard"),
    [
        ((100, 900), 320.0),  # 300 to the mouth's end, 400 less 100
        ((350, 900), 70.0),
        ((400, 900), 0.0),
        ((100, 1300), 82.0),
        ((100, 550), 270.0),
        ((100, 250), 0.0),
    ],
)
def test_in_a_doorway(place, hard):
    """A doorway is kept free 400 deep, between 600 and 1362 along, up to 1981."""
    model = model_of({"box": "body: 300 x 300 x 900"}, room=DOOR.replace("in}", "out}"))

    assert priced(model, box=place).shell["box"][0] == pytest.approx(hard, abs=1e-6)


def test_over_and_under_a_door():
    """What hangs over the leaf is clear of it, what hangs into it pays the least way out."""
    model = model_of({"shelf": "body: 300 x 300 x 300, mount: wall"}, room=DOOR)

    for z, hard in ((1981, 0.0), (1931, 140.0), (1900, 202.0)):
        assert priced(model, shelf=(0, 900, 0, z)).shell["shelf"][0] == pytest.approx(hard)


@pytest.mark.parametrize(
    ("z", "hard"),
    [
        (2000, 0.0),  # as high as a head
        (1900, 120.0),
        (1500, 121.0),  # cheaper lowered below 1400, where nobody walks under it
        (1400, 21.0),
        (1399, 0.0),
    ],
)
def test_a_head_under_what_hangs(z, hard):
    """What is deeper than 400 and hangs at 1400 or more has 2000 under it, or loses the least."""
    model = model_of({"rack": "body: 600 x 500 x 300, mount: wall"})

    assert priced(model, rack=(1000, 0, 0, z)).shell["rack"][0] == pytest.approx(hard)


def test_something_stands_under_what_hangs():
    """Where all the floor under it is taken nobody walks there; where half is, somebody does."""
    items = {"rack": "body: 600 x 500 x 300, mount: wall", "chest": "body: 600 x 500 x 600"}
    model = model_of(items)

    for x, hard in ((1000, 0.0), (1300, 120.0), (1600, 120.0)):
        cost = priced(model, rack=(1000, 0, 0, 1900), chest=(x, 0))
        assert cost.shell["rack"][0] == pytest.approx(hard)
    # A shallow one is looked past.
    items["rack"] = "body: 600 x 400 x 300, mount: wall"
    assert priced(model_of(items), rack=(1000, 0, 0, 1900)).shell["rack"][0] == 0.0


def test_hung_at_another_height():
    """Hanging it anew costs 0.02; a floor 1500 and more below what hangs is still stood on."""
    model = model_of({"shelf": "body: 900 x 300 x 300, mount: wall"})

    # 0.9 x 0.3 under a shelf 1300 up is standing floor lost
    for z, soft in ((1300, 0.27), (1300.9, 0.27), (1298.9, 0.29), (1500, 0.29), (2000, 0.02)):
        assert priced(model, shelf=(1000, 0, 0, z)).shell["shelf"][1] == pytest.approx(soft)


def test_stores_above_reach():
    """What is kept things in has its base at the top shelf's height, 1800, or below."""
    model = model_of({"shelf": "body: 900 x 300 x 300, mount: wall, stores: true"})

    for z, hard in ((1800, 0.0), (1850, 70.0)):
        cost = priced(model, shelf=(1000, 2100, 0, z))
        assert cost.shell["shelf"][0] == pytest.approx(hard)


@pytest.mark.parametrize(
    ("x", "hard"),
    [
        (1000, 0.0),
        (2200, 0.0),
        (1500.005, 0.0),  # no further than touching the higher one
        (1500.5, (0.95 - 0.001) * math.sqrt(500 * 400) + 20.0),
        (1990, 0.0),  # 490 of 500 is held: more than 95 %
        (1800, (0.95 - 0.6) * math.sqrt(500 * 400) + 20.0),
        (1600, (0.95 - 0.2) * math.sqrt(500 * 400) + 20.0),
    ],
)
def test_across_a_step_in_the_floor(x, hard):
    """A box stands on the higher of two levels and is held by what of it is over that one."""
    model = model_of(BOX, room=LEVELS)

    assert priced(model, box=(x, 0)).shell["box"][0] == pytest.approx(hard, abs=1e-6)


def test_on_a_step_there_is_less_room():
    """Floor levels count: a box 2300 high has 50 too little on a floor at 150."""
    model = model_of({"box": "body: 500 x 400 x 2300"}, room=LEVELS)

    assert priced(model, box=(2400, 0)).shell["box"][0] == pytest.approx(70.0)
    assert priced(model, box=(1000, 0)).shell["box"][0] == 0.0
    turned = priced(model, box=(2600, 800, 45)).shell["box"]
    assert turned[0] == pytest.approx(70.0)


@pytest.mark.parametrize(
    ("place", "hard"),
    [
        ((500, 700), 0.0),
        ((500, 600), 120.0),
        ((500, 0), 720.0),
        ((1600, 1000, 90), 0.0),
        ((700, 1900, -90), 0.0),  # faces west with 700 in front of it
        ((480, 1900, -90), 240.0),
    ],
)
def test_floor_before_a_bench(place, hard):
    """The zone before a bench is 700 deep; what of it is outside the room is short."""
    assert priced(model_of(BENCH), bench=place).shell["bench"][0] == pytest.approx(hard)


def test_headroom_before_a_bench():
    """2000 is asked over the zone; under a slope the lowest point of it counts.

    The ceiling is 1500 at the south wall and 2700 at the north one: at y it is 1500 + y / 2.
    """
    model = model_of(BENCH, ceiling="{slopes: {south: 1500, north: 2700}}")

    for y, hard in ((1700, 0.0), (1600, 70.0), (1500, 120.0)):
        assert priced(model, bench=(500, y)).shell["bench"][0] == pytest.approx(hard)


def test_headroom_before_a_bench_over_two_levels():
    """On a floor raised by 150 the same headroom is asked from there."""
    model = model_of(BENCH, room=LEVELS, ceiling="{flat: 2100}")

    # the zone runs from x to x + 1400 and the raised floor from 2000
    for x, hard in ((600, 0.0), (601, 70.0), (1500, 70.0)):
        cost = priced(model, bench=(x, 1700))
        assert cost.shell["bench"][0] == pytest.approx(hard + _short_of_floor(x), abs=1e-6)


def _short_of_floor(x):
    """What a bench 1400 x 600 across the step at 2000 is charged: it stands on the higher."""
    share = (x + 1400 - 2000) / 1400
    return 0.0 if x <= 600 else (0.95 - share) * math.sqrt(1400 * 600) + 20.0


def test_before_a_store():
    """A store without a zone likes 450 before it, and does not insist."""
    model = model_of({"chest": "body: 700 x 450 x 980, stores: true"})

    for y, soft in ((450, 0.335), (350, 0.335 + 0.1 + 0.012), (0, 0.315 + 0.1 + 0.047)):
        assert priced(model, chest=(1000, y)).shell["chest"] == pytest.approx((0.0, soft))


def test_heavy_and_wet_things_want_a_wall():
    """A bench of 40 kg and more, and what has hoses, pays 0.1 for standing free."""
    for words, soft in (
        ("body: 500 x 400 x 600, weight: 39", 0.22),
        ("body: 500 x 400 x 600, weight: 40", 0.22),
        ("body: 500 x 400 x 600, weight: 40, zone: {front: 500}", 0.3),
        ("body: 500 x 400 x 600, weight: 39, zone: {front: 500}", 0.22),
        ("body: 500 x 400 x 600, weight: 5, wet: true", 0.3),
    ):
        assert priced(model_of({"box": words}), box=(1000, 1000)).shell["box"] == pytest.approx(
            (0.0, soft)
        )
