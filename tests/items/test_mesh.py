"""Meshes of the user's own: read in their unit and axis, taken apart exactly, or refused."""

from __future__ import annotations

from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh

from massing.errors import GeometryError, InputError
from massing.geometry.solids import Convex, hull
from massing.items import mesh_pieces
from massing.items.body import build_item
from massing.items.mesh import mesh_solids
from massing.items.mesh_pieces import convex_pieces
from massing.items.spec import ItemSpec, MeshSpec
from massing.survey.values import Values

Solid = manifold3d.Manifold


def block(size, at=(0, 0, 0)) -> Solid:
    return Solid.cube(size).translate(at)


def solid_of(name: str) -> Solid:
    """A named solid, made afresh."""
    cases = {
        "cube": lambda: block((100, 100, 100)),
        "L": lambda: block((100, 100, 30)) - block((60, 60, 30), (40, 40, 0)),
        "U": lambda: block((100, 100, 100)) - block((60, 100, 60), (20, 0, 40)),
        "plus": lambda: block((90, 30, 30), (0, 30, 0)) + block((30, 90, 30), (30, 0, 0)),
        "hollow": lambda: block((100, 100, 100)) - block((40, 40, 40), (30, 30, 30)),
        "two apart": lambda: block((10, 10, 10)) + block((10, 20, 10), (20, 0, 0)),
        "crossed tunnels": lambda: (
            block((100, 100, 100))
            - block((20, 20, 100), (40, 40, 0))
            - block((20, 100, 20), (40, 0, 40))
            - block((100, 20, 20), (0, 40, 40))
        ),
        "tilted L": lambda: (block((100, 100, 30)) - block((60, 60, 30), (40, 40, 0))).rotate(
            (17, 23, 31)
        ),
        "ring": lambda: Solid.revolve(manifold3d.CrossSection.circle(20, 6).translate((60, 0)), 8),
        "bitten": lambda: block((100, 100, 100)) - Solid.sphere(30, 12).translate((50, 50, 100)),
        "ball": lambda: Solid.sphere(300, 24),
    }
    return cases[name]()


NAMES = (
    "cube",
    "L",
    "U",
    "plus",
    "hollow",
    "two apart",
    "crossed tunnels",
    "tilted L",
    "ring",
    "bitten",
    "ball",
)
VOLUME = {
    "L": 192_000,
    "U": 640_000,
    "plus": 135_000,
    "hollow": 936_000,
    "crossed tunnels": 896_000,
}
LEAST_PARTS = {"cube": 1, "L": 2, "U": 3, "plus": 3, "hollow": 6, "two apart": 2, "ball": 1}


def surface(solid: Solid) -> trimesh.Trimesh:
    mesh = solid.to_mesh64()
    corners, faces = np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts)
    return trimesh.Trimesh(corners, faces.astype(np.int64), process=False)


def saved(mesh: trimesh.Trimesh, folder: Path, ending: str = "obj", **said: str):
    mesh.export(folder / f"thing.{ending}")
    return mesh_solids(MeshSpec(file=f"thing.{ending}", **said), folder)


def volume(pieces: tuple[Convex, ...]) -> float:
    return float(sum(piece.volume[0] for piece in pieces))


def overlaps(pieces: tuple[Convex, ...]) -> float:
    """Volume common to any two pieces, by another library's booleans."""
    hulls = [Solid.hull_points(piece.corners[0]) for piece in pieces]
    pairs = [(a, b) for i, a in enumerate(hulls) for b in hulls[:i]]
    return sum(max((a ^ b).volume(), 0.0) for a, b in pairs)


@pytest.mark.parametrize("name", NAMES)
def test_the_pieces_are_convex_and_hold_exactly_the_mesh(name):
    solid = solid_of(name)
    mesh = surface(solid)
    pieces = convex_pieces(mesh.vertices, mesh.faces)
    assert volume(pieces) == pytest.approx(VOLUME.get(name, solid.volume()), rel=1e-9)
    assert overlaps(pieces) <= 1e-6 * solid.volume()
    for piece in pieces:
        assert float(hull(piece.corners[0]).volume[0]) == pytest.approx(
            piece.volume[0], rel=1e-9, abs=1e-6
        )
    if name in LEAST_PARTS:
        assert len(pieces) == LEAST_PARTS[name]


def test_the_pieces_cover_the_mesh_and_nothing_else():
    """Random points: inside the mesh by ray casting exactly when inside some piece."""
    solid = solid_of("bitten")
    mesh = surface(solid)
    pieces = convex_pieces(mesh.vertices, mesh.faces)
    points = np.random.default_rng(3).uniform(0, 100, (200, 3))
    points[:100] = points[:100] * [0.6, 0.6, 0.3] + [20, 20, 70]
    for point in points:
        inside = len(solid.ray_cast(point, point + np.array([1.37, 0.73, 500.0]))) % 2 == 1
        within = False
        for piece in pieces:
            a, b, c = (piece.corners[0][[ring[k] for ring in piece.faces.rings]] for k in range(3))
            out = np.cross(b - a, c - a)
            within |= bool((np.einsum("fi,fi->f", out, point - a) <= 0).all())
        assert inside == within


