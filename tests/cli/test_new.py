"""`massing new`: a file that checks clean, and never over another."""

from __future__ import annotations

import os

import pytest

from massing.project.read import read_project
from tests.cli.run import massing


@pytest.mark.parametrize(
    "name", ["shed.yaml", "küche 日本.yaml", 'it\'s: "odd".yaml', "-x.yaml", "no suffix", "a.b.yml"]
)
def test_new_file_checks_clean(tmp_path, name):
    """Whatever it is called."""
    done = massing("new", "--", name, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(f"wrote {name}\nnow: massing check ")
    check = massing("check", "--", name, cwd=tmp_path)
    assert (check.returncode, check.stderr) == (0, "")
    assert "no conflicts, nothing to re-measure, no cautions" in check.stdout


@pytest.mark.parametrize("name", [b"caf\xe9.yaml", b"bell\x07 \x1b[31m.yaml", b"l\n2.yaml"])
def test_new_file_with_a_name_that_cannot_be_shown(tmp_path, name):
    """Bytes that are no letters, and control characters."""
    done = massing("new", os.fsdecode(name), cwd=tmp_path)
    assert (done.returncode, "Traceback" in done.stderr) == (0, False)
    (file,) = tmp_path.iterdir()
    assert os.fsencode(file.name) == name
    assert list(read_project(file).arrangements) == ["as found", "proposed"]


def test_existing_file_is_kept(tmp_path):
    """Also an empty one, a folder and a link to nothing."""
    (tmp_path / "a.yaml").write_text("mine")
    (tmp_path / "empty.yaml").touch()
    (tmp_path / "folder").mkdir()
    (tmp_path / "link.yaml").symlink_to("gone.yaml")
    for name in ("a.yaml", "empty.yaml", "folder", "link.yaml"):
        done = massing("new", name, cwd=tmp_path)
        assert done.returncode == 2
        assert done.stderr.startswith(f"{name} is already there; name another file")
    assert (tmp_path / "a.yaml").read_text() == "mine"
    assert (tmp_path / "empty.yaml").read_text() == ""
    assert not (tmp_path / "gone.yaml").exists()
