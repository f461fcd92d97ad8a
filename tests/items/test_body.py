"""Items built from their descriptions: sizes, parts, zones, gaps and motions, in many worlds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from massing.errors import GeometryError, InputError
from massing.geometry.solids import Convex
from massing.items.body import build_item
from massing.items.catalog import item_names, load_item
from massing.items.parts import OVERSIZE, cylinder_sides
from massing.items.shape import ItemShape
from massing.items.spec import ItemSpec
from massing.survey.values import Values


def item(**said: object) -> ItemSpec:
    return ItemSpec.model_validate({"name": "thing", **said})


def built(**said: object) -> ItemShape:
    return build_item(item(**said), Values(), key="thing")


def assert_sound(solid: Convex) -> None:
    """Every corner on or behind every face, in every world: winding and convexity at once."""
    for corners in solid.corners:
        for ring in solid.faces.rings:
            a, b, c = (corners[k] for k in (ring[0], ring[1], ring[2]))
            normal = np.cross(b - a, c - a)
            assert np.linalg.norm(normal) > 0
            assert ((corners - a) @ normal / np.linalg.norm(normal)).max() <= 1e-6


def solids_of(shape: ItemShape) -> list[Convex]:
    return [
        *(part.solid for part in shape.parts),
        *(gap.solid for gap in shape.gaps),
        *(motion.solid for motion in shape.motions),
    ]


@pytest.mark.parametrize("name", item_names())
def test_every_solid_of_the_catalogue_is_convex_and_faces_out(name):
    for solid in solids_of(build_item(load_item(name), Values(), key=name)):
        assert_sound(solid)
        assert solid.volume[0] > 0


@pytest.mark.parametrize("name", item_names())
def test_many_worlds_are_each_world_alone(name):
    spec, first = load_item(name), Values()
    build_item(spec, first, key="one")
    measures = first.measures
    shifts = np.random.default_rng(7).uniform(-1, 1, (3, len(measures)))
    shifts *= [m.half_width for m in measures]
    shifts[0] = 0.0
    many = build_item(spec, Values.shifted(measures, shifts), key="one")
    for world, row in enumerate(shifts):
        alone = build_item(spec, Values.shifted(measures, row[None]), key="one")
        for ours, theirs in zip(solids_of(many), solids_of(alone), strict=True):
            assert ours.faces == theirs.faces
            assert np.array_equal(ours.corners[world], theirs.corners[0])
        for ours, theirs in zip(many.zones, alone.zones, strict=True):
            assert np.array_equal(ours.polygon[world], theirs.polygon[0])


def test_each_placed_item_has_its_own_measures():
    values = Values()
    for key in ("washer 1", "washer 2"):
        build_item(load_item("front load washer"), values, key=key)
    assert [m.key for m in values.measures] == ["washer 1 body depth", "washer 2 body depth"]
    assert all(m.half_width == 50 for m in values.measures)


def test_a_body_alone_is_one_box():
    shape = built(body="500 x 450 x 620")
    assert [(part.name, part.solid.high.tolist()) for part in shape.parts] == [
        ("body", [[500.0, 450.0, 620.0]])
    ]


def test_parts_follow_the_body_in_every_world():
    spec = item(
        body="600 ±10 x 400 x 900",
        parts=[
            {"name": "low", "box": "0..600 x 0..400 x 0..500"},
            {"name": "high", "box": "300..600 x 0..400 x 500..900"},
        ],
    )
    first = Values()
    build_item(spec, first, key="x")
    shape = build_item(spec, Values.shifted(first.measures, np.array([[0.0], [10.0]])), key="x")
    assert shape.parts[1].solid.low[:, 0].tolist() == pytest.approx([300.0, 305.0])
    assert shape.parts[1].solid.high[:, 0].tolist() == pytest.approx([600.0, 610.0])


def test_parts_that_disagree_with_the_body_are_refused():
    parts = [{"name": "slab", "box": "0..100 x 0..200 x 0..300"}]
    with pytest.raises(GeometryError, match="measure 100 x 200 x 300 together"):
        built(body="100 x 200 x 310", parts=parts)
    shape = built(body="100 x 200 x 310", parts=parts, stretch="yes")
    assert shape.parts[0].solid.high.tolist() == [[100.0, 200.0, 310.0]]


def test_an_item_without_a_body_is_refused():
    with pytest.raises(InputError, match="neither body nor parts"):
        built(weight=3)


def test_the_origin_is_the_low_corner_wherever_parts_were_drawn():
    shape = built(parts=[{"name": "a", "box": "-50..50 x 100..300 x -10..40"}])
    assert shape.parts[0].solid.low.tolist() == [[0.0, 0.0, 0.0]]
    assert shape.high.tolist() == [[100.0, 200.0, 50.0]]


@given(st.floats(5.0, 2000.0), st.sampled_from("xyz"), st.floats(1.0, 3000.0))
@settings(max_examples=60, deadline=None)
def test_a_cylinder_is_never_too_small_nor_half_a_millimetre_too_large(diameter, axis, length):
    said = {"at": [0, 0, 0], "diameter": diameter, "length": length, "axis": axis}
    part = built(parts=[{"name": "drum", "cylinder": said}]).parts[0].solid
    assert_sound(part)
    across = [k for k in range(3) if k != "xyz".index(axis)]
    size = part.high[0] - part.low[0]
    assert size[across] == pytest.approx([diameter, diameter], rel=1e-12)
    assert size["xyz".index(axis)] == pytest.approx(length)
    plan = part.corners[0][:, across] - (part.high[0] + part.low[0])[across] / 2
    turn = np.linspace(0, 2 * math.pi, 997)
    support = (plan @ np.stack([np.cos(turn), np.sin(turn)])).max(axis=0)
    assert support.min() >= diameter / 2 * (1 - 1e-12)
    assert np.linalg.norm(plan, axis=1).max() <= diameter / 2 + OVERSIZE + 1e-9


def test_one_side_less_would_stand_out_too_far():
    n = cylinder_sides(450.0)
    over = [450.0 / math.cos(math.pi / k) - 450.0 for k in (n, n - 4)]
    assert over[0] <= OVERSIZE < over[1]


@pytest.mark.parametrize(
    ("corners", "area"),
    [
        ([[0, 0], [900, 0], [900, 400], [400, 400], [400, 900], [0, 900]], 560_000),
        ([[0, 0], [0, 900], [400, 900], [400, 400], [900, 400], [900, 0]], 560_000),
        ([[0, 0], [300, 300], [600, 0], [300, 900]], 180_000),
        ([[0, 0], [100, 0], [100, 80], [20, 80], [20, 60], [80, 60], [80, 20], [0, 20]], 4_400),
    ],
)
def test_a_prism_is_cut_into_convex_parts_of_the_same_volume(corners, area):
    x, y = np.array(corners, dtype=float).T
    shoelace = abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2
    shape = built(parts=[{"name": "slab", "prism": {"corners": corners, "z": "0..100"}}])
    for part in shape.parts:
        assert_sound(part.solid)
        assert part.name == "slab"
    assert sum(p.solid.volume[0] for p in shape.parts) == pytest.approx(shoelace * 100)
    assert shoelace == area


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        ([[0, 0], [900, 900], [900, 0], [0, 900]], "meet or cross"),
        ([[0, 0], [900, 0], [900, 0], [0, 900]], "are the same"),
        ([[0, 0], [900, 0], [400, 0]], "no area|meet or cross"),
    ],
)
def test_outlines_that_bound_nothing_are_refused(corners, says):
    with pytest.raises(GeometryError, match=says):
        built(parts=[{"name": "slab", "prism": {"corners": corners, "z": "0..100"}}])


@pytest.mark.parametrize("side", ["front", "back", "left", "right"])
@pytest.mark.parametrize("edge", [0, 1, 300, 799])
def test_a_wedge_has_its_closed_form_volume_and_slopes_to_its_side(side, edge):
    said = {"box": "0..600 x 0..500 x 0..800", "low-side": side, "edge-height": edge}
    solid = built(parts=[{"name": "ramp", "wedge": said}]).parts[0].solid
    assert_sound(solid)
    assert solid.volume[0] == pytest.approx(600 * 500 * (800 + edge) / 2)
    axis, least = {"front": (1, True), "back": (1, False), "left": (0, True), "right": (0, False)}[
        side
    ]
    at = solid.corners[0][:, axis]
    on_side = np.isclose(at, at.min() if least else at.max())
    assert solid.corners[0][on_side, 2].max() == edge
    assert solid.corners[0][~on_side, 2].max() == 800


def test_a_wedge_that_does_not_slope_is_refused():
    said = {"box": "0..600 x 0..500 x 0..800", "low-side": "front", "edge-height": 800}
    with pytest.raises(GeometryError, match="not below"):
        built(parts=[{"name": "ramp", "wedge": said}])


def test_a_zone_on_meeting_sides_takes_in_the_corners():
    shape = built(body="1800 x 700 x 10", zone={"front": 600, "back": 600, "left": 500, "right": 1})
    boxes = {
        (*z.polygon[0].min(axis=0).tolist(), *z.polygon[0].max(axis=0).tolist())
        for z in shape.zones
    }
    assert boxes == {
        (0.0, -600.0, 1800.0, 0.0),
        (0.0, 700.0, 1800.0, 1300.0),
        (-500.0, -600.0, 0.0, 1300.0),
        (1800.0, -600.0, 1801.0, 1300.0),
    }


def test_a_zone_may_be_slid_along_the_item():
    shape = built(body="1000 x 600 x 900", zone={"front": 700, "width": 300, "shift": 650})
    assert shape.zones[0].polygon[0].min(axis=0).tolist() == [650.0, -700.0]
    assert shape.zones[0].polygon[0].max(axis=0).tolist() == [950.0, 0.0]
    assert shape.zones[0].headroom is None


SIDES = {
    "front": ([0.0, 0.0], [1.0, 0.0], [0.0, -1.0]),
    "right": ([1000.0, 0.0], [0.0, 1.0], [1.0, 0.0]),
    "back": ([1000.0, 600.0], [-1.0, 0.0], [0.0, 1.0]),
    "left": ([0.0, 600.0], [0.0, -1.0], [-1.0, 0.0]),
}


def turned(motion, angle: float) -> np.ndarray:
    """Corners turned about the axis, by the matrix of a right-handed turn."""
    k = np.array(motion.axis)
    cross = np.array([[0, -k[2], k[1]], [k[2], 0, -k[0]], [-k[1], k[0], 0]])
    matrix = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    local = motion.solid.corners[0] - motion.turn_about[0]
    return local @ matrix.T + motion.turn_about[0]


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("hinge", ["left", "right"])
def test_a_leaf_on_any_side_swings_out_in_front_of_it(side, hinge):
    start, along, out = (np.array(v) for v in SIDES[side])
    said = {"name": "d", "kind": "leaf", "side": side, "hinge": hinge, "width": 400, "shift": 100}
    motion = built(body="1000 x 600 x 900", motions=[said]).motions[0]
    hinged = 100.0 if hinge == "left" else 500.0
    assert motion.turn_about[0, :2].tolist() == (start + hinged * along).tolist()
    edge = (100.0, 120.0) if hinge == "left" else (480.0, 500.0)
    for angle, (low, high) in ((0.0, (100.0, 500.0)), (90.0, edge)):
        plan = turned(motion, math.radians(angle))[:, :2] - start
        a, o = plan @ along, plan @ out
        assert [a.min(), a.max()] == pytest.approx([low, high])
        assert [o.min(), o.max()] == pytest.approx([0.0, 400.0] if angle else [-20.0, 0.0])


@pytest.mark.parametrize("side", SIDES)
def test_a_flap_drops_forward_and_an_overhead_panel_goes_in(side):
    start, _, out = (np.array(v) for v in SIDES[side])
    flap = {"name": "f", "kind": "flap", "side": side, "low": 100, "height": 500}
    panel = {"name": "p", "kind": "overhead", "side": side, "thickness": 40}
    shape = built(body="1000 x 600 x 900", motions=[flap, panel])
    dropped = turned(shape.motions[0], math.pi / 2)
    o = (dropped[:, :2] - start) @ out
    assert [o.min(), o.max()] == pytest.approx([0.0, 500.0], abs=1e-9)
    assert [dropped[:, 2].min(), dropped[:, 2].max()] == pytest.approx([100.0, 120.0])
    swung = turned(shape.motions[1], math.pi / 2)
    o = (swung[:, :2] - start) @ out
    assert [o.min(), o.max()] == pytest.approx([-940.0, -40.0])
    assert [swung[:, 2].min(), swung[:, 2].max()] == pytest.approx([860.0, 900.0])


@pytest.mark.parametrize("hinge", SIDES)
def test_a_lid_stands_up_over_its_hinge(hinge):
    start, _, out = (np.array(v) for v in SIDES[hinge])
    said = {"name": "lid", "kind": "lid", "hinge": hinge, "thickness": 30}
    motion = built(body="1000 x 600 x 900", motions=[said]).motions[0]
    reach = 600.0 if hinge in {"front", "back"} else 1000.0
    up = turned(motion, math.pi / 2)
    o = (up[:, :2] - start) @ out
    assert [o.min(), o.max()] == pytest.approx([-30.0, 0.0], abs=1e-9)
    assert [up[:, 2].min(), up[:, 2].max()] == pytest.approx([900.0, 900.0 + reach])


def test_a_drawer_slides_out_of_its_side_and_a_top_rises():
    drawer = {"name": "d", "kind": "drawer", "side": "left", "travel": 350, "needs": 300}
    top = {"name": "t", "kind": "rise", "low": 620, "travel": 650, "thickness": 30}
    shape = built(body="1000 x 600 x 740", motions=[drawer, top])
    assert shape.motions[0].slide.tolist() == [[-350.0, 0.0, 0.0]]
    assert (shape.motions[0].full.tolist(), shape.motions[0].needs) == ([350.0], 300.0)
    assert shape.motions[1].slide.tolist() == [[0.0, 0.0, 650.0]]
    assert shape.motions[1].solid.low[0].tolist() == [0.0, 0.0, 590.0]
    assert shape.motions[1].solid.high[0].tolist() == [1000.0, 600.0, 620.0]


@pytest.mark.parametrize(
    "said",
    [
        {"name": "d", "kind": "drawer"},
        {"name": "d", "kind": "leaf", "hinge": "back"},
        {"name": "d", "kind": "leaf", "angle": 0},
        {"name": "d", "kind": "flap", "angle": 300},
    ],
)
def test_motions_that_cannot_be_are_refused(said):
    with pytest.raises(ValidationError):
        item(body="1 x 1 x 1", motions=[said])
