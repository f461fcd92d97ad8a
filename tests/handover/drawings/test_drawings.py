"""Drawings are to scale, say the layout's own numbers, and letter everything apart."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from massing.checks.finding import Verdict
from massing.checks.run import Answer, check_scheme
from massing.checks.words import mm
from massing.errors import InputError
from massing.handover.drawings import cutting
from massing.handover.drawings.cutting import sections_of
from massing.handover.drawings.drawings import SCALES, drawing_set
from massing.handover.drawings.facts import datum_of
from massing.handover.drawings.sheet import DIM, PAPERS, Disc, Sheet, Stroke, Words
from massing.room.spec import RoomSpec
from massing.scheme.layout import Layout
from tests.handover.drawings.sheets import (
    BOATHOUSE,
    DOORS,
    ELL,
    SCHEMES,
    answer_of,
    crossed,
    crowded,
    drawn,
    example,
    lettering_under,
    outside,
    overlapping,
)
from tests.strategies import project_of, projects
from tests.zoo import ROOMS, named_room

EVERY = pytest.mark.parametrize(
    ("file", "scheme"), SCHEMES, ids=[f"{f.stem}-{s}".replace(" ", "-") for f, s in SCHEMES]
)


def _texts(sheet):
    return [w.text for w in sheet.words]


@EVERY
def test_lettering_is_apart(file, scheme):
    """No two lines of lettering share paper, on any sheet."""
    for sheet in drawn(file, scheme):
        assert overlapping(sheet) == [], sheet.title


@EVERY
def test_nothing_leaves_the_border(file, scheme):
    """Every mark lies within the frame."""
    for sheet in drawn(file, scheme):
        assert outside(sheet) == [], sheet.title


@EVERY
def test_leaders_run_clear(file, scheme):
    """No leader runs through lettering or over another leader, on any sheet."""
    for sheet in drawn(file, scheme):
        assert lettering_under(sheet) == [], sheet.title
        assert crossed(sheet) == 0, sheet.title


def test_the_leader_test_would_notice():
    """Two leaders that cross, and one that runs through a word, are found."""
    dot = [Disc((40.0, 40.0), 0.5, DIM, "#000000"), Disc((60.0, 40.0), 0.5, DIM, "#000000")]
    lines = [Stroke(((60.0, 60.0), (40.0, 40.0)), DIM), Stroke(((40.0, 60.0), (60.0, 40.0)), DIM)]
    marks = (lines[0], dot[0], lines[1], dot[1], Words((45.0, 45.0), "under"))
    sheet = Sheet("planted", "A4", 297.0, 210.0, (20.0, 10.0, 287.0, 200.0), marks)
    assert lettering_under(sheet) == ["under"]
    assert crossed(sheet) == 1
    apart = Sheet("planted", "A4", 297.0, 210.0, (20.0, 10.0, 287.0, 200.0), marks[:2])
    assert (lettering_under(apart), crossed(apart)) == ([], 0)


def test_on_a_small_sheet_numbers_stand_for_names():
    """Sixteen things on A4: at most a few leaders cross, and the schedule names the numbers."""
    file, scheme = next(pair for pair in SCHEMES if pair[0].stem == "loft" and "first" in pair[1])
    sheets = drawing_set(example(file, scheme), paper="A4")
    items = example(file, scheme).layout.items
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert lettering_under(sheet) == []
        assert crossed(sheet) <= 3
    subjects = {w.subject: w.text for w in sheets[0].words if w.subject}
    everywhere = [t for sheet in sheets for t in _texts(sheet)]
    for number, item in enumerate(items, 1):
        assert subjects[item.name] == str(number)
        assert item.name in everywhere
    assert any("are items: see the schedule" in t for t in everywhere)


@EVERY
def test_every_item_is_named_on_the_plan(file, scheme):
    """Each placed item's number and name stand on the first sheet, once in the drawing."""
    plan = drawn(file, scheme)[0]
    for number, item in enumerate(example(file, scheme).layout.items, 1):
        assert _texts(plan).count(f"{number} {item.name}") == 1


@EVERY
def test_findings_carry_the_checks_numbers(file, scheme):
    """Each finding that is not clear is listed under its number with its sign, in the set."""
    told = [w for sheet in drawn(file, scheme) for w in sheet.words if w.subject]
    held = [f for f in example(file, scheme).findings if f.verdict is not Verdict.CLEAR]
    signs = {Verdict.CONFLICT: "!", Verdict.REMEASURE: "?", Verdict.CAUTION: "~"}
    for number, finding in enumerate(held, 1):
        shown = {w.text for w in told if w.subject == f"finding {number}"}
        assert shown == {f"{number}{signs[finding.verdict]}"}


