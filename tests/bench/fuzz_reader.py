"""Breaks project files and meshes in every way and judges what is said about them.

Run: ``python -m tests.bench.fuzz_reader project 5000`` (or ``mesh``), from the repository's
folder: so many seeded changes of the examples and of every project text in the tests.
``python -m tests.bench.fuzz_reader project guided --minutes 20`` lets the lines reached guide the
changes, for so many minutes of processor time or until it is stopped from the keyboard.
``--check`` also asks each project that can be read for its findings. What breaks a law is printed
and kept in ``--keep FOLDER``.

A file is read, or refused with faults in plain words that each name a line and column inside it
and show what stands there; nothing else may be raised, in bounded time and memory.
"""

from __future__ import annotations

import argparse
import contextlib
import faulthandler
import hashlib
import json
import re
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np

from massing.errors import Fault, GeometryError, InputError
from massing.items.mesh import mesh_solids
from massing.items.spec import MeshSpec
from massing.project.read import parse_project
from tests.bench.broken_files import ROOT, broken_mesh, broken_project, meshes, projects
from tests.bench.guided import Explored, Reached, explore
from tests.bench.odd_projects import ODD, odd_project

__all__ = ["judge_mesh", "judge_project"]

LONGEST_S = 10.0
"""Processor seconds for one file; the limits allow files a hundred times an example's size."""
MOST_KB = 700_000
"""Growth of the process's memory over one file."""
_HANGS_S = 300
"""Seconds after which a guided run gives up on an input, which is then the file ``last`` kept."""

_LINE_BREAK = re.compile(r"\r\n|\n|\r")
_INNARDS = re.compile(r"pydantic|Traceback|object at 0x|errno|NoneType|<class", re.IGNORECASE)


