"""What takes its air from the room is not shut in: the open area round it, at the boundary.

645 cm² is 100 square inches, asked of a dryer's cupboard by US codes (from memory); that it is
never in a sealed cupboard is common practice.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.items.catalog import load_item
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Laundry
room: {{size: 5000 x 4000, ceiling: [{{flat: {ceiling}}}]}}
rules: {{{rules}}}
items:
  dryer: {{body: 600 x 600 x 850, weight: 40, breathes: {breathes}}}
  side: {{body: 20 x 700 x 1000, weight: 8}}
  back: {{body: 640 x 20 x 1000, weight: 8}}
  lid: {{body: 640 x 740 x 20, weight: 8, mount: wall}}
  door: {{body: {door} x 20 x 1000, weight: 8}}
schemes:
  a: [{rows}]
"""
# A cupboard of boards round a dryer at 1000..1600, 1000..1600, 20 of air on each side.
LEFT = "{item: side, at: [960, 960]}"
RIGHT = "{item: side, name: right, at: [1620, 960]}"
BACK = "{item: back, at: [980, 1640]}"
LID = "{item: lid, at: [980, 940, 870]}"
DOOR = "{item: door, at: [980, 940]}"
DRYER = "{item: dryer, at: [1000, 1000], facing: south}"


def shut(*rows, door=640, rules="", ceiling=2400, breathes="yes"):
    text = TEXT.format(
        rows=", ".join((DRYER, *rows)), door=door, rules=rules, ceiling=ceiling, breathes=breathes
    )
    answer = check_scheme(parse_project(text), "a", nudges=False)
    return [f for f in answer.findings if f.check == "shut in"]


ALL = (LEFT, RIGHT, BACK, LID, DOOR)


def test_a_sealed_cupboard():
    """Boards all round leave nothing."""
    (found,) = shut(*ALL)
    assert found.verdict is Verdict.CAUTION
    assert found.gap_mm == pytest.approx(0.0, abs=1e-6)
    assert (found.needs_mm, found.unit) == (645.0, "cm2")
    assert "side" in found.says
    assert "645" in found.source


@pytest.mark.parametrize("gone", range(5))
def test_with_any_side_open_it_breathes(gone):
    """An alcove, a counter without a door, a cupboard without a back: none is sealed."""
    assert shut(*(row for k, row in enumerate(ALL) if k != gone)) == []


# The door's board runs from 980; the dryer's front is 1000..1600 wide and 850 high.
@pytest.mark.parametrize(
    ("open_mm", "told"), [(645 * 100 / 850 + 0.1, False), (645 * 100 / 850 - 0.1, True)]
)
def test_the_boundary(open_mm, told):
    """A gap beside the door of 645 cm² in all: a tenth of a millimetre narrower is told."""
    found = shut(*ALL, door=round(620 - open_mm, 4))
    assert bool(found) is told
    if told:
        assert found[0].gap_mm == pytest.approx(open_mm * 8.5, abs=0.2)


def test_further_off_is_open():
    """A wall 150 off does not close a side; nearer does. The project may change that."""
    rows = [LEFT, RIGHT, BACK, LID]
    for off, told in ((150, False), (149, True)):
        door = f"{{item: door, at: [980, {1000 - off - 20}]}}"
        assert bool(shut(*rows, door)) is told
    assert shut(*rows, "{item: door, at: [980, 830]}", rules="shut_in: 200") != []


def test_a_ceiling_closes_the_top():
    """In place of the lid, a ceiling 50 over it."""
    assert shut(LEFT, RIGHT, BACK, DOOR, ceiling=1000) == []
    assert shut(LEFT, RIGHT, BACK, DOOR, ceiling=999) != []


def test_what_does_not_breathe_may_be_shut_in():
    """Only items that say so."""
    assert shut(*ALL, breathes="no") == []


def test_another_thing_frees_nothing_and_a_larger_need_clears_nothing():
    """One more board changes nothing; more air asked for keeps the finding."""
    more = "{item: back, name: second back, at: [980, 1660]}"
    assert len(shut(*ALL, more)) == 1
    half = round(620 - 80.0, 4)
    assert shut(*ALL, door=half) == []
    assert len(shut(*ALL, door=half, rules="air_opening: 900")) == 1


@pytest.mark.parametrize("item", ["dryer", "vented dryer", "fridge freezer", "undercounter fridge"])
def test_the_catalogue_says_what_breathes(item):
    """Dryers and cold stores."""
    assert load_item(item).breathes
