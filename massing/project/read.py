"""Read a project file: a path in, a project whose every name leads somewhere out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from massing.errors import Fault, InputError, MassingError
from massing.items.catalog import resolve
from massing.items.spec import ItemSpec
from massing.project.file import ProjectFile
from massing.project.project import Arrangement, Project
from massing.project.resolve import resolve_schemes
from massing.project.scheme_spec import PlacementSpec
from massing.reading.faults import validate
from massing.reading.nodes import (
    Rows,
    Scalar,
    Table,
    file_bytes,
    mark_of,
    parse_tree,
    sorted_faults,
)
from massing.reading.words import nearest
from massing.room.build import build_room
from massing.room.partitions import add_partitions
from massing.room.shape import Room
from massing.survey.buildups import load_build_up
from massing.survey.values import Values
from massing.units import Length

__all__ = ["parse_project", "read_project", "thickness_of"]

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
    file = validate(ProjectFile, _spelled_out(tree))
    faults: list[Fault] = []
    arrangements = resolve_schemes(file.schemes, faults)
    items = _items(file, arrangements, faults)
    room = _room(file, faults)
    if room is not None:
        for arrangement in arrangements.values():
            _check_places(arrangement, room, faults)
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
        path=where,
        text=text if isinstance(text, str) else text.decode("utf-8-sig"),
    )


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


def _attempt(make: Callable[[], Found], faults: list[Fault]) -> Found | None:
    try:
        return make()
    except InputError as error:
        faults.extend(error.faults)
    except MassingError as error:
        faults.append(Fault(str(error)))
    return None


def _room(file: ProjectFile, faults: list[Fault]) -> Room | None:
    return _attempt(lambda: build_room(file.room, Values(), thickness_of), faults)


def _items(
    file: ProjectFile, arrangements: dict[str, Arrangement], faults: list[Fault]
) -> dict[str, ItemSpec]:
    """Every item placed anywhere and every own item, resolved."""
    own = dict(file.items)
    found: dict[str, ItemSpec] = {}
    words = [*own, *(p.item for a in arrangements.values() for _, p in a.placements)]
    for word in words:
        if word in found:
            continue
        spec = _attempt(lambda w=word: resolve(w, own), faults)  # type: ignore[misc]
        if spec is not None and spec.body is None and not spec.parts:
            says = f"'{word}' has no body; give 'body' or 'parts', or 'like' another item"
            faults.append(Fault(says, mark_of(word)))
        elif spec is not None:
            found[word] = spec
    return found


def _check_places(arrangement: Arrangement, room: Room, faults: list[Fault]) -> None:
    """Walls named by placements exist, and `together` names doors that exist."""
    if arrangement.partitions:
        made = _attempt(
            lambda: add_partitions(room, arrangement.partitions, Values(), thickness_of), faults
        )
        room = made or room
    walls = [wall.name for wall in room.walls]
    for _, placement in arrangement.placements:
        for word in _walls_named(placement):
            if word not in walls:
                told = ", ".join(walls[:8]) + (", …" if len(walls) > 8 else "")
                says = f"there is no wall '{word}'; the walls are {told}"
                faults.append(Fault(says, mark_of(word), nearest(word, walls)))
        if placement.corner is not None:
            _check_corner(placement, room, faults)
    doors = [opening.name for opening in room.openings]
    for door, _ in arrangement.doors:
        if door not in doors:
            says = f"there is no door '{door}'"
            faults.append(Fault(says, mark_of(door), nearest(door, doors)))
    for group in arrangement.together:
        for use in group:
            thing = use.removesuffix(" open").removesuffix(" shut")
            if thing != use and thing not in doors:
                faults.append(
                    Fault(f"there is no door '{thing}'", mark_of(use), nearest(thing, doors))
                )


def _walls_named(placement: PlacementSpec) -> list[str]:
    words = [placement.against, placement.facing, *(placement.corner or ())]
    return [word for word in words if word is not None]


def _check_corner(placement: PlacementSpec, room: Room, faults: list[Fault]) -> None:
    names = [wall.name for wall in room.walls]
    first, second = placement.corner or ("", "")
    if first not in names or second not in names:
        return
    a, b = room.wall(first), room.wall(second)
    turn = a.outward[0, 0] * b.outward[0, 1] - a.outward[0, 1] * b.outward[0, 0]
    if abs(float(turn)) < 1e-6:
        says = f"the {first} and {second} walls do not meet in a corner"
        faults.append(Fault(says, mark_of(second)))
