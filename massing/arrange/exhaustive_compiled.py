"""The compiled loops of trying everything: stops along walls, and which of them go together."""

# ruff: noqa: RUF046

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.cost_compiled import pair_cost
from massing.arrange.moves_compiled import to_wall
from massing.arrange.place_compiled import place_unit
from massing.arrange.plan_compiled import compiled
from massing.arrange.search_compiled import fill_costs
from massing.arrange.shell_compiled import shell_cost
from massing.geometry.solids import Floats

__all__ = ["clear_alone", "clear_together", "wall_stops"]


@compiled
def wall_stops(records: tuple[Any, Any], u: int, step: float) -> Floats:
    """Rows x, y, cosine, sine, z, yaw: every stop along every wall, each side to it."""
    fixed, moving = records[0][0], records[1][0]
    count = 0
    for w in range(fixed.n_walls):
        count += 4 * (int(math.floor(fixed.walls[w, 7] / step)) + 2)
    out = np.zeros((count, 6))
    wide = np.zeros(6)
    row = 0
    for w in range(fixed.n_walls):
        for quarter in range(4):
            for k in range(int(math.floor(fixed.walls[w, 7] / step)) + 2):
                along = k * step if k * step <= fixed.walls[w, 7] else 1e9
                to_wall(fixed, moving, u, w, quarter, along, wide)
                place_unit(fixed, moving, u)
                for e in range(5):
                    out[row, e] = moving.pose[u, e]
                out[row, 5] = moving.yaw[u]
                row += 1
    return out[:row]


@compiled
def _put(fixed: Any, moving: Any, u: int, row: Floats) -> None:
    for e in range(5):
        moving.pose[u, e] = row[e]
    place_unit(fixed, moving, u)


@compiled
def clear_alone(records: tuple[Any, Any], u: int, stops: Floats) -> Any:
    """Which stops of a unit are clear of the building and of what stays."""
    fixed, moving = records[0][0], records[1][0]
    fill_costs(fixed, moving)
    good = np.zeros(len(stops), dtype=np.bool_)
    for k in range(len(stops)):
        _put(fixed, moving, u, stops[k])
        hard = shell_cost(fixed, moving, u)[0]
        for v in range(fixed.n):
            if hard > 0.0:
                break
            if v != u and fixed.mount[v] == 3:
                hard += pair_cost(fixed, moving, u, v)[0]
        good[k] = hard <= 0.0
    return good


@compiled
def clear_together(records: tuple[Any, Any], u: int, stops: Floats, v: int, others: Floats) -> Any:
    """Which stops of one unit go with which of another."""
    fixed, moving = records[0][0], records[1][0]
    good = np.zeros((len(stops), len(others)), dtype=np.bool_)
    for k in range(len(stops)):
        _put(fixed, moving, u, stops[k])
        for j in range(len(others)):
            _put(fixed, moving, v, others[j])
            good[k, j] = pair_cost(fixed, moving, u, v)[0] <= 0.0
    return good
