"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import pytest

from massing.survey.blunders import Suspect, _unsure
from massing.survey.methods import method_named, method_names


def suspect(name):
    return Suspect(0, name, 1000.0, 100.0, 5.0, 20.0, 0.1, agrees=True, slip=None)


@pytest.mark.parametrize(
    ("names", "listed"),
    [("ab", "a or b"), ("abc", "a, b or c"), ("abcd", "a, b, c or d")],
)
def test_every_rival_is_named_once(names, listed):
    assert f"which of {listed}" in _unsure(tuple(map(suspect, names)))


@pytest.mark.parametrize("name", method_names())
def test_no_method_is_surer_of_a_longer_length(name):
    """A half-width never shrinks with the length, and there is always one."""
    half = [method_named(name).half_width(length) for length in (1.0, 1000.0, 5000.0, 20_000.0)]
    assert half == sorted(half)
    assert half[0] > 0
