"""A disk that is full, a folder or file that may not be written, links, pipes and devices."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

import pytest
import trimesh

from massing.errors import InputError
from massing.project.read import input_files, read_project, refuse_inputs
from massing.reading import files
from massing.reading.files import write_beside_then_rename, write_new, write_together
from tests.cli.run import BOATHOUSE, ROOT, environment, massing

STEPS = ("mkstemp", "write", "flush", "fsync", "close", "chmod", "replace")


def names(folder):
    return sorted(entry.name for entry in folder.iterdir())


class Failing:
    """A file whose chosen method says the disk is full."""

    def __init__(self, file, step):
        self.file, self.step = file, step

    def __getattr__(self, name):
        return getattr(self.file, name)

    def __enter__(self):
        return self

    def __exit__(self, *how):
        self.file.close()
        if self.step == "close":
            raise full()

    def write(self, data):
        """Half of it, where that is the step."""
        if self.step == "write":
            self.file.write(data[: len(data) // 2])
            raise full()
        return self.file.write(data)

    def flush(self):
        """Nothing, where that is the step."""
        if self.step == "flush":
            raise full()
        self.file.flush()


def full():
    return OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def break_at(monkeypatch, step, grace=0):
    """Let the ``grace + 1``-th call of a step fail."""
    left = [grace]

    def failing(real):
        def call(*args, **more):
            left[0] -= 1
            if left[0] < 0:
                raise full()
            return real(*args, **more)

        return call

    if step in ("write", "flush", "close"):
        real = os.fdopen

        def fdopen(*args, **more):
            left[0] -= 1
            file = real(*args, **more)
            return Failing(file, step) if left[0] < 0 else file

        monkeypatch.setattr(os, "fdopen", fdopen)
    else:
        owner = {"mkstemp": tempfile, "fsync": os}.get(step, Path)
        monkeypatch.setattr(owner, step, failing(getattr(owner, step)))


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("was_there", [True, False])
def test_a_full_disk_at_any_step_leaves_the_old_file(step, was_there, tmp_path, monkeypatch):
    """The old content or no file, and nothing beside it."""
    target = tmp_path / "a.yaml"
    if was_there:
        target.write_bytes(b"old")
    break_at(monkeypatch, step)
    with pytest.raises(OSError, match="No space left"):
        write_beside_then_rename(target, b"new" * 100)
    monkeypatch.undo()
    assert names(tmp_path) == (["a.yaml"] if was_there else [])
    assert not was_there or target.read_bytes() == b"old"


@pytest.mark.parametrize("step", STEPS[:-1])
@pytest.mark.parametrize("grace", [0, 1, 2])
def test_several_files_are_all_ready_before_the_first_is_replaced(
    step, grace, tmp_path, monkeypatch
):
    """A disk full at the third file leaves the first two as they were."""
    for name in "abc":
        (tmp_path / name).write_bytes(b"old")
    break_at(monkeypatch, step, grace)
    with pytest.raises(OSError, match="No space left"):
        write_together([(tmp_path / name, b"new") for name in "abc"])
    monkeypatch.undo()
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == dict.fromkeys("abc", b"old")


def test_names_are_taken_in_the_order_given(tmp_path, monkeypatch):
    """Stopped at the third name, the first two are new: what others refer to goes first."""
    for name in "abc":
        (tmp_path / name).write_bytes(b"old")
    break_at(monkeypatch, "replace", 2)
    with pytest.raises(OSError, match="No space left"):
        write_together([(tmp_path / name, b"new") for name in "cab"])
    monkeypatch.undo()
    found = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    assert found == {"c": b"new", "a": b"new", "b": b"old"}


@pytest.mark.parametrize("step", ["mkstemp", "write", "fsync", "close", "chmod"])
def test_a_new_file_is_whole_or_not_there(step, tmp_path, monkeypatch):
    break_at(monkeypatch, step)
    with pytest.raises(OSError, match="No space left"):
        write_new(tmp_path / "a.yaml", b"new")
    monkeypatch.undo()
    assert names(tmp_path) == []
    write_new(tmp_path / "a.yaml", b"new")
    assert (tmp_path / "a.yaml").read_bytes() == b"new"


def test_a_new_file_never_takes_a_name_that_is_taken(tmp_path, monkeypatch):
    """A file, a link to nowhere, or one that another program made meanwhile."""
    (tmp_path / "a").write_bytes(b"mine")
    (tmp_path / "b").symlink_to(tmp_path / "nowhere")
    for name in "ab":
        with pytest.raises(FileExistsError):
            write_new(tmp_path / name, b"new")
    real = os.link

    def overtaken(source, target):
        Path(target).write_bytes(b"theirs")
        real(source, target)

    monkeypatch.setattr(os, "link", overtaken)
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "c", b"new")
    assert (tmp_path / "c").read_bytes() == b"theirs"
    assert names(tmp_path) == ["a", "b", "c"]


def test_a_new_file_where_there_are_no_second_names(tmp_path, monkeypatch):
    """As on a memory card: still never over another, and gone when it cannot be finished."""

    def refused(*_args):
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", refused)
    write_new(tmp_path / "a", b"new")
    assert (tmp_path / "a").read_bytes() == b"new"
    break_at(monkeypatch, "fsync", 1)
    with pytest.raises(OSError, match="No space left"):
        write_new(tmp_path / "b", b"new")
    assert names(tmp_path) == ["a"]


def test_links_and_steps_up(tmp_path):
    """The link stays, also one that leads nowhere yet; ``..`` leads where it leads elsewhere."""
    (tmp_path / "real").mkdir()
    link = tmp_path / "link.yaml"
    link.symlink_to(tmp_path / "real" / "a.yaml")
    write_beside_then_rename(link, b"new")
    assert link.is_symlink()
    assert (tmp_path / "real" / "a.yaml").read_bytes() == b"new"
    write_beside_then_rename(tmp_path / "real" / ".." / "b.yaml", b"up")
    assert (tmp_path / "b.yaml").read_bytes() == b"up"
    os.link(tmp_path / "b.yaml", tmp_path / "c.yaml")
    write_beside_then_rename(tmp_path / "b.yaml", b"one name only")
    assert (tmp_path / "c.yaml").read_bytes() == b"up"


def test_a_pipe_and_a_device_are_written_into(tmp_path):
    """They stay what they are: nothing is put in their place."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()))
    reader.start()
    write_beside_then_rename(pipe, b"through")
    reader.join(10)
    assert got == [b"through"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    write_beside_then_rename(os.devnull, b"gone")
    assert stat.S_ISCHR(Path(os.devnull).stat().st_mode)
    assert names(tmp_path) == ["pipe"]


def test_a_write_protected_file_is_refused(tmp_path, monkeypatch):
    """A rename would not ask the file itself, so it is asked before."""
    target = tmp_path / "a.yaml"
    target.write_bytes(b"old")
    monkeypatch.setattr(files, "_writable", lambda path: path != target)
    with pytest.raises(PermissionError, match=r"a\.yaml"):
        write_beside_then_rename(target, b"new")
    assert target.read_bytes() == b"old"
    assert names(tmp_path) == ["a.yaml"]


AS_ANYONE = """
import os, sys
from pathlib import Path
from massing.reading.files import write_beside_then_rename
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
for name in ("locked/new", "locked/old", "open/protected"):
    path = Path(sys.argv[1]) / name
    held = path.read_bytes() if path.exists() else None
    try:
        write_beside_then_rename(path, b"new")
        print("wrote", name)
    except PermissionError:
        assert (path.read_bytes() if path.exists() else None) == held
    assert not [p for p in path.parent.iterdir() if p.suffix == ".part"]
"""


def test_a_folder_and_a_file_that_may_not_be_written():
    """For anyone but the administrator: refused, the old file as it was, nothing left."""
    root = Path(tempfile.mkdtemp())
    for folder, mode in (("open", 0o777), ("locked", 0o777)):
        (root / folder).mkdir()
        (root / folder).chmod(mode)
    (root / "locked" / "old").write_bytes(b"old")
    (root / "locked" / "old").chmod(0o666)
    (root / "open" / "protected").write_bytes(b"old")
    (root / "open" / "protected").chmod(0o444)
    (root / "locked").chmod(0o555)
    root.chmod(0o755)
    ended = subprocess.run(
        [sys.executable, "-c", AS_ANYONE, root],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment(),
        timeout=60,
        check=False,
    )
    (root / "locked").chmod(0o755)
    assert (ended.returncode, ended.stdout) == (0, ""), ended.stderr[-1000:]


def test_the_command_says_in_a_line_where_it_cannot_write(tmp_path):
    """No folder; a file where a folder should be; exit status 2 and no traceback."""
    (tmp_path / "file").write_bytes(b"")
    for place in (tmp_path / "gone" / "a.glb", tmp_path / "file" / "a.glb"):
        ended = massing("export", BOATHOUSE, "-o", place)
        assert ended.returncode == 2
        assert len(ended.stderr.strip().splitlines()) <= 2
        assert "Traceback" not in ended.stderr
    (tmp_path / "a.glb").mkdir()
    ended = massing("export", BOATHOUSE, "-o", tmp_path / "a.glb")
    assert ended.returncode == 2
    assert "Traceback" not in ended.stderr


def test_nothing_is_written_over_what_the_project_is_read_from(tmp_path):
    """The project file or a mesh, by any of its names; a file beside them may be written."""
    mesh = tmp_path / "hull.stl"
    text = (
        "massing: 1\nproject: p\nroom: {size: 4000 x 3000, ceiling: [{flat: 2400}]}\n"
        "items:\n  hull: {parts: [{name: a, mesh: {file: hull.stl}}]}\n"
    )
    trimesh.creation.box((50, 50, 50)).export(mesh)
    (tmp_path / "p.yaml").write_text(text, "utf-8")
    project = read_project(tmp_path / "p.yaml")
    assert input_files(project) == (tmp_path / "p.yaml", mesh)
    (tmp_path / "link.glb").symlink_to(mesh)
    (tmp_path / "sub").mkdir()
    for target in (mesh, tmp_path / "sub" / ".." / "p.yaml", tmp_path / "link.glb"):
        with pytest.raises(InputError, match="which the project is read from"):
            refuse_inputs(project, [tmp_path / "new.glb", target])
    refuse_inputs(project, [tmp_path / "new.glb", tmp_path / "sub" / "hull.stl"])
