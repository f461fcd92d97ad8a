"""Tests for floor that three and more things take: as much as their union, however they lie."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon, box, unary_union

from massing.arrange.arrays import new_moving
from tests.arrange.costs import model_of, priced

HUNG = "body: 500 x 400 x 300, mount: wall"
THREE = {"chest": "body: 500 x 400 x 600", "low": HUNG, "high": HUNG}
MIXED = {
    "chest": "body: 900 x 700 x 600",
    "bench": "body: 1100 x 500 x 700",
    "rack": "body: 1200 x 300 x 200, mount: wall",
    "shelf": "body: 700 x 700 x 200, mount: wall",
    "frame": (
        "parts: [{name: a, box: 0..300 x 0..900 x 0..600}, "
        "{name: b, box: 900..1200 x 0..900 x 0..600}, "
        "{name: c, box: 300..900 x 0..200 x 100..300}]"
    ),
    "bin": "body: 300 x 300 x 900",
}
SLOPED = "{slopes: {south: 1500, north: 2700}}"  # 2000 is passed 1000 from the south wall
STANDING = {"{flat: 2400}": box(0, 0, 3000, 2400), SLOPED: box(0, 1000, 3000, 2400)}


def _floor(cost):
    """What all is charged for the floor it takes, m²: each alone, less what pairs and more share.

    What else is soft (standing free, hung anew) is a thing's own and taken off.
    """
    return cost.soft - sum(soft for _, soft in cost.shell.values())


def _feet(model, pose):
    """The floor each unit takes, as polygons, by its own rectangles."""
    fixed = model.fixed[0]
    found = []
    for u in range(len(model.units)):
        x, y, c, s, z = pose[u]
        rings = []
        for i in range(fixed["feet_at"][u], fixed["feet_at"][u + 1]):
            x0, y0, x1, y1, up = fixed["feet"][i]
            if z + up < 2000.0:
                own = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
                rings.append(Polygon([(x + c * a - s * b, y + s * a + c * b) for a, b in own]))
        found.append(unary_union(rings))
    return found


def _areas(shape):
    """A shape without the lines along which things touch."""
    return unary_union([part for part in getattr(shape, "geoms", [shape]) if part.area > 0.0])


def test_three_over_one_another():
    """A chest and two boxes hung above it take the floor of one; so do two of them."""
    model = model_of(THREE)
    chest = (1000, 2000)
    low, high = (*chest, 0, 1300), (*chest, 0, 1650)

    # hung 1650 up and not 1300: 0.02
    assert priced(model, chest=chest, low=low, high=high).soft == pytest.approx(0.22)
    assert priced(model, chest=chest, low=low, high=(*chest, 0, 2000)).soft == pytest.approx(0.22)
    # 0.1 of the highest is beyond the chest, then beyond the lower one too
    for at, soft in ((1250, 0.3 + 0.02), (1500, 0.4 + 0.02)):
        aside = (at, 2000, 0, 1650)
        assert priced(model, chest=chest, low=low, high=aside).soft == pytest.approx(soft)


@pytest.mark.parametrize("order", [0, 1, 2, 3])
def test_four_over_one_another(order):
    """Four and five in one place take its floor once, whichever is named first."""
    items = [("chest", "body: 500 x 400 x 600"), *((f"box {k}", HUNG) for k in range(4))]
    names = items[order:] + items[:order]
    model = model_of(dict(names))
    places = {f"box {k}": (1000, 2000, 0, 700 + 310 * k) for k in range(4)}
    rehung = 0.02 * 4

    every = priced(model, chest=(1000, 2000), **places)
    away = priced(model, chest=(0, 2000), **places)

    assert every.hard == 0.0
    assert every.soft == pytest.approx(0.2 + rehung)
    assert away.soft == pytest.approx(0.4 + rehung)


def test_steps_of_three():
    """Each 100 further along than the one below: 0.28 in all, 0.12 of it under all three."""
    cost = priced(
        model_of(THREE), chest=(1000, 2000), low=(1100, 2000, 0, 1300), high=(1200, 2000, 0, 1300)
    )

    assert cost.soft == pytest.approx(0.7 * 0.4)
    assert _floor(cost) == pytest.approx(0.28 - 3 * 0.2)


def test_under_what_stays():
    """Floor that things which stay take is nobody else's charge, however many take it."""
    posts = "\n".join(
        f"  - {{name: post {k}, box: 1000..1500 x 2000..2400 x {low}..{low + 300}}}"
        for k, low in enumerate((0, 400, 800))
    )
    model = model_of({"low": HUNG, "high": HUNG}, room=f"fabric:\n{posts}")
    over, half = (1000, 2000, 0, 1300), (1250, 2000, 0, 1300)

    assert priced(model, low=over, high=over).soft == pytest.approx(0.0)
    assert priced(model, low=over, high=half).soft == pytest.approx(0.1)
    assert priced(model, low=half, high=half).soft == pytest.approx(0.1)
    assert priced(model, low=half, high=(1350, 2000, 0, 1300)).soft == pytest.approx(0.14)


