"""Keep what the pages show true: `python -m tests.pages` renews it.

The pages are the README and those in `examples/`. They are read from the top as a reader would
do them, each in an empty folder that holds only `examples` and `exports`:

- a block after `<!-- file: NAME -->` is written to that file, and after `<!-- adds to: NAME -->`
  to its end;
- a block after `<!-- output: massing ... -->` holds what that command prints. With `| N lines` at
  the end it holds its first N lines only, and with `| from WORDS, N lines` N lines from the first
  that starts with those words.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
PAGES = (README, *sorted((ROOT / "examples").glob("*.md")))
_BLOCK = re.compile(
    r"<!-- (?P<what>file|adds to|output): (?P<words>.*?) -->\n```(?P<kind>\w*)\n(?P<shown>.*?)```",
    re.DOTALL,
)
_PART = re.compile(r"^(?P<args>.*?)(?: \| (?:from (?P<start>.*?), )?(?P<count>\d+) lines?)?$")


def printed(words: str, folder: Path) -> str:
    """What `massing ...` prints in a folder, or the lines of it asked for.

    Raises ValueError when no line starts with the words given.
    """
    asked = _PART.match(words)
    assert asked
    command = [sys.executable, "-m", "massing", *shlex.split(asked["args"])[1:]]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    lines = (done.stdout + done.stderr).splitlines(keepends=True)
    if not asked["count"]:
        return "".join(lines)
    at = 0
    if asked["start"]:
        found = [i for i, line in enumerate(lines) if line.lstrip().startswith(asked["start"])]
        if not found:
            raise ValueError(f"no line of `{asked['args']}` starts with {asked['start']!r}")
        at = found[0]
    return "".join(lines[at : at + int(asked["count"])])


def filled(text: str) -> str:
    """A page with every shown output as it is today."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        for name in ("examples", "exports"):
            (folder / name).symlink_to(ROOT / name)
        return "".join(_pieces(text, folder))


def _pieces(text: str, folder: Path) -> Iterator[str]:
    """The text in pieces, in order, files written and commands run on the way."""
    done = 0
    for block in _BLOCK.finditer(text):
        shown = block["shown"]
        if block["what"] == "output":
            shown = printed(block["words"], folder)
        else:
            with (folder / block["words"]).open("w" if block["what"] == "file" else "a") as file:
                file.write(shown)
        yield text[done : block.start("shown")] + shown
        done = block.end("shown")
    yield text[done:]


if __name__ == "__main__":
    for page in PAGES:
        page.write_text(filled(page.read_text()))
