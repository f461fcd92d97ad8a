"""What a bench hands over: two calls in, their times side by side out, in one shape for all.

A bench is a module of this folder with ``measure(long: bool) -> list[Measured]``;
``python -m tests.bench`` finds them all, runs each and prints one table. The ratio is the median
over interleaved runs of the peer's time by ours, because the machine may be shared.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["Count", "Measured", "Times", "each_ms", "side_by_side"]

_LEAST = 0.004  # s; a shorter call is repeated until a run takes this long


@dataclass(frozen=True, slots=True)
class Times:
    """Median milliseconds of ours and of the peer, and the median of peer by ours, run by run."""

    ours_ms: float
    peer_ms: float
    ratio: float


@dataclass(frozen=True, slots=True)
class Count:
    """Exact work: what is counted, how many we found and how many there are.

    must : what ours has to equal, found by another way (the peer, an oracle, a formula)
    peer : what the peer found, when that was read; shown, and never a fault of ours
    """

    what: str
    ours: int
    must: int
    peer: int | None = None

    @property
    def right(self) -> bool:
        """Whether ours is what it must be."""
        return self.ours == self.must

    @property
    def says(self) -> str:
        """``pairs 15``, with what differs named."""
        words = f"{self.what} {self.ours}"
        if not self.right:
            words += f" (must be {self.must})"
        if self.peer is not None and self.peer != self.ours:
            words += f" (peer {self.peer})"
        return words


@dataclass(frozen=True, slots=True)
class Measured:
    """One line of the table.

    name : what is measured, such as ``collisions, yawed boxes, 200``
    peer : library or method the time is held against
    times : None when a line is about counts alone, or the peer did not come back
    goal : least ratio wanted, None when the line is only told
    counts : exact work; all must be right for the line to be met
    curve, size : the growth curve this line is a point of, and its number of items
    note : a few words on what was and was not included
    """

    name: str
    peer: str
    times: Times | None
    goal: float | None = None
    counts: tuple[Count, ...] = ()
    curve: str = ""
    size: int = 0
    note: str = ""

    @property
    def met(self) -> bool:
        """Whether every count is right and the goal, where there is one, is reached."""
        fast = self.goal is None or (self.times is not None and self.times.ratio >= self.goal)
        return fast and all(count.right for count in self.counts)

    @property
    def verdict(self) -> str:
        """``met``, ``not met``, or ``told`` where nothing was asked."""
        if self.goal is None and not self.counts:
            return "told"
        return "met" if self.met else "not met"


def side_by_side(
    ours: Callable[[], object],
    peer: Callable[[], object],
    *,
    runs: int = 9,
    clock: Callable[[], float] = time.process_time,
) -> Times:
    """Times of two calls, each warmed once, then turn about ``runs`` times.

    clock : processor time by default, which other work on the machine touches least; give
        ``time.perf_counter`` where either side uses several threads or processes
    """
    ours()
    peer()
    loops = [_loops(call, clock) for call in (ours, peer)]
    spent: list[tuple[float, float]] = []
    for _ in range(runs):
        mine, theirs = (
            _spent(call, count, clock) for call, count in zip((ours, peer), loops, strict=True)
        )
        spent.append((mine, theirs))
    return Times(
        statistics.median(mine for mine, _ in spent) * 1e3,
        statistics.median(theirs for _, theirs in spent) * 1e3,
        statistics.median(theirs / mine for mine, theirs in spent),
    )


def each_ms(
    call: Callable[[], object],
    *,
    runs: int = 5,
    clock: Callable[[], float] = time.process_time,
) -> float:
    """Median milliseconds of one call, once warm; for what has no peer."""
    call()
    count = _loops(call, clock)
    return statistics.median(_spent(call, count, clock) for _ in range(runs)) * 1e3


def _loops(call: Callable[[], object], clock: Callable[[], float]) -> int:
    once = _spent(call, 1, clock)
    return max(1, math.ceil(_LEAST / max(once, 1e-7))) if once < _LEAST else 1


def _spent(call: Callable[[], object], count: int, clock: Callable[[], float]) -> float:
    """Seconds a call, over ``count`` of them."""
    begun = clock()
    for _ in range(count):
        call()
    return (clock() - begun) / count
