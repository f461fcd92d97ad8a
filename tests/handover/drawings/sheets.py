"""Sheets to test with: examples, odd rooms and rooms drawn by chance, checked and drawn."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from massing.checks.run import Answer, check_scheme
from massing.handover.drawings.drawings import drawing_set
from massing.handover.drawings.sheet import Sheet, bounds_of
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


def outside(sheet: Sheet) -> list[object]:
    """Marks that leave the border."""
    left, bottom, right, top = sheet.frame
    found = []
    for mark in sheet.marks:
        a, b, c, d = bounds_of(mark)
        if a < left - 1e-6 or b < bottom - 1e-6 or c > right + 1e-6 or d > top + 1e-6:
            found.append(mark)
    return found
