"""Tests for what a glTF scene says, read straight from its JSON and buffer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from massing.handover.gltf.scene import document
from massing.handover.model import Camera, Material, MeshPart, Model, Motion, Node
from massing.handover.registry import write
from tests.handover.models import OAK, box_part, shell_part, workshop
from tests.handover.round_trip import read_vtk, vtk_gltf_leaves
from tests.handover.validator import validate

_TYPES = {5123: "<u2", 5125: "<u4", 5126: "<f4"}
_WIDTH = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}


def array(found, buffer, number):
    """An accessor's values, by the specification's own arithmetic."""
    accessor = found["accessors"][number]
    view = found["bufferViews"][accessor["bufferView"]]
    start = view["byteOffset"] + accessor["byteOffset"]
    kind, width = np.dtype(_TYPES[accessor["componentType"]]), _WIDTH[accessor["type"]]
    assert start % kind.itemsize == 0
    count = accessor["count"] * width
    assert accessor["byteOffset"] + count * kind.itemsize <= view["byteLength"]
    return np.frombuffer(buffer, kind, count, start).reshape(-1, width)


def primitives(found):
    return [mesh["primitives"][0] for mesh in found["meshes"]]


def node(found, name):
    return next(entry for entry in found["nodes"] if entry["name"] == name)


@pytest.mark.parametrize("name", ["room.glb", "room.gltf"])
@pytest.mark.parametrize("inset", [0.0, 0.5])
def test_the_published_validator_finds_nothing_but_unused_texture_places(name, inset, tmp_path):
    """No error, warning or hint; the one info says UVs have no texture yet, which is so."""
    issues = validate(write(workshop(), tmp_path / name, inset=inset)[0])

    counts = [issues[key] for key in ("numErrors", "numWarnings", "numHints")]
    assert counts == [0, 0, 0], issues["messages"]
    assert {message["code"] for message in issues["messages"]} <= {"UNUSED_OBJECT"}
    assert all(message["pointer"].endswith("/TEXCOORD_0") for message in issues["messages"])


def test_the_validator_sees_a_planted_fault(tmp_path):
    """A wrong stored maximum is an error, so a clean report means something."""
    place = write(workshop(), tmp_path / "room.gltf")[0]
    place.write_bytes(place.read_bytes().replace(b'"max":[', b'"max":[9', 1))

    assert validate(place)["numErrors"] > 0


def test_an_empty_model_is_valid(tmp_path):
    issues = validate(write(Model("bare"), tmp_path / "bare.glb")[0])

    assert issues["messages"] == []


def test_position_limits_are_the_stored_single_floats():
    """Min and max match the stored values exactly (glTF 2.0 specification, "Accessors Bounds")."""
    found, buffer = document(workshop())
    for primitive in primitives(found):
        number = primitive["attributes"]["POSITION"]
        points = array(found, buffer, number)
        assert found["accessors"][number]["min"] == points.min(axis=0).tolist()
        assert found["accessors"][number]["max"] == points.max(axis=0).tolist()


def test_views_carry_targets_and_strides():
    """Vertex views 34962 with a stride, index views 34963 without, animation views neither."""
    found, _ = document(workshop())
    roles = {}
    for primitive in primitives(found):
        for number in primitive["attributes"].values():
            roles[found["accessors"][number]["bufferView"]] = (34962, True)
        roles[found["accessors"][primitive["indices"]]["bufferView"]] = (34963, False)

    for number, view in enumerate(found["bufferViews"]):
        target, strided = roles.get(number, (None, False))
        assert (view.get("target"), "byteStride" in view) == (target, strided)
        assert view["byteOffset"] % 4 == 0


def test_every_triangle_faces_the_way_its_corners_say():
    """The stored normal is the triangle's own, exactly flat, on every corner of it."""
    found, buffer = document(workshop())
    for primitive in primitives(found):
        points = array(found, buffer, primitive["attributes"]["POSITION"]).astype(float)
        normals = array(found, buffer, primitive["attributes"]["NORMAL"]).astype(float)
        corners = array(found, buffer, primitive["indices"])[:, 0].reshape(-1, 3)
        a, b, c = (points[corners[:, k]] for k in range(3))
        flat = np.cross(b - a, c - a)
        flat /= np.linalg.norm(flat, axis=1)[:, None]
        for k in range(3):
            np.testing.assert_allclose(normals[corners[:, k]], flat, atol=2e-4)
        np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1.0, atol=1e-6)


