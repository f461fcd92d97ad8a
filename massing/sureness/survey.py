"""How well is the room known? A project in, each wall's sizes with their ± and every check out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from massing.checks.verdicts import extreme_shifts
from massing.geometry.polygons import line_through, meet
from massing.geometry.solids import Floats
from massing.project.project import Project
from massing.project.read import thickness_of
from massing.room.build import build_room
from massing.room.shape import Room
from massing.scheme.sizes import default_half_width_of
from massing.survey.surveyed import Surveyed
from massing.survey.values import Measure, Values

__all__ = ["Known", "SurveyReport", "WallSizes", "survey_room"]


@dataclass(frozen=True, slots=True)
class Known:
    """A size and how well it is known, mm.

    worst : the ± with every error at its limit and the same way; likely : root-sum-square
    """

    nominal: float
    worst: float
    likely: float


@dataclass(frozen=True, slots=True)
class WallSizes:
    """A wall as known from the survey.

    source : measured, derived or guessed; by : how its own length was measured, if it was
    outside : None where a thickness it needs is not said
    hangs_on : keys of the measures its inside length depends on, the weightiest first
    """

    name: str
    source: str
    by: str | None
    inside: Known
    outside: Known | None
    thickness: Known | None
    hangs_on: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SurveyReport:
    """Everything the measurements of a room say of it and of one another."""

    walls: tuple[WallSizes, ...]
    surveys: tuple[Surveyed, ...]
    measures: tuple[Measure, ...]

    @property
    def spare(self) -> int:
        """How many measurements there are beyond those needed."""
        return sum(survey.adjustment.freedom for survey in self.surveys)


def survey_room(project: Project) -> SurveyReport:
    """The survey of a project's room.

    Raises InputError where the room cannot be built.
    """
    sizes = Values(default=default_half_width_of(project))
    room = build_room(project.room, sizes, thickness_of)
    measures = sizes.measures
    worlds = room
    if measures:
        shifted = Values.shifted(measures, extreme_shifts(measures))
        worlds = build_room(project.room, shifted, thickness_of)
    outer = _outer_corners(worlds)
    walls = tuple(_wall(worlds, k, outer, measures) for k in range(worlds.outline.shape[1]))
    return SurveyReport(walls, room.surveys, measures)


def _wall(
    worlds: Room, number: int, outer: tuple[Floats, tuple[bool, ...]], measures: tuple[Measure, ...]
) -> WallSizes:
    wall = worlds.walls[number]
    corners, told = outer
    count = corners.shape[1]
    after = (number + 1) % count
    outside = None
    if told[number] and told[number - 1] and told[after]:
        outside = _known(np.linalg.norm(corners[:, after] - corners[:, number], axis=1))
    share = _shares(wall.length)
    order = sorted(range(len(share)), key=lambda k: (-abs(round(float(share[k]), 6)), k))
    hangs = tuple(measures[k].key for k in order if abs(float(share[k])) > 1e-6)
    return WallSizes(
        name=wall.name,
        source=wall.provenance,
        by=_method(wall.name, worlds.surveys, measures),
        inside=_known(wall.length),
        outside=outside,
        thickness=_known(wall.thickness) if told[number] else None,
        hangs_on=hangs,
    )


def _method(name: str, surveys: tuple[Surveyed, ...], measures: tuple[Measure, ...]) -> str | None:
    """How a wall's own length was measured, from its survey or from the sizes it was given by."""
    for survey in surveys:
        for held in survey.observations:
            if held.name in {f"the {name} wall", name}:
                return held.method
    axis = {"south": 0, "north": 0, "east": 1, "west": 1}.get(name)
    for measure in measures:
        if axis is not None and measure.key == f"room.size[{axis}]":
            return measure.method
    return None


def _shares(sizes: Floats) -> Floats:
    """(m,) how far each measure's half-width moves a size over the extreme worlds, signed."""
    sides = np.asarray(sizes[1:]).reshape(-1, 2)
    return np.asarray((sides[:, 1] - sides[:, 0]) / 2.0)


def _known(sizes: Floats) -> Known:
    share = np.abs(_shares(sizes))
    worst, likely = float(share.sum()), math.hypot(*share.tolist())
    return Known(float(sizes[0]), worst, likely)


def _outer_corners(room: Room) -> tuple[Floats, tuple[bool, ...]]:
    """(worlds, n, 2) corners of the outside faces, and which walls' thickness is said."""
    count = room.outline.shape[1]
    walls = room.walls[:count]
    lines = []
    for k, wall in enumerate(walls):
        line = line_through(room.outline[:, k], room.outline[:, (k + 1) % count])
        line[:, 2] += wall.thickness
        lines.append(line)
    corners = np.empty_like(room.outline)
    for k in range(count):
        one, other = lines[k - 1], lines[k]
        if abs(float(one[0, 0] * other[0, 1] - one[0, 1] * other[0, 0])) > 1e-6:
            corners[:, k] = meet(one, other)
        else:
            corners[:, k] = room.outline[:, k] - walls[k].thickness[:, None] * other[:, :2]
    return corners, tuple(bool(wall.thickness[0] > 0) for wall in walls)
