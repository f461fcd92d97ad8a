"""Tests for the plain data a writer takes: what it refuses, and how it says so."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.errors import GeometryError, InputError
from massing.geometry.solids import box
from massing.handover.model import (
    Camera,
    Material,
    MeshPart,
    Model,
    Motion,
    Node,
    bounds,
    every_part,
    resting_point,
)
from tests.handover.models import OAK, box_part, workshop

CUBE = box([0, 0, 0], [100, 100, 100])
CORNERS = CUBE.corners[0]
RINGS = CUBE.faces.rings


def part(vertices=CORNERS, rings=RINGS, **more):
    return MeshPart("cube 7", vertices, rings, OAK, **more)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_coordinate_that_is_no_number_is_refused_with_the_name(bad):
    corners = CORNERS.copy()
    corners[3, 1] = bad
    with pytest.raises(GeometryError, match="part 'cube 7': a coordinate is not a finite number"):
        part(corners)


def test_a_face_without_area_is_refused_with_the_name():
    """A box of no height: its four walls have no area."""
    with pytest.raises(GeometryError, match="part 'cube 7': face 2 has no area"):
        part(CORNERS * (1, 1, 0))


@pytest.mark.parametrize("thin", [1e-3, 1.0])
def test_thin_bodies_are_kept(thin):
    """A veneer is a body; only nothing at all is refused."""
    assert part(CORNERS * (1, 1, thin / 100)).vertices[:, 2].max() == thin


def test_a_bent_face_is_refused():
    corners = CORNERS.copy()
    corners[6, 2] += 0.1
    with pytest.raises(GeometryError, match="face 1 is not flat"):
        part(corners)


@pytest.mark.parametrize("drop", range(6))
def test_a_body_with_a_hole_is_refused_unless_open(drop):
    rings = RINGS[:drop] + RINGS[drop + 1 :]
    with pytest.raises(GeometryError, match="is not used once each way"):
        part(rings=rings)
    assert len(part(rings=rings, open=True).rings) == 5


@pytest.mark.parametrize("turn", range(6))
def test_one_face_the_wrong_way_round_is_refused(turn):
    rings = tuple(r[::-1] if n == turn else r for n, r in enumerate(RINGS))
    with pytest.raises(GeometryError, match="is not used once each way"):
        part(rings=rings)


def test_a_body_inside_out_is_refused():
    with pytest.raises(GeometryError, match="look inwards"):
        part(rings=tuple(ring[::-1] for ring in RINGS))


@pytest.mark.parametrize(
    ("vertices", "rings", "says"),
    [
        (np.zeros((4, 2)), RINGS, r"shape \(4, 2\)"),
        (CORNERS, (), "no faces"),
        (CORNERS, ((0, 1),), "not a ring"),
        (CORNERS, ((0, 1, 2, 1),), "not a ring"),
        (CORNERS, ((0, 1, 8),), "outside 0 to 7"),
        (CORNERS, ((0, 1, -1),), "outside 0 to 7"),
    ],
)
def test_malformed_meshes_are_refused(vertices, rings, says):
    with pytest.raises(GeometryError, match=says):
        part(vertices, rings)


def test_vertices_are_a_read_only_copy():
    """The part cannot be changed through the array it was made from, nor through its own."""
    corners = CORNERS.copy()
    made = part(corners)
    corners[:] = 0.0

    assert made.vertices.max() == 100.0
    with pytest.raises(ValueError, match="read-only"):
        made.vertices[0, 0] = 1.0


def test_rings_may_be_given_as_lists_or_an_array():
    """They are kept as tuples, which is what makes equal patterns share their index arrays."""
    assert part(rings=[list(ring) for ring in RINGS]).rings == RINGS
    assert part(rings=np.array(RINGS)).rings == RINGS


@pytest.mark.parametrize("colour", ["", "56B4E9", "#56B4E", "#56B4EG", "red", "#56B4E9\n"])
def test_colours_are_written_in_full(colour):
    with pytest.raises(InputError, match="not written #RRGGBB"):
        Material("m", colour)


@pytest.mark.parametrize("share", [-0.1, 1.1, math.nan])
def test_shares_lie_between_0_and_1(share):
    with pytest.raises(InputError, match="between 0 and 1"):
        Material("m", "#000000", alpha=share)


@pytest.mark.parametrize("value", [[1, 2], {"a": 1}, None, math.nan, math.inf])
def test_extras_are_flat_and_finite(value):
    with pytest.raises(InputError, match="extra 'size_mm' is"):
        Node("n", extras={"size_mm": value})
    with pytest.raises(InputError, match="extra 'size_mm' is"):
        Model("m", notes={"size_mm": value})


def test_a_turning_node_has_its_pivot_on_the_hinge_line():
    """Anywhere along the line will do; beside it is refused."""
    swing = Motion("swing", "turn", (0, 0, 2), (100, 200, 0), 0.0, 1.0)

    assert Node("door", pivot=(100, 200, 900), motion=swing).origin == (100, 200, 900)
    assert Node("door", motion=swing).origin == (100, 200, 0)
    with pytest.raises(GeometryError, match="node 'door': the pivot is off the hinge line"):
        Node("door", pivot=(100, 201, 0), motion=swing)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"kind": "fold"}, "neither turn nor slide"),
        ({"axis": (0, 0, 0)}, "no length"),
        ({"stop": math.nan}, "not finite"),
        ({"origin": (0, math.inf, 0)}, "not finite"),
    ],
)
def test_motions_that_cannot_be_are_refused(change, says):
    good = {"kind": "turn", "axis": (0, 0, 1), "origin": (0, 0, 0), "start": 0.0, "stop": 1.0}
    with pytest.raises(GeometryError, match=says):
        Motion("m", **(good | change))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({}, "either yfov or height"),
        ({"yfov": 1.0, "height": 1.0}, "either yfov or height"),
        ({"yfov": 4.0}, "below pi"),
        ({"yfov": 1.0, "near": 0.0}, "near above 0"),
        ({"height": -1.0}, "not positive"),
        ({"height": 1.0, "near": 5.0, "far": 5.0}, "near is not before far"),
        ({"height": 1.0, "up": (0, 3, 0)}, "up lies along the view"),
        ({"height": 1.0, "target": (0, 0, 0)}, "no direction"),
        ({"height": 1.0, "eye": (math.nan, 0, 0)}, "not finite"),
    ],
)
def test_cameras_that_see_nothing_are_refused(change, says):
    with pytest.raises(GeometryError, match=says):
        Camera("c", **({"eye": (0, 0, 0), "target": (0, 1000, 0)} | change))


def test_bounds_leave_out_vertices_no_face_uses():
    """A stray point would stretch the bounds past anything a reader sees."""
    stray = part(np.vstack([CORNERS, [[9e3, 9e3, 9e3]]]))

    assert bounds(Model("m", (Node("n", (stray,)),))) == ((0, 0, 0), (100, 100, 100))


def test_bounds_cover_every_level_of_the_tree():
    model = workshop()

    assert bounds(model) == ((0.0, 0.0, 0.0), (6000.0, 2400.0, 2750.0))
    assert len(every_part(model)) == 14


def test_a_resting_point_is_under_the_middle():
    parts = (box_part("a", (0, 0, 150), (100, 300, 900)), box_part("b", (0, 0, 900), (200, 9, 950)))

    assert resting_point(parts) == (100.0, 150.0, 150.0)
    with pytest.raises(GeometryError, match="no parts"):
        resting_point(())
