"""Every bench in one run: ``python -m tests.bench [--long] [--only NAME ...] [--out FOLDER]``.

Runs each module of this folder that has ``measure``, each in a process of its own, prints one
table, and writes ``bench.md`` and ``bench.svg`` into the folder given. Exits with 1 when a goal
or a count is missed. A library that is not installed is said and passed over.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import multiprocessing
import os
import platform
import sys
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.bench.record import Measured
from tests.bench.record_plot import plot
from tests.bench.record_table import markdown, text

HERE = Path(__file__).parent


def benches() -> list[str]:
    """Names of the modules here that define ``measure``, sorted."""
    found = []
    for path in sorted(HERE.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if any(isinstance(node, ast.FunctionDef) and node.name == "measure" for node in tree.body):
            found.append(path.stem)
    return found


def run_one(name: str, *, long: bool) -> tuple[list[Measured], str]:
    """Its lines, and what went wrong if anything did."""
    try:
        return importlib.import_module(f"tests.bench.{name}").measure(long), ""
    except ModuleNotFoundError as error:
        return [], f"{name}: passed over, {error.name} is not installed"
    except Exception:  # noqa: BLE001 - one bench that breaks does not take the others along
        return [], f"{name}: broke\n{traceback.format_exc()}"


def run(names: list[str], *, long: bool) -> tuple[list[Measured], list[str]]:
    """Lines of all benches in turn, and what went wrong, telling how far it is."""
    lines, troubles = [], []
    for name in names:
        begun = time.perf_counter()
        # A process each: a library that crashes, or threads it leaves behind, stay out of the rest.
        spawn = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(1, mp_context=spawn) as pool:
            try:
                found, trouble = pool.submit(run_one, name, long=long).result()
            except Exception as error:  # noqa: BLE001 - the child died
                found, trouble = [], f"{name}: broke, {type(error).__name__}: {error}"
        lines += found
        troubles += [trouble] if trouble else []
        told = f"{name}: {len(found)} lines in {time.perf_counter() - begun:.0f} s\n"
        sys.stderr.write(told)
    return lines, troubles


def machine() -> str:
    """Where this ran, in a few words."""
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}{load}"


def main(words: list[str]) -> int:
    """Run, print and write; 1 when a goal or a count is missed or a bench broke."""
    known = benches()
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--long", action="store_true", help="growth to 10,000 items, more seeds")
    parser.add_argument("--only", nargs="+", choices=known, default=known, metavar="NAME")
    parser.add_argument("--out", type=Path, help="folder for bench.md and bench.svg")
    asked = parser.parse_args(words)
    lines, troubles = run(asked.only, long=asked.long)
    where = machine()
    sys.stdout.write("\n".join([text(lines), *troubles, where, ""]))
    if asked.out is not None:
        asked.out.mkdir(parents=True, exist_ok=True)
        (asked.out / "bench.md").write_text(markdown(lines, where), encoding="utf-8")
        (asked.out / "bench.svg").write_text(plot(lines), encoding="utf-8")
    return int(any(": broke" in trouble for trouble in troubles) or not all(m.met for m in lines))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
