"""What moves is drawn open where it comes to, by each kind's own habit of the trade."""

from __future__ import annotations

from functools import cache, partial

import numpy as np
import pytest

from massing.checks.context import Context
from massing.checks.motions_doors import door_movers
from massing.checks.run import check_scheme
from massing.handover.drawings.board import Board
from massing.handover.drawings.cutting import Section
from massing.handover.drawings.drawings import drawing_set
from massing.handover.drawings.elevation import draw_elevation
from massing.handover.drawings.plan import draw_plan
from massing.handover.drawings.section import draw_section
from massing.handover.drawings.shapes import Facing, Placing
from massing.handover.drawings.sheet import Stroke
from massing.handover.opened import far_edge, hung_leaves, opened_doors, opened_parts, swing
from massing.project.read import parse_project
from tests.handover.drawings.sheets import DOORS, answer_of, crossed, outside, overlapping

SCALE, LEFT, BOTTOM = 25.0, 60.0, 50.0
AREA = (1.0, 1.0, 399.0, 279.0)


@cache
def doors():
    return answer_of(DOORS)


def _drawn(draw):
    """Strokes of one view, its points in true mm, by pen."""
    board = Board(400.0, 280.0)
    draw(board, Placing(SCALE, LEFT, BOTTOM), AREA)
    found: dict[str, list[np.ndarray]] = {}
    for mark in board.marks:
        if isinstance(mark, Stroke):
            points = (np.array(mark.points) - (LEFT, BOTTOM)) * SCALE
            key = "leaf" if mark.fill == "#FFFFFF" and len(points) == 4 else mark.pen.name
            found.setdefault(key, []).append(points)
    return found


@cache
def plan():
    return _drawn(partial(draw_plan, doors(), {}))


@cache
def cut(axis, at, look):
    """A section square to an axis through the room, looking up (+1) or down (-1) that axis."""
    away, zero = np.zeros(3), np.zeros(3)
    away[axis], zero[axis] = look, at
    view = Facing(np.cross(away, (0.0, 0.0, 1.0)), np.array([0.0, 0.0, 1.0]), away, zero)
    return _drawn(partial(draw_section, doors(), Section("X", axis, at, view)))


@cache
def wall(name):
    return _drawn(partial(draw_elevation, doors(), doors().layout.room.wall(name)))


def _boxes(strokes):
    return [tuple(np.round([*p.min(axis=0), *p.max(axis=0)], 1).tolist()) for p in strokes]


@pytest.mark.parametrize(
    ("pen", "box"),
    [
        # It parks to the right as you face it, 900 on, and a freezer stops it after 300.
        ("open position", (4960.0, 1900.0, 5000.0, 2800.0)),
        ("zone", (4960.0, 1300.0, 5000.0, 1900.0)),
        # On the outside face, which is 120 out: 40 thick, one leaf on to the left.
        ("open position", (-160.0, 1200.0, -120.0, 1900.0)),
        # The whole up-and-over leaf would hang 2000 in; of it what is beyond where it gets to.
        ("zone", (2200.0, 1200.0, 4400.0, 2000.0)),
        # Drawers stopped at 300 of 400 by the box, then the hundred that is missing.
        ("open position", (2300.0, 1200.0, 2600.0, 2100.0)),
        ("zone", (2200.0, 1200.0, 2300.0, 2100.0)),
        # The oven's door let down before it: 600 high, hinged at the foot of the front.
        ("open position", (2750.0, 2400.0, 3350.0, 3000.0)),
    ],
)
def test_what_comes_out_level_is_outlined_in_plan(pen, box):
    """A fine dashed outline just there, to a tenth of a millimetre."""
    boxes = _boxes(plan()[pen])
    near = min(boxes, key=lambda held: float(np.abs(np.subtract(held, box)).max()))
    assert near == pytest.approx(box, abs=1.0), near


def test_the_garage_door_is_dashed_as_far_as_it_opens():
    """2000 high about the inside of its head: at 36.9 degrees its foot is 1200 in."""
    door = next(one for one in opened_doors(doors()) if one.owner == "garage door")
    assert door.stopped
    foot = 2000.0 * np.sin(door.reach)
    assert any(
        box[1] < 1.0 and box[3] == pytest.approx(foot, abs=1.0)
        for box in _boxes(plan()["open position"])
    )


