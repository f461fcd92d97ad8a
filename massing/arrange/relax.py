"""The smallest change that makes it fit: a scheme that does not, in; changes that work, out.

Tried in turn, each by the same search: a door opened outward, an item made shallower, one item
left out, the cheapest to lose (the lightest) first.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from massing.arrange.answers import Arranged, Effort, arrange
from massing.arrange.model import compile_scheme
from massing.arrange.polish import Words, with_scheme
from massing.checks.words import mm
from massing.errors import InputError
from massing.project.project import Project
from massing.units import Length

__all__ = ["Relaxed", "relaxations"]

_SHALLOWER = (100.0, 200.0)  # mm taken off a depth
_LEAST_DEPTH = 200.0  # mm
_MOST = 6  # items left out or made shallower, tried each way


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """A change: in words, and what the search then came to; None where no time was left for it.

    writable : whether a scheme can say it (an item made shallower is another item)
    """

    says: str
    arranged: Arranged | None
    writable: bool

    @property
    def works(self) -> bool:
        """Whether something passes every check after it."""
        return self.arranged is not None and bool(self.arranged.proposals)


@dataclass(frozen=True, slots=True)
class _Change:
    says: str
    extra: Words
    project: Project
    writable: bool = True


def relaxations(
    project: Project, scheme: str, effort: Effort, *, executor: Executor | None = None
) -> Iterator[Relaxed]:
    """Each change in turn and what came of it, smallest first.

    effort : for each, but the seconds are for all of them together, shared out as they go
    """
    begun = time.monotonic()
    changes = list(_changes(project, scheme))
    for number, change in enumerate(changes):
        one = replace(effort, answers=1, prove=False)
        if effort.seconds is not None:
            left = effort.seconds - (time.monotonic() - begun)
            if left <= 0.0:
                yield Relaxed(change.says, None, change.writable)
                continue
            one = replace(one, seconds=left / (len(changes) - number))
        name = "with a change"
        try:
            changed = with_scheme(change.project, name, {"from": scheme, **change.extra})
        except InputError:
            continue  # something stands on it, or a move names it
        found = arrange(changed, name, one, extra=change.extra, base=scheme, executor=executor)
        yield Relaxed(change.says, found, change.writable)


def _changes(project: Project, scheme: str) -> Iterator[_Change]:
    model = compile_scheme(project, scheme)
    room = model.layout.room
    for door in room.openings:
        if door.kind == "door" and door.leaf is not None and door.opens == "in":
            says = f"with {door.name} opening outward"
            yield _Change(says, {"doors": {door.name: {"opens": "out"}}}, project)
    alone = [model.units[int(k)] for k in model.free if not model.units[int(k)].riders]
    items = {item.name: item for item in model.layout.items}
    order = {name: k for k, name in enumerate(items)}
    # Of equals the one written last is the one more that was asked for.
    by_weight = sorted(alone, key=lambda u: (items[u.name].spec.weight or 1e9, -order[u.name]))
    yield from _shallower(project, scheme, [unit.name for unit in by_weight])
    if len(model.free) == 1:
        return  # with it left out there is nothing to arrange
    carried = {item.footing for item in model.layout.items}
    for unit in [u for u in by_weight if u.name not in carried][:_MOST]:
        yield _Change(f"without {unit.name}", {"remove": [unit.name]}, project)


def _shallower(project: Project, scheme: str, names: list[str]) -> Iterator[_Change]:
    placements = dict(project.arrangement(scheme).placements)
    for cut in _SHALLOWER:
        for name in names[-_MOST:]:
            key = str(placements[name].item)
            spec = project.items[key]
            if spec.body is None or float(spec.body[1]) - cut < _LEAST_DEPTH:
                continue
            wide, deep, tall = spec.body
            size = Length(float(deep) - cut)
            less = spec.model_copy(update={"body": (wide, size, tall), "stretch": bool(spec.parts)})
            changed = replace(project, items={**project.items, key: less})
            says = f"with {name} {mm(float(size))} deep, {mm(cut)} less"
            yield _Change(says, {}, changed, writable=False)
