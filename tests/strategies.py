"""Hypothesis builders of small projects as plain data, and the same projects mirrored or turned.

A project here is the plain data of its file. Everything is put where a mirror or a turn of the
whole can be written down by hand: by walls, by corners, by centres, on one another.
"""

from __future__ import annotations

import copy
import json
from typing import Any

from hypothesis import strategies as st

from massing.project.project import Project
from massing.project.read import parse_project

__all__ = [
    "ITEMS",
    "mirrored",
    "mirrored_name",
    "project_of",
    "projects",
    "shifted",
    "turned",
    "turned_name",
]

Data = dict[str, Any]

ITEMS: dict[str, Data] = {
    "crate": {"body": "600 x 400 x 500", "weight": 20},
    "desk": {"body": "1200 x 600 x 740", "zone": {"front": 700, "posture": "sitting"}},
    "locker": {
        "body": "400 x 500 x 1800",
        "zone": {"front": 600, "headroom": 1900},
        "gaps": {"left": 20, "right": 20},
    },
    "pail": {"body": "300 x 300 x 350"},
    "shelf": {"body": "900 x 250 x 300", "mount": "wall"},
    "lamp": {"body": "300 x 300 x 400", "mount": "ceiling"},
}
"""Things that look the same in a mirror."""

_WALLS = ("south", "east", "north", "west")
_MIRROR = {"east": "west", "west": "east", "left": "right", "right": "left"}
_TURN = {"south": "east", "east": "north", "north": "west", "west": "south"}