@EVERY
def test_setting_out_is_the_layouts(file, scheme):
    """Every item's distance from the datum stands on the plan and in the schedule."""
    answer = example(file, scheme)
    texts = {t for sheet in drawn(file, scheme) for t in _texts(sheet)}
    plan = set(_texts(drawn(file, scheme)[0]))
    datum = datum_of(answer.layout.room)
    for item in answer.layout.items:
        x, y = (mm(v).replace("-", "−") for v in item.low[0, :2] - datum)
        assert {x, y} <= plan
        assert f"{x}, {y}" in texts


@EVERY
def test_nothing_is_left_out_silently(file, scheme):
    """The examples need no excuse: all their lettering found room."""
    excuses = [t for sheet in drawn(file, scheme) for t in _texts(sheet) if t.startswith("No room")]
    assert excuses == []


@EVERY
def test_walls_and_openings_are_dimensioned(file, scheme):
    """The length of each wall, and each opening's place and width, stand on the plan."""
    room = example(file, scheme).layout.room
    plan = set(_texts(drawn(file, scheme)[0]))
    for wall in room.walls:
        if wall.partition:
            continue
        assert mm(wall.length[0]) in plan
        openings = [o for o in room.openings if o.wall == wall.name]
        stops = sorted(
            {0.0, wall.length[0]}
            | {o.left[0] for o in openings}
            | {o.left[0] + o.width[0] for o in openings}
        )
        for a, b in pairwise(stops):
            if b - a > 0.05:
                assert mm(b - a) in plan


@EVERY
def test_sections_go_where_most_is_to_tell(file, scheme):
    """No plane on a 25 mm grid cuts more items and tight findings than the chosen one."""
    answer = example(file, scheme)
    ring = answer.layout.room.outline[0]
    for section in sections_of(answer):
        low, high = ring[:, section.axis].min(), ring[:, section.axis].max()
        chosen = cutting._worth(answer, section.axis, section.at)
        for at in np.arange(low + 12.5, high, 25.0):
            assert chosen >= cutting._worth(answer, section.axis, at)


def test_ends_of_the_cross_section():
    """Ceiling heights at both ends of section B-B, above the high slab: 1770 and 2570."""
    sheet = drawn(BOATHOUSE, "first try")[1]
    assert {"1770", "2570", "2020"} <= set(_texts(sheet))


def test_a_ridge_is_dimensioned():
    """The loft is 2250 at its collar: the elevation of its gable says so."""
    file, scheme = next(pair for pair in SCHEMES if pair[0].stem == "loft")
    gable = next(s for s in drawn(file, scheme) if "west wall" in s.title)
    assert "CH 2250" in _texts(gable)


def test_the_leaf_is_drawn_as_far_as_it_opens():
    """31.7 degrees of 90, from its hinge at 5362, 2400, on the plan at 1:25."""
    plan = drawn(BOATHOUSE, "first try")[0]
    leaves = [
        np.array(mark.points)
        for mark in plan.marks
        if isinstance(mark, Stroke) and mark.fill == "#FFFFFF" and len(mark.points) == 4
    ]
    sides = [ring[1] - ring[0] for ring in leaves]
    long = [side for side in sides if abs(np.hypot(*side) - 762.0 / 25.0) < 1e-6]
    assert len(long) == 1
    turn = np.degrees(np.arctan2(-long[0][1], -long[0][0]))
    assert turn == pytest.approx(31.66, abs=0.01)


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(projects())
def test_any_small_project(data):
    """Whatever room and things: lettering apart, inside the border, each item on the plan."""
    try:
        answer = check_scheme(project_of(data), nudges=False)
    except InputError:
        return
    sheets = drawing_set(answer)
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert outside(sheet) == []
    for number, item in enumerate(answer.layout.items, 1):
        assert f"{number} {item.name}" in _texts(sheets[0])


@pytest.mark.parametrize("name", sorted(ROOMS))
def test_rooms_of_every_shape(name):
    """The named rooms, empty: an L, a T, a horseshoe, hips, beams."""
    answer = Answer(
        answer_of(ELL).project, Layout(name, named_room(name), ()), answer_of(ELL).rules, (), ()
    )
    sheets = drawing_set(answer)
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert outside(sheet) == []


def test_wall_lengths_are_dimensioned():
    """The boathouse's inside and outside sizes, its openings and its ceilings."""
    plan = _texts(drawn(BOATHOUSE, "first try")[0])
    for told in ("6000", "6240", "2400", "2640", "4600", "762", "638", "600", "1200"):
        assert told in plan
    for told in ("CH 1950", "CH 2750", "CH 1770", "CH 2570", "floor ±0", "floor +180"):
        assert told in plan
    assert "2020 to 2420 over +180" in plan


def test_the_section_shows_the_overlap_as_below_nothing():
    """The kayak's edge is some 50 into the slope: the figure is negative."""
    texts = [t for sheet in drawn(BOATHOUSE, "first try") for t in _texts(sheet)]
    below = [float(t.replace("−", "-")) for t in texts if re.fullmatch(r"−[0-9.]+", t)]
    assert any(-50.5 < t < -49.0 for t in below)


