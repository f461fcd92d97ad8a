"""Small rooms with a bit of everything in them, by a seed; and the same moved, turned or mirrored.

A project here is the plain data of its file. The room is written by its corners, so that its walls
keep their names however it is turned; everything stands by its centre and its turn.
"""

from __future__ import annotations

import copy
import json
import math
import random
from collections.abc import Callable
from typing import Any

from massing.project.project import Project
from massing.project.read import parse_project

__all__ = ["ITEMS", "changed", "drawn_room", "project_of"]

Data = dict[str, Any]
_OTHER = {"left": "right", "right": "left"}

ITEMS: Data = {
    "crate": {"body": "600 x 400 x 500", "weight": 20},
    "pail": {"body": "300 x 300 x 350", "weight": 4},
    "tee": {
        "parts": [
            {"name": "a", "box": "0..700 x 0..300 x 0..700"},
            {"name": "b", "box": "200..500 x 300..600 x 0..700"},
            {"name": "top", "box": "100..600 x 0..600 x 700..740"},
        ],
        "zone": {"front": 600, "headroom": 1900},
    },
    "drum": {
        "parts": [{"name": "d", "cylinder": {"at": [250, 250, 0], "diameter": 500, "length": 900}}],
        "zone": {"left": 500, "front": 500},
    },
    "wedge": {
        "parts": [
            {
                "name": "w",
                "wedge": {
                    "box": "0..600 x 0..500 x 0..1700",
                    "low-side": "front",
                    "edge-height": 900,
                },
            }
        ]
    },
    "fridge": {
        "body": "600 x 600 x 1500",
        "zone": {"front": 700, "headroom": 1950},
        "gaps": {"left": 20, "back": 50, "top": 100},
        "motions": [
            {"name": "door", "kind": "leaf", "hinge": "left", "low": 100, "height": 1300}
            | {"angle": 120, "needs": 90, "thickness": 40}
        ],
    },
    "chest": {
        "body": "800 x 450 x 900",
        "zone": {"front": 600},
        "motions": [
            {"name": "drawer", "kind": "drawer", "low": 400, "height": 300, "travel": 400},
            {"name": "flap", "kind": "flap", "low": 50, "height": 300},
        ],
    },
    "freezer": {
        "body": "900 x 600 x 850",
        "zone": {"front": 600},
        "motions": [{"name": "lid", "kind": "lid", "angle": 85}],
    },
    "desk": {
        "body": "1200 x 600 x 700",
        "zone": {"front": 500, "posture": "sitting", "width": 600, "shift": 100},
        "motions": [{"name": "top", "kind": "rise", "travel": 500}],
    },
    "shelf": {"body": "900 x 250 x 300", "mount": "wall", "stores": "yes"},
    "lamp": {
        "mount": "ceiling",
        "parts": [
            {"name": "a", "box": "0..500 x 0..300 x 0..100"},
            {"name": "b", "box": "150..350 x 200..900 x 60..200"},
        ],
    },
    "hatch": {
        "body": "1000 x 300 x 600",
        "mount": "wall",
        "motions": [{"name": "panel", "kind": "overhead"}],
    },
    "stove": {"body": "500 x 450 x 800", "vents": ["front", "top"], "breathes": "yes"},
    "sink": {
        "body": "500 x 450 x 850",
        "wet": "yes",
        "zone": {"front": 600, "left": 300},
    },
    "cupboard": {
        "body": "600 x 300 x 600",
        "mount": "wall",
        "stores": "yes",
        "zone": {"front": 500},
        "motions": [
            {"name": side, "kind": "leaf", "hinge": side, "width": 300, "angle": 100}
            for side in ("left", "right")
        ],
    },
    "board": {
        "body": "300 x 120 x 400",
        "mount": "wall",
        "electrical": "yes",
        "working-space": {"width": 700, "depth": 800, "height": 1800},
        "controls": [{"name": "switch", "height": 150}],
    },
}
_HUNG = {"shelf": 1400, "hatch": 1450, "cupboard": 1000, "board": 1400}
_WIDE = {"desk": 1200, "drum": 500, "sink": 500}


