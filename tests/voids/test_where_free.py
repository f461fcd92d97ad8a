"""Tests for massing.voids.where_free: the floor a thing can stand on, and how high it can hang."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from shapely import Point

from massing.checks.rules import rules_of
from massing.cli.where_command import command
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import hull, prism
from massing.project.project import Project
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.meeting import overlap_moves
from massing.voids.trial import added, conflicts_with, standing_conflicts
from massing.voids.where_free import FloorMap, where_on_floor, where_up_walls
from tests.bench.voids_against_placing import random_project
from tests.voids.rooms import EXAMPLES, project_of

SLOPED = "size: 4000 x 3000\nceiling: [{slopes: {south: 500, north: 2600}}]"


def case(scheme: str, extra: str = "", room: str = "size: 4000 x 3000\nceiling: [{flat: 2400}]"):
    """A case of 1000 x 500 x 900 to stand somewhere in a room of 4000 x 3000."""
    return project_of(
        f"items:\n  case: {{body: 1000 x 500 x 900{extra}}}\n  post: {{body: 100 x 100 x 2000}}\n"
        f"  bar: {{body: 1000 x 100 x 1000}}\nschemes: {{one: [{scheme}]}}\n",
        room,
    )


def maps(project: Project) -> dict[float, FloorMap]:
    return {found.turn: found for found in where_on_floor(project, "one", "case")}


def test_an_empty_room():
    """The room less the thing's own size, for its body and for all; the middle has most play."""
    found = maps(case(""))
    assert sorted(found) == [0.0, 90.0, 180.0, 270.0]
    assert [found[turn].facing for turn in sorted(found)] == ["south", "east", "north", "west"]
    for turn, area, play in ((0.0, 3000 * 2500, 1250), (90.0, 3500 * 2000, 1000)):
        assert found[turn].body.area == pytest.approx(area, rel=1e-9)
        assert found[turn].clear.area == pytest.approx(area, rel=1e-9)
        assert found[turn].slack == pytest.approx(play, abs=0.6)


def test_a_post_turned_takes_its_minkowski_sum():
    """A w x h box may not be within (w h + s² + (w + h) s √2) of a square s turned 45 degrees."""
    found = maps(case("{item: post, centre: [2000, 1500], turn: 45}"))
    taken = 1000 * 500 + 100**2 + 1500 * 100 * np.sqrt(2)
    assert found[0.0].body.area == pytest.approx(3000 * 2500 - taken, rel=1e-9)


def test_the_lowest_ceiling_counts():
    """With h = 500 + 0.7 y a case 900 high keeps 400 / 0.7 from the south wall (by hand)."""
    found = maps(case("", room=SLOPED))
    assert found[0.0].body.area == pytest.approx(3000 * (2500 - 400 / 0.7), rel=1e-9)
    assert found[90.0].body.area == pytest.approx(3500 * (2000 - 400 / 0.7), rel=1e-9)


def test_what_hangs_and_what_is_low():
    """What hangs higher than the thing takes nothing; half of a step's floor is no place."""
    hung = maps(case("{item: post, at: [2000, 1500, 1000]}"))
    assert hung[0.0].body.area == pytest.approx(7.5e6, rel=1e-9)
    step = (
        "size: 4000 x 3000\nceiling: [{flat: 2400}]\n"
        "floor: [{level: 0}, {from: east, depth: 1500, level: 150}]"
    )
    found = maps(case("", room=step))
    assert found[0.0].body.area == pytest.approx((1500 + 500) * 2500, rel=1e-9)
    assert found[0.0].clear.area == pytest.approx((1500 + 500) * 2500, rel=1e-9)


def test_a_slot_of_its_own_size():
    """Between two posts a case's width apart there are places, with no play across."""
    posts = (
        "{item: bar, at: [0, 1000], turn: 90}, {item: bar, name: two, at: [1100, 1000], turn: 90}"
    )
    found = maps(case(posts + ", {item: bar, name: three, at: [100, 900]}"))[0.0]
    assert any(abs(x - 600.0) < 0.02 and 1250.0 < y < 2000.0 for x, y in found.slits.tolist()), (
        found.slits
    )
    assert not found.body.contains(Point(600.0, 1500.0))


def test_zones_take_floor_exactly():
    """A zone of 700 in front, 2000 high, under a slope and beside a bar (by hand).

    Facing north: its zone's near edge is at y + 250; 500 + 0.7 (y + 250) >= 2000.
    """
    zone = ", zone: {front: 700, headroom: 2000}"
    found = maps(case("", zone, SLOPED))[180.0]
    least, most = 1500 / 0.7 - 250, 3000 - 700 - 250
    assert found.clear.area == pytest.approx(3000 * (most - least), rel=1e-3)
    barred = maps(case("{item: bar, at: [0, 0]}", zone))[0.0]
    # The bar takes x up to 1000 and y up to 100: with the zone, 800 + 250 up from it.
    whole = 3000 * (2500 - 700)
    assert barred.clear.area == pytest.approx(whole - (1500 - 500) * 100, rel=1e-6)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=30, deadline=None)
