"""A part that stands open is a body where it stands, and moves no more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from massing.checks import bodies, motions
from massing.checks.context import Context
from massing.checks.rules import rules_of
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.scheme.states import with_states
from massing.survey.values import Values

TEXT = """
massing: 1
project: Open things
room:
  size: 4000 x 3000
  ceiling: [{flat: 2400}]
items:
  locker:
    body: 600 x 500 x 1800
    motions:
      - {name: door, kind: leaf, hinge: left, low: 100, height: 1700}
      - {name: tray, kind: drawer, shift: 300, width: 300, low: 0, height: 90, travel: 300}
  bin: {body: 300 x 300 x 600}
schemes:
  all:
    - {item: locker, at: [1000, 2000], facing: south}
    - {item: bin, at: [900, 1600]}
"""


@pytest.fixture
def layout():
    return place(parse_project(TEXT), None, Values())


def test_an_open_door_is_a_body(layout):
    """Open it stands 600 out of the front at y 2000, 20 thick from its hinge at x 1000."""
    locker = with_states(layout.item("locker"), {"door": "open"})
    leaf = locker.parts[-1].solid
    np.testing.assert_allclose(leaf.low[0], [1000, 1400, 100], atol=1e-6)
    np.testing.assert_allclose(leaf.high[0], [1020, 2000, 1800], atol=1e-6)
    assert [motion.name for motion in locker.motions] == ["tray"]
    assert locker.low.tolist() == layout.item("locker").low.tolist()


def test_a_drawer_pulled_out(layout):
    locker = with_states(layout.item("locker"), {"tray": "out"})
    assert locker.parts[-1].solid.low[0, 1] == pytest.approx(1700.0)


def test_shut_and_unknown_states_change_nothing(layout):
    locker = layout.item("locker")
    assert with_states(locker, {}) is locker
    assert with_states(locker, {"door": "shut", "lamp": "open"}) is locker


def test_the_checks_take_it_as_it_stands(layout):
    """Shut, the bin stops the door; open, the door stands in the bin: one thing is said."""
    rules = rules_of(parse_project(TEXT))
    items = (with_states(layout.items[0], {"door": "open"}), layout.items[1])
    for there, moves, meets in ((layout, 1, 0), (replace(layout, items=items), 0, 1)):
        context = Context(there, rules, reach=rules.near)
        short = [r for r in motions.read(context) if r.gap[0] < r.needs]
        hit = [r for r in bodies.read(context) if r.gap[0] < 0]
        assert (len(short), len(hit)) == (moves, meets)
