"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import pytest

from massing.survey.blunders import Suspect, _unsure


def suspect(name):
    return Suspect(0, name, 1000.0, 100.0, 5.0, 20.0, 0.1, agrees=True, slip=None)


@pytest.mark.parametrize(
    ("names", "listed"),
    [("ab", "a or b"), ("abc", "a, b or c"), ("abcd", "a, b, c or d")],
)
def test_every_rival_is_named_once(names, listed):
    assert f"which of {listed}" in _unsure(tuple(map(suspect, names)))
