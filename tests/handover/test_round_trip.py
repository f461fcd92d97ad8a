"""Tests for every writer at once, and for the helper that judges them."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from massing.errors import GeometryError
from massing.handover.model import Model, Node
from massing.handover.registry import write
from tests.handover.models import ell_part, workshop
from tests.handover.round_trip import assert_round_trip, assert_same, read_trimesh, read_vtk

NAMES = ["room.glb", "room.gltf", "room.obj"]


@pytest.mark.parametrize("name", NAMES)
def test_two_readers_find_the_same_bodies(name, tmp_path):
    """Bounds, volume, names, triangle counts and edge pairing agree in trimesh and VTK."""
    assert_round_trip(workshop(), tmp_path / name)


@pytest.mark.parametrize("name", NAMES)
def test_moving_the_model_moves_only_the_places(name, tmp_path):
    """A model far from the datum keeps its shapes within the format's tolerance."""

    def moved(node):
        parts = tuple(
            replace(part, vertices=np.add(part.vertices, (123.4567, -89.1, 33.3)))
            for part in node.parts
        )
        return Node(node.name, parts, tuple(map(moved, node.children)))

    model = workshop()
    assert_round_trip(replace(model, nodes=tuple(map(moved, model.nodes))), tmp_path / name)


@pytest.mark.parametrize("fault", ["flip", "drop", "shift", "rename"])
def test_the_judge_sees_planted_faults(fault, tmp_path):
    """A turned triangle, a missing one, a nudged corner, a wrong name: each is refused."""
    model = workshop()
    found = read_trimesh(write(model, tmp_path / "room.glb")[0])
    points, triangles = (array.copy() for array in found["bin_body"])
    if fault == "flip":
        triangles[3] = triangles[3][::-1]
    elif fault == "drop":
        triangles = triangles[:-1]
    elif fault == "shift":
        points[np.argmax(points[:, 0])] += (0.1, 0, 0)
    found["bin_body" if fault != "rename" else "bun"] = (points, triangles)

    with pytest.raises(AssertionError):
        assert_same(model, found, 1e-3)


def test_a_concave_face_is_not_fanned_across_its_notch(tmp_path):
    """The L keeps its plan area: 2000 x 600 + 600 x 900 = 1.74 m2, by 450 high."""
    model = Model("ell", (Node("kept", (ell_part("ell"),)),))
    for name in NAMES:
        for read in (read_trimesh, read_vtk):
            points, triangles = read(write(model, tmp_path / name)[0])["kept_ell"]
            a, b, c = (points[triangles[:, k]] for k in range(3))
            areas = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
            assert areas.sum() == pytest.approx(2 * 1.74e6 + 7000 * 450, rel=1e-6)
            assert areas.min() > 1.0


@pytest.mark.parametrize(("name", "step"), [(n, 0) for n in NAMES] + [("room.obj", 1)])
def test_an_interrupted_write_leaves_the_old_file(name, step, tmp_path, monkeypatch):
    """When a file's last step fails its old bytes stand, and nothing is left beside it."""
    written = write(Model("old"), tmp_path / name)
    before = {path: path.read_bytes() for path in written}
    real, calls = os.replace, []

    def fail(source, target):
        calls.append(str(target))
        if len(calls) > step:
            raise OSError("disk full")
        real(source, target)

    monkeypatch.setattr(Path, "replace", fail)
    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write(workshop(), tmp_path / name)

    assert len(calls) == step + 1
    done = {Path(target) for target in calls[:step]}
    after = {path: path.read_bytes() for path in tmp_path.iterdir()}
    assert set(after) == set(before)
    assert {path for path in after if after[path] != before[path]} == done
    assert written[0] not in done


@pytest.mark.parametrize("name", NAMES)
def test_a_face_that_crosses_itself_writes_nothing(name, tmp_path):
    """The error names the part and the old file stands."""
    bow = np.array([[0, 0, 0], [4, 0, 0], [4, 4, 0], [1, -2, 0], [0, 3.0, 0]])
    part = replace(workshop().nodes[0].parts[0], name="bow", vertices=bow, rings=((0, 1, 2, 3, 4),))
    with pytest.raises(GeometryError, match="bow"):
        write(Model("m", (Node("n", (part,)),)), tmp_path / name)

    assert list(tmp_path.iterdir()) == []


_HASHES = """
import hashlib, pathlib, sys
from massing.handover.registry import write
from massing.handover.sidecar import write_sidecar
from tests.handover.models import workshop
place = pathlib.Path(sys.argv[1])
for name in ("a.glb", "a.gltf", "a.obj"):
    files = write(workshop(), place / name, inset=0.5)
    files += (write_sidecar(workshop(), files, place / (name + ".json")),)
    print(*(hashlib.sha256(file.read_bytes()).hexdigest() for file in files))
"""


def test_bytes_are_the_same_in_every_process(tmp_path):
    """Hash seeds, which order sets, change no byte of any file."""
    answers = set()
    for seed in ("0", "1", "77"):
        place = tmp_path / seed
        place.mkdir()
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-c", _HASHES, str(place)]
        ran = subprocess.run(
            command, env=environment, capture_output=True, text=True, check=True, timeout=60
        )
        answers.add(ran.stdout)

    assert len(answers) == 1


@pytest.mark.parametrize("name", NAMES)
def test_writing_twice_gives_the_same_bytes(name, tmp_path):
    def hashes():
        written = write(workshop(), tmp_path / name)
        return [hashlib.sha256(path.read_bytes()).hexdigest() for path in written]

    assert hashes() == hashes()
