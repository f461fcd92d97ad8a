"""How many found layouts pass every rule: `python -m tests.bench.arrange_recheck`.

Each restart that ends clear by the search's own quick costs is written as a scheme, on a 5 mm
grid, and put to every rule as it is; then to the repair that `massing arrange` makes. Counts, not
times; what fails is told by check.
"""

# ruff: noqa: T201

from __future__ import annotations

from collections import Counter
from pathlib import Path

from massing.arrange.model import compile_scheme
from massing.arrange.polish import polish, remaining
from massing.arrange.search import search
from massing.project.read import read_project
from tests.bench.record import Measured

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CASES = (("boathouse", "first try"), ("loft", "first try"), ("lean-to", "drying room"))


def shares(
    restarts: int = 24, moves: int = 100_000
) -> dict[str, tuple[int, int, int, Counter[str]]]:
    """For each example: layouts ended clear, of those passing as found, and repaired; why not."""
    told = {}
    for file, scheme in CASES:
        model = compile_scheme(read_project(EXAMPLES / f"{file}.yaml"), scheme)
        clear = search(model, restarts=restarts, moves=moves, seed=7).clear
        fails: Counter[str] = Counter()
        at_once = repaired = 0
        for found in clear:
            wrong = {finding.check for finding in remaining(model, found)}
            fails.update(sorted(wrong))
            at_once += not wrong
            repaired += polish(model, found, "tried", scheme, {}) is not None
        told[file] = (len(clear), at_once, repaired, fails)
    return told


def measure(long: bool) -> list[Measured]:
    """How many of those found clear pass every rule as they are; told, and none may be refused."""
    found = []
    for file, (clear, at_once, repaired, fails) in shares(48 if long else 12).items():
        why = ", ".join(f"{check} {count}" for check, count in fails.most_common())
        note = f"{at_once} of {clear} as found, {repaired} repaired{f'; {why}' if why else ''}"
        found.append(Measured(f"found layouts that pass every rule, {file}", "", None, note=note))
    return found


def main() -> None:
    """Print the shares."""
    for file, (clear, at_once, repaired, fails) in shares().items():
        why = ", ".join(f"{check} {count}" for check, count in fails.most_common())
        print(f"{file:12} clear {clear:3}  pass {at_once:3}  after repair {repaired:3}   {why}")


if __name__ == "__main__":
    main()
