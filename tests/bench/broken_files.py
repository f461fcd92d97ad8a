"""Good project files and meshes in, broken ones out: seeded changes that know their structure."""

from __future__ import annotations

import ast
import json
import re
import struct
from functools import cache
from pathlib import Path
from textwrap import dedent, indent

import numpy as np

from massing.errors import InputError
from massing.project.read import parse_project
from massing.project.schema import schema_dict

__all__ = ["broken_mesh", "broken_project", "meshes", "projects"]

ROOT = Path(__file__).resolve().parents[2]

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_KEY = re.compile(r"\w[\w -]{0,60}(?=:)")
_VALUE = re.compile(r"(?<=: )[^\n,{}\[\]]+")
_BRACKETS = re.compile(r"\{[^{}\n]*\}|\[[^\[\]\n]*\]")

_SHORT = (
    "0 -0 -1 1 0.0001 1e3 1e308 1e309 1e-320 1e999999 999999 1000000 1000001 -1000000 .5 5. 010 "
    "0x10 0b1 1_000 1:30 nan inf -inf .inf .nan ２４００ ٢٤٠٠ ½ 1/2 1/0 0/0 3..2 2..3 0..0 x × 5x5 "
    "±5 5±5 5±-1 5±0 0±1 5±1e9 1:0 0:1 1:12 1e3m 6ft 6' 6'6\" 1km 5mm 5µm 5cm 5in 9in±1mm "
    "4294967296 9223372036854775808 -9223372036854775809 0.1e400 + - ± ∞ ٪ % 100% 1e+ e5"
)
NUMBERS = [
    *_SHORT.split(),
    "9" * 5000,
    "0." + "0" * 5000 + "1",
    "1 ft 13 in",
    "5 ft 3 1/0 in",
    "5 ± 3 ± 2",
    "5 -1",
]
VALUES = (
    "", "~", "null", "{}", "[]", "[[]]", "{a: {}}", "''", '""', '"\\0"', '"\\ud800"', "'a\n  b'",
    "|\n    x", ">-\n    y", "&a x", "*a", "*size", "<<", "!!int 5", "!!python/object:os.system x",
    "! x", "%", "@", "`", "yes", "no", "true", "on", "? x", "- x", "a: b", "#", " # x", "&a *a",
    "[1, 2, 3]", "[a, a]", "{from: as found}", "\t", "\u202e", "\u200b", "\ufeff", "\x85", "\u2028",
    "é" * 90, "e\u0301", "🛁", "x" * 81, "x" * 70_000, "[" * 60 + "]" * 60, "{a: " * 60 + "}" * 60,
    "[" * 30_000, "as found", "north", "south", "washer", "room", "wall 1", "wall 0", "wall 99",
)  # fmt: skip


@cache
def words() -> tuple[str, ...]:
    """Every key and every fixed word of a project file, from its schema."""
    found = set()

    def look(value: object) -> None:
        if isinstance(value, dict):
            found.update(value.get("properties", {}))
            found.update(v for v in value.get("enum", []) if isinstance(v, str))
            for inner in value.values():
                look(inner)
        elif isinstance(value, list):
            for inner in value:
                look(inner)

    look(schema_dict())
    return tuple(sorted(found))


_ROOM = """massing: 1
project: p
room:
  size: 4000 ±20 x 3000
  ceiling: [{slopes: {south: 1900, north: 2600}}]
  doors: [{name: entry, wall: west, along: 700, leaf: 762 x 1881 x 44}]
"""
_RICH = (
    _ROOM
    + """  windows:
    - {name: light, wall: north, along: 900, size: 900 x 700, sill: 900, opens: in, hinge: top,
       leaf: 880 x 680 x 40, angle: 30, escape: yes}
survey: {by: client tape}
people: {who: woman, percentile: 95}
prefer: {standing: 2, open-floor: 1, daily: 3}
rules: {headroom: 1900, sitting: 1200, under: 1800, doorway: 700, window: 300, near: 20,
  support: 80, passage: 600, sidestep: 450, route: 1900, stoop: 1800, step-over: 50, rise: 180,
  escape: 600, knuckles: 50, top-shelf: 1700, shoulder: 1400, water: 600, aisle: 900}
items:
  chest:
    body: 600 ±5 x 600 x 900
    weight: 30
    zone: {front: 600, headroom: 1800}
    gaps: {back: 20, left: 10}
    motions: [{name: lid, kind: lid}, {name: door, kind: leaf, angle: 100, hinge: left},
              {name: drawer, kind: drawer, travel: 400}]
  odd:
    parts:
      - {name: foot, box: 0..500 x 0..400 x 0..100}
      - {name: post, cylinder: {at: [250, 200, 100], diameter: 80, length: 800, axis: z}}
      - {name: top, prism: {corners: [[0, 0], [500, 0], [250, 400]], z: 900..950}}
schemes:
  as found:
    - {item: chest, name: old chest, against: south, along: 300, state: {lid: open}}
    - {item: washer, corner: [north, east], turn: 15, accept: [headroom]}
  next:
    from: as found
    says: another way
    remove: [washer]
    move: {old chest: {against: north, along: 900}}
    doors: {entry: {hinge: right, opens: out}}
    partitions:
      - {name: screen, thickness: 100, from: [2500, 0], to: [2500, 2000], height: 1800,
         openings: [{along: 600, leaf: 700 x 1700 x 40}]}
    add:
      - {item: crate, on: old chest, shift: [20, 10]}
      - {item: crate, name: up, against: west, from-right: 100, height: 1200, mount: wall}
      - {item: chest, centre: [1500, 1500], facing: north, by: [5, 0]}
    together: [[entry open, old chest lid open]]
"""
)