@pytest.mark.parametrize("turn", [30, 45, 60, 135, 225, 300])
def test_two_across_each_other(turn):
    """A bar under a shelf 300 deep shares a parallelogram, or at the shelf's end a trapezoid."""
    items = {"shelf": "body: 1200 x 300 x 200, mount: wall", "bar": "body: 1600 x 200 x 600"}
    t = math.radians(turn)
    c, s = math.cos(t), math.sin(t)
    for far in (600, 1150, 60):
        # the middle of the bar on the shelf's middle line, so far from its left end
        x, y = 900 + far - 800 * c + 100 * s, 1150 - 800 * s - 100 * c
        own = [(0, 0), (1600, 0), (1600, 200), (0, 200)]
        bar = Polygon([(x + c * a - s * b, y + s * a + c * b) for a, b in own])
        shared = bar.intersection(box(900, 1000, 2100, 1300)).area * 1e-6
        if far == 600:
            assert shared == pytest.approx(0.06 / abs(s))
        for each in (items, dict(reversed(items.items()))):
            cost = priced(model_of(each), shelf=(900, 1000, 0, 1300), bar=(x, y, turn))
            assert cost.pair[0, 1].tolist() == pytest.approx([0.0, -shared], abs=1e-9)


@pytest.mark.parametrize("ceiling", list(STANDING))
@pytest.mark.parametrize("seed", range(6))
def test_as_a_polygon_library_says(ceiling, seed):
    """Whatever lies over whatever at whatever angle, its floor is the area of the union."""
    rng = np.random.default_rng(seed)
    model = model_of(MIXED, ceiling=ceiling)
    floor = STANDING[ceiling]
    deep = 0
    for turns in (0.0, 90.0, 45.0, 1.0):
        for _ in range(6):
            places = {
                name: (
                    *rng.integers(4, 14, 2) * 100.0,
                    float(rng.integers(0, 8)) * turns
                    if turns > 1.0
                    else rng.uniform(0, 360 * turns),
                    float(rng.choice([1300.0, 1900.0, 2000.0])),
                )
                for name in MIXED
            }
            cost, pose = priced(model, **places), model.pose.copy()
            for k, (x, y, turn, z) in enumerate(places.values()):
                pose[k, :2] = x, y
                pose[k, 2:4] = math.cos(math.radians(turn)), math.sin(math.radians(turn))
                pose[k, 4] = z if k in (2, 3) else 0.0
            feet = [_areas(foot.intersection(floor)) for foot in _feet(model, pose)]
            area = unary_union(feet).area
            alone = sum(foot.area for foot in feet)
            assert _floor(cost) == pytest.approx((area - alone) * 1e-6, abs=1e-9)
            pairs = sum(a.intersection(b).area for k, a in enumerate(feet) for b in feet[:k])
            deep += area - alone + pairs > 1.0
    assert deep > 9


def test_many_at_all_angles():
    """Thirty turned evenly about one middle leave a disc of many corners, and more of them."""
    count = 30
    model = model_of({f"bar {k}": "body: 1600 x 900 x 100" for k in range(count)})
    places, rings = {}, []
    for k in range(count):
        turn = 180.0 * k / count
        t = math.radians(turn)
        c, s = math.cos(t), math.sin(t)
        x, y = 1500 - 800 * c + 450 * s, 1200 - 800 * s - 450 * c
        places[f"bar {k}"] = (x, y, turn)
        own = [(0, 0), (1600, 0), (1600, 900), (0, 900)]
        rings.append(Polygon([(x + c * a - s * b, y + s * a + c * b) for a, b in own]))

    cost = priced(model, **places)

    area = unary_union(rings).area
    assert _floor(cost) == pytest.approx((area - count * 1600 * 900) * 1e-6, abs=1e-8)


def test_a_move_is_as_if_all_were_priced():
    """What a restart says its end costs is what pricing that end afresh says, over and over."""
    from massing.arrange.search_compiled import anneal, price_all

    model = model_of({**THREE, "bin": "body: 300 x 300 x 600"})
    hot = np.array([0.4, 0.002])
    for seed in range(6):
        record = new_moving(model.pose, model.on, model.yaw)
        said = anneal((model.fixed, record), model.free, model.sides, seed, 2000, hot)
        ends = (record[name][0] for name in ("pose", "on", "yaw"))
        again = price_all((model.fixed, new_moving(*ends)))
        assert said == pytest.approx(again, abs=1e-9)
        assert again[1] >= 0.2 - 1e-9  # never less than the floor of the largest
