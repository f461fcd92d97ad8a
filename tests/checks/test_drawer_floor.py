"""Floor to stand on before a pulled drawer: full travel and a person's 600, at the boundary.

Common practice; a US housing manual of 1973 asks 36 in (914) before a chest of drawers, seen
second-hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks import drawer_floor
from massing.checks.context import Context
from massing.checks.finding import Verdict
from massing.checks.nudges import moved_layout
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values

TEXT = """
massing: 1
project: Store
room: {{size: {size}, ceiling: [{{flat: 2400}}]}}
rules: {{{rules}}}
items:
  cabinet:
    body: 800 x 500 x 900
    weight: 60
    motions:
      - {{name: top drawer, kind: drawer, low: 600, height: 200, travel: 400}}
      - {{name: low drawer, kind: drawer, low: 100, height: 200, travel: 300}}
  crate: {{body: {crate}, weight: 20}}
  shelf: {{body: 2000 x 300 x 300, mount: wall}}
schemes:
  a: [{rows}]
"""
CABINET = "{item: cabinet, at: [2000, 3000], facing: south}"


def answer(*rows, size="6000 x 5000", rules="", crate="2000 x 400 x 900"):
    text = TEXT.format(size=size, rows=", ".join(rows), rules=rules, crate=crate)
    return check_scheme(parse_project(text), "a")


def before(*rows, **more):
    return [f for f in answer(*rows, **more).findings if f.check == "before drawer"]


def crate(off, x=1400):
    return f"{{item: crate, at: [{x}, {3000 - off - 400}]}}"


@pytest.mark.parametrize(("off", "told"), [(1000, False), (999.9, True), (450, True)])
def test_travel_and_a_person(off, told):
    """400 of travel and 600 to stand: a tenth less is a caution, of the drawer with least."""
    found = before(CABINET, crate(off))
    assert bool(found) is told
    if told:
        assert found[0].verdict is Verdict.CAUTION
        assert found[0].gap_mm == pytest.approx(off - 400, abs=1e-4)
        assert "top drawer of cabinet, pulled 400" in found[0].says
        assert "914" in found[0].source


def test_a_drawer_that_is_stopped_is_told_once():
    """Where the crate stops the drawer itself, that is the finding."""
    found = answer(CABINET, crate(350)).findings
    assert {f.check for f in found if "crate" in f.items} == {"motion"}


@pytest.mark.parametrize(("x", "told"), [(2300, False), (2299.9, True)])
def test_half_a_person_past_its_end(x, told):
    """The drawer begins at 2000: from 1700, half a person past it, to the crate 600 is enough."""
    assert bool(before(CABINET, crate(700, x))) is told


@pytest.mark.parametrize(
    ("facing", "at", "block"),
    [
        ("south", (2000, 3000), (1400, 1700)),
        ("north", (2000, 1000), (1400, 2400)),
    ],
)
def test_mirrored(facing, at, block):
    """900 before either way leaves 500."""
    cabinet = f"{{item: cabinet, at: [{at[0]}, {at[1]}], facing: {facing}}}"
    (found,) = before(cabinet, f"{{item: crate, at: [{block[0]}, {block[1]}]}}")
    assert found.gap_mm == pytest.approx(500.0, abs=1e-4)


@pytest.mark.parametrize(
    ("facing", "at", "block"),
    [("west", (3000, 2000), (1700, 1400)), ("east", (1000, 2000), (2400, 1400))],
)
def test_turned(facing, at, block):
    """A quarter turn either way leaves the same 500."""
    cabinet = f"{{item: cabinet, at: [{at[0]}, {at[1]}], facing: {facing}}}"
    row = f"{{item: crate, at: [{block[0]}, {block[1]}]}}"
    (found,) = before(cabinet, row, crate="400 x 2000 x 900")
    assert found.gap_mm == pytest.approx(500.0, abs=1e-4)


def test_a_wall_and_a_shelf_over_the_shoulder():
    """A wall counts; a shelf that begins at 1400 is looked under."""
    against = "{item: cabinet, against: north, along: 2000}"
    (found,) = before(against, size="6000 x 1499.9")
    assert found.gap_mm == pytest.approx(599.9, abs=1e-4)
    assert found.items == ("cabinet", "south")
    assert before(against, size="6000 x 1500") == []
    shelf = "{item: shelf, against: south, along: 2000, height: 1400}"
    assert before(against, shelf, size="6000 x 1600") == []
    assert len(before(against, shelf.replace("1400", "1390"), size="6000 x 1600")) == 1


def test_another_thing_frees_nothing_and_a_larger_need_clears_nothing():
    """The nearer of two crates counts; asking for more keeps it."""
    (one,) = before(CABINET, crate(800))
    (two,) = before(CABINET, crate(800), "{item: crate, at: [1400, 1000]}")
    assert one.gap_mm == two.gap_mm == pytest.approx(400.0, abs=1e-4)
    assert before(CABINET, crate(800), rules="drawer: 400") == []
    for asked in (401, 600, 900):
        (found,) = before(CABINET, crate(800), rules=f"drawer: {asked}")
        assert found.needs_mm == asked
        assert found.gap_mm == pytest.approx(400.0, abs=1e-4)


def read_moved(row, crate, moved, by):
    """What is read once a thing is moved by so little, level and square to the fronts."""
    text = TEXT.format(size="6000 x 5000", rows=f"{CABINET}, {row}", rules="", crate=crate)
    project = parse_project(text, "a")
    layout = place(project, "a", Values())
    layout, _ = moved_layout(layout, moved, np.array([0.0, by, 0.0]))
    found = drawer_floor.read(Context(layout, rules_of(project), reach=150.0))
    return [(r.items, r.detail().says, round(float(r.gap[0]), 3)) for r in found]


@pytest.mark.parametrize("by", [0.0, 1e-9, -1e-9, 1e-3, -1e-3])
@pytest.mark.parametrize("moved", ["crate", "cabinet"])
def test_what_touches_the_fronts_is_told_whatever_rounding_says(by, moved):
    """300 deep it ends where the low drawer does, and leaves its floor; 301 deep it takes it."""
    assert not read_moved("{item: crate, at: [1400, 2700]}", "2000 x 300 x 900", moved, by)
    ((items, says, gap),) = read_moved(
        "{item: crate, at: [1400, 2699]}", "2000 x 301 x 900", moved, by
    )
    assert items == ("cabinet", "crate")
    assert gap == pytest.approx(0.0, abs=0.02)
    assert "low drawer" in says


@pytest.mark.parametrize(("travel", "told"), [(299.9, False), (300, True)])
def test_a_shallow_drawer_wants_no_floor_of_its_own(travel, told):
    """A soap drawer is pulled from where one stands anyway; common practice, no source."""
    text = TEXT.replace("travel: 300", "travel: 200").replace("travel: 400", f"travel: {travel}")
    rows = f"{CABINET}, {crate(500)}"
    text = text.format(size="6000 x 5000", rows=rows, rules="", crate="2000 x 400 x 900")
    found = check_scheme(parse_project(text), "a").findings
    assert any(f.check == "before drawer" for f in found) is told
