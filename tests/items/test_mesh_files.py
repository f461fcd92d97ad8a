"""The readers of mesh files: what another library reads too, and what nobody should believe."""

from __future__ import annotations

import json
import resource
import struct

import numpy as np
import pytest
import trimesh

from massing.items.mesh import mesh_solids
from massing.items.mesh_glb import read_glb
from massing.items.mesh_obj import read_obj
from massing.items.mesh_stl import read_stl
from massing.items.mesh_surface import MOST_CORNERS, Surface
from massing.items.spec import MeshSpec
from tests.items.test_mesh import solid_of, surface, volume

CUBE = trimesh.creation.box((1, 1, 1))


def glb(table, data=b"", *, version=2, pad=True):
    """A GLB of this JSON and these bytes."""
    text = table if isinstance(table, bytes) else json.dumps(table).encode()
    if pad:
        text += b" " * (-len(text) % 4)
        data += b"\0" * (-len(data) % 4)
    body = struct.pack("<I4s", len(text), b"JSON") + text
    if data:
        body += struct.pack("<I4s", len(data), b"BIN\0") + data
    return struct.pack("<4sII", b"glTF", version, 12 + len(body)) + body


def cube_table(**node):
    """JSON and data of a GLB with one cube of one node."""
    corners = np.asarray(CUBE.vertices, dtype="<f4").tobytes()
    order = np.asarray(CUBE.faces, dtype="<u2").tobytes()
    return {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0, **node}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {
                "bufferView": 0,
                "componentType": 5126,
                "count": 8,
                "type": "VEC3",
                "min": [-0.5] * 3,
                "max": [0.5] * 3,
            },
            {"bufferView": 1, "componentType": 5123, "count": 36, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": 96},
            {"buffer": 0, "byteOffset": 96, "byteLength": 72},
        ],
        "buffers": [{"byteLength": 168}],
    }, corners + order


def corner_triples(soup):
    """(m, 9) the places of every triangle's corners, in an order of no meaning."""
    corners, triangles = soup
    rows = np.asarray(corners, dtype=float)[np.asarray(triangles)]
    first = np.lexsort(rows.transpose(2, 0, 1), axis=1)[:, 0]
    turned = np.stack([rows[np.arange(len(rows)), (first + k) % 3] for k in range(3)], axis=1)
    flat = turned.reshape(-1, 9)
    return flat[np.lexsort(np.round(flat, 5).T)]


def theirs(data, ending):
    """The same from another library."""
    mesh = trimesh.load_scene(
        trimesh.util.wrap_as_stream(data), file_type=ending, process=False
    ).to_mesh()
    return mesh.vertices, mesh.faces


def random_scene(seed):
    """A scene of several solids, each under a chain of turned, scaled, mirrored places."""
    rng = np.random.default_rng(seed)
    scene = trimesh.Scene()
    for k, name in enumerate(rng.choice(["cube", "L", "U", "plus", "tilted L"], 3)):
        place = trimesh.transformations.random_rotation_matrix(rng.random(3))
        place[:3, :3] *= rng.choice([0.5, 1.0, 2.0], 3) * rng.choice([-1, 1], 3)
        place[:3, 3] = rng.uniform(-500, 500, 3)
        scene.add_geometry(surface(solid_of(name)), node_name=f"n{k}", transform=place)
    return scene


@pytest.mark.parametrize("seed", range(12))
def test_another_library_reads_the_same_triangles(seed):
    """Whole scenes with places, mirrored too; the same corners, faces and sides."""
    scene = random_scene(seed)
    data = scene.export(file_type="glb")
    ours = corner_triples(read_glb(data).whole())
    assert np.allclose(ours, corner_triples(theirs(data, "glb")), atol=1e-3)
    mesh = scene.to_mesh()
    for ending, read in (("obj", read_obj), ("stl", read_stl), ("stl_ascii", read_stl)):
        said = mesh.export(file_type=ending)
        data = said.encode() if isinstance(said, str) else said
        ours = corner_triples(read(data).whole())
        assert np.allclose(ours, corner_triples(theirs(data, ending)), atol=1e-3), ending


def test_the_comparison_sees_planted_faults():
    """One face turned over, one corner moved, one face missing: each is another soup."""
    table, data = cube_table()
    corners, triangles = read_glb(glb(table, data)).whole()
    first = corner_triples((corners, triangles))
    turned, moved = triangles.copy(), corners.copy()
    turned[3] = turned[3][::-1]
    moved[2] += 0.01
    assert not np.allclose(first, corner_triples((corners, turned)), atol=1e-3)
    assert not np.allclose(first, corner_triples((moved, triangles)), atol=1e-3)
    assert corner_triples((corners, triangles[1:])).shape != first.shape


