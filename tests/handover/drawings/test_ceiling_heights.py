"""Ceiling heights in plan stand where they hold, or are led back to it; figures keep apart."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from massing.handover.drawings.board import Board
from massing.handover.drawings.dimensions import Line, chain
from massing.handover.drawings.label import Label
from massing.handover.drawings.plan_labels import _ceilings
from massing.handover.drawings.shapes import Placing
from massing.project.read import read_project
from massing.room.measure import cells
from massing.scheme.place import place
from massing.survey.values import Values

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
SCALE = 25.0
PAPER = 9.0
"""From a side to as far in as its height is lettered, mm of paper."""


@cache
def room_of(name):
    project = read_project(EXAMPLES / f"{name}.yaml")
    return place(project, next(iter(project.arrangements)), Values()).room


def heights_at(room, points):
    """(n, k) ceiling above the floor by every cell that holds a point, else nan."""
    found = np.full((len(points), len(cells(room))), np.nan)
    for k, cell in enumerate(cells(room)):
        ring, after = cell.polygon, np.roll(cell.polygon, -1, axis=0)
        off = points[:, None] - ring
        way = after - ring
        here = (way[:, 0] * off[..., 1] - way[:, 1] * off[..., 0] >= -1e-6).all(axis=1)
        found[here, k] = (points @ cell.plane[:2] + cell.plane[2] - cell.floor)[here]
    return found


def steepest(room):
    return max(float(np.hypot(*cell.plane[:2])) for cell in cells(room))


@pytest.mark.parametrize("name", ["boathouse", "loft", "lean-to"])
def test_a_height_is_told_where_it_holds(name):
    """At what its leader points to within 2 mm of paper, at home as near as its lettering goes."""
    room = room_of(name)
    labels = [label for label, _ in _ceilings(Placing(SCALE, 0.0, 0.0), room)]
    assert labels
    for label in labels:
        said = float(label.lines[0].removeprefix("CH "))
        (ring,) = label.home
        rise = steepest(room) * SCALE
        at = heights_at(room, np.array([label.anchor]) * SCALE)
        assert np.nanmin(np.abs(at - said)) <= 2.0 * rise + 0.1
        corners = heights_at(room, ring * SCALE)
        inside = corners[~np.isnan(corners).all(axis=1)]
        reach = np.hypot(20.0, PAPER) * rise
        assert (np.nanmin(np.abs(inside - said), axis=1) <= reach + 0.1).all()


def test_a_height_is_led_back_where_its_side_is_full():
    """Beyond its side's strip it is drawn with a leader that ends beside the side."""
    board, within = Board(200.0, 100.0), (0.0, 0.0, 200.0, 100.0)
    board.keep((40.0, 30.0, 120.0, 45.0))
    strip = np.array([[40.0, 30.0], [120.0, 30.0], [120.0, 39.0], [40.0, 39.0]])
    assert board.place(Label(("CH 900",), (80.0, 31.0), "CH 900", (strip,), near=0.8), within)
    assert len(board.leaders) >= 1


def test_a_label_beside_a_figure_does_not_read_on_into_it():
    """More than a letter's width apart, though it would fit nearer."""
    board, within = Board(200.0, 100.0), (0.0, 0.0, 200.0, 100.0)
    assert chain(
        board, Line(upright=False, at=50.0, origin=20.0, scale=10.0), [0.0, 1200.0], within, 30.0
    )
    _, bottom, right, top = board.lettering[0]
    boxes = [(right + gap, bottom, right + gap + 15.0, top) for gap in (2.0, 5.0)]
    assert [board.free(box) for box in boxes] == [False, True]
