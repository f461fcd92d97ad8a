"""Tests for the JSON beside the files."""

from __future__ import annotations

import hashlib
import json

import numpy as np

from massing.handover.model import Model
from massing.handover.registry import write
from massing.handover.sidecar import id_colour, sidecar, write_sidecar
from tests.handover.models import workshop
from tests.handover.round_trip import gltf_json, named_parts, read_trimesh


def written(tmp_path):
    return [
        *write(workshop(), tmp_path / "room.glb"),
        *write(workshop(), tmp_path / "room.obj"),
    ]


def test_hashes_and_sizes_are_those_of_the_files(tmp_path):
    files = written(tmp_path)
    rows = sidecar(workshop(), files)["files"]

    assert [row["name"] for row in rows] == ["room.glb", "room_mm.obj", "room_mm.mtl"]
    for path, row in zip(files, rows, strict=True):
        assert row["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
        assert row["bytes"] == path.stat().st_size


def test_bounds_are_what_a_reader_finds_in_each_files_own_unit(tmp_path):
    """An independent reader's raw scene bounds, metres y-up for one, mm z-up for the other."""
    import trimesh

    files = written(tmp_path)
    rows = sidecar(workshop(), files)["files"]
    for path, row in zip(files[:2], rows[:2], strict=True):
        low, high = trimesh.load_scene(path, process=False).bounds
        np.testing.assert_allclose(row["bounds"]["low"], low, rtol=1e-6, atol=1e-6)
        np.testing.assert_allclose(row["bounds"]["high"], high, rtol=1e-6, atol=1e-6)
        np.testing.assert_allclose(row["bounds"]["size"], high - low, rtol=1e-6, atol=1e-6)


def test_counts_and_names_are_those_in_the_file(tmp_path):
    files = written(tmp_path)
    said = sidecar(workshop(), files)
    found, meshes = gltf_json(files[0]), read_trimesh(files[0])

    assert said["counts"]["parts"] == len(meshes)
    assert said["counts"]["triangles"] == sum(len(faces) for _, faces in meshes.values())
    assert said["counts"]["materials"] == len(found["materials"])
    assert said["counts"]["motions"] == len(found["animations"])
    assert [row["name"] for row in said["motions"]] == [a["name"] for a in found["animations"]]
    assert [row["name"] for row in said["materials"]] == [m["name"] for m in found["materials"]]
    parts = [name for row in said["objects"] for name in row["parts"]]
    assert parts == [name for name, _ in named_parts(workshop())]


def test_id_colours_are_never_black_and_never_repeat(tmp_path):
    said = sidecar(workshop(), written(tmp_path))
    for table in ("objects", "materials"):
        colours = [row["id_colour"] for row in said[table]]
        assert len(set(colours)) == len(colours)
    colours = {id_colour(n) for n in range(70_000)}
    assert len(colours) == 70_000
    assert id_colour(0) == "#000000"
    assert id_colour(2**24 - 1) == "#ffffff"


def test_the_file_is_json_and_the_same_twice(tmp_path):
    files = written(tmp_path)
    first = write_sidecar(workshop(), files, tmp_path / "room.json").read_bytes()
    second = write_sidecar(workshop(), files, tmp_path / "room.json").read_bytes()

    assert first == second
    assert json.loads(first) == sidecar(workshop(), files)


def test_an_empty_model_has_no_bounds():
    said = sidecar(Model("bare"), [])

    assert said["bounds_mm"] is None
    assert set(said["counts"].values()) == {0}
