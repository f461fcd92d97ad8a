"""Small rooms to arrange, as text."""

from __future__ import annotations

from massing.project.project import Project
from massing.project.read import parse_project

__all__ = ["project"]

_HEAD = """\
massing: 1
project: A small room
room:
  size: {size}
  ceiling: [{ceiling}]
  floor: [{floor}]
  doors: [{doors}]
items:
{items}
schemes:
  as found:
{placed}
"""

DOOR = "{name: entry, wall: west, along: 600, leaf: 762 x 1981, hinge: left, opens: in}"


def project(
    items: dict[str, str],
    placed: list[str],
    *,
    size: str = "3000 x 2400",
    ceiling: str = "{flat: 2400}",
    floor: str = "{level: 0}",
    doors: str = DOOR,
) -> Project:
    """A project of one scheme, from lines of YAML."""
    text = _HEAD.format(
        size=size,
        ceiling=ceiling,
        floor=floor,
        doors=doors,
        items="\n".join(f"  {name}: {{{words}}}" for name, words in items.items()),
        placed="\n".join(f"    - {{{words}}}" for words in placed),
    )
    return parse_project(text)
