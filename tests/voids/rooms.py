"""Small projects for the tests of unused space: placements or boxes in, projects out."""

from __future__ import annotations

from pathlib import Path

from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

Place = tuple[float, ...]


def project_of(body: str, room: str = "size: 4000 x 3000\nceiling: [{flat: 2400}]") -> Project:
    """A project in a room given as the inside of ``room:``."""
    inside = "".join(f"  {line}\n" for line in room.splitlines())
    return parse_project(f"massing: 1\nproject: try\nroom:\n{inside}{body}")


def boxes(*places: Place, room: str = "size: 4000 x 3000\nceiling: [{flat: 2400}]") -> Project:
    """A project of one scheme of boxes, each by its least corner and size."""
    if not places:
        return project_of("schemes: {one: []}", room)
    items = "".join(
        f"  box {k}: {{body: {w} x {d} x {h}}}\n" for k, (_, _, _, w, d, h) in enumerate(places)
    )
    rows = "".join(
        f"    - {{item: box {k}, at: [{x}, {y}, {z}]}}\n" for k, (x, y, z, *_) in enumerate(places)
    )
    return project_of(f"items:\n{items}schemes:\n  one:\n{rows}", room)


def laid(project: Project, scheme: str | None = None) -> Layout:
    """A scheme of a project in the nominal world."""
    return place(project, scheme, Values())
