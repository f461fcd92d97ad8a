"""What walls leave of a zone: at the boundary, skew, mirrored; and what is too petty to tell."""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.checks.zone_walls import depth_left
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Short
people: {people}
room:
  {room}
  ceiling: [{{flat: 2600}}]
rules: {{{rules}}}
items:
  bench: {{body: 1200 x 600 x 900, zone: {{name: standing, front: 1000}}}}
  unit:
    body: 300 x 120 x 300
    mount: wall
    zone: {{name: service, kind: service, posture: none, front: 900, width: 760, shift: -230}}
schemes:
  a: [{row}]
"""


def zones(row, room="size: 4000 x 3000", rules="", people="{}"):
    text = TEXT.format(row=row, room=room, rules=rules, people=people)
    answer = check_scheme(parse_project(text), "a")
    return [f for f in answer.findings if f.check == "zone"]


FACING = {
    "south": ("[1000, {}]", 1.0, 0.0),
    "north": ("[1000, {}]", -1.0, 3000.0 - 600.0),
    "west": ("[{}, 1000]", 1.0, 0.0),
    "east": ("[{}, 1000]", -1.0, 4000.0 - 600.0),
}


@pytest.mark.parametrize("facing", FACING)
@pytest.mark.parametrize(("left", "found"), [(900.0, 0), (899.9, 1), (640.0, 1)])
def test_nine_tenths_of_its_depth_will_do(facing, left, found):
    """1000 is asked of the zone and 900 will do: 0.1 less is a conflict, on every wall."""
    at, sense, wall = FACING[facing]
    row = f"{{item: bench, at: {at.format(wall + sense * left)}, facing: {facing}}}"
    told = zones(row)
    assert len(told) == found
    if found:
        [one] = told
        assert (one.verdict, one.items) == (Verdict.CONFLICT, ("bench", facing))
        assert (one.gap_mm, one.needs_mm) == (pytest.approx(left, abs=1e-3), 900.0)
        short = -sense * (900.0 - left)
        x, y = (0.0, -short) if facing in {"south", "north"} else (-short, 0.0)
        assert one.nudge.by_mm[:2] == pytest.approx((x, y), abs=0.11)


SKEW = "names: [south, east, north, west]\n  corners: [[0, 0], [4000, {}], [4000, 3000], [0, 3000]]"


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_skew_wall_leaves_most_where_it_is_furthest(mirrored):
    """The wall is at y = 600 x / 4000 and the zone over x 1000..2200 from y 1100 down.

    567 wide from x 1000, someone has 1100 - 600 x 1567 / 4000 = 864.95 there.
    """
    room, x = SKEW.format(600.0), 1000
    if mirrored:
        room, x = room.replace("[0, 0], [4000, 600.0]", "[0, 600.0], [4000, 0]"), 1800
    [one] = zones(f"{{item: bench, at: [{x}, 1100]}}", room)
    assert one.gap_mm == pytest.approx(864.95, abs=5e-3)
    assert one.verdict is Verdict.CONFLICT


@pytest.mark.parametrize(("breadth", "found"), [(559.9, 0), (560.2, 1)])
def test_the_breadth_of_a_person_decides(breadth, found):
    """Skew by 500 in 4000: 1095 - 500 (1000 + b) / 4000 is 900 where b is 560."""
    row = "{item: bench, at: [1000, 1095]}"
    told = zones(row, SKEW.format(500.0), rules=f"breadth: {breadth}")
    assert len([f for f in told if f.verdict is Verdict.CONFLICT]) == found


def test_the_users_own_breadth():
    """A small woman stands where the default man does not: 406 (ANSUR II, 5th percentile)."""
    row = "{item: bench, at: [1000, 1090]}"
    assert zones(row, SKEW.format(500.0))
    assert not zones(row, SKEW.format(500.0), people="{who: woman, percentile: 5}")


def test_petty_corners_are_silent():
    """12 of 1000 off the far corner of a deep zone in a skew room is nothing to tell."""
    assert not zones("{item: bench, at: [1000, 1012]}", SKEW.format(40.0))


@pytest.mark.parametrize(("x", "verdict"), [(400.0, None), (229.9, Verdict.CONFLICT)])
def test_a_service_zone_is_wanted_whole(x, verdict):
    """It reaches 230 beyond the unit on either side: 0.1 less than that and the wall is in it."""
    told = zones(f"{{item: unit, at: [{x}, 2880, 1300], facing: south}}")
    assert [f.verdict for f in told] == ([] if verdict is None else [verdict])
    if told:
        assert told[0].items == ("unit", "west")


def test_a_good_part_lost_is_a_note():
    """A wide zone whose end lies behind a wall, with a whole place left to stand: a caution."""
    text = "{item: bench, at: [-300, 1200], facing: south}"
    assert not zones(text)
    [one] = [f for f in zones(text.replace("-300", "-301")) if f.unit == "%"]
    assert one.verdict is Verdict.CAUTION
    assert one.gap_mm == pytest.approx(100.0 * 899.0 / 1200.0, abs=1e-3)


def test_the_tape_decides():
    """905 ± 10 before a wall of known place."""
    [one] = zones("{item: bench, at: [1000, 905 ±10], facing: south}")
    assert one.verdict is Verdict.REMEASURE
    assert (one.worst_mm, one.best_mm) == (pytest.approx(895.0), pytest.approx(915.0))


def test_the_depth_left_against_a_fine_comb():
    """Random wedges before a face: the answer is what a comb of 1 mm reads, to 1 mm of slope."""
    rng = np.random.default_rng(5)
    for _ in range(40):
        width, depth, span = 1000.0, 900.0, float(rng.uniform(200, 900))
        rings = []
        for _ in range(int(rng.integers(1, 4))):
            middle = rng.uniform([-100, 200], [1100, 1200])
            angles = np.sort(rng.uniform(0, 2 * np.pi, 3))
            rings.append(
                middle + rng.uniform(100, 400) * np.stack([np.cos(angles), np.sin(angles)], 1)
            )
        sizes = (np.array([width]), np.array([depth]), np.array([span]))
        left = float(depth_left([ring[None] for ring in rings], *sizes)[0])
        comb = np.arange(0.0, width + 0.5, 1.0)
        free = np.full(len(comb), depth)
        for ring in rings:
            for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
                low, high = min(a[0], b[0]), max(a[0], b[0])
                on = (comb >= low) & (comb <= high) & (high > low)
                out = a[1] + (comb - a[0]) / (b[0] - a[0]) * (b[1] - a[1])
                free = np.where(on & (out >= 0), np.minimum(free, out), free)
        window = int(span)
        teeth = [free[k : k + window + 1].min() for k in range(len(comb) - window)]
        assert left <= max(teeth) + 40.0
        narrow = [free[k : k + window + 3].min() for k in range(len(comb) - window - 2)]
        assert left >= max(narrow, default=0.0) - 40.0
