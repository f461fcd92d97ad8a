"""Keep the README's shown output true: `python -m tests.readme` renews it.

A block after `<!-- output: massing ... -->` holds what that command prints.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
_BLOCK = re.compile(
    r"(<!-- output: massing (?P<args>.*?) -->\n```text\n)(?P<shown>.*?)(```)", re.DOTALL
)


def printed(args: str) -> str:
    """What `massing ARGS` prints, run from the repository's root."""
    command = [sys.executable, "-m", "massing", *shlex.split(args)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


def filled(text: str) -> str:
    """The text with every shown output as it is today."""
    return _BLOCK.sub(lambda m: f"{m[1]}{printed(m['args'])}{m[4]}", text)


if __name__ == "__main__":
    README.write_text(filled(README.read_text()))
