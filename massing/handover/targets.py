"""Where an output goes: a project file, a scheme and what was asked for in; paths out."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from massing.errors import Fault, InputError
from massing.handover.names import ascii_name

__all__ = ["one_name_each", "target_files"]


def target_files(
    file: Path, scheme: str, out: Path | None, endings: tuple[str, ...]
) -> tuple[Path, ...]:
    """One path an ending: in a folder under the project's and scheme's names, or the file asked.

    OBJ carries no unit, so its file name does. A folder asked for that is not there yet is made
    beside what is; raises InputError where what would hold it is not there either.
    """
    if out is not None and out.suffix:
        _folder(out.parent)
        return (out,)
    folder = out if out is not None else file.parent
    if out is not None and not out.exists():
        _folder(out.parent)
        out.mkdir(exist_ok=True)
    _folder(folder)
    stem = ascii_name(f"{file.stem} {scheme}").lower().replace(" ", "-").replace("_", "-")
    return tuple(
        folder / (f"{stem}_mm.{ending}" if ending == "obj" else f"{stem}.{ending}")
        for ending in endings
    )


def one_name_each(targets: Mapping[str, Path]) -> None:
    """Raise InputError where two schemes would be written to one file.

    >>> one_name_each({"as found": Path("a.pdf"), "first try": Path("b.pdf")})
    """
    held: dict[Path, str] = {}
    for scheme, target in targets.items():
        other = held.setdefault(target, scheme)
        if other != scheme:
            says = f"schemes '{other}' and '{scheme}' would both be written as {target.name}"
            raise InputError([Fault(says)])


def _folder(folder: Path) -> None:
    if not folder.is_dir():
        raise InputError([Fault(f"there is no folder {folder}")])
