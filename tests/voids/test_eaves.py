"""Tests for massing.voids.eaves: unused wedges along eaves."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.rules import Rules
from massing.cli.voids_command import command
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex, hull
from massing.scheme.layout import Layout
from massing.voids.eaves import Wedge, eaves_wedges, wedge_words
from massing.voids.space import taken_up
from tests.voids.rooms import EXAMPLES, boxes, laid, project_of

SLOPED = "size: 4000 x 3000\nceiling: [{slopes: {south: 500, north: 2600}}]"
LINE = 1500 / 0.7  # mm from the south wall, where h = 500 + 0.7 y is 2000


def test_up_to_where_one_stands():
    """Empty: the whole south wall, as deep as to the 2000 line (by hand)."""
    (wedge,) = eaves_wedges(laid(boxes(room=SLOPED)), Rules())
    assert wedge.wall == "south"
    assert (wedge.start, wedge.stop) == pytest.approx((0.0, 4000.0))
    assert (wedge.depth, wedge.at_wall, wedge.at_front) == pytest.approx((LINE, 500.0, 2000.0))
    assert wedge.volume == pytest.approx(4000 * LINE * 1250)
    assert wedge_words(wedge) == (
        "south wall, 0 to 4000 along: 4000 x 2142.9 deep, from 500 at the wall to 2000 high, at 0"
    )


def test_beside_a_thing_and_before_it():
    """A case in the south-west corner ends it; faced from inside the left end is in the east."""
    case = boxes((0, 0, 0, 1000, 500, 400), room=SLOPED)
    (wedge,) = eaves_wedges(laid(case), Rules())
    assert (wedge.start, wedge.stop) == pytest.approx((0.0, 3000.0))
    low = boxes((0, 700, 0, 4000, 500, 600), room=SLOPED)
    (wedge,) = eaves_wedges(laid(low), Rules())
    assert (wedge.depth, wedge.at_front) == pytest.approx((700.0, 990.0))


def test_a_triangle_and_a_level_ceiling():
    """Where the slope comes down to the floor it is a triangle; a level ceiling has no eaves."""
    down = "size: 4000 x 3000\nceiling: [{slopes: {south: 0, north: 2600}}]"
    (wedge,) = eaves_wedges(laid(boxes(room=down)), Rules())
    assert wedge.at_wall == 0.0
    assert wedge.volume == pytest.approx(4000 * wedge.depth * wedge.at_front / 2)
    assert eaves_wedges(laid(boxes()), Rules()) == ()


def test_a_step_ends_it():
    """A wedge stands on one level, that of the floor under it."""
    step = SLOPED + "\nfloor: [{level: 0}, {from: east, depth: 1500, level: 100}]"
    found = eaves_wedges(laid(project_of("schemes: {one: []}", step)), Rules())
    rows = {wedge.low: (wedge.start, wedge.stop) for wedge in found}
    assert rows[0.0] == pytest.approx((1500.0, 4000.0))
    assert rows[100.0] == pytest.approx((0.0, 1500.0))


def as_solid(layout: Layout, wedge: Wedge) -> Convex:
    wall = layout.room.wall(wedge.wall)
    points = []
    for along in (wedge.start, wedge.stop):
        spot = wall.left[0] + along * wall.along[0]
        front = spot - wedge.depth * wall.outward[0]
        points += [[*spot, wedge.low], [*front, wedge.low], [*front, wedge.low + wedge.at_front]]
        points += [[*spot, wedge.low + wedge.at_wall]] if wedge.at_wall else []
    return hull(points)


place = st.tuples(
    st.integers(0, 34), st.integers(0, 26), st.just(0), st.integers(2, 12), st.integers(2, 9),
    st.integers(2, 15),
).map(lambda row: tuple(100 * v for v in row))  # fmt: skip


@given(st.lists(place, max_size=4))
@settings(max_examples=12, deadline=None)
def test_wedges_are_empty_and_apart(places):
    """No wedge overlaps anything in use, or another; its volume is that of its corners."""
    layout = laid(boxes(*places, room=SLOPED))
    wedges = eaves_wedges(layout, Rules())
    solids = [as_solid(layout, wedge) for wedge in wedges]
    for wedge, solid in zip(wedges, solids, strict=True):
        assert float(solid.volume[0]) == pytest.approx(wedge.volume, rel=1e-9)
    used = [solid for group in taken_up(layout, Rules()) for solid in group.solids]
    pairs = [(i, j) for i in range(len(solids)) for j in range(i + 1, len(solids) + len(used))]
    if pairs:
        gaps = signed_gaps([*solids, *used], np.array(pairs)).gap[0]
        assert gaps.min() >= -1e-6


def test_the_command_tells_them():
    """In words and in JSON."""
    words = [str(EXAMPLES / "loft.yaml")]
    told = CliRunner().invoke(command, words, standalone_mode=False).output
    assert "wedges along eaves" in told
    said = CliRunner().invoke(command, [*words, "--format", "json"], standalone_mode=False).output
    first = json.loads(said)["wedges"][0]
    assert first["wall"] == "south"
    assert first["litres"] == pytest.approx(1.8 * 1200 * (0.9 + 1.9) / 2)
