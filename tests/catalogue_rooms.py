"""Rooms drawn by chance out of the catalogue: a seed in, the text of a project file out.

Doors, drawers, zones, air, controls, hung things and stacks, under slopes and over steps, each
with a few sizes that are unsure. What is drawn need not be sound: the checks are to say so.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from functools import cache
from typing import Any

from massing.checks.verdicts import extreme_shifts
from massing.errors import InputError
from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values

__all__ = ["catalogue_room", "layouts", "projects_by_chance"]

_STANDING = (
    "washer", "dryer", "base cabinet", "sink base", "dishwasher", "drawer cabinet",
    "fridge freezer", "tool chest", "work bench", "desk", "office chair", "bookcase",
    "storage box", "sorting bin", "wheeled bin", "sit stand desk", "trestle table",
    "chest freezer", "kayak", "shelving bay", "hot water cylinder", "bicycle", "exercise mat",
)  # fmt: skip
_HUNG = {
    "radiator": 150, "bicycle flat on the wall": 900, "wall cabinet": 1400, "wall boiler": 1300,
    "consumer unit": 1250, "double socket": 450, "stopcock": 300, "bicycle on a hook": 50,
    "deep shelf": 1500,
}  # fmt: skip
_WORKED = frozenset(("washer", "dryer", "wall boiler", "double socket", "stopcock"))
_WALLS = ("south", "east", "north", "west")
Data = dict[str, Any]


def catalogue_room(seed: int, most: int = 12) -> str:
    """The text of a project file with one scheme, "only"."""
    chance = random.Random(seed)
    width, depth = chance.randrange(3000, 7000, 50), chance.randrange(2600, 5000, 50)
    items = [_placement(chance, n, width, depth) for n in range(chance.randrange(3, most + 1))]
    items += [_before(chance, item, n) for n, item in enumerate(items) if item["item"] in _WORKED]
    scheme: Data = {"add": items}
    if chance.random() < 0.5:
        scheme["together"] = [[f"{item['name']} in use" for item in items[:2]]]
    data: Data = {
        "massing": 1,
        "project": "Drawn by chance",
        "room": _room(chance, width, depth),
        "schemes": {"only": scheme},
    }
    return json.dumps(data, ensure_ascii=False)


def _room(chance: random.Random, width: int, depth: int) -> Data:
    low = chance.randrange(1700, 2500, 20)
    room: Data = {"size": [f"{width} ±{chance.choice((0, 10, 20))}", depth]}
    slope = {"slopes": {"south": low, "north": low + chance.randrange(0, 900, 30)}}
    dropped = {"from": "east", "depth": 1300, "flat": f"{low + 100} ±{chance.choice((0, 10))}"}
    room["ceiling"] = chance.choice(([{"flat": low + 200}], [slope], [slope, dropped]))
    if chance.random() < 0.6:
        step: Data = {"name": "slab", "from": chance.choice(_WALLS), "level": "150 ±5"}
        step["depth"] = chance.randrange(600, 1500, 10)
        room["floor"] = [{"level": 0}, step]
    if chance.random() < 0.5:
        at = chance.randrange(0, width - 500, 10)
        room["fabric"] = [{"name": "beam", "box": f"{at}..{at + 150} x 0..{depth} x 1850..2000"}]
    room["doors"] = [
        {
            "name": "entry", "wall": chance.choice(("south", "west")), "leaf": "762 x 1650 x 40",
            "along": chance.randrange(50, 1500, 10), "hinge": chance.choice(("left", "right")),
            "opens": chance.choice(("in", "in", "out")),
        }
    ]  # fmt: skip
    room["windows"] = [
        {
            "name": "light", "wall": chance.choice(("north", "east")), "size": "900 x 600",
            "along": chance.randrange(50, 1500, 10), "sill": 900, "opens": "out",
            "escape": chance.choice((True, False)),
        }
    ]  # fmt: skip
    return room


def _placement(chance: random.Random, number: int, width: int, depth: int) -> Data:
    item = chance.choice((*_STANDING, *_HUNG, "ceiling airer"))
    made: Data = {"item": item, "name": f"{item} no {number}"}
    middle = [chance.randrange(400, width - 400, 10), chance.randrange(300, depth - 300, 10)]
    if item in _HUNG:
        made |= {"height": _HUNG[item], "against": chance.choice(_WALLS)}
        made["along"] = chance.randrange(0, 2000, 10)
    elif item == "ceiling airer":
        made["centre"] = middle
    elif chance.random() < 0.3:
        made |= {"centre": middle, "facing": chance.choice(_WALLS)}
        made["turn"] = chance.choice((0, 0, 15, -40))
    else:
        made["against"] = chance.choice(_WALLS)
        made["along"] = chance.randrange(0, 2500, 10)
    return made


def _before(chance: random.Random, item: Data, number: int) -> Data:
    """Something that stands before a thing with a switch or a valve, more or less in its way."""
    along = item.get("along", 600) + chance.randrange(-700, 500, 10)
    what = chance.choice(("tool chest", "hot water cylinder", "bookcase"))
    against = item.get("against", "south")
    made: Data = {"item": what, "name": f"{what} before {number}", "against": against}
    return made | {"along": max(along, 0), "off": chance.choice((40, 400, 700))}


def projects_by_chance(count: int, *, first: int = 0, most: int = 12) -> Iterator[Project]:
    """So many rooms that can be read, in order of their seeds."""
    seed = first
    while count > 0:
        try:
            project = parse_project(catalogue_room(seed, most))
        except InputError:
            seed += 1
            continue
        yield project
        count, seed = count - 1, seed + 1


@cache
def layouts(count: int, *, first: int = 0) -> tuple[tuple[Project, Layout], ...]:
    """Rooms placed with every unsure size at its least and at its greatest."""
    found = []
    for project in projects_by_chance(count, first=first):
        sizes = Values()
        place(project, "only", sizes)
        worlds = Values.shifted(sizes.measures, extreme_shifts(sizes.measures))
        found.append((project, place(project, "only", worlds)))
    return tuple(found)
