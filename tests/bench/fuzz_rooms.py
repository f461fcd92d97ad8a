"""Builds random rooms and checks what must always hold: ``python -m tests.bench.fuzz_rooms 500``.

Outlines convex and not, up to four floor and ceiling entries each, fabric, and a partition, in
five worlds. A room that is refused must be refused with an InputError; one that is built must be
covered by its pieces in every world, and its bands must sum. Prints how many of each, and every
seed that broke a law.
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np

from massing.errors import InputError
from massing.geometry.polygons import area
from massing.room.build import build_room
from massing.room.cells import cells, plan_area
from massing.room.measure import floor_area, height_bands, volume
from massing.room.partitions import add_partitions
from massing.room.spec import PartitionSpec
from massing.survey.values import Values
from tests.geometry.test_polygons import right_angled_polygon, star_polygon
from tests.zoo import spec_from, thickness_of


def random_room(rng):
    """Text of a room, not always one that can be."""
    shape = star_polygon if rng.random() < 0.5 else right_angled_polygon
    points = np.round(shape(rng, int(rng.integers(3, 12))))
    middle, count = points.mean(axis=0).astype(int), len(points)

    def wall():
        return f"wall {rng.integers(1, count + 1)}"

    def box():
        low = middle + rng.integers(-1200, 300, 2)
        high = low + rng.integers(100, 2500, 2)
        return f"{low[0]}..{high[0]} ±3 x {low[1]}..{high[1]}"

    def region():
        if rng.random() < 0.6:
            return f"area: {box()}"
        return f"from: {wall()}, depth: {rng.integers(20, 400)} ±5"

    def ceiling():
        form = (
            f"flat: {rng.integers(1700, 2600)} ±8",
            f"slopes: {{{wall()}: 1900}}, pitch: {rng.integers(0, 15)}",
            f"plane: [[0, 0, 2200], [900, 0, 2200], [0, 900, {rng.integers(2000, 2500)}]]",
        )[rng.integers(3)]
        return f"{{{region()}, {form}, lowers: {rng.choice(['yes', 'no'])}}}"

    floors = [
        f"{{{region()}, level: {rng.integers(-200, 200)} ±5}}" for _ in range(rng.integers(0, 4))
    ]
    ceilings = [ceiling() for _ in range(rng.integers(0, 4))]
    fabric = [
        f"{{name: beam {k}, box: {box()} x {rng.integers(-300, 1500)}..{rng.integers(1600, 2800)}}}"
        for k in range(rng.integers(0, 3))
    ]
    if rng.random() < 0.5:
        fabric.append(f"{{name: breast, box: {box()}, to: ceiling}}")
    base = f"{{plane: [[0, 0, 2300 ±9], [900, 0, {rng.integers(2200, 2400)}], [0, 900, 2350]]}}"
    corners = ", ".join(f"[{int(x)}, {int(y)}]" for x, y in points)
    return (
        f"corners: [{corners}]\n"
        f"floor: [{', '.join(floors)}]\n"
        f"ceiling: [{', '.join([base, *ceilings])}]\n"
        f"fabric: [{', '.join(fabric)}]\n"
    )


def broken_laws(spec, rng):
    """The laws a room breaks, by name; InputError where it cannot be built."""
    recorded = Values()
    room = build_room(spec, recorded, thickness_of)
    half = np.array([measure.half_width for measure in recorded.measures])
    shifts = rng.uniform(-1, 1, (5, len(half))) * half
    shifts[0] = 0
    many = build_room(spec, Values.shifted(recorded.measures, shifts), thickness_of)
    floor = floor_area(room)
    laws = {}
    for kind in ("floors", "ceilings"):
        covered = sum(area(piece.polygon) for piece in getattr(many, kind))
        laws[f"{kind} cover"] = np.abs(covered - area(many.outline)).max() < 1e-2
    laws["cells cover"] = (
        abs(sum(plan_area(c.polygon) for c in cells(room)) - floor_area(room, net=False)) < 1e-2
    )
    for under in (False, True):
        total = sum(band.area for band in height_bands(room, under_fabric=under))
        laws[f"bands sum, {under}"] = abs(total - floor) < 1.0
    laws["net is not more"] = volume(room) <= volume(room, net=False) + 1.0
    ends = [[float(x) for x in rng.uniform(-700, 700, 2)] for _ in "ab"]
    wall = PartitionSpec.model_validate(
        {"name": "screen", "thickness": 100, "from": ends[0], "to": ends[1]}
    )
    try:
        parted = add_partitions(room, [wall], Values(), thickness_of)
    except InputError:
        parted = room
    laws["partition takes room"] = volume(parted) <= volume(room) + 1.0
    return [name for name, kept in laws.items() if not kept]


def main(count):
    """Try seeds 0 to count; the number that broke a law."""
    told = Counter()
    for seed in range(count):
        rng = np.random.default_rng(seed)
        try:
            broken = broken_laws(spec_from(random_room(rng)), rng)
        except InputError:
            told["refused"] += 1
            continue
        told["broken" if broken else "sound"] += 1
        if broken:
            sys.stdout.write(f"seed {seed}: {', '.join(broken)}\n")
    sys.stdout.write(f"{dict(sorted(told.items()))}\n")
    return told["broken"]


if __name__ == "__main__":
    sys.exit(1 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 300) else 0)
