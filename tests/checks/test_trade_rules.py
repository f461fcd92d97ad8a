"""Rules of the trade that no one check owns: beds, pans, presses, radiators, sockets, states.

All of it common practice, no source, where nothing is said beside it.
"""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.items.catalog import load_item
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Any room
people: {{{people}}}
room: {{size: {size}, ceiling: [{ceiling}], windows: [{windows}]}}
items: {{{items}}}
schemes:
  a:
    add: [{rows}]
    together: [{together}]
"""


def answer(
    *rows, items="", ceiling="{flat: 2400}", size="4000 x 4000", people="", together="", windows=""
):
    text = TEXT.format(
        rows=", ".join(rows),
        items=items,
        ceiling=ceiling,
        size=size,
        people=people,
        together=together,
        windows=windows,
    )
    return check_scheme(parse_project(text), "a").findings


def headroom(item, ceiling, **more):
    """What is short of height at an item in the middle of a room with a flat ceiling."""
    row = f"{{item: {item}, name: it, at: [1000, 1000], facing: south}}"
    found = answer(row, ceiling=f"{{flat: {ceiling}}}", **more)
    return [f for f in found if f.check == "headroom" and f.verdict is Verdict.CONFLICT]


PILLOW = "{name: pillow, under: yes, width: 500, shift: 0, posture: lying, headroom: 1500}"


@pytest.mark.parametrize("bed", ["single bed", "double bed"])
@pytest.mark.parametrize(("ceiling", "told"), [(1900, False), (1899.9, True)])
def test_getting_out_of_bed(bed, ceiling, told):
    """1900 at the side where one gets out."""
    short = headroom(bed, ceiling)
    assert [f.needs_mm for f in short] == ([1900.0] if told else [])
    assert all("get out" in f.says for f in short)


@pytest.mark.parametrize(("x", "told"), [(0, False), (-0.1, True)])
def test_over_the_pillow(x, told):
    """Head to the west under a slope that falls to the foot: 1500 over the first 500 is enough.

    That is 1000 over a pillow at 500. The foot of the bed lies under 1350.
    """
    load = load_item("single bed")
    assert str(load.all_zones[1].posture) == "lying"
    slope = f"{{slopes: {{west: {1550 + x}, east: {1150 + x}}}}}"
    row = "{item: bed, name: it, at: [0, 1000], facing: south}"
    items = f"bed: {{like: single bed, zones: [{PILLOW}]}}"
    found = answer(row, items=items, ceiling=slope)
    low = [f for f in found if f.check == "headroom" and f.verdict is Verdict.CONFLICT]
    assert [f.needs_mm for f in low] == ([1500.0] if told else [])


@pytest.mark.parametrize(("ceiling", "short"), [(2000, []), (1999.9, [2000.0])])
def test_standing_before_a_pan(ceiling, short):
    """2000 in front of it."""
    assert [f.needs_mm for f in headroom("wc", ceiling)] == short


@pytest.mark.parametrize(("eaves", "told"), [(1500, False), (1499.9, True)])
def test_over_the_back_of_a_pan(eaves, told):
    """Under a slope that is lowest behind it: 1500 at the wall, 2000 and more in front."""
    slope = f"{{slopes: {{north: {eaves}, south: {eaves + 4000}}}}}"
    found = answer("{item: wc, name: it, against: north, along: 1500}", ceiling=slope)
    low = [f for f in found if f.check == "headroom" and f.verdict is Verdict.CONFLICT]
    assert bool(low) is told
    assert all("over the pan" in f.says and f.needs_mm == 1500.0 for f in low)


@pytest.mark.parametrize(
    ("item", "people", "needs"),
    [
        # Published: British adult tables, grip reach 2210 of the 95th percentile man (second-hand).
        ("dumbbell stand", "", 2210 + 100),
        ("dumbbell stand", "stature: 1600", 1.25 * 1600 + 100),
        ("skipping space", "", 2300),
        ("skipping space", "stature: 1800", 1800 + 400),
    ],
)
def test_pressing_and_jumping(item, people, needs):
    """An overhead grip and 100; a stature and 400."""
    assert headroom(item, needs, people=people) == []
    (found,) = headroom(item, needs - 0.1, people=people)
    assert found.needs_mm == pytest.approx(needs)


BOX = "box: {body: 1200 x 300 x 300, weight: 20, mount: wall}, chest: {body: 1200 x 300 x 500}"
RADIATOR = "{item: radiator, against: north, along: 1000, height: 150, off: 0}"


@pytest.mark.parametrize(("off", "told"), [(100, False), (99.9, True)])
def test_before_a_radiator(off, told):
    """100 of warm air in front; the radiator is 90 deep."""
    row = f"{{item: chest, at: [900, {4000 - 90 - off - 300}]}}"
    found = [f for f in answer(RADIATOR, row, items=BOX) if f.check == "clearance"]
    assert any(f.verdict is Verdict.CONFLICT for f in found) is told


@pytest.mark.parametrize(("height", "told"), [(900, False), (899.9, True)])
def test_a_shelf_over_a_radiator(height, told):
    """Its top is at 750: 150 below a shelf."""
    row = f"{{item: box, against: north, along: 900, height: {height}}}"
    found = [f for f in answer(RADIATOR, row, items=BOX) if f.check == "clearance"]
    assert any(f.verdict is Verdict.CONFLICT for f in found) is told


@pytest.mark.parametrize(("weight", "told"), [(14.9, False), (15, True)])
def test_a_socket_behind_something_fixed(weight, told):
    """What one hand moves aside does not cover a socket; what it does not, does."""
    items = f"cabinet: {{body: 600 x 400 x 900, weight: {weight}}}"
    socket = "{item: double socket, against: north, along: 1800, height: 450}"
    cabinet = "{item: cabinet, against: north, along: 1600, off: 50}"
    found = [f for f in answer(socket, cabinet, items=items) if f.check == "control access"]
    assert [f.verdict for f in found] == ([Verdict.CAUTION] if told else [])
    stays = cabinet.replace("off: 50", "off: 50, stays: yes")
    assert [f for f in answer(socket, stays, items=items) if f.check == "control access"]


@pytest.mark.parametrize(
    ("kind", "weight", "more", "told"),
    [
        ("service", 14.9, "", False),
        ("service", 15, "", True),
        ("service", 14.9, ", stays: yes", True),
        ("person", 1, "", True),
    ],
)
def test_what_may_stand_in_a_zone(kind, weight, more, told):
    """A service zone holds what is moved aside, under 15 kg; a person's zone holds no body."""
    items = (
        f"unit: {{body: 600 x 300 x 600, mount: wall, zone: {{kind: {kind}, front: 900}}}}, "
        f"box: {{body: 300 x 300 x 300, weight: {weight}}}"
    )
    unit = "{item: unit, against: north, along: 1500, height: 1200}"
    found = answer(unit, f"{{item: box, at: [1600, 3000]{more}}}", items=items)
    assert any(f.check == "zone" and f.verdict is Verdict.CONFLICT for f in found) is told


