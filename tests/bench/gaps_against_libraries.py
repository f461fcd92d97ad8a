"""General convex pairs against the libraries: signed gaps, their errors and times.

Run ``python -m tests.bench --only gaps_against_libraries [--long]``. Errors are held against the
hull of the Minkowski difference. Shapes are built, and ours laid out, beforehand: ours is one call
for all pairs, the libraries take one call a pair, since that is what they offer from Python. Flush
pairs are put to the collision library in child processes with a time limit, because some of them
never return there.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from queue import Empty

import numpy as np

from massing.geometry.gaps.compiled import gaps_of_rows, signed_gaps_compiled
from massing.geometry.gaps.rows import rows_of
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex
from tests.bench.record import Count, Measured, side_by_side
from tests.convex_pairs import Pairs, flush_pairs, scattered_pairs
from tests.oracles import minkowski_gap

BATCH = 50
PATIENCE = 2.0  # s for a batch that takes about 2 ms
WRONG = 1e-6  # mm


def fcl_calls(pairs: list[tuple[Convex, Convex]]) -> Callable[[], list[float]]:
    """Signed distances by python-fcl, shapes and requests built beforehand."""
    import fcl

    def body(solid: Convex):
        rings = [number for ring in solid.faces.rings for number in (len(ring), *ring)]
        shape = fcl.Convex(solid.corners[0].copy(), len(solid.faces.rings), np.array(rings))
        return fcl.CollisionObject(shape, fcl.Transform())

    bodies = [(body(a), body(b)) for a, b in pairs]
    asked, result = fcl.DistanceRequest(enable_signed_distance=True), fcl.DistanceResult()
    return lambda: [fcl.distance(a, b, asked, result) for a, b in bodies]


def coal_calls(pairs: list[tuple[Convex, Convex]]) -> Callable[[], list[float]]:
    """The same by coal, on the triangles of each solid."""
    import coal

    def body(solid: Convex):
        points, fans = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
        for corner in solid.corners[0]:
            points.append(corner)
        for triangle in solid.faces.triangles.tolist():
            fans.append(coal.Triangle(*triangle))
        return coal.Convex(points, fans)

    bodies = [(body(a), body(b)) for a, b in pairs]
    asked, result, here = coal.DistanceRequest(), coal.DistanceResult(), coal.Transform3s()
    asked.enable_signed_distance = True

    def gap(a: object, b: object) -> float:
        result.clear()
        return coal.distance(a, here, b, here, asked, result)

    return lambda: [gap(a, b) for a, b in bodies]


def _child(pairs: list[tuple[Convex, Convex]], out: multiprocessing.Queue) -> None:
    out.put(fcl_calls(pairs)())


def fcl_with_patience(pairs: list[tuple[Convex, Convex]]) -> np.ndarray:
    """Answers of python-fcl, nan for every batch that did not come back in time."""
    answers = []
    fork = multiprocessing.get_context("fork")
    for start in range(0, len(pairs), BATCH):
        batch = pairs[start : start + BATCH]
        queue = fork.Queue()
        child = fork.Process(target=_child, args=(batch, queue))
        child.start()
        try:
            answers.append(np.array(queue.get(timeout=PATIENCE)))
        except Empty:
            answers.append(np.full(len(batch), np.nan))
        child.kill()
        child.join()
    return np.concatenate(answers)


def _numbers(found: Pairs) -> tuple[list[Convex], np.ndarray]:
    count = len(found.firsts)
    return found.firsts + found.seconds, np.stack([np.arange(count), np.arange(count) + count], 1)


def _wrong(gaps: np.ndarray, hulls: np.ndarray) -> int:
    """Answers off by more than WRONG, those that never came among them."""
    return int((~(np.abs(gaps - hulls) <= WRONG)).sum())


def _errors(found: Pairs, name: str) -> Measured:
    """How many gaps are wrong: ours by arrays and compiled, and the libraries'."""
    solids, numbers = _numbers(found)
    both = list(zip(found.firsts, found.seconds, strict=True))
    hulls = np.array([minkowski_gap(a.corners[0], b.corners[0]) for a, b in both])
    compiled, arrays = signed_gaps_compiled(solids, numbers).gap[0], signed_gaps(solids, numbers)
    fcl, coal = fcl_with_patience(both), np.array(coal_calls(both)())
    worst = max(np.abs(compiled - hulls).max(), np.abs(arrays.gap[0] - hulls).max())
    lost = int(np.isnan(fcl).sum()) // BATCH
    told = f"worst of ours {worst:.0e} mm"
    if lost:
        told += f"; {lost} batches of {BATCH} of python-fcl's never returned"
    return Measured(
        f"gaps of {len(both):,} {name} pairs, wrong by over 1e-6 mm",
        "hulls of Minkowski differences",
        None,
        None,
        (
            Count("compiled", _wrong(compiled, hulls), 0),
            Count("arrays", _wrong(arrays.gap[0], hulls), 0),
            Count("against python-fcl", 0, 0, _wrong(fcl, hulls)),
            Count("against coal", 0, 0, _wrong(coal, hulls)),
        ),
        note=told,
    )


def _times(count: int, seed: int) -> list[Measured]:
    found = scattered_pairs(np.random.default_rng(seed), count)
    solids, numbers = _numbers(found)
    both = list(zip(found.firsts, found.seconds, strict=True))
    rows = rows_of(solids)
    gap, none = np.empty((1, count)), np.empty((0, count, 3))
    normal, at = np.empty((1, count, 3)), np.empty((1, count, 3))
    fcl, coal = fcl_calls(both), coal_calls(both)
    hulls = np.array([minkowski_gap(a.corners[0], b.corners[0]) for a, b in both])

    def gaps_alone() -> np.ndarray:
        gaps_of_rows(rows, numbers, gap, none, none)
        return gap[0]

    wrong = Count("wrong", _wrong(gaps_alone(), hulls), 0)
    name, curve = f"gaps of {count:,} general pairs", "gaps of general pairs"
    return [
        Measured(
            name,
            "python-fcl, distance",
            side_by_side(gaps_alone, fcl, runs=5),
            1.5,
            (wrong,),
            curve,
            count,
        ),
        Measured(
            name, "coal, distance", side_by_side(gaps_alone, coal, runs=5), None, (), curve, count
        ),
        Measured(
            f"{name}, with directions and points",
            "python-fcl, distance",
            side_by_side(lambda: gaps_of_rows(rows, numbers, gap, normal, at), fcl, runs=5),
            1.5,
        ),
        Measured(
            f"{name}, from a list of solids",
            "python-fcl, distance without building",
            side_by_side(lambda: signed_gaps_compiled(solids, numbers), fcl, runs=5),
        ),
    ]


def measure(long: bool) -> list[Measured]:
    """Times on pairs at random, errors on those and on pairs brought flush."""
    lines = [
        line for count in ((300, 1000, 10_000) if long else (1000,)) for line in _times(count, 1)
    ]
    for seed in range(3 if long else 1):
        rng = np.random.default_rng(seed)
        for make, name in ((scattered_pairs, "scattered"), (flush_pairs, "flush")):
            lines.append(_errors(make(rng, 2000 if long else 500), name))
    return lines
