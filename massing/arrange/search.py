"""Many restarts of the search: a model and a seed in, the best places found out.

The same seed, moves and restarts give the same answer, whatever shares the work; a time limit
only ends it sooner.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from massing.arrange.arrays import Record, new_moving
from massing.arrange.model import Model
from massing.geometry.solids import Floats, Ints

__all__ = ["Found", "Searched", "hard_parts", "search"]

_HOT = (1.5, 0.003)  # first and last temperature, m² of standing floor


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The end of one restart. hard : mm of penetration, 0 when all is clear; soft : the objective.

    pose, on, yaw : as in the moving record; tried : moves that came to a new place and were priced
    """

    hard: float
    soft: float
    pose: Floats
    on: Ints
    yaw: Ints
    seed: int
    tried: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """All restarts, the best first; moves : candidate moves tried; stopped : why it ended early."""

    found: tuple[Found, ...]
    moves: int
    stopped: str = ""

    @property
    def clear(self) -> tuple[Found, ...]:
        """Those without penetration."""
        return tuple(one for one in self.found if one.hard <= 0.0)


Start = tuple[Record, Floats, Ints, Ints, Ints, Floats, int, int]


def _run(start: Start) -> Found:
    """One restart, wherever it is run."""
    from massing.arrange.search_compiled import anneal

    fixed, pose, on, yaw, free, sides, seed, moves = start
    moving = new_moving(pose, on, yaw)
    hard, soft = anneal((fixed, moving), free, sides, seed, moves, np.array(_HOT))
    n = len(pose)
    pose, on, yaw = (moving[name][0][:n].copy() for name in ("pose", "on", "yaw"))
    return Found(round(hard, 6), round(soft, 9), pose, on, yaw, seed, int(moving["tried"][0]))


def search(
    model: Model,
    *,
    seed: int = 0,
    restarts: int = 32,
    moves: int = 200_000,
    seconds: float | None = None,
    executor: Executor | None = None,
    report: Callable[[int, Found], None] | None = None,
) -> Searched:
    """Run restarts and rank what they end in.

    moves : of each restart; seconds : a cap looked at between restarts
    executor : shares the restarts; report : told how many are done and the best so far
    A stop from the keyboard keeps what is done.
    """
    seeds = np.random.SeedSequence(seed).generate_state(restarts, dtype=np.uint32)
    starts: list[Start] = [
        (model.fixed, model.pose, model.on, model.yaw, model.free, model.sides, int(s), moves)
        for s in seeds
    ]
    done: list[Found] = []
    stopped = ""
    begun: float | None = None  # what the first restart compiles is not time looked
    try:
        for found in _results(starts, executor):
            done.append(found)
            begun = begun or time.monotonic()
            if report is not None:
                report(len(done), min(done, key=_rank))
            if seconds is not None and time.monotonic() - begun >= seconds and len(done) < restarts:
                stopped = "time"
                break
    except KeyboardInterrupt:
        stopped = "keyboard"
        if not done:
            raise
    return Searched(tuple(sorted(done, key=_rank)), sum(one.tried for one in done), stopped)


def _results(starts: list[Start], executor: Executor | None) -> Iterator[Found]:
    if executor is None:
        yield from map(_run, starts)
        return
    waiting = [executor.submit(_run, start) for start in starts]
    try:
        for future in waiting:
            yield future.result()
    finally:
        for future in waiting:
            future.cancel()


def _rank(found: Found) -> tuple[float, float, int]:
    return (found.hard, found.soft, found.seed)


def hard_parts(model: Model, found: Found) -> list[tuple[float, str, str]]:
    """What is still wrong: mm, and the names of the unit and what it meets, the worst first."""
    from massing.arrange.search_compiled import price_all

    record = new_moving(found.pose, found.on, found.yaw)
    price_all((model.fixed, record))
    shell, pair = record["shell"][0], record["pair"][0]
    names = [unit.name for unit in model.units]
    parts = [
        (float(shell[u, 0]), name, "the room") for u, name in enumerate(names) if shell[u, 0] > 0
    ]
    parts += [
        (float(pair[u, v, 0]), names[v], names[u])
        for u in range(len(names))
        for v in range(u)
        if pair[u, v, 0] > 0
    ]
    return sorted(parts, key=lambda part: (-part[0], part[1], part[2]))
