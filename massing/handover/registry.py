"""Which writer takes which file? One list of formats; a model and a path in, written paths out.

A format lives in a folder of its own and registers itself when imported. To add one, write its
folder and put the folder's name into ``_FOLDERS``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from importlib import import_module
from pathlib import Path
from typing import Literal

from massing.errors import Fault, InputError
from massing.handover.inset import inset_model
from massing.handover.model import Model

__all__ = ["Format", "format_for", "formats", "register", "write"]

_FOLDERS = ("gltf", "ifc", "obj", "usd")


@dataclass(frozen=True, slots=True)
class Format:
    """One way to write a model.

    name : as people say it
    endings : of the file names it answers to, with the dot, the usual one first
    write : takes the model and a path, returns the files written, the main one first
    unit : of the numbers in the file, and how many mm it is
    up : the file's upward axis, "+Y" (room x, z, -y) or "+Z" (as in the room)
    axes : the same in words
    """

    name: str
    endings: tuple[str, ...]
    write: Callable[[Model, Path], tuple[Path, ...]]
    unit: str
    unit_mm: float
    up: Literal["+Y", "+Z"]
    axes: str


_FORMATS: dict[str, Format] = {}


def register(entry: Format) -> None:
    """Add a format; called once by each format's folder."""
    _FORMATS[entry.name] = entry


def formats() -> tuple[Format, ...]:
    """Every format, by name.

    >>> [entry.name for entry in formats()]
    ['IFC', 'OBJ', 'USD', 'glTF']
    """
    for folder in _FOLDERS:
        import_module(f"massing.handover.{folder}")
    return tuple(_FORMATS[name] for name in sorted(_FORMATS))


def format_for(path: Path | str) -> Format:
    """Return the format that answers to the path's ending.

    Raises InputError for an ending no format has.

    >>> format_for("loft.glbf")
    Traceback (most recent call last):
    ...
    massing.errors.InputError: no mesh format for 'loft.glbf' (did you mean '.glb'?)
    """
    place = Path(path)
    known = {ending: entry for entry in formats() for ending in entry.endings}
    if place.suffix.lower() in known:
        return known[place.suffix.lower()]
    near = get_close_matches(place.suffix.lower(), sorted(known), n=1)
    hint = near[0] if near else ", ".join(sorted(known))
    raise InputError([Fault(f"no mesh format for {place.name!r}", hint=hint)])


def write(model: Model, path: Path | str, *, inset: float = 0.0) -> tuple[Path, ...]:
    """Write the model in the format of the path's ending; return the files written.

    inset : mm to shrink every closed body by on each face, so that touching faces do not flicker
    The model itself is never changed, and an interrupted write leaves the old file whole.
    """
    entry = format_for(path)
    return entry.write(inset_model(model, inset) if inset else model, Path(path))
