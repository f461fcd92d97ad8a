"""Project texts in, odd ones out that are mostly still well written: what fits no room.

Where ``broken_files`` breaks the writing, this bends the meaning: values change places, a value of
the same key comes from another file, numbers become near or far ones, names lead elsewhere, and
``ODD`` holds rooms that no survey would give.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import TypeVar

import numpy as np

from massing.errors import InputError
from massing.reading.syntax import Node, parse_syntax

__all__ = ["ODD", "odd_project"]

T = TypeVar("T")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_LONGEST = 20_000
_HEAD = "massing: 1\nproject: p\n"
_BOX = "room: {size: 4000 x 3000, ceiling: [{flat: 2300}], doors: [%s]}\n"
_DOOR = "{name: entry, wall: west, along: 700, leaf: 762 x 1981 x 44}"
_ITEMS = "items: {a: {body: 600 x 500 x 400}, b: {body: 500 x 400 x 300, zone: {front: 600}}}\n"


def _room(outline: str, ceiling: str = "[{flat: 2300}]", more: str = "") -> str:
    return f"{_HEAD}room: {{{outline}, ceiling: {ceiling}{more}}}\n{_ITEMS}schemes: {{s: []}}\n"


def _placed(*places: str, door: str = _DOOR) -> str:
    return f"{_HEAD}{_BOX % door}{_ITEMS}schemes:\n  s: [{', '.join(places)}]\n"


_SIZE = "size: 4000 x 3000"
ODD = (
    _room("corners: [[0, 0], [4000, 3000], [4000, 0], [0, 3000]]"),
    _room("corners: [[0, 0], [4000, 0], [4000, 3000], [2000, 0], [0, 3000]]"),
    _room("corners: [[0, 0], [4000, 0], [4000, 0], [4000, 3000], [0, 3000]]"),
    _room("corners: [[0, 0], [2000, 0], [4000, 0]]"),
    _room("corners: [[0, 0], [4000, 0], [4000, 3000], [2000, 3000], [2000, 5000], [2000, 3000]]"),
    _room("corners: [[0, 0], [0, 3000], [4000, 3000], [4000, 0]]"),
    _room("corners: [[1e5, 1e5], [104000, 1e5], [104000, 103000]]"),
    _room("size: 1 x 1"),
    _room("size: 40 m x 60 m"),
    _room("walls: [{length: 4000, turn: right}, {length: 3000, turn: right}, {length: 9000}]"),
    _room("walls: [{length: 4000, turn: left}, {length: 3000, turn: left}, {}, {}]"),
    _room("walls: [{length: 4000 ±5}, {length: 3000 ±5}, {length: 9000 ±5}]"),
    _room("walls: [{length: 3000 ±5}, {length: 4000 ±5}, {length: 5000 ±5}]"),
    _room(_SIZE, "[{flat: -100}]"),
    _room(_SIZE, "[{flat: 0}]"),
    _room(_SIZE, "[{flat: 2300}, {area: 0..9000 x -500..500, flat: 100, lowers: yes}]"),
    _room(_SIZE, "[{slopes: {south: -500, north: 3000}}]"),
    _room(_SIZE, "[{slopes: {south: 2000, east: 3000}}]"),
    _room(_SIZE, "[{ridge: {along: x, height: 900}, eaves: {south: 2000, north: 2100}}]"),
    _room(_SIZE, "[{hip: {eaves: 1200, pitch: 89.9}}]"),
    _room(_SIZE, "[{hip: {eaves: 1200, pitch: 40}, collar: 2100}]"),
    _room(_SIZE, "[{plane: [[0, 0, 2300], [1, 0, 2300], [2, 0, 2300]]}]"),
    _room(_SIZE, "[{plane: [[0, 0, 0], [1, 0, 2300], [0, 1, 2300]]}]"),
    _room(_SIZE, "[{slopes: {south: 900 ±900, north: 2400 ±2000}}]"),
    _room(_SIZE, more=", floor: [{level: 2300}]"),
    _room(_SIZE, more=", floor: [{level: 0}, {from: east, depth: 4000, level: 2400}]"),
    _room(_SIZE, more=", floor: [{from: east, depth: 1, level: 150}]"),
    _room(_SIZE, more=", fabric: [{name: f, box: 0..4000 x 0..3000 x 0..2300}]"),
    _room(_SIZE, more=", fabric: [{name: f, prism: [[0, 0], [1, 1], [2, 2]], z: 0..9}]"),
    _room(_SIZE, more=", fabric: [{name: f, prism: [[0, 0], [9, 9], [9, 0], [0, 9]], z: 0..9}]"),
    _room(_SIZE, more=", windows: [{name: w, wall: north, along: 0, size: 4000 x 2300, sill: 0}]"),
    _room(_SIZE, more=", windows: [{name: w, wall: north, along: 0, size: 9 x 9, sill: 2299}]"),
    _room(_SIZE, more=", thickness: 5000, measured: outside"),
    _placed(door=_DOOR.replace("762", "3100")),
    _placed(door=f"{_DOOR}, {_DOOR.replace('entry', 'other')}"),
    _placed(door=_DOOR.replace("1981 x 44", "1981 x 3000")),
    _placed(door=_DOOR.replace("44}", "44, angle: 270, sill: 900}")),
    _placed("{item: a, name: x, on: y}", "{item: b, name: y, on: x}"),
    _placed("{item: a, name: x, on: x}"),
    _placed("{item: a, on: a}", "{item: a, on: a}"),
    _placed("{item: a, name: x, at: [9, 9]}", *["{item: b, on: x}"] * 6),
    _placed("{item: a, name: x, at: [9, 9]}", "{item: b, on: x, shift: [9000, -9000]}"),
    _placed("{item: a, at: [-9000, 0]}", "{item: b, against: north, along: 99999}"),
    _placed("{item: a, at: [0, 0, -5000]}", "{item: b, centre: [1, 1], turn: 1e9, height: -9}"),
    _placed("{item: a, corner: [north, south]}", "{item: b, corner: [north, north]}"),
    _placed("{item: a, against: south, along: 900, drop: 2300}"),
    _placed("{item: a, against: south, along: 900, top: 0}"),
    _placed(*["{item: a, at: [900, 900]}", "{item: b, at: [900, 900]}"] * 4),
    _HEAD + _BOX % _DOOR + "schemes: {a: {from: b}, b: {from: c}, c: {from: a}}\n",
    _HEAD + _BOX % _DOOR + "schemes: {a: {from: a, partitions: [{name: w, thickness: 9000,"
    " from: [-9, -9], to: {wall: east, along: 9}}]}}\n",
    _HEAD + _BOX % _DOOR + "schemes: {a: {partitions: [{name: w, thickness: 100, from: [9, 9],"
    " to: [9, 9]}, {name: v, thickness: 1, from: [0, 0], to: [4000, 3000], height: 9000,"
    " openings: [{along: 4900, opening: 900 x 2000}, {along: 4800, opening: 900 x 2000}]}]}}\n",
    _HEAD + _BOX % _DOOR + "items: {m: {body: 1 x 1 x 1, motions: [{name: r, kind: rise, travel:"
    " 9000}, {name: o, kind: overhead, travel: 1}, {name: l, kind: lid, angle: 270, hinge: left},"
    " {name: d, kind: drawer, travel: 9000, side: back}]}}\n"
    "schemes: {s: [{item: m, at: [0, 0]}]}\n",
    _HEAD + _BOX % _DOOR + "items: {a: {like: b}, b: {like: a}, c: {like: c}}\nschemes: {s: []}\n",
)  # fmt: skip


@lru_cache(maxsize=500)
def _nodes(text: str) -> list[tuple[str, Node]]:
    """Every value of a text with the key it stands under; nothing where it cannot be read."""
    try:
        root = parse_syntax(text, "p.yaml").root
    except (InputError, RecursionError):
        return []
    found: list[tuple[str, Node]] = []
    waiting = [("", root)]
    while waiting:
        name, node = waiting.pop()
        found.append((name, node))
        if node.kind == "table":
            waiting += [
                (key.text, value) for key, value in zip(node.keys, node.values, strict=True)
            ]
        elif node.kind == "list":
            waiting += [(name, value) for value in node.values]
    return found[1:]


def _span(text: str, node: Node) -> str:
    return text[node.start : node.end]


@cache
def _by_key(texts: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """What the texts write on one line, or in brackets, under each key."""
    held: dict[str, dict[str, None]] = {}
    for text in texts:
        for name, node in _nodes(text):
            said = _span(text, node)
            if said and (node.flow or "\n" not in said):
                held.setdefault(name, {})[said] = None
    return {name: tuple(said) for name, said in held.items()}


def _put(text: str, node: Node, said: str) -> str:
    return text[: node.start] + said + text[node.end :]


def _pick(rng: np.random.Generator, several: Sequence[T]) -> T:
    return several[int(rng.integers(len(several)))]


def _other_value(rng: np.random.Generator, text: str, texts: tuple[str, ...]) -> str:
    """A value as another file has it under the same key, or under any."""
    nodes, held = _nodes(text), _by_key(texts)
    if not nodes:
        return text
    name, node = _pick(rng, nodes)
    if rng.random() < 0.1:
        name = _pick(rng, tuple(held))
    return _put(text, node, _pick(rng, held[name])) if name in held else text


def _exchanged(rng: np.random.Generator, text: str, _: tuple[str, ...]) -> str:
    """Two values that do not hold one another change places."""
    nodes = [node for _, node in _nodes(text) if node.end > node.start]
    if len(nodes) < 2:
        return text
    one, other = sorted((_pick(rng, nodes), _pick(rng, nodes)), key=lambda n: n.start)
    if one.end > other.start:
        return text
    return _put(_put(text, other, _span(text, one)), one, _span(text, other))


def _repeated(rng: np.random.Generator, text: str, _: tuple[str, ...]) -> str:
    """An entry of a list in brackets once more, or left out, or the list turned round."""
    lists = [n for _, n in _nodes(text) if n.kind == "list" and n.flow and n.values]
    if not lists:
        return text
    node = _pick(rng, lists)
    said = [_span(text, value) for value in node.values]
    match rng.integers(4):
        case 0:
            said.insert(int(rng.integers(len(said) + 1)), _pick(rng, said))
        case 1:
            del said[int(rng.integers(len(said)))]
        case 2:
            said.reverse()
        case _:
            said *= int(rng.integers(2, 8))
    return _put(text, node, f"[{', '.join(said)}]")


def _added(rng: np.random.Generator, text: str, texts: tuple[str, ...]) -> str:
    """A table in brackets with one more key, as some other file has it, or one less."""
    tables = [n for _, n in _nodes(text) if n.kind == "table" and n.flow and n.values]
    if not tables:
        return text
    node, held = _pick(rng, tables), _by_key(texts)
    said = {k.text: _span(text, v) for k, v in zip(node.keys, node.values, strict=True)}
    if rng.random() < 0.3:
        del said[_pick(rng, tuple(said))]
    else:
        name = _pick(rng, tuple(held))
        said[name] = _pick(rng, held[name])
    return _put(text, node, "{" + ", ".join(f"{k}: {v}" for k, v in said.items()) + "}")


def _numbers(rng: np.random.Generator, text: str, _: tuple[str, ...]) -> str:
    """A number becomes another one of the file, or a near, a far, or a contrary one."""
    places = list(_NUMBER.finditer(text))
    if not places:
        return text
    at = _pick(rng, places)
    value = float(at.group())
    others = (
        float(_pick(rng, places).group()), 0, 1, -1, -value, value + 1, value - 1, 2 * value,
        value / 2, 10 * value, value / 10, value * 25.4, value / 25.4, value + 1e-6, value + 0.004,
        round(value, -3), 100_000, 1e-9,
    )  # fmt: skip
    return f"{text[: at.start()]}{_pick(rng, others):.12g}{text[at.end() :]}"


def _unsure(rng: np.random.Generator, text: str, _: tuple[str, ...]) -> str:
    """A number with a ± after it, from nothing to more than the number."""
    places = [at for at in _NUMBER.finditer(text) if text[at.end() : at.end() + 1] in (",", "\n")]
    if not places:
        return text
    at = _pick(rng, places)
    return f"{text[: at.end()]} ±{_pick(rng, (0, 1, 20, 400, 5000))}{text[at.end() :]}"


def _names(rng: np.random.Generator, text: str, _: tuple[str, ...]) -> str:
    """A word becomes another word of the same file."""
    words = [n for _, n in _nodes(text) if n.kind == "text" and n.text[:1].isalpha()]
    return _put(text, _pick(rng, words), _span(text, _pick(rng, words))) if words else text


_WAYS = (
    _numbers, _numbers, _numbers, _names, _names, _other_value, _other_value, _other_value,
    _exchanged, _repeated, _added, _added, _unsure,
)  # fmt: skip


def odd_project(seed: int | list[int], text: str, texts: tuple[str, ...]) -> str:
    """The text with one to three things odd; ``texts`` is where other values come from."""
    rng = np.random.default_rng(seed)
    for _ in range(int(rng.integers(1, 4))):
        made = _pick(rng, _WAYS)(rng, text, texts)
        text = made if len(made) <= _LONGEST else text
    return text