def test_texture_places_are_at_one_unit_a_metre():
    """Along each triangle a step in UV is as long as the step in metres, and never mirrored."""
    found, buffer = document(workshop())
    for primitive in primitives(found):
        points = array(found, buffer, primitive["attributes"]["POSITION"]).astype(float)
        texture = array(found, buffer, primitive["attributes"]["TEXCOORD_0"]).astype(float)
        corners = array(found, buffer, primitive["indices"])[:, 0].reshape(-1, 3)
        for k, m in ((0, 1), (1, 2), (2, 0)):
            step = points[corners[:, m]] - points[corners[:, k]]
            uv = texture[corners[:, m]] - texture[corners[:, k]]
            np.testing.assert_allclose(
                np.linalg.norm(uv, axis=1), np.linalg.norm(step, axis=1), atol=2e-5
            )
        a, b, c = (texture[corners[:, k]] * (1, -1) for k in range(3))
        (u1, v1), (u2, v2) = (b - a).T, (c - a).T
        assert (u1 * v2 - v1 * u2 > 0).all()


def test_walls_have_their_texture_upright():
    """On a wall v falls as the height rises, since glTF counts v downwards."""
    found, buffer = document(workshop())
    primitive = primitives(found)[node(found, "shell_room")["mesh"]]
    points = array(found, buffer, primitive["attributes"]["POSITION"])
    texture = array(found, buffer, primitive["attributes"]["TEXCOORD_0"])
    walls = np.abs(array(found, buffer, primitive["attributes"]["NORMAL"])[:, 1]) < 0.5

    np.testing.assert_allclose(texture[walls][:, 1], -points[walls][:, 1], atol=1e-6)


def test_floors_have_their_texture_along_the_room():
    """Seen from above, u runs with room x (+X) and the picture's top is the room's back (-Z)."""
    found, buffer = document(workshop())
    primitive = primitives(found)[node(found, "shell_room")["mesh"]]
    points = array(found, buffer, primitive["attributes"]["POSITION"])
    texture = array(found, buffer, primitive["attributes"]["TEXCOORD_0"])
    floor = array(found, buffer, primitive["attributes"]["NORMAL"])[:, 1] > 0.5

    assert floor.sum() == 4
    np.testing.assert_allclose(texture[floor], points[floor][:, [0, 2]], atol=1e-6)


def test_axes_are_turned_not_mirrored(tmp_path):
    """Room (x, y, z) mm lands at (x, z, -y) m, seen by a reader that knows nothing of rooms."""
    part = box_part("post", (100, 200, 300), (110, 220, 330))
    place = write(Model("m", (Node("n", (part,)),)), tmp_path / "m.glb")[0]

    bounds = vtk_gltf_leaves(place)["n_post"].GetBounds()
    np.testing.assert_allclose(bounds, (0.1, 0.11, 0.3, 0.33, -0.22, -0.2), atol=1e-7)


def test_no_node_above_the_items_is_moved():
    """The scene's own nodes have no transform, so nothing is turned or scaled on import."""
    found, _ = document(workshop())
    tops = [found["nodes"][n] for n in found["scenes"][0]["nodes"]]

    moved = {"translation", "rotation", "scale", "matrix"}
    assert [top["name"] for top in tops if moved & set(top)] == ["eye", "plan", "section"]


def test_the_tree_is_group_item_part_and_empty_groups_are_left_out():
    found, _ = document(workshop())

    def tree(number):
        entry = found["nodes"][number]
        return {entry["name"]: [tree(child) for child in entry.get("children", ())]}

    kept = tree(found["scenes"][0]["nodes"][1])
    assert kept == {
        "kept": [
            {
                "Wascher": [
                    {"Wascher_body": []},
                    {"Wascher_door": [{"Wascher_door_leaf": []}, {"Wascher_door_handle": []}]},
                ]
            },
            {"item": [{"item_ell_bench": []}]},
        ]
    }
    assert "voids" not in {entry["name"] for entry in found["nodes"]}


def test_names_are_plain_and_once_and_the_written_name_is_kept():
    found, _ = document(workshop())
    names = [entry["name"] for entry in found["nodes"]]

    assert len(set(names)) == len(names)
    assert all(name.isascii() and " " not in name for name in names)
    assert node(found, "Wascher_2")["extras"] == {"name_as_written": "Wäscher", "weight_kg": 61.5}


