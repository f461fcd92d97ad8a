"""Do the odds hold? A checked scheme sampled in many seeded worlds, beside its first-order odds.

Each sampled world draws every measured length evenly from its ±, places the scheme again and
measures every finding again with the very checks. Batches are independent, so any
``concurrent.futures.Executor`` can share them out, and the answer does not depend on which.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Finding
from massing.checks.registry import readings
from massing.checks.rules import rules_of
from massing.checks.run import Answer
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.scheme.sizes import default_half_width_of
from massing.survey.values import Measure, Values

__all__ = ["Sampled", "batches", "sample"]

BATCH = 500  # worlds placed at once: enough to drown the cost of a call, little enough to hold
Key = tuple[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Sampled:
    """One finding, sampled.

    chance : share of the sampled worlds in which it is clear
    error : standard error of that share
    low, middle, high : 2.5 %, 50 % and 97.5 % points of the gap, in the finding's unit
    agrees : the first-order chance is within sampling error of the sampled one
    """

    finding: Finding
    samples: int
    chance: float
    error: float
    low: float
    middle: float
    high: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class _Task:
    """One batch, as plain values that any worker can be sent."""

    text: str
    path: str
    scheme: str
    keys: tuple[Key, ...]
    count: int
    seed: tuple[int, int]


def sample(
    answer: Answer, samples: int = 10_000, *, seed: int = 0, executor: Executor | None = None
) -> tuple[Sampled, ...]:
    """Sample every finding of an answer, in the answer's order.

    executor : shares the batches out; in this process when None. The numbers are the same.
    Raises ValueError for fewer than one sample.
    """
    if samples < 1:
        raise ValueError(f"{samples} samples; at least one is needed")
    keys = tuple((f.check, f.items) for f in answer.findings)
    if not answer.measures or not keys:
        return tuple(_still(finding, samples) for finding in answer.findings)
    tasks = list(_tasks(answer, keys, samples, seed))
    done: Iterable[Floats] = map(_batch, tasks) if executor is None else executor.map(_batch, tasks)
    gaps = np.concatenate(list(done), axis=1)
    return tuple(_summed(finding, gaps[row]) for row, finding in enumerate(answer.findings))


def _tasks(answer: Answer, keys: tuple[Key, ...], samples: int, seed: int) -> Iterable[_Task]:
    project = answer.project
    for number, count in enumerate(batches(samples)):
        yield _Task(
            project.text, str(project.path), answer.layout.name, keys, count, (seed, number)
        )


def batches(samples: int) -> tuple[int, ...]:
    """Sizes of the batches that make up so many samples.

    >>> batches(1100)
    (500, 500, 100)
    """
    whole, rest = divmod(samples, BATCH)
    return (*(BATCH,) * whole, *((rest,) if rest else ()))


@lru_cache(maxsize=4)
def _project(text: str, path: str) -> Project:
    return parse_project(text, path)


@lru_cache(maxsize=4)
def _measures(text: str, path: str, scheme: str) -> tuple[Measure, ...]:
    project = _project(text, path)
    sizes = Values(default=default_half_width_of(project))
    place(project, scheme, sizes)
    return sizes.measures


def _batch(task: _Task) -> Floats:
    """(findings, worlds) gaps of one batch; NaN where a pair was out of reach in all of it."""
    project = _project(task.text, task.path)
    measures = _measures(task.text, task.path, task.scheme)
    random = np.random.default_rng(task.seed)
    half = np.array([m.half_width for m in measures])
    # The first world stays nominal: which faces meet is decided there.
    shifts = np.zeros((task.count + 1, len(half)))
    shifts[1:] = random.uniform(-1.0, 1.0, (task.count, len(half))) * half
    layout = place(project, task.scheme, Values.shifted(measures, shifts))
    rules = rules_of(project)
    reach = rules.near + TOUCH + 2.0 * float(half.sum())
    context = Context(layout, rules, reach=reach)
    found: dict[Key, Floats] = {}
    for reading in readings(context):
        key = (reading.check, reading.items)
        spare = np.asarray(reading.gap, dtype=np.float64) - reading.needs
        held = found.get(key)
        found[key] = spare if held is None or spare[0] < held[0] else held
    empty = np.full(task.count + 1, np.nan)
    return np.stack([np.broadcast_to(found.get(k, empty), (task.count + 1,)) for k in task.keys])[
        :, 1:
    ]


def _still(finding: Finding, samples: int) -> Sampled:
    """A finding nothing measured moves."""
    clear = float(finding.chance_clear >= 0.5)
    gap = finding.gap_mm
    return Sampled(finding, samples, clear, 0.0, gap, gap, gap, agrees=True)


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