@pytest.mark.parametrize("ending", ["obj", "stl", "glb"])
@pytest.mark.parametrize("name", ["cube", "L", "tilted L", "hollow", "bitten"])
def test_every_format_is_read(name, ending, tmp_path):
    """STL and GLB hold single precision: 24 bits of 150 mm are 1e-5 mm, so 1e-6 of the volume."""
    pieces = saved(surface(solid_of(name)), tmp_path, ending, unit="mm", up="z")
    exact = ending == "obj" or name in {"cube", "L", "hollow"}
    assert volume(pieces) == pytest.approx(solid_of(name).volume(), rel=1e-9 if exact else 1e-6)
    assert np.min([piece.low[0] for piece in pieces], axis=0).tolist() == [0, 0, 0]


@pytest.mark.parametrize(("unit", "size"), [("mm", 0.5), ("cm", 5.0), ("m", 500.0), ("in", 12.7)])
def test_a_cube_of_half_a_unit(unit, size, tmp_path):
    cube = trimesh.creation.box((0.5, 0.5, 0.5))
    (piece,) = saved(cube, tmp_path, "stl", unit=unit)
    assert (piece.high - piece.low)[0] == pytest.approx([size] * 3, rel=1e-12)


def test_a_glb_is_in_metres_with_y_up_and_an_obj_in_millimetres_with_z_up(tmp_path):
    """Source: glTF 2.0 specification, Coordinate System and Units."""
    box = trimesh.creation.box((0.6, 0.85, 0.5))
    (piece,) = saved(box, tmp_path, "glb")
    assert (piece.high - piece.low)[0] == pytest.approx([600, 500, 850], rel=1e-6)
    (piece,) = saved(box, tmp_path, "obj")
    assert (piece.high - piece.low)[0] == pytest.approx([0.6, 0.85, 0.5])


def test_the_front_of_a_glb_is_the_front_of_the_item(tmp_path):
    """GlTF assets face +Z; a wedge low at +Z must be low at our y = 0."""
    mesh = trimesh.creation.box((2, 2, 2))
    mesh.vertices[(mesh.vertices[:, 2] > 0) & (mesh.vertices[:, 1] > 0), 1] = 0.0
    (piece,) = saved(mesh, tmp_path, "glb")
    corners = piece.corners[0]
    assert corners[np.isclose(corners[:, 1], 0), 2].max() == pytest.approx(1000)
    assert corners[np.isclose(corners[:, 1], 2000), 2].max() == pytest.approx(2000)


def test_an_open_mesh_is_refused_with_the_number_of_open_edges(tmp_path):
    cube = surface(solid_of("cube"))
    cube.faces = cube.faces[1:]
    with pytest.raises(GeometryError, match="is open: 3 edges belong"):
        saved(cube, tmp_path)
    quad = surface(solid_of("L"))
    quad.faces = quad.faces[np.abs(quad.face_normals[:, 2]) < 0.5]
    with pytest.raises(GeometryError, match="is open: 12 edges belong"):
        saved(quad, tmp_path)


@pytest.mark.parametrize("name", ["L", "hollow", "bitten"])
def test_an_inside_out_mesh_is_turned_right_way_out(name, tmp_path):
    mesh = surface(solid_of(name))
    pieces = saved(mesh, tmp_path)
    mesh.faces = mesh.faces[:, ::-1]
    turned = saved(mesh, tmp_path, "stl")
    assert volume(turned) == pytest.approx(volume(pieces), rel=1e-6)


def test_a_mesh_whose_faces_disagree_is_refused(tmp_path):
    cube = surface(solid_of("cube"))
    faces = cube.faces.copy()
    faces[0] = faces[0][::-1]
    cube.faces = faces
    with pytest.raises(GeometryError, match="tangled: along 3 edges"):
        saved(cube, tmp_path)


def test_a_mesh_partly_inside_out_is_refused(tmp_path):
    mesh = surface(solid_of("two apart"))
    faces = mesh.faces.copy()
    first = mesh.vertices[faces].mean(axis=1)[:, 0] < 15
    faces[first] = faces[first][:, ::-1]
    mesh.faces = faces
    with pytest.raises(GeometryError, match="partly inside-out"):
        saved(mesh, tmp_path)


def test_empty_flat_and_broken_files_are_refused(tmp_path):
    (tmp_path / "none.obj").write_text("# nothing\n")
    (tmp_path / "flat.obj").write_text("v 0 0 0\nv 9 0 0\nv 0 9 0\nf 1 2 3\nf 3 2 1\n")
    (tmp_path / "broken.glb").write_bytes(b"glTF not really")
    (tmp_path / "other.txt").write_text("")
    for file, says in (("none.obj", "empty|cannot be read"), ("flat.obj", "flat"),
                       ("broken.glb", "cannot be read")):  # fmt: skip
        with pytest.raises(GeometryError, match=says):
            mesh_solids(MeshSpec(file=file), tmp_path)
    for file, says in (("other.txt", "not a GLB"), ("gone.stl", "no mesh file")):
        with pytest.raises(InputError, match=says):
            mesh_solids(MeshSpec(file=file), tmp_path)


