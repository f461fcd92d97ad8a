"""Where might a stud wall stand? A model and a project that allows some in, walls and words out.

Walls run square to a wall of the room and end free, or reach the far wall with an opening kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from massing.arrange.model import Model
from massing.arrange.polish import Words
from massing.checks.leaves import leaf_sweep
from massing.checks.openings import opening_way
from massing.geometry.offset import offset_by
from massing.geometry.outline import outline_of
from massing.geometry.solids import Floats
from massing.project.file import NewPartitionsSpec
from massing.project.project import Project
from massing.project.read import thickness_of
from massing.room.shape import Room, Wall
from massing.scheme.layout import Layout

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "GRID",
    "SHORTEST",
    "Site",
    "Stud",
    "shifted",
    "site_of",
    "some_studs",
    "stud_words",
    "studs_say",
    "taken",
]

GRID = 50.0  # mm
SHORTEST, _WAY = 600.0, 800.0  # mm, of a partition and of the opening kept beside or in it
_HEAD = 1981.0  # mm, height of an opening kept, as stock doors are


@dataclass(frozen=True, slots=True)
class Stud:
    """One wall that might be put up.

    wall : number of the room's wall it starts from, and how far along that its middle is
    length : mm, None to reach the far wall; opening : then where its opening begins
    """

    wall: int
    along: float
    length: float | None
    opening: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """Where walls may go: the room as it is, and the floor no wall may stand on."""

    project: Project
    allowed: NewPartitionsSpec
    said: tuple[str, Words]
    layout: Layout
    thickness: float
    kept: BaseGeometry

    @property
    def room(self) -> Room:
        """The room as it is."""
        return self.layout.room


def site_of(model: Model, said: tuple[str, Words]) -> Site | None:
    """Where walls may go in a scheme; None where the project allows none.

    said : the scheme to inherit from, and what to say beside the walls
    """
    allowed = model.project.arrange.partitions
    if allowed is None:
        return None
    thickness = allowed.thickness or thickness_of(str(allowed.build_up))
    kept = _kept_floor(model)
    return Site(model.project, allowed, said, model.layout, float(thickness), kept)


def _kept_floor(model: Model) -> BaseGeometry:
    """Floor no wall may stand on: what stays and its zones, ways through doors, leaves, glass."""
    from shapely import Polygon, union_all

    layout, rules = model.layout, model.rules
    rings: list[Floats] = []
    for item in layout.items:
        if item.stays:
            rings += [outline_of(part.solid)[0] for part in item.parts]
            rings += [zone.polygon[0] for zone in item.zones]
    rings += [outline_of(part)[0] for fabric in layout.room.fabric for part in fabric.parts]
    for opening in layout.room.openings:
        depth = rules.doorway if opening.kind == "door" else rules.window
        rings += [outline_of(s)[0] for s in opening_way(layout.room, opening, depth).solids]
    rings += [outline_of(leaf_sweep(leaf))[0] for leaf in layout.leaves if leaf.opens == "in"]
    return union_all([Polygon(ring).buffer(0) for ring in rings])


def some_studs(site: Site, rng: np.random.Generator, count: int) -> Iterator[Stud]:
    """Walls at random, each possible by itself."""
    walls = [k for k, wall in enumerate(site.room.walls) if not wall.partition]
    found = 0
    for _ in range(40 * count):
        number = walls[int(rng.integers(len(walls)))]
        wall = site.room.walls[number]
        along = _on_grid(rng.uniform(0.0, float(wall.length[0])))
        reach = _reach(site.room, wall, along)
        if reach is None:
            continue
        across, most = bool(rng.random() < 0.25), reach - _WAY
        if most < SHORTEST:
            continue
        if across:
            begins = rng.choice([0.0, rng.uniform(0.0, most), most])
            stud = Stud(number, along, None, _on_grid(float(begins)))
        else:
            stud = Stud(number, along, _on_grid(rng.uniform(SHORTEST, most)))
        if _possible(site, stud):
            found += 1
            yield stud
        if found == count:
            return


def _on_grid(size: float) -> float:
    return float(round(size / GRID)) * GRID


def _reach(room: Room, wall: Wall, along: float) -> float | None:
    """How far it is straight across the room from a place on a wall; None outside the wall."""
    from shapely import LineString, Polygon, get_parts

    if not 0.0 < along < float(wall.length[0]):
        return None
    start = wall.left[0] + along * wall.along[0]
    line = LineString([start - 0.01 * wall.outward[0], start - 1e5 * wall.outward[0]])
    inside = line.intersection(Polygon(room.outline[0]))
    first = get_parts(inside)[0]
    return float(first.length) if first.length > 0 else None


def _line(site: Site, stud: Stud) -> tuple[Floats, Floats] | None:
    """Ends of its middle line; None where there is no room for it."""
    wall = site.room.walls[stud.wall]
    reach = _reach(site.room, wall, stud.along)
    if reach is None or (stud.length is not None and stud.length > reach - _WAY):
        return None
    if stud.length is None and not 0.0 <= stud.opening <= reach - _WAY:
        return None
    start = wall.left[0] + stud.along * wall.along[0]
    return start, start - (reach if stud.length is None else stud.length) * wall.outward[0]


def _possible(site: Site, stud: Stud) -> bool:
    """Whether a wall stands clear of the floor that is kept and not all but along another wall."""
    from shapely import LineString, Polygon

    ends = _line(site, stud)
    if ends is None:
        return False
    start, end = ends
    solid: BaseGeometry = LineString([start, end])
    if stud.length is None:
        way = (end - start) / np.linalg.norm(end - start)
        gap = [start + stud.opening * way, start + (stud.opening + _WAY) * way]
        solid = solid.difference(offset_by(LineString(gap), 0.01))
    grown = offset_by(solid, site.thickness / 2.0, cap_style="flat")
    if grown.is_empty or grown.intersection(site.kept).area > 1.0:
        return False
    # Nothing anyone walks or keeps things in is left between it and a wall beside it.
    beside = offset_by(LineString([start, end]), site.thickness / 2.0 + 300.0, cap_style="flat")
    return bool(beside.difference(Polygon(site.room.outline[0])).area < 1.0 + 300.0 * 20.0)


def shifted(site: Site, rng: np.random.Generator, studs: tuple[Stud, ...]) -> tuple[Stud, ...]:
    """The same walls with one a little elsewhere, longer or shorter."""
    for _ in range(20):
        k = int(rng.integers(len(studs)))
        by = _on_grid(float(rng.normal(0.0, 200.0)))
        stud = studs[k]
        if rng.random() < 0.5:
            stud = replace(stud, along=stud.along + by)
        elif stud.length is not None:
            stud = replace(stud, length=max(stud.length + by, SHORTEST))
        else:
            stud = replace(stud, opening=max(stud.opening + by, 0.0))
        if stud != studs[k] and _possible(site, stud):
            return (*studs[:k], stud, *studs[k + 1 :])
    return studs


def taken(site: Site, stud: Stud) -> float:
    """Floor a wall stands on, m²."""
    ends = _line(site, stud)
    if ends is None:
        return 0.0
    run = float(np.linalg.norm(ends[1] - ends[0])) - (_WAY if stud.length is None else 0.0)
    return run * site.thickness / 1e6


def stud_words(site: Site, stud: Stud, number: int) -> Words:
    """A wall as a scheme writes it; empty where there is no room for it."""
    ends = _line(site, stud)
    if ends is None:
        return {}
    wall = site.room.walls[stud.wall]
    name = _free_name(site.room, number)
    words: Words = {"name": name}
    if site.allowed.build_up is not None:
        words["build-up"] = str(site.allowed.build_up)
    else:
        words["thickness"] = site.thickness
    words["from"] = {"wall": wall.name, "along": stud.along}
    if stud.length is not None:
        words["to"] = [round(float(v), 1) + 0.0 for v in ends[1]]
        return words
    far = _far_wall(site.room, ends[1])
    if far is None:
        return {}
    words["to"] = far
    size = f"{_WAY:g} x {_HEAD:g}"
    opening = {"name": f"way through {name}", "along": stud.opening, "opening": size}
    words["openings"] = [{**opening, "kind": "open"}]
    return words


def _free_name(room: Room, number: int) -> str:
    """The number-th name no part of the room has."""
    taken = {fabric.name for fabric in room.fabric}
    free = (name for k in range(1, 99) if (name := f"partition {k}") not in taken)
    return [name for _, name in zip(range(number), free, strict=False)][-1]


def _far_wall(room: Room, end: Floats) -> dict[str, Any] | None:
    """The wall a point is on, and how far along."""
    for wall in room.walls:
        along = float((end - wall.left[0]) @ wall.along[0])
        off = abs(float((end - wall.left[0]) @ wall.outward[0]))
        if not wall.partition and off < 1.0 and 0.0 <= along <= float(wall.length[0]):
            return {"wall": wall.name, "along": round(along, 1)}
    return None


def studs_say(site: Site, studs: tuple[Stud, ...]) -> str:
    """The walls in words, for the line of an answer."""
    told = []
    for stud in studs:
        wall = site.room.walls[stud.wall].name
        size = "right across" if stud.length is None else f"{stud.length:.0f} long"
        told.append(f"{size} from the {wall} wall {stud.along:.0f} along it")
    kind = "a partition" if len(told) == 1 else "partitions"
    return f"with {kind} {' and '.join(told)}"
