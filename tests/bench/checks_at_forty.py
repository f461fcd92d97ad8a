"""Times all the checks of a room with forty things, and the reading of one thing that is moved.

The room is ``forty_items.yaml``, out of the catalogue: doors, drawers, zones, air, a stack, hung
things, under a slope and over a step, with a door to come in by. It is read once; a full check is
then what ``massing check`` runs, from placing to findings. The peer does only a part of it: the
collisions of the bodies' parts by the collision library, its objects built beforehand.
``python -m tests.bench.checks_at_forty`` prints the lines and what each check takes.
"""

# ruff: noqa: T201 - a report on the screen is what this is for

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Reading
from massing.checks.nudges import moved_layout, recheck_moved
from massing.checks.registry import CHECKS, WAYS, readings
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.geometry.solids import Convex
from massing.geometry.tolerance import TOUCH
from massing.items.spec import ItemSpec
from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values
from massing.units import Length
from tests.bench.record import Count, Measured, Times, each_ms, side_by_side

FILE = Path(__file__).with_name("forty_items.yaml")
FULL, AGAIN = 50.0, 5.0  # ms asked for
MOVED = ("washer", "trestle table", "tool chest", "sit stand desk")
BY = np.array([50.0, 30.0, 0.0])
BUT_WAYS = tuple(check for check in CHECKS if check not in WAYS)


def room(*, exact: bool) -> Project:
    """The room as written, or with every size taken as exact."""
    text = FILE.read_text(encoding="utf-8")
    project = parse_project(re.sub(r" ±\d+", "", text) if exact else text, FILE)
    if not exact:
        return project
    return replace(project, items={name: _exact(item) for name, item in project.items.items()})


def _exact(item: ItemSpec) -> ItemSpec:
    """A catalogue entry with the sizes of its body taken as exact."""
    if item.body is None:
        return item
    return item.model_copy(update={"body": tuple(Length(float(size)) for size in item.body)})


def collisions(layout: Layout) -> Callable[[], int]:
    """The peer: how many pairs of parts of different things meet, by the library's own tree."""
    import fcl

    def body(solid: Convex) -> fcl.CollisionObject:
        rings = [number for ring in solid.faces.rings for number in (len(ring), *ring)]
        shape = fcl.Convex(solid.corners[0] / 1e3, len(solid.faces.rings), np.array(rings))
        return fcl.CollisionObject(shape, fcl.Transform())

    bodies = [body(part.solid) for item in layout.items for part in item.parts]

    def met() -> int:
        manager = fcl.DynamicAABBTreeCollisionManager()
        manager.registerObjects(bodies)
        manager.setup()
        data = fcl.CollisionData(request=fcl.CollisionRequest(num_max_contacts=4000))
        manager.collide(data, fcl.defaultCollisionCallback)
        return len(data.result.contacts)

    return met


def asked(name: str, ours: float, ms: float, note: str, counts: tuple[Count, ...]) -> Measured:
    """A line held against so many milliseconds: at a ratio of one they are just kept."""
    return Measured(
        name, f"{ms:g} ms asked for", Times(ours, ms, ms / ours), 1.0, counts, note=note
    )


def nominal(project: Project) -> Context:
    """The room placed in one world, ready to check."""
    rules = rules_of(project)
    return Context(place(project, None, Values()), rules, reach=rules.near + TOUCH)


def said_of(found: list[Reading], names: frozenset[str]) -> set[tuple[str, tuple[str, ...], float]]:
    """What is read of some things, apart from the ways."""
    return {
        (r.check, tuple(sorted(r.items)), round(float(r.gap[0]), 6))
        for r in found
        if names & set(r.items) and r.check not in {"passage", "escape"}
    }


def again(held: Context) -> tuple[Callable[[], None], Count]:
    """Four moves read again one after the other; and how much of it is as in a whole check."""
    wanted = agreed = 0
    for name in MOVED:
        layout, names = moved_layout(held.layout, name, BY)
        whole = Context(layout, held.rules, reach=held.reach, nudges=False)
        every = said_of(list(readings(whole, BUT_WAYS)), names)
        told = said_of(list(recheck_moved(held, name, BY)), names)
        wanted, agreed = wanted + len(every | told), agreed + len(every & told)

    def call() -> None:
        for name in MOVED:
            list(recheck_moved(held, name, BY))

    return call, Count("readings of the moved", agreed, wanted)


def measure(long: bool) -> list[Measured]:
    """The lines of the table."""
    runs = 15 if long else 5
    lines = []
    for exact in (True, False):
        project = room(exact=exact)
        answer = check_scheme(project)
        words = "exact sizes" if exact else f"{len(answer.measures)} unsure sizes"
        things = Count("things", len(answer.layout.items), 40)

        def full(project: Project = project) -> object:
            return check_scheme(project, nudges=False)

        note = f"{len(CHECKS)} checks from placing to findings, without nudges"
        ms = each_ms(full, runs=runs)
        lines.append(asked(f"full check, 40 things, {words}", ms, FULL, note, (things,)))
        ms = each_ms(lambda project=project: check_scheme(project), runs=runs)  # type: ignore[misc]
        count = f"with nudges for {len(answer.conflicts)} conflicts"
        lines.append(Measured(f"full check, {words}, {count}", "none", Times(ms, 0.0, 0.0)))
    held = nominal(room(exact=True))
    call, count = again(held)
    ms = each_ms(call, runs=runs) / len(MOVED)
    note = "what is read of it, closed ways included"
    lines.append(asked("one thing moved, 40 things", ms, AGAIN, note, (count,)))
    peer = side_by_side(lambda: list(readings(held)), collisions(held.layout), runs=runs)
    note = "the peer does the collisions alone"
    lines.append(Measured("all readings, 40 things", "python-fcl", peer, note=note))
    return lines


def each_check() -> list[tuple[str, float]]:
    """Milliseconds of every check of the exact room, the longest first."""
    held = nominal(room(exact=True))

    def fresh() -> Context:
        # Nothing kept with a layout by another check is found again.
        layout = Layout(
            held.layout.name,
            held.layout.room,
            held.layout.items,
            held.layout.leaves,
            held.layout.together,
        )
        return Context(layout, held.rules, reach=held.reach)

    found = []
    for check in CHECKS:
        ms = each_ms(lambda check=check: list(check(fresh())), runs=3)  # type: ignore[misc]
        found.append((f"{check.__module__.rsplit('.', 1)[1]}.{check.__name__}", ms))
    return sorted(found, key=lambda pair: -pair[1])


if __name__ == "__main__":
    for line in measure(long=False):
        assert line.times is not None
        words = "; ".join(count.says for count in line.counts)
        print(f"{line.name:58s} {line.times.ours_ms:8.1f} ms  x{line.times.ratio:6.3f} {line.peer}")
        print(f"    {line.note} {words} {line.verdict}")
    for name, ms in each_check()[:16]:
        print(f"  {name:32s} {ms:7.2f} ms")
