"""The code is formatted, linted and typed: the same commands a contributor runs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def _run(*command: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


@pytest.mark.parametrize(
    "command",
    [("ruff", "format", "--check", "."), ("ruff", "check", "."), ("mypy",)],
    ids=["format", "lint", "types"],
)
def test_the_house_is_in_order(command):
    """Nothing to say."""
    assert _run(*command) == ""
