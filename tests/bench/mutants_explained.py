"""Planted changes that make no difference, and why: a mistake in, the reason to let it be out.

The reasons stand in ``mutants_explained.json``: for each module rows of the source line, what
the change makes of it, and why no test can or should tell the two apart. Lines are known by
their words and not by their number, so that a row holds until its own line is edited.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Protocol

__all__ = ["both_lines", "reasons", "stale"]

LIST = Path(__file__).with_name("mutants_explained.json")


class Planted(Protocol):
    """As much of a mistake as is needed here."""

    module: str
    start: int
    stop: int
    now: str


def both_lines(text: str, mistake: Planted) -> tuple[str, str]:
    """The line a mistake stands on, as it is and as the mistake leaves it; blanks made one."""
    raw = text.encode()
    head = raw.rfind(b"\n", 0, mistake.start) + 1
    end = raw.find(b"\n", mistake.stop)
    tail = raw[mistake.stop : end if end >= 0 else len(raw)]
    after = raw[head : mistake.start] + mistake.now.encode() + tail
    before = raw[head : mistake.start] + raw[mistake.start : mistake.stop] + tail
    return " ".join(before.decode().split()), " ".join(after.decode().split())


def reasons() -> dict[tuple[str, str, str], str]:
    """Why each known change is let be, by module, line and what becomes of it."""
    rows = json.loads(LIST.read_text(encoding="utf-8"))
    return {(module, *row[:2]): row[2] for module, each in rows.items() for row in each}


def stale(every: Iterable[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    """Rows whose change can no longer be planted, of the modules that ``every`` has changes of."""
    able = set(every)
    modules = {module for module, _, _ in able}
    return [key for key in reasons() if key[0] in modules and key not in able]
