"""Tests for USD: read back by its own library and by a plain reader of the text."""

from __future__ import annotations

import hashlib
import math
import os
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pxr import Usd, UsdGeom, UsdShade, UsdValidation

from massing.checks.run import check_scheme
from massing.errors import GeometryError, MissingToolError
from massing.handover.from_layout import model_of
from massing.handover.gltf.axes import y_up
from massing.handover.model import Model, Node
from massing.handover.names import name_model
from massing.handover.registry import write
from massing.handover.usd.file import text
from massing.project.read import read_project
from tests.handover.models import workshop
from tests.handover.round_trip import assert_same, from_gltf_axes, named_parts, snapshot

LOFT = Path(__file__).resolve().parents[2] / "examples" / "loft.yaml"
NAMES = ["room.usda", "room.usdc", "room.usdz"]
MM = 1e-3  # single floats of metres: 2.4e-4 mm at 4 m, twice added


def fans(counts, corners):
    """Triangles of faces that are given as counts and one run of corners."""
    out, at = [], 0
    for count in counts:
        ring = corners[at : at + count]
        out += [(ring[0], ring[k], ring[k + 1]) for k in range(1, count - 1)]
        at += count
    return np.array(out)


def read_pxr(path, time=None):
    stage = Usd.Stage.Open(str(path))
    cache = UsdGeom.XformCache(Usd.TimeCode.Default() if time is None else Usd.TimeCode(time))
    found = {}
    for prim in stage.Traverse():
        if not prim.IsA(UsdGeom.Mesh):
            continue
        mesh = UsdGeom.Mesh(prim)
        matrix = np.array(cache.GetLocalToWorldTransform(prim))
        points = np.array(mesh.GetPointsAttr().Get(), dtype=float)
        points = points @ matrix[:3, :3] + matrix[3, :3]
        triangles = fans(
            list(mesh.GetFaceVertexCountsAttr().Get()), list(mesh.GetFaceVertexIndicesAttr().Get())
        )
        found[prim.GetDisplayName()] = (from_gltf_axes(points), triangles)
    return found


def take_numbers(row, said):
    """Keep what a line gives of a mesh or an offset."""
    numbers = re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", said.partition("=")[2])
    if said.startswith("double3 xformOp:translate ="):
        row[2] = np.array(numbers, dtype=float)
    elif said.startswith("point3f[] points"):
        row[3]["points"] = np.array(numbers, dtype=float).reshape(-1, 3)
    elif said.startswith("int[] faceVertexCounts"):
        row[3]["counts"] = list(map(int, numbers))
    elif said.startswith("int[] faceVertexIndices"):
        row[3]["corners"] = list(map(int, numbers))


def read_plainly(path):
    """The same from the text alone: nested ``def`` blocks, their offsets added up."""
    found, held = {}, []  # one row an open brace: [kind, name, offset, data]
    pending = None
    for line in path.read_text().splitlines():
        said = line.strip()
        if match := re.match(r'def (\w+) "(\w+)"', said):
            pending = [match[1], match[2], np.zeros(3), {}]
        elif match := re.match(r'displayName = "(.*)"', said):
            (pending or held[-1])[1] = match[1]
        elif said == "{":
            held.append(pending)
            pending = None
        elif said.endswith("{"):  # a dictionary: customData, timeSamples
            held.append(["", "", np.zeros(3), {}])
        elif said == "}":
            kind, name, _, data = held.pop()
            if kind == "Mesh":
                away = sum((row[2] for row in held), np.zeros(3))
                triangles = fans(data["counts"], data["corners"])
                found[name] = (from_gltf_axes(data["points"] + away), triangles)
        elif held:
            take_numbers(held[-1], said)
    return found


def complaints(stage):
    validators = UsdValidation.ValidationRegistry().GetOrLoadAllValidators()
    assert len(validators) > 10
    return [e.GetMessage() for e in UsdValidation.ValidationContext(validators).Validate(stage)]


@pytest.fixture(scope="module")
def loft():
    return model_of(check_scheme(read_project(LOFT), "first try", nudges=False))


@pytest.mark.parametrize("name", NAMES)
def test_the_library_finds_the_same_bodies(name, tmp_path, loft):
    """Bounds, volume, names, triangle counts, winding and edge pairing, part by part."""
    for model in (workshop(), loft):
        before = snapshot(model)
        (path,) = write(model, tmp_path / name)
        assert snapshot(model) == before
        assert_same(model, read_pxr(path), MM)


