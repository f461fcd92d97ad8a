"""Tests for drawing bodies in, so that touching faces do not flicker."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.geometry.solids import hull, prism
from massing.handover.inset import inset_model, inset_part
from massing.handover.model import Material, MeshPart, Model, Node, every_part
from massing.handover.rings import area_vectors, ring_pattern
from tests.handover.models import box_part, ell_part, shell_part, solid_part, workshop


def planes(part):
    """(r, 3) outward unit normals and (r,) how far along them each face lies."""
    pattern = ring_pattern(part.rings)
    points = part.vertices[pattern.corners]
    vectors = area_vectors(points, pattern.starts, pattern.ring_of, pattern.following)
    normals = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    return normals, (points[pattern.starts] * normals).sum(axis=1)


def assert_every_face_moved(part, smaller, by):
    """The strongest claim: same normals, and each plane lies exactly ``by`` further in."""
    before, after = planes(part), planes(smaller)
    np.testing.assert_allclose(after[0], before[0], atol=1e-7)
    np.testing.assert_allclose(before[1] - after[1], by, atol=1e-6)


@settings(deadline=None)
@given(
    st.lists(st.integers(0, 359), min_size=3, max_size=9, unique=True),
    st.floats(0.01, 2.0),
)
def test_every_face_of_a_prism_moves_by_the_same(degrees, by):
    """Right prisms over any ring cut from a circle; a body too thin is left alone instead."""
    angles = np.radians(sorted(degrees))
    ring = np.stack([np.cos(angles), np.sin(angles)], axis=1) * 400
    part = solid_part("p", prism(ring, 100, 500))
    smaller = inset_part(part, by)
    sides = np.linalg.norm(ring - np.roll(ring, -1, axis=0), axis=1)
    across, along = ring.T
    area = abs(across @ np.roll(along, -1) - along @ np.roll(across, -1)) / 2.0
    if smaller is not None:
        assert_every_face_moved(part, smaller, by)
    else:
        # a triangle keeps its three sides as long as the circle inside it is larger than the step
        assert len(degrees) > 3 or 2.0 * area / sides.sum() < by * 1.001


def test_an_inner_corner_moves_outwards_of_the_notch():
    """The L is not convex: its walls at the notch move into the body too."""
    part = ell_part()
    smaller = inset_part(part, 0.5)

    assert_every_face_moved(part, smaller, 0.5)
    x0, y0 = 600 - 0.5, 600 - 0.5
    assert any(np.allclose(v[:2], (x0, y0)) for v in smaller.vertices)


def test_what_cannot_be_drawn_in_is_left_alone():
    """An open surface, a body thinner than twice the inset, a corner of more than three planes."""
    apex = solid_part("hull", hull(np.random.default_rng(5).normal(size=(30, 3)) * 100))

    assert inset_part(shell_part(), 0.5) is None
    assert inset_part(box_part("veneer", (0, 0, 0), (100, 100, 0.9)), 0.5) is None
    assert inset_part(apex, 0.5) is None


def test_touching_bodies_come_apart_by_twice_the_inset():
    left = inset_part(box_part("a", (0, 0, 0), (100, 100, 100)), 0.5)
    right = inset_part(box_part("b", (100, 0, 0), (200, 100, 100)), 0.5)

    assert right.vertices[:, 0].min() - left.vertices[:, 0].max() == pytest.approx(1.0)


def test_the_model_says_what_was_drawn_in_and_what_was_not():
    """Notes carry the inset; parts keep names, looks and order; the given model is untouched."""
    model = workshop()
    veneer = box_part("veneer", (0, 0, 0), (100, 100, 0.5))
    model = Model("m", (*model.nodes, Node("x", (veneer,))), notes={"client": "dyer"})
    before = [part.vertices.copy() for part in every_part(model)]
    smaller = inset_model(model, 0.5)

    assert smaller.notes == {
        "client": "dyer",
        "inset_mm": 0.5,
        "inset_left_alone": "stone, veneer",
    }
    assert [p.name for p in every_part(smaller)] == [p.name for p in every_part(model)]
    assert all(
        np.array_equal(old, part.vertices)
        for old, part in zip(before, every_part(model), strict=True)
    )


def test_triangulated_faces_in_one_plane_stay_in_one_plane():
    """A box of triangles moves as the box does: equal planes meet at a corner without harm."""
    box = box_part("b", (0, 0, 0), (300, 200, 100))
    triangles = tuple(
        (ring[0], ring[k], ring[k + 1]) for ring in box.rings for k in range(1, len(ring) - 1)
    )
    part = MeshPart("b", box.vertices, triangles, Material("m", "#123456"))
    smaller = inset_part(part, 0.5)

    assert_every_face_moved(part, smaller, 0.5)
    np.testing.assert_allclose(smaller.vertices, inset_part(box, 0.5).vertices, atol=1e-9)