def _measured(run: Callable[[], str]) -> str:
    """What ``run`` says, or that it took too long or too much, or what it raised."""
    began, held = time.process_time(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            said = run()
    except Exception:  # noqa: BLE001 - whatever it is, it is the finding
        said = traceback.format_exc()
    took = time.process_time() - began
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - held
    if took > LONGEST_S:
        said += f"\ntook {took:.1f} s"
    if grown > MOST_KB:
        said += f"\ntook {grown // 1024} MB"
    return said


def _misplaced(error: InputError, text: str | None) -> str:
    """What is wrong with the faults themselves; nothing when each is plain and in its place."""
    lines = _LINE_BREAK.split(text) if text is not None else None
    wrong = [said for fault in error.faults if (said := _wrong_with(fault, lines))]
    return wrong[0] if wrong else ("" if error.faults else "no faults")


def _wrong_with(fault: Fault, lines: list[str] | None) -> str:
    mark = fault.mark
    if mark is None:
        return f"no place: {fault}"
    plain = fault.says.strip() and len(str(fault)) < 3000 and fault.says.isprintable()
    if not plain or _INNARDS.search(fault.says):
        return f"not plain words: {str(fault)[:3000]!r}"
    if lines is None:
        return ""
    line = lines[mark.line - 1] if 1 <= mark.line <= len(lines) else None
    if line is None or not 1 <= mark.column <= len(line) + 1:
        return f"no such place: {fault}"
    shown = "".join(c if c.isprintable() else " " for c in line[: mark.column + 5]).strip()
    if mark.source and shown[:100] not in mark.source:
        return f"not what stands there: {fault}"
    return ""


def judge_project(data: bytes, *, check: bool = False) -> str:
    """What is wrong with how a file is read, or nothing."""

    def run() -> str:
        try:
            project = parse_project(data, "p.yaml")
        except InputError as error:
            try:
                text = data.decode("utf-8")
            except UnicodeDecodeError:
                text = None
            return _misplaced(error, text)
        return _findings(project) if check else ""

    return _measured(run)


def _findings(project: object) -> str:
    from massing.checks.run import check_scheme
    from massing.cli.text import answer_text
    from massing.handover.answer import answer_dict

    for name in list(project.arrangements)[:2]:  # type: ignore[attr-defined]
        try:
            answer = check_scheme(project, name)  # type: ignore[arg-type]
        except InputError as error:
            if said := _misplaced(error, project.text):  # type: ignore[attr-defined]
                return said
            continue
        json.dumps(answer_dict(answer), allow_nan=False)
        answer_text(answer, every=True)
    return ""


@lru_cache(maxsize=1)
def _folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory()


def judge_mesh(ending: str, data: bytes) -> str:
    """What is wrong with how a mesh is read, or nothing."""
    folder = Path(_folder().name)
    name = f"{hashlib.sha1(data, usedforsecurity=False).hexdigest()}{ending}"
    path = folder / name
    path.write_bytes(data)

    def run() -> str:
        try:
            pieces = mesh_solids(MeshSpec(file=name), folder)
        except GeometryError as error:
            return "" if str(error).isprintable() else f"not plain words: {error!r}"
        low = np.min([p.low[0] for p in pieces], axis=0)
        if np.abs(low).max() > 0.01 * max(1.0, float(np.max([p.high[0] for p in pieces]))):
            return f"its least corner is at {low}"
        return "" if all(p.volume[0] > 0 for p in pieces) else "a piece without volume"

    try:
        return _measured(run)
    finally:
        path.unlink()


def _told(keep: Path | None, seed: object, said: str, data: bytes, ending: str) -> None:
    sys.stdout.write(f"seed {seed}: {said.strip()[-1500:]}\n")
    sys.stdout.flush()
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        name = hashlib.sha1(data, usedforsecurity=False).hexdigest()[:12]
        (keep / f"{name}{ending}").write_bytes(data)


def main(options: argparse.Namespace) -> int:
    """Try so many seeds; the number that broke a law."""
    told: Counter[str] = Counter()
    ends = time.monotonic() + 60 * options.minutes
    for seed in range(options.first, options.first + int(options.count)):
        if time.monotonic() > ends:
            break
        if options.what == "mesh":
            ending, data = broken_mesh(seed)
            said = judge_mesh(ending, data)
        else:
            ending, data = ".yaml", broken_project(seed)
            said = judge_project(data, check=options.check)
        told["broken" if said else "sound"] += 1
        if said:
            _told(options.keep, seed, said, data, ending)
    sys.stdout.write(f"{dict(sorted(told.items()))}\n")
    return told["broken"]


def guided(options: argparse.Namespace) -> int:
    """Let the lines reached guide the changes, until the time is over; how many broke a law."""
    mesh = options.what == "mesh"
    if options.keep is not None:
        options.keep.mkdir(parents=True, exist_ok=True)
    kinds = (".glb", ".obj", ".stl")
    begin = [text.encode() for text in (*projects(), *ODD)]
    if mesh:
        begin = [bytes([kinds.index(ending)]) + data for ending, data in meshes()]
    words = (*projects(), *ODD)

    def judge(data: bytes) -> str:
        faulthandler.dump_traceback_later(_HANGS_S, exit=True)
        if options.keep is not None:
            (options.keep / "last").write_bytes(data)
        if mesh:
            return judge_mesh(kinds[data[0]], data[1:])
        return judge_project(data, check=options.check)

    def change(data: bytes, seed: list[int]) -> bytes:
        if mesh:
            return data[:1] + broken_mesh(seed, (kinds[data[0]], data[1:]))[1]
        text = data.decode("utf-8", "replace")
        if seed[-1] % 3:
            return odd_project(seed, text, words).encode("utf-8", "surrogatepass")
        return broken_project(seed, text)[:40_000]

    def told(said: str, data: bytes) -> None:
        ending = kinds[data[0]] if mesh else ".yaml"
        _told(options.keep, "-", said, data[1:] if mesh else data, ending)

    folders = ("reading", "items") if mesh else ("reading", "project", "room", "items", "scheme")
    reached = Reached([ROOT / "massing" / name for name in folders])
    done = Explored()
    with contextlib.suppress(KeyboardInterrupt):
        asked = {"seed": options.first, "minutes": options.minutes, "told": told, "done": done}
        explore(begin, change, judge, reached, **asked)
    broken = {words: len(several) for words, several in sorted(done.broken.items())}
    sys.stdout.write(
        f"{done.tried} tried, {done.kept} kept, {done.seconds:.0f} s, {len(reached.ways)} ways\n"
        f"lines reached: {reached.share()}\nbroken: {broken}\n"
    )
    return sum(broken.values())


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Break files and judge what is said about them.")
    parser.add_argument("what", choices=["project", "mesh"])
    parser.add_argument("count", nargs="?", default="2000", help="how many, or 'guided'")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--minutes", type=float, default=1e6)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--keep", type=Path)
    return parser.parse_args()


if __name__ == "__main__":
    given = _options()
    sys.exit((guided if given.count == "guided" else main)(given) > 0)