def test_leaves_of_items_swing_on_an_arc():
    """Both cupboard doors: arcs of 400 about their hinges, 100 degrees of them."""
    for pin, sign in (((150.0, 3200.0), 1.0), ((950.0, 3200.0), -1.0)):
        arcs = [
            points
            for points in plan()["open position"]
            if len(points) > 20 and np.ptp(np.hypot(*(points - pin).T)) < 0.5
        ]
        assert len(arcs) == 1
        off = arcs[0] - pin
        assert np.hypot(*off[0]) == pytest.approx(400.0, abs=0.5)
        turned = np.degrees(np.arctan2(off[:, 1], sign * off[:, 0]))
        assert (turned[0], turned[-1]) == pytest.approx((0.0, -100.0), abs=0.2)


def test_both_leaves_of_a_double_door_and_the_window_are_hung():
    """A leaf of 600 at each jamb of the garden doors, one of 700 at the window's, all open."""
    for pin, wide in (
        ((1400.0, 3600.0), 600.0),
        ((2600.0, 3600.0), 600.0),
        ((3600.0, 3600.0), 700.0),
    ):
        held = [leaf for leaf in plan()["leaf"] if np.hypot(*(leaf[0] - pin)) < 0.5]
        assert len(held) == 1
        assert held[0][1] == pytest.approx((pin[0], pin[1] - wide), abs=0.5)


def test_a_section_shows_the_up_and_over_leaf():
    """Its foot runs on a circle of 2000 about the inside of the head, dashed and then dotted."""
    strokes = cut(0, 2800.0, -1.0)
    # Looking west, right is north: the south wall's inside face is at the left, 0.
    for pen in ("open position", "zone"):
        arcs = [
            p for p in strokes[pen] if len(p) > 8 and np.ptp(np.hypot(*(p - (0.0, 2000.0)).T)) < 0.5
        ]
        assert len(arcs) == 1, pen
        assert np.hypot(*(arcs[0][0] - (0.0, 2000.0))) == pytest.approx(2000.0, abs=0.5)
    last = arcs[0][-1]
    assert last == pytest.approx((2000.0, 2000.0), abs=0.5)


def test_a_section_shows_the_lid_up():
    """The freezer's lid: hinged at the wall, 850 up, an arc of 600 through 80 degrees."""
    strokes = cut(1, 1450.0, 1.0)
    hinge = np.array([5000.0, 850.0])
    arcs = [
        p
        for p in strokes["open position"]
        if len(p) > 20 and np.ptp(np.hypot(*(p - hinge).T)) < 0.5
    ]
    assert len(arcs) == 1
    assert arcs[0][0] == pytest.approx((4400.0, 850.0), abs=0.5)
    end = hinge + 600.0 * np.array([-np.cos(np.radians(80.0)), np.sin(np.radians(80.0))])
    assert arcs[0][-1] == pytest.approx(end, abs=0.5)


@pytest.mark.parametrize(
    ("name", "sign"),
    [
        ("south", [(600.0, 0.0), (1700.0, 2000.0), (2800.0, 0.0)]),
        ("north", [(2000.0, 0.0), (1400.0, 1000.0), (2000.0, 2000.0)]),
        ("north", [(2000.0, 0.0), (2600.0, 1000.0), (2000.0, 2000.0)]),
        ("north", [(4300.0, 1000.0), (3600.0, 1450.0), (4300.0, 1900.0)]),
        ("north", [(550.0, 0.0), (150.0, 950.0), (550.0, 1900.0)]),
        ("north", [(550.0, 0.0), (950.0, 950.0), (550.0, 1900.0)]),
        ("north", [(2750.0, 750.0), (3050.0, 150.0), (3350.0, 750.0)]),
    ],
)
def test_elevations_mark_the_hinge_side(name, sign):
    """Fine lines from the free corners that meet in the middle of the hinge side."""
    found = [p for p in wall(name)["dimension"] if len(p) == 3]
    assert any(np.abs(points - sign).max() < 1.0 for points in found), found


def test_an_elevation_shows_what_rises():
    """The freezer's lid stands above it, the desk's top 300 higher than its shut place."""
    tops = {box[3] for box in _boxes(wall("east")["open position"])}
    assert any(
        top == pytest.approx(850.0 + 600.0 * np.sin(np.radians(80.0)), abs=5.0) for top in tops
    )
    tops = {box[3] for box in _boxes(wall("west")["open position"])}
    assert 1040.0 in tops


