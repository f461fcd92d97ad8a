"""Signed gaps against the libraries, at length: errors and times.

Run ``python -m tests.bench.gaps_against_libraries [pairs] [seed]``. Flush pairs are put to the
collision library in child processes with a time limit, because some of them never return there.
"""

# ruff: noqa: T201 - a report on the screen is what this is for

from __future__ import annotations

import multiprocessing
import sys
import time
from collections.abc import Callable

import numpy as np

from massing.geometry.gaps import candidate_pairs, signed_gaps
from massing.geometry.solids import Convex, prism, prism_faces
from tests.convex_pairs import flush_pairs, scattered_pairs
from tests.oracles import minkowski_gap

BATCH = 50
PATIENCE = 4.0  # s for a batch that takes about 2 ms


def fcl_gaps(pairs: list[tuple[Convex, Convex]], out: multiprocessing.Queue | None = None):
    """Signed distances by python-fcl and seconds a pair, shapes built beforehand."""
    import fcl

    def body(solid: Convex):
        rings = [number for ring in solid.faces.rings for number in (len(ring), *ring)]
        shape = fcl.Convex(solid.corners[0].copy(), len(solid.faces.rings), np.array(rings))
        return fcl.CollisionObject(shape, fcl.Transform())

    bodies = [(body(a), body(b)) for a, b in pairs]
    begun = time.perf_counter()
    found = [
        fcl.distance(a, b, fcl.DistanceRequest(enable_signed_distance=True), fcl.DistanceResult())
        for a, b in bodies
    ]
    answer = np.array(found), (time.perf_counter() - begun) / len(pairs)
    if out is not None:
        out.put(answer)
    return answer


def fcl_with_patience(pairs: list[tuple[Convex, Convex]]) -> np.ndarray:
    """The same, nan for every batch that did not come back in time."""
    answers = []
    for start in range(0, len(pairs), BATCH):
        batch = pairs[start : start + BATCH]
        queue: multiprocessing.Queue = multiprocessing.Queue()
        child = multiprocessing.Process(target=fcl_gaps, args=(batch, queue))
        child.start()
        try:
            answers.append(queue.get(timeout=PATIENCE)[0])
        except Exception:  # noqa: BLE001 - queue.Empty, or the child died
            answers.append(np.full(len(batch), np.nan))
        child.kill()
        child.join()
    return np.concatenate(answers)


def median_ms(call: Callable[[], object], runs: int = 15) -> float:
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        call()
        times.append(time.perf_counter() - begun)
    return 1000.0 * sorted(times)[runs // 2]


def room(count: int, rng: np.random.Generator, *, upright: bool) -> list[Convex]:
    """Yawed boxes strewn over 5 m by 3 m."""
    solids = []
    for _ in range(count):
        t = rng.uniform(0, 2 * np.pi)
        turn = np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
        ring = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * rng.uniform(100, 400, 2)
        low = rng.uniform(0, 1000)
        solid = prism(ring @ turn + rng.uniform([0, 0], [5000, 3000]), low, low + 600)
        solids.append(Convex(solid.corners, prism_faces(4, upright=upright)))
    return solids


def report_errors(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    for make in (scattered_pairs, flush_pairs):
        found = make(rng, count)
        both = list(zip(found.firsts, found.seconds, strict=True))
        numbers = np.stack([np.arange(count), np.arange(count) + count], axis=1)
        begun = time.perf_counter()
        ours = signed_gaps(found.firsts + found.seconds, numbers).gap[0]
        each = (time.perf_counter() - begun) / count * 1e6
        hulls = np.array([minkowski_gap(a.corners[0], b.corners[0]) for a, b in both])
        print(f"{make.__name__}: {count} pairs, ours {each:.0f} us a pair")
        print(f"  ours against hulls: max {np.abs(ours - hulls).max():.1e} mm")
        if make is scattered_pairs:
            theirs, pace = fcl_gaps(both)
            print(f"  fcl {pace * 1e6:.1f} us a pair")
        else:
            theirs = fcl_with_patience(both)
            print(f"  fcl: {np.isnan(theirs).sum() // BATCH} batches of {BATCH} never returned")
        off = np.abs(theirs - hulls)
        print(f"  fcl against hulls: max {np.nanmax(off):.1e} mm, {(off > 1e-6).sum()} over 1e-6")


def report_times(seed: int) -> None:
    for count in (40, 200):
        for upright in (True, False):
            solids = room(count, np.random.default_rng(seed), upright=upright)
            pairs = candidate_pairs(solids, 100.0)
            sweep = median_ms(lambda s=solids: candidate_pairs(s, 100.0))
            gaps = median_ms(lambda s=solids, p=pairs: signed_gaps(s, p))
            kind = "upright" if upright else "general"
            print(f"{count} {kind}: sweep {sweep:.2f} ms, {len(pairs)} pairs {gaps:.2f} ms")


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:]]
    report_times(asked[1] if len(asked) > 1 else 1)
    report_errors(asked[0] if asked else 10_000, asked[1] if len(asked) > 1 else 1)