def test_a_yawed_desk_in_an_ell():
    """An L-shaped room and a turned desk: all walls told, the turn told, nothing amiss."""
    answer = answer_of(ELL)
    sheets = drawing_set(answer)
    plan = _texts(sheets[0])
    for told in ("3600", "1500", "1600", "1200", "1 desk", "2 locker", "turned 30°", "30°"):
        assert told in plan, told
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert outside(sheet) == []


@pytest.mark.parametrize("seed", range(6))
def test_rooms_by_chance(seed):
    """Small rooms strewn with things: lettering apart, inside the border, every name there."""
    data = crowded(5 + 3 * seed, seed)
    sheets = drawing_set(answer_of(data))
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert outside(sheet) == []
    plan = _texts(sheets[0])
    for number, name in enumerate(data["items"], 1):
        assert f"{number} {name}" in plan


def test_forty_items():
    """Forty things are all named and all scheduled; what had no room is said."""
    answer = answer_of(crowded(40, 40))
    sheets = drawing_set(answer)
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert outside(sheet) == []
    plan = _texts(sheets[0])
    everywhere = [t for sheet in sheets for t in _texts(sheet)]
    for number, item in enumerate(answer.layout.items, 1):
        assert f"{number} {item.name}" in plan
        assert item.name in everywhere


def test_the_overlap_test_would_notice():
    """Two lines of lettering in one place, and a mark off the sheet, are found."""
    marks = (Words((50.0, 50.0), "one"), Words((51.0, 50.0), "two"), Words((5.0, 50.0), "off"))
    sheet = Sheet("planted", "A4", 297.0, 210.0, (20.0, 10.0, 287.0, 200.0), marks)
    assert overlapping(sheet) == [("one", "two")]
    assert outside(sheet) == [marks[2]]


def test_scale_steps_down_and_sheets_grow():
    """The largest scale that fits; a long hall goes to a larger sheet, then to a smaller scale."""
    hall = {"massing": 1, "project": "hall", "items": {}, "schemes": {"only": []}}
    found = []
    for size in ("1500 x 1200", "3000 x 2400", "6000 x 2400", "12000 x 5000", "20000 x 8000"):
        room = {"size": size, "ceiling": [{"flat": 2400}]}
        sheet = drawing_set(answer_of({**hall, "room": room}))[0]
        scale = next(t for t in _texts(sheet) if t.startswith("1:"))
        found.append((sheet.paper, scale))
        assert outside(sheet) == []
    assert found[0] == ("A3", "1:10")
    assert found[2] == ("A3", "1:25")
    assert found[3] == ("A3", "1:50")
    assert found[4] == ("A2", "1:50")
    ratios = [int(scale[2:]) for _, scale in found]
    assert ratios == sorted(ratios)
    assert set(ratios) <= set(SCALES)


def test_what_does_not_fit_is_refused():
    """A scale too large for the sheet asked for is an input fault that names one that fits."""
    answer = example(BOATHOUSE, "first try")
    with pytest.raises(InputError, match="1:50 does"):
        drawing_set(answer, paper="A4", scale=25)
    sheets = drawing_set(answer, paper="A4")
    assert (sheets[0].width, sheets[0].height) == PAPERS["A4"]
    for sheet in sheets:
        assert overlapping(sheet) == []
        assert outside(sheet) == []


def test_an_empty_room_is_drawn():
    """No items at all: plan and sections still come out."""
    data = {
        "massing": 1,
        "project": "empty",
        "room": {"size": "3000 x 2000", "ceiling": [{"flat": 2400}]},
        "items": {},
        "schemes": {"only": []},
    }
    sheets = drawing_set(answer_of(data))
    assert {"3000", "2000"} <= set(_texts(sheets[0]))
    assert all(np.isfinite(w.middle).all() for sheet in sheets for w in sheet.words)


@pytest.mark.parametrize(("north", "way"), [(0, (0.0, 1.0)), (90, (1.0, 0.0)), (-45, (-1.0, 1.0))])
def test_north_is_clockwise_from_up_the_plan(north, way):
    """As the file's schema says: degrees clockwise from +y, which is up the plan."""
    room = {**DOORS["room"], "north": north}
    plan = drawing_set(answer_of({**DOORS, "room": room, "schemes": {"only": []}}))[0]
    letter = next(w for w in plan.words if w.subject == "north")
    ring = next(m for m in plan.marks if isinstance(m, Disc) and m.radius == 6.0)
    off = np.subtract(letter.middle, ring.at)
    assert off / np.hypot(*off) == pytest.approx(np.array(way) / np.hypot(*way), abs=1e-6)
    told = RoomSpec.model_json_schema()["properties"]["north"]["description"]
    assert "degrees clockwise from +y" in told
