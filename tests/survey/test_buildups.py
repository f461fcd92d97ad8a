"""Tests for the wall build-ups of the catalogue and for inside sizes worked out from outside."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.errors import InputError
from massing.reading.catalog_folder import catalog_folder
from massing.survey.buildups import build_up_names, inside_from_outside, load_build_up
from massing.units import Length

# Ranges of thickness with finish, mm: common practice, no source.
PRACTICE = {
    "half-brick, bare": (103, 113),
    "half-brick, plastered": (115, 130),
    "half-brick pier": (215, 230),
    "one-brick": (230, 250),
    "rubble stone": (450, 600),
    "early cavity": (270, 290),
    "insulated cavity": (315, 380),
    "block 100": (115, 115),
    "block 140": (155, 155),
    "block 215": (240, 240),
    "shed boards": (55, 75),
    "timber frame 95": (150, 180),
    "timber frame 140": (220, 300),
    "structural insulated panel": (170, 270),
    "corrugated on rails, unlined": (70, 130),
    "corrugated on rails, lined": (100, 180),
    "sectional concrete": (50, 60),
    "sectional concrete at ribs": (90, 110),
    "logs": (28, 70),
}


@pytest.mark.parametrize("name", sorted(PRACTICE))
def test_the_tolerance_covers_the_range_of_practice(name: str):
    thickness = load_build_up(name).thickness
    low, high = PRACTICE[name]

    assert thickness.mm - thickness.pm <= low
    assert thickness.mm + thickness.pm >= high
    assert low <= thickness.mm <= high


def test_published_build_ups_lie_within():
    """One-brick 230, insulated cavity 300 and a 140 frame of 296.5 are published thicknesses."""
    for name, mm in (
        ("one-brick", 230.0),
        ("insulated cavity", 300.0),
        ("timber frame 140", 296.5),
    ):
        thickness = load_build_up(name).thickness
        assert abs(thickness.mm - mm) <= thickness.pm


def test_names_and_files_agree():
    names = build_up_names()
    files = [f.name for f in catalog_folder().joinpath("build-ups").iterdir()]

    assert len(names) == len(files) == len(set(names))
    assert all(load_build_up(name).name == name for name in names)
    assert names == tuple(sorted(names))


def test_every_build_up_says_where_its_figures_come_from():
    for name in build_up_names():
        build_up = load_build_up(name)
        assert "no source" in build_up.basis
        assert build_up.thickness.pm > 0
        assert build_up.finished


@pytest.mark.parametrize("name", [n for n in build_up_names() if n.startswith("stud")])
def test_stud_partitions_add_up(name: str):
    """63 + 2 x 12.5 = 88 and 89 + 2 x 12.5 = 114."""
    build_up = load_build_up(name)
    stud = build_up.studs.size[1].mm
    boards = build_up.boards.faces * build_up.boards.thickness.mm

    assert build_up.thickness.mm == stud + boards
    assert build_up.studs.centres.mm in (400.0, 600.0)
    assert build_up.studs.insulated == ("insulated" in name)


def test_the_worked_room():
    """Outside 6240 x 2640, walls 120 ±20: inside 6000 x 2400, worst ±40, likely ±28.28."""
    wall = load_build_up("half-brick, plastered").thickness
    long, short = (inside_from_outside(Length(mm), [wall, wall]) for mm in (6240.0, 2640.0))

    assert (long.nominal, short.nominal) == (6000.0, 2400.0)
    assert long.worst == short.worst == 40.0
    assert long.likely == pytest.approx(20.0 * math.sqrt(2.0))
    assert round(short.likely, 2) == 28.28


def test_the_tape_counts_too():
    found = inside_from_outside(Length(6240.0, 20.0), [Length(120.0, 20.0), Length(240.0, 25.0)])

    assert found.nominal == 5880.0
    assert found.worst == 65.0
    assert found.likely == pytest.approx(math.sqrt(20**2 + 20**2 + 25**2))


@given(st.lists(st.tuples(st.floats(10, 600), st.floats(0, 150)), min_size=1, max_size=4))
def test_likely_lies_between_the_largest_share_and_the_worst(walls):
    found = inside_from_outside(Length(9000.0, 5.0), [Length(t, pm) for t, pm in walls])

    assert max(pm for _, pm in walls) <= found.likely * (1 + 1e-12)
    assert found.likely <= found.worst * (1 + 1e-12)


def test_unknown_and_impossible_are_refused():
    with pytest.raises(InputError, match="did you mean 'half-brick, plastered'"):
        load_build_up("half brick plasterd")
    with pytest.raises(InputError, match="no such build-up ''"):
        load_build_up("")
    with pytest.raises(InputError, match=r"no such build-up '\.\./items/dryer'"):
        load_build_up("../items/dryer")
    with pytest.raises(InputError, match="leave nothing of an outside 240"):
        inside_from_outside(Length(240.0), [Length(120.0), Length(120.0)])
