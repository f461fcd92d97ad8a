"""Work out what each scheme inherits: the file's schemes in, arrangements and faults out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from massing.errors import Fault
from massing.items.catalog import plain_name
from massing.project.project import Arrangement
from massing.project.scheme_spec import DoorChangeSpec, MoveSpec, PlacementSpec, SchemeSpec
from massing.project.ways import forgotten, stray_words
from massing.reading.nodes import mark_of
from massing.reading.words import nearest
from massing.units import Length

__all__ = ["resolve_schemes"]


def resolve_schemes(
    schemes: Mapping[str, SchemeSpec],
    faults: list[Fault],
    meant: Callable[[], frozenset[str]] = frozenset,
) -> dict[str, Arrangement]:
    """Arrangements of every scheme, in file order; what is wrong is added to ``faults``.

    meant : asked only where a name leads nowhere: the plain names that are missing because a
        placement misspells them, which is told of the placement
    """
    done: dict[str, Arrangement] = {}
    told = _Told(faults, meant)
    for name in schemes:
        _resolve(name, schemes, done, told)
    return {name: done[name] for name in schemes if name in done}


@dataclass(frozen=True, slots=True)
class _Told:
    """The faults found, and the names whose being missing is told already."""

    found: list[Fault]
    meant: Callable[[], frozenset[str]]

    def append(self, fault: Fault) -> None:
        self.found.append(fault)


def _resolve(
    name: str, schemes: Mapping[str, SchemeSpec], done: dict[str, Arrangement], faults: _Told
) -> None:
    """Work out a scheme and those it begins from, the first of them first."""
    chain: dict[str, None] = {}
    above: str | None = name
    while above is not None and above in schemes and above not in done and above not in chain:
        chain[above] = None
        above = schemes[above].from_
    first = True
    for one in reversed(chain):
        spec = schemes[one]
        if first and spec.from_ is not None and spec.from_ in chain:
            told = " from ".join((*chain, str(spec.from_)))
            faults.append(Fault(f"schemes inherit in a circle: {told}", mark_of(spec.from_)))
        elif spec.from_ is not None and spec.from_ not in schemes:
            hint = nearest(spec.from_, schemes)
            faults.append(Fault(f"there is no scheme '{spec.from_}'", mark_of(spec.from_), hint))
        done[one] = _arranged(one, spec, done.get(spec.from_ or ""), faults)
        first = False


def _arranged(name: str, spec: SchemeSpec, base: Arrangement | None, faults: _Told) -> Arrangement:
    placements = dict(base.placements) if base else {}
    # Where what it inherits is not known, what it changes cannot be followed: one fault, not many.
    lost = spec.from_ is not None and base is None
    for gone in () if lost else spec.remove:
        if gone not in placements:
            _no_item(gone, placements, faults, f"nothing called '{gone}' to remove")
            continue
        del placements[gone]
    for moved, words in () if lost else spec.move.items():
        if moved not in placements:
            _no_item(moved, placements, faults, f"nothing called '{moved}' to move")
            continue
        if placements[moved].stays:
            faults.append(Fault(f"'{moved}' stays; it cannot be moved", mark_of(moved)))
        placements[moved] = _moved(placements[moved], words, faults)
    for placement in spec.add:
        own = _free_name(placement, placements, faults)
        placements[own] = placement
    if not lost:
        _check_stacks(placements, faults)
    partitions = (*(base.partitions if base else ()), *spec.partitions)
    together = (*(base.together if base else ()), *spec.together)
    doors = dict(base.doors if base else ())
    for door, change in spec.doors.items():
        doors[door] = _rehung(doors.get(door), change)
    return Arrangement(
        name,
        spec.says or "",
        tuple(placements.items()),
        partitions,
        together,
        tuple(doors.items()),
        () if lost else spec.together,
    )


def _rehung(before: DoorChangeSpec | None, change: DoorChangeSpec) -> DoorChangeSpec:
    """What a change says over what the inherited scheme said of that door."""
    if before is None:
        return change
    said = {word: getattr(change, word) for word in change.model_fields_set}
    return before.model_copy(update={k: v for k, v in said.items() if v is not None})


def _no_item(word: str, known: Mapping[str, Any], faults: _Told, says: str) -> None:
    if plain_name(word) not in faults.meant():
        faults.append(Fault(says, mark_of(word), nearest(word, known)))


def _free_name(placement: PlacementSpec, taken: Mapping[str, PlacementSpec], faults: _Told) -> str:
    """The placement's own name, or the item's with a number when that is taken."""
    if placement.name is not None:
        if placement.name in taken:
            says = f"two things are called '{placement.name}'"
            faults.append(Fault(says, mark_of(placement.name)))
        return str(placement.name)
    name, number = str(placement.item), 1
    while name in taken:
        number += 1
        name = f"{placement.item} {number}"
    return name


def _moved(placement: PlacementSpec, words: MoveSpec, faults: _Told) -> PlacementSpec:
    """The placement with what the move says in place of what it said."""
    said = {k: v for k in words.model_fields_set if (v := getattr(words, k)) is not None}
    lost = forgotten(said)
    held = {k: getattr(placement, k) for k in sorted(placement.model_fields_set) if k not in lost}
    if "by" in said and "by" in held:
        said["by"] = _added(held["by"], said["by"])
    held.update(said)
    made = PlacementSpec.model_construct(set(held), **{**_defaults(), **held})
    wrong = stray_words({k: getattr(made, k) for k in held})
    for word, says in wrong:
        faults.append(Fault(f"after this move {says}", words.mark_of(word) or words.mark))
    return placement if wrong else made


def _added(first: tuple[Length, ...], second: tuple[Length, ...]) -> tuple[Length, ...]:
    """Two shifts one after the other; a height left out is 0."""
    return tuple(
        Length(
            sum(length.mm for length in both),
            None if all(length.pm is None for length in both) else sum(n.pm or 0.0 for n in both),
            both[-1].method,
            both[-1].mark,
            both[-1].path,
        )
        for pair in zip_longest(first, second)
        if (both := [length for length in pair if length is not None])
    )


def _defaults() -> dict[str, Any]:
    return {
        name: field.get_default(call_default_factory=True)
        for name, field in PlacementSpec.model_fields.items()
    }


def _check_stacks(placements: Mapping[str, PlacementSpec], faults: _Told) -> None:
    """Everything placed on something: it is there, and no stack stands on itself."""
    circles = _circles(placements)
    for name, placement in placements.items():
        target = placement.on
        if target is None:
            continue
        if target not in placements:
            _no_item(target, placements, faults, f"nothing called '{target}' to stand on")
        elif name in circles:
            told = " on ".join((*circles[name], name))
            faults.append(Fault(f"things stand on one another: {told}", mark_of(target)))


def _circles(placements: Mapping[str, PlacementSpec]) -> dict[str, list[str]]:
    """Stacks that come back to where they began, by the least of their names, from it down."""
    found: dict[str, list[str]] = {}
    seen: set[str] = set()
    for name in placements:
        chain: dict[str, int] = {}
        at: str | None = name
        while at is not None and at in placements and at not in seen:
            seen.add(at)
            chain[at] = len(chain)
            at = placements[at].on
        if at in chain:
            circle = list(chain)[chain[at] :]
            least = circle.index(min(circle))
            found[circle[least]] = circle[least:] + circle[:least]
    return found
