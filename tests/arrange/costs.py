"""What things cost where they stand, in the search's tables: rooms from text, costs by name."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from massing.arrange.arrays import new_moving
from massing.arrange.model import Model, compile_scheme
from massing.project.read import parse_project

__all__ = ["DOOR", "Costs", "model_of", "priced"]

DOOR = "doors: [{name: entry, wall: west, along: 600, leaf: 762 x 1981, hinge: left, opens: in}]"


@dataclass(frozen=True)
class Costs:
    """What was priced: totals, and the tables by name."""

    hard: float
    soft: float
    shell: dict[str, tuple[float, float]]
    pair: np.ndarray


def model_of(items, room="", rest="", ceiling="{flat: 2400}", together="") -> Model:
    """A room of things that may move, each put where it does not matter."""
    lines = "\n".join(f"  {name}: {{{words}}}" for name, words in items.items())
    placed = "\n".join(f"    - {{item: {name}, at: [1000, 1000]}}" for name in items)
    hung = [name for name, words in items.items() if "mount: wall" in words]
    for name in hung:
        where = "against: north, along: 1000, height: 1300"
        placed = placed.replace(f"item: {name}, at: [1000, 1000]", f"item: {name}, {where}")
    if together:
        added = placed.replace("    -", "      -")
        placed = f"    add:\n{added}\n    together: [{together}]"
    rows = [
        "massing: 1",
        "project: A small room",
        "room:",
        "  size: 3000 x 2400",
        f"  ceiling: [{ceiling}]",
        *(f"  {line}" for line in room.splitlines()),
        rest,
        "items:",
        lines,
        "schemes:",
        "  as found:",
        placed,
    ]
    return compile_scheme(parse_project("\n".join(row for row in rows if row) + "\n"), "as found")


def priced(model: Model, on: dict[str, str] | None = None, **places) -> Costs:
    """The costs with things at x, y, turn in degrees and, for what hangs, height of its base."""
    from massing.arrange.search_compiled import price_all

    names = [unit.name for unit in model.units]
    pose, stands = model.pose.copy(), model.on.copy()
    for name, (x, y, *more) in places.items():
        turn = math.radians(more[0] if more else 0.0)
        pose[names.index(name), :4] = x, y, math.cos(turn), math.sin(turn)
        if len(more) > 1:
            pose[names.index(name), 4] = more[1]
    for over, under in (on or {}).items():
        stands[names.index(over)] = names.index(under)
    record = new_moving(pose, stands, model.yaw)
    hard, soft = price_all((model.fixed, record))
    shell = {name: tuple(record["shell"][0][k].tolist()) for k, name in enumerate(names)}
    count = len(names)
    return Costs(float(hard), float(soft), shell, record["pair"][0][:count, :count].copy())