@pytest.mark.parametrize("mode", [5, 6])
def test_strips_and_fans(mode):
    """Triangle i of a strip is p[i], p[i + 1 + i % 2], p[i + 2 - i % 2].

    That of a fan is p[i + 1], p[i + 2], p[0]. Source: glTF 2.0 specification, 3.7.2.1.
    """
    corners = np.random.default_rng(mode).normal(size=(8, 3)).astype("<f4")
    table, _ = cube_table()
    table["meshes"][0]["primitives"][0] = {"attributes": {"POSITION": 0}, "mode": mode}
    got = read_glb(glb(table, corners.tobytes() + bytes(72))).whole()
    wanted = [
        (i, i + 1 + i % 2, i + 2 - i % 2) if mode == 5 else (i + 1, i + 2, 0) for i in range(6)
    ]
    assert np.allclose(corner_triples(got), corner_triples((corners, wanted)))


def test_the_turn_of_a_node():
    """A quarter turn about z takes x to y; with a scale and a shift, scale first, shift last."""
    half = float(np.sqrt(0.5))
    place = {"rotation": [0, 0, half, half], "scale": [2, 1, 1], "translation": [10, 0, 0]}
    table, data = cube_table(**place)
    corners, _ = read_glb(glb(table, data)).whole()
    assert np.ptp(corners, axis=0) == pytest.approx([1, 2, 1])
    assert corners.mean(axis=0) == pytest.approx([10, 0, 0])
    table, data = cube_table(matrix=[0, 2, 0, 0, -1, 0, 0, 0, 0, 0, 1, 0, 10, 0, 0, 1])
    assert read_glb(glb(table, data)).whole()[0] == pytest.approx(corners)


def test_quantized_corners():
    """Normalized whole numbers (KHR_mesh_quantization): 127 of a signed byte is 1, -128 is -1."""
    table, _ = cube_table()
    corners = np.where(np.asarray(CUBE.vertices) > 0, 127, -128).astype("i1")
    table["accessors"][0] |= {"componentType": 5120, "normalized": True}
    table["bufferViews"][0]["byteStride"] = 4
    padded = np.concatenate([corners, np.zeros((8, 1), dtype="i1")], axis=1)
    order = np.asarray(CUBE.faces, dtype="<u2").tobytes()
    table["bufferViews"][0]["byteLength"] = 32
    table["bufferViews"][1]["byteOffset"] = 32
    table["extensionsRequired"] = ["KHR_mesh_quantization"]
    got, _ = read_glb(glb(table, padded.tobytes() + order)).whole()
    assert sorted(map(tuple, got)) == sorted(map(tuple, 2 * CUBE.vertices))


ELL = [(100, 0), (100, 40), (40, 40), (40, 100), (0, 100), (0, 0)]


@pytest.mark.parametrize("start", range(6))
@pytest.mark.parametrize("tilt", [False, True])
def test_a_concave_face_is_not_fanned_over_its_outside(start, tilt, tmp_path):
    """An L swept upward, its two L-shaped faces whole, begun at any corner, in any direction."""
    ring = ELL[start:] + ELL[:start]
    corners = np.array([(x, y, z) for z in (0, 30) for x, y in ring], dtype=float)
    if tilt:
        corners = (
            corners
            @ trimesh.transformations.random_rotation_matrix(np.array([0.1, 0.2, 0.3]))[:3, :3]
        )
    faces = [[*range(6, 0, -1)], [*range(7, 13)]]
    faces += [[k + 1, (k + 1) % 6 + 1, (k + 1) % 6 + 7, k + 7] for k in range(6)]
    text = "".join(f"v {x:.9f} {y:.9f} {z:.9f}\n" for x, y, z in corners)
    text += "".join(f"f {' '.join(map(str, face))}\n" for face in faces)
    places, triangles = read_obj(text.encode()).whole()
    a, b, c = (places[triangles[:, k]] for k in range(3))
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
    assert areas == pytest.approx(2 * (100 * 40 + 40 * 60) + 400 * 30, rel=1e-9)
    (tmp_path / "ell.obj").write_text(text)
    pieces = mesh_solids(MeshSpec(file="ell.obj"), tmp_path)
    assert len(pieces) == 2
    assert volume(pieces) == pytest.approx(30 * (100 * 40 + 40 * 60), rel=1e-7)


def test_an_obj_may_count_back_continue_lines_and_name_other_files():
    r"""Corners counted from the last, ``\`` at a line's end, words that are passed over."""
    text = (
        b"mtllib ../../../../etc/passwd\n# v 9 9 9\nv 0 0 0 1.0\r\nv 9 0 0 0.5 0.5 0.5\n"
        b"v 0 9 \\\n 0\nvt 0 0\nvn 0 0 1\ng a\nusemtl b\nf -3/1/1 -2//1 -1\nl 1 2\np 1\n"
    )
    corners, triangles = read_obj(text).whole()
    assert corners.tolist() == [[0, 0, 0], [9, 0, 0], [0, 9, 0]]
    assert triangles.tolist() == [[0, 1, 2]]


