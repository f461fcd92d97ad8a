"""The front door: help, exit status, and leaving quietly."""

from __future__ import annotations

import importlib
import os
import signal
import subprocess
import time
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from massing.cli.main import COMMANDS, main
from tests.cli.run import BOATHOUSE, COMMAND, environment, massing

HERE = Path(importlib.import_module("massing.cli").__file__).parent
SMALL = """massing: 1
project: p
room: {size: 4000 x 3000, ceiling: [{flat: 2400}]}
items: {crate: {body: 600 x 400 x 500}}
schemes:
  clear: [{item: crate, at: [500, 500]}]
  clash: [{item: crate, at: [500, 500]}, {item: crate, at: [600, 600]}]
"""


@pytest.fixture
def small(tmp_path):
    file = tmp_path / "small.yaml"
    file.write_text(SMALL)
    return file


def ran(*args: str | Path) -> tuple[int, str]:
    """Status and output of the command, in this process."""
    seen = []

    @click.command(context_settings={"ignore_unknown_options": True})
    @click.argument("words", nargs=-1, type=click.UNPROCESSED)
    def shell(words):
        del words
        try:
            main([str(arg) for arg in args])
        except SystemExit as leaving:
            seen.append(leaving.code)

    result = CliRunner().invoke(shell, [])
    assert result.exception is None, result.exception
    return seen[0], result.output


def test_every_command_is_a_file_and_every_file_a_command():
    """No command without its file, no file without its command."""
    files = {path.name.removesuffix("_command.py") for path in HERE.glob("*_command.py")}
    assert files == set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(name):
    """Its own name, a first sentence, and help for each option."""
    command = importlib.import_module(f"massing.cli.{name}_command").command
    assert command.name == name
    assert command.help
    assert command.help.split("\n")[0].endswith((".", ":"))
    assert COMMANDS[name].endswith(".")
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, option.name
    status, told = ran(name, "--help")
    assert status == 0
    assert told.startswith(f"Usage: massing {name}")
    assert max(map(len, told.splitlines())) <= 98


def test_shared_options_are_the_same_everywhere():
    """--scheme is -s, --out is -o, wherever they are."""
    short = {"scheme": "-s", "out": "-o"}
    for name in COMMANDS:
        command = importlib.import_module(f"massing.cli.{name}_command").command
        for option in command.params:
            if option.name in short:
                assert option.opts == [f"--{option.name}", short[option.name]], name


def test_help_lists_every_command():
    """With its line."""
    status, told = ran("--help")
    assert status == 0
    for name in COMMANDS:
        assert f"  {name} " in told
    assert ran("-h") == (0, told)


def test_status_says_whether_anything_conflicts(small):
    """0 and 1."""
    assert ran("check", small, "-s", "clear")[0] == 0
    assert ran("check", small, "-s", "clash")[0] == 1
    assert ran("check", small)[0] == 1


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("chek",), "there is no command 'chek'. Did you mean 'check'?"),
        (("check",), "Missing argument 'FILE'"),
        (("check", "none.yaml"), "there is no file 'none.yaml'"),
        (("check", "."), "'.' is a folder, not a file"),
        (("check", ""), "'.' is a folder, not a file"),
        (("check", "SMALL", "-s", "claer"), "it has clear, clash (did you mean 'clear'?)"),
        (("check", "SMALL", "-s", "cl"), "there is no scheme 'cl'"),
        (("check", "SMALL", "-s", ""), "there is no scheme ''"),
        (("check", "SMALL", "--format", "xml"), "'xml' is not one of 'text', 'json'"),
        (("check", "SMALL", "--every-scheme", "-s", "clear"), "--every-scheme goes with none of"),
        (("check", "SMALL", "--bogus"), "No such option"),
        (("picture", "SMALL", "--size", "big"), "'big' is not a picture size"),
        (("picture", "SMALL", "--size", "10x10"), "each 600 to 8000"),
        (("picture", "SMALL", "--size", "1600x99999"), "each 600 to 8000"),
        (("picture", "SMALL", "--size", "²²²²x1000"), "'²²²²x1000' is not a picture size"),
        (("picture", "SMALL", "--out", "a.jpg"), "a picture is a .png file"),
        (("picture", "SMALL", "--view", "top"), "'top' is not one of"),
        (("picture", "SMALL", "--out", "none/a.png"), "there is no folder none"),
        (("export", "SMALL", "--out", "none/a.glb"), "there is no folder none"),
        (("export", "SMALL", "--out", "none/deeper"), "there is no folder none"),
        (("export", "SMALL", "--out", "a.xyz"), "no mesh format for 'a.xyz'"),
        (("export", "SMALL", "--inset", "-1"), "-1.0 is not in the range"),
        (("export", "SMALL", "--inset", "nan"), "not a finite number"),
        (("catalog", "washr"), "there is no item 'washr' (did you mean 'washer'?)"),
        (("new", "none/a.yaml"), "there is no folder none"),
        (("remeasure", "none.yaml"), "there is no file 'none.yaml'"),
    ],
)
def test_what_cannot_be_done_is_said_with_status_2(small, monkeypatch, args, says):
    """One plain sentence, no trace."""
    monkeypatch.chdir(small.parent)
    status, told = ran(*(small if arg == "SMALL" else arg for arg in args))
    assert status == 2
    assert says in " ".join(told.split())
    assert "Traceback" not in told


