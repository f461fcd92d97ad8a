"""Tests for the OBJ and MTL text itself; what readers see is in test_round_trip."""

from __future__ import annotations

import numpy as np
import pytest

from massing.handover.model import Material, Model, Node
from massing.handover.names import name_model
from massing.handover.obj.file import mtl_text, obj_text, write
from tests.handover.models import box_part, workshop
from tests.handover.round_trip import named_parts


def lines(text, key):
    return [line.split()[1:] for line in text.splitlines() if line.split()[:1] == [key]]


def test_unit_and_axis_are_in_the_comment_and_the_unit_in_the_name(tmp_path):
    obj, mtl = write(workshop(), tmp_path / "boat house.obj")

    assert (obj.name, mtl.name) == ("boat house_mm.obj", "boat_house_mm.mtl")
    head = obj.read_text().splitlines()[:4]
    assert head == [
        "# Ternholt_slip",
        "# unit: millimetre",
        "# up: +Z, right-handed (x, y, z as in the room)",
        "mtllib boat_house_mm.mtl",
    ]


def test_names_are_those_of_the_other_formats():
    """One ``o`` a part in file order; ``g`` says group, item and leaf; ``usemtl`` its look."""
    text, mtl = obj_text(workshop(), "a.mtl")
    looks = name_model(workshop()).materials

    assert [row[0] for row in lines(text, "o")] == [name for name, _ in named_parts(workshop())]
    assert lines(text, "g")[2] == ["kept", "Wascher", "Wascher_door"]
    expected = [[looks[part.material]] for _, part in named_parts(workshop())]
    assert lines(text, "usemtl") == expected
    assert [row[0] for row in lines(mtl, "newmtl")] == list(looks.values())
    assert text.isascii()
    assert mtl.isascii()


def test_colours_are_screen_shares_and_alpha_is_d():
    """Kd times 255 is the colour as written, without any curve."""
    text = mtl_text({Material("a", "#56B4E9", alpha=0.25): "a"})

    assert [round(float(v) * 255) for v in lines(text, "Kd")[0]] == [0x56, 0xB4, 0xE9]
    assert lines(text, "d") == [["0.25"]]


def test_numbers_refer_to_lines_already_written_from_1():
    """Every v/vt/vn exists, and its normal is the face's own, by the plane through its corners."""
    text, _ = obj_text(workshop(), "a.mtl")
    held = {"v": [], "vt": [], "vn": []}
    faces = 0
    for line in text.splitlines():
        key, *rest = line.split() or [""]
        if key in held:
            held[key].append([float(value) for value in rest])
        if key != "f":
            continue
        faces += 1
        corners = [[int(n) for n in corner.split("/")] for corner in rest]
        for corner in corners:
            for number, key_ in zip(corner, ("v", "vt", "vn"), strict=True):
                assert 1 <= number <= len(held[key_])
        points = np.array([held["v"][c[0] - 1] for c in corners])
        (normal,) = {tuple(held["vn"][c[2] - 1]) for c in corners}
        flat = sum(
            np.cross(points[k] - points[0], points[k + 1] - points[0])
            for k in range(1, len(points) - 1)
        )
        np.testing.assert_allclose(flat / np.linalg.norm(flat), normal, atol=2e-6)
        texture = np.array([held["vt"][c[1] - 1] for c in corners])
        np.testing.assert_allclose(
            np.linalg.norm(np.diff(texture, axis=0), axis=1),
            np.linalg.norm(np.diff(points, axis=0), axis=1) / 1000.0,
            atol=3e-6,
        )
    assert faces > 70


def test_walls_have_their_texture_upright():
    """OBJ counts v upwards, so on an upright face v is the height in metres."""
    text, _ = obj_text(Model("m", (Node("n", (box_part("b", (0, 0, 0), (9, 9, 800)),)),)), "a.mtl")

    assert {row[1] for row in lines(text, "vt")} >= {"0", "0.8"}


def test_whole_faces_stay_polygons():
    """A box is six quads, which is what one edits; only a face no fan covers is cut up.

    The L's upper face starts at a corner that does not see all of it, its lower face at one that
    does.
    """
    text, _ = obj_text(workshop(), "a.mtl")
    sizes = {}
    for block in text.split("\no ")[1:]:
        name = block.split("\n", 1)[0]
        sizes[name] = sorted(len(row) for row in lines(block, "f"))

    assert sizes["chest_carcass"] == [4] * 6
    assert sizes["bin_body"] == [4] * 12 + [12] * 2
    assert sizes["item_ell_bench"] == [3] * 4 + [4] * 6 + [6]


@pytest.mark.parametrize("value", [1e-7, -1e-7, 0.0, -0.0])
def test_no_minus_zero_and_no_exponent(value):
    text, _ = obj_text(
        Model("m", (Node("n", (box_part("b", (value, 0, 0), (1e-3, 9e5, 9)),)),)), "a.mtl"
    )

    assert "e-" not in text
    assert " -0 " not in text
    assert ["0", "0", "0"] in lines(text, "v")