def test_a_plain_reader_of_the_text_finds_the_same_bodies(tmp_path, loft):
    for model in (workshop(), loft):
        assert_same(model, read_plainly(write(model, tmp_path / "room.usda")[0]), MM)


@pytest.mark.parametrize("name", NAMES)
def test_the_validators_have_nothing_to_say(name, tmp_path, loft):
    for model in (workshop(), loft, Model("bare")):
        (path,) = write(model, tmp_path / name)
        assert complaints(Usd.Stage.Open(str(path))) == []


def test_the_validators_see_planted_faults(tmp_path):
    """No upward axis, no unit, a material bound without its schema, a surface of no known kind."""
    (path,) = write(workshop(), tmp_path / "room.usda")
    whole = path.read_text()
    for right, wrong in (
        ('    upAxis = "Y"\n', ""),
        ("    metersPerUnit = 1\n", ""),
        ('"UsdPreviewSurface"', '"NoSuchSurface"'),
        ('prepend apiSchemas = ["MaterialBindingAPI"]', ""),
    ):
        assert right in whole
        path.write_text(whole.replace(right, wrong))
        stage = Usd.Stage.CreateInMemory(".usda")
        stage.GetRootLayer().ImportFromString(path.read_text())
        assert complaints(stage) != [], right


def test_unit_axes_and_tree_are_said(tmp_path):
    (path,) = write(workshop(), tmp_path / "room.usda")
    stage = Usd.Stage.Open(str(path))

    assert UsdGeom.GetStageMetersPerUnit(stage) == 1.0
    assert UsdGeom.GetStageUpAxis(stage) == "Y"
    root = stage.GetDefaultPrim()
    assert root.GetCustomDataByKey("name_as_written") == workshop().name

    def tree(prim):
        return {c.GetDisplayName(): tree(c) for c in prim.GetChildren() if c.IsA(UsdGeom.Xform)}

    def named(node):
        return {child.name: named(child) for child in node.children}

    assert tree(root) == {node.name: named(node) for node in name_model(workshop()).nodes}


def test_every_mesh_has_its_look(tmp_path):
    (path,) = write(workshop(), tmp_path / "room.usda")
    stage = Usd.Stage.Open(str(path))
    parts = dict(named_parts(workshop()))
    for prim in stage.Traverse():
        if prim.IsA(UsdGeom.Mesh):
            bound, _ = UsdShade.MaterialBindingAPI(prim).ComputeBoundMaterial()
            look = parts[prim.GetDisplayName()].material
            data = bound.GetPrim().GetCustomData()
            assert (data["name_as_written"], data["srgb"]) == (look.name, look.srgb.upper())
            shader = bound.ComputeSurfaceSource()[0]
            assert shader.GetInput("opacity").Get() == pytest.approx(look.alpha)
            assert (
                UsdGeom.Mesh(prim).GetDoubleSidedAttr().Get() == parts[prim.GetDisplayName()].open
            )


def test_a_leaf_turns_on_its_hinge_and_a_drawer_slides(tmp_path):
    """At the end of the second each moved corner is where a turn by formula takes it."""
    (path,) = write(workshop(), tmp_path / "room.usdc")
    start, end = read_pxr(path), read_pxr(path, 24.0)
    angle = -math.radians(200.0)
    pin = np.array([240.0, 500.0, 0.0])
    turn = np.array(
        [[math.cos(angle), -math.sin(angle), 0], [math.sin(angle), math.cos(angle), 0], [0, 0, 1]]
    )
    for name in ("Wascher_door_leaf", "Wascher_door_handle"):
        wanted = (start[name][0] - pin) @ turn.T + pin
        np.testing.assert_allclose(end[name][0], wanted, atol=MM)
    pulled = end["chest_drawer_box"][0] - start["chest_drawer_box"][0]
    np.testing.assert_allclose(pulled, np.tile([0.0, 380.0, 0.0], (len(pulled), 1)), atol=MM)
    np.testing.assert_array_equal(end["chest_carcass"][0], start["chest_carcass"][0])


def test_half_way_a_wide_swing_goes_the_long_way_round(tmp_path):
    """200 degrees at even speed: 100 at half time, not -80."""
    (path,) = write(workshop(), tmp_path / "room.usdc")
    start, half = read_pxr(path), read_pxr(path, 12.0)
    angle = -math.radians(100.0)
    off = start["Wascher_door_leaf"][0] - (240.0, 500.0, 0.0)
    x = off[:, 0] * math.cos(angle) - off[:, 1] * math.sin(angle) + 240.0
    np.testing.assert_allclose(half["Wascher_door_leaf"][0][:, 0], x, atol=0.05)


