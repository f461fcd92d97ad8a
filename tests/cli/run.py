"""The command run as a person runs it: in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

__all__ = ["BOATHOUSE", "COMMAND", "ROOT", "environment", "massing"]

ROOT = Path(__file__).resolve().parents[2]
BOATHOUSE = ROOT / "examples" / "boathouse.yaml"
COMMAND = [sys.executable, "-m", "massing"]


def environment(**more: str) -> dict[str, str]:
    """The surroundings of a test run, where the package is found from any folder."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **more}


def massing(
    *args: str | Path, cwd: Path | None = None, **more: str
) -> subprocess.CompletedProcess[str]:
    """What `massing` answered: its status, output and complaints."""
    return subprocess.run(
        [*COMMAND, *map(str, args)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="surrogateescape",
        cwd=cwd,
        env=environment(**more),
        timeout=120,
        check=False,
    )
