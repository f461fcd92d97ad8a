"""The page as paper: HTML in, PDF bytes out, printed by a browser of the machine's own."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from massing.errors import MissingToolError

__all__ = ["browser", "printed"]

_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
_MOMENT = re.compile(rb"/(?:CreationDate|ModDate) ?\(D:[0-9]{14}[^()]{0,10}\)")
_NODE = re.compile(rb"\(node([0-9]{8})\)")
"""How a browser names the parts of a page it has tagged; it goes on counting from page to page."""
_WAIT = 90.0
"""Seconds a browser is given."""


def browser() -> str | None:
    """Path of a browser that can print without a window, or None.

    The environment variable MASSING_BROWSER names one that is not on the path.
    """
    asked = os.environ.get("MASSING_BROWSER")
    names = (asked,) if asked else _NAMES
    return next((found for name in names if (found := shutil.which(name))), None)


def printed(page: str) -> bytes:
    """The page as a PDF.

    Raises MissingToolError where there is no browser, or it does not print.
    """
    program = browser()
    if program is None:
        raise MissingToolError(
            "no Chromium found to print a PDF with; install one, name it in MASSING_BROWSER, or "
            "open the HTML report in any browser and print it from there"
        )
    with tempfile.TemporaryDirectory(prefix="massing-") as name:
        folder = Path(name)
        source, target = folder / "report.html", folder / "report.pdf"
        source.write_text(page, encoding="utf-8")
        # Nothing of the user's own browser is used, and no network is asked for.
        command = [
            program,
            "--headless",
            "--disable-gpu",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            f"--user-data-dir={folder / 'profile'}",
            "--no-pdf-header-footer",
            f"--print-to-pdf={target}",
            source.as_uri(),
        ]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            command.insert(1, "--no-sandbox")  # it refuses to run as root otherwise
        try:
            done = subprocess.run(command, capture_output=True, timeout=_WAIT, check=False)  # noqa: S603
        except subprocess.TimeoutExpired:
            raise MissingToolError(f"{program} did not print within {_WAIT:.0f} s") from None
        if not target.is_file():
            told = done.stderr.decode("utf-8", "replace").strip().splitlines()
            raise MissingToolError(f"{program} did not print: {told[-1] if told else 'no reason'}")
        return _same_each_time(target.read_bytes())


def _same_each_time(paper: bytes) -> bytes:
    """The same page as the same bytes: no moment it was printed, its parts numbered from 1.

    Everything keeps its length, for a PDF says where each part begins by counting bytes.

    >>> _same_each_time(b"<</CreationDate (D:20260101120000+00'00')>> (node00000234)").split()
    [b'<<', b'>>', b'(node00000001)']
    """
    undated = _MOMENT.sub(lambda found: b" " * len(found.group()), paper)
    before = min((int(found.group(1)) for found in _NODE.finditer(undated)), default=1) - 1
    return _NODE.sub(lambda found: b"(node%08d)" % (int(found.group(1)) - before), undated)
