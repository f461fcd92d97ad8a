"""Tests for massing.voids.where_hung: where a thing can hang from the ceiling."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner
from shapely import Point

from massing.checks.rules import rules_of
from massing.cli.where_command import command
from massing.project.project import Project
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.trial import added, conflicts_with, standing_conflicts
from massing.voids.where_free import where_up_walls
from massing.voids.where_hung import HungMap, where_under_ceiling
from tests.voids.rooms import EXAMPLES, project_of

FLAT = "size: 4000 x 3000\nceiling: [{flat: 2400}]"
SLOPED = "size: 4000 x 3000\nceiling: [{slopes: {south: 1500, north: 3000}}]"
GABLE = (
    "size: 4000 x 3000\nceiling: "
    "[{ridge: {along: x, at: 1500, height: 3000}, eaves: {south: 1500, north: 1500}}]"
)
STEPPED = (
    "size: 4000 x 3000\nceiling: [{flat: 3000}, {from: west, depth: 2000, flat: 2400, lowers: yes}]"
)
STRIP = 40.0  # mm
EDGE = 1.0  # mm; a place this near to the edge of a region is not asked about


def rail(scheme: str, room: str) -> Project:
    """A rail of 1000 x 400 x 300 to hang somewhere, among posts."""
    return project_of(
        "items:\n  rail: {body: 1000 x 400 x 300, mount: ceiling, weight: 5}\n"
        f"  post: {{body: 200 x 200 x 2200}}\nschemes: {{one: [{scheme}]}}\n",
        room,
    )


def maps(project: Project, scheme: str = "one", item: str = "rail") -> dict[float, HungMap]:
    return {found.plan.turn: found for found in where_under_ceiling(project, scheme, item)}


def test_under_a_flat_ceiling_it_is_the_room_less_its_size():
    found = maps(rail("", FLAT))
    assert sorted(found) == [0.0, 90.0, 180.0, 270.0]
    assert found[0.0].plan.body.area == pytest.approx(3000 * 2600, rel=1e-9)
    assert found[90.0].plan.body.area == pytest.approx(3600 * 2000, rel=1e-9)
    assert found[0.0].undersides == pytest.approx((2100, 2100))


def test_under_a_slope_it_rises_as_it_is_moved():
    """1500 up over 3000: its underside is 300 under the ceiling over its lower long side."""
    found = maps(rail("", SLOPED))[0.0]
    assert found.plan.body.area == pytest.approx(3000 * 2600, rel=1e-9)
    assert found.undersides is not None
    low, high = found.plan.clear.bounds[1], found.plan.clear.bounds[3]
    says = [1500 + (y - 200) / 2 - 300 for y in (low, high)]
    assert found.undersides == pytest.approx(says)
    assert found.spot_over == pytest.approx(found.spot_underside)


def test_across_a_ridge_it_hangs_under_the_lower_end():
    """A ridge along x at y 1500: the rail may be across it, and is highest over the middle."""
    found = maps(rail("", GABLE))[0.0]
    assert found.plan.body.area == pytest.approx(3000 * 2600, rel=1e-9)
    assert found.undersides is not None
    assert found.undersides[1] == pytest.approx(3000 - 200 - 300)


def test_at_a_step_of_the_ceiling_it_is_under_one_level_or_the_other():
    found = maps(rail("", STEPPED))[0.0]
    assert found.plan.body.area == pytest.approx((1000 + 1000) * 2600, rel=1e-9)
    assert found.undersides == pytest.approx((2100, 2700))


@pytest.mark.parametrize("room", [FLAT, SLOPED, GABLE, STEPPED])
def test_a_place_is_clear_when_the_thing_put_there_is(room: str):
    """Against placing the thing itself at random and asking every check."""
    posts = "{item: post, at: [900, 700]}, {item: post, centre: [2600, 1900], turn: 30}"
    project = rail(posts, room)
    base, rules = place(project, "one", Values()), rules_of(project)
    known = standing_conflicts(base, rules)
    rng = np.random.default_rng(5)
    asked, clear = 0, 0
    for turn, found in maps(project).items():
        for x, y in rng.uniform([250, 250], [3750, 2750], (8, 2)).tolist():
            edge = found.plan.clear.boundary.distance(Point(x, y)) if found.plan.clear else 9.0
            across = room == STEPPED and abs(x - 2000) < 500
            if edge < EDGE or across:
                continue
            words = {"item": "rail", "centre": [x, y], "turn": turn}
            trial = added(project, "one", words, base)
            wrong = conflicts_with(trial.layout, trial.rules, trial.name, known)
            inside = found.plan.clear.contains(Point(x, y))
            says = (turn, x, y, [reading.detail().says for reading in wrong])
            # Under a slope a strip of a square where height decides may be left out.
            assert inside is (not wrong) or (not wrong and edge < STRIP), says
            clear, asked = clear + inside, asked + 1
    assert asked > 12
    assert clear > 3


def test_what_stands_has_no_such_map():
    assert where_under_ceiling(rail("", FLAT), "one", "post") == ()


def test_heights_count_from_the_floor_under_it():
    """A step of 200 in the floor: its height above the floor is told beside its z."""
    room = FLAT + "\nfloor: [{level: 0}, {from: east, depth: 2000, level: 200}]"
    project = project_of(
        "items:\n  shelf: {body: 800 x 200 x 300, mount: wall, weight: 4}\n"
        "schemes: {one: [{item: shelf, against: north, along: 0, height: 1000}]}\n",
        room,
    )
    found = {m.wall: m for m in where_up_walls(project, "one", "shelf")}
    for wall, level in (("west", 0.0), ("east", 200.0)):
        one = found[wall]
        assert one.heights is not None
        assert one.over is not None
        assert one.heights[1] - one.over[1] == pytest.approx(level)
        assert one.spot is not None
        assert one.spot[1] - one.spot_over == pytest.approx(level)


def test_the_command_tells_it():
    path = str(EXAMPLES / "loft.yaml")
    told = CliRunner().invoke(command, [path, "long airer"])
    assert "under the ceiling" in told.output, told.output
    plain = json.loads(CliRunner().invoke(command, [path, "long airer", "--format", "json"]).output)
    assert {row["facing"] for row in plain["hung"]} == {"south", "east", "north", "west"}
    assert plain["floor"] == []
