"""Sampling a 40-item room against a loop that meets each world alone with a collision library.

    python -m tests.bench.sampling_against_loop [samples]

The loop places each world by itself, builds its boxes and asks python-fcl for the distance of the
near pairs; it is timed on fewer worlds and scaled up. Prints both ratios of one run: against the
whole loop, and against its calls of the collision library alone.
"""

# ruff: noqa: T201
# A bench prints.
from __future__ import annotations

import sys
import time

import numpy as np

from massing.checks.run import check_scheme
from massing.project.read import parse_project
from massing.sureness.sampling import sample

__all__ = ["forty_items", "main"]


def forty_items(seed: int = 0) -> str:
    """A project of 40 boxes in a room of 5.2 by 3.4 m, in rows a few mm apart, sizes ±."""
    random = np.random.default_rng(seed)
    lines = [
        "massing: 1",
        "project: forty boxes",
        "room:",
        "  size: 5200 ±15 x 3400 ±15",
        "  ceiling: [{slopes: {south: 1950 ±10, north: 2600 ±10}}]",
        "items:",
    ]
    placed = []
    for row in range(4):
        x, side = 10.0, ("south", "north")[row % 2]
        for column in range(10):
            width, depth = (int(v) for v in random.integers([380, 300], [480, 550]))
            tall = int(random.integers(500, 1500))
            name = f"box {row * 10 + column + 1}"
            lines.append(f"  {name}: {{body: {width} ±3 x {depth} ±3 x {tall} ±3}}")
            if row < 2:
                placed.append(f"    - {{item: {name}, against: {side}, along: {x:.0f}}}")
            else:
                y = (row - 1) * 950
                placed.append(f"    - {{item: {name}, at: [{x:.0f}, {y}], facing: north}}")
            x += width + float(random.integers(0, 12))
    return "\n".join([*lines, "schemes:", "  all:", *placed, ""])


def _loop(samples: int, answer, pairs, measures, rng) -> tuple[float, float]:
    """Seconds to meet each world alone, placing included, and of those in the library's calls."""
    import fcl

    from massing.scheme.place import place
    from massing.survey.values import Values

    half = np.array([m.half_width for m in measures])
    started, asked = time.perf_counter(), 0.0
    for _ in range(samples):
        shifts = rng.uniform(-1.0, 1.0, (1, len(half))) * half
        layout = place(answer.project, answer.layout.name, Values.shifted(measures, shifts))
        begun = time.perf_counter()
        objects = []
        for item in layout.items:
            low, high = item.low[0], item.high[0]
            middle = fcl.Transform(np.eye(3), (low + high) / 2)
            objects.append(fcl.CollisionObject(fcl.Box(*(high - low)), middle))
        for i, j in pairs:
            fcl.distance(objects[i], objects[j], fcl.DistanceRequest(), fcl.DistanceResult())
        asked += time.perf_counter() - begun
    return time.perf_counter() - started, asked


def main(samples: int = 10_000) -> None:
    """Print both times and their ratio."""
    from massing.geometry.gaps import candidate_pairs

    answer = check_scheme(parse_project(forty_items()), nudges=False)
    sample(answer, 10)  # compiled code is loaded
    started = time.perf_counter()
    found = sample(answer, samples, seed=1)
    ours = time.perf_counter() - started
    solids = [part.solid for item in answer.layout.items for part in item.parts]
    pairs = candidate_pairs(solids, 60.0)
    few = max(20, samples // 200)
    scale = samples / few
    loop, asked = _loop(few, answer, pairs, answer.measures, np.random.default_rng(1))
    print(f"{len(answer.layout.items)} items, {len(answer.measures)} measures")
    print(f"ours {ours:.2f} s for {samples} worlds: {len(found)} findings, each by its own check")
    print(f"loop {loop * scale:.1f} s, of it {asked * scale:.1f} s in the library's calls")
    print(f"  (scaled from {few} worlds; {len(pairs)} pairs of bodies alone)")
    print(f"ratio {loop * scale / ours:.1f}, against the calls alone {asked * scale / ours:.1f}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
