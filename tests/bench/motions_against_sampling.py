"""Fuzz: the catalogue's doors, drawers and lids in random rooms, against stepping and measuring.

    python -m tests.bench.motions_against_sampling [rooms] [first seed]

Every moving part is moved in small steps and measured against everything in its way. A step that
goes deeper than contact before the reach that was told, or a reach that nothing touches, is
printed, and the command fails. Each run also plants a fault, and fails when it is not seen.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from massing.checks.context import Context
from massing.checks.motions import Mover, item_movers, read
from massing.checks.motions_blocks import blocks_of
from massing.checks.rules import rules_of
from massing.errors import InputError
from massing.geometry.gaps.signed import signed_gaps
from massing.items.catalog import item_names, load_item
from massing.project.read import parse_project
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values

STEPS = 40
SLACK = 0.05  # mm, contact and easing together


def text_of(seed: int, names: list[str]) -> str:
    """A room with a slope and a step, and a dozen things in it at random."""
    rng = np.random.default_rng(seed)
    rows = []
    for k in range(12):
        x, y = rng.uniform(0, 4600), rng.uniform(0, 3200)
        turn = f", turn: {rng.uniform(-180, 180):.1f}" if rng.random() < 0.4 else ""
        rows.append(
            f"    - {{item: {rng.choice(names)}, name: n{k}, at: [{x:.0f}, {y:.0f}]{turn}}}"
        )
    return (
        "massing: 1\nproject: Fuzz\nroom:\n  size: 5600 x 4200\n"
        f"  floor: [{{level: 0}}, {{from: east, depth: 1500, level: {rng.integers(50, 200)}}}]\n"
        f"  ceiling: [{{slopes: {{south: {rng.integers(900, 1800)}, north: 2800}}}}]\n"
        "schemes:\n  all:\n" + "\n".join(rows) + "\n"
    )


def faults_of(layout: Layout, told: dict[tuple[str, str], float], slip: float = 1.0) -> list[str]:
    """What stepping sees otherwise; told reaches are stretched by ``slip``, to plant a fault."""
    blocks = blocks_of(layout)
    return [
        fault
        for mover in item_movers(layout)
        for fault in _against(mover, blocks.names, blocks.solids, told, slip)
    ]


def _against(mover: Mover, names, solids, told, slip):  # type: ignore[no-untyped-def]
    own = [k for k, name in enumerate(names) if name not in mover.free]
    full = float(mover.full[0])
    count = len(mover.paths)
    shut = [path.at(0.0) for path in mover.paths]
    others = [solids[k] for k in own]
    pairs = np.array([[i, count + j] for i in range(count) for j in range(len(own))])
    begun = signed_gaps([*shut, *others], pairs).gap[0].reshape(count, -1) < -SLACK
    for name in sorted({names[k] for k in own}):
        of = [j for j, k in enumerate(own) if names[k] == name]
        if begun[:, of].any():
            continue
        reach = min(told.get((mover.label, name), np.inf) * slip, full)
        some = np.array([[i, count + j] for i in range(count) for j in of])
        for amount in np.linspace(0.0, full, STEPS + 1):
            moved = [path.at(float(amount)) for path in mover.paths]
            gap = float(signed_gaps([*moved, *others], some).gap.min())
            if gap < -SLACK and amount < reach - 1e-9:
                yield f"{mover.label} is {-gap:.3f} into {name} at {amount:.4f}, before {reach:.4f}"
                break
        if reach < full:
            moved = [path.at(reach) for path in mover.paths]
            gap = float(signed_gaps([*moved, *others], some).gap.min())
            if abs(gap) > SLACK:
                yield f"{mover.label} is {gap:.3f} from {name} at its reach {reach:.4f}"


def told_by(layout: Layout, rules) -> dict[tuple[str, str], float]:  # type: ignore[no-untyped-def]
    """Reach of every part and obstacle, as the check has it, one mover at a time."""
    from massing.checks.motions import stops

    told = {}
    wide = replace(rules, near=1e9)
    for mover in item_movers(layout):
        whole = replace(mover, needs=mover.full)
        for reading in stops(Context(layout, wide, reach=1e9), [whole]):
            told[(mover.label, reading.items[1])] = float(reading.gap[0]) / mover.unit
    return told


def main(rooms: int, first: int) -> int:
    """Run so many rooms and return how many faults there were."""
    names = [name for name in item_names() if load_item(name).motions]
    faults, seen, looked, began = 0, 0, 0, time.perf_counter()
    for seed in range(first, first + rooms):
        try:
            project = parse_project(text_of(seed, names))
        except InputError:
            continue
        layout, rules = place(project, None, Values()), rules_of(project)
        list(read(Context(layout, rules, reach=rules.near)))
        told = told_by(layout, rules)
        looked += len(told)
        for fault in faults_of(layout, told):
            faults += 1
            sys.stdout.write(f"seed {seed}: {fault}" + "\n")
        seen += bool(faults_of(layout, told, slip=1.1)) or not told
    spent = time.perf_counter() - began
    sys.stdout.write(f"{rooms} rooms, {looked} reaches, {faults} faults, {spent:.1f} s" + "\n")
    if seen < rooms * 0.9:
        sys.stdout.write(f"planted faults were seen in {seen} rooms only" + "\n")
        faults += 1
    return faults


if __name__ == "__main__":
    told_rooms = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    sys.exit(1 if main(told_rooms, int(sys.argv[2]) if len(sys.argv) > 2 else 0) else 0)
