"""What can be in the way of something that moves: a layout in, named convex solids out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from massing.checks.moved import move_of
from massing.geometry.solids import Convex, Floats, prism, prism_to_planes
from massing.room.shape import Room
from massing.scheme.layout import Layout

__all__ = ["Blocks", "blocks_of", "comes_up_to"]

_FAR = 2e4  # mm, beyond any room


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """All that can be in the way, part by part.

    names : what each part belongs to; words : how that is said
    walls : the walls a part of the outside lies behind, else none
    planes : (worlds, 3) rows a, b, c under a part of the ceiling, else None
    """

    names: list[str]
    words: list[str]
    walls: list[frozenset[str]]
    planes: list[Floats | None]
    solids: list[Convex]

    def add(
        self,
        name: str,
        words: str,
        solid: Convex,
        walls: frozenset[str] = frozenset(),
        plane: Floats | None = None,
    ) -> None:
        """One more part."""
        self.names.append(name)
        self.words.append(words)
        self.walls.append(walls)
        self.planes.append(plane)
        self.solids.append(solid)


def blocks_of(layout: Layout) -> Blocks:
    """Items' bodies, the fabric, and the shell as solids far thicker than anything reaches.

    Asked again without new work.
    """
    return layout.kept("blocks", _blocks_of)


def _blocks_of(layout: Layout) -> Blocks:
    parts = [(item.name, part.solid) for item in layout.items for part in item.parts]
    names, count = [name for name, _ in parts], len(parts)
    move = move_of(layout)
    base = layout if move is None else move.before
    room = base.kept("blocks of room", _of_room)
    return Blocks(
        names + room.names,
        names + room.words,
        [frozenset[str]()] * count + room.walls,
        [*([None] * count), *room.planes],
        [solid for _, solid in parts] + room.solids,
    )


def _of_room(layout: Layout) -> Blocks:
    """The fabric and the shell."""
    blocks = Blocks([], [], [], [], [])
    for fabric in layout.room.fabric:
        for solid in fabric.parts:
            blocks.add(fabric.name, fabric.name, solid)
    _add_shell(blocks, layout.room)
    return blocks


def _add_shell(blocks: Blocks, room: Room) -> None:
    """The building round the room, as solids far thicker than anything reaches."""
    for piece in room.ceilings:
        for k in range(piece.planes.shape[1]):
            plane = piece.planes[:, k]
            low = np.einsum("wni,wi->wn", piece.polygon, plane[:, :2]) + plane[:, 2:]
            flat = not plane[:, :2].any()
            solid = (
                prism(piece.polygon, plane[:, 2], plane[:, 2] + _FAR)
                if flat
                else prism_to_planes(piece.polygon, low, np.full_like(low, _FAR))
            )
            blocks.add("ceiling", "the ceiling", solid, plane=plane)
    for floor in room.floors:
        solid = prism(floor.polygon, floor.level - _FAR, floor.level)
        blocks.add(floor.name, f"the {floor.name}", solid)
    for outside in room.outside:
        walls = [room.walls[number].name for number in outside.walls]
        name = " and ".join(walls) + " wall"
        solid = prism(outside.polygon, -_FAR, _FAR)
        blocks.add(name, f"the {name}", solid, frozenset(walls))


def comes_up_to(plane: Floats, low: Floats, high: Floats) -> NDArray[np.bool_]:
    """(paths,) whether any of the bounds come up to a slope in some world."""
    least = plane[:, 2:]
    for axis in (0, 1):
        slope = plane[:, axis : axis + 1]
        least = least + np.minimum(slope * low[:, axis], slope * high[:, axis])
    return np.asarray(high[:, 2] > least.min(axis=0))
