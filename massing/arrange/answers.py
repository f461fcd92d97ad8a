"""Several clearly different arrangements: a project in, checked schemes or why there are none, out.

Only layouts that pass every check are answers. They are taken best first, each unlike those
before it in which wall, item or floor its things are at.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from massing.arrange.bounds import cannot_fit
from massing.arrange.exhaustive import try_every
from massing.arrange.model import Model, compile_scheme
from massing.arrange.partitions import walls_worth
from massing.arrange.polish import Polished, Words, polish
from massing.arrange.search import Found, Searched, hard_parts, search
from massing.arrange.tidy import tidied
from massing.checks.run import Answer, check_scheme
from massing.checks.words import mm
from massing.project.project import Project
from massing.scheme.layout import Layout
from massing.voids.tally import Tally, tally

__all__ = ["Arranged", "Effort", "Proposal", "arrange"]

_TOLD = 4  # things whose new place is said in the line of an answer
_TRIED = 40  # found arrangements put to the full checks, most


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to look: a seed, restarts of so many moves each, a cap in seconds, and answers.

    prove : whether to try everything where nothing is found
    """

    seed: int = 0
    restarts: int = 32
    moves: int = 200_000
    seconds: float | None = None
    answers: int = 3
    prove: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """One answer: its scheme, what it does to the room, and in a line why it is better."""

    name: str
    polished: Polished
    after: Tally
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class Arranged:
    """What a search came to.

    before : the scheme as it was, checked and counted up
    proposals : none when nothing fits; then ``proof`` says why it cannot, or is empty and
        ``tried`` says what was looked at and what stayed wrong
    """

    before: Answer
    count: Tally
    proposals: tuple[Proposal, ...]
    searched: Searched | None
    proof: str
    tried: str


def arrange(
    project: Project,
    scheme: str,
    effort: Effort,
    *,
    extra: Words | None = None,
    base: str | None = None,
    executor: Executor | None = None,
    report: Callable[[int, Found], None] | None = None,
) -> Arranged:
    """Look for better arrangements of one scheme.

    base, extra : the scheme to inherit from and what to say beside the moves, where the searched
        scheme is itself a change of one in the file
    Raises MassingError when nothing in the scheme may move.
    """
    model = compile_scheme(project, scheme)
    before = check_scheme(project, scheme, nudges=False)
    count = tally(before.layout)
    proof = cannot_fit(model)
    if proof is not None:
        return Arranged(before, count, (), None, f"proved by a bound: {proof}", "")
    searched = search(
        model,
        seed=effort.seed,
        restarts=effort.restarts,
        moves=effort.moves,
        seconds=effort.seconds,
        executor=executor,
        report=report,
    )
    said = (base or scheme, extra or {})
    chosen = _with_walls(model, searched, effort, said, executor)
    chosen += [
        (polished, "")
        for polished in _chosen(model, searched, effort.answers, said, [p for p, _ in chosen])
    ]
    proposals: list[Proposal] = []
    for polished, walls in chosen:
        name = polished.answer.layout.name
        after = tally(polished.answer.layout)
        why = _why(before, count, polished, after, proposals[0].polished if proposals else None)
        proposals.append(Proposal(name, polished, after, f"{walls}; {why}" if walls else why))
    if proposals:
        return Arranged(before, count, tuple(proposals), searched, "", "")
    every = try_every(model) if effort.prove else None
    if every is not None and every.found is None:
        stops = ", ".join(map(str, every.stops))
        proof = (
            f"proved by trying everything: no combination of the clear places along the walls "
            f"({stops}), every {mm(every.step)}, works, bodies taken as boxes and zones kept "
            f"in the room; standing free was only searched"
        )
    return Arranged(before, count, (), searched, proof or "", _tried(model, searched))


def _with_walls(
    model: Model,
    searched: Searched,
    effort: Effort,
    said: tuple[str, Words],
    executor: Executor | None,
) -> list[tuple[Polished, str]]:
    """The best answer with new walls up, with the walls in words, where they pay or are needed."""
    allowed = model.project.arrange.partitions
    if allowed is None or searched.stopped == "keyboard":
        return []
    begun = time.monotonic()

    def late() -> bool:
        return effort.seconds is not None and time.monotonic() - begun > effort.seconds

    base, extra = said
    last = (effort.seed, effort.restarts, effort.moves)
    walled = walls_worth(model, said, effort=last, executor=executor, late=late)
    without = _chosen(model, searched, 1, said, [])
    for walls in walled:
        if without and walls.score >= without[0].found.soft:
            continue
        words = {**extra, "partitions": list(walls.words)}
        best = _chosen(walls.model, walls.searched, 1, (base, words), [])
        if best:
            return [(best[0], walls.says)]
    return []