def test_extras_are_flat():
    """Some importers stop at a list among the extras."""
    found, _ = document(workshop())

    def extras(value):
        if isinstance(value, dict):
            for key, inner in value.items():
                if key == "extras":
                    yield inner
                yield from extras(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from extras(inner)

    every = list(extras(found))
    assert len(every) > 20
    assert all(isinstance(v, (str, bool, int, float)) for flat in every for v in flat.values())


def test_materials_are_one_a_kind_linear_blended_and_two_sided_where_open():
    found, _ = document(workshop())
    by_name = {entry["name"]: entry for entry in found["materials"]}

    assert list(by_name) == ["plaster", "oak_carcass", "door", "handle", "zone"]
    assert [name for name, m in by_name.items() if m.get("alphaMode") == "BLEND"] == ["zone"]
    assert [name for name, m in by_name.items() if m["doubleSided"]] == ["plaster"]
    red, green, blue, alpha = by_name["door"]["pbrMetallicRoughness"]["baseColorFactor"]
    shares = [12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055
              for c in (red, green, blue)]  # fmt: skip
    assert [round(c * 255) for c in shares] == [0x56, 0xB4, 0xE9]
    assert alpha == 1.0


def test_a_look_on_a_body_and_on_an_open_surface_gets_two_slots():
    wall = replace(shell_part(), material=OAK)
    found, _ = document(Model("m", (Node("n", (box_part("b", (0, 0, 0), (9, 9, 9)), wall)),)))

    assert [(m["name"], m["doubleSided"]) for m in found["materials"]] == [
        ("oak_carcass", False),
        ("oak_carcass_two_sided", True),
    ]


def test_equal_bodies_standing_apart_share_one_mesh():
    """Moved copies are one mesh; a copy in another colour shares the numbers, not the mesh."""
    red = Material("red", "#FF0000")

    def item(x, look=OAK):
        part = box_part("b", (x, 7, 0), (x + 333.3, 470.1, 850), look)
        return Node("box", (part,), pivot=(x, 7.0, 0.0))

    xs = (0.1, 1234.567, 2600.3)
    found, buffer = document(Model("m", (Node("kept", (), (*map(item, xs), item(4000.9, red))),)))

    assert len(found["meshes"]) == 2
    assert len({primitive["attributes"]["POSITION"] for primitive in primitives(found)}) == 1
    assert len(found["accessors"]) == 4
    assert len(buffer) == 24 * (12 + 12 + 8) + 36 * 2


def test_a_body_at_its_own_pivot_starts_at_zero_whatever_the_sums_left_over():
    """0.1 + 0.2 is not 0.3: without rounding the leftover 5.6e-17 mm would unshare the mesh."""
    nodes = [
        Node("a", (box_part("b", (0.1 + 0.2, 0, 0), (9.3, 9, 9)),), pivot=(0.3, 0.0, 0.0)),
        Node("a", (box_part("b", (0, 0, 0), (9, 9, 9)),), pivot=(0.0, 0.0, 0.0)),
    ]
    found, _ = document(Model("m", tuple(nodes)))

    assert len(found["meshes"]) == 1
    assert found["accessors"][0]["min"] == [0.0, 0.0, found["accessors"][0]["min"][2]]


def test_views_after_an_odd_number_of_triangles_are_still_aligned(tmp_path):
    """Three 16-bit corners are 6 bytes, so what follows needs padding."""
    flap = MeshPart(
        "f", np.array([[0, 0, 0], [9, 0, 0], [0, 9.0, 0]]), ((0, 1, 2),), OAK, open=True
    )
    motion = Motion("m", "turn", (1, 0, 0), (0, 0, 0), 0.0, 1.0)
    model = Model("m", (Node("n", (flap,), motion=motion),))
    found, _ = document(model)

    assert 6 in [view["byteLength"] for view in found["bufferViews"]]
    assert [view["byteOffset"] % 4 for view in found["bufferViews"]] == [0] * 6
    assert validate(write(model, tmp_path / "m.glb")[0])["numErrors"] == 0


def test_large_meshes_use_32_bit_corners_and_small_ones_16():
    side = 128
    grid = [(x, y, 0.0) for y in range(side + 1) for x in range(side + 1)]
    quads = tuple(
        (k, k + 1, k + side + 2, k + side + 1)
        for y in range(side)
        for k in range(y * (side + 1), y * (side + 1) + side)
    )
    sheet = MeshPart("sheet", np.array(grid), quads, OAK, open=True)
    small = box_part("b", (0, 0, 0), (9, 9, 9))
    found, buffer = document(Model("m", (Node("n", (sheet, small)),)))

    kinds = [found["accessors"][p["indices"]]["componentType"] for p in primitives(found)]
    assert kinds == [5125, 5123]
    assert array(found, buffer, primitives(found)[0]["indices"]).max() == 4 * side**2 - 1


def test_a_door_node_sits_on_its_hinge_and_a_drawer_on_its_slide():
    found, _ = document(workshop())

    seat = np.add(node(found, "Wascher")["translation"], node(found, "Wascher_door")["translation"])
    np.testing.assert_allclose(seat, (0.24, 0.0, -0.5), atol=1e-9)
    assert node(found, "chest_drawer")["translation"] == [3.32, 0.2, -0.02]
    assert node(found, "chest_drawer")["children"] != node(found, "chest_drawer_2")["children"]
    assert node(found, "chest_drawer_box")["mesh"] == node(found, "chest_drawer_2_box")["mesh"]


def test_one_animation_a_motion_named_after_it():
    found, buffer = document(workshop())

    assert [entry["name"] for entry in found["animations"]] == [
        "Wascher_opens",
        "Wascher_opens_2",
        "drawer_pulls",
        "drawer_pulls_2",
    ]
    for entry in found["animations"]:
        (sampler,) = entry["samplers"]
        times = array(found, buffer, sampler["input"])[:, 0]
        limits = found["accessors"][sampler["input"]]
        assert (limits["min"], limits["max"]) == ([0.0], [1.0])
        assert (np.diff(times) > 0).all()
        values = array(found, buffer, sampler["output"])
        assert len(values) == len(times)
        if entry["channels"][0]["target"]["path"] == "rotation":
            np.testing.assert_allclose(np.linalg.norm(values, axis=1), 1.0, atol=1e-6)
            # neighbours on the same side and at most 15 degrees apart: no short cut is possible
            assert ((values[1:] * values[:-1]).sum(axis=1) >= math.cos(math.radians(7.51))).all()


@pytest.mark.parametrize("time", [0.25, 0.5, 0.75, 1.0])
def test_another_library_swings_the_leaf_where_the_hinge_says(time, tmp_path):
    """VTK plays the file; the leaf's corners are turned by hand about the hinge (200 degrees)."""
    model = workshop()
    posed = read_vtk(write(model, tmp_path / "room.glb")[0], time)
    for item, name, swing in (
        (model.nodes[1].children[0], "Wascher_door_leaf", -math.radians(200.0)),
        (model.nodes[2].children[0], "Wascher_2_door_leaf", math.radians(95.0)),
    ):
        door = item.children[0]
        hinge = np.array(door.motion.origin)
        c, s = math.cos(swing * time), math.sin(swing * time)
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
        expected = (door.parts[0].vertices - hinge) @ turn.T + hinge
        points = posed[name][0]
        apart = np.linalg.norm(points[:, None] - expected[None], axis=2)
        assert apart.min(axis=1).max() < 5e-3
        assert apart.min(axis=0).max() < 5e-3


def test_another_library_pulls_the_drawers(tmp_path):
    model = workshop()
    posed = read_vtk(write(model, tmp_path / "room.glb")[0], 0.5)
    for name, low in (("chest_drawer_box", 200.0), ("chest_drawer_2_box", 450.0)):
        points = posed[name][0]
        np.testing.assert_allclose(points.min(axis=0), (3320, 20 + 190, low), atol=2e-3)


def rotated(quaternion, vector):
    """Turn a vector by x, y, z, w: v + 2w(q x v) + 2 q x (q x v)."""
    q, w = np.array(quaternion[:3]), quaternion[3]
    twice = 2.0 * np.cross(q, vector)
    return np.array(vector) + w * twice + np.cross(q, twice)


@pytest.mark.parametrize("seed", range(20))
def test_cameras_look_along_minus_z_with_y_up(seed):
    """The view is along local -Z with local +Y up (glTF 2.0 specification, "Cameras")."""
    rng = np.random.default_rng(seed)
    eye, target, up = (tuple(map(float, row)) for row in rng.normal(size=(3, 3)) * 1000)
    found, _ = document(Model("m", (), (Camera("c", eye, target, up, yfov=1.0),)))
    turn = found["nodes"][0]["rotation"]

    def y_up(v):
        return np.array((v[0], v[2], -v[1]))

    view = y_up(np.subtract(target, eye))
    view /= np.linalg.norm(view)
    np.testing.assert_allclose(rotated(turn, (0, 0, -1)), view, atol=1e-6)
    side = np.cross(view, y_up(up))
    side /= np.linalg.norm(side)
    np.testing.assert_allclose(rotated(turn, (1, 0, 0)), side, atol=1e-6)


def test_cameras_are_used_by_nodes_and_have_their_sizes():
    found, _ = document(workshop())

    used = [entry["camera"] for entry in found["nodes"] if "camera" in entry]
    assert used == [0, 1, 2]
    assert found["cameras"][0]["perspective"]["yfov"] == math.radians(60)
    plan = found["cameras"][1]["orthographic"]
    assert (plan["xmag"], plan["ymag"], plan["znear"], plan["zfar"]) == (2.25, 1.5, 0.01, 100.0)
    assert found["cameras"][2]["orthographic"]["znear"] == 0.0


def test_a_long_swing_has_more_keys_than_a_short_one():
    def count(angle):
        motion = Motion("m", "turn", (0, 0, 1), (0, 0, 0), 0.0, math.radians(angle))
        part = box_part("b", (0, 0, 0), (9, 9, 9))
        found, _ = document(Model("m", (Node("n", (part,), motion=motion),)))
        return found["accessors"][found["animations"][0]["samplers"][0]["input"]]["count"]

    assert [count(angle) for angle in (10, 15, 16, 90, -270, 360)] == [2, 2, 3, 7, 19, 25]
