"""Slides things about random rooms: ``python -m tests.bench.voids_against_placing 40``.

Each map of where a thing can stand, along walls and over the floor, is held against placing it
afresh, as a file would, at random places of every wall and at every turn; and each scheme's
volumes must add up to its room. Prints how many places agreed, every seed that did not, and the
time a map, a share-out and the boxes take.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np
from shapely import Point

from massing.checks.rules import rules_of
from massing.project.project import Project
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.boxes import BoxWish, usable_boxes
from massing.voids.shares import share_out
from massing.voids.trial import added, conflicts_with, standing_conflicts
from massing.voids.where import where_against
from massing.voids.where_free import where_on_floor
from tests.voids.rooms import project_of

RECTANGLE = "size: 4200 x 3100\n"
CUT = "corners: [[0, 0], [4000, 0], [4000, 2200], [3200, 3000], [0, 3000]]\n"
ELL = "corners: [[0, 0], [4000, 0], [4000, 1600], [2200, 1600], [2200, 3600], [0, 3600]]\n"
STEP = "floor: [{level: 0}, {from: east, depth: 1500, level: 160}]"
RIDGE = "{along: x, at: 1500, height: 2600}, eaves: {south: 1100, north: 900}"
ROOMS = (
    RECTANGLE + "ceiling: [{slopes: {south: 1300, north: 2900}}]",
    RECTANGLE + "ceiling: [{flat: 2300}]\n" + STEP,
    RECTANGLE + f"ceiling: [{{ridge: {RIDGE}}}]",
    ELL + "ceiling: [{flat: 2400}]",
    CUT + "ceiling: [{hip: {eaves: 1700, pitch: 35 deg}, collar: 2500}]",
)
HARD = {"bodies", "ceiling", "walls", "floor"}  # what the body alone decides
DOOR = "\ndoors: [{name: door, wall: %s, along: %d, leaf: 762 x 1981, hinge: left, opens: in}]"


def random_project(rng: np.random.Generator) -> Project:
    """A room with up to five posts, and a case to be placed in it."""
    number = int(rng.integers(len(ROOMS)))
    room = ROOMS[number]
    if number < 2 and rng.random() < 0.6:  # the others are too low for a door somewhere
        room += DOOR % (rng.choice(["north", "east"][: number + 1]), int(rng.integers(100, 1800)))
    items, rows = "", ""
    for k in range(int(rng.integers(0, 6))):
        w, d, h = rng.integers(100, 900, 3)
        x, y, z = rng.integers(0, 3600), rng.integers(0, 2600), rng.choice([0, 0, 700, 1300])
        items += f"  post {k}: {{body: {w} x {d} x {h}}}\n"
        turn = f", turn: {rng.integers(1, 89)}" if rng.random() < 0.3 else ""
        rows += f"    - {{item: post {k}, at: [{x}, {y}, {z}]{turn}}}\n"
    zone = ", zone: {front: 700, headroom: 1900}" if rng.random() < 0.5 else ""
    leaf = ", motions: [{name: door, kind: leaf, hinge: left, angle: 90, needs: 90}]"
    moves = leaf if rng.random() < 0.5 else ""
    schemes = f"schemes:\n  one:\n{rows}" if rows else "schemes: {one: []}\n"
    return project_of(
        f"items:\n  case: {{body: 800 x 500 x {rng.integers(500, 1800)}{zone}{moves}}}\n"
        f"{items}{schemes}",
        room,
    )


def say(words: object) -> None:
    sys.stdout.write(f"{words}\n")


def run(seed: int, seen: Counter[str], spent: Counter[str]) -> None:
    rng = np.random.default_rng(seed)
    project = random_project(rng)
    layout, rules = place(project, "one", Values()), rules_of(project)
    before = time.perf_counter()
    shares = share_out(layout, rules)
    spent["share-out"] += time.perf_counter() - before
    if abs(sum(v for _, v in shares.groups) - shares.room) > 1e-6 * shares.room:
        say(f"seed {seed}: the shares do not add up to the room")
    before = time.perf_counter()
    usable_boxes(layout, rules, BoxWish())
    spent["boxes"] += time.perf_counter() - before
    before = time.perf_counter()
    maps = where_against(project, "one", "case")
    spent["map"] += time.perf_counter() - before
    known = standing_conflicts(layout, rules)
    for found in maps:
        edges = np.array([v for s in found.stretches for v in (s.start, s.stop)])
        for along in rng.uniform(0.0, max(found.length - found.width, 0.0), 8).round(3).tolist():
            if found.length < found.width or (
                len(edges) and float(np.abs(edges - along).min()) < 0.1
            ):
                continue
            told = any(s.start <= along <= s.stop for s in found.stretches)
            trial = added(project, "one", {"item": "case", "against": found.wall, "along": along})
            fresh = not conflicts_with(trial.layout, trial.rules, trial.name, known)
            seen["agreed" if told == fresh else "differed"] += 1
            if told != fresh:
                say(f"seed {seed}: {found.wall} at {along}: map {told}, placed afresh {fresh}")


def run_floor(seed: int, seen: Counter[str], spent: Counter[str]) -> None:
    """The floor map at random places, for the body alone and for every check."""
    rng = np.random.default_rng(seed)
    project = random_project(rng)
    base, rules = place(project, "one", Values()), rules_of(project)
    known = standing_conflicts(base, rules)
    corners = base.room.outline[0]
    before = time.perf_counter()
    maps = where_on_floor(project, "one", "case")
    spent["floor map"] += time.perf_counter() - before
    for found in maps:
        for x, y in rng.uniform(corners.min(axis=0), corners.max(axis=0), (8, 2)).round(2):
            spot = Point(x, y)
            if min(part.boundary.distance(spot) for part in (found.body, found.clear)) < 0.5:
                continue
            words = {"item": "case", "centre": [x, y], "turn": found.turn}
            trial = added(project, "one", words, base)
            told = conflicts_with(trial.layout, trial.rules, trial.name, known)
            checks = {reading.check for reading in told}
            body, clear = found.body.contains(spot), found.clear.contains(spot)
            if not body and not checks and found.body.distance(spot) <= 0.05 * max(found.size):
                continue  # support lets a twentieth of a base hang over a step, the map does not
            right = clear == (not checks) and not (body and checks & HARD) and (body or checks)
            seen["floor agreed" if right else "floor differed"] += 1
            if not right:
                say(f"seed {seed}: turn {found.turn:g} at {x}, {y}: map {body}, {clear}; {checks}")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    seen: Counter[str] = Counter()
    spent: Counter[str] = Counter()
    for seed in range(first, first + count):
        run(seed, seen, spent)
        run_floor(seed, seen, spent)
    say(dict(sorted(seen.items())))
    say({name: f"{1000 * total / count:.0f} ms" for name, total in sorted(spent.items())})


if __name__ == "__main__":
    main()
