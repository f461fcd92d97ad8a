"""Tests for the roof triangle: exact triangles, published slopes of the trade, what is missing."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import umath

from massing.errors import GeometryError
from massing.survey.adjust import UndeterminedError
from massing.survey.blunders import find_blunder
from massing.survey.heights import SLOPE_READINGS, adjust_slope, slope_problem

HALF = {"eaves": 5.0, "ridge": 5.0, "run": 5.0, "slope": 5.0, "pitch": 0.5}


def triangle(eaves: float, ridge: float, run: float) -> dict[str, tuple[float, float]]:
    rise = ridge - eaves
    values = [eaves, ridge, run, math.hypot(rise, run), math.degrees(math.atan2(rise, run))]
    return {name: (v, HALF[name]) for name, v in zip(SLOPE_READINGS, values, strict=True)}


roofs = st.builds(
    lambda eaves, rise, run: triangle(eaves, eaves + rise, run),
    st.floats(300.0, 2600.0),
    st.floats(250.0, 3000.0),
    st.floats(600.0, 5000.0),
)


@given(roofs)
@settings(deadline=None, max_examples=40)
def test_any_readings_that_fix_the_triangle_give_it_back(roof):
    """All subsets of the five: either the triangle comes back, or something is truly missing."""
    for count in (3, 4, 5):
        for names in combinations(SLOPE_READINGS, count):
            given_readings = {name: roof[name] for name in names}
            # without a height the datum is free; run, slope and pitch are one triangle twice over
            if not {"eaves", "ridge"} & set(names):
                with pytest.raises(UndeterminedError):
                    adjust_slope(given_readings)
                continue
            found = adjust_slope(given_readings)
            for name in SLOPE_READINGS:
                assert found.values[name] == pytest.approx(roof[name][0], abs=1e-5), names


def test_run_slope_and_pitch_leave_the_height_free():
    roof = triangle(1200.0, 2700.0, 2000.0)
    readings = {name: roof[name] for name in ("run", "slope", "pitch")}
    with pytest.raises(UndeterminedError, match="the eaves height, the ridge height") as caught:
        adjust_slope(readings)
    assert caught.value.missing == 1


def test_two_missing_are_counted():
    with pytest.raises(UndeterminedError, match="2 measurements are missing") as caught:
        adjust_slope({"eaves": (1200.0, 5.0)})
    extra = {
        "the ridge height": ("ridge", 2700.0),
        "the run from eaves to ridge": ("run", 2000.0),
        "the slope length": ("slope", 2500.0),
        "the pitch": ("pitch", 36.87),
    }
    readings = {"eaves": (1200.0, 5.0)}
    for name in caught.value.settles:
        key, value = extra[name]
        readings[key] = (value, HALF[key])
    assert adjust_slope(readings).adjustment.freedom == 0


def test_a_three_four_five_roof_is_overdetermined_and_agrees():
    found = adjust_slope(triangle(1200.0, 2700.0, 2000.0))

    assert found.adjustment.freedom == 2
    assert found.adjustment.agrees
    assert found.values["slope"] == pytest.approx(2500.0)
    assert found.values["pitch"] == pytest.approx(math.degrees(math.atan(0.75)))


def test_doubts_of_slope_and_pitch_match_the_uncertainties_package():
    """From eaves, ridge and run alone the propagation is first order both ways."""
    readings = {name: triangle(1200.0, 2500.0, 2300.0)[name] for name in ("eaves", "ridge", "run")}
    eaves, ridge, run = (uncertainties.ufloat(v, h / math.sqrt(3.0)) for v, h in readings.values())
    found = adjust_slope(readings)

    theirs = umath.hypot(ridge - eaves, run)
    assert found.uncertainty["slope"] == pytest.approx(theirs.std_dev, rel=1e-9)
    pitch = umath.degrees(umath.atan2(ridge - eaves, run))
    assert found.uncertainty["pitch"] == pytest.approx(pitch.std_dev, rel=1e-9)


def test_influence_carries_a_longer_run_into_the_slope():
    readings = {name: triangle(1200.0, 2700.0, 2000.0)[name] for name in ("eaves", "ridge", "run")}
    found = adjust_slope(readings)

    np.testing.assert_allclose(found.influence["slope"], [-0.6, 0.6, 0.8], atol=1e-9)
    np.testing.assert_allclose(found.influence["run"], [0.0, 0.0, 1.0], atol=1e-9)
    assert found.names == ("eaves", "ridge", "run")


def test_a_ridge_read_a_hundred_out_is_caught():
    roof = triangle(1200.0, 2700.0, 2000.0)
    roof["pitch"] = (roof["pitch"][0], 0.1)
    roof["ridge"] = (2800.0, 5.0)
    blunder = find_blunder(slope_problem(roof))

    # slope, run and pitch check one another; eaves and ridge only each other
    assert blunder is not None
    assert {s.name for s in blunder.rivals} == {"the eaves height", "the ridge height"}
    assert "cannot tell which of the eaves height or the ridge height" in blunder.says
    assert "the ridge height would fit if read 100 too much (2700)" in blunder.says


def test_impossible_and_unknown_readings_are_refused():
    with pytest.raises(GeometryError, match=r"slope length \(1900\) is shorter than the run"):
        adjust_slope({"eaves": (1200, 5), "run": (2000, 5), "slope": (1900, 5)})
    with pytest.raises(GeometryError, match="shorter than the rise"):
        adjust_slope({"eaves": (1200, 5), "ridge": (3000, 5), "slope": (1700, 5)})
    with pytest.raises(GeometryError, match="no such reading 'rafter'"):
        adjust_slope({"rafter": (1200, 5)})
    with pytest.raises(GeometryError, match="the pitch needs a ± above zero"):
        adjust_slope({"pitch": (30, 0)})