def test_schemes_may_be_named_by_how_they_begin(small):
    """Where only one begins so."""
    assert ran("check", small, "-s", "cle")[1].startswith("p / clear\n")
    assert ran("check", small, "-s", "CLA")[1].startswith("p / clash\n")


def test_a_name_in_full_beats_how_another_begins(tmp_path):
    """`a` is `a` though `ab` begins so too."""
    file = tmp_path / "a.yaml"
    file.write_text(SMALL.replace("clear:", "a:").replace("clash:", "ab:"))
    assert ran("check", file, "-s", "a")[1].startswith("p / a\n")


def test_faults_go_to_the_second_stream(tmp_path):
    """With their place, all of them, and how many."""
    file = tmp_path / "a.yaml"
    file.write_text(SMALL.replace("crate, at", "crat, at"))
    done = massing("check", file)
    assert (done.returncode, done.stdout) == (2, "")
    lines = done.stderr.splitlines()
    assert lines[0] == f"{file}:6:18: there is no item 'crat' (did you mean 'crate'?)"
    assert lines[1:3] == [
        "      clear: [{item: crat, at: [500, 500]}]",
        "    " + " " * 17 + "^",
    ]
    assert lines[-1] == "3 faults in the input"


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to this user")
def test_unreadable_file_and_folder_without_leave(small):
    """Said, with status 2."""
    small.parent.chmod(0o500)
    try:
        assert massing("new", small.parent / "b.yaml").returncode == 2
        assert massing("export", small, "-s", "clear").returncode == 2
        small.chmod(0)
        done = massing("check", small)
        assert (done.returncode, "cannot be read" in done.stderr) == (2, True)
    finally:
        small.parent.chmod(0o700)


def test_missing_tool_is_status_3(small, monkeypatch):
    """Said with how to get it, not as a fault of the file."""
    from massing.errors import MissingToolError
    from massing.handover.pictures import stage

    def missing() -> None:
        raise MissingToolError("no OpenGL here; install such and such")

    monkeypatch.setattr(stage, "require_gl", missing)
    status, told = ran("picture", small)
    assert (status, told) == (3, "missing: no OpenGL here; install such and such\n")


def test_stopping_from_the_keyboard_is_quiet(small):
    """Status 130, no trace."""
    busy = small.with_name("busy.yaml")
    busy.symlink_to("/dev/stdin")
    with subprocess.Popen(
        [*COMMAND, "check", str(busy)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
        text=True,
    ) as running:
        time.sleep(3.0)  # it is waiting for the rest of its input by now
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=20)
    assert (running.returncode, out, err.strip()) == (130, "", "stopped")


@pytest.mark.parametrize("args", [("check", BOATHOUSE, "--all"), ("schema",), ("catalog",)])
def test_reader_that_goes_away_is_quiet(args):
    """Output to a closed pipe ends without a word, and not as a conflict."""
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [*COMMAND, *map(str, args)],
        stdout=write,
        stderr=subprocess.PIPE,
        env=environment(),
        check=False,
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (141, b"")


def test_terminal_without_the_letters(small):
    """A size is told with what letters there are."""
    text = small.read_text().replace("project: p", "project: Küche").replace("4000 x", "4000 ±20 x")
    small.write_text(text, encoding="utf-8")
    done = massing("check", small, "-s", "clear", PYTHONIOENCODING="ascii", LC_ALL="C")
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