def test_doors_are_those_the_check_moves():
    """Sliding and overhead doors inside the room are the very paths the check sweeps."""
    answer = doors()
    context = Context(answer.layout, answer.rules, reach=0.0, nudges=False)
    held = {one.owner: one for one in opened_doors(answer)}
    for opening in answer.layout.room.openings:
        for mover in door_movers(context, opening):
            if opening.motion in {"sliding", "overhead"}:
                path = held[opening.name].path
                assert np.allclose(path.solid.corners, mover.paths[0].solid.corners)
                assert np.allclose(path.axis, mover.paths[0].axis)
    assert set(held) == {"garage door", "barn door", "outer slide"}


def test_reach_is_what_the_check_says():
    """Drawers of the dresser pull 300 of 400; the lid, the flap and the window go all the way."""
    answer = doors()
    parts = {(one.owner, one.name): one for one in opened_parts(answer)}
    assert parts["dresser", "drawers"].reach == pytest.approx(300.0)
    assert parts["dresser", "drawers"].full == 400.0
    for key in (("freezer", "lid"), ("oven", "door"), ("cupboard", "left door")):
        assert not parts[key].stopped
    assert all(hung.reach == hung.leaf.full for hung in hung_leaves(answer))


def test_only_the_leaf_that_is_stopped_is_drawn_short():
    """A box before the left half of the garden doors: the other half still opens wholly."""
    data = {**DOORS, "schemes": {"only": [{"item": "box", "at": [1500, 3050]}]}}
    held = {tuple(h.leaf.pin[0]): h for h in hung_leaves(answer_of(data)) if h.kind == "door"}
    short, whole = held[1400.0, 3600.0], held[2600.0, 3600.0]
    assert 0.0 < short.reach < short.leaf.full
    assert whole.reach == whole.leaf.full


def test_far_edge_and_swing_keep_their_distance():
    """The moving edge of what turns keeps its distance from the axis; a slide's goes straight."""
    for one in (*opened_parts(doors()), *opened_doors(doors())):
        ends = [far_edge(one, amount) for amount in (0.0, one.full / 2.0, one.full)]
        if one.turns:
            about = np.asarray(one.path.about)[0]
            off = [end - about for end in ends]
            away = [np.linalg.norm(v - (v @ one.axis) * one.axis) for v in off]
            assert np.ptp(away) < 1e-6
            track = swing(one, 0.0, one.full) - about
            track = track - np.outer(track @ one.axis, one.axis)
            assert np.ptp(np.linalg.norm(track, axis=1)) < 1e-6
        else:
            assert ends[2] - ends[0] == pytest.approx(one.full * one.axis)


def test_the_set_is_whole():
    """All sheets of it: lettering apart, inside the border, no leader over another."""
    for sheet in drawing_set(doors()):
        assert overlapping(sheet) == []
        assert outside(sheet) == []
        assert crossed(sheet) == 0


def test_openings_of_a_partition_are_dimensioned():
    """From its end to the jamb, the opening, and on to the other end; its face from the datum."""
    data = {
        **DOORS,
        "items": {},
        "schemes": {
            "only": {
                "partitions": [
                    {
                        "name": "store wall",
                        "thickness": 100,
                        "from": {"wall": "south", "along": 600},
                        "to": {"wall": "north", "along": 3000},
                        "openings": [{"name": "hatch", "along": 1130, "leaf": "710 x 1900 x 40"}],
                    }
                ],
            }
        },
    }
    data["room"] = {"size": "5000 x 3600", "thickness": 120, "ceiling": [{"flat": 2500}]}
    data["schemes"]["only"]["partitions"][0]["to"] = {"wall": "north", "along": 4400}
    answer = answer_of(data)
    told = [words.text for words in drawing_set(answer)[0].words]
    assert {"1130", "710", "1760", "4350"} <= set(told)


def test_what_hangs_is_drawn_let_down_no_further_than_the_floor():
    """1270 under it and 1800 of cord; 670 where a trunk of 600 stands below."""
    text = """
massing: 1
project: hung
room: {size: 4000 x 3000, ceiling: [{flat: 2400}]}
items:
  hoist:
    body: 1800 x 620 x 1080
    mount: ceiling
    motions: [{name: lowering, kind: rise, low: -720, travel: 1800, thickness: 1080}]
  trunk: {body: 600 x 400 x 600, weight: 20}
schemes:
  a:
    - {item: hoist, at: [500, 1000], drop: 50}
    - {item: trunk, at: [%s, 1100]}
"""
    for east, reach in ((3000, 1270.0), (900, 670.0)):
        (part,) = opened_parts(check_scheme(parse_project(text % east, "hung.yaml")))
        assert (part.full, part.reach) == (1270.0, reach)
        assert part.at(0.0).high[0, 2] == 2350.0
        assert part.at(part.full).low[0, 2] == 0.0
