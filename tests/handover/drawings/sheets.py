"""Sheets to test with: examples, odd rooms and rooms drawn by chance, checked and drawn."""

from __future__ import annotations

import json
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from massing.checks.run import Answer, check_scheme
from massing.handover.drawings.drawings import drawing_set
from massing.handover.drawings.sheet import Disc, Sheet, Stroke, bounds_of
from massing.project.read import parse_project, read_project

EXAMPLES = sorted((Path(__file__).resolve().parents[3] / "examples").glob("*.yaml"))
BOATHOUSE = next(file for file in EXAMPLES if file.stem == "boathouse")
SCHEMES = [(file, name) for file in EXAMPLES for name in read_project(file).arrangements]

ELL = {
    "massing": 1,
    "project": "An L with a yawed desk",
    "room": {
        "thickness": 100,
        "walls": [
            {"name": "north", "length": 3600},
            {"name": "east", "length": 1500},
            {"name": "return", "length": 1600, "turn": "left"},
            {"name": "arm", "length": 1200},
            {"name": "south"},
            {"name": "west"},
        ],
        "ceiling": [{"plane": [[0, 0, 2200], [3600, 0, 2300], [0, 2700, 2700]]}],
        "doors": [{"name": "entry", "wall": "west", "along": 300, "leaf": "700 x 1900 x 40"}],
        "windows": [
            {"name": "light", "wall": "north", "along": 900, "size": "800 x 600", "sill": 1000}
        ],
    },
    "items": {
        "desk": {"body": "1200 x 600 x 740", "zone": {"front": 500, "posture": "sitting"}},
        "locker": {"body": "400 x 500 x 1800"},
    },
    "schemes": {
        "only": [
            {"item": "desk", "centre": [1000, 1900], "facing": "south", "turn": 30},
            {"item": "locker", "against": "east", "along": 200},
        ]
    },
}

DOORS = {
    "massing": 1,
    "project": "Doors of every kind",
    "room": {
        "size": "5000 x 3600",
        "thickness": 120,
        "ceiling": [{"flat": 2500}],
        "doors": [
            {"name": "garage door", "wall": "south", "along": 600, "leaf": "2200 x 2000 x 40",
             "kind": "overhead"},
            {"name": "barn door", "wall": "east", "along": 500, "leaf": "900 x 2000 x 40",
             "kind": "sliding", "hinge": "right"},
            {"name": "garden doors", "wall": "north", "along": 1400, "leaf": "600 x 2000 x 40",
             "kind": "double"},
            {"name": "outer slide", "wall": "west", "along": 1900, "leaf": "700 x 1981 x 40",
             "kind": "sliding", "opens": "out"},
        ],
        "windows": [
            {"name": "casement", "wall": "north", "along": 3600, "size": "700 x 900",
             "sill": 1000, "opens": "in"}
        ],
    },
    "items": {
        "freezer": {"body": "900 x 600 x 850", "motions": [
            {"name": "lid", "kind": "lid", "angle": 80}]},
        "cupboard": {"body": "800 x 400 x 1900", "motions": [
            {"name": "left door", "kind": "leaf", "hinge": "left", "width": 400, "angle": 100},
            {"name": "right door", "kind": "leaf", "hinge": "right", "width": 400, "angle": 100}]},
        "dresser": {"body": "900 x 500 x 900", "motions": [
            {"name": "drawers", "kind": "drawer", "travel": 400}]},
        "oven": {"body": "600 x 600 x 850", "motions": [
            {"name": "door", "kind": "flap", "low": 150, "height": 600}]},
        "desk": {"body": "500 x 400 x 740", "motions": [
            {"name": "top", "kind": "rise", "travel": 300}]},
        "box": {"body": "600 x 400 x 350"},
    },
    "schemes": {
        "only": [
            {"item": "freezer", "against": "east", "along": 1700},
            {"item": "cupboard", "against": "north", "along": 150},
            {"item": "dresser", "at": [2600, 1200], "facing": "west"},
            {"item": "oven", "against": "north", "along": 2750},
            {"item": "desk", "against": "west", "along": 3000},
            {"item": "box", "at": [1700, 1850]},
        ]
    },
}  # fmt: skip


def answer_of(data: dict[str, Any]) -> Answer:
    """A project as plain data, checked."""
    return check_scheme(parse_project(json.dumps(data, ensure_ascii=False)), nudges=False)


