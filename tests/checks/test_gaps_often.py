"""A question asked often has one answer, whichever code gives it."""

from __future__ import annotations

import numpy as np
import pytest

from massing.checks import bodies, context, motions, together
from massing.checks.context import Context
from massing.checks.rules import rules_of
from massing.geometry.gaps import often
from massing.geometry.gaps.often import gaps_alongside, gaps_often
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import box
from tests.catalogue_rooms import layouts

ROOMS = 12


def asked(monkeypatch):
    """Solids and pairs that the check of moving parts asks about in rooms of the catalogue."""
    found = []

    def noted(solids, pairs):
        found.append((solids, pairs))
        return gaps_often(solids, pairs)

    monkeypatch.setattr(together, "gaps_often", noted)
    for project, layout in layouts(ROOMS):
        list(together.read(Context(layout, rules_of(project), reach=250.0)))
    return found


def measured(monkeypatch):
    """Solids and pairs that bodies and moving parts are measured by, in every world."""
    found = []

    def noted(solids, pairs):
        found.append((solids, pairs))
        return gaps_alongside(solids, pairs)

    for where in (context, together):
        monkeypatch.setattr(where, "gaps_alongside", noted)
    for project, layout in layouts(ROOMS):
        given = Context(layout, rules_of(project), reach=250.0)
        for check in (bodies, motions, together):
            list(check.read(given))
    return found


def by(spent, monkeypatch, question):
    """The answer of the array code (spent 0), or of the compiled kernel."""
    monkeypatch.setattr(often._Spent, "pairs", spent)
    return gaps_often(*question)


def test_both_ways_answer_the_same_to_the_last_bit(monkeypatch):
    questions = asked(monkeypatch)
    assert sum(len(pairs) for _, pairs in questions) > 100
    for question in questions:
        plain, quick = (by(n, monkeypatch, question) for n in (0, often._PATIENCE))
        assert np.array_equal(plain[0], quick[0])
        assert np.array_equal(plain[1], quick[1])


def test_bodies_are_measured_the_same_by_both(monkeypatch):
    """Gaps, and the normals and points that moves and words are made of."""
    questions = measured(monkeypatch)
    assert sum(len(pairs) for _, pairs in questions) > 100
    for question in questions:
        plain, quick = [], []
        for spent, found in ((0, plain), (often._PATIENCE, quick)):
            monkeypatch.setattr(often._Spent, "pairs", spent)
            gaps = gaps_alongside(*question)
            found += [gaps.gap, gaps.normal, gaps.at]
        assert all(np.array_equal(one, other) for one, other in zip(plain, quick, strict=True))


def test_it_is_the_plain_answer_but_for_the_rounding(monkeypatch):
    for solids, pairs in asked(monkeypatch):
        told, plain = gaps_often(solids, pairs), signed_gaps(solids, pairs)
        assert told[0] == pytest.approx(plain.gap[0], abs=1e-9)
        assert told[1] == pytest.approx(plain.at[0], abs=1e-4)


def test_what_was_spent_is_counted_and_then_no_more(monkeypatch):
    monkeypatch.setattr(often._Spent, "pairs", 0)
    two = [box([0, 0, 0], [9, 9, 9]), box([8, 0, 0], [20, 9, 9])]
    gaps_often(two, np.array([[0, 1]] * 7))
    assert often._Spent.pairs == 7
    gaps_often(two, np.array([[0, 1]] * often._PATIENCE))
    spent = often._Spent.pairs
    gaps_often(two, np.array([[0, 1]]))
    assert often._Spent.pairs == spent
