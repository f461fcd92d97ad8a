"""Names in a scheme followed: an arrangement and its room in; names that lead nowhere, as faults.

Walls a placement names, doors a scheme changes or uses, and what a placement accepts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from massing.errors import Fault
from massing.items.catalog import plain_name
from massing.items.spec import ItemSpec, MotionSpec
from massing.project.file import ProjectFile
from massing.project.project import Arrangement
from massing.project.scheme_spec import PlacementSpec
from massing.reading.nodes import mark_of
from massing.reading.words import nearest
from massing.room.shape import Room

__all__ = ["CHECK_NAMES", "check_names", "known_names"]

CHECK_NAMES = (
    "before drawer",
    "behind seat",
    "bodies",
    "ceiling",
    "clearance",
    "control access",
    "control height",
    "daylight",
    "door height",
    "door leaf",
    "doorway",
    "escape",
    "escape window",
    "filler",
    "floor",
    "headroom",
    "heavy lift",
    "hinge side",
    "in use",
    "load",
    "motion",
    "moving parts",
    "open panel",
    "out of reach",
    "passage",
    "reach over",
    "shared floor",
    "shut in",
    "stack",
    "step by door",
    "support",
    "under hung",
    "vent",
    "walls",
    "water and electricity",
    "window",
    "window leaf",
    "work aisle",
    "working space",
    "zone",
)
"""The checks a placement may accept the findings of."""


def known_names(file: ProjectFile, arrangements: Iterable[Arrangement]) -> tuple[str, ...]:
    """Names of everything any scheme of the file places or builds, and of the checks.

    What a placement accepts may be gone from a scheme that inherits it, so it is enough that
    some scheme has it.
    """
    placed = [name for a in arrangements for name, _ in a.placements]
    items = [spec.item for a in arrangements for _, spec in a.placements]
    built = [p.name for scheme in file.schemes.values() for p in scheme.partitions]
    return tuple(dict.fromkeys((*CHECK_NAMES, *placed, *items, *built)))


def check_names(
    arrangement: Arrangement,
    room: Room,
    items: Mapping[str, ItemSpec],
    doors: Mapping[str, bool],
    anywhere: tuple[str, ...],
    meant: Callable[[], frozenset[str]] = frozenset,
) -> list[Fault]:
    """Everything in a scheme that names what is not there.

    room : the room as that scheme builds it, partitions included
    items : the items by their name in the file
    doors : the room's own doors by name, and whether each has a leaf
    anywhere : names that may be accepted, beside those of the room
    meant : plain names that are missing for a reason told already
    Of an item that is not in ``items``, whose own faults are told, no motion is looked for.
    """
    faults: list[Fault] = []
    walls = [wall.name for wall in room.walls]
    taken = _room_names(room)
    allowed = (*taken, *anywhere)
    for name, placement in arrangement.placements:
        faults += [_no_wall(word, walls) for word in _walls_named(placement) if word not in walls]
        faults += _no_corner(placement, room)
        if name in taken:
            says = f"'{name}' is {taken[name]} of the room; give the item a 'name' of its own"
            faults.append(Fault(says, mark_of(placement.name or placement.item)))
        faults += [
            Fault(
                f"there is nothing called '{word}' to accept", mark_of(word), nearest(word, allowed)
            )
            for word in placement.accept
            if word not in allowed
        ]
        faults += _no_motion(placement, items)
    return [*faults, *_doors(arrangement, doors), *_together(arrangement, room, items, meant)]


def _no_motion(placement: PlacementSpec, items: Mapping[str, ItemSpec]) -> list[Fault]:
    """States of a placement that name no motion of its item."""
    spec = items.get(str(placement.item))
    if spec is None:
        return []
    known = [str(motion.name) for motion in spec.motions]
    told = ", ".join(known) or "none"
    return [
        Fault(
            f"'{placement.item}' has no motion '{word}'; it has {told}",
            mark_of(word),
            nearest(word, known),
        )
        for word in placement.state
        if word not in known
    ]


def _room_names(room: Room) -> dict[str, str]:
    """Every name the room has, and what it is the name of."""
    return {
        **{wall.name: "a wall" for wall in room.walls},
        **{floor.name: "a floor" for floor in room.floors},
        **{fabric.name: "a part" for fabric in room.fabric},
        **{opening.name: f"a {opening.kind}" for opening in room.openings},
    }


def _walls_named(placement: PlacementSpec) -> list[str]:
    words = [placement.against, placement.facing, *(placement.corner or ())]
    return [word for word in words if word is not None]


def _no_wall(word: str, walls: list[str]) -> Fault:
    told = ", ".join(walls[:8]) + (", …" if len(walls) > 8 else "")
    says = f"there is no wall '{word}'; the walls are {told}"
    if word.strip("+-")[:1].isdigit():
        says += f"; an angle is written turn: {word}"
    return Fault(says, mark_of(word), nearest(word, walls))


def _no_corner(placement: PlacementSpec, room: Room) -> list[Fault]:
    names = [wall.name for wall in room.walls]
    first, second = placement.corner or ("", "")
    if first not in names or second not in names:
        return []
    a, b = room.wall(first), room.wall(second)
    turn = a.outward[0, 0] * b.outward[0, 1] - a.outward[0, 1] * b.outward[0, 0]
    if abs(float(turn)) >= 1e-6:
        return []
    return [Fault(f"the {first} and {second} walls do not meet in a corner", mark_of(second))]


def _doors(arrangement: Arrangement, doors: Mapping[str, bool]) -> list[Fault]:
    faults = []
    for word, change in arrangement.doors:
        if word not in doors:
            says = f"the room has no door '{word}' to change"
            faults.append(Fault(says, mark_of(word), nearest(word, doors)))
        elif not doors[word]:
            says = f"'{word}' is an open doorway; it has no leaf to change"
            faults.append(Fault(says, change.mark or mark_of(word)))
    return faults


def _together(
    arrangement: Arrangement,
    room: Room,
    items: Mapping[str, ItemSpec],
    meant: Callable[[], frozenset[str]],
) -> list[Fault]:
    """Uses that name no item of the scheme, no motion of one and no door of the room."""
    if not arrangement.own_together:
        return []
    openings = {opening.name for opening in room.openings}
    uses = [f"{name} {state}" for name in openings for state in ("open", "shut", "in use")]
    untold = [plain_name(name) for name, p in arrangement.placements if p.item not in items]
    for name, placement in arrangement.placements:
        spec = items.get(placement.item)
        motions = spec.motions if spec is not None else ()
        uses += [name, f"{name} in use", *(f"{name} {m}" for m in _motion_words(motions))]
    faults = []
    for group in arrangement.own_together:
        if len(group) == 1:
            says = f"'{group[0]}' is used together with nothing; name at least two"
            faults.append(Fault(says, mark_of(group[0])))
        for use in group:
            if use in openings:
                says = f"say whether '{use}' is open or shut"
                faults.append(Fault(says, mark_of(use), f"{use} open"))
            elif use not in uses and not plain_name(use).startswith((*meant(), *untold)):
                hint = nearest(use, uses)
                advice = "" if hint else "; write such as 'washer in use'"
                says = f"there is nothing called '{use}' here{advice}"
                faults.append(Fault(says, mark_of(use), hint))
    return faults


def _motion_words(motions: Iterable[MotionSpec]) -> Iterator[str]:
    """How the motions of an item may be named: each, the last word of each, or all of a kind."""
    for motion in motions:
        words = str(motion.name).split()
        for name in (
            motion.name,
            *(" ".join(words[k:]) for k in range(1, len(words))),
            motion.kind,
        ):
            for form in (name, f"{name}s"):
                yield from (form, f"{form} open", f"{form} in use")
