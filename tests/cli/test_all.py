"""`--all` of draw, picture and report: every scheme in one call, progress for who watches."""

from __future__ import annotations

import os
import pty
import re
import subprocess

import pytest

from massing.handover.pictures import stage
from tests.cli.run import COMMAND, environment, massing

SMALL = """\
massing: 1
project: small
room: {size: 2400 x 1800, ceiling: [{flat: 2300}]}
items: {chest: {body: 600 x 500 x 700}}
schemes:
  as found: [{item: chest, at: [0, 0]}]
  moved: {from: as found, move: {chest: {at: [1000, 0]}}}
"""
VIEWS = ("back-corner", "corner", "cross-section", "long-section", "plan")
MADE = {
    "draw": ["small-as-found-drawings.pdf", "small-moved-drawings.pdf"],
    "picture": [f"small-{scheme}-{view}.png" for scheme in ("as-found", "moved") for view in VIEWS],
    "report": [f"small-{scheme}-report.html" for scheme in ("as-found", "moved")],
}


@pytest.fixture
def small(tmp_path):
    file = tmp_path / "small.yaml"
    file.write_text(SMALL)
    return file


def _needs(command):
    if command != "picture":
        return []
    try:
        stage.require_gl()
    except Exception as error:
        if os.environ.get("MASSING_REQUIRE_ALL") == "1":
            raise
        pytest.skip(str(error))
    return ["--size", "600x600"]


@pytest.mark.parametrize("command", MADE)
def test_every_scheme_is_written_and_told(command, small, tmp_path):
    """All schemes, and of pictures all views; each file is said, nothing else; no bar in a pipe."""
    out = tmp_path / "out"
    out.mkdir()
    done = massing(command, small, "--all", "-o", out, *_needs(command))
    assert (done.returncode, done.stderr) == (0, "")
    names = sorted(path.name for path in out.iterdir())
    told = [line.partition(",")[0].rpartition("/")[2] for line in done.stdout.splitlines()]
    assert sorted(told) == names
    assert [name for name in names if not name.endswith(".svg")] == MADE[command]
    if command == "draw":
        sheets = [int(count) for count in re.findall(r"(\d+) sheets A3", done.stdout)]
        for stem, count in zip(("small-as-found", "small-moved"), sheets, strict=True):
            found = [name for name in names if name.startswith(stem) and name.endswith(".svg")]
            assert found == [f"{stem}-drawings-{k}.svg" for k in range(1, count + 1)]


def test_one_view_of_every_scheme(small, tmp_path):
    done = massing("picture", small, "--all", "--view", "plan", "-o", tmp_path, *_needs("picture"))
    assert done.returncode == 0
    assert sorted(path.name for path in tmp_path.glob("*.png")) == [
        "small-as-found-plan.png",
        "small-moved-plan.png",
    ]


@pytest.mark.parametrize("command", MADE)
def test_a_bar_is_drawn_on_a_terminal_only(command, small, tmp_path):
    """With its complaints on a terminal it counts to the end; the list of files stays clean."""
    leader, follower = pty.openpty()
    done = subprocess.run(
        [*COMMAND, command, str(small), "--all", "-o", str(tmp_path), *_needs(command)],
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


@pytest.mark.parametrize("command", MADE)
@pytest.mark.parametrize(
    ("args", "said"),
    [(("-s", "moved"), "--all"), (("-o", "one.{ending}"), "--all writes several files")],
)
def test_what_all_goes_without(command, args, said, small, tmp_path):
    ending = {"draw": "pdf", "picture": "png", "report": "html"}[command]
    before = sorted(tmp_path.iterdir())
    done = massing(command, small, "--all", *(a.format(ending=ending) for a in args), cwd=tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("command", MADE)
def test_two_schemes_of_one_file_name_are_refused(command, small, tmp_path):
    small.write_text(SMALL.replace("  moved:", "  As  Found:"))
    before = sorted(tmp_path.iterdir())
    done = massing(command, small, "--all", *_needs(command), cwd=tmp_path)
    assert done.returncode == 2
    assert "would both be written as small-as-found" in done.stderr
    assert sorted(tmp_path.iterdir()) == before