def _mirrored_items() -> Data:
    made = copy.deepcopy(ITEMS)
    for name, item in made.items():
        for side in ("left", "right"):
            for table in (item.get("zone", {}), item.get("gaps", {})):
                if side in table and _OTHER[side] not in table:
                    table[_OTHER[side]] = table.pop(side)
                    break
        for motion in item.get("motions", []):
            if "hinge" in motion:
                motion["hinge"] = _OTHER[motion["hinge"]]
        if "shift" in item.get("zone", {}):
            zone = item["zone"]
            zone["shift"] = _WIDE[name] - zone["shift"] - zone["width"]
    # A zone on both sides of a corner swaps one of its sides only.
    made["drum"]["zone"] = {"right": 500, "front": 500}
    made["sink"]["zone"] = {"front": 600, "right": 300}
    made["fridge"]["gaps"] = {"right": 20, "back": 50, "top": 100}
    return made


def drawn_room(seed: int, things: int = 6) -> Data:
    """The data of a room out of a seed: rectangle or L, a step, one or two slopes, doors."""
    r = random.Random(seed)
    wide, deep = r.randrange(2400, 5000, 50), r.randrange(2200, 4000, 50)
    corners = [[0, 0], [wide, 0], [wide, deep], [0, deep]]
    names = ["south", "east", "north", "west"]
    bent = r.random() < 0.4
    if bent:
        x, y = wide - r.randrange(800, wide - 1200, 50), deep - r.randrange(600, deep - 1000, 50)
        corners = [[0, 0], [wide, 0], [wide, y], [x, y], [x, deep], [0, deep]]
        names = ["south", "east", "notch", "side", "north", "west"]
    room: Data = {"corners": corners, "names": names, "ceiling": _ceiling(r, wide, deep)}
    if r.random() < 0.6:
        area = r.choice([f"0..{wide // 2} x 0..{deep}", f"0..{wide} x 0..{deep // 3}"])
        step = {"name": "slab", "area": area, "level": r.choice([60, 180, 300, -150])}
        room["floor"] = [{"name": "low", "level": 0}, step]
    if r.random() < 0.5:
        at, low = r.randrange(0, wide - 300, 50), r.randrange(1300, 1600, 10)
        beam = f"{at}..{at + 150} x 0..{deep if at + 150 <= corners[-2][0] else 1000}"
        room["fabric"] = [{"name": "beam", "box": f"{beam} x {low}..{low + 100}"}]
    room["doors"] = _doors(r, room)
    return {
        "massing": 1,
        "project": f"Room {seed}",
        "room": room,
        "items": ITEMS,
        "schemes": {"only": {"add": _things(r, wide, deep, things)}},
    }


