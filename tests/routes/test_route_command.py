"""`massing route` as it is called: text, JSON, exit status, a picture, and slips."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from massing.cli.route_command import command
from massing.errors import InputError

FILE = str(Path(__file__).resolve().parents[2] / "examples" / "boathouse.yaml")


def run(*args):
    return CliRunner().invoke(command, [FILE, *args], standalone_mode=False, catch_exceptions=False)


def test_it_says_how():
    """The air compressor is already in its place and comes in by the side door."""
    done = run("air")
    assert done.return_value == 0
    assert "air compressor comes in by side door, upright: keeps" in done.output
    assert "open ground taken outside the door" in done.output


def test_json_holds_the_path():
    """Rows of x, y, turn and pose, the last in its place; stable to the byte."""
    one, two = (run("bin", "-s", "first", "--format", "json").output for _ in range(2))
    assert one == two
    found = json.loads(one)
    assert (found["found"], found["proof"], found["door"]) == (True, "path", "side door")
    assert found["path"][-1] == {
        "x_mm": 4850.0,
        "y_mm": 1850.0,
        "turn_deg": 0.0,
        "pose": "in its place",
    }
    assert set(found["footprints_mm"]) == {row["pose"] for row in found["path"]}


def test_a_refusal_is_exit_one():
    """The bench is wider than the side door's stopped leaf leaves: proved for that door."""
    done = run("bench", "-s", "first", "--through", "side")
    assert done.return_value == 1
    assert "650 wide does not pass a 400 opening" in done.output
    assert "Proved, for every way of holding it" in done.output


def test_a_picture_is_written(tmp_path):
    """A PNG, the same twice."""
    for name in ("a.png", "b.png"):
        run("air", "--out", str(tmp_path / name))
    data = (tmp_path / "a.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert data == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("kayakk",), "did you mean 'kayak'"),
        (("air", "--through", "sidedoor"), "no door called 'sidedoor'"),
        (("air", "--hall", "20"), "a hall is 200 to 20000"),
        (("air", "--out", "x.jpg"), "a picture is a .png file"),
    ],
)
def test_slips_are_faults(args, told):
    """Each names what is wrong."""
    with pytest.raises(InputError) as caught:
        run(*args)
    assert told in str(caught.value)
