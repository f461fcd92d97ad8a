"""Carrying at the height that matters: over low things, under lintels and slopes, part by part."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.project.read import parse_project
from massing.routes.carry import Asked, carry_in
from massing.routes.thing import holds_of
from massing.routes.tilts import Tilt, tilts_of
from massing.scheme.place import place
from massing.survey.values import Values

ROOM = """
massing: 1
project: Shed
room:
  size: 5000 x 2000
  thickness: 100
  ceiling: {ceiling}
  doors: [{{name: door, wall: west, along: 0, opening: 2000 x {door}, kind: open}}]
items:
  kayak: {{body: 2000 x 600 x 400, weight: {weight}}}
  trestle: {{body: 300 x 2000 x {tall}, weight: 20}}
  table:
    weight: 20
    parts:
      - {{name: top, box: 0..1600 x 0..800 x 700..740}}
      - {{name: left leg, box: 0..60 x 0..800 x 0..700}}
      - {{name: right leg, box: 1540..1600 x 0..800 x 0..700}}
  crate: {{body: {crate}, weight: 30}}
schemes:
  a: [{rows}]
"""
OVER = "{item: kayak, at: [2900, 700, 0]}, {item: trestle, at: [2300, 0]}"


def carried(name, rows, asked=None, **changes):
    words = {
        "ceiling": "[{flat: 2400}]",
        "door": 2000,
        "weight": 25,
        "tall": 650,
        "crate": "900 x 400 x 600",
        "rows": rows,
    } | changes
    layout = place(parse_project(ROOM.format(**words)), "a", Values())
    return carry_in(layout, name, asked or Asked(tilting=False, roomy=False))


def heights(answer):
    """The heights it is carried at, in order, once each."""
    told = [pose.split(", ")[1] for pose in answer.poses if ", " in pose]
    return list(dict.fromkeys(told))


def test_it_is_lifted_over_low_trestles():
    """Flat on the floor the trestle is in its way; just over its top it is not."""
    answer = carried("kayak", OVER)
    assert answer.found
    assert heights(answer) == ["0 up", "650 up"]


@pytest.mark.parametrize(("ceiling", "found"), [(1050.0, True), (1049.9, False)])
def test_under_a_ceiling_over_a_trestle(ceiling, found):
    """400 over 650 just passes under 1050, and not under 0.1 less; that is then shown."""
    answer = carried("kayak", OVER, ceiling=f"[{{flat: {ceiling}}}]", door=1040)
    assert answer.found is found


@pytest.mark.parametrize(("door", "found"), [(650, True), (400, True), (399.9, False)])
def test_a_lintel_and_a_trestle(door, found):
    """Low through the doorway, up over the trestle behind it, and down again."""
    answer = carried("kayak", OVER, door=door)
    assert answer.found is found
    if found:
        assert heights(answer) == ["0 up", "650 up"]


def test_it_is_not_lifted_over_a_shoulder():
    """1450 high is not lifted over: with the room's whole width taken that is no way in."""
    assert not carried("kayak", OVER, tall=1450).found
    assert carried("kayak", OVER, tall=1400).found


def test_heavy_things_are_not_lifted_over_things():
    """61 kg is shifted along the floor."""
    answer = carried("kayak", OVER, weight=61)
    assert not answer.found
    assert answer.proof == "impossible"


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(("rise", "found"), [(0.2, True), (-2.0, False)])
def test_up_under_a_slope(mirrored, rise, found):
    """Hung under a slope: it comes in low and goes up beside its place, where that is high enough.

    The ceiling rises by a third over y from 1000; 400 over the place's 900 needs 1300 at its edge
    nearer the low side, y 900; 0.2 more has it, 2 less has not.
    """
    low, high = ("south", "north") if not mirrored else ("north", "south")
    ceiling = f"[{{slopes: {{{low}: {1000 + rise}, {high}: {1000 + rise + 2000 / 3}}}}}]"
    y = 900 if not mirrored else 2000 - 900 - 600
    rows = f"{{item: kayak, at: [2900, {y}, 900]}}"
    answer = carried("kayak", rows, ceiling=ceiling, door=990)
    assert answer.found is found


@pytest.mark.parametrize(("tall", "found"), [(700.0, True), (1000.0, True)])
def test_a_table_goes_over_what_its_legs_go_round(tall, found):
    """A table's legs and top meet different things: it comes over a crate between its legs."""
    rows = "{item: table, at: [2900, 600]}, {item: crate, at: [3250, 700]}"
    answer = carried("table", rows, crate=f"900 x 400 x {min(tall, 700.0)}")
    assert answer.found is found
    # As one block from bottom to top it would not even stand in its place.
    assert not carried("table", rows, crate="900 x 400 x 701").found


