"""Mistakes that planted changes showed no test would notice, of forms and roofs: exact values."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.survey.buildups import Studs
from massing.survey.forms import FixedTurns, Leaning, adjust_form
from massing.survey.heights import slope_problem
from massing.survey.readings import OutlineSurvey, length
from massing.survey.roofs import RoofReading, RoofSurvey, adjust_roof, roof_problem

SQUARE = np.array([[0.0, 0.0], [4000.0, 0.0], [4000.0, 3000.0], [0.0, 3000.0]])


def all_round(half=(3.0, 3.0, 3.0, 3.0), diagonal=5000.0):
    sizes = (4000.0, 3000.0, 4000.0, 3000.0)
    walls = tuple(length(k, (k + 1) % 4, sizes[k], half[k]) for k in range(4))
    return OutlineSurvey(tuple("ABCD"), (*walls, length(0, 2, diagonal, 4.0)))


@pytest.mark.parametrize("turned", [0.0, 360.0, -360.0])
def test_square_directions_are_exact_whatever_turns_are_added(turned):
    ways = FixedTurns((0.0 + turned, 90.0 + turned, 180.0 + turned, 270.0 + turned)).ways()
    assert ways.tolist() == [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]]


def test_a_leaning_room_where_it_stands():
    """4000 x 3000 leaning to 60 degrees: D at 1500, 3000 sin 60; slopes by hand."""
    points, slopes = Leaning(1.0, 1.0).points(np.array([4000.0, 3000.0, 60.0]))
    high = 3000.0 * math.sin(math.radians(60.0))
    assert points == pytest.approx(np.array([[0, 0], [4000, 0], [5500, high], [1500, high]]))
    by_lean = [-math.radians(1.0) * high, math.radians(1.0) * 1500.0]
    assert slopes == pytest.approx(
        np.array([[0, 0, 0], [0, 0, 0], [1, 0, 0], [0, 0, 0], [1, 0.5, by_lean[0]],
                  [0, math.sin(math.radians(60.0)), by_lean[1]], [0, 0.5, by_lean[0]],
                  [0, math.sin(math.radians(60.0)), by_lean[1]]])
    )  # fmt: skip


def test_a_walk_with_fixed_turns_in_every_part():
    survey = all_round()
    found = adjust_form(OutlineSurvey(tuple("ABCD"), survey.readings[:4]), FixedTurns(
        (0.0, 90.0, 180.0, 270.0)))  # fmt: skip
    assert found.corners == pytest.approx(SQUARE)
    # Opposite walls share alike: each corner moves by half of each.
    assert found.influence[2] == pytest.approx([0.5, 0.0, 0.5, 0.0])
    assert found.influence[7] == pytest.approx([0.0, 0.5, 0.0, 0.5])
    assert found.covariance[2, 2] == pytest.approx(1.5)
    assert found.adjustment.freedom == 2
    assert found.closing.distance == pytest.approx(0.0, abs=1e-9)


def roof(*readings, sides=("south", "north")):
    return RoofSurvey(sides, tuple(RoofReading(*each, 5.0) for each in readings))


@pytest.mark.parametrize(
    ("readings", "start"),
    [
        ([("ridge", 0, 2700.0), ("eaves", 0, 1200.0), ("eaves", 1, 1500.0), ("run", 0, 2000.0),
          ("width", 0, 3600.0)], [2700.0, 1200.0, 2000.0, 1500.0, 1600.0]),
        ([("ridge", 0, 2700.0), ("eaves", 0, 1200.0), ("eaves", 1, 1500.0), ("slope", 0, 2500.0),
          ("width", 0, 3600.0)], [2700.0, 1200.0, 2000.0, 1500.0, 1600.0]),
        ([("ridge", 0, 2700.0), ("eaves", 0, 1200.0), ("pitch", 0, 45.0), ("width", 0, 3600.0)],
         [2700.0, 1200.0, 1500.0, 1700.0, 2100.0]),
        ([("ridge", 0, 2700.0), ("slope", 1, 2000.0), ("pitch", 1, 60.0), ("width", 0, 3600.0)],
         [2700.0, 1700.0, 2600.0, 1700.0, 1000.0]),
        ([("ridge", 0, 2700.0), ("width", 0, 3600.0)], [2700.0, 1700.0, 1800.0, 1700.0, 1800.0]),
        ([], [2500.0, 1500.0, 2000.0, 1500.0, 2000.0]),
    ],
)  # fmt: skip
def test_a_roof_is_begun_from_what_was_read(readings, start):
    (first,) = roof_problem(roof(*readings)).starts
    assert first == pytest.approx(start)


def test_two_slopes_that_share_a_ridge_in_closed_form():
    """Ridge 2700, eaves 1200 and 1500, a pitch of 45 on the south, a width of 3600."""
    found = adjust_roof(roof(("ridge", 0, 2700.0), ("eaves", 0, 1200.0), ("eaves", 1, 1500.0),
                             ("pitch", 0, 45.0), ("width", 0, 3600.0)))  # fmt: skip
    assert found.unknowns == pytest.approx([2700.0, 1200.0, 1500.0, 1500.0, 2100.0])
    # The south run is (ridge - eaves) / tan pitch; the north one what is left of the width.
    by_pitch = -1500.0 / math.sin(math.radians(45.0)) ** 2 * math.radians(1.0)
    assert found.influence[2] == pytest.approx([1.0, -1.0, 0.0, by_pitch, 0.0])
    assert found.influence[4] == pytest.approx([-1.0, 1.0, 0.0, -by_pitch, 1.0])


@pytest.mark.parametrize(
    ("given", "start"),
    [
        ({"eaves": 1200.0, "ridge": 2700.0, "run": 2000.0}, [1200.0, 2700.0, 2000.0]),
        ({"ridge": 2700.0, "run": 1500.0, "pitch": 45.0}, [1200.0, 2700.0, 1500.0]),
        ({"eaves": 1200.0, "run": 2000.0, "slope": 2500.0}, [1200.0, 2700.0, 2000.0]),
        ({"eaves": 1200.0, "slope": 3000.0, "pitch": 30.0},
         [1200.0, 2700.0, 3000.0 * math.cos(math.radians(30.0))]),
        ({"eaves": 1200.0, "ridge": 2700.0, "pitch": 45.0}, [1200.0, 2700.0, 1500.0]),
    ],
)  # fmt: skip
def test_a_slope_is_begun_where_three_readings_put_it(given, start):
    first, _ = slope_problem({name: (value, 5.0) for name, value in given.items()}).starts
    assert first == pytest.approx(start)


def test_what_is_unknown_of_a_leaning_room_is_named():
    assert Leaning(4000.0, 3000.0).unknowns(all_round()) == ("the width", "the depth", "the lean")


def test_studs_are_hollow_unless_said():
    words = {"size": "95 x 45", "centres": "600"}
    assert not Studs.model_validate(words).insulated
    assert Studs.model_validate({**words, "insulated": "yes"}).insulated
