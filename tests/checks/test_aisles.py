"""Aisles between facing work fronts: at both boundaries, used at once or not, turned, mirrored.

1200 clear and 1050 at the least are common practice; a US kitchen guideline's 48 and 42 in (1219
and 1067), seen second-hand, lie a little over them.
"""

from __future__ import annotations

import math

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Galley
room: {{size: {size}, ceiling: [{{flat: 2400}}]}}
rules: {{{rules}}}
items:
  bench: {{body: 1200 x 600 x 900, weight: 80, zone: {{front: 500}}}}
  counter: {{body: 1200 x 600 x 900, weight: 80, zone: {{front: 500}}}}
  wardrobe: {{like: wardrobe, body: 1200 x 600 x 2000, zone: {{front: 500}}}}
  desk: {{body: 1200 x 600 x 740, zone: {{front: 500, posture: sitting}}}}
  high cupboard: {{body: 1200 x 350 x 600, mount: wall, zone: {{front: 500}}}}
  crate: {{body: 300 x 300 x 300, weight: 20}}
schemes:
  a:
    add: [{rows}]
    together: [{together}]
    partitions: [{partitions}]
"""


def aisles(*rows, size="6000 x 6000", together="", rules="", partitions=""):
    text = TEXT.format(
        size=size, rows=", ".join(rows), together=together, rules=rules, partitions=partitions
    )
    answer = check_scheme(parse_project(text), "a")
    return [f for f in answer.findings if f.check == "work aisle"]


def pair(apart, *, along=0.0, item="counter", **more):
    """A bench at the middle facing south, and another so far south of its front facing north."""
    south = f"{{item: {item}, at: [{1000 + along}, {3000 - apart - 600}], facing: north}}"
    return aisles("{item: bench, at: [1000, 3000], facing: south}", south, **more)


BOTH = "[bench in use, counter in use]"


@pytest.mark.parametrize(
    ("apart", "verdict"),
    [(1200, None), (1199.9, Verdict.CAUTION), (1050, Verdict.CAUTION), (1049.9, Verdict.CAUTION)],
)
def test_one_at_a_time(apart, verdict):
    """Short of 1200 is worth a look, and stays so however short."""
    found = pair(apart)
    assert [f.verdict for f in found] == ([] if verdict is None else [verdict])
    if found:
        assert found[0].gap_mm == pytest.approx(apart, abs=1e-6)
        assert found[0].needs_mm == 1200.0
        assert ("1050 is the least" in found[0].says) is (apart < 1050)


@pytest.mark.parametrize(
    ("apart", "verdict"),
    [(1200, None), (1199.9, Verdict.CAUTION), (1050, Verdict.CAUTION), (1049.9, Verdict.CONFLICT)],
)
def test_both_at_once(apart, verdict):
    """With someone at each, the least is a need: a tenth of a millimetre under it is a conflict."""
    found = pair(apart, together=BOTH)
    assert [f.verdict for f in found] == ([] if verdict is None else [verdict])
    if verdict is Verdict.CONFLICT:
        assert (found[0].gap_mm, found[0].needs_mm) == (pytest.approx(apart, abs=1e-6), 1050.0)
        assert found[0].nudge.by_mm in {(0.0, 0.1, 0.0), (0.0, -0.1, 0.0)}


@pytest.mark.parametrize(
    ("inches", "at_once", "verdict"),
    [
        (48, True, None),
        (47.99, True, Verdict.CAUTION),
        (42, True, Verdict.CAUTION),
        (41.99, True, Verdict.CONFLICT),
        (41.99, False, Verdict.CAUTION),
    ],
)
def test_the_published_aisles(inches, at_once, verdict):
    """42 in for one cook, 48 in for more: US planning guidelines (second-hand, four summaries)."""
    rules = "aisle: 48 in, aisle_least: 42 in"
    found = pair(inches * 25.4, rules=rules, together=BOTH if at_once else "")
    assert [f.verdict for f in found] == ([] if verdict is None else [verdict])


def test_the_nudge_widens_it():
    """Moving one of them back by what is missing clears it."""
    (found,) = pair(900, together=BOTH)
    assert abs(found.nudge.by_mm[1]) == pytest.approx(150.0, abs=0.05)
    assert found.nudge.starts == ()


@pytest.mark.parametrize(("along", "faces"), [(600, True), (600.1, False), (-600, True)])
def test_fronts_face_with_half_of_the_narrower(along, faces):
    """Past half their length two people stand side by side."""
    assert bool(pair(1000, along=along)) is faces


@pytest.mark.parametrize("item", ["wardrobe", "desk", "crate"])
def test_what_is_no_work_front(item):
    """A wardrobe (a room's), a seat and a thing without a zone make no aisle."""
    assert pair(900, item=item) == []


def test_what_hangs_over_the_shoulder_is_no_front():
    """A cupboard that begins at 1400 is reached over what is below it."""
    bench = "{item: bench, at: [1000, 1500], facing: south}"
    for height, told in ((1400, 0), (1300, 1)):
        row = f"{{item: high cupboard, against: south, along: 3800, height: {height}}}"
        assert len(aisles(bench, row)) == told


def test_fronts_that_look_the_same_way_or_apart():
    """One behind the other, or back to back, is no aisle."""
    bench = "{item: bench, at: [1000, 3000], facing: south}"
    assert aisles(bench, "{item: counter, at: [1000, 1400], facing: south}") == []
    back = "{item: bench, at: [1000, 3000], facing: north}"
    assert aisles(back, "{item: counter, at: [1000, 1400], facing: south}") == []


def test_a_partition_between_parts_them():
    """Two rooms are no aisle; a stub across half of it does not part them."""
    whole = "{name: screen wall, thickness: 100, from: [500, 2500], to: [2700, 2500]}"
    half = "{name: stub, thickness: 100, from: [500, 2500], to: [1600, 2500]}"
    assert pair(1100, partitions=whole) == []
    assert len(pair(1100, partitions=half)) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("at: [1000, 3000], facing: south", "at: [1000, 1300], facing: north"),
        ("at: [1000, 1300], facing: north", "at: [1000, 3000], facing: south"),
        ("at: [3000, 1000], facing: west", "at: [1300, 1000], facing: east"),
        ("at: [1300, 1000], facing: east", "at: [3000, 1000], facing: west"),
    ],
)
def test_every_way_round_is_the_same(one, other):
    """Turned by quarters and mirrored: 1100 each time."""
    (found,) = aisles(f"{{item: bench, {one}}}", f"{{item: counter, {other}}}")
    assert found.gap_mm == pytest.approx(1100.0, abs=1e-6)


