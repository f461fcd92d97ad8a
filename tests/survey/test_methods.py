"""Tests for the default ± of each way of measuring."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.errors import InputError
from massing.survey.combine import SHAPES
from massing.survey.methods import METHODS, default_half_width, method_named, method_names

# Ranges over a room of one to ten metres: common practice, no source.
ROOM_RANGES = {
    "tape": (3.0, 5.0),
    "laser": (3.0, 5.0),
    "client tape": (10.0, 20.0),
    "phone": (10.0, 30.0),
    "catalogue": (5.0, 5.0),
}


@pytest.mark.parametrize("name", sorted(ROOM_RANGES))
@given(mm=st.floats(0.0, 10_000.0))
def test_over_a_room_the_half_width_stays_in_its_range(name: str, mm: float):
    low, high = ROOM_RANGES[name]

    assert low - 1e-9 <= default_half_width(name, mm) <= high + 1e-9


def test_a_tape_default_is_never_tighter_than_the_instrument():
    """NIST Handbook 44: 0.8 mm up to 1.8 m and 1.6 mm up to 9 m (as quoted in the table)."""
    assert default_half_width("tape", 1800.0) >= 0.8
    assert default_half_width("tape", 9000.0) >= 1.6


def test_photo_and_guess_are_shares_of_the_length():
    assert default_half_width("photo", 2000.0) == 100.0
    assert default_half_width("guess", -2000.0) == 200.0


def test_every_row_says_where_its_figure_comes_from():
    for method in METHODS:
        assert "no source" in method.basis
        assert method.shape in SHAPES
    assert len(set(method_names())) == len(METHODS)


def test_an_unknown_method_names_the_nearest():
    with pytest.raises(InputError, match="did you mean 'laser'"):
        method_named("lazer")
