"""Slips in the rest of a file, several at once, and odd files that are right."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
from pathlib import Path

import pytest

import massing.checks
from massing.errors import InputError
from massing.project.follow import CHECK_NAMES
from massing.project.read import parse_project, read_project
from tests.project.traps import HEAD, LENGTH, ROOM, SIZED, assert_faults, scheme

WALL = "{name: stud, thickness: 100, from: {wall: south, along: 2000}, to: "


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (ROOM + "  «size: 4000 x 3000\n", ["room needs the key 'ceiling'"]),
        (ROOM + "  «ceiling: [{flat: 2400}]\n",
         ["a room has exactly one of size, walls and corners; this has none"]),
        (ROOM + "  size: «4000 x -3000\n  ceiling: [{flat: 2400}]\n",
         ["'-3000' must be more than 0"]),
        (ROOM + "  size: «nan x 3000\n  ceiling: [{flat: «inf}]\n",
         [f"'nan' {LENGTH}", f"'inf' {LENGTH}"]),
        (ROOM + "  corners: «[[0, 0], [1000, 1000], [1000, 0], [0, 1000]]\n"
         "  ceiling: [{flat: 2400}]\n", ["walls 'wall 1' and 'wall 3' cross or touch"]),
        (ROOM + SIZED + "  doors: [«{name: a, wall: west, along: 2900, leaf: 762 x 1981}]\n",
         ["door 'a' runs from 2900 to 3662 along wall 'west', which is 3000 long"]),
        (ROOM + SIZED + "  doors: [«{name: a, wall: west, along: -5, leaf: 762 x 1981}]\n",
         ["door 'a' runs from -5 to 757 along wall 'west', which is 3000 long"]),
        (ROOM + SIZED + "  build-up: «half brik\n",
         ["no such build-up 'half brik' (did you mean 'half-brick pier'?)"]),
        (ROOM + SIZED + "«item:\n  a: {body: 1 x 2 x 3}\n",
         ["unknown key 'item' (did you mean 'items'?)"]),
        (ROOM + SIZED + "items:\n  a: {body: «1 x -2 x 3}\n  b: {body: «0 x 1 x 1}\n",
         ["'-2' must be more than 0", "'0' must be more than 0"]),
        (ROOM + SIZED + "items:\n  «c: {weight: 5}\n  d: {like: «washr}\n",
         ["'c' has no body; give 'body' or 'parts', or 'like' another item",
          "there is no item 'washr' (did you mean 'washer'?)"]),
        (ROOM + SIZED + "items:\n  a: {parts: [{name: m, mesh: {file: «none.glb}}]}\n"
         "  Big-Box: {body: 1 x 1 x 1}\n  «big box: {body: 1 x 1 x 1}\n",
         ["there is no mesh file 'none.glb'",
          "'big box' and 'Big-Box' are one name: case and hyphens do not count"]),
        (ROOM + SIZED + "items:\n  «a: {parts: [{name: m, prism: {corners: "
         "[[0, 0], [10, 10], [10, 0], [0, 10]], z: 0..5}}]}\n",
         ["sides 1 and 3 of 'a m' meet or cross"]),
        (ROOM + SIZED + "rules: {headroom: «-5, support: «500, door-angle: «1000}\n",
         ["'-5' must be more than 0", "500 is not from 0 to 100 per cent",
          "1000 is not from 0 to 270 degrees"]),
        ("massing: «2\nproject: p\nroom:\n" + SIZED,
         ["'massing: 2' is not a version this tool reads; write 1"]),
        ("«project: p\nroom:\n" + SIZED, ["the file needs the key 'massing'"]),
        ("«massing: 1\nproject: p\n", ["the file needs the key 'room'"]),
        ("massing: 1\nproject: p\nroom: «null\n",
         ["'room' is empty; a table of 'key: value' belongs here"]),
        ("massing: 1\nproject: p\n«rooom:\n" + SIZED,
         ["unknown key 'rooom' (did you mean 'room'?)"]),
        ("«", ["the file is empty"]),
        ("«- a\n", ["the file must be a table of 'key: value' lines"]),
    ],
)  # fmt: skip
def test_slip_in_the_rest(text, says):
    """The room, own items, rules and the head of the file."""
    assert_faults(text, *says)


def test_everything_wrong_is_told_at_once():
    """Room, items and schemes in one go, in file order, one cause once."""
    text = scheme(
        "  a:",
        "    - {item: «crat, at: [0, 0]}",
        "    - {item: crate, on: «ghost}",
        "  b:",
        "    from: a",
        "    remove: [«gone]",
        "  c: {from: b}",
    ).replace("wall: west", "wall: «wets")
    assert_faults(
        text,
        "there is no wall 'wets'; the walls are south, east, north, west (did you mean 'west'?)",
        "there is no item 'crat' (did you mean 'crate'?)",
        "nothing called 'ghost' to stand on",
        "nothing called 'gone' to remove",
    )


def test_references_that_multiply_are_refused():
    """Eight to the sixth values are never made."""
    rows = ["a: &a [x, x, x, x, x, x, x, x]"]
    for one_, other in zip("bcdef", "abcde", strict=True):
        rows.append(f"{one_}: &{one_} [{', '.join(['*' + other] * 8)}]")
    with pytest.raises(InputError, match="more than 50,000 values"):
        parse_project("\n".join(rows))


def test_open_mesh_is_told_where_the_item_is(tmp_path):
    """A mesh is tried when the file is read, not first when it is placed."""
    (tmp_path / "lid.obj").write_text("v 0 0 0\nv 9 0 0\nv 0 9 0\nv 0 0 9\nf 1 3 2\nf 1 2 4\n")
    file = tmp_path / "a.yaml"
    file.write_text(ROOM + SIZED + "items:\n  lid: {parts: [{name: m, mesh: {file: lid.obj}}]}\n")
    with pytest.raises(InputError) as caught:
        read_project(file)
    (fault,) = caught.value.faults
    assert "the mesh 'lid.obj' is open: 4 edges" in fault.says
    assert (fault.mark.line, fault.mark.column) == (7, 3)


def test_room_alone_is_a_project():
    """No items, no schemes: an empty room to check."""
    project = parse_project(ROOM + SIZED)
    assert project.arrangement().placements == ()
    assert list(project.arrangements) == ["as found"]


def test_empty_schemes_are_an_empty_room():
    """A table of no schemes, and a scheme of no placements."""
    assert list(parse_project(HEAD.rstrip() + " {}\n").arrangements) == ["as found"]
    assert parse_project(scheme("  bare: []")).arrangement("bare").placements == ()


def test_words_that_other_readers_take_for_values_are_names():
    """`on`, `no`, numbers and times are just names of schemes."""
    names = ["on", "no", "1:30", "010", "1e3", "null x", "a: b", "é ü", "日本", "a/b", '"q"', "-"]
    lines = [
        f"  '{name}': []" if name not in {"on", "no", "010"} else f"  {name}: []" for name in names
    ]
    assert list(parse_project(scheme(*lines)).arrangements) == names


def test_an_item_may_be_called_on():
    """`on` the key and `on` the name do not meet."""
    text = HEAD.replace("  crate:", "  on:") + "  no:\n    - {item: on, at: [0, 0]}\n"
    assert parse_project(text).arrangement("no").placements[0][0] == "on"


@pytest.mark.parametrize(
    "word", ["crate 2", "beam", "ground", "entry", "light", "north", "bodies", "crate", "stud"]
)
def test_what_may_be_accepted(word):
    """Things, fabric, floors, openings, walls, checks, and what another scheme builds."""
    text = HEAD.replace(
        "  doors:",
        "  floor: [{name: ground, level: 0}]\n"
        "  fabric: [{name: beam, box: 0..99 x 0..99 x 0..99}]\n  doors:",
    )
    lines = [
        "  a:",
        f"    - {{item: crate, at: [0, 0], accept: [{word}]}}",
        "    - {item: crate, at: [900, 0]}",
        "  b:",
        "    from: a",
        "    remove: [crate 2]",
        f"    partitions: [{WALL}{{wall: north, along: 2000}}}}]",
    ]
    assert parse_project(text + "\n".join(lines))


def test_every_check_may_be_accepted():
    """The names a file may use are the names the checks give their findings."""
    found = set()
    for info in pkgutil.iter_modules(massing.checks.__path__):
        module = importlib.import_module(f"massing.checks.{info.name}")
        text = Path(str(module.__file__)).read_text()
        found |= set(re.findall(r'^[A-Z]+[A-Z_]* = "([a-z ]+)"$', text, re.MULTILINE))
        for line in re.findall(
            r'^[A-Z_]+(?:, [A-Z_]+)+ = ("[a-z ]+"(?:, "[a-z ]+")+)$', text, re.MULTILINE
        ):
            found |= set(re.findall(r'"([a-z ]+)"', line))
        tree = ast.parse(text)
        for call in ast.walk(tree):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Reading":
                (check,) = (k.value for k in call.keywords if k.arg == "check")
                names = [n.id for n in ast.walk(check) if isinstance(n, ast.Name)]
                found |= {getattr(module, name) for name in names if name.isupper()}
    assert "ceiling" in found
    assert found <= set(CHECK_NAMES), "name the new check in massing/project/follow.py"
    assert list(CHECK_NAMES) == sorted(CHECK_NAMES)


@pytest.mark.parametrize(
    "use",
    [
        "washer",
        "washer in use",
        "washer door",
        "washer door open",
        "washer soap drawer",
        "washer drawers open",
        "washer drawer in use",
        "entry open",
        "entry shut",
        "entry in use",
    ],
)
def test_what_may_be_used_together(use):
    """An item, whatever of it moves, and the doors."""
    text = scheme(
        "  a:",
        "    add: [{item: front load washer, name: washer, at: [0, 0]}]",
        f"    together: [[{use}, hatch open]]",
    )
    assert parse_project(text).arrangement("a").together == ((use, "hatch open"),)
