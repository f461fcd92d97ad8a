"""Names of walls in; wall numbers out, or a fault with the nearest name."""

from __future__ import annotations

import math
from collections.abc import Iterable

from massing.errors import Fault, Mark
from massing.reading.words import nearest

__all__ = ["Faults", "compass_word", "size_label", "wall_names", "wall_number"]

_OCTANTS = (
    "east",
    "north-east",
    "north",
    "north-west",
    "west",
    "south-west",
    "south",
    "south-east",
)


class Faults:
    """Collects what is wrong, so that everything is told at once.

    >>> faults = Faults()
    >>> faults.add("no such wall 'nort'", None, hint="north")
    >>> [str(fault) for fault in faults.found]
    ["no such wall 'nort' (did you mean 'north'?)"]
    """

    def __init__(self) -> None:
        self.found: list[Fault] = []

    def add(self, says: str, mark: Mark | None, hint: str | None = None) -> None:
        """Note one fault."""
        self.found.append(Fault(says, mark, hint))


def wall_number(
    name: str, known: tuple[str, ...], faults: Faults, mark: Mark | None = None
) -> int | None:
    """The number of the wall of that name; a fault and None where there is none.

    >>> wall_number("east", ("south", "east"), Faults())
    1
    """
    if name in known:
        return known.index(name)
    told = ", ".join(known[:8]) + (", …" if len(known) > 8 else "")
    faults.add(f"there is no wall '{name}'; the walls are {told}", mark, nearest(name, known))
    return None


def compass_word(x: float, y: float) -> str:
    """The plan direction of a vector in words, +y being north.

    >>> compass_word(0.0, 1.0), compass_word(-1.0, -1.0)
    ('north', 'south-west')
    """
    return _OCTANTS[round(math.atan2(y, x) / (math.pi / 4)) % 8]


def wall_names(names: Iterable[str | None]) -> tuple[str, ...]:
    """Names of walked walls: their own, or their numbers.

    >>> wall_names(["north", None])
    ('north', 'wall 2')
    """
    return tuple(str(name or f"wall {k}") for k, name in enumerate(names, 1))


def size_label(axis: str, measured: str) -> str:
    """A room's own size in words, for whoever tapes it.

    >>> size_label("x", "outside")
    'room from west to east, outside'
    """
    ends = "west to east" if axis == "x" else "south to north"
    return f"room from {ends}, {measured}"
