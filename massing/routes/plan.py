"""What a carried thing can meet: a layout, a door and two levels in, free floor and rings out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from massing.checks.leaves import opens_to
from massing.geometry.carry.layers import Stones, stones_of
from massing.geometry.plan_parts import outside
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Opening
from massing.scheme.floor_plan import Block, leaf_block, met_between
from massing.scheme.layout import Layout, Leaf, Placed

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = [
    "Doorway",
    "Scene",
    "bounds_of",
    "doorway_of",
    "outer_doors",
    "without_riders",
]

_DEEP = 0.1  # mm; a wall of no said thickness still has this much reveal


@dataclass(frozen=True, slots=True, eq=False)
class Doorway:
    """A door things are carried in by, with the hall outside it.

    reveal : (4, 2) the way through the wall; hall : (n, 2) the free floor outside
    middle : (2,) of the doorway on the outer face; out, along : (2,) unit vectors
    clear : its width past the open leaf; sill, head : z, mm; leaf : its leaf, open, if it has one
    """

    name: str
    reveal: Floats
    hall: Floats
    middle: Floats
    out: Floats
    along: Floats
    clear: float
    sill: float
    head: float
    depth: float
    leaf: Block | None


def outer_doors(layout: Layout) -> tuple[Opening, ...]:
    """Doors to the outside, in the order they are written."""
    room = layout.room
    return tuple(o for o in room.openings if o.kind == "door" and not room.wall(o.wall).partition)


def without_riders(layout: Layout, name: str, *, empty: bool) -> Layout:
    """The layout as the thing finds it: less itself and all that stands on it.

    empty : less everything that does not stay, too. Mats and other passable things do not count.
    """
    kept: list[Placed] = []
    gone = layout.stack_from(name)
    for item in layout.items:
        if item.name in gone or item.spec.passable or (empty and not item.stays):
            continue
        kept.append(item)
    return replace(layout, items=tuple(kept))


def doorway_of(layout: Layout, door: Opening, *, hall: float | None, reach: float) -> Doorway:
    """A door and the hall before it; its leaf stands open as far as it gets.

    hall : its width, mm, None for open ground; reach : how far it goes on, mm, beyond a leaf that
        opens into it
    """
    from shapely import Polygon, get_parts

    wall = layout.room.wall(door.wall)
    thick = max(float(wall.thickness[0]), _DEEP)
    along, out = wall.along[0], wall.outward[0]
    left = wall.left[0] + float(door.left[0]) * along
    right = left + float(door.width[0]) * along
    reveal = np.stack([left, right, right + thick * out, left + thick * out])
    middle = (left + right) / 2.0 + thick * out
    leaf = next((one for one in layout.leaves if one.name == door.name), None)
    if leaf is not None and door.opens == "out":
        reach += float(leaf.width[0])
    depth = reach if hall is None else hall
    box = np.stack(
        [
            middle - reach * along,
            middle + reach * along,
            middle + reach * along + depth * out,
            middle - reach * along + depth * out,
        ]
    )
    building = Polygon(layout.room.outline[0]).buffer(thick - 1e-3, join_style="mitre")
    free = [p for p in get_parts(Polygon(box).difference(building)) if p.geom_type == "Polygon"]
    before = max(free, key=lambda part: part.area)
    block = None if leaf is None else leaf_block(leaf, _standing(layout, leaf))
    sill = float(door.sill[0])
    return Doorway(
        name=door.name,
        reveal=reveal,
        hall=np.asarray(before.exterior.coords)[:-1],
        middle=middle,
        out=out,
        along=along,
        clear=_clear(reveal, block),
        sill=sill,
        head=sill + float(door.height[0]),
        depth=depth,
        leaf=block,
    )


def _standing(layout: Layout, leaf: Leaf) -> float:
    """How far a leaf stands open, radians; the partition it hangs in does not stop it."""
    reach, stopped = opens_to(layout, leaf)
    return leaf.full if stopped and leaf.wall.startswith(f"{stopped} ") else reach


def _clear(reveal: Floats, leaf: Block | None) -> float:
    """Least distance across the doorway between its jambs, the open leaf counted with its own."""
    from shapely import LineString, Polygon

    jambs = [LineString(reveal[[0, 3]]), LineString(reveal[[1, 2]])]
    width = float(jambs[0].distance(jambs[1]))
    if leaf is None:
        return width
    shape = Polygon(leaf.ring[0])
    return min(width, max(float(shape.distance(jamb)) for jamb in jambs))


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A layout with a doorway, and what was already worked out of it.

    A thing between two levels must not overlap what ``between`` packs.
    """

    layout: Layout
    way: Doorway
    _packed: dict[bytes, Stones] = field(default_factory=dict)
    _walls: dict[bool, list[tuple[Floats, str]]] = field(default_factory=dict)
    _bands: dict[tuple[float, float, bool], tuple[Stones, list[str]]] = field(default_factory=dict)

    def between(self, low: float, high: float, *, slopes: bool = True) -> tuple[Stones, list[str]]:
        """Everything met between two levels, and in words what each owner is.

        The doorway is open where they lie over its sill and under its head; else it is wall.
        slopes : whether ceilings that come down count, too
        """
        key = (round(low, 6), round(high, 6), slopes)
        if key not in self._bands:
            rings = list(self._rings(low, high, slopes=slopes))
            stones = Stones.joined([self._pack(ring) for ring, _ in rings])
            self._bands[key] = (stones, [name for _, name in rings])
        return self._bands[key]

    def slopes(self) -> Iterator[tuple[Floats, Floats]]:
        """Each part of the ceiling that comes down: its plan ring (n, 2) and plane (3,)."""
        for piece in self.layout.room.ceilings:
            for plane in piece.planes[0]:
                if _comes_down(plane):
                    yield piece.polygon[0], plane

    def _rings(self, low: float, high: float, *, slopes: bool) -> Iterator[tuple[Floats, str]]:
        way = self.way
        yield from self._shell(through=low >= way.sill - TOUCH and high <= way.head + TOUCH)
        for block in met_between(self.layout, low, high):
            if slopes or block.kind != "ceiling":
                yield block.ring[0], _word(block)
        if not slopes:
            for piece in self.layout.room.ceilings:
                if any(p[2] < high - TOUCH for p in piece.planes[0] if not _comes_down(p)):
                    yield piece.polygon[0], "the ceiling"

    def _shell(self, *, through: bool) -> list[tuple[Floats, str]]:
        """The walls round the room, the hall and the open doorway, and the leaves standing open."""
        if through not in self._walls:
            layout, way = self.layout, self.way
            free = [np.asarray(layout.room.outline[0]), way.hall]
            if through:
                free.append(_lapped(way.reveal, way.out))
            found = [
                (ring, "the wall" if _near(ring, layout, way) else "the hall")
                for ring in outside(free, 400.0)
            ]
            leaves = [] if way.leaf is None else [way.leaf]
            leaves += [
                leaf_block(leaf, _standing(layout, leaf))
                for leaf in layout.leaves
                if layout.room.wall(leaf.wall).partition
            ]
            found += [(block.ring[0], _word(block)) for block in leaves]
            self._walls[through] = found
        return self._walls[through]

    def _pack(self, ring: Floats) -> Stones:
        key = ring.tobytes()
        if key not in self._packed:
            self._packed[key] = stones_of([ring])
        return self._packed[key]


def _comes_down(plane: Floats) -> bool:
    return float(np.hypot(plane[0], plane[1])) > 1e-12


def _lapped(reveal: Floats, out: Floats) -> Floats:
    """The reveal run a little into the room and the hall, so that no seam is left between."""
    lap = 2e-3 * out
    return np.stack([reveal[0] - lap, reveal[1] - lap, reveal[2] + lap, reveal[3] + lap])


def _near(ring: Floats, layout: Layout, way: Doorway) -> bool:
    from shapely import Polygon

    room: Polygon = Polygon(layout.room.outline[0])
    return bool(
        Polygon(ring).distance(room) <= TOUCH
        or Polygon(ring).distance(Polygon(way.reveal)) <= TOUCH
    )


def _word(block: Block) -> str:
    words: dict[str, str] = {
        "leaf": f"the open leaf of {block.name}",
        "ceiling": "the ceiling",
        "step": "the floor step",
    }
    return words.get(block.kind, block.name)


def bounds_of(rings: Sequence[Floats]) -> tuple[float, float, float, float]:
    """Least x, y and greatest x, y of some rings."""
    points = np.concatenate(list(rings))
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
