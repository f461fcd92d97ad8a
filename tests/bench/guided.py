"""Which lines follow which, as they are reached: a feedback that lets changes build on changes.

``Reached`` follows the lines of the modules in given folders; ``explore`` keeps every input that
went a way no other went before, and goes on changing those. Same seed and count, same inputs.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import numpy as np

__all__ = ["Explored", "Reached", "explore"]

Way = tuple[CodeType, int, int]
_NEVER = -1
_QUIET, _SELDOM = 100, 40
"""Calls without anything new after which only each so-manieth is followed."""


class Reached:
    """Steps from line to line within the functions of some folders.

    A step counts anew when it was made twice, four times, eight times ... as often in one run.
    Functions in which nothing new was found for long are followed only now and then.
    """

    def __init__(self, folders: Iterable[Path]) -> None:
        self._folders = tuple(f"{folder}/" for folder in folders)
        self._calls: dict[CodeType, int] = {}
        self._now: dict[Way, int] = {}
        self.ways: set[tuple[Way, int]] = set()
        self.lines: dict[str, set[int]] = {}

    def run(self, work: Callable[[], object]) -> int:
        """How many ways nobody went before this work goes."""
        self._now.clear()
        before = sys.gettrace()
        sys.settrace(self._entered)
        try:
            work()
        finally:
            sys.settrace(before)
        found = {(way, count.bit_length()) for way, count in self._now.items()} - self.ways
        self.ways |= found
        for (code, _, line), _ in found:
            self._calls[code] = 0
            self.lines.setdefault(code.co_filename, set()).add(line)
        return len(found)

    def _entered(self, frame: FrameType, event: str, _: Any) -> Any:
        code = frame.f_code
        calls = self._calls.get(code)
        if calls is None:
            calls = 0 if code.co_filename.startswith(self._folders) else _NEVER
        if event != "call" or calls < 0:
            self._calls[code] = calls
            return None
        self._calls[code] = calls + 1
        if calls > _QUIET and calls % _SELDOM:
            return None
        now, last = self._now, 0

        def stepped(frame: FrameType, event: str, _: Any) -> Any:
            nonlocal last
            if event == "line":
                way = (code, last, last := frame.f_lineno)
                now[way] = now.get(way, 0) + 1
            return stepped

        return stepped

    def share(self) -> dict[str, tuple[int, int]]:
        """Of each folder, lines reached inside functions and lines there are."""
        told = {}
        for folder in self._folders:
            there = reached = 0
            for path in sorted(Path(folder).rglob("*.py")):
                if not path.stem.endswith("_compiled"):
                    lines = _lines(compile(path.read_text("utf-8"), str(path), "exec"))
                    there += len(lines)
                    reached += len(lines & self.lines.get(str(path), set()))
            told[Path(folder).name] = (reached, there)
        return told


def _lines(module: CodeType) -> set[int]:
    """The lines inside a module's functions, class bodies aside."""
    found: set[int] = set()
    waiting = [module]
    while waiting:
        code = waiting.pop()
        if code.co_flags & 0x2:  # a function's: it has fast locals
            found |= {line for _, _, line in code.co_lines() if line and line > code.co_firstlineno}
        waiting += [held for held in code.co_consts if isinstance(held, CodeType)]
    return found


@dataclass(slots=True, eq=False)
class Explored:
    """What came of it so far: inputs tried, kept, and what was said of those that broke a law."""

    tried: int = 0
    kept: int = 0
    seconds: float = 0.0
    broken: dict[str, list[bytes]] = field(default_factory=dict)


def explore(
    begin: Iterable[bytes],
    change: Callable[[bytes, list[int]], bytes],
    judge: Callable[[bytes], str],
    reached: Reached,
    *,
    seed: int = 0,
    count: int = 10**9,
    minutes: float = 1e6,
    told: Callable[[str, bytes], None] | None = None,
    done: Explored | None = None,
) -> Explored:
    """Judge the first inputs, then changes of those that went new ways, newest preferred.

    minutes : of processor time; done : what is filled in, to be read when stopped on the way
    """
    rng = np.random.default_rng(seed)
    done, kept = done or Explored(), list[bytes]()
    began = time.process_time()

    def tried(data: bytes) -> None:
        said = ""

        def work() -> None:
            nonlocal said
            said = judge(data)

        new = reached.run(work)
        done.tried += 1
        if said:
            alike = said.strip().splitlines()[-1][:80]
            done.broken.setdefault(alike, []).append(data)
            if told is not None and len(done.broken[alike]) <= 3:
                told(said, data)
        elif new:
            kept.append(data)
        done.kept, done.seconds = len(kept), time.process_time() - began

    for data in begin:
        tried(data)
        if data not in kept:
            kept.append(data)
    while done.tried < count and time.process_time() - began < 60 * minutes:
        recent = kept[-max(len(kept) // 8, 1) :]
        several = recent if rng.random() < 0.5 else kept
        tried(change(several[int(rng.integers(len(several)))], [seed, done.tried]))
    return done