def test_moves_against_signed_gaps(seed: int):
    """Inside the ring of moves two solids overlap, on it they touch, outside they are apart."""
    rng = np.random.default_rng(seed)
    a = hull(rng.uniform(0, 400, (7, 3)))
    if rng.random() < 0.5:
        b = prism(np.array([[0, 0], [300, 40], [260, 300], [20, 280.0]]), 50.0, 350.0)
    else:
        b = hull(rng.uniform(0, 400, (6, 3)) + rng.uniform(-300, 300, 3))
    angle = rng.uniform(0, np.pi)
    c, s = np.cos(angle), np.sin(angle)
    axes = np.eye(3) if rng.random() < 0.5 else np.array([[c, s, 0], [0, 0, 1], [s, -c, 0.0]])

    def gap(move: np.ndarray) -> float:
        pair = [a.moved(move @ axes[:2]), b]
        return float(signed_gaps(pair, np.array([[0, 1]])).gap[0, 0])

    ring = overlap_moves(a, b, axes)
    if ring is None:
        apart = [gap(rng.uniform(-500, 500, 2)) for _ in range(30)]
        assert min(apart) >= -1e-5
        return
    middle = ring.mean(axis=0)
    assert gap(middle) < 0
    for corner, after in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        for spot in (corner, (corner + after) / 2):
            assert gap(spot) == pytest.approx(0.0, abs=1e-5)
            assert gap(middle + 1.01 * (spot - middle)) > -1e-6


HARD = {"bodies", "ceiling", "walls", "floor"}


@pytest.mark.parametrize("seed", [8])
def test_against_placing(seed: int):
    """At random places the map of the body, and of all, says what placing it afresh says.

    Many more rooms are slid through in tests/bench/voids_against_placing.py.
    """
    project = random_project(np.random.default_rng(seed))
    base, rules = place(project, "one", Values()), rules_of(project)
    known = standing_conflicts(base, rules)
    corners = base.room.outline[0]
    rng = np.random.default_rng(seed)
    looked = 0
    for found in where_on_floor(project, "one", "case"):
        for x, y in rng.uniform(corners.min(axis=0), corners.max(axis=0), (8, 2)).round(2):
            spot = Point(x, y)
            if min(r.boundary.distance(spot) for r in (found.body, found.clear)) < 0.5:
                continue
            words = {"item": "case", "centre": [x, y], "turn": found.turn}
            trial = added(project, "one", words, base)
            told = conflicts_with(trial.layout, trial.rules, trial.name, known)
            checks = {reading.check for reading in told}
            assert not (found.body.contains(spot) and checks & HARD), (x, y, checks)
            assert checks or found.body.contains(spot), (x, y)
            assert found.clear.contains(spot) == (not checks), (x, y, checks)
            looked += 1
    assert looked > 15


def test_up_the_walls():
    """A box for the wall, 700 wide and 600 high, over a case 900 high under a slope (by hand).

    On the north wall the ceiling is level at 2600; the case takes along 0 to 1000, up to 900.
    On the east wall h = 500 + 0.7 y, lowest over its south end.
    """
    project = project_of(
        "items:\n  box: {body: 700 x 350 x 600, mount: wall}\n  case: {body: 1000 x 500 x 900}\n"
        "schemes: {one: [{item: case, against: north, along: 0}]}\n",
        SLOPED,
    )
    found = {one.wall: one for one in where_up_walls(project, "one", "box")}
    north = 3300.0 * (2600 - 0.7 * 350 - 600) - 1000 * 900.0
    assert found["north"].body.area == pytest.approx(north, rel=1e-9)
    assert found["north"].heights is not None
    assert found["north"].heights[1] == pytest.approx(2600 - 0.7 * 350 - 600)
    assert where_up_walls(project, "one", "case") == ()
    assert where_on_floor(project, "one", "box") == ()


def test_the_command_tells_and_draws(tmp_path):
    """The areas in words and JSON, and a picture with a plan a turn, the same each time."""
    target = tmp_path / "bench.png"
    words = [str(EXAMPLES / "boathouse.yaml"), "bench", "--picture", str(target)]
    told = CliRunner().invoke(command, words, standalone_mode=False)
    assert told.exception is None
    assert "front to north   3.432 for its body" in told.output
    data = target.read_bytes()
    assert Image.open(io.BytesIO(data)).size[1] > 1300
    said = CliRunner().invoke(command, [*words, "--format", "json"], standalone_mode=False).output
    assert target.read_bytes() == data
    north = next(row for row in json.loads(said)["floor"] if row["facing"] == "north")
    assert north["body_m2"] == pytest.approx(3.432)
    assert north["clear_m2"] < north["body_m2"]