def test_the_answer_is_the_same_in_a_mirror():
    """Found or not, and over the same heights, with the room turned end for end."""
    one = carried("kayak", OVER)
    two = carried("kayak", OVER.replace("[2900, 700, 0]", "[2900, 700, 0], turn: 180"))
    assert (one.found, heights(one)) == (two.found, heights(two))


def tilt_of(tall=1850.0, deep=600.0, wide=700.0):
    half = np.array([wide, math.hypot(tall, deep)]) / 2.0
    ring = half * np.array([[-1.0, -1.0], [1, -1], [1, 1], [-1, 1]])
    return Tilt((0, 1), ring, math.hypot(tall, deep), 1, tall, deep, wide)


@pytest.mark.parametrize("seed", range(20))
def test_the_reach_of_a_tilt_against_turning_it(seed):
    """The closed form is the greatest of a box turned in 4000 steps, corner by corner."""
    rng = np.random.default_rng(seed)
    tall, deep, wide = rng.uniform(300, 2500, 3)
    along, across = rng.uniform(-1.2, 1.2, 2)
    angles = np.linspace(0.0, math.pi / 2.0, 4001)
    best = -math.inf
    for s in (-tall / 2, tall / 2):
        for t in (-deep / 2, deep / 2):
            out = s * np.cos(angles) - t * np.sin(angles)
            up = (tall * np.sin(angles) + deep * np.cos(angles)) / 2.0
            up = up + s * np.sin(angles) + t * np.cos(angles)
            best = max(best, float((up - along * out).max()))
    best += abs(across) * wide / 2.0
    found = float(tilt_of(tall, deep, wide).reach(np.array([along]), np.array([across]))[0])
    assert best - 1e-9 <= found <= best + 1e-3


def test_level_it_is_the_published_diagonal():
    """sqrt(1850² + 600²) = 1944.87 and sqrt(2000² + 600²) = 2088.06: the classical tilt-up."""
    level = np.zeros(1)
    assert tilt_of().reach(level, level)[0] == pytest.approx(1944.87, abs=5e-3)
    assert tilt_of(2000.0).reach(level, level)[0] == pytest.approx(2088.06, abs=5e-3)


SLOPED = """
massing: 1
project: Under a slope
room:
  size: 5000 x 3000
  thickness: 100
  ceiling: [{{slopes: {{west: {west}, east: {east}}}}}]
  doors: [{{name: door, wall: west, along: 1000, opening: 1000 x 1500, kind: open}}]
items:
  cabinet: {{body: 700 x 600 x 1850, weight: 40}}
schemes:
  a: [{{item: cabinet, at: [{x}, 1200]}}]
"""


def cabinet(west, east, x=4290.0):
    text = SLOPED.format(west=west, east=east, x=x)
    layout = place(parse_project(text), "a", Values())
    return layout, carry_in(layout, "cabinet", Asked(tilting=True, roomy=False))


def test_a_cabinet_stands_up_towards_the_high_side():
    """The slope is low where it is laid down and high where its top comes up.

    Its diagonal, 1944.87, is over the ceiling at the west end of the floor it takes, so a flat
    bound over all that floor would refuse it; each corner on its own way passes.
    """
    layout, answer = cabinet(1650.0, 2150.0)
    assert answer.found
    assert any("back" in pose or "side" in pose for pose in answer.poses)
    # Where it can stand at all, its floor while it tilts runs to where the ceiling is too low.
    spots = [p for p, pose in zip(answer.path, answer.poses, strict=True) if "upright" in pose]
    x = min(float(spot[0]) for spot in spots)
    plane = layout.room.ceilings[0].planes[0, 0]
    assert plane[0] * (x - 1944.87 / 2.0) + plane[2] < 1944.87


def test_a_ceiling_too_low_for_every_tilt():
    """Upright it would fit at the east wall, and no tilt up to it does."""
    assert not cabinet(1650.0, 1930.0).__getitem__(1).found


def test_each_tilt_has_its_sizes():
    """On its back it tilts over its depth, on its side over its width."""
    layout, _ = cabinet(1650.0, 2150.0)
    tilts = tilts_of(holds_of(layout.item("cabinet"), tilting=True))
    assert [(t.axis, t.tall, t.deep, t.wide) for t in tilts] == [
        (1, 1850.0, 600.0, 700.0),
        (0, 1850.0, 700.0, 600.0),
    ]


def test_what_cannot_come_in_level_is_told_apart():
    """A long thing is tried tilted too; what is shown of it held level is said so."""
    low = {"ceiling": "[{flat: 1500}]", "tall": 1490, "door": 1490}
    answer = carried("kayak", OVER, Asked(tilting=True, roomy=False), **low)
    assert (answer.found, answer.proof) == (False, "none at this resolution")
    assert "held level, and none was found for it tilted" in answer.says
    assert answer.missing >= 0.0
    upright = carried("kayak", OVER, **low)
    assert upright.proof == "impossible"
    assert "trestle" in upright.against