def test_a_binary_stl_may_begin_with_the_word_of_the_other_kind():
    """Its length tells."""
    data = CUBE.export(file_type="stl")
    named = b"solid of revolution".ljust(80) + data[80:]
    assert read_stl(named).whole()[1].shape == (12, 3)


def changed(**said):
    """The cube's table with entries changed: ``accessors_0_count=9``."""
    table, data = cube_table()
    for path, value in said.items():
        *steps, last = path.split("_")
        at = table
        for step in steps:
            at = at[int(step) if step.isdigit() else step]
        at[int(last) if last.isdigit() else last] = value
    return glb(table, data)


HOSTILE_GLB = {
    "nothing": (b"", "not a GLB"),
    "head only": (b"glTF\2\0\0\0", "not a GLB"),
    "version": (glb(*cube_table(), version=1), "version 1"),
    "cut short": (glb(*cube_table())[:-9], "holds"),
    "not JSON": (glb(b"{'a': 1}"), "JSON cannot be read"),
    "deep JSON": (glb(b"[" * 100_000), "JSON cannot be read"),
    "a list": (glb([]), "not a table"),
    "half a letter": (glb(b'{"a": "\xff"}'), "JSON cannot be read"),
    "huge number": (glb(b'{"scene": ' + b"9" * 5000 + b"}"), "JSON cannot be read|whole number"),
    "no scene": (changed(scene=7), "no scenes"),
    "no node": (changed(scenes_0_nodes=[4]), "no nodes"),
    "negative node": (changed(scenes_0_nodes=[-1]), "whole number"),
    "a word": (changed(scenes_0_nodes=["a"]), "whole number"),
    "itself": (changed(nodes_0_children=[0]), "inside itself"),
    "twice": (changed(scenes_0_nodes=[0, 0]), "two places"),
    "nodes a table": (changed(nodes={}), "not a list"),
    "node a number": (changed(nodes_0=3), "not a table"),
    "no mesh": (changed(nodes_0_mesh=1), "no meshes"),
    "part a list": (changed(meshes_0_primitives=[[]]), "without attributes"),
    "no accessor": (changed(meshes_0_primitives_0_indices=2), "no accessors"),
    "giant count": (changed(accessors_0_count=10**12), "lists 1000000000000 corners"),
    "float count": (changed(accessors_0_count=8.5), "whole number"),
    "negative count": (changed(accessors_0_count=-1), "whole number"),
    "beyond": (changed(accessors_0_count=9), "beyond its data"),
    "far offset": (changed(accessors_0_byteOffset=2**52), "beyond its data"),
    "far view": (changed(bufferViews_0_byteOffset=2**52), "beyond the file"),
    "long view": (changed(bufferViews_0_byteLength=2**52), "beyond the file"),
    "stride": (changed(bufferViews_0_byteStride=1), "stride"),
    "zero stride": (changed(bufferViews_0_byteStride=0), "stride"),
    "elsewhere": (changed(buffers_0_uri="../../etc/passwd"), "another file"),
    "other buffer": (changed(bufferViews_0_buffer=1), "another file"),
    "pairs": (changed(accessors_0_type="VEC2"), "not VEC3"),
    "doubles": (changed(accessors_0_componentType=5130), "not VEC3"),
    "float indices": (changed(accessors_1_componentType=5126), "not SCALAR"),
    "swapped": (changed(meshes_0_primitives_0_indices=0), "not SCALAR"),
    "not in threes": (changed(accessors_1_count=35), "three to a face"),
    "sparse": (changed(accessors_0_sparse={"count": 1}), "no plain data"),
    "matrix": (changed(nodes_0_matrix=[1.0] * 15), "16 numbers"),
    "matrix of words": (changed(nodes_0_matrix=["1"] * 16), "16 numbers"),
    "nan matrix": (changed(nodes_0_matrix=[float("nan")] * 16), "16 numbers"),
    "endless shift": (changed(nodes_0_translation=[1e308, 0, 0]), "3 numbers"),
    "no turn": (changed(nodes_0_rotation=[0, 0, 0, 0]), "turns nowhere"),
    "needs more": (changed(extensionsRequired=["KHR_draco_mesh_compression"]), "is not read"),
}


@pytest.mark.parametrize("case", HOSTILE_GLB)
def test_a_hostile_glb_is_refused_in_words(case):
    data, says = HOSTILE_GLB[case]
    with pytest.raises(ValueError, match=says):
        read_glb(data)