@pytest.mark.parametrize(("stores", "told"), [("no", False), ("yes", True)])
def test_no_store_before_a_consumer_unit(stores, told):
    """Light things are moved aside, but it is no place to keep any (NEC 110.26(B), second-hand)."""
    items = f"box: {{body: 300 x 300 x 300, weight: 6, stores: {stores}}}"
    unit = "{item: consumer unit, against: north, along: 1500, height: 1250}"
    found = answer(unit, "{item: box, at: [1500, 3300]}", items=items)
    assert any(f.check == "zone" and "box" in f.items for f in found) is told


STACK = (
    "washer: {body: 600 x 600 x 900, weight: 70}, "
    "dryer: {body: 600 x 600 x 850, weight: 40, motions: "
    "[{name: door, kind: leaf, low: 500, height: TALL}]}, "
    "cupboard: {like: dryer, stores: yes}"
)


@pytest.mark.parametrize(
    ("tall", "people", "told"),
    [
        (500, "", False),
        (500.2, "", True),
        # Shoulder + 200: 0.82 of 1600 is 1312.
        (223.9, "stature: 1600", False),
        (224.2, "stature: 1600", True),
    ],
)
def test_the_door_of_a_stacked_machine(tall, people, told):
    """Its middle at 1650 or lower, or 200 over the user's shoulder where that is lower."""
    items = STACK.replace("TALL", str(tall))
    washer = "{item: washer, at: [1000, 1000], facing: south}"
    for item, heard in (("dryer", told), ("cupboard", False)):
        found = answer(washer, f"{{item: {item}, on: washer}}", items=items, people=people)
        heights = [f for f in found if f.check == "door height"]
        assert [f.verdict for f in heights] == ([Verdict.CAUTION] if heard else [])
        assert all(f.gap_mm == pytest.approx(-0.1, abs=0.06) for f in heights)


@pytest.mark.parametrize("weight", [1, 40])
def test_air_and_glass_are_shared_with_nothing(weight):
    """What may stand in a service zone may not stand in air asked for, nor before glass."""
    items = (
        "tank: {body: 600 x 600 x 600, weight: 80, gaps: {front: 200}}, "
        f"box: {{body: 300 x 300 x 300, weight: {weight}}}"
    )
    tank = "{item: tank, at: [1000, 3000], facing: south}"
    window = "{name: light, wall: south, along: 2000, size: 900 x 900, sill: 100}"
    boxes = ("{item: box, at: [1100, 2600]}", "{item: box, name: other, at: [1500, 100]}")
    found = answer(tank, *boxes, items=items, windows=window)
    (air,) = [f for f in found if f.check == "clearance"]
    assert (air.verdict, air.gap_mm) == (Verdict.CONFLICT, 100.0)
    (glass,) = [f for f in found if f.check == "window"]
    assert (glass.verdict, glass.items) == (Verdict.CAUTION, ("other", "light"))


CUPBOARD = (
    "cupboard: {body: 600 x 400 x 900, weight: 40, motions: [{name: door, kind: leaf}]}, "
    "box: {body: 300 x 300 x 300, weight: 20}"
)


def test_a_state_is_where_a_door_is():
    """Open, the door is a body; shut, it is what stops it that is told."""
    box = "{item: box, at: [1000, 2000]}"
    shut = "{item: cupboard, at: [1000, 2400], facing: south}"
    told = {f.check for f in answer(shut, box, items=CUPBOARD) if "box" in f.items}
    assert "motion" in told
    opened = "{item: cupboard, at: [1000, 2400], facing: south, state: {door: open}}"
    told = {f.check for f in answer(opened, box, items=CUPBOARD) if f.verdict is Verdict.CONFLICT}
    assert told == {"bodies"}


def test_together_makes_a_meeting_of_two_uses_a_conflict():
    """A door over another's floor waits its turn, unless the file says both are used at once."""
    items = CUPBOARD + ", sink: {body: 600 x 500 x 900, weight: 30, zone: {front: 700}}"
    rows = (
        "{item: cupboard, at: [1000, 3000], facing: south}",
        "{item: sink, at: [1000, 1400], facing: north}",
    )
    for together, verdict in (
        ("", Verdict.CAUTION),
        ("[cupboard door, sink in use]", Verdict.CONFLICT),
    ):
        found = [f for f in answer(*rows, items=items, together=together) if f.check == "in use"]
        assert [f.verdict for f in found] == [verdict]
