"""Do the tests bite? Plants one mistake at a time and counts those that no test notices.

Run: ``python -m tests.bench.mutate --each 6 --minutes 60 geometry checks voids survey`` from the
repository's folder; a word is an area or a module such as ``geometry/gaps``. Needs ``coverage``.

Everything happens in a copy of the tree, so that a checkout in use is never disturbed. The tests
of the areas run once to learn which test reaches which line; then each mistake is judged by the
tests that reach its line, the quickest first, until one fails. What compiled code does cannot be
seen line by line: there, the tests that reach the modules importing it are used. ``--plain`` runs
everything uncompiled instead (see ``mutants_reach``), which is how to judge compiled kernels;
``--again`` without it judges those that survived once more, compiled, by the same lines.

A survivor is either a test that is missing or a change that makes no difference; it is printed
with its line and what became of it, so that a reader can tell. Those that make none are listed
with the reason in ``mutants_explained.json`` and counted apart. Progress is kept in the copy:
called again with the same ``--copy`` it goes on where it stopped.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np

from tests.bench.mutants import Mistake, mistakes, planted
from tests.bench.mutants_explained import both_lines, reasons, stale
from tests.bench.mutants_reach import (
    LOADED,
    QUIET,
    chosen_tests,
    importers,
    learn,
    plainly,
    reach_file,
)
from tests.bench.mutants_swap import load, swap

HERE = Path(__file__).resolve().parents[2]
PARTS = ("massing", "tests", "catalog", "examples", "exports", "pyproject.toml", "README.md")
BUSY = 30  # how many times longer the clock may run than the work takes, with others at theirs


def judged(folder: Path, tests: list[str], cache: Path, timeout: float) -> str:
    """``killed``, ``slow`` (which is killed too) or ``survived``, by a child of its own."""
    child = os.fork()
    if child == 0:
        _hushed()
        os.chdir(folder)
        sys.path[:] = [str(folder), *(p for p in sys.path if p not in ("", str(HERE)))]
        for name in [n for n in sys.modules if n.split(".")[0] in ("tests", "massing")]:
            del sys.modules[name]
        import numba
        import pytest

        numba.config.CACHE_DIR = str(cache)
        os.environ["PYTHONPATH"], os.environ["NUMBA_CACHE_DIR"] = str(folder), str(cache)
        status = 1
        try:
            status = int(pytest.main(["-q", "-x", "--tb=no", *LOADED, *tests]))
        finally:
            os._exit(status)
    return _outcome(child, timeout)


def judged_plainly(mistake: Mistake, text: str, tests: list[str], work: float) -> str:
    """The same of code that is loaded already, uncompiled; ``work``: seconds of it at most."""
    child = os.fork()
    if child == 0:
        _hushed()
        status = 1
        try:
            # Of work, not of the clock: a busy machine is no mistake.
            resource.setrlimit(resource.RLIMIT_CPU, (int(work), int(work) + 5))
            import pytest

            if not swap(mistake.module, text, planted(text, mistake)):
                for name in [n for n in sys.modules if n.split(".")[0] in ("tests", "massing")]:
                    del sys.modules[name]
                plainly()
            status = int(pytest.main(["-q", "-x", "--tb=no", *LOADED, *QUIET, *tests]))
        finally:
            os._exit(status)
    return _outcome(child, BUSY * work)


def _hushed() -> None:
    os.setsid()
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)


def _outcome(child: int, timeout: float) -> str:
    ends = time.monotonic() + timeout
    while time.monotonic() < ends:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return "survived" if os.waitstatus_to_exitcode(status) == 0 else "killed"
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "slow"


def fresh_cache(folder: Path, stale: set[str]) -> Path:
    """A numba cache like the common one, without what was compiled from the ``stale`` modules."""
    common, own = folder.parent / "numba", folder.parent / "numba_now"
    shutil.rmtree(own, ignore_errors=True)
    if common.is_dir():
        shutil.copytree(common, own, copy_function=os.link)
    names = {Path(module).stem for module in stale}
    for path in list(own.rglob("*.nb?")):
        if path.name.split(".")[0] in names:
            path.unlink()
    return own


def prepare(copy: Path, areas: list[str], tests: list[str], *, plain: bool) -> Path:
    """The tree copied and its tests run once, unless that was done before."""
    folder = copy / "tree"
    if not folder.exists():
        folder.mkdir(parents=True)
        leave = shutil.ignore_patterns("__pycache__", "*.nb?", "*.pyc")
        for part in PARTS:
            source = HERE / part
            if source.is_dir():
                shutil.copytree(source, folder / part, ignore=leave)
            else:
                shutil.copy2(source, folder / part)
    if not (folder / reach_file(plain=plain)).exists():
        called = [sys.executable, "-m", "tests.bench.mutate", "--learn", *areas]
        called += ["--plain"] * plain + (["--tests", *tests] if tests else [])
        env = {**os.environ, "PYTHONPATH": str(folder), "NUMBA_CACHE_DIR": str(copy / "numba")}
        if subprocess.run(called, cwd=folder, env=env, check=False).returncode != 0:
            sys.exit("the tests do not pass as they are")
    return folder


def _modules(folder: Path, words: list[str]) -> list[str]:
    found = []
    for word in words:
        place = folder / "massing" / word
        paths = sorted(place.rglob("*.py")) if place.is_dir() else [place.with_suffix(".py")]
        found += [p.relative_to(folder).as_posix() for p in paths if p.name != "__init__.py"]
    return found


def _sample(module: str, text: str, count: int, seed: int) -> list[Mistake]:
    every = mistakes(module, text)
    order = np.random.default_rng([seed, *module.encode()]).permutation(len(every))
    return [every[k] for k in order[:count]]


def main(options: argparse.Namespace) -> int:
    """Plant, judge, print; the survivors' number."""
    copy = Path(options.copy or tempfile.mkdtemp(prefix="massing-mutate-")).resolve()
    areas = sorted({word.split("/")[0] for word in options.words})
    folder = prepare(copy, areas, options.tests, plain=options.plain)
    known = _known(folder, plain=options.plain)
    _brought(folder, options.bring, known, plain=options.plain)
    kept = copy / f"told_{options.seed}.json"
    told: dict[str, str] = json.loads(kept.read_text()) if kept.exists() else {}
    # Loaded once here, shared by every child; nothing of the project itself is loaded.
    import hypothesis  # noqa: F401
    import numba  # noqa: F401
    import pydantic  # noqa: F401
    import pytest  # noqa: F401
    import scipy.spatial  # noqa: F401
    import shapely  # noqa: F401
    from ruamel import yaml  # noqa: F401

    # Asked to stop, put the module back that is being changed.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("stopped"))
    above, ends = importers(folder), time.monotonic() + 60 * options.minutes
    modules = _modules(folder, options.words)
    texts = {module: (folder / module).read_text(encoding="utf-8") for module in modules}
    drawn = {m: _sample(m, texts[m], options.each, options.seed) for m in modules}
    explained = reasons()
    able = ((m, *both_lines(texts[m], x)) for m in modules for x in mistakes(m, texts[m]))
    sys.stdout.writelines(f"no longer there: {': '.join(gone)}\n" for gone in stale(able))
    score: dict[str, Counter[str]] = defaultdict(Counter)
    # Planted: nothing. A judge that finds fault with it would find fault with everything.
    for module in (m for m in modules[:: max(len(modules) // 3, 1)] if drawn[m]):
        if not _fair(folder, texts[module], drawn[module][0], known, above, options):
            sys.exit(f"{module}: its tests fail with nothing changed")
    # In rounds over the modules, so that a run cut short has asked every module something.
    for turn in range(options.each):
        for module in modules:
            if turn >= len(drawn[module]) or time.monotonic() > ends:
                continue
            mistake = drawn[module][turn]
            key = f"{module}:{mistake.line}:{mistake.start}: {mistake.was} -> {mistake.now}"
            if key not in told or (options.again and told[key] in {"survived", "unreached"}):
                over = above.get(module, set())
                told[key] = _one(folder, texts[module], mistake, known, over, options)
                kept.write_text(json.dumps(told, indent=0), encoding="utf-8")
            lines = both_lines(texts[module], mistake)
            outcome, alive = told[key], told[key] in ("survived", "unreached")
            if alive and (module, *lines) in explained:
                outcome = "explained"
            elif alive:
                row = json.dumps([*lines], ensure_ascii=False)
                sys.stdout.write(f"{outcome}: {module}:{mistake.line}: {row}\n")
                sys.stdout.flush()
            score[module][outcome] += 1
    for module in modules:
        sys.stdout.write(f"{module}: {_counted(score[module])}\n")
    every = sum(score.values(), Counter())
    sys.stdout.write(f"{_counted(every)}\n")
    return every["survived"] + every["unreached"]


def _counted(score: Counter[str]) -> str:
    dead, spoken = score["killed"] + score["slow"], score["explained"]
    return f"{dead} of {sum(score.values())} killed" + (f", {spoken} explained" if spoken else "")


def _known(folder: Path, *, plain: bool) -> dict:
    """What was learnt; of compiled modules the lines from the plain run, if there was one."""
    known = json.loads((folder / reach_file(plain=plain)).read_text(encoding="utf-8"))
    seen = folder / reach_file(plain=True)
    if not plain and seen.exists():
        for module, lines in json.loads(seen.read_text(encoding="utf-8"))["reach"].items():
            if (folder / module).exists() and _is_compiled(folder / module):
                known["reach"][module] = lines
    return known


def _brought(folder: Path, files: list[str], known: dict, *, plain: bool) -> None:
    """Test files written since, copied in; each is asked about everything, and before others."""
    for file in files:
        shutil.copy2(HERE / file, folder / file)
    known["first"] = files
    if plain:
        load(folder, [*files, *known["seconds"]])


def _one(
    folder: Path,
    text: str,
    mistake: Mistake,
    known: dict,
    above: set[str],
    options: argparse.Namespace,
) -> str:
    tests = [*known["first"], *chosen_tests(mistake, known, above, options.patience)]
    if not tests:
        return "unreached"
    path = folder / mistake.module
    stale = {m for m in (mistake.module, *above) if _is_compiled(folder / m)}
    stale = set() if options.plain else stale
    cache = fresh_cache(folder, stale) if stale else folder.parent / "numba"
    path.write_text(planted(text, mistake), encoding="utf-8")
    try:
        if options.plain:
            work = 8.0 + 4.0 * options.patience + 30.0 * len(known["first"])
            return judged_plainly(mistake, text, tests, work)
        return judged(folder, tests, cache, (60 + 5 * options.patience) * (3 if stale else 1))
    finally:
        path.write_text(text, encoding="utf-8")


def _fair(
    folder: Path, text: str, at: Mistake, known: dict, above: dict, options: argparse.Namespace
) -> bool:
    """Whether nothing is called a mistake where nothing was changed."""
    same = Mistake(at.module, at.line, at.start, at.stop, at.was, at.was)
    return _one(folder, text, same, known, above.get(at.module, set()), options) != "killed"


def _is_compiled(path: Path) -> bool:
    text = path.read_text(encoding="utf-8")
    return "njit" in text or "@compiled" in text


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Plant mistakes, count those no test notices.")
    parser.add_argument("words", nargs="+", help="areas or modules: geometry, checks/run")
    parser.add_argument("--each", type=int, default=6, help="mistakes a module")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--patience", type=float, default=12.0, help="seconds of tests a mistake")
    parser.add_argument("--again", action="store_true", help="judge the survivors anew")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--copy", help="where to work; left out, afresh")
    parser.add_argument(
        "--tests", nargs="*", default=[], metavar="PATH", help="judge by these alone"
    )
    parser.add_argument("--plain", action="store_true", help="compile nothing")
    parser.add_argument(
        "--bring",
        nargs="*",
        default=[],
        metavar="FILE",
        help="tests written since the copy was made",
    )
    parser.add_argument("--learn", action="store_true", help=argparse.SUPPRESS)
    return parser.parse_args()


if __name__ == "__main__":
    given = _options()
    sys.exit(learn(given.words, given.tests, plain=given.plain) if given.learn else main(given) > 0)
