"""Which tests reach which line, and how long they take: areas in, a table of tests by line out.

Compiled code cannot be seen line by line. Run *plainly* (numba told to compile nothing) the same
functions are ordinary Python: every line of them is seen, nothing has to be compiled anew for a
mistake, and an index out of bounds is an error instead of whatever lies there. What takes too
long that way is stopped, and not asked plainly; the lines it reached by then are kept.
"""

from __future__ import annotations

import ast
import ctypes
import json
import os
import signal
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

import numpy as np

from tests.bench.mutants import Mistake

__all__ = ["LOADED", "QUIET", "chosen_tests", "importers", "learn", "plainly", "reach_file"]

LONGEST = 1.5  # seconds of work; a test that takes longer uncompiled is not asked plainly
LOADED = ("-W", "ignore::pytest.PytestAssertRewriteWarning")
# Compiled code divides by nothing and overflows without a word; so may it, uncompiled.
QUIET = ("-W", "ignore::RuntimeWarning")


class _TooSlow(BaseException):
    """Not an Exception, which a test of laws would catch and try to make smaller."""


class _Watch:
    """A pytest plugin that notes which test reaches which line, and how long each takes."""

    def __init__(self, cover: object, *, plain: bool) -> None:
        self.cover = cover
        self.plain = plain
        self.began = 0.0
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        if plain:
            signal.signal(signal.SIGVTALRM, self._stop)

    @staticmethod
    def _stop(_number: int, _frame: FrameType | None) -> None:
        mine = threading.get_ident()
        for thread in set(sys._current_frames()) - {mine}:
            # A pool would wait for its workers before the test ends.
            stop = ctypes.py_object(_TooSlow)
            ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), stop)
        raise _TooSlow

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self.cover.switch_context(nodeid)  # type: ignore[attr-defined]
        self.began = time.process_time()

    def pytest_runtest_call(self) -> None:
        if self.plain:
            signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST)

    def pytest_runtest_teardown(self) -> None:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)

    def pytest_runtest_logreport(self, report: object) -> None:
        name = report.nodeid  # type: ignore[attr-defined]
        if report.failed:  # type: ignore[attr-defined]
            self.failed.add(name)
        took = report.duration  # type: ignore[attr-defined]
        if self.plain:
            took, self.began = time.process_time() - self.began, time.process_time()
        self.seconds[name] = self.seconds.get(name, 0.0) + took


def plainly() -> None:
    """Tell numba, here and in every process begun from here, to compile nothing.

    Compiled code reads a record's fields by dots, which plain arrays of records do not have.
    """
    import numba

    os.environ["NUMBA_DISABLE_JIT"] = "1"
    numba.config.DISABLE_JIT = 1
    from massing.arrange import arrays

    for name in ("new_moving", "packed"):
        setattr(arrays, name, _with_dots(getattr(arrays, name)))


def _with_dots(made: Callable[..., np.ndarray]) -> Callable[..., np.ndarray]:
    return lambda *given: made(*given).view(_Dotted)


class _Dotted(np.ndarray):
    """An array of records whose rows have their fields by dots, whatever their names."""

    def __getitem__(self, key: object) -> object:
        if isinstance(key, int) and self.dtype.names:
            return _Row(np.asarray(self), key)
        return np.asarray(self)[key]


class _Row:
    def __init__(self, records: np.ndarray, at: int) -> None:
        own = {name: records[name] for name in records.dtype.names}
        parts = {name: field[at] for name, field in own.items() if field.ndim > 1}
        self.__dict__.update(parts, _own=own, _at=at)

    def __getattr__(self, name: str) -> object:
        return self.__dict__["_own"][name][self.__dict__["_at"]]

    def __setattr__(self, name: str, value: object) -> None:
        self._own[name][self._at] = value


def reach_file(*, plain: bool) -> str:
    """Where what was learnt is written, in the copy of the tree."""
    return "reach_plain.json" if plain else "reach.json"


def learn(areas: list[str], tests: list[str], *, plain: bool) -> int:
    """Run tests once, the areas' if none are named, in the copy that is the current folder."""
    import coverage
    import pytest

    seen = [f"massing/{area}/*" for area in areas] if plain else None
    source = None if plain else ["massing"]
    cover = coverage.Coverage(source=source, include=seen, data_file=None, config_file=False)
    watch = _Watch(cover, plain=plain)
    folders = tests or [f"{top}/{area}" for area in areas for top in ("massing", "tests")]
    if plain:
        plainly()
    cover.start()
    quiet = QUIET if plain else ()
    status = pytest.main(["-q", "--tb=no", *quiet, *folders], plugins=[watch])
    cover.stop()
    data = cover.get_data()
    reach: dict[str, dict[int, list[str]]] = {}
    for file in sorted(data.measured_files()):
        module = Path(file).relative_to(Path.cwd()).as_posix()
        by_line = data.contexts_by_lineno(file)
        reach[module] = {line: sorted(filter(None, names)) for line, names in by_line.items()}
    told = {"seconds": watch.seconds, "reach": reach, "failed": sorted(watch.failed)}
    Path(reach_file(plain=plain)).write_text(json.dumps(told), encoding="utf-8")
    # Uncompiled, some tests are stopped, and some ask for what only compiled code has.
    return 0 if plain and int(status) == 1 else int(status)


def importers(folder: Path) -> dict[str, set[str]]:
    """For each module, those that import it, however far."""
    direct: dict[str, set[str]] = defaultdict(set)
    for path in sorted((folder / "massing").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("massing."):
                direct[node.module.replace(".", "/") + ".py"].add(
                    path.relative_to(folder).as_posix()
                )
    return {module: set(_above(module, direct)) for module in list(direct)}


def _above(module: str, direct: dict[str, set[str]]) -> Iterator[str]:
    seen, front = {module}, [module]
    while front:
        for over in direct.get(front.pop(), set()) - seen:
            seen.add(over)
            front.append(over)
            yield over


def chosen_tests(mistake: Mistake, known: dict, above: set[str], patience: float) -> list[str]:
    """The tests that reach a mistake, the quickest first, for so many seconds together.

    Compiled code and what runs at import are reached by no test that could be seen: there it is
    the tests of the module, and after them those of the modules that import it.
    """
    reach, seconds, failed = known["reach"], known["seconds"], set(known.get("failed", ()))
    groups = [set(reach.get(mistake.module, {}).get(str(mistake.line), ()))]
    if not groups[0]:
        groups = [
            {name for tests in reach.get(module, {}).values() for name in tests}
            for module in (mistake.module, *sorted(above))
        ]
        groups = [groups[0], set().union(*groups[1:]) - groups[0]]
    spent, chosen = 0.0, []
    for name in (n for g in groups for n in sorted(g, key=lambda n: (seconds.get(n, 1.0), n))):
        if name in failed:
            continue
        spent += seconds.get(name, 1.0)
        if spent > patience and chosen:
            break
        chosen.append(name)
    return chosen
