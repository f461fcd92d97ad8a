"""Do the odds hold? A checked scheme sampled in many seeded worlds, beside its first-order odds.

Each sampled world draws every measured length evenly from its ±, places the scheme again and
measures every finding again with the very checks. Batches are independent, so any
``concurrent.futures.Executor`` can share them out, and the answer does not depend on which.

Only what is asked for is measured: a finding that no measure moves needs no sampling, a check
that none of the findings came from is not run, and the others look only at their findings' items
and no further than those can come.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Finding, Reading
from massing.checks.registry import CHECKS
from massing.checks.rules import Rules, rules_of
from massing.checks.run import Answer
from massing.checks.verdicts import extreme_shifts
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.layout import Layout
from massing.scheme.movement import most_moved, movement
from massing.scheme.place import place
from massing.scheme.sizes import default_half_width_of
from massing.survey.values import Measure, Values

__all__ = ["BATCH", "Sampled", "batches", "moves", "sample"]

BATCH = 500  # worlds drawn with one seed
_AT_ONCE = 4  # batches placed at once: enough to drown the cost of a call, little enough to hold
Key = tuple[str, tuple[str, ...]]
Check = Callable[[Context], Iterator[Reading]]


@dataclass(frozen=True, slots=True, eq=False)
class Sampled:
    """One finding, sampled.

    chance : share of the sampled worlds in which it is clear
    error : standard error of that share
    low, middle, high : 2.5 %, 50 % and 97.5 % points of the gap, in the finding's unit
    agrees : the first-order chance is within sampling error of the sampled one
    still : no measure moves it, so nothing was drawn
    """

    finding: Finding
    samples: int
    chance: float
    error: float
    low: float
    middle: float
    high: float
    agrees: bool
    still: bool = False


@dataclass(frozen=True, slots=True)
class _Task:
    """A few batches, as plain values that any worker can be sent: their seeds and sizes."""

    text: str
    path: str
    scheme: str
    keys: tuple[Key, ...]
    seeds: tuple[tuple[int, int], ...]
    counts: tuple[int, ...]

    @property
    def count(self) -> int:
        """Worlds in all."""
        return sum(self.counts)


@dataclass(frozen=True, slots=True)
class _Look:
    """One check to run: for which items, None for all, and whether the reach may be cut."""

    check: int
    focus: frozenset[str] | None
    farthest: float | None


@dataclass(frozen=True, slots=True, eq=False)
class _Setup:
    """What every batch of one scheme shares.

    wide : mm, the reach the findings came from; nearer : by how much two things may come nearer
    """

    project: Project
    rules: Rules
    measures: tuple[Measure, ...]
    wide: float
    nearer: float
    looks: tuple[_Look, ...]


def moves(finding: Finding) -> bool:
    """Whether any measure moves a finding by as much as the answer shows."""
    return finding.best_mm - finding.worst_mm > TOUCH


def sample(
    answer: Answer, samples: int = 10_000, *, seed: int = 0, executor: Executor | None = None
) -> tuple[Sampled, ...]:
    """Sample every finding of an answer, in the answer's order.

    executor : shares the batches out; in this process when None. The numbers are the same.
    Raises ValueError for fewer than one sample.
    """
    if samples < 1:
        raise ValueError(f"{samples} samples; at least one is needed")
    keys = tuple(dict.fromkeys((f.check, f.items) for f in answer.findings if moves(f)))
    rows: dict[Key, Floats] = {}
    if keys:
        tasks = list(_tasks(answer, keys, samples, seed))
        done: Iterable[Floats] = (
            map(_batch, tasks) if executor is None else executor.map(_batch, tasks)
        )
        rows = dict(zip(keys, np.concatenate(list(done), axis=1), strict=True))
    return tuple(
        _summed(finding, rows[finding.check, finding.items])
        if moves(finding)
        else _still(finding, samples)
        for finding in answer.findings
    )


def _tasks(answer: Answer, keys: tuple[Key, ...], samples: int, seed: int) -> Iterable[_Task]:
    project = answer.project
    sizes = batches(samples)
    for first in range(0, len(sizes), _AT_ONCE):
        counts = sizes[first : first + _AT_ONCE]
        seeds = tuple((seed, first + k) for k in range(len(counts)))
        yield _Task(project.text, str(project.path), answer.layout.name, keys, seeds, counts)


def batches(samples: int) -> tuple[int, ...]:
    """Sizes of the batches that make up so many samples.

    >>> batches(1100)
    (500, 500, 100)
    """
    whole, rest = divmod(samples, BATCH)
    return (*(BATCH,) * whole, *((rest,) if rest else ()))


@lru_cache(maxsize=4)
def _setup(text: str, path: str, scheme: str, keys: tuple[Key, ...]) -> _Setup:
    project = parse_project(text, path)
    sizes = Values(default=default_half_width_of(project))
    place(project, scheme, sizes)
    measures = sizes.measures
    rules = rules_of(project)
    # The very worlds and reach the findings came from, so the same readings turn up.
    extreme = place(project, scheme, Values.shifted(measures, extreme_shifts(measures)))
    moved = movement(extreme)[1:].reshape(-1, 2).max(axis=1)
    wide = rules.near + TOUCH + 2.0 * float(moved.sum())
    setup = _Setup(project, rules, measures, wide, 2.0 * most_moved(extreme), ())
    return replace(setup, looks=tuple(_looks(extreme, setup, frozenset(keys))))


def _placed(setup: _Setup, task: _Task, *, extremes: bool = False) -> Layout:
    """The nominal world, where it is decided which faces meet, then those of the task.

    extremes : with the worlds the findings came from between them
    """
    half = np.array([m.half_width for m in setup.measures])
    first = extreme_shifts(setup.measures) if extremes else np.zeros((1, len(half)))
    drawn = [
        np.random.default_rng(seed).uniform(-1.0, 1.0, (count, len(half))) * half
        for seed, count in zip(task.seeds, task.counts, strict=True)
    ]
    # Read measure by measure: let each lie together.
    shifts = np.asfortranarray(np.concatenate([first, *drawn]))
    return place(setup.project, task.scheme, Values.shifted(setup.measures, shifts))


def _looks(layout: Layout, setup: _Setup, wanted: frozenset[Key]) -> Iterator[_Look]:
    """Which checks measure the wanted keys, and how little they can be made to look at.

    Each saving is tried on the worlds the findings came from and kept only where it changes none
    of the readings.
    """
    for number in range(len(CHECKS)):
        look = _Look(number, None, None)
        found = _measured(look, layout, setup, wanted)
        if not found:
            continue
        names = frozenset(name for _, items in found for name in items)
        farthest = max(float(gap[0]) for gap, _ in found.values())
        for tried in (_Look(number, names, farthest), replace(look, focus=names)):
            if _same(found, _measured(tried, layout, setup, wanted)):
                look = tried
                break
        yield look


def _measured(
    look: _Look, layout: Layout, setup: _Setup, wanted: frozenset[Key]
) -> dict[Key, tuple[Floats, float]]:
    """(worlds,) gap and what is needed, of each wanted key that a check measures."""
    reach = setup.wide
    if look.farthest is not None:
        # Two parts may each come nearer than they are nominally by what they move.
        reach = min(reach, max(look.farthest, 0.0) + TOUCH + setup.nearer)
    context = Context(layout, setup.rules, reach=reach, focus=look.focus)
    found: dict[Key, tuple[Floats, float]] = {}
    for reading in CHECKS[look.check](context):
        key = (reading.check, reading.items)
        if key in wanted:
            gap = np.asarray(reading.gap, dtype=np.float64)
            _keep(found, key, (gap, reading.needs))
    return found


def _keep(found: dict[Key, tuple[Floats, float]], key: Key, met: tuple[Floats, float]) -> None:
    """Of one check and pair the reading with least to spare counts, as in the findings."""
    held = found.get(key)
    if held is None or met[0][0] - met[1] < held[0][0] - held[1]:
        found[key] = met


def _same(one: dict[Key, tuple[Floats, float]], other: dict[Key, tuple[Floats, float]]) -> bool:
    """Whether the same keys were measured and came out the same."""
    return one.keys() == other.keys() and all(
        np.allclose(one[key][0], other[key][0], rtol=0.0, atol=1e-6) for key in one
    )


def _batch(task: _Task) -> Floats:
    """(keys, worlds) gap beyond need of a few batches; NaN where out of reach in all of it."""
    setup = _setup(task.text, task.path, task.scheme, task.keys)
    rows = np.full((len(task.keys), task.count), np.nan)
    _fill(rows, task, setup, setup.looks, _placed(setup, task))
    missing = frozenset(k for k, row in zip(task.keys, rows, strict=True) if np.isnan(row[0]))
    if missing:
        # What a reading is called may hang on the worlds at hand: look where it was found.
        whole = tuple(replace(look, focus=None, farthest=None) for look in setup.looks)
        _fill(rows, task, setup, whole, _placed(setup, task, extremes=True))
    return rows


def _fill(
    rows: Floats, task: _Task, setup: _Setup, looks: tuple[_Look, ...], layout: Layout
) -> None:
    """Write what the checks measure into the (keys, worlds) rows not yet filled."""
    wanted = frozenset(k for k, row in zip(task.keys, rows, strict=True) if np.isnan(row[0]))
    found: dict[Key, tuple[Floats, float]] = {}
    for look in looks:
        for key, met in _measured(look, layout, setup, wanted).items():
            _keep(found, key, met)
    for row, key in enumerate(task.keys):
        if key in found:
            gap, needs = found[key]
            rows[row] = np.broadcast_to(gap, (layout.worlds,))[-task.count :] - needs


def _still(finding: Finding, samples: int) -> Sampled:
    """A finding nothing measured moves."""
    clear = float(finding.chance_clear >= 0.5)
    gap = finding.gap_mm
    return Sampled(finding, samples, clear, 0.0, gap, gap, gap, agrees=True, still=True)


def _summed(finding: Finding, spare: Floats) -> Sampled:
    slack = TOUCH if finding.unit == "mm" else 1e-6
    count = len(spare)
    clear = np.isnan(spare) | (spare >= -slack)
    chance = float(clear.mean())
    gaps = np.where(np.isnan(spare), np.inf, spare) + finding.needs_mm
    low, middle, high = (float(v) for v in np.quantile(gaps, (0.025, 0.5, 0.975), method="nearest"))
    # The expected spread of a share at the first-order chance, never less than one sample in all.
    odds = finding.chance_clear
    error = max(math.sqrt(odds * (1.0 - odds) / count), 1.0 / count)
    agrees = abs(chance - odds) <= 3.5 * error
    return Sampled(finding, count, chance, error, low, middle, high, agrees=agrees)
