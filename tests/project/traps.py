"""Texts with a marked slip, and the faults they must give.

In the texts « stands just before the place a fault must point to, and is taken out before the
text is read.
"""

from __future__ import annotations

import pytest

from massing.errors import InputError
from massing.project.read import parse_project

__all__ = ["HEAD", "LENGTH", "ROOM", "SIZED", "assert_faults", "one", "scheme"]

HEAD = """massing: 1
project: p
room:
  size: 4000 x 3000
  ceiling: [{flat: 2400}]
  doors:
    - {name: entry, wall: west, along: 700, leaf: 762 x 1981 x 44}
    - {name: hatch, wall: east, along: 700, opening: 800 x 1800, kind: open}
  windows:
    - {name: light, wall: south, along: 700, size: 900 x 700, sill: 1000}
items:
  crate: {body: 600 x 400 x 500}
schemes:
"""
ROOM = "massing: 1\nproject: p\nroom:\n"
SIZED = "  size: 4000 x 3000\n  ceiling: [{flat: 2400}]\n"
LENGTH = "is not a length; write 2400, 2.4 m or 7 ft 10 in"


def assert_faults(text: str, *says: str) -> None:
    """The text has exactly these faults, at the marked places, in file order."""
    places = []
    plain = ""
    for piece in text.split("«"):
        plain += piece
        line = plain.count("\n") + 1
        places.append((line, len(plain) - plain.rfind("\n")))
    with pytest.raises(InputError) as caught:
        parse_project(plain, "a.yaml")
    found = caught.value.faults
    told = [f"{f.says} (did you mean '{f.hint}'?)" if f.hint else f.says for f in found]
    assert told == list(says)
    assert [(f.mark.line, f.mark.column) for f in found] == places[:-1]


def scheme(*lines: str) -> str:
    return HEAD + "\n".join(lines) + "\n"


def one(line: str) -> str:
    return scheme("  only:", f"    - {line}")
