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
from massing.project.project import Project
from massing.project.scheme_spec import PlacementSpec
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values

__all__ = [
    "Trial",
    "added",
    "conflicts_with",
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


def added(project: Project, scheme: str, words: dict[str, Any]) -> Trial:
    """Put one more thing into a scheme; ``words`` are a placement's, as in the file."""
    arrangement = project.arrangement(scheme)
    spec = PlacementSpec.model_validate(words)
    taken = {name for name, _ in arrangement.placements}
    name, number = str(spec.name or spec.item), 1
    while name in taken:
        number += 1
        name = f"{spec.item} {number}"
    grown = replace(arrangement, placements=(*arrangement.placements, (name, spec)))
    items = {**project.items, str(spec.item): item_of(project, str(spec.item))}
    arrangements = {**project.arrangements, scheme: grown}
    made = replace(project, items=items, arrangements=arrangements)
    return Trial(made, place(made, scheme, Values()), rules_of(made), name)


def without(project: Project, scheme: str, names: Collection[str]) -> Project:
    """The project with some things, and all that stands on them, taken out of one scheme."""
    arrangement = project.arrangement(scheme)
    gone = set(names)
    while True:
        riders = {n for n, spec in arrangement.placements if spec.on in gone} - gone
        if not riders:
            break
        gone |= riders
    kept = tuple((n, spec) for n, spec in arrangement.placements if n not in gone)
    changed = replace(arrangement, placements=kept)
    return replace(project, arrangements={**project.arrangements, scheme: changed})


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
    context = Context(layout, rules, reach=TOUCH, focus=frozenset([name]))
    return any(key not in known for reading in readings(context) for key in failures([reading]))