def _composed() -> list[str]:
    """The named rooms and every entry of the catalogue, as whole projects, and one with all."""
    from tests.zoo import ROOMS

    texts = [
        f"massing: 1\nproject: p\nroom:\n{indent(dedent(room), '  ')}" for room in ROOMS.values()
    ]
    for path in sorted((ROOT / "catalog" / "items").glob("*.yaml")):
        entry = indent(path.read_text("utf-8"), "    ")
        texts.append(
            f"{_ROOM}items:\n  thing:\n{entry}schemes:\n  s: [{{item: thing, at: [9, 9]}}]\n"
        )
    return [*texts, _RICH]


@cache
def projects() -> tuple[str, ...]:
    """The examples, every whole project text in the tests, and what can be composed, readable."""
    texts = [path.read_text("utf-8") for path in sorted((ROOT / "examples").glob("*.yaml"))]
    for path in sorted((ROOT / "tests").rglob("*.py")):
        nodes = ast.walk(ast.parse(path.read_text("utf-8")))
        said = (str(node.value) for node in nodes if isinstance(node, ast.Constant))
        texts += [text for text in said if text.startswith("massing: 1\n")]
    texts += _composed()
    readable = []
    for text in dict.fromkeys(texts):
        try:
            parse_project(text)
        except InputError:
            continue
        readable.append(text)
    return tuple(readable)


def _swap(rng: np.random.Generator, text: str, pattern: re.Pattern[str], others: list[str]) -> str:
    places = list(pattern.finditer(text))
    if not places:
        return text
    at = places[rng.integers(len(places))]
    return text[: at.start()] + others[rng.integers(len(others))] + text[at.end() :]


def _number(rng: np.random.Generator, text: str) -> str:
    return _swap(rng, text, _NUMBER, NUMBERS)


def _key(rng: np.random.Generator, text: str) -> str:
    return _swap(rng, text, _KEY, [*words(), *("", "a" * 90, "it's", '"', "<<", "1", "[a]", "? a")])


def _value(rng: np.random.Generator, text: str) -> str:
    return _swap(rng, text, _VALUE, [*VALUES, *words()])


def _nest(rng: np.random.Generator, text: str) -> str:
    held = [m.group() for m in _BRACKETS.finditer(text)] or ["{}"]
    one = held[rng.integers(len(held))]
    return _swap(rng, text, _BRACKETS, [f"[{one}]", f"{{a: {one}}}", f"[{one}, {one}]", one, "[]"])


def _lines(rng: np.random.Generator, text: str) -> str:
    """A line doubled, dropped, moved, indented otherwise, or taken from another file."""
    lines = text.split("\n")
    at, to = rng.integers(len(lines), size=2)
    match rng.integers(7):
        case 0:
            lines.insert(at, lines[at])
        case 1:
            del lines[at]
        case 2:
            lines.insert(to, lines.pop(at))
        case 3:
            lines[at] = " " * int(rng.integers(1, 9)) + lines[at]
        case 4:
            lines[at] = lines[at].lstrip()
        case 5:
            lines[at] = lines[at].replace("  ", "\t", 1)
        case _:
            other = projects()[rng.integers(len(projects()))].split("\n")
            start = rng.integers(len(other))
            lines[at:at] = other[start : start + rng.integers(1, 9)]
    return "\n".join(lines)


def _much(rng: np.random.Generator, text: str) -> str:
    """A line so often, an alias bomb, or very many entries."""
    lines = text.split("\n")
    at = int(rng.integers(len(lines)))
    match rng.integers(5):
        case 0:
            lines[at:at] = [lines[at]] * int(rng.integers(2, 300))
        case 1:
            bomb = ["x0: &x0 [1, 1]"]
            bomb += [f"x{k}: &x{k} [{', '.join([f'*x{k - 1}'] * 9)}]" for k in range(1, 9)]
            lines[at:at] = bomb
        case 2:
            lines[at] += " [" + "1, " * int(rng.integers(1, 60_000)) + "]"
        case 3:
            lines[at:at] = [f"  k{k}: {k}" for k in range(int(rng.integers(1, 3000)))]
        case _:
            lines[at] = "".join(lines[at] or "x") * int(rng.integers(1, 400))
    return "\n".join(lines)