def test_too_fine_a_mesh_is_refused(tmp_path):
    with pytest.raises(GeometryError, match="has 20480 faces, more than 5000"):
        saved(trimesh.creation.icosphere(subdivisions=5), tmp_path, "stl")


def test_too_many_pieces_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(mesh_pieces, "MOST_PIECES", 5)
    with pytest.raises(GeometryError, match="convex parts; simplify"):
        saved(surface(solid_of("hollow")), tmp_path)


def test_lost_volume_would_be_noticed(tmp_path, monkeypatch):
    """Planted fault: a cutter that drops one piece must not pass."""
    whole = mesh_pieces._cut_up
    monkeypatch.setattr(mesh_pieces, "_cut_up", lambda *said: whole(*said)[:-1])
    with pytest.raises(GeometryError, match="convex parts hold"):
        saved(surface(solid_of("U")), tmp_path)


def test_a_surface_that_crosses_itself_is_refused(tmp_path):
    """A bow-tie swept upward: closed and consistent, yet no solid."""
    ring = np.array([[0, 0], [100, 90], [100, 0], [0, 100]], dtype=float)
    corners = [*((x, y, 0.0) for x, y in ring), *((x, y, 50.0) for x, y in ring)]
    faces = [[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7]]
    for k in range(4):
        n = (k + 1) % 4
        faces += [[k, n, 4 + n], [k, 4 + n, 4 + k]]
    with pytest.raises(GeometryError, match="crosses itself"):
        saved(trimesh.Trimesh(corners, faces, process=False), tmp_path)


def test_the_answer_does_not_depend_on_the_order_of_faces(tmp_path):
    mesh = surface(solid_of("crossed tunnels"))
    first = saved(mesh, tmp_path, "stl")
    again = saved(mesh, tmp_path, "stl")
    mesh.faces = mesh.faces[np.random.default_rng(1).permutation(len(mesh.faces))]
    shuffled = saved(mesh, tmp_path, "stl")
    assert [p.corners.tolist() for p in first] == [p.corners.tolist() for p in again]
    assert volume(shuffled) == pytest.approx(volume(first), rel=1e-9)


def test_an_item_may_be_a_mesh(tmp_path):
    surface(solid_of("L")).export(tmp_path / "l.stl")
    said = {"name": "odd", "parts": [{"name": "hull", "mesh": {"file": "l.stl"}}]}
    shape = build_item(ItemSpec.model_validate(said), Values(), folder=tmp_path, key="odd")
    assert shape.high.tolist() == [[100.0, 100.0, 30.0]]
    assert [part.name for part in shape.parts] == ["hull", "hull"]
    said["body"] = "100 x 100 x 300"
    with pytest.raises(GeometryError, match="measure 100 x 100 x 30 together"):
        build_item(ItemSpec.model_validate(said), Values(), folder=tmp_path, key="odd")


def test_a_mesh_beside_other_parts_goes_where_it_says(tmp_path):
    surface(solid_of("cube")).export(tmp_path / "c.stl")
    parts = [
        {"name": "slab", "box": "0..500 x 0..500 x 0..50"},
        {"name": "block", "mesh": {"file": "c.stl", "at": [300, 10, 50]}},
    ]
    spec = ItemSpec.model_validate({"name": "pair", "parts": parts})
    shape = build_item(spec, Values(), folder=tmp_path, key="pair")
    assert shape.parts[1].solid.low[0].tolist() == [300.0, 10.0, 50.0]
    assert shape.high.tolist() == [[500.0, 500.0, 150.0]]


def random_solid(seed: int) -> Solid:
    """A block with a few others, some of them tilted, added to it or taken from it."""
    rng = np.random.default_rng(seed)
    solid = block((400, 300, 200))
    for _ in range(int(rng.integers(1, 6))):
        size, at = rng.integers(20, 300, 3), rng.integers(-100, 350, 3)
        other = block(tuple(size.astype(float)), tuple(at.astype(float)))
        if rng.random() < 0.4:
            other = other.rotate(tuple(rng.uniform(0, 90, 3)))
        solid = solid - other if rng.random() < 0.6 else solid + other
    return solid


@pytest.mark.parametrize("seed", [*range(20), 76, 1363, 1971])
def test_random_solids_are_taken_apart_without_loss(seed):
    """Also with corners rounded as OBJ (8 decimals) and STL (single precision) write them."""
    mesh = surface(random_solid(seed))
    rounded = mesh.vertices.astype(np.float32).astype(np.float64)
    for corners, slack in ((np.round(mesh.vertices, 8), 1e-8), (rounded, 1e-6)):
        pieces = convex_pieces(corners, mesh.faces)
        fans = corners[mesh.faces]
        wanted = np.einsum("ti,ti->", fans[:, 0], np.cross(fans[:, 1], fans[:, 2])) / 6
        assert volume(pieces) == pytest.approx(wanted, rel=slack)
