"""How far a room's door opens: what only touches, what is met beyond the need, what is in it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.scheme.place import place
from massing.survey.values import Values
from tests.strategies import project_of

WIDE, SEED = 762, 17


def _project(*at, angle=90, along=1000, hinge="left", corner_deg=0.0, rules=None, size=(300, 300)):
    items = {"box": {"body": f"{size[0]} x {size[1]} x 400"}}
    return project_of(
        {
            "massing": 1,
            "project": "One door in the north wall, 3000 up the plan",
            "rules": rules or {},
            "room": {
                "size": [4000, 3000],
                "ceiling": [{"flat": 2400}],
                "doors": [
                    {
                        "name": "entry",
                        "wall": "north",
                        "along": along,
                        "leaf": f"{WIDE} x 1981 x 44",
                        "hinge": hinge,
                        "angle": angle,
                    }
                ],
            },
            "items": items,
            "schemes": {"only": [{"item": "box", "at": list(at), "turn": corner_deg}]},
        }
    )


def _told(*at, **changed):
    found = check_scheme(_project(*at, **changed), "only", nudges=False).findings
    return [f for f in found if f.check == "door leaf"]


@pytest.mark.parametrize("degrees", [10.0, 30.0, 45.0, 66.6, 88.0])
def test_a_corner_just_on_the_arc_is_clear(degrees):
    """Touching is clear, wherever on its way the leaf's edge passes the corner."""
    x = 1000 + WIDE * math.cos(math.radians(degrees))
    y = 3000 - WIDE * math.sin(math.radians(degrees)) - 300
    assert all(f.verdict is Verdict.CLEAR for f in _told(x, y))
    (stopped,) = _told(x - 0.1, y + 0.1)
    assert stopped.verdict is Verdict.CONFLICT
    assert stopped.reaches == pytest.approx(degrees, abs=1.5)


@pytest.mark.parametrize("angle", [91, 120, 180])
def test_what_touches_full_width_is_clear_beyond_a_quarter_turn(angle):
    """The furthest the leaf stands out of its wall is its own width."""
    assert all(f.verdict is Verdict.CLEAR for f in _told(800, 3000 - WIDE - 300, angle=angle))


def test_what_stops_it_beyond_its_need_is_told_and_no_fault():
    """The pin is at 1000; the box's near corner at 500, 700 down is 105.95 degrees round."""
    (found,) = _told(500, 2300, angle=120)
    assert (found.verdict, found.unit, found.needs_mm) == (Verdict.CLEAR, "deg", 90.0)
    assert found.reaches == pytest.approx(90 + math.degrees(math.atan2(200, 700)), abs=0.01)
    assert found.says == "entry opens 105.9° of 120°, stopped by box"
    (more,) = _told(500, 2300, angle=120, rules={"door_angle": 110})
    assert (more.verdict, more.reaches) == (Verdict.CONFLICT, found.reaches)


def test_of_two_stops_beyond_the_need_the_first_is_told():
    """In a corner the side wall stops it square, whatever stands further round."""
    (found,) = _told(1500, 100, angle=180, along=0)
    assert found.says == "entry opens 90.0° of 180°, stopped by the west wall"
    assert found.verdict is Verdict.CLEAR


def test_what_touches_the_pin_stops_it_where_its_side_is():
    """A box beside the hinge lets the leaf stand square and no further."""
    (found,) = _told(700, 2700, angle=180)
    assert (found.reaches, found.verdict) == (90.0, Verdict.CLEAR)


def test_what_lies_across_the_shut_leaf_does_not_let_it_move():
    """Through the doorway and into the wall."""
    (found,) = _told(1100, 2750)
    assert (found.reaches, found.verdict) == (0.0, Verdict.CONFLICT)


def test_past_half_a_turn_the_sweep_keeps_to_the_room():
    """A leaf said to turn 270 degrees is met by what is near it, and by nothing further off."""
    assert _told(1000 - 350, 2600, angle=270, size=(300, 200))[0].verdict is Verdict.CLEAR
    assert [f.items[1] for f in _told(2000, 2700, angle=270)] == []


def test_round_an_inner_corner_it_opens_past_half_a_turn():
    """Hung at the inner corner of an L it goes on into the other arm, to what stands there."""
    data = {
        "massing": 1,
        "project": "Round the corner",
        "room": {
            "corners": [[0, 0], [4000, 0], [4000, 1500], [2000, 1500], [2000, 3000], [0, 3000]],
            "names": ["south", "east", "notch", "side", "north", "west"],
            "ceiling": [{"flat": 2400}],
            "doors": [
                {
                    "name": "entry",
                    "wall": "notch",
                    "along": 0,
                    "leaf": f"{WIDE} x 1981 x 44",
                    "angle": 270,
                }
            ],
        },
        "items": {"box": {"body": "300 x 300 x 400"}},
        "schemes": {"only": [{"item": "box", "at": [1600, 1550]}]},
    }
    found = check_scheme(project_of(data), "only", nudges=False).findings
    (told,) = [f for f in found if f.check == "door leaf" and f.reaches is not None]
    assert told.reaches == pytest.approx(180 + math.degrees(math.atan2(50, 400)), abs=0.01)
    assert told.verdict is Verdict.CLEAR


