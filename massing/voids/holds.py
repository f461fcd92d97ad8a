"""How many of one thing go into an empty box, and how they stand: a box and a thing in, rows out.

Things stand upright, turned a quarter or not, stacked as high as the box and what one of them
carries allow; or they may lie on any side, where that is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from massing.geometry.space.packing import Cells, Piece
from massing.geometry.space.packing_most import most
from massing.geometry.tolerance import TOUCH
from massing.items.body import build_item
from massing.items.spec import ItemSpec
from massing.project.project import Project
from massing.survey.values import Values
from massing.voids.boxes import UsableBox

__all__ = ["LOADS", "Held", "Thing", "held_by", "held_words", "thing_of"]

LOADS = "what carries them is not looked at: have loads on tops, shelves and floors checked"

_PER_MM = 10  # sizes are counted in tenths of a millimetre


@dataclass(frozen=True, slots=True)
class Thing:
    """What is to be put away: its name, width, depth and height in mm, kg where known.

    high : how many may stand on one another, itself counted; None where nothing says
    cautions : what the item says to mind
    """

    name: str
    size: tuple[float, float, float]
    weight: float | None = None
    high: int | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Held:
    """How many of a thing a box holds.

    at_most : what no other way of putting them square to the box beats; count where it is proved
    laid : (corner, size) of each in mm, along the box's own sides
    """

    thing: Thing
    laid: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]
    at_most: int

    @property
    def count(self) -> int:
        """How many are laid."""
        return len(self.laid)

    @property
    def layers(self) -> int:
        """How many stand on one another at the most."""
        return len({corner[2] for corner, _ in self.laid})

    @property
    def litres(self) -> float:
        """Of what is laid."""
        return self.count * math.prod(self.thing.size) / 1e6

    @property
    def weight(self) -> float | None:
        """Of what is laid, kg, where it is known."""
        return None if self.thing.weight is None else self.count * self.thing.weight


def thing_of(project: Project, name: str, spec: ItemSpec) -> Thing:
    """An item as a thing to put away: the box round its body.

    It is stacked as far as the one below carries, where its own kind may stand on it.
    """
    shape = build_item(spec, Values(), folder=project.folder, key=name)
    wide, deep, tall = (float(v) for v in (shape.high - shape.low)[0])
    return Thing(name, (wide, deep, tall), spec.weight, _high(name, spec), tuple(spec.cautions))


def _high(name: str, spec: ItemSpec) -> int | None:
    stack = spec.stack
    if stack is None or not {name, spec.name, *spec.kin} & set(stack.on):
        return 1
    if stack.carries is None or not spec.weight:
        return None
    return 1 + math.floor(stack.carries / spec.weight + 1e-9)


def held_by(box: UsableBox, thing: Thing, *, any_way_up: bool = False) -> Held:
    """The most of a thing that go into a box; its sizes are rounded down by less than 0.1 mm.

    any_way_up : they may lie on any side; nothing is then known of what carries what
    """
    low, high = box.low, box.high
    if not any_way_up and thing.high is not None:
        high = (high[0], high[1], min(high[2], low[2] + thing.high * thing.size[2]))
    room = _tenths(tuple(b - a + TOUCH for a, b in zip(low, high, strict=True)), math.floor)
    size = _tenths(tuple(side - 1e-6 for side in thing.size), math.ceil)
    found = most(Piece(size, flat=not any_way_up), room)
    laid = tuple(
        (
            tuple(a + v / _PER_MM for a, v in zip(low, corner, strict=True)),
            tuple(v / _PER_MM for v in way),
        )
        for corner, way in found.laid
    )
    return Held(thing, laid, found.bound)


def _tenths(sizes: tuple[float, ...], whole: Callable[[float], int]) -> Cells:
    x, y, z = (whole(side * _PER_MM) for side in sizes)
    return (x, y, z)


def held_words(held: Held) -> str:
    """In one line, such as ``12 x crate, 2 high, 921.6 L, 180 kg``."""
    if not held.count:
        return f"no {held.thing.name}"
    told = [f"{held.count} x {held.thing.name}"]
    if held.layers > 1:
        told.append(f"{held.layers} high")
    told.append(f"{held.litres:.1f} L")
    if held.weight is not None:
        told.append(f"{held.weight:g} kg")
    if held.at_most > held.count:
        told.append(f"up to {held.at_most} not ruled out")
    return ", ".join(told)