def _tens(low: int, high: int) -> st.SearchStrategy[int]:
    return st.integers(low // 10, high // 10).map(lambda tens: tens * 10)


@st.composite
def _rooms(draw: st.DrawFn) -> Data:
    width, depth = draw(_tens(2600, 4800)), draw(_tens(2200, 3600))
    room: Data = {"size": [f"{width} ±{draw(st.sampled_from((0, 5, 20)))}", depth]}
    low = draw(_tens(1700, 2300))
    kind = draw(st.sampled_from(("flat", "north", "east")))
    if kind == "flat":
        room["ceiling"] = [{"name": "over", "flat": low + 200}]
    else:
        other = {"north": "south", "east": "west"}[kind]
        room["ceiling"] = [
            {"name": "over", "slopes": {other: low, kind: low + draw(_tens(100, 900))}}
        ]
    if draw(st.booleans()):
        wall = draw(st.sampled_from(_WALLS))
        step: Data = {"name": "slab", "from": wall}
        step |= {"depth": draw(_tens(500, 1500)), "level": draw(_tens(50, 200))}
        room["floor"] = [{"name": "ground", "level": 0}, step]
    if draw(st.booleans()):
        at = draw(_tens(0, width - 500))
        room["fabric"] = [{"name": "beam", "box": f"{at}..{at + 150} x 0..{depth} x 1500..1650"}]
    if draw(st.booleans()):
        wall = draw(st.sampled_from(_WALLS))
        long = width if wall in {"south", "north"} else depth
        room["doors"] = [
            {
                "name": "entry",
                "wall": wall,
                "along": draw(_tens(50, long - 750)),
                "leaf": "650 x 1400 x 40",
                "hinge": draw(st.sampled_from(("left", "right"))),
                "opens": draw(st.sampled_from(("in", "out"))),
            }
        ]
    return room


@st.composite
def _placement(draw: st.DrawFn, room: Data, number: int, below: list[str]) -> Data:
    width, depth = (int(str(size).split()[0]) for size in room["size"])
    item = draw(st.sampled_from(sorted(ITEMS)))
    made: Data = {"item": item, "name": f"{item} no {number}"}
    ways = ["against", "corner", "centre"] + (["on"] if below and item in {"crate", "pail"} else [])
    way = draw(st.sampled_from(ways))
    if way == "on":
        made["on"] = draw(st.sampled_from(below))
        made["shift"] = [draw(_tens(-100, 100)), draw(_tens(-100, 100))]
        made["turn"] = draw(st.sampled_from((0, 30, 90, -45)))
    elif way == "corner":
        first = draw(st.integers(0, 3))
        pair = [_WALLS[first], _WALLS[(first + 1) % 4]]
        made["corner"] = pair if draw(st.booleans()) else pair[::-1]
        made["side"] = draw(st.sampled_from(("back", "left", "right")))
    elif way == "against":
        made["against"] = draw(st.sampled_from(_WALLS))
        made["side"] = draw(st.sampled_from(("back", "left", "right", "front")))
        made[draw(st.sampled_from(("along", "from-right")))] = draw(_tens(0, 1000))
        made["off"] = draw(st.sampled_from((0, 20, 300)))
    else:
        made["centre"] = [draw(_tens(300, width - 300)), draw(_tens(300, depth - 300))]
        made["facing"] = draw(st.sampled_from(_WALLS))
        made["turn"] = draw(st.sampled_from((0, 0, 20, -45)))
    if item == "shelf":
        made["height"] = draw(_tens(900, 1500))
    return made


@st.composite
def projects(draw: st.DrawFn, *, most: int = 5) -> Data:
    """A room and up to ``most`` things in it, as the plain data of a file."""
    room = draw(_rooms())
    placements: list[Data] = []
    below: list[str] = []
    for number in range(draw(st.integers(1, most))):
        made = draw(_placement(room, number, below))
        placements.append(made)
        if made["item"] in {"crate", "desk"}:
            below.append(made["name"])
    return {
        "massing": 1,
        "project": "Drawn by chance",
        "room": room,
        "items": ITEMS,
        "schemes": {"only": placements},
    }


def project_of(data: Data) -> Project:
    """The project that data describes; JSON is YAML too."""
    return parse_project(json.dumps(data, ensure_ascii=False))


def mirrored_name(name: str) -> str:
    """What a thing is called in the mirrored room."""
    wall = name.removesuffix(" wall")
    return _MIRROR.get(wall, wall) + name[len(wall) :] if wall in _WALLS else name


def turned_name(name: str) -> str:
    """What a thing is called in the turned room."""
    wall = name.removesuffix(" wall")
    return _TURN.get(wall, wall) + name[len(wall) :]


def _size(data: Data) -> tuple[int, int]:
    width, depth = (int(str(size).split()[0]) for size in data["room"]["size"])
    return width, depth


def _renamed_walls(data: Data, names: dict[str, str]) -> Data:
    """The data with every wall named anew, in the room and in the placements."""
    made = copy.deepcopy(data)
    room = made["room"]
    for ceiling in room["ceiling"]:
        if "slopes" in ceiling:
            ceiling["slopes"] = {names.get(w, w): h for w, h in ceiling["slopes"].items()}
    for floor in room.get("floor", []):
        if "from" in floor:
            floor["from"] = names.get(floor["from"], floor["from"])
    for door in room.get("doors", []):
        door["wall"] = names.get(door["wall"], door["wall"])
    for placement in made["schemes"]["only"]:
        for word in ("against", "facing"):
            if word in placement:
                placement[word] = names.get(placement[word], placement[word])
        if "corner" in placement:
            placement["corner"] = [names.get(w, w) for w in placement["corner"]]
    return made


def _box(text: str) -> list[list[int]]:
    return [[int(end) for end in part.split("..")] for part in text.split(" x ")]


def _box_text(ranges: list[list[int]]) -> str:
    return " x ".join(f"{low}..{high}" for low, high in ranges)


def mirrored(data: Data) -> Data:
    """The whole project in a mirror that swaps east and west."""
    width, depth = _size(data)
    made = _renamed_walls(data, {"east": "west", "west": "east"})
    room = made["room"]
    for fabric in room.get("fabric", []):
        x, *rest = _box(fabric["box"])
        fabric["box"] = _box_text([[width - x[1], width - x[0]], *rest])
    for door in room.get("doors", []):
        long = width if door["wall"] in {"south", "north"} else depth
        door["along"] = long - door["along"] - int(door["leaf"].split()[0])
        door["hinge"] = _MIRROR[door["hinge"]]
    for placement in made["schemes"]["only"]:
        _mirror_placement(placement, width)
    return made


def _mirror_placement(placement: Data, width: int) -> None:
    along, right = placement.pop("along", None), placement.pop("from-right", None)
    if along is not None:
        placement["from-right"] = along
    if right is not None:
        placement["along"] = right
    if "side" in placement:
        placement["side"] = _MIRROR.get(placement["side"], placement["side"])
    if "centre" in placement:
        placement["centre"][0] = width - placement["centre"][0]
    if "shift" in placement:
        placement["shift"][0] *= -1
    if "turn" in placement:
        placement["turn"] *= -1


def turned(data: Data) -> Data:
    """The whole project a quarter turn counter-clockwise: (x, y) goes to (depth - y, x)."""
    _, depth = _size(data)
    made = _renamed_walls(data, _TURN)
    room = made["room"]
    room["size"] = room["size"][::-1]
    for fabric in room.get("fabric", []):
        x, y, z = _box(fabric["box"])
        fabric["box"] = _box_text([[depth - y[1], depth - y[0]], x, z])
    for placement in made["schemes"]["only"]:
        if "centre" in placement:
            x, y = placement["centre"]
            placement["centre"] = [depth - y, x]
    return made


def shifted(data: Data, by: tuple[int, int]) -> Data:
    """The same room written by its corners, with everything moved in the room's axes."""
    width, depth = _size(data)
    made = copy.deepcopy(data)
    room = made["room"]
    del room["size"]
    x, y = by
    room["corners"] = [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]]
    room["names"] = list(_WALLS)
    for fabric in room.get("fabric", []):
        ranges = _box(fabric["box"])
        for axis in range(2):
            ranges[axis] = [end + by[axis] for end in ranges[axis]]
        fabric["box"] = _box_text(ranges)
    for placement in made["schemes"]["only"]:
        if "centre" in placement:
            placement["centre"] = [c + b for c, b in zip(placement["centre"], by, strict=True)]
    return made