def test_skew_fronts_are_measured_at_the_tightest():
    """A counter turned 10°: its corner that comes furthest counts, square to the bench."""
    (found,) = aisles(
        "{item: bench, at: [1000, 3000], facing: south}",
        "{item: counter, at: [900, 1000], facing: north, turn: 10}",
        rules="aisle: 1400",
    )
    tall = 1200 * math.sin(math.radians(10)) + 600 * math.cos(math.radians(10))
    assert found.gap_mm == pytest.approx(3000 - 1000 - tall, abs=0.01)


def test_another_thing_frees_nothing_and_a_larger_need_clears_nothing():
    """A crate in the aisle leaves the finding; so does asking for more."""
    bench = "{item: bench, at: [1000, 3000], facing: south}"
    counter = "{item: counter, at: [1000, 1400], facing: north}"
    crate = "{item: crate, at: [1400, 2300]}"
    assert len(aisles(bench, counter)) == len(aisles(bench, counter, crate)) == 1
    assert aisles(bench, counter, rules="aisle: 1000, aisle_least: 900") == []
    (found,) = aisles(bench, counter, rules="aisle: 900")
    assert (found.gap_mm, found.needs_mm) == (1000.0, 1050.0)
    for asked in (1001, 1200, 2000):
        assert len(aisles(bench, counter, rules=f"aisle: {asked}")) == 1


def test_the_rule_is_the_projects_to_change():
    """The source says where the size came from."""
    (plain,) = pair(1100)
    (own,) = pair(1250, rules="aisle: 1300")
    assert "48 in" in plain.source
    assert own.source.startswith("set in the project file (default 1200 mm")


def test_the_tape_decides():
    """Benches against two walls of a room known to ±20: 1050 may be 1030."""
    rows = (
        "{item: bench, against: north, along: 1000}",
        "{item: counter, against: south, along: 3800}",
    )
    (found,) = aisles(*rows, size="6000 x 2260 ±20", together=BOTH)
    assert found.verdict is Verdict.REMEASURE
    assert (found.worst_mm, found.best_mm) == (pytest.approx(1040.0), pytest.approx(1080.0))
