"""Studs, plates and boards of a partition, against sums done by hand and laws."""

from __future__ import annotations

import math

import pytest

from massing.checks.run import check_scheme
from massing.handover.report.cutting import lengths_to_buy, sheets_to_buy
from massing.handover.report.takeoff import TakeOff, take_off
from tests.handover.report.projects import parted, read

DOOR = ", openings: [{name: way, along: 800, leaf: 762 x 1981 x 44}]"


@pytest.fixture
def taken(tmp_path):
    def of(**told) -> TakeOff:
        project = read(parted(**told), tmp_path)
        (one,) = take_off(check_scheme(project, "parted", nudges=False))
        return one

    return of


def test_a_wall_up_a_slope(taken):
    """2400 long, 1950 to 2750 high, studs 38 x 63 at 600, by hand."""
    one = taken()
    assert one.length == pytest.approx(2400, abs=0.01)
    assert (one.lowest, one.highest) == pytest.approx((1950, 2750), abs=0.05)
    assert one.face_m2 == pytest.approx(2.4 * 2.35, abs=1e-6)
    assert [s for s, _ in one.studs] == [19.0, 600.0, 1200.0, 1800.0, 2381.0]
    top = 38 * math.hypot(1, 1 / 3)
    for s, length in one.studs:
        assert length == pytest.approx(1950 + (s + 19) / 3 - 38 - top, abs=0.1)
    plates = dict(one.plates)
    assert plates["floor plate"] == pytest.approx(2400, abs=0.1)
    assert plates["top plate"] == pytest.approx(math.hypot(2400, 800), abs=0.1)
    assert one.noggings == 4
    assert plates["noggings, one row"] == pytest.approx(2 * 543 + 2 * 562, abs=0.2)
    assert "heads" not in plates


def test_boards_by_sheet(taken):
    """Two strips a face, 2350 and 2750 tall: in 2400 sheets four and one for the two joints."""
    counts = {b.size: (b.count, round(b.waste, 4)) for b in taken().boards}
    assert counts[1200.0, 2400.0] == (5, round(1 - 2 * 5.64 / (5 * 2.88), 4))
    assert counts[1200.0, 3000.0] == (4, round(1 - 2 * 5.64 / (4 * 3.6), 4))


def test_an_opening(taken):
    """A stud beside each jamb, a head as wide as the opening, short studs over it, less plate."""
    one, plain = taken(more=DOOR), taken()
    plates = dict(one.plates)
    assert plates["heads"] == pytest.approx(762, abs=0.1)
    assert plates["floor plate"] == pytest.approx(2400 - 762, abs=0.1)
    assert plates["top plate"] == pytest.approx(dict(plain.plates)["top plate"], abs=0.1)
    assert one.face_m2 == pytest.approx(plain.face_m2 - 0.762 * 1.981, abs=1e-6)
    places = [s for s, _ in one.studs]
    assert {781.0, 1581.0} <= set(places)
    short = [(s, length) for s, length in one.studs if 800 < s < 1562]
    assert [s for s, _ in short] == [1200.0]
    rise = 1950 + 1219 / 3 - 1981
    assert short[0][1] == pytest.approx(rise - 38 - 38 * math.hypot(1, 1 / 3), abs=0.1)


def test_raising_the_roof_lengthens_every_stud(taken):
    """Law: the same wall under a roof 150 higher has studs 150 longer and the same plates."""
    one, other = taken(), taken(south=2100, north=2900)
    assert [s for s, _ in one.studs] == [s for s, _ in other.studs]
    for (_, a), (_, b) in zip(one.studs, other.studs, strict=True):
        assert b - a == pytest.approx(150, abs=0.11)
    for (_, a), (_, b) in zip(one.plates, other.plates, strict=True):
        assert b == pytest.approx(a, abs=0.01)


def test_setting_out_from_the_other_end(taken):
    """Law: drawn the other way round it is as big, and its studs stand mirrored."""
    one, other = taken(), taken(ends=("north", "south"))
    assert other.face_m2 == pytest.approx(one.face_m2, abs=1e-6)
    mirrored = sorted((2400 - s, length) for s, length in other.studs)
    for (a, x), (b, y) in zip(one.studs, mirrored, strict=True):
        assert (a, x) == pytest.approx((b, y), abs=0.2)


def test_close_centres_take_more(taken):
    assert len(taken(made="build-up: 'stud 63, close centres'").studs) == 7


def test_a_bare_thickness_has_no_studs(taken):
    one = taken(made="thickness: 100")
    assert one.build_up is None
    assert (one.studs, one.boards, one.timber) == ((), (), ())
    assert one.face_m2 == pytest.approx(5.64, abs=1e-6)


@pytest.mark.parametrize("size", [2400.0, 3000.0])
def test_never_fewer_than_the_bulk_needs(size):
    """Law: what is bought is at least what is used, and waste says exactly the rest."""
    pieces = [1900.0, 1800.0, 1200.0, 1100.0, 700.0, 500.0, 500.0]
    (found,) = lengths_to_buy(pieces, (size,))
    assert found.count * size >= sum(pieces)
    assert found.waste == pytest.approx(1 - sum(pieces) / (found.count * size))
    (sheets,) = sheets_to_buy([(1200, 2300), (300, 900), (300, 900)], [(1200, size)], 3.3e6)
    assert sheets.count * 1200 * size >= 1200 * 2300 + 2 * 300 * 900


def test_too_long_for_a_length_is_not_offered():
    assert [b.size for b in lengths_to_buy([2600.0], (2400.0, 3000.0))] == [(3000.0,)]