@cache
def example(file: Path, scheme: str) -> Answer:
    """An example, checked."""
    return check_scheme(read_project(file), scheme, nudges=False)


@cache
def drawn(file: Path, scheme: str) -> tuple[Sheet, ...]:
    """An example, drawn."""
    return drawing_set(example(file, scheme))


def crowded(count: int, seed: int) -> dict[str, Any]:
    """Many small things strewn over a room: the worst a drawing has to letter."""
    rng = np.random.default_rng(seed)
    width, depth = (int(v) * 10 for v in rng.integers((300, 220), (520, 400)))
    items = {
        f"thing {k}": {"body": " x ".join(str(int(v) * 10) for v in rng.integers(15, 70, 3))}
        for k in range(1, count + 1)
    }
    placed = [
        {
            "item": name,
            "centre": [int(rng.integers(350, width - 350)), int(rng.integers(350, depth - 350))],
            "turn": int(rng.choice([0, 0, 0, 90, 35])),
        }
        for name in items
    ]
    low = int(rng.integers(170, 230)) * 10
    return {
        "massing": 1,
        "project": f"Strewn by chance, no {seed}",
        "room": {
            "size": [width, depth],
            "thickness": int(rng.choice([0, 100, 240])) or 1,
            "floor": [{"level": 0}, {"from": "east", "depth": 900, "level": 150}],
            "ceiling": [{"slopes": {"south": low, "north": low + 500}}],
            "doors": [{"name": "entry", "wall": "west", "along": 300, "leaf": "700 x 1500 x 40"}],
        },
        "items": items,
        "schemes": {"only": placed},
    }


def overlapping(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of lettering whose boxes share more than a hair."""
    words = sheet.words
    boxes = np.array([w.box for w in words])
    found = []
    for k, box in enumerate(boxes):
        after = boxes[k + 1 :]
        wide = np.minimum(after[:, 2], box[2]) - np.maximum(after[:, 0], box[0])
        tall = np.minimum(after[:, 3], box[3]) - np.maximum(after[:, 1], box[1])
        shared = np.flatnonzero((wide > 0.01) & (tall > 0.01))
        found += [(words[k].text, words[k + 1 + int(m)].text) for m in shared]
    return found


def leaders(sheet: Sheet) -> list[np.ndarray]:
    """The legs of every leader, (2, 2) each: a fine line, then the dot it ends in."""
    return [
        np.array(leg)
        for mark, dot in pairwise(sheet.marks)
        if isinstance(mark, Stroke)
        and isinstance(dot, Disc)
        and dot.radius == 0.5
        and mark.points[-1] == dot.at
        for leg in pairwise(mark.points)
        if leg[0] != leg[1]
    ]


def lettering_under(sheet: Sheet) -> list[str]:
    """Lettering that a leader runs through; what lies on the very dot is what it points at."""
    found = []
    for words in sheet.words:
        left, bottom, right, top = np.add(words.box, (0.1, 0.1, -0.1, -0.1))
        for leg in leaders(sheet):
            points = leg[0] + np.linspace(0.0, 1.0, 400)[:, None] * (leg[1] - leg[0])
            inside = (points > (left, bottom)).all(axis=1) & (points < (right, top)).all(axis=1)
            if inside.any():
                found.append(words.text)
    return found


def crossed(sheet: Sheet) -> int:
    """How many pairs of leaders cross, away from a shared end."""
    legs = leaders(sheet)
    return sum(_cross(one, other) for k, one in enumerate(legs) for other in legs[k + 1 :])


def _cross(one: np.ndarray, other: np.ndarray) -> bool:
    (p, q), (r, s) = one, other
    turn = np.linalg.det(np.array([q - p, s - r]))
    if abs(turn) < 1e-9:
        return False
    a = np.linalg.det(np.array([r - p, s - r])) / turn
    b = np.linalg.det(np.array([r - p, q - p])) / turn
    return bool(0.001 < a < 0.999 and 0.001 < b < 0.999)


def outside(sheet: Sheet) -> list[object]:
    """Marks that leave the border."""
    left, bottom, right, top = sheet.frame
    found = []
    for mark in sheet.marks:
        a, b, c, d = bounds_of(mark)
        if a < left - 1e-6 or b < bottom - 1e-6 or c > right + 1e-6 or d > top + 1e-6:
            found.append(mark)
    return found