def _ceiling(r: random.Random, wide: int, deep: int) -> list[Data]:
    low = r.randrange(1700, 2300, 50)
    kind = r.choice(["flat", "slope", "ridge", "collar", "soffit"])
    if kind == "flat":
        return [{"name": "c", "flat": low + 200}]
    rise = r.randrange(150, 900, 10)
    if kind == "slope":
        return [{"name": "c", "plane": [[0, 0, low], [0, deep, low], [wide, 0, low + rise]]}]
    if kind == "soffit":
        first = {"name": "c", "plane": [[0, 0, low], [wide, 0, low], [0, deep, low + 400]]}
        area = f"0..{wide // 3} x 0..{deep}"
        return [first, {"name": "s", "area": area, "flat": low + rise // 9, "lowers": True}]
    at = r.randrange(800, deep - 800, 50)
    planes = [
        {"name": f"c{k}", "plane": [[0, y, low], [wide, y, low], [0, at, low + rise]]}
        for k, y in enumerate((0, deep))
    ]
    planes[1]["lowers"] = True
    if kind == "collar":
        planes.append({"name": "collar", "flat": low + rise // 2 + 7, "lowers": True})
    return planes


def _doors(r: random.Random, room: Data) -> list[Data]:
    made: list[Data] = []
    for number, name in enumerate(r.sample(room["names"], 2)):
        long, leaf = wall_length(room, name), r.choice([600, 700, 762])
        kind = r.choice(["hinged", "hinged", "hinged", "sliding", "overhead", "double"])
        whole = leaf * (2 if kind == "double" else 1)
        if long <= whole:
            continue
        along = r.choice([0, long - whole, r.randrange(0, long - whole + 1, 10)])
        door = {"name": f"door {number}", "wall": name, "along": along, "kind": kind}
        door |= {
            "leaf": f"{leaf} x 1400 x {r.choice([1, 44])}",
            "hinge": r.choice(["left", "right"]),
        }
        made.append(door | {"opens": "in", "angle": r.choice([90, 90, 120, 180])})
    return made


def wall_length(room: Data, name: str) -> int:
    """Length of a wall of a room written by whole corners, mm."""
    number = room["names"].index(name)
    one, other = room["corners"][number], room["corners"][(number + 1) % len(room["corners"])]
    return int(math.dist(one, other))


def _things(r: random.Random, wide: int, deep: int, count: int) -> list[Data]:
    made: list[Data] = []
    for number in range(count):
        item = r.choice(sorted(ITEMS))
        placed: Data = {"item": item, "name": f"{item} {number}"}
        bases = [p["name"] for p in made if p["item"] in {"crate", "chest", "desk", "freezer"}]
        if item in {"crate", "pail"} and bases and r.random() < 0.5:
            shift = [r.randrange(-200, 201, 10), r.randrange(-200, 201, 10)]
            placed |= {"on": r.choice(bases), "shift": shift, "turn": r.choice([0, 30, 90, -45])}
        else:
            placed["centre"] = [r.randrange(300, wide - 300, 10), r.randrange(300, deep - 300, 10)]
            placed["turn"] = r.choice([0, 90, 180, 270, 17, -33, 45])
        if item in _HUNG:
            placed["height"] = _HUNG[item]
        made.append(placed)
    return made


def changed(data: Data, way: str) -> Data:
    """The data with everything shifted, turned a quarter or mirrored."""
    point: Callable[[float, float], list[float]] = {
        "shift": lambda x, y: [x + 1230, y - 777],
        "turn": lambda x, y: [-y, x],
        "mirror": lambda x, y: [-x, y],
    }[way]
    made = copy.deepcopy(data)
    room, mirror = made["room"], way == "mirror"
    if mirror:
        _mirror_doors(room)
        made["items"] = _mirrored_items()
    room["corners"] = [point(*corner) for corner in room["corners"]]
    if mirror:
        count = len(room["names"])
        room["corners"].reverse()
        room["names"] = [room["names"][(count - 2 - k) % count] for k in range(count)]
    for entry in (*room.get("floor", []), *room["ceiling"], *room.get("fabric", [])):
        for word in ("area", "box"):
            if word in entry:
                entry[word] = _box(entry[word], point)
        if "plane" in entry:
            entry["plane"] = [[*point(x, y), z] for x, y, z in entry["plane"]]
    for placed in made["schemes"]["only"]["add"]:
        if "centre" in placed:
            placed["centre"] = point(*placed["centre"])
            placed["turn"] += 90 if way == "turn" else 0
        elif mirror:
            placed["shift"][0] *= -1
        placed["turn"] *= -1 if mirror else 1
    return made


def _mirror_doors(room: Data) -> None:
    for door in room["doors"]:
        wide = int(door["leaf"].split()[0]) * (2 if door["kind"] == "double" else 1)
        door["along"] = wall_length(room, door["wall"]) - door["along"] - wide
        door["hinge"] = _OTHER[door["hinge"]]


def _box(text: str, point: Callable[[float, float], list[float]]) -> str:
    (x0, x1), (y0, y1), *rest = ([float(v) for v in e.split("..")] for e in text.split(" x "))
    one, other = point(x0, y0), point(x1, y1)
    spans = [*(sorted(pair) for pair in zip(one, other, strict=True)), *rest]
    return " x ".join(f"{low}..{high}" for low, high in spans)


def project_of(data: Data) -> Project:
    """The project that data describes; JSON is YAML too."""
    return parse_project(json.dumps(data, ensure_ascii=False))
