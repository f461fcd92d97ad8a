"""Things placed where nobody would, of sizes nobody has: an answer all the same, all of it finite.

The answers are not judged here; warnings are errors, so no sum may go wrong on the way either.
"""

from __future__ import annotations

import json
import random

import pytest

from massing.checks.run import check_scheme
from massing.cli.text import answer_text
from massing.handover.answer import answer_dict
from massing.project.read import parse_project

HEAD = """massing: 1
project: p
room:
  size: 4000 ±20 x 3000
  ceiling: [{slopes: {south: 1900, north: 2600}}]
  doors: [{name: entry, wall: west, along: 700, leaf: 762 x 1881 x 44}]
items:
  crate: {body: 600 x 400 x 500}
  speck: {body: 0.001 mm x 0.001 mm x 0.001 mm}
  huge: {body: 900000 x 900000 x 900000}
  unsure: {body: 600 ±599 x 400 x 500}
  sheet: {body: 600 x 400 x 0.01}
  pole: {body: 10 x 10 x 2500, mount: ceiling}
  chest:
    body: 600 x 600 x 900
    motions: [{name: lid, kind: lid}, {name: door, kind: leaf},
              {name: drawer, kind: drawer, travel: 500}]
  wide: {body: 600 x 400 x 500, zone: {front: 900000}}
schemes:
  only:
"""
PLACES = (
    "item: crate, at: [-5000, -5000]",
    "item: crate, at: [900000, 0]",
    "item: crate, at: [0, 0, -500]",
    "item: crate, at: [0, 0, 900000]",
    "item: crate, against: north, along: 99999",
    "item: crate, against: north, along: -99999",
    "item: crate, against: north, off: -99999",
    "item: crate, against: north, top: -5",
    "item: crate, against: north, drop: 9000",
    "item: crate, against: north, height: -50",
    "item: crate, at: [4000, 0]",
    "item: crate, at: [3999.9999999, 0]",
    "item: crate, at: [0.0000001, 0]",
    "item: crate, at: [-5000, 0], drop: 5",
    "item: speck, at: [5, 5]",
    "item: huge, at: [0, 0]",
    "item: unsure, at: [5, 5]",
    "item: sheet, at: [0, 0]",
    "item: pole, at: [0, 0]",
    "item: pole, at: [-900, -900]",
    "item: chest, at: [100, 100], turn: 33",
    "item: chest, corner: [north, east]",
    "item: wide, at: [0, 0]",
)


def assert_answered(*places: str) -> None:
    text = HEAD + "".join(f"    - {{{words}}}\n" for words in places)
    answer = check_scheme(parse_project(text), "only")
    json.dumps(answer_dict(answer), allow_nan=False)
    assert answer_text(answer, every=True)


@pytest.mark.parametrize("words", PLACES)
def test_one_odd_thing(words):
    """Each alone."""
    assert_answered(words)


@pytest.mark.parametrize("seed", range(12))
def test_three_odd_things(seed):
    """And together."""
    assert_answered(*random.Random(seed).sample(PLACES, 3))
