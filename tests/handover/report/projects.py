"""Projects the report's tests share, as text and as checked answers."""

from __future__ import annotations

import textwrap
from functools import cache
from pathlib import Path

from massing.checks.run import Answer, check_scheme
from massing.handover.report.page import report_page
from massing.project.project import Project
from massing.project.read import read_project
from tests.zoo import ROOMS

ROOT = Path(__file__).resolve().parents[3]
BOATHOUSE = ROOT / "examples" / "boathouse.yaml"

PARTED = """
massing: 1
project: Parted store
room:
  size: 3000 x 2400
  ceiling: [{slopes: {south: %(south)s, north: %(north)s}}]
items:
  crate stack: {body: 400 x 400 x 600, weight: 12}
schemes:
  parted:
    partitions:
      - {name: store wall, %(made)s, from: {wall: %(one)s, along: 1500}, to: {wall: %(other)s, along: 1500}%(more)s}
    add: [{item: crate stack, at: [100, 100]}]
"""  # noqa: E501

NASTY = """
massing: 1
project: '</title><script>window.pwned = 1</script> "Küche" & <b>洗衣</b> ''q'''
room: {size: 2400 x 2000, ceiling: [{flat: 2300}]}
items:
  '</script><script>window.pwned = 2</script>': {body: 600 x 600 x 900, weight: 20}
  '"><img src=x onerror="window.pwned = 3">': {body: 500 x 500 x 800}
  'Ünï ☂ çôdé <!-- --> ${x} {{y}}': {body: 300 x 300 x 400}
schemes:
  '<svg onload=window.pwned=4>':
    says: '</style><style>*{display:none}</style>'
    add:
      - {item: '</script><script>window.pwned = 2</script>', at: [100, 100]}
      - {item: '"><img src=x onerror="window.pwned = 3">', at: [300, 300]}
      - {item: 'Ünï ☂ çôdé <!-- --> ${x} {{y}}', at: [1500, 1000]}
"""


def zoo(name: str) -> str:
    """A named room with two boxes askew in it, one of them hung in the air."""
    room = textwrap.indent(textwrap.dedent(ROOMS[name]).strip("\n"), "  ")
    room = room.replace("corrugated, lined", "corrugated on rails, lined")
    return (
        f"massing: 1\nproject: {name}\nroom:\n{room}\n"
        "items:\n  box: {body: 700 x 500 x 900, zone: {front: 700}, weight: 20}\n"
        "schemes:\n  boxes:\n    - {item: box, at: [500, 500], turn: 30}\n"
        "    - {item: box, name: second, at: [800, 700, 1500]}\n"
    )


def parted(
    *,
    south: float = 1950,
    north: float = 2750,
    made: str = "build-up: stud 63",
    ends: tuple[str, str] = ("south", "north"),
    more: str = "",
) -> str:
    """A room with one stud wall across it, up the slope."""
    told = {"south": south, "north": north, "made": made, "one": ends[0], "other": ends[1]}
    return PARTED % {**told, "more": more}


def read(text: str, folder: Path) -> Project:
    path = folder / "project.yaml"
    path.write_text(text, encoding="utf-8")
    return read_project(path)


@cache
def boathouse(scheme: str) -> Answer:
    return check_scheme(read_project(BOATHOUSE), scheme)


@cache
def boathouse_page(scheme: str = "first try") -> str:
    before = None if scheme == "as found" else boathouse("as found")
    return report_page(boathouse(scheme), before)
