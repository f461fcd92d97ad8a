"""What the page's own 3D library reads: names, bounds, swings and views of a GLB, in Node."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from massing.checks.run import check_scheme
from massing.handover.from_layout import model_of
from massing.handover.registry import write
from massing.project.read import read_project
from tests.handover.models import workshop
from tests.handover.round_trip import from_gltf_axes, named_parts

ROOT = Path(__file__).resolve().parents[3]
SINGLE = 2e-3  # mm: corners are single floats of metres, 2.4e-4 mm at 6 m, added up a tree
_SCRIPT = """
const { Box3, Vector3 } = await import(`${process.argv[1]}/three/build/three.module.js`);
const loaders = `${process.argv[1]}/three/examples/jsm/loaders`;
const { GLTFLoader } = await import(`${loaders}/GLTFLoader.js`);
const { readFileSync } = await import('fs');
const bytes = readFileSync(process.argv[2]);
const held = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength);
new GLTFLoader().parse(held, '', (found) => {
  found.scene.updateMatrixWorld(true);
  const meshes = {};
  found.scene.traverse((node) => {
    if (!node.isMesh) return;
    const box = new Box3().setFromObject(node, true);
    meshes[node.name] = [box.min.toArray(), box.max.toArray()];
  });
  const names = [];
  found.scene.traverse((node) => names.push(node.userData.name_as_written ?? node.name));
  console.log(JSON.stringify({ meshes, names, moves: found.animations.map((a) => a.name),
    cameras: found.cameras.map((c) => c.type) }));
}, (error) => { throw error; });
"""


def _modules() -> Path:
    asked = os.environ.get("NODE_MODULES")
    place = Path(asked) if asked else ROOT / ".ci" / "node" / "node_modules"
    if (place / "three").is_dir() and shutil.which("node"):
        return place.resolve()
    if os.environ.get("MASSING_REQUIRE_ALL") == "1":
        pytest.fail("three is not here; NODE_MODULES names its folder")
    return pytest.skip("three is not here; NODE_MODULES names its folder")


def _read(path: Path) -> dict:
    command = ["node", "--input-type=module", "-e", _SCRIPT, "--", str(_modules()), str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    return json.loads(done.stdout)


def _models():
    project = read_project(ROOT / "examples" / "loft.yaml")
    return (workshop(), model_of(check_scheme(project, "first try", nudges=False)))


@pytest.mark.parametrize("number", [0, 1])
def test_names_and_bounds_come_back(number, tmp_path):
    """Every part under its name, its box that of its corners, and every item under its own."""
    model = _models()[number]
    (path,) = write(model, tmp_path / "room.glb")
    found = _read(path)
    parts = dict(named_parts(model))
    assert set(found["meshes"]) == set(parts)
    for name, part in parts.items():
        ends = from_gltf_axes(np.array(found["meshes"][name]))
        low, high = ends.min(axis=0), ends.max(axis=0)
        used = part.vertices[sorted({v for ring in part.rings for v in ring})]
        np.testing.assert_allclose(low, used.min(axis=0), atol=SINGLE, err_msg=name)
        np.testing.assert_allclose(high, used.max(axis=0), atol=SINGLE, err_msg=name)
    for group in model.nodes:
        assert {child.name for child in group.children} <= set(found["names"])


def test_swings_and_views_come_back(tmp_path):
    """One animation a motion and every camera, of its kind."""
    model = _models()[1]
    (path,) = write(model, tmp_path / "room.glb")
    found = _read(path)
    assert len(found["moves"]) == 3
    kinds = ["PerspectiveCamera", *["OrthographicCamera"] * 3]
    assert sorted(found["cameras"]) == sorted(kinds)