def _chosen(
    model: Model,
    searched: Searched,
    count: int,
    said: tuple[str, Words],
    before: list[Polished],
) -> list[Polished]:
    """The best that pass every check and are clearly unlike one another, so many with before."""
    from massing.arrange.polish import homes_of

    need = 1 if len(model.free) <= 3 else max(2, len(model.free) // 4)
    count -= len(before)
    chosen: list[Polished] = []
    seen: set[tuple[tuple[float, ...], ...]] = set()
    tried = 0
    project = model.project
    for found in searched.clear:
        if len(chosen) >= count or tried >= _TRIED:
            break
        key = tuple(tuple(row) for row in found.pose.round(1).tolist())
        homes = homes_of(model, found)
        if key in seen or any(_unlike(homes, other.homes) < need for other in chosen):
            continue
        seen.add(key)
        tried += 1
        name = _numbered(project, len(before) + len(chosen))
        polished = polish(model, tidied(model, found), name, *said)
        polished = polished or polish(model, found, name, *said)
        if polished is not None and all(
            _unlike(polished.homes, other.homes) >= need for other in chosen
        ):
            chosen.append(polished)
    return chosen


def _numbered(project: Project, taken: int) -> str:
    """The name of the next answer: free numbers in order."""
    number = 0
    while True:
        number += 1
        if f"arranged {number}" not in project.schemes:
            if taken == 0:
                return f"arranged {number}"
            taken -= 1


def _unlike(one: tuple[tuple[str, str], ...], other: tuple[tuple[str, str], ...]) -> int:
    """How many things are at another wall, item or floor; things alike may change places."""
    return sum((Counter(one) - Counter(other)).values())


def _why(
    before: Answer, count: Tally, polished: Polished, after: Tally, first_one: Polished | None
) -> str:
    """In a line: what it clears and leaves, and where things go, as unlike the first answer."""
    old, new = len(before.conflicts), len(polished.answer.conflicts)
    if old and not new:
        first = f"clears {'the' if old == 1 else 'all'} {old} conflict{'s' if old != 1 else ''}"
    elif old > new:
        first = f"conflicts from {old} to {new}"
    else:
        first = "no conflicts, as before"
    gained = after.standing_m2 - count.standing_m2
    sense = "more" if gained >= 0 else "less"
    return (
        f"{first}; {after.standing_m2:.2f} m² clear standing floor, {abs(gained):.2f} {sense} "
        f"than before; {_moved(polished, first_one)}"
    )


def _moved(polished: Polished, first_one: Polished | None) -> str:
    """Where the first few things go, in file order; of a later answer, those it puts elsewhere."""
    room = polished.answer.layout.room
    faces = {wall.name for wall in room.walls if wall.partition}
    backs = _backs(polished.answer.layout)
    told = [f"{name} {_where(words, faces, backs.get(name))}" for name, words in polished.moves]
    if not told:
        return "nothing moved"
    if first_one is not None:
        old = dict(first_one.moves)
        other = [
            line
            for line, (name, words) in zip(told, polished.moves, strict=True)
            if _spot(words) != _spot(old.get(name, {}))
        ]
        name = first_one.answer.layout.name
        shown = other[:_TOLD] or ["the same walls, other places along them"]
        return f"unlike {name}, {', '.join(shown)}"
    more = len(told) - _TOLD
    return ", ".join(told[:_TOLD]) + (f"; {more} more moved" if more > 0 else "")


def _spot(words: Words) -> tuple[str, ...]:
    """The wall, corner, item or way it faces, without how far along."""
    if "corner" in words:
        return tuple(sorted(words["corner"]))
    return tuple(str(words[word]) for word in ("against", "on", "facing", "turn") if word in words)


def _backs(layout: Layout) -> dict[str, str]:
    """The part of the building each item that touches one from beside stands at."""
    found = {}
    for item in layout.items:
        for fabric in layout.room.fabric:
            for part in fabric.parts:
                apart = np.maximum(part.low[0] - item.high[0], item.low[0] - part.high[0])
                if abs(float(apart[:2].max())) <= 0.5 and float(np.sort(apart)[-2]) < 0.0:
                    found[item.name] = fabric.name
    return found


def _where(words: Words, faces: set[str], back: str | None = None) -> str:
    if "against" in words:
        kind = "" if words["against"] in faces else " wall"
        return f"to the {words['against']}{kind}"
    if "corner" in words:
        return f"into the {words['corner'][0]} and {words['corner'][1]} corner"
    if "on" in words:
        return f"onto {words['on']}"
    if "drop" in words:
        return "to another place under the ceiling"
    if back is not None:
        return f"to the {back}"
    return f"standing free, facing {words['facing']}" if "facing" in words else "standing free"


def _tried(model: Model, searched: Searched) -> str:
    """What was looked at, and what stayed wrong in the best of it."""
    best = searched.found[0]
    told = f"{searched.moves:,} moves in {len(searched.found)} restarts"
    parts = hard_parts(model, best)
    if parts:
        left = "; ".join(
            f"{one} and {other} by {mm(max(d - 20.0, 0.0))}" for d, one, other in parts[:4]
        )
        return f"{told} found nothing clear; the best still has {left}"
    from massing.arrange.polish import remaining

    says = "; ".join(finding.says for finding in remaining(model, best)[:4]) or "not to be judged"
    return f"{told} found {len(searched.clear)} clear of bodies, none of which passes: {says}"