def scanned(ring, full):
    """Degrees at which a bare leaf from (0, 0) along x first cuts into a ring, every 0.05."""
    inner = Polygon(ring).buffer(-0.011)
    if inner.is_empty or inner.distance(Point(0, 0)) > WIDE:
        return full
    for step in range(round(full / 0.05) + 1):
        turn = math.radians(0.05 * step)
        tip = (WIDE * math.cos(turn), -WIDE * math.sin(turn))
        if LineString([(0, 0), tip]).intersection(inner).length > 0.0:
            return 0.05 * step
    return full


def test_reach_is_that_of_a_fine_scan():
    """Boxes turned any way, beside, before and behind a leaf hung on either hand."""
    rng = np.random.default_rng(SEED)
    stopped = 0
    for _ in range(40):
        full, hinge = int(rng.choice([90, 120, 180])), str(rng.choice(["left", "right"]))
        x, y = int(rng.integers(200, 2200)), int(rng.integers(1900, 2650))
        project = _project(x, y, angle=full, hinge=hinge, corner_deg=float(rng.integers(0, 90)))
        ring = place(project, "only", Values()).items[0].parts[0].solid.corners[0, :4, :2]
        own = (ring - [1000, 3000]) if hinge == "left" else ([1000 + WIDE, 3000] - ring) * [1, -1]
        mine = scanned(own, full)
        told = check_scheme(project, "only", nudges=False).findings
        reaches = [f.reaches for f in told if f.check == "door leaf" and f.reaches is not None]
        assert min([full, *reaches]) == pytest.approx(mine, abs=0.06)
        stopped += mine < full
        grave = [f.verdict for f in told if f.check == "door leaf" and f.verdict != "clear"]
        assert bool(grave) == (mine < 90)
    assert stopped >= 15


def test_the_scan_sees_a_leaf_drawn_too_short():
    """With a post at its tip a leaf 2 % shorter gets by: the scan is not blind to it."""
    post = np.array([[500.0, -575.0], [520, -575], [520, -555], [500, -555]])
    assert scanned(post, 90) < 90
    assert scanned(post / 0.98, 90) == 90


STUD = {
    "name": "stud",
    "thickness": 100,
    "from": [0, 1500],
    "to": [4000, 1500],
}


def _partitioned(at, kind, opens):
    """What is told of a box near a doorway in a partition at 1450..1550, 1000..1762 along it."""
    leaf = {"name": "way", "along": 1000, "leaf": f"{WIDE} x 1981 x 44", "hinge": "left"}
    stud = {**STUD, "openings": [{**leaf, "kind": kind, "opens": opens}]}
    data = {
        "massing": 1,
        "project": "Two rooms of one",
        "room": {"size": [4000, 3000], "ceiling": [{"flat": 2400}]},
        "items": {"box": {"body": "300 x 300 x 400"}},
        "schemes": {"only": {"add": [{"item": "box", "at": at}], "partitions": [stud]}},
    }
    found = check_scheme(project_of(data), "only", nudges=False).findings
    return {
        f.check: f for f in found if f.check in {"door leaf", "doorway"} and f.verdict != "clear"
    }


def test_a_leaf_opens_into_the_room_on_either_side_of_a_partition():
    """Its tip meets a box half a metre beyond, on the side it opens to and not on the other."""
    here, there = [1300, 650], [1300, 2050]
    for opens, hit, free in (("in", here, there), ("out", there, here)):
        found = _partitioned(hit, "hinged", opens)["door leaf"]
        assert found.reaches == pytest.approx(math.degrees(math.asin(500 / WIDE)), abs=0.01)
        assert _partitioned(free, "hinged", opens) == {}


def test_a_sliding_leaf_runs_along_the_face_it_hangs_on():
    """Hung on the left it parks to the left of the doorway, on one face or on the other."""
    for opens, hit, free in (
        ("in", [600, 1150], [600, 1550]),
        ("out", [600, 1550], [600, 1150]),
    ):
        found = _partitioned(hit, "sliding", opens)["door leaf"]
        assert found.reaches == pytest.approx(100.0, abs=0.02)
        assert _partitioned(free, "sliding", opens) == {}


@pytest.mark.parametrize("opens", ["in", "out"])
def test_either_side_of_a_partition_is_a_way(opens):
    """A person's own depth is kept free before and behind a doorway in it."""
    assert _partitioned([1300, 1050], "sliding", opens)["doorway"].gap_mm == -300.0
    assert _partitioned([1300, 1650], "sliding", opens)["doorway"].gap_mm == -300.0
    assert _partitioned([1300, 1950], "sliding", opens) == {}
