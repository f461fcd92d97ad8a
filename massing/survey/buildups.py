"""What a wall is made of, its thickness with ± out; outside sizes in, inside sizes out.

Build-ups are files of the catalogue's ``build-ups`` folder, one each, named after the build-up.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from massing.errors import Fault, InputError
from massing.reading.catalog_folder import catalog_folder
from massing.reading.faults import nearest, validate
from massing.reading.fields import Count, Flag, Name, PositiveLength, Size2, Spec
from massing.reading.nodes import parse_tree
from massing.units import Length

__all__ = [
    "Boards",
    "BuildUp",
    "Inside",
    "Studs",
    "build_up_names",
    "inside_from_outside",
    "load_build_up",
]

_FOLDER = "build-ups"


class Studs(Spec):
    """Studs of a partition: size across and along the thickness, and their centres."""

    size: Size2
    centres: PositiveLength
    insulated: Flag = False


class Boards(Spec):
    """Boards of a partition: thickness of one and on how many faces."""

    thickness: PositiveLength
    faces: Count = 2


class BuildUp(Spec):
    """A wall build-up. ``thickness`` includes the finishes named in ``finished``."""

    name: Name
    says: str
    thickness: PositiveLength
    finished: Name
    basis: str
    studs: Studs | None = None
    boards: Boards | None = None


@dataclass(frozen=True, slots=True)
class Inside:
    """An inside size worked out from outside, mm.

    worst : the ± if every error is at its limit and the same way; likely : by root-sum-square
    """

    nominal: float
    worst: float
    likely: float


def _folder() -> Path:
    return catalog_folder().joinpath(_FOLDER)


def _read(file: Path) -> BuildUp:
    return validate(BuildUp, parse_tree(file.read_bytes(), f"{_FOLDER}/{file.name}"))


def _file_stem(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")


def build_up_names() -> tuple[str, ...]:
    """Names of all build-ups in the catalogue, sorted.

    >>> "half-brick, plastered" in build_up_names()
    True
    """
    files = [file for file in _folder().iterdir() if file.name.endswith(".yaml")]
    return tuple(sorted(str(_read(file).name) for file in files))


def load_build_up(name: str) -> BuildUp:
    """Return the build-up of that name.

    Raises InputError with the nearest name when there is none.

    >>> str(load_build_up("half-brick, plastered").thickness)
    '120 ±20'
    """
    stem = _file_stem(name)
    file = _folder().joinpath(f"{stem}.yaml")
    if stem and file.is_file():
        return _read(file)
    raise InputError([Fault(f"no such build-up '{name}'", hint=nearest(name, build_up_names()))])


def inside_from_outside(outside: Length, walls: Iterable[Length]) -> Inside:
    """Return the inside size: outside less the walls it crosses, with both ±.

    Raises InputError when the walls take up the whole size.

    >>> wall = Length(120.0, 20.0)
    >>> inside_from_outside(Length(6240.0), [wall, wall])
    Inside(nominal=6000.0, worst=40.0, likely=28.284271247461902)
    """
    crossed = tuple(walls)
    nominal = outside.mm - math.fsum(wall.mm for wall in crossed)
    if nominal <= 0.0:
        says = f"walls of {outside.mm - nominal:.0f} leave nothing of an outside {outside.mm:.0f}"
        raise InputError([Fault(says, outside.mark)])
    halves = [length.pm or 0.0 for length in (outside, *crossed)]
    return Inside(nominal, math.fsum(halves), math.hypot(*halves))
