"""How much floor lies open in one piece: where everything stands in, m² out, compiled."""

# ruff: noqa: C901, RUF046
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import math
from typing import Any

from massing.arrange.plan_compiled import compiled
from massing.geometry.solids import Ints

__all__ = ["open_rectangle"]


@compiled
def open_rectangle(fixed: Any, moving: Any, grid: Ints, heights: Ints) -> float:
    """Largest open rectangle on the raster of standing floor, m²; cells touched are taken."""
    rows, columns = fixed.rows, fixed.columns
    for r in range(rows):
        for c in range(columns):
            grid[r, c] = fixed.mask[r, c]
    for i in range(fixed.n_feet):
        b = moving.foot_in[i]
        if b[2] - b[5] >= fixed.rules[2]:
            continue
        c0 = max(int(math.floor((b[0] - fixed.origin[0]) / fixed.cell + 1e-9)), 0)
        c1 = min(int(math.ceil((b[3] - fixed.origin[0]) / fixed.cell - 1e-9)), columns)
        r0 = max(int(math.floor((b[1] - fixed.origin[1]) / fixed.cell + 1e-9)), 0)
        r1 = min(int(math.ceil((b[4] - fixed.origin[1]) / fixed.cell - 1e-9)), rows)
        for r in range(r0, r1):
            for c in range(c0, c1):
                grid[r, c] = 0
    best = 0
    for c in range(columns):
        heights[c] = 0
    rise, start = moving.rise, moving.start
    for r in range(rows):
        top = 0  # of a stack of ever higher runs, each with the column it begins at
        for c in range(columns + 1):
            height = 0
            if c < columns:
                heights[c] = heights[c] + 1 if grid[r, c] == 1 else 0
                height = heights[c]
            begin = c
            while top > 0 and rise[top - 1] >= height:
                top -= 1
                begin = start[top]
                best = max(best, rise[top] * (c - begin))
            rise[top] = height
            start[top] = begin
            top += 1
    return best * fixed.cell * fixed.cell * 1e-6
