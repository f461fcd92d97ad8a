"""Random bodies, motions and places through every mesh writer, judged by two readers.

Run: ``python -m tests.bench.handover_fuzz [SEEDS]`` from the repository's folder. It ends with 1
when a reader disagrees, or when the published glTF validator (see tests/handover/validator.py)
says anything but that texture places have no texture yet.
"""

from __future__ import annotations

import math
import sys
import tempfile
from pathlib import Path

import numpy as np

from massing.geometry.solids import Convex, hull, prism
from massing.handover.model import MeshPart, Model, Motion, Node
from massing.handover.registry import format_for, write
from tests.handover.models import DOOR, OAK, ZONE
from tests.handover.round_trip import READERS, TOLERANCES, assert_same
from tests.handover.validator import validate

LOOKS = (OAK, ZONE, DOOR)
FAR = 4.0  # places reach 9 m from the datum, where single floats are four times as coarse


def body(rng: np.random.Generator, at: np.ndarray) -> Convex:
    """A hull of random points, a prism over part of a circle, or a turned box."""
    kind = int(rng.integers(3))
    if kind == 0:
        count = int(rng.integers(4, 25))
        return hull(rng.normal(size=(count, 3)) * rng.choice([5.0, 100.0, 1000.0]) + at)
    if kind == 1:
        angles = np.sort(rng.uniform(0, math.tau, int(rng.integers(3, 9))))
        ring = np.stack([np.cos(angles), np.sin(angles)], axis=1) * rng.uniform(5, 800)
    else:
        turn, (w, d) = rng.uniform(0, math.tau), rng.uniform(1, 900, 2)
        c, s = math.cos(turn), math.sin(turn)
        ring = np.array([[0, 0], [w, 0], [w, d], [0, d]]) @ np.array([[c, s], [-s, c]])
    return prism(ring + at[:2], at[2], at[2] + rng.uniform(1, 2000))


def item(rng: np.random.Generator, number: int) -> Node:
    """One body, perhaps moving, perhaps with a pivot of its own."""
    at = rng.uniform(-9000, 9000, 3)
    place = (float(at[0]), float(at[1]), float(at[2]))
    solid = body(rng, at)
    look = LOOKS[int(rng.integers(3))]
    part = MeshPart("body", solid.corners[0], solid.faces.rings, look)
    if rng.random() < 0.6:
        x, y, z = rng.normal(size=3)
        kind = "turn" if rng.random() < 0.5 else "slide"
        start, stop = rng.uniform(-7, 7, 2)
        motion = Motion("moves", kind, (x, y, z), place, float(start), float(stop))
        return Node(f"item {number}", (part,), motion=motion)
    return Node(f"item {number}", (part,), pivot=place if rng.random() < 0.5 else None)


def faults(seed: int, folder: Path) -> list[str]:
    """Everything wrong with one random model's files."""
    rng = np.random.default_rng(seed)
    model = Model(f"fuzz {seed}", (Node("kept", (), tuple(item(rng, n) for n in range(8))),))
    said = []
    for inset in (0.0, 0.5):
        issues = validate(write(model, folder / "fuzz.glb", inset=inset)[0])["messages"]
        said += [f"inset {inset}: {m}" for m in issues if m["code"] != "UNUSED_OBJECT"]
    for name in ("fuzz.glb", "fuzz.obj"):
        main = write(model, folder / name)[0]
        for reader, read in READERS.items():
            try:
                limit = TOLERANCES[format_for(main).name, reader].mm * FAR
                assert_same(model, read(main), limit)
            except AssertionError as error:
                said.append(f"{name} by {reader}: {error}")
    return said


def main(seeds: int) -> int:
    """Print each fault with its seed; 1 when there is any."""
    found = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(seeds):
            for fault in faults(seed, Path(folder)):
                found += 1
                sys.stdout.write(f"seed {seed}: {fault}\n")
    sys.stdout.write(f"{seeds} models, {found} faults\n")
    return int(found > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 25))
