"""Would a stud wall help? A project that allows some in, the walls worth putting up out.

Walls are tried square to a wall of the room, ending free or reaching the far wall with an opening
kept. Each is built as a scheme would build it and searched like any room; the better ones are
searched harder and shifted a little, and what is left in the end is searched in full.
Source of the rounds: Jamieson and Talwalkar, "Non-stochastic best arm identification and
hyperparameter optimization", AISTATS 2016 (successive halving; from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from massing.arrange.model import Model, compile_scheme
from massing.arrange.polish import Words, ring_of, walls_of, with_scheme
from massing.arrange.search import Found, Searched, search
from massing.arrange.studs import (
    GRID,
    SHORTEST,
    Site,
    Stud,
    shifted,
    site_of,
    some_studs,
    stud_words,
    studs_say,
    taken,
)
from massing.errors import MassingError

__all__ = ["Walled", "walls_worth"]

_FIRST, _KEPT, _LAST = 48, (12, 6), 2  # walls tried at first, kept after each round, searched fully
_SHIFTED = 2  # of each that is kept, how many shifted ones are tried beside it
_MOVES = 20_000  # of a restart, before the last round
_NOTHING = 1e6  # score of what is not clear, before its penetration


@dataclass(frozen=True, slots=True, eq=False)
class Walled:
    """What came of some walls: how a scheme writes them, in words, and the search with them up.

    score : the objective with what the walls stand on and have to gain charged
    """

    model: Model
    words: tuple[Words, ...]
    says: str
    searched: Searched
    score: float


def walls_worth(
    model: Model,
    said: tuple[str, Words],
    *,
    effort: tuple[int, int, int],
    executor: Executor | None = None,
    late: Callable[[], bool] = lambda: False,
) -> tuple[Walled, ...]:
    """The best walls found, at most two sets, the best first; none where none leaves all clear.

    said : the scheme to inherit from, and what to say beside the walls
    effort : seed, restarts and moves of the last round; late : asked between searches, ends it
    """
    site = site_of(model, said)
    if site is None:
        return ()
    rng = np.random.default_rng(effort[0])
    best: dict[tuple[Stud, ...], Walled] = {}
    moves = min(_MOVES, effort[2])
    try:
        tried: list[tuple[Stud, ...]] = [(stud,) for stud in some_studs(site, rng, _FIRST)]
        for number, kept in enumerate(_KEPT):
            _look(site, tried, (effort[0], 1 + number, moves), (best, executor, late))
            ranked = sorted(best, key=lambda studs: (best[studs].score, repr(studs)))[:kept]
            best = {studs: best[studs] for studs in ranked}
            tried = [shifted(site, rng, studs) for studs in ranked for _ in range(_SHIFTED)]
            if site.allowed.at_most > 1:
                tried += [(*s, *some_studs(site, rng, 1)) for s in ranked if len(s) == 1]
        _look(site, tried, (effort[0], len(_KEPT), moves), (best, executor, late))
        ranked = sorted(best, key=lambda studs: (best[studs].score, repr(studs)))[:_LAST]
        best = {studs: best[studs] for studs in ranked}
        _look(site, ranked, effort, (best, executor, late))
    except KeyboardInterrupt:
        pass  # what is found so far is kept
    found = [
        short
        for studs, walled in best.items()
        if walled.searched.clear
        for short in (_trimmed(site, studs, walled), walled)
        if short is not None
    ]
    return tuple(sorted(found, key=lambda walled: (walled.score, walled.says)))


def _trimmed(site: Site, studs: tuple[Stud, ...], walled: Walled) -> Walled | None:
    """The best layout with its walls no longer than what stands against them; None if they are."""
    best = walled.searched.clear[0]
    short = tuple(
        stud
        if stud.length is None
        else replace(stud, length=min(stud.length, _leant_on(walled, words, best)))
        for stud, words in zip(studs, walled.words, strict=True)
    )
    built = None if short == studs else _built(site, short)
    if built is None:
        return None
    searched = replace(walled.searched, found=(best,))
    return _judged(site, short, built, searched)


def _leant_on(walled: Walled, words: Words, found: Found) -> float:
    """How far from its start the last thing that stands against a wall reaches along it."""
    room = walled.model.layout.room
    start = next(w for w in room.walls if w.part_of == words["name"]).left[0]
    end = next(w for w in room.walls if w.part_of == words["name"]).right[0]
    way = (end - start) / np.linalg.norm(end - start)
    reach = SHORTEST
    for k in map(int, walled.model.free):
        if any(name.startswith(f"{words['name']} ") for name in walls_of(walled.model, found, k)):
            ring = ring_of(walled.model, found.pose[k], k)
            reach = max(reach, float(((ring - start) @ way).max()))
    return float(np.ceil(reach / GRID - 1e-6) * GRID)


def _look(
    site: Site,
    tried: list[tuple[Stud, ...]],
    effort: tuple[int, int, int],
    kept: tuple[dict[tuple[Stud, ...], Walled], Executor | None, Callable[[], bool]],
) -> None:
    """Search with each of some sets of walls up, and keep what is better than was known of it."""
    best, executor, late = kept
    for studs in tried:
        if late():
            return
        walled = _searched(site, studs, effort, executor)
        if walled is not None and (studs not in best or walled.score < best[studs].score):
            best[studs] = walled


def _searched(
    site: Site, studs: tuple[Stud, ...], effort: tuple[int, int, int], executor: Executor | None
) -> Walled | None:
    built = _built(site, studs)
    if built is None:
        return None
    seed, restarts, moves = effort
    searched = search(built[0], seed=seed, restarts=restarts, moves=moves, executor=executor)
    return _judged(site, studs, built, searched)


def _built(site: Site, studs: tuple[Stud, ...]) -> tuple[Model, tuple[Words, ...]] | None:
    """The scheme with the walls up and how it writes them; None where they cannot be built."""
    words = tuple(stud_words(site, stud, k + 1) for k, stud in enumerate(studs))
    if any(not one for one in words):
        return None
    name = "with new partitions"
    base, extra = site.said
    said: Words = {"from": base, **extra, "partitions": list(words)}
    try:
        return compile_scheme(with_scheme(site.project, name, said), name), words
    except MassingError:
        return None  # an opening higher than the slope there, or two walls that cross


def _judged(
    site: Site,
    studs: tuple[Stud, ...],
    built: tuple[Model, tuple[Words, ...]],
    searched: Searched,
) -> Walled:
    charge = sum(float(site.allowed.gain) + taken(site, stud) for stud in studs)
    first = searched.found[0]
    score = first.soft + charge if first.hard <= 0.0 else _NOTHING + first.hard
    return Walled(*built, studs_say(site, studs), searched, score)
