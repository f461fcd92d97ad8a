"""Tests for replacing a file whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from massing.reading.files import write_beside_then_rename


def only_files(folder):
    return sorted(entry.name for entry in folder.iterdir())


def test_the_new_content_takes_the_name(tmp_path):
    """A new file and an old one both end up with exactly the bytes given, and nothing beside."""
    target = tmp_path / "a.yaml"
    for data in (b"one\r\n", b"", b"two\0"):
        write_beside_then_rename(target, data)

        assert target.read_bytes() == data
        assert only_files(tmp_path) == ["a.yaml"]


@pytest.mark.parametrize("step", ["replace", "fsync", "chmod"])
def test_a_failure_leaves_the_old_file_alone(tmp_path, monkeypatch, step):
    """Whatever step fails, the old content stands and no temporary file is left."""
    target = tmp_path / "a.yaml"
    target.write_bytes(b"old")

    def fail(*_args, **_more):
        raise OSError("no room on the disk")

    monkeypatch.setattr(*((os, "fsync") if step == "fsync" else (Path, step)), fail)
    with pytest.raises(OSError, match="no room"):
        write_beside_then_rename(target, b"new")

    assert target.read_bytes() == b"old"
    assert only_files(tmp_path) == ["a.yaml"]


def test_a_link_stays_and_what_it_leads_to_changes(tmp_path):
    """The file is written where the link leads, in that folder."""
    (tmp_path / "real").mkdir()
    real = tmp_path / "real" / "a.yaml"
    real.write_bytes(b"old")
    link = tmp_path / "link.yaml"
    link.symlink_to(real)

    write_beside_then_rename(link, b"new")

    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert only_files(tmp_path / "real") == ["a.yaml"]


def test_permissions_are_kept(tmp_path):
    """An existing file keeps its mode; a new one is no more closed than any other."""
    target = tmp_path / "a.yaml"
    target.write_bytes(b"old")
    target.chmod(0o640)
    write_beside_then_rename(target, b"new")
    other = tmp_path / "b.yaml"
    other.touch()
    write_beside_then_rename(tmp_path / "c.yaml", b"new")

    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert (tmp_path / "c.yaml").stat().st_mode == other.stat().st_mode


def test_no_folder_and_no_file(tmp_path):
    """A folder is no file, and a file needs its folder."""
    with pytest.raises(IsADirectoryError):
        write_beside_then_rename(tmp_path, b"x")
    with pytest.raises(FileNotFoundError):
        write_beside_then_rename(tmp_path / "gone" / "a.yaml", b"x")

    assert only_files(tmp_path) == []