def _letters(rng: np.random.Generator, text: str) -> str:
    """A letter put in, taken out or doubled."""
    at = int(rng.integers(len(text) + 1))
    odd = "{}[],:#&*!|>'\"%@`\t\n\r \\-?~\0\x07\x85\u2028\u202e\ufeff\ufffe½٣é🛁"
    match rng.integers(3):
        case 0:
            return text[:at] + odd[rng.integers(len(odd))] + text[at:]
        case 1:
            return text[:at] + text[at + int(rng.integers(1, 9)) :]
        case _:
            return text[:at] + text[max(at - 3, 0) :]


_PROJECT_WAYS = (_number, _number, _key, _value, _value, _nest, _lines, _lines, _letters, _much)


def broken_project(seed: int | list[int], start: str | None = None) -> bytes:
    """A project text with one to five things changed; at times its bytes too."""
    rng = np.random.default_rng(seed)
    text = projects()[rng.integers(len(projects()))] if start is None else start
    for _ in range(int(rng.integers(1, 6))):
        text = _PROJECT_WAYS[rng.integers(len(_PROJECT_WAYS))](rng, text)
    if rng.random() < 0.1:
        text = text.replace("\n", str(rng.choice(["\r\n", "\r"])))
    data = text.encode("utf-8", "surrogatepass")
    return _bytes(rng, data) if rng.random() < 0.05 else data


def _bytes(rng: np.random.Generator, data: bytes) -> bytes:
    """A few bytes changed, dropped or repeated."""
    raw = bytearray(data)
    for _ in range(int(rng.integers(1, 5))):
        at = int(rng.integers(len(raw) + 1))
        match rng.integers(4):
            case 0:
                raw[at : at + 1] = bytes([rng.integers(256)])
            case 1:
                raw[at : at + 4] = struct.pack("<I", int(rng.choice([0, 1, 2**31, 2**32 - 1])))
            case 2:
                del raw[at : at + int(rng.integers(1, 40))]
            case _:
                raw[at:at] = raw[at : at + int(rng.integers(1, 40))]
    return bytes(raw)


@cache
def meshes() -> tuple[tuple[str, bytes], ...]:
    """Good meshes of every format: ending and bytes."""
    import trimesh

    found = []
    for name in ("L", "two apart", "bitten", "tilted L"):
        from tests.items.test_mesh import solid_of, surface

        mesh = surface(solid_of(name))
        scene = trimesh.Scene()
        place = trimesh.transformations.rotation_matrix(0.5, [1, 2, 3])
        scene.add_geometry(mesh, node_name="a", transform=place)
        found.append((".glb", scene.export(file_type="glb")))
        found += [(".obj", mesh.export(file_type="obj").encode())]
        found += [(".stl", mesh.export(file_type="stl"))]
        found += [(".stl", mesh.export(file_type="stl_ascii").encode())]
    return tuple(found)


def _json_value(rng: np.random.Generator, value: object) -> object:
    """The same JSON with one thing in it another."""
    if isinstance(value, dict) and value and rng.random() < 0.9:
        key = list(value)[rng.integers(len(value))]
        return {**value, key: _json_value(rng, value[key])}
    if isinstance(value, list) and value and rng.random() < 0.9:
        at = int(rng.integers(len(value)))
        return [_json_value(rng, v) if k == at else v for k, v in enumerate(value)]
    others = (
        0, 1, 2, 3, -1, 4, 5, 6, 7, 0.5, 1e300, -1e30, 2**31, 2**63, 10**400, 5121, 5126, True,
        None, "", "SCALAR", "VEC3", [], [0], [0, 0], {}, [value, value], {"mesh": 0}, float("nan"),
    )  # fmt: skip
    return others[rng.integers(len(others))]


def broken_mesh(seed: int | list[int], start: tuple[str, bytes] | None = None) -> tuple[str, bytes]:
    """Ending and bytes of a mesh with something changed: its JSON, its numbers or its bytes."""
    rng = np.random.default_rng(seed)
    ending, data = meshes()[rng.integers(len(meshes()))] if start is None else start
    for _ in range(int(rng.integers(1, 4))):
        if ending == ".glb" and rng.random() < 0.8 and data[:4] == b"glTF":
            data = _glb_with(rng, data)
        elif ending != ".glb" and rng.random() < 0.7 and b"\0" not in data[:2000]:
            way = (_number, _number, _lines, _letters)[rng.integers(4)]
            data = way(rng, data.decode("utf-8", "replace")).encode("utf-8", "surrogatepass")
        else:
            data = _bytes(rng, data)
    return ending, data


def _glb_with(rng: np.random.Generator, data: bytes) -> bytes:
    size = int.from_bytes(data[12:16], "little")
    try:
        table = json.loads(data[20 : 20 + size])
    except ValueError:
        return _bytes(rng, data)
    try:
        text = json.dumps(_json_value(rng, table)).encode()
    except ValueError:
        return data
    text += b" " * (-len(text) % 4)
    body = struct.pack("<I", len(text)) + b"JSON" + text + data[20 + size :]
    return data[:8] + struct.pack("<I", len(body) + 12) + body
