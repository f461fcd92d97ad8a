"""The floor people walk on as the search reads it: a layout and its rules in, rows of bits out.

Where a disc as wide as someone may stand with its centre, with nothing in the room but the
building and the leaves of its doors, open; for three widths, that of a way out, of a passage and
of a side-step.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from massing.arrange.arrays import RASTER
from massing.checks.entrances import Entrance, entrances
from massing.checks.rules import Rules
from massing.geometry.offset import offset_by
from massing.geometry.solids import Floats
from massing.scheme.floor_plan import Walker, leaf_block, walkers_plan
from massing.scheme.layout import Layout

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["walking_arrays"]

_CELL = 75.0  # mm
_BITS = 64


def walking_arrays(layout: Layout, rules: Rules) -> dict[str, Any]:
    """``walk`` and what belongs to it; no rows where there is no zone to walk to or no door."""
    zones = any(z.kind == "person" and z.posture != "none" for i in layout.items for z in i.zones)
    widths = [max(rules.escape, rules.passage), rules.passage, min(rules.sidestep, rules.passage)]
    if not zones or not entrances(layout, rules):
        return {"walk_rows": 0}
    outline = layout.room.outline[0]
    low, size = outline.min(axis=0), np.ptp(outline, axis=0)
    turned = bool(size[0] > size[1])
    short, long = sorted(map(float, size))
    cell = max(_CELL, short / _BITS, long / RASTER)
    rows, columns = math.ceil(long / cell - 1e-9), math.ceil(short / cell - 1e-9)
    middles = _middles(low, cell, (rows, columns), turned=turned)
    free = _floor(layout, rules)
    walk, seeds = [], []
    for width in widths:
        doors = entrances(layout, rules, width + 1.5 * cell)
        # A doorway no wider than a side-step is shut, however wide the way behind it.
        doors = tuple(door for door in doors if door.clear >= widths[2])
        core = _core(free, doors, 0.5 * width, cell)
        walk.append(_bits(core[0], middles))
        seeds.append(_bits(core[1], middles))
    return {
        "walk": np.stack(walk),
        "walk_from": np.stack(seeds),
        "walk_rules": np.array([*(0.5 * w for w in widths), rules.step_over, rules.stoop]),
        "walk_at": np.array([*low, cell]),
        "walk_turned": int(turned),
        "walk_rows": rows,
    }


def _middles(low: Floats, cell: float, count: tuple[int, int], *, turned: bool) -> Floats:
    """Middles of the cells (rows, columns, 2); turned : the rows run along y."""
    along, across = (cell * (np.arange(n) + 0.5) for n in count)
    one, two = np.meshgrid(along, across, indexing="ij")
    pair = [one, two] if turned else [two, one]
    return np.asarray(low + np.stack(pair, axis=-1))


def _floor(layout: Layout, rules: Rules) -> BaseGeometry:
    """Floor of the bare room someone may walk on, doors open."""
    from shapely import Polygon, union_all

    walker = Walker(min(rules.stoop, rules.route), rules.step_over, rules.rise)
    blocks = list(walkers_plan(replace(layout, items=()), walker))
    blocks += [
        leaf_block(leaf, leaf.full)
        for leaf in layout.leaves
        if leaf.opens == "in" or layout.room.wall(leaf.wall).partition
    ]
    outline = Polygon(layout.room.outline[0])
    return outline.difference(union_all([Polygon(block.ring[0]) for block in blocks]))


def _core(
    free: BaseGeometry, doors: tuple[Entrance, ...], radius: float, cell: float
) -> tuple[BaseGeometry, BaseGeometry]:
    """Where a disc's centre may be, and the part of that just inside the doors."""
    from shapely import Polygon, union_all

    porches: list[Polygon] = []
    sills: list[Polygon] = []
    for door in doors:
        way = door.threshold[1] - door.threshold[0]
        # The room is to the right of the doorway as it is walked from left to right.
        out = np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9)
        for depths, kept in (((0.0, 2.0 * radius), porches), ((radius, -1.5 * cell), sills)):
            ends = [door.threshold + depth * out for depth in depths]
            kept.append(Polygon(np.concatenate([ends[0], ends[1][::-1]])))
    core = offset_by(union_all([offset_by(free, 0.01), *porches]), -radius, quad_segs=16)
    return core, core.intersection(union_all(sills)) if sills else core.intersection(Polygon())


def _bits(area: BaseGeometry, middles: Floats) -> Any:
    """A row of bits for each row of cells whose middle lies in an area (rows,), uint64."""
    from shapely import contains_xy, prepare

    prepare(area)
    inside = contains_xy(area, middles[..., 0], middles[..., 1])
    powers = np.uint64(1) << np.arange(inside.shape[1], dtype=np.uint64)
    return np.where(inside, powers, np.uint64(0)).sum(axis=1, dtype=np.uint64)