def test_cameras_look_where_they_should(tmp_path):
    (path,) = write(workshop(), tmp_path / "room.usda")
    stage = Usd.Stage.Open(str(path))
    found = [UsdGeom.Camera(p) for p in stage.Traverse() if p.IsA(UsdGeom.Camera)]
    for camera, seen in zip(workshop().cameras, found, strict=True):
        frustum = seen.GetCamera(Usd.TimeCode.Default()).frustum
        way = np.subtract(camera.target, camera.eye)
        wanted = y_up((way / np.linalg.norm(way))[None])[0]
        np.testing.assert_allclose(frustum.ComputeViewDirection(), wanted, atol=1e-5)
        np.testing.assert_allclose(
            np.array(frustum.position) * 1000, y_up(np.array([camera.eye]))[0], atol=1e-3
        )
        window = frustum.window
        assert window.GetSize()[0] / window.GetSize()[1] == pytest.approx(camera.aspect, rel=1e-5)
        if camera.yfov is None:
            assert window.GetSize()[1] * 1000 == pytest.approx(camera.height, rel=1e-5)
        else:
            half = math.tan(camera.yfov / 2)
            assert window.GetMax()[1] == pytest.approx(half, rel=1e-5)


def test_a_package_is_not_packed_and_lies_on_64_bytes(tmp_path):
    (path,) = write(workshop(), tmp_path / "a room ⛵.usdz")
    with zipfile.ZipFile(path) as zipped:
        (entry,) = zipped.infolist()
        assert entry.compress_type == zipfile.ZIP_STORED
        assert entry.filename == "a_room.usdc"
        assert entry.date_time == (1980, 1, 1, 0, 0, 0)
    assert path.read_bytes().index(b"PXR-USDC") % 64 == 0


def test_names_usd_cannot_hold_are_mended_and_kept_beside(tmp_path):
    """A hyphen, a digit first, and two names that fall together."""
    part = workshop().nodes[0].parts[0]
    nodes = tuple(Node(name, (part,)) for name in ("2-door unit", "a-b", "a_b", "Looks"))
    (path,) = write(Model("3 rooms", nodes), tmp_path / "room.usda")
    stage = Usd.Stage.Open(str(path))
    root = stage.GetDefaultPrim()
    assert root.GetName() == "_3_rooms"
    xforms = [c for c in root.GetChildren() if c.IsA(UsdGeom.Xform)]
    assert [c.GetName() for c in xforms] == ["_2_door_unit", "a_b", "a_b_2", "Looks_2"]
    assert [c.GetDisplayName() for c in xforms] == ["2-door_unit", "a-b", "a_b", "Looks"]


_HASHES = """
import hashlib, pathlib, sys
from massing.handover.registry import write
from tests.handover.models import workshop
for name in ("a.usda", "a.usdc", "a.usdz"):
    (file,) = write(workshop(), pathlib.Path(sys.argv[1]) / name, inset=0.5)
    print(hashlib.sha256(file.read_bytes()).hexdigest())
"""


def test_bytes_are_the_same_in_every_process(tmp_path):
    answers = set()
    for seed in ("0", "7"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-c", _HASHES, str(tmp_path)]
        ran = subprocess.run(
            command, env=environment, capture_output=True, text=True, check=True, timeout=60
        )
        answers.add(ran.stdout)
    assert len(answers) == 1
    assert answers.pop().split()[0] != hashlib.sha256(text(workshop())).hexdigest()  # inset shows


@pytest.mark.parametrize("name", NAMES)
def test_an_interrupted_write_leaves_the_old_file(name, tmp_path, monkeypatch):
    (path,) = write(Model("old"), tmp_path / name)
    before = path.read_bytes()

    def fail(*_):
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write(workshop(), path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_face_that_crosses_itself_writes_nothing(tmp_path):
    bow = np.array([[0, 0, 0], [4, 0, 0], [4, 4, 0], [1, -2, 0], [0, 3.0, 0]])
    part = replace(workshop().nodes[0].parts[0], name="bow", vertices=bow, rings=((0, 1, 2, 3, 4),))
    with pytest.raises(GeometryError, match="bow"):
        write(Model("m", (Node("n", (part,)),)), tmp_path / "a.usda")
    assert list(tmp_path.iterdir()) == []


def test_a_missing_library_is_named(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pxr", None)
    monkeypatch.delitem(sys.modules, "pxr.Usd", raising=False)
    with pytest.raises(MissingToolError, match=r"pip install 'massing\[usd\]'"):
        write(Model("m"), tmp_path / "a.usda")
    assert list(tmp_path.iterdir()) == []
