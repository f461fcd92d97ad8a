"""Every bench in one run: ``python -m tests.bench [--long] [--only NAME ...] [--out FOLDER]``.

Runs each module of this folder that has ``measure``, each in a process of its own, prints one
table, and writes ``bench.md`` and ``bench.svg`` into the folder given. Exits with 1 when a goal
or a count is missed. A library that is not installed is said and passed over.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from pathlib import Path

from tests.bench.record_plot import plot
from tests.bench.record_run import benches, run
from tests.bench.record_table import markdown, text


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
