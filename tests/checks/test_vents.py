"""Air before vents, flues and gas faces: 300 (common practice, no source), never shared.

Boundaries on both sides, every face, never accepted away, light things and stacks included.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Vented room
room: {{size: 5000 x 4000, ceiling: [{{flat: 2400}}]}}
rules: {{{rules}}}
items:
  grille: {{body: 220 x 10 x 150, mount: wall, vents: [front]}}
  heater: {{body: 600 x 400 x 800, weight: 30, vents: [{faces}]}}
  box: {{body: 600 x 400 x 300, weight: 2}}
  shelf: {{body: 600 x 400 x 100, mount: wall, weight: 9}}
schemes:
  a:
    add: [{rows}]
    partitions: [{partitions}]
"""


def vents(*rows, faces="front", rules="", partitions=""):
    text = TEXT.format(rows=", ".join(rows), faces=faces, rules=rules, partitions=partitions)
    answer = check_scheme(parse_project(text), "a")
    return [f for f in answer.findings if f.check == "vent"]


GRILLE = "{item: grille, against: north, along: 2000, height: 100, stays: yes}"


def box(off, x=2000, more=""):
    """A box so far before the grille, which stands 10 proud of the wall at y 4000."""
    return f"{{item: box, at: [{x}, {3990 - off - 400}]{more}}}"


@pytest.mark.parametrize(("off", "told"), [(300, False), (299.9, True), (0, True)])
def test_an_air_brick_is_kept_clear(off, told):
    """Two kilograms of box count as much as anything."""
    found = vents(GRILLE, box(off))
    assert bool(found) is told
    if told:
        assert found[0].verdict is Verdict.CONFLICT
        assert found[0].gap_mm == pytest.approx(off, abs=1e-4)
        assert found[0].needs_mm == 300.0
        assert found[0].source == "common practice, no source"


@pytest.mark.parametrize("words", ["vent", "grille"])
def test_it_is_never_accepted_away(words):
    """Whatever the file accepts, it stays a conflict."""
    (found,) = vents(GRILLE, box(200, more=f", accept: [{words}]"))
    assert found.verdict is Verdict.CONFLICT
    assert "accepted" not in found.says


def test_the_nudge_moves_the_box_and_not_what_stays():
    """100 further off."""
    (found,) = vents(GRILLE, box(200))
    assert found.nudge.item == "box"
    assert found.nudge.by_mm == pytest.approx((0.0, -100.0, 0.0), abs=0.11)


@pytest.mark.parametrize(("x", "told"), [(2220, False), (2219.9, True), (1400, False)])
def test_only_what_is_before_it_counts(x, told):
    """The grille runs from 2000 to 2220: beside that, nothing is covered."""
    assert bool(vents(GRILLE, box(100, x))) is told


@pytest.mark.parametrize(
    ("face", "at"),
    [
        ("front", (2000, 1301)),
        ("back", (2000, 2699)),
        ("left", (1101, 2000)),
        ("right", (2899, 2000)),
    ],
)
def test_every_upright_face(face, at):
    """A heater at 2000..2600, 2000..2400: 299 off its own face is told, 301 is not."""
    heater = "{item: heater, at: [2000, 2000], facing: south}"
    (found,) = vents(heater, f"{{item: box, at: [{at[0]}, {at[1]}]}}", faces=face)
    assert found.gap_mm == pytest.approx(299.0, abs=1e-4)
    out = {"front": (0, -2), "back": (0, 2), "left": (-2, 0), "right": (2, 0)}[face]
    far = f"{{item: box, at: [{at[0] + out[0]}, {at[1] + out[1]}]}}"
    assert vents(heater, far, faces=face) == []


@pytest.mark.parametrize("facing", ["south", "north", "east", "west"])
def test_turned_with_the_item(facing):
    """Whichever way the heater faces, its own stack on top covers its top vent."""
    heater = f"{{item: heater, at: [2000, 2000], facing: {facing}}}"
    (found,) = vents(heater, "{item: box, on: heater}", faces="top")
    assert found.gap_mm == 0.0
    assert vents(heater, "{item: box, on: heater}", faces="front") == []


@pytest.mark.parametrize(("height", "told"), [(1100, False), (1099.9, True)])
def test_over_the_top(height, told):
    """A shelf hung over the heater, at the boundary; its nudge is upwards."""
    heater = "{item: heater, against: north, along: 2000}"
    found = vents(
        heater, f"{{item: shelf, against: north, along: 2000, height: {height}}}", faces="top"
    )
    assert bool(found) is told
    if told:
        assert found[0].nudge.by_mm == (0.0, 0.0, 0.1)


def test_the_building_does_not_count_but_a_partition_does():
    """A flue goes out through the wall behind it; a new wall across it closes it."""
    heater = "{item: heater, against: north, along: 2000, stays: yes}"
    assert vents(heater, faces="back") == []
    wall = "{name: screen wall, thickness: 100, from: [1500, 3390], to: [3500, 3390]}"
    (found,) = vents(heater, faces="front", partitions=wall)
    assert found.items == ("heater", "screen wall")
    assert found.gap_mm == pytest.approx(160.0, abs=1e-4)


def test_another_thing_frees_nothing_and_a_larger_need_clears_nothing():
    """One finding for each thing; a larger size keeps them."""
    assert len(vents(GRILLE, box(200), box(250, 2100))) == 2
    for asked in (201, 300, 900):
        (found,) = vents(GRILLE, box(200), rules=f"vent: {asked}")
        assert found.needs_mm == asked
    assert vents(GRILLE, box(200), rules="vent: 200") == []


def test_the_catalogue_has_an_air_brick():
    """It is placed like anything else, and stays."""
    text = TEXT.format(
        rows="{item: air brick, against: north, along: 2000, height: 200, stays: yes}, "
        "{item: box, at: [1900, 3500]}",
        faces="front",
        rules="",
        partitions="",
    )
    found = [f for f in check_scheme(parse_project(text), "a").findings if f.check == "vent"]
    assert [f.verdict for f in found] == [Verdict.CONFLICT]
