"""`massing export` as a person runs it: formats by name, every scheme, masks, what is listed."""

from __future__ import annotations

import hashlib
import io
import json
import os
import pty
import subprocess
import zipfile
from xml.etree import ElementTree as ET

import pytest

from tests.cli.run import BOATHOUSE, COMMAND, environment, massing

SCHEMES = ("as-found", "first-try", "kayak-lowered", "worked-out")


def wrote(done):
    assert done.returncode == 0, done.stderr
    return [line.removeprefix("wrote ") for line in done.stdout.splitlines()]


def listed(folder, stem):
    return json.loads((folder / f"{stem}.model.json").read_text())["files"]


def test_formats_by_name_and_the_sidecar_lists_them_all(tmp_path):
    """Each file asked for, in the order asked; size and hash of every one in the sidecar."""
    done = massing(
        "export", BOATHOUSE, "-s", "first try", "-f", "ifc, BCF,.usdz,obj,usd", "-o", tmp_path
    )
    names = [path.rpartition("/")[2] for path in wrote(done)]
    stem = "boathouse-first-try"
    assert names == [
        f"{stem}.ifc", f"{stem}.bcf", f"{stem}.usdz", f"{stem}_mm.obj", f"{stem}_mm.mtl",
        f"{stem}.usda", f"{stem}.model.json",
    ]  # fmt: skip
    rows = listed(tmp_path, stem)
    assert [row["name"] for row in rows] == names[:-1]
    for row in rows:
        data = (tmp_path / row["name"]).read_bytes()
        assert (row["bytes"], row["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
    assert done.stderr == ""


def test_left_out_it_writes_what_it_always_did(tmp_path):
    names = [
        path.rpartition("/")[2] for path in wrote(massing("export", BOATHOUSE, "-o", tmp_path))
    ]
    assert [name.partition(".")[2] for name in names] == ["glb", "obj", "mtl", "model.json"]


def test_every_scheme_is_written_with_a_sidecar_each(tmp_path):
    names = [
        path.rpartition("/")[2]
        for path in wrote(massing("export", BOATHOUSE, "--all", "-f", "glb,bcf", "-o", tmp_path))
    ]
    assert names == [
        f"boathouse-{scheme}.{ending}"
        for scheme in SCHEMES
        for ending in ("glb", "bcf", "model.json")
    ]
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)


def test_issues_point_at_the_ifc_only_when_it_is_written_too(tmp_path):
    for formats, count in (("bcf", 0), ("bcf,ifc", 1)):
        wrote(massing("export", BOATHOUSE, "-s", "first", "-f", formats, "-o", tmp_path))
        data = (tmp_path / "boathouse-first-try.bcf").read_bytes()
        with zipfile.ZipFile(io.BytesIO(data)) as zipped:
            roots = [
                ET.fromstring(zipped.read(name))  # noqa: S314 - our own file
                for name in zipped.namelist()
                if name.endswith("markup.bcf")
            ]
        assert roots
        assert all(len(root.findall("Header/Files/File")) == count for root in roots)


def test_masks_go_into_a_folder_and_into_the_sidecar(tmp_path):
    written = wrote(
        massing(
            "export", BOATHOUSE, "-s", "first", "-f", "glb,bcf", "--masks", "--width", "200",
            "--snapshots", "-o", tmp_path,
        )
    )  # fmt: skip
    masks = [path for path in written if "-masks/" in path]
    assert len(masks) == 20
    rows = {row["name"]: row for row in listed(tmp_path, "boathouse-first-try")}
    for path in masks:
        with open(path, "rb") as file:  # noqa: PTH123 - as the command said it
            data = file.read()
        assert rows[path.rpartition("/")[2]]["sha256"] == hashlib.sha256(data).hexdigest()
    with zipfile.ZipFile(tmp_path / "boathouse-first-try.bcf") as zipped:
        shots = [zipped.read(n) for n in zipped.namelist() if n.endswith("snapshot.png")]
    assert shots
    assert all(shot.startswith(b"\x89PNG") for shot in shots)


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("-f", "glc"), "did you mean 'glb'?"),
        (("-f", "glb,,obj"), "no format is called ''"),
        (("--all", "-s", "first try"), "leave --scheme out"),
        (("--all", "-o", "a.glb"), "--all writes several files"),
        (("--masks", "--width", "3"), "3 is not in the range"),
        (("-o", "a.xyz"), "no mesh format for 'a.xyz'"),
    ],
)
def test_what_cannot_be_had_is_refused_before_anything_is_written(args, said, tmp_path):
    done = massing("export", BOATHOUSE, *args, cwd=tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("wish", "library"), [("usd", "pxr"), ("ifc", "ifcopenshell")])
def test_a_missing_library_is_named_before_anything_is_written(wish, library, tmp_path):
    """A module of that name that cannot be imported stands in front of the real one."""
    block = tmp_path / "block"
    block.mkdir()
    (block / f"{library}.py").write_text("raise ImportError('not here')\n")
    out = tmp_path / "out"
    out.mkdir()
    paths = os.pathsep.join([str(block), str(BOATHOUSE.parents[1])])
    done = massing("export", BOATHOUSE, "-f", f"glb,{wish}", "-o", out, PYTHONPATH=paths)
    assert done.returncode == 3
    assert f"pip install 'massing[{wish}]'" in done.stderr
    assert list(out.iterdir()) == []


def test_two_schemes_whose_files_would_be_one_are_refused(tmp_path):
    text = (
        BOATHOUSE.read_text()
        .replace("kayak lowered:", "First  Try:")
        .replace("from: kayak lowered", "from: First  Try")
    )
    file = tmp_path / "two.yaml"
    file.write_text(text)
    done = massing("export", file, "--all", "-o", tmp_path)
    assert done.returncode == 2
    assert "would both be written as two-first-try" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["two.yaml"]


def test_a_bar_is_drawn_on_a_terminal_only(tmp_path):
    """Run with its complaints on a terminal it counts up; the list of files stays clean."""
    leader, follower = pty.openpty()
    command = [*COMMAND, "export", str(BOATHOUSE), "--all", "-o", str(tmp_path)]
    done = subprocess.run(
        command,
        stdout=subprocess.PIPE,
        stderr=follower,
        env=environment(TERM="xterm"),
        check=True,
        timeout=120,
    )
    os.close(follower)
    shown = os.read(leader, 1_000_000).decode()
    os.close(leader)
    assert "100%" in shown
    assert all(line.startswith("wrote ") for line in done.stdout.decode().splitlines())


def test_a_folder_that_is_not_there_is_made_beside_what_is(tmp_path):
    """One level: a path misspelt deeper down is still told."""
    wrote(massing("export", BOATHOUSE, "-o", tmp_path / "handover"))
    assert {file.suffix for file in (tmp_path / "handover").iterdir()} >= {".glb", ".json"}
    refused = massing("export", BOATHOUSE, "-o", tmp_path / "a" / "b")
    assert refused.returncode == 2
    assert "there is no folder" in refused.stderr
    assert not (tmp_path / "a").exists()
