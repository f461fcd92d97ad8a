"""Room behind a seat: to sit down at 600, to be passed at 900; both sides of both, turned, skew.

Common practice; a US kitchen guideline asks 36 in (914) to edge past a seat, seen second-hand.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Study
room:
  size: {size}
  ceiling: [{{flat: 2400}}]
  doors: [{doors}]
rules: {{{rules}}}
items:
  desk: {{body: 1200 x 600 x 740, weight: 30, zone: {{front: 500, posture: sitting}}}}
  stool: {{body: 400 x 400 x 450, weight: 5, passable: yes}}
  chest: {{body: 1200 x 400 x 900, weight: 60}}
  post: {{body: 100 x 100 x 2000, weight: 40}}
  mat: {{body: 1200 x 400 x {thin}, weight: 3}}
  bench: {{body: 1200 x 400 x 900, weight: 60, zone: {{front: 500}}}}
  lamp: {{body: 300 x 300 x 300, mount: ceiling}}
schemes:
  a: [{rows}]
"""


def behind(*rows, size="5000 x 4000", doors="", rules="", thin=20):
    text = TEXT.format(size=size, doors=doors, rows=", ".join(rows), rules=rules, thin=thin)
    answer = check_scheme(parse_project(text), "a")
    return [f for f in answer.findings if f.check == "behind seat"]


DESK = "{item: desk, at: [1000, 2000], facing: south}"


def at(item, off, x=1000):
    """Something south of the desk, its north side so far behind the edge of the desk."""
    deep = 100 if item == "post" else 400
    return f"{{item: {item}, at: [{x}, {2000 - off - deep}], facing: north}}"


@pytest.mark.parametrize(("off", "told"), [(600, False), (599.9, True), (550, True)])
def test_room_to_sit_down(off, told):
    """A tenth of a millimetre under 600 is a conflict; the chest is met beyond the zone's 500."""
    found = behind(DESK, at("chest", off))
    assert bool(found) is told
    if told:
        assert found[0].verdict is Verdict.CONFLICT
        assert found[0].gap_mm == pytest.approx(off, abs=1e-4)
        assert found[0].items == ("desk", "chest")
        assert "to sit down" in found[0].says


def test_the_nudge_gains_what_is_missing():
    """The desk or the chest moves 50."""
    (found,) = behind(DESK, at("chest", 550))
    assert abs(found.nudge.by_mm[1]) == pytest.approx(50.0, abs=0.11)
    assert found.nudge.starts == ()


def test_what_stands_in_the_zone_itself_is_told_there():
    """One cause is one finding: 450 behind is in the zone of 500."""
    text = TEXT.format(
        size="5000 x 4000", doors="", rows=f"{DESK}, {at('chest', 450)}", rules="", thin=20
    )
    answer = check_scheme(parse_project(text), "a")
    assert [f.check for f in answer.conflicts] == ["zone"]


@pytest.mark.parametrize(("off", "told"), [(900, False), (899.9, True), (600, True)])
def test_room_to_be_passed_by_who_works_behind(off, told):
    """The bench's own people stand behind the seat: 900 is asked, as a caution."""
    found = behind(DESK, at("bench", off))
    assert [f.verdict for f in found] == ([Verdict.CAUTION] if told else [])
    if told:
        assert found[0].gap_mm == pytest.approx(off, abs=1e-4)
        assert "where people use bench" in found[0].says
        assert "36 in" in found[0].source


def test_nobody_passes_a_chest():
    """700 before something nobody uses is enough."""
    assert behind(DESK, at("chest", 700)) == []


def test_a_door_behind_the_seat_is_passed():
    """The way in through the west wall crosses the floor behind the desk."""
    desk = "{item: desk, at: [100, 2000], facing: south}"
    chest = "{item: chest, at: [100, 800], facing: north}"
    door = "{name: entry, wall: west, along: 1200, leaf: 762 x 1981, opens: out}"
    assert behind(desk, chest) == []
    (found,) = behind(desk, chest, doors=door)
    assert found.verdict is Verdict.CAUTION
    assert "where people use entry" in found.says


def test_the_spot_is_a_persons_width():
    """Two posts 600 apart leave a seat between them; 599.9 apart they do not.

    The posts stand at the ends, so that beyond them less than a person is before the desk.
    """
    left = at("post", 560, 900)
    assert behind(DESK, left, at("post", 560, 1600), at("post", 560, 1999)) == []
    (found,) = behind(DESK, at("post", 560, 900.1), at("post", 560, 1600), at("post", 560, 2000))
    assert found.gap_mm == pytest.approx(560.0, abs=1e-4)


@pytest.mark.parametrize(("wall", "told"), [(1200, False), (1199.9, True)])
def test_a_wall_behind(wall, told):
    """A desk against the north wall of a room 600 deeper than itself."""
    desk = "{item: desk, against: north, along: 1000}"
    assert bool(behind(desk, size=f"5000 x {wall}")) is told


@pytest.mark.parametrize(
    ("desk", "chest"),
    [
        ("at: [1000, 2000], facing: south", "at: [1000, 1050], facing: north"),
        ("at: [1000, 1000], facing: north", "at: [1000, 2150], facing: south"),
        ("at: [2000, 1000], facing: west", "at: [1050, 1000], facing: east"),
        ("at: [1000, 1000], facing: east", "at: [2150, 1000], facing: west"),
    ],
)
def test_every_way_round_is_the_same(desk, chest):
    """Turned by quarters and mirrored: 550 each time."""
    (found,) = behind(f"{{item: desk, {desk}}}", f"{{item: chest, {chest}}}")
    assert found.gap_mm == pytest.approx(550.0, abs=1e-4)
    assert found.verdict is Verdict.CONFLICT


@pytest.mark.parametrize(("thin", "told"), [(150, False), (151, True)])
def test_what_is_stepped_over_is_not_in_the_way(thin, told):
    """Things up to 150 are stepped over; a stool one sits on and a lamp overhead are no matter."""
    assert bool(behind(DESK, at("mat", 550), thin=thin)) is told
    assert behind(DESK, at("stool", 100), "{item: lamp, at: [1400, 1500]}") == []


def test_another_thing_frees_nothing_and_a_larger_need_clears_nothing():
    """A post beside the chest changes nothing; asking for more keeps the finding."""
    rows = (DESK, at("chest", 550))
    (one,) = behind(*rows)
    (two,) = behind(*rows, at("post", 700, 1400))
    assert one.gap_mm == two.gap_mm
    for asked in (551, 600, 1200):
        (found,) = behind(*rows, rules=f"seat: {asked}")
        assert found.needs_mm == asked
    assert behind(*rows, rules="seat: 550") == []


def test_the_tape_decides():
    """600 behind a desk in a room known to ±10."""
    (found,) = behind("{item: desk, against: north, along: 1000}", size="5000 x 1205 ±10")
    assert found.verdict is Verdict.REMEASURE
    assert found.worst_mm == pytest.approx(595.0, abs=1e-4)
