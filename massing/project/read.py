"""Read a project file: a path in, a project whose every name leads somewhere out."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TypeVar

from massing.errors import Fault, InputError, MassingError, MissingToolError
from massing.items.body import build_item
from massing.items.catalog import plain_name, resolve
from massing.items.spec import ItemSpec
from massing.project.file import ProjectFile
from massing.project.follow import check_names, known_names
from massing.project.methods import method_faults, with_method
from massing.project.parts_at_fault import understood
from massing.project.project import Arrangement, Project
from massing.project.resolve import resolve_schemes
from massing.reading.nodes import (
    Rows,
    Scalar,
    Table,
    file_bytes,
    mark_of,
    parse_tree,
    sorted_faults,
)
from massing.room.build import build_room
from massing.room.partitions import add_partitions
from massing.room.shape import Room
from massing.survey.buildups import load_build_up
from massing.survey.values import Values
from massing.units import Length

__all__ = ["input_files", "parse_project", "read_project", "refuse_inputs", "thickness_of"]

Found = TypeVar("Found")


def thickness_of(name: str) -> Length:
    """Thickness of a wall build-up by name. Raises InputError for an unknown one."""
    return load_build_up(name).thickness


def read_project(path: Path | str) -> Project:
    """Read and check a project file.

    Raises InputError with everything wrong in it, in file order.
    """
    where = Path(path)
    return parse_project(file_bytes(where), where)


def parse_project(text: str | bytes, path: Path | str = "project.yaml") -> Project:
    """Check the text of a project file; mesh files are looked up beside ``path``.

    Raises InputError with everything wrong in it, in file order.
    """
    where = Path(path)
    tree = parse_tree(text, str(path))
    known = understood(_spelled_out(tree))
    file = known.file
    faults: list[Fault] = [*known.faults, *method_faults(file)]
    if len(faults) > len(known.faults):
        raise InputError(sorted_faults(faults))
    if file.survey.by is not None:
        room_by = with_method(file.room, file.survey.by)
        file = file.model_copy(update={"room": room_by})
    meant = cache(lambda: _meant(file, known.items))
    arrangements = resolve_schemes(file.schemes, faults, meant)
    items = _items(file, arrangements, where.parent, faults, known.items)
    faults += _same_names(file)
    wanted = file.arrange.partitions
    if wanted is not None and wanted.build_up is not None:
        build_up = wanted.build_up
        _attempt(lambda: thickness_of(build_up), faults, build_up)
    if known.room:
        room = _attempt(lambda: build_room(file.room, Values(), thickness_of), faults)
        if room is not None:
            _check_schemes(file, arrangements, room, items, faults, meant)
    if faults:
        raise InputError(sorted_faults(_once(faults)))
    return Project(
        name=str(file.project),
        room=file.room,
        items=items,
        arrangements=arrangements or {"as found": Arrangement("as found", "", (), (), ())},
        schemes=dict(file.schemes),
        people=file.people,
        survey=file.survey,
        rules=file.rules,
        prefer=file.prefer,
        arrange=file.arrange,
        path=where,
        text=text if isinstance(text, str) else text.decode("utf-8-sig"),
    )


def input_files(project: Project) -> tuple[Path, ...]:
    """The project file and every mesh file its items name, whether or not they are there."""
    specs = (part.mesh for item in project.items.values() for part in item.parts or ())
    folder = project.path.parent
    meshes = sorted({folder / spec.file for spec in specs if spec is not None})
    return (project.path, *meshes)


def refuse_inputs(project: Project, targets: Iterable[Path]) -> None:
    """Raise InputError where something would be written over what the project is read from.

    Other names of the same file count too: a link, or a way through ``..``.
    """
    real = {os.path.realpath(path): path for path in input_files(project)}
    for target in targets:
        held = real.get(os.path.realpath(target))
        if held is not None:
            says = f"'{target}' would be written over '{held.name}', which the project is read from"
            raise InputError([Fault(says)])


def _once(faults: list[Fault]) -> list[Fault]:
    """Each fault once: schemes that inherit a mistake do not repeat it."""
    return list(dict.fromkeys(faults))


def _spelled_out(tree: Table) -> Table:
    """Write out the shorthand of a scheme that is only a list of placements."""
    schemes = tree.get("schemes")
    if not isinstance(schemes, Table):
        return tree
    for name, value in list(schemes.items()):
        if isinstance(value, Rows):
            table = Table(value.mark, value.path)
            table.add(Scalar("add", mark=value.mark, path=value.path), value, value.mark)
            schemes[name] = table
    return tree


def _attempt(make: Callable[[], Found], faults: list[Fault], named: object = None) -> Found | None:
    """What is made, or its faults noted; a fault without a place is told where ``named`` stands."""
    try:
        return make()
    except InputError as error:
        faults.extend(
            fault if fault.mark else replace(fault, mark=mark_of(named)) for fault in error.faults
        )
    except MissingToolError:
        raise
    except MassingError as error:
        faults.append(Fault(str(error), mark_of(named)))
    return None


def _meant(file: ProjectFile, lost: frozenset[str]) -> frozenset[str]:
    """What things placed by a name that no item has were likely meant to be.

    That the thing they were meant to be is nowhere then needs no fault of its own.
    """
    own, found = dict(file.items), set[str]()
    for word in {p.item for scheme in file.schemes.values() for p in scheme.add}:
        try:
            if plain_name(word) not in lost:
                resolve(word, own)
        except InputError as error:
            found.update(plain_name(fault.hint) for fault in error.faults if fault.hint)
    return frozenset(found)


def _items(
    file: ProjectFile,
    arrangements: dict[str, Arrangement],
    folder: Path,
    faults: list[Fault],
    lost: frozenset[str],
) -> dict[str, ItemSpec]:
    """Every item placed anywhere and every own item, resolved, and its shape tried out.

    lost : those with faults already told
    """
    own = dict(file.items)
    found: dict[str, ItemSpec] = {}
    placed = [p.item for a in arrangements.values() for _, p in a.placements]
    for word in (*own, *(word for word in placed if word not in own)):
        if word in found or plain_name(word) in lost:
            continue
        spec = _attempt(lambda w=word: resolve(w, own), faults)  # type: ignore[misc]
        if spec is not None and spec.body is None and not spec.parts:
            says = f"'{word}' has no body; give 'body' or 'parts', or 'like' another item"
            faults.append(Fault(says, mark_of(word)))
        elif spec is not None:
            found[word] = spec
            if word in own:
                _attempt(lambda s=spec: build_item(s, Values(), folder=folder), faults, word)  # type: ignore[misc]
    return found


def _same_names(file: ProjectFile) -> list[Fault]:
    """Own items whose names differ only in what is not compared: case, hyphens, spaces."""
    faults = []
    seen: dict[str, str] = {}
    for word in file.items:
        plain = plain_name(word)
        if plain in seen:
            says = f"'{word}' and '{seen[plain]}' are one name: case and hyphens do not count"
            faults.append(Fault(says, mark_of(word)))
        seen.setdefault(plain, word)
    return faults


def _check_schemes(
    file: ProjectFile,
    arrangements: dict[str, Arrangement],
    room: Room,
    items: dict[str, ItemSpec],
    faults: list[Fault],
    meant: Callable[[], frozenset[str]],
) -> None:
    """Partitions can be built, and every name in a scheme leads somewhere."""
    anywhere = known_names(file, arrangements.values())
    doors = {str(door.name): door.leaf is not None for door in file.room.doors}
    for arrangement in arrangements.values():
        built: Room | None = room
        if arrangement.partitions:
            parts = arrangement.partitions
            built = _attempt(
                lambda p=parts: add_partitions(room, p, Values(), thickness_of),  # type: ignore[misc]
                faults,
            )
        if built is not None:
            faults += check_names(arrangement, built, items, doors, anywhere, meant)
