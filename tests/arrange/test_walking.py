"""Tests for ways through the room as the search has them, held against the full check."""

from __future__ import annotations

import numpy as np
import pytest

from massing.arrange.arrays import new_moving
from massing.arrange.model import compile_scheme
from massing.arrange.polish import remaining
from massing.arrange.search import search
from massing.checks.run import check_scheme
from tests.arrange.rooms import DOOR, project

ITEMS = {
    "bench": "body: 1400 x 600 x 900, weight: 60, zone: {front: 700}",
    "screen": "body: 1700 x 60 x 1800, weight: 20",
    "press": "body: 500 x 450 x 1300, weight: 30, zone: {front: 600}",
    "mat": "body: 900 x 900 x 10, weight: 2",
}


def _shut(made):
    """How wide a way each thing's zone lacks where the scheme has it: 0 none, 3 even sideways."""
    from massing.arrange.search_compiled import price_all

    model = compile_scheme(made, "as found")
    record = new_moving(model.pose, model.on, model.yaw)
    price_all((model.fixed, record))
    shut = record["shut"][0]
    return {unit.name: int(shut[k]) for k, unit in enumerate(model.units)}


@pytest.mark.parametrize(("way", "lacks"), [(900, 0), (700, 1), (560, 2), (400, 3), (0, 3)])
def test_a_way_beside_a_screen(way, lacks):
    """A screen 1700 long in 2400: what is left beside it decides, against the rules' widths."""
    door = DOOR.replace("opens: in", "opens: out")
    long = f"body: {2400 - way} x 60 x 1800, weight: 20"
    placed = ["item: bench, against: east, along: 500", "item: screen, at: [1200, 0], turn: 90"]
    made = project({"bench": ITEMS["bench"], "screen": long}, placed, doors=door)

    assert _shut(made)["bench"] == lacks
    closed = [f for f in check_scheme(made, "as found").conflicts if f.check == "passage"]
    assert bool(closed) == (lacks == 3)


def test_what_is_stepped_over_is_not_in_the_way():
    """A mat as wide as the room stops nobody; a low wall of boxes does."""
    placed = ["item: bench, against: east, along: 500", "item: mat, at: [1200, 0]"]
    said = []
    for tall in (10, 700):
        items = {"bench": ITEMS["bench"], "mat": f"body: 300 x 2400 x {tall}, weight: 2"}
        door = DOOR.replace("opens: in", "opens: out")
        said.append(_shut(project(items, placed, doors=door))["bench"])

    assert said == [0, 3]


def test_skew_room_as_square_one():
    """The same screen in a room turned a little lets the same people by."""
    for way, lacks in ((950, 0), (380, 3)):
        long = f"body: {2400 - way} x 60 x 1800, weight: 20"
        placed = [
            "item: bench, against: east, along: 500",
            "item: screen, at: [1200, 0], turn: 92",
        ]
        door = DOOR.replace("opens: in", "opens: out")
        made = project({"bench": ITEMS["bench"], "screen": long}, placed, doors=door)
        assert _shut(made)["bench"] == lacks


@pytest.mark.parametrize("seed", range(3))
def test_nobody_is_let_through_what_is_closed(seed):
    """What a search ends clear with has no closed way by the full check either."""
    placed = [f"item: {name}, at: [{900 + 50 * k}, 900]" for k, name in enumerate(ITEMS)]
    model = compile_scheme(project(ITEMS, placed), "as found")

    clear = search(model, seed=seed, restarts=6, moves=6000).clear

    assert clear
    for found in clear:
        assert [f for f in remaining(model, found) if f.check == "passage"] == []


_OUT = "leaf: 762 x 1981, hinge: left, opens: out"


@pytest.mark.parametrize(
    ("way", "lacks", "hard", "soft"),
    [
        (900, 0, 0.0, 0.0),
        (700, 1, 0.0, 0.05),
        (560, 2, 0.0, 0.25),
        (400, 3, 20.0, 0.25),
    ],
)
@pytest.mark.parametrize(
    "ends",
    [
        ("wall: west, along: 600", "3000 x 2400", "east", "at: [1200, 0], turn: 90"),
        ("wall: east, along: 1038", "3000 x 2400", "west", "at: [1740, 0], turn: 90"),
        ("wall: south, along: 1038", "2400 x 3000", "north", "at: [0, 1200]"),
        ("wall: north, along: 600", "2400 x 3000", "south", "at: [0, 1740]"),
    ],
)
def test_from_whichever_end(ends, way, lacks, hard, soft):
    """The room walked from each of its four sides; each width lacked costs a little more."""
    from massing.arrange.search_compiled import price_all

    door, size, bench, screen = ends
    items = {"bench": ITEMS["bench"], "screen": f"body: {2400 - way} x 60 x 1800, weight: 20"}
    placed = [f"item: bench, against: {bench}, along: 500", f"item: screen, {screen}"]
    made = project(items, placed, size=size, doors=f"{{name: entry, {door}, {_OUT}}}")
    model = compile_scheme(made, "as found")
    record = new_moving(model.pose, model.on, model.yaw)

    said = price_all((model.fixed, record))

    assert record["shut"][0][:2].tolist() == [lacks, 0]
    pairs = np.tril(record["pair"][0][:2, :2].sum(axis=2)).sum()
    assert pairs == 0.0
    assert said[0] - record["shell"][0][:, 0].sum() == pytest.approx(hard)
    assert said[1] - record["shell"][0][:, 1].sum() == pytest.approx(soft)
