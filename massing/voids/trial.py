"""Does a thing fit where it is put: a project, a scheme and one more placement in, conflicts out.

The nominal world decides, with every check the scheme itself is given.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

from massing.checks.context import Context
from massing.checks.finding import Reading
from massing.checks.nudges import Key, failing, failures
from massing.checks.registry import readings
from massing.checks.rules import Rules, rules_of
from massing.geometry.tolerance import TOUCH
from massing.items.catalog import resolve
from massing.items.spec import ItemSpec
from massing.project.project import Arrangement, Project
from massing.project.scheme_spec import PlacementSpec
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values

__all__ = [
    "Trial",
    "added",
    "conflicts_with",
    "first_conflict",
    "in_conflict",
    "item_of",
    "standing_conflicts",
    "without",
]


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """A scheme with one more thing in it, placed in the nominal world."""

    project: Project
    layout: Layout
    rules: Rules
    name: str


def item_of(project: Project, name: str) -> ItemSpec:
    """The item of that name: placed anywhere in the project, its own, or the catalogue's.

    Raises InputError for an unknown name, with the nearest.
    """
    return project.items[name] if name in project.items else resolve(name, project.items)


def added(
    project: Project, scheme: str, words: dict[str, Any], layout: Layout | None = None
) -> Trial:
    """Put one more thing into a scheme; ``words`` are a placement's, as in the file.

    layout : the scheme without it, one world, where that is at hand
    """
    arrangement = project.arrangement(scheme)
    spec = PlacementSpec.model_validate(words)
    taken = {name for name, _ in arrangement.placements}
    name, number = str(spec.name or spec.item), 1
    while name in taken:
        number += 1
        name = f"{spec.item} {number}"
    grown = replace(arrangement, placements=(*arrangement.placements, (name, spec)))
    items = {**project.items, str(spec.item): item_of(project, str(spec.item))}
    made = replace(project, items=items, arrangements={**project.arrangements, scheme: grown})
    if layout is None:
        whole = place(made, scheme, Values())
    else:
        alone = _with(made, grown, _stack(grown, name))
        whole = replace(layout, items=(*layout.items, place(alone, scheme, Values()).item(name)))
    return Trial(made, whole, rules_of(made), name)


def _stack(arrangement: Arrangement, name: str) -> set[str]:
    """A thing and all it stands on, one below the other."""
    names = {name}
    below = arrangement.placement(name).on
    while below is not None:
        names.add(str(below))
        below = arrangement.placement(str(below)).on
    return names


def _with(project: Project, arrangement: Arrangement, names: Collection[str]) -> Project:
    """The project with only these things in a scheme."""
    kept = tuple((n, spec) for n, spec in arrangement.placements if n in names)
    changed = replace(arrangement, placements=kept)
    return replace(project, arrangements={**project.arrangements, arrangement.name: changed})


def without(project: Project, scheme: str, names: Collection[str]) -> Project:
    """The project with some things, and all that stands on them, taken out of one scheme."""
    arrangement = project.arrangement(scheme)
    gone = set(names)
    while True:
        riders = {n for n, spec in arrangement.placements if spec.on in gone} - gone
        if not riders:
            break
        gone |= riders
    return _with(project, arrangement, {n for n, _ in arrangement.placements} - gone)


def standing_conflicts(layout: Layout, rules: Rules) -> frozenset[Key]:
    """What checks of the whole plan, such as ways, find wrong before one more thing comes in."""
    context = Context(layout, rules, reach=TOUCH, focus=frozenset())
    return frozenset(failing(context))


def conflicts_with(
    layout: Layout, rules: Rules, name: str, known: frozenset[Key] = frozenset()
) -> tuple[Reading, ...]:
    """Everything one thing of a one-world layout is in conflict with, or brings into conflict.

    known : what was wrong without it
    """
    context = Context(layout, rules, reach=TOUCH, focus=frozenset([name]))
    return tuple(reading for key, reading in failing(context).items() if key not in known)


def in_conflict(
    layout: Layout, rules: Rules, name: str, known: frozenset[Key] = frozenset()
) -> bool:
    """Whether there is any such conflict; the checks stop at the first."""
    return first_conflict(layout, rules, name, known) is not None


def first_conflict(
    layout: Layout, rules: Rules, name: str, known: frozenset[Key] = frozenset()
) -> Key | None:
    """The first such conflict the checks come to, as check and things; None where there is none."""
    context = Context(layout, rules, reach=TOUCH, focus=frozenset([name]))
    found = (key for reading in readings(context) for key in failures([reading]))
    return next((key for key in found if key not in known), None)
