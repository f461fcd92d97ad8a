"""Work out what each scheme inherits: the file's schemes in, arrangements and faults out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from massing.errors import Fault
from massing.project.project import Arrangement
from massing.project.scheme_spec import MoveSpec, PlacementSpec, SchemeSpec
from massing.reading.nodes import mark_of
from massing.reading.words import nearest

__all__ = ["resolve_schemes"]

_WAYS = ("against", "corner", "on", "at", "centre")
_ALONGS = ("along", "from_right", "middle")
_HIGHS = ("height", "top", "drop")


def resolve_schemes(
    schemes: Mapping[str, SchemeSpec], faults: list[Fault]
) -> dict[str, Arrangement]:
    """Arrangements of every scheme, in file order; what is wrong is added to ``faults``."""
    done: dict[str, Arrangement] = {}
    for name in schemes:
        _resolve(name, schemes, done, faults, ())
    return {name: done[name] for name in schemes if name in done}


def _resolve(
    name: str,
    schemes: Mapping[str, SchemeSpec],
    done: dict[str, Arrangement],
    faults: list[Fault],
    above: tuple[str, ...],
) -> Arrangement | None:
    if name in done:
        return done[name]
    spec = schemes[name]
    base: Arrangement | None = None
    if spec.from_ is not None:
        if spec.from_ in above or spec.from_ == name:
            told = " from ".join((*above, name, str(spec.from_)))
            faults.append(Fault(f"schemes inherit in a circle: {told}", mark_of(spec.from_)))
        elif spec.from_ not in schemes:
            hint = nearest(spec.from_, schemes)
            faults.append(Fault(f"there is no scheme '{spec.from_}'", mark_of(spec.from_), hint))
        else:
            base = _resolve(str(spec.from_), schemes, done, faults, (*above, name))
    done[name] = _arranged(name, spec, base, faults)
    return done[name]


def _arranged(
    name: str, spec: SchemeSpec, base: Arrangement | None, faults: list[Fault]
) -> Arrangement:
    placements = dict(base.placements) if base else {}
    for gone in spec.remove:
        if gone not in placements:
            _no_item(gone, placements, faults, f"nothing called '{gone}' to remove")
            continue
        del placements[gone]
    for moved, words in spec.move.items():
        if moved not in placements:
            _no_item(moved, placements, faults, f"nothing called '{moved}' to move")
            continue
        if placements[moved].stays:
            faults.append(Fault(f"'{moved}' stays; it cannot be moved", mark_of(moved)))
        placements[moved] = _moved(placements[moved], words, faults)
    for placement in spec.add:
        own = _free_name(placement, placements, faults)
        placements[own] = placement
    _check_stacks(placements, faults)
    partitions = (*(base.partitions if base else ()), *spec.partitions)
    together = (*(base.together if base else ()), *spec.together)
    doors = {**dict(base.doors if base else ()), **spec.doors}
    arrangement = Arrangement(
        name,
        spec.says or "",
        tuple(placements.items()),
        partitions,
        together,
        tuple(doors.items()),
    )
    _check_together(arrangement, spec, faults)
    return arrangement


def _no_item(word: str, known: Mapping[str, Any], faults: list[Fault], says: str) -> None:
    faults.append(Fault(says, mark_of(word), nearest(word, known)))


def _free_name(
    placement: PlacementSpec, taken: Mapping[str, PlacementSpec], faults: list[Fault]
) -> str:
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


def _moved(placement: PlacementSpec, words: MoveSpec, faults: list[Fault]) -> PlacementSpec:
    """The placement with what the move says in place of what it said."""
    said = {k: getattr(words, k) for k in words.model_fields_set if k != "by"}
    held = {k: getattr(placement, k) for k in placement.model_fields_set}
    if any(k in said for k in _WAYS):
        for k in (*_WAYS, *_ALONGS, "off", "off_side", "shift", "facing", "turn"):
            held.pop(k, None)
    for group in (_ALONGS, _HIGHS):
        if any(k in said for k in group):
            for k in group:
                held.pop(k, None)
    if words.by is not None:
        held["by"] = words.by
    held.update(said)
    try:
        made = PlacementSpec.model_construct(**{**_defaults(), **held})
    except TypeError as error:  # pragma: no cover - the fields are the model's own
        raise AssertionError(str(error)) from error
    ways = [w for w in _WAYS if getattr(made, w)]
    if len(ways) != 1:
        faults.append(Fault("a move says one new place", words.mark))
    return made


def _defaults() -> dict[str, Any]:
    return {
        name: field.get_default(call_default_factory=True)
        for name, field in PlacementSpec.model_fields.items()
    }


def _check_stacks(placements: Mapping[str, PlacementSpec], faults: list[Fault]) -> None:
    """Everything placed on something: it is there, and no stack stands on itself."""
    for name, placement in placements.items():
        target = placement.on
        if target is None:
            continue
        if target not in placements:
            _no_item(target, placements, faults, f"nothing called '{target}' to stand on")
            continue
        chain = [name]
        below: str | None = str(target)
        while below is not None and below in placements:
            chain.append(below)
            if below in chain[:-1]:
                if min(chain[:-1]) == name:
                    told = " on ".join(chain)
                    faults.append(Fault(f"things stand on one another: {told}", mark_of(target)))
                break
            on = placements[below].on
            below = None if on is None else str(on)


def _check_together(arrangement: Arrangement, spec: SchemeSpec, faults: list[Fault]) -> None:
    """Every `together` entry names something in the scheme (doors are checked with the room)."""
    names = {name for name, _ in arrangement.placements}
    for group in spec.together:
        for use in group:
            thing = use.removesuffix(" in use").removesuffix(" open").removesuffix(" shut")
            if thing not in names and not use.endswith((" open", " shut")):
                _no_item(use, dict.fromkeys(names), faults, f"nothing called '{thing}' here")
