"""How much floor and store a scheme leaves and makes: a layout in, areas and litres out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.outline import outline_of
from massing.geometry.overlap import union_volume
from massing.geometry.solids import Floats
from massing.room.measure import cells
from massing.room.shape import Cell
from massing.scheme.layout import Layout, Placed
from massing.voids.open_floor import open_region
from massing.voids.regions import item_shadows, joined

__all__ = ["Tally", "above_item", "obstructed", "tally"]

WALKED = 2000.0  # mm; what starts below this above the floor is in a walker's way


@dataclass(frozen=True, slots=True)
class Tally:
    """What a scheme does to its room, nominal world.

    obstructed_m2 : floor under bodies that start lower than 2000 above it
    standing_m2 : floor with 2000 or more clear and nothing in the way below that
    store_l : volume of everything that stores
    bodies_l : volume of every body, overlaps counted once
    above_l : for each item, the volume straight above its footprint up to the ceiling
    """

    obstructed_m2: float
    standing_m2: float
    store_l: float
    bodies_l: float
    above_l: tuple[tuple[str, float], ...]


def tally(layout: Layout) -> Tally:
    """Count one scheme up."""
    return Tally(
        obstructed_m2=obstructed(layout, WALKED).area / 1e6,
        standing_m2=open_region(layout, WALKED).area / 1e6,
        store_l=math.fsum(_volume(item) for item in layout.items if item.spec.stores) / 1e6,
        bodies_l=_all_bodies(layout) / 1e6,
        above_l=tuple((item.name, above_item(layout, item) / 1e6) for item in layout.items),
    )


def _volume(item: Placed) -> float:
    solids = [part.solid.world(0) for part in item.parts]
    return float(solids[0].volume[0]) if len(solids) == 1 else union_volume(solids)


def _all_bodies(layout: Layout) -> float:
    return union_volume([part.solid.world(0) for item in layout.items for part in item.parts])


def obstructed(layout: Layout, height: float) -> Any:
    """Plan region (a shapely geometry, mm) under bodies that start below a height.

    Heights are above the floor under each place, so a body over a step is judged on each level.
    """
    return joined(ring for _, ring in item_shadows(layout, height))


def above_item(layout: Layout, item: Placed) -> float:
    """Volume straight above an item's body up to the ceiling, mm³, other bodies not counted.

    Each part counts above its own top; where parts lie over one another the lower is covered.
    """
    total = 0.0
    done: list[Floats] = []
    for part in sorted(item.parts, key=lambda p: -float(p.solid.high[0, 2])):
        ring = outline_of(part.solid)[0]
        if any(_within(ring, other) for other in done):
            continue
        done.append(ring)
        top = float(part.solid.high[0, 2])
        total += math.fsum(_column(ring, top, cell) for cell in cells(layout.room))
    return total


def _within(ring: Floats, other: Floats) -> bool:
    planes = prism_planes(other)
    return bool((ring @ planes[:, :2].T <= planes[:, 3] + 1e-6).all())


def _column(ring: Floats, top: float, cell: Cell) -> float:
    """Volume over a ring, above a level and below one cell's ceiling, mm³."""
    from massing.geometry.solids import prism

    roof = cell.polygon @ cell.plane[:2] + cell.plane[2]
    if float(roof.max()) <= top:
        return 0.0
    block = prism(ring, top, float(roof.max()) + 1.0)
    under = np.array([[-cell.plane[0], -cell.plane[1], 1.0, cell.plane[2]]])
    found = clip_solid(block, np.vstack([prism_planes(cell.polygon), under]))
    return 0.0 if found is None else float(found.volume[0])
