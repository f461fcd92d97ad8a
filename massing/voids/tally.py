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
    blocked = obstructed(layout, WALKED)
    return Tally(
        obstructed_m2=blocked.area / 1e6,
        standing_m2=_tall_floor(layout, WALKED).difference(blocked).area / 1e6,
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
    from shapely import Polygon, union_all

    floors = [(Polygon(f.polygon[0]), float(f.level[0])) for f in layout.room.floors]
    shadows: list[Any] = []
    for item in layout.items:
        for part in item.parts:
            shadow = Polygon(outline_of(part.solid)[0])
            bottom = float(part.solid.low[0, 2])
            shadows.extend(
                shadow.intersection(floor) for floor, level in floors if bottom - level < height
            )
    return union_all(shadows)


def _tall_floor(layout: Layout, height: float) -> Any:
    """Plan region where the room is at least so high, fabric counted."""
    from shapely import Polygon, union_all

    tall = union_all(
        [Polygon(ring) for cell in cells(layout.room) if len(ring := _tall_part(cell, height))]
    )
    low: list[Any] = []
    for fabric in layout.room.fabric:
        for part in fabric.parts:
            shadow = Polygon(outline_of(part)[0])
            bottom = float(part.low[0, 2])
            low.extend(
                shadow.intersection(Polygon(floor.polygon[0]))
                for floor in layout.room.floors
                if bottom - float(floor.level[0]) < height
            )
    return tall.difference(union_all(low)) if low else tall


def _tall_part(cell: Cell, height: float) -> Floats:
    """The part of a cell at least so high: its ring cut by the line where the slope crosses."""
    from massing.geometry.polygons import Ring, split

    line = np.array([[cell.plane[0], cell.plane[1], cell.plane[2] - cell.floor - height]])
    size = float(np.hypot(line[0, 0], line[0, 1]))
    if size < 1e-12:
        return cell.polygon if line[0, 2] >= -1e-6 else np.zeros((0, 2))
    kept, _ = split(Ring.of(cell.polygon), line / size)
    return np.zeros((0, 2)) if kept is None else kept.points[0]


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