def test_corners_that_are_no_numbers():
    """NaN and infinity in the data, and an index past the last corner."""
    table, data = cube_table()
    for value in (float("nan"), float("inf"), -float("inf"), 3e38):
        with pytest.raises(ValueError, match="out of all bounds"):
            read_glb(glb(table, struct.pack("<f", value) + data[4:]))
    with pytest.raises(ValueError, match="a face uses corner 65535 of 8"):
        read_glb(glb(table, data[:96] + b"\xff\xff" + data[98:]))


def test_a_mesh_shown_by_many_nodes_is_counted_each_time():
    """So few bytes, so many faces."""
    table, data = cube_table()
    table["nodes"] = [{"mesh": 0}] * 2000
    table["scenes"][0]["nodes"] = list(range(2000))
    with pytest.raises(ValueError, match="has 5004 faces, more than 5000"):
        read_glb(glb(table, data))


def test_a_long_chain_of_nodes_is_followed():
    """No recursion: 50,000 nodes one inside another."""
    table, data = cube_table()
    table["nodes"] = [{"children": [k + 1]} for k in range(50_000)] + [{"mesh": 0}]
    assert read_glb(glb(table, data)).whole()[1].shape == (12, 3)


HOSTILE_TEXT = {
    "nan corner": (read_obj, b"v nan 0 x\n", "line 1: 'v nan 0 x' is not three numbers"),
    "two numbers": (read_obj, b"\nv 1 2\n", "line 2: 'v 1 2' is not three numbers"),
    "corner nought": (read_obj, b"v 0 0 0\nf 0 1 1\n", "line 2: '0' in 'f 0 1 1' is no corner"),
    "ahead": (read_obj, b"v 0 0 0\nf 1 2 3\n", "line 2: a face uses corner 3 of 1"),
    "behind": (read_obj, b"v 0 0 0\nf -1 -2 -1\n", "line 2: '-2' in"),
    "a word": (read_obj, b"f a b c\n", "line 1: 'a' in 'f a b c'"),
    "a long number": (read_obj, b"f " + b"9" * 9000 + b" 1 1\n", "line 1: '999"),
    "two corners": (read_obj, b"v 0 0 0\nf 1 1\n", "line 2: a face of 2 corners"),
    "too many corners": (read_obj, b"v 0 0 0\n" * (MOST_CORNERS + 1), "more than 100000 corners"),
    "too many faces": (read_obj, b"v 0 0 0\n" + b"f 1 1 1\n" * 5001, "more than 5000"),
    "one huge face": (read_obj, b"v 0 0 0\nf" + b" 1" * 90_000, "more than 5000"),
    "short": (read_stl, b"abc", "too short"),
    "giant count": (read_stl, bytes(80) + b"\xff\xff\xff\xff", "4294967295 faces, more than"),
    "missing faces": (read_stl, bytes(80) + b"\5\0\0\0" + bytes(70), "5 faces and holds 1"),
    "two of three": (
        read_stl,
        b"solid\nfacet\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\n",
        "line 6: a face of 2 corners",
    ),
    "broken off": (read_stl, b"solid\nfacet\nvertex 0 0 0\n", "breaks off"),
    "words": (read_stl, b"solid\nvertex 0 zero 0\n", "line 2: 'vertex 0 zero 0' is not three"),
    "many": (
        read_stl,
        b"solid\n" + b"vertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendfacet\n" * 5001,
        "more than 5000",
    ),
}


@pytest.mark.parametrize("case", HOSTILE_TEXT)
def test_a_hostile_obj_or_stl_is_refused_with_its_line(case):
    read, data, says = HOSTILE_TEXT[case]
    with pytest.raises(ValueError, match=says):
        read(data)


def test_a_surface_counts_before_it_takes():
    """The refusal comes before the numbers are copied."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    huge = np.broadcast_to(np.zeros(3, dtype=np.int64), (10**9, 3))
    with pytest.raises(ValueError, match="has 1000000000 faces"):
        Surface().add(np.zeros((3, 3)), huge)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100_000


@pytest.mark.parametrize(
    "more",
    [
        "v -500 -600 -700",
        "v -9 -9 -50\nv 9 -9 -50\nv 9 9 -50\nf 9 10 11\nf 9 11 10",
    ],
    ids=["a point", "a surface around nothing"],
)
def test_what_holds_nothing_moves_nothing(more, tmp_path):
    """Found by fuzzing: what is lower than all of the body left it above its own floor."""
    box = trimesh.creation.box((10, 20, 30))
    text = box.export(file_type="obj")
    (tmp_path / "a.obj").write_text(f"{text}\n{more}\n", "utf-8")
    (piece,) = mesh_solids(MeshSpec(file="a.obj"), tmp_path)
    assert piece.low[0] == pytest.approx([0, 0, 0], abs=1e-6)
    assert piece.high[0] == pytest.approx([10, 20, 30], abs=1e-6)
