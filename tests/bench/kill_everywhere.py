"""Kills every command that writes, at every point of its writing; fills the disk at many sizes.

Run: ``python -m tests.bench.kill_everywhere`` from the repository's folder, with names of
``tests.faults.test_killed.COMMANDS`` after it to try only those. It ends with 1 when a file was
found that is neither the old one nor the new.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.faults.test_killed import COMMANDS, stopped_everywhere


def main(names: list[str]) -> int:
    """Try each; print its points and what was broken."""
    broken = 0
    for name in names or list(COMMANDS):
        args, imports = COMMANDS[name]
        with tempfile.TemporaryDirectory() as folder:
            told = stopped_everywhere(args, Path(folder) / "w", imports=imports, every=True)
        told["broken"] += [] if told["outputs"] else ["nothing was written"]
        sys.stdout.write(f"{name}: {len(told['points'])} points, {len(told['outputs'])} files\n")
        sys.stdout.writelines(f"  {said}\n" for said in told["broken"])
        broken += len(told["broken"])
    return broken


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]) > 0)
