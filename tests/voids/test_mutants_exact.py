"""What planted changes must not get past: areas, regions, tallies and words in exact figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import box as area_box

from massing.checks.rules import Rules
from massing.checks.run import check_scheme
from massing.geometry.polygons import area
from massing.scheme.layout import Layout
from massing.voids.area_rules import RULES
from massing.voids.areas import count_area
from massing.voids.boxes import BoxWish, Run, UsableBox, aisles, eaves_runs, spun, usable_boxes
from massing.voids.compare import compare
from massing.voids.eaves import Wedge, eaves_wedges, wedge_words
from massing.voids.fits import _turns
from massing.voids.in_the_way import moving
from massing.voids.open_floor import largest_circle, largest_rectangle, open_region
from massing.voids.regions import (
    convex_pieces,
    fabric_shadows,
    floor_region,
    item_shadows,
    joined,
    tall_rings,
    wide_parts,
)
from massing.voids.shares import share_out
from massing.voids.space import taken_up
from massing.voids.store import store_by_reach
from massing.voids.tally import above_item, obstructed, tally
from massing.voids.whereabouts import box_words, run_words, size_words
from tests.voids.rooms import laid, project_of

SLOPED = "size: 4000 x 3000\nceiling: [{slopes: {south: 1000, north: 2500}}]"
BODY = """\
items:
  case: {body: 1000 x 400 x 800, stores: yes, weight: 60}
  rack: {body: 600 x 300 x 400, mount: wall, stores: yes}
schemes:
  one:
    - {item: case, at: [500, 2000]}
    - {item: rack, against: north, along: 2000, height: 1900}
"""
STEPPED = """\
size: 4000 x 3000
floor: [{level: 0}, {from: east, depth: 1000, level: 200}]
ceiling: [{flat: 2150}]"""


def sloped() -> Layout:
    return laid(project_of(BODY, SLOPED), "one")


def test_floor_by_height_under_a_slope():
    """1000 + y/2: 1500 from y 1000 on, 2000 from y 2000 on."""
    room = sloped().room
    for least, below, size in ((0.0, math.inf, 12.0), (1500.0, math.inf, 8.0),
                               (2000.0, math.inf, 4.0), (1500.0, 2000.0, 4.0),
                               (0.0, 1500.0, 4.0), (2500.0, math.inf, 0.0)):  # fmt: skip
        assert floor_region(room, least, below).area == pytest.approx(size * 1e6, abs=1.0)
    assert tall_rings(room, sloped=False) == ()
    assert len(tall_rings(room, sloped=True)) == 1
    level = laid(project_of(BODY.replace("north, along", "west, along"), STEPPED), "one").room
    assert tall_rings(level, sloped=True) == ()
    for least, below, size in ((1950.0, math.inf, 12.0), (1951.0, math.inf, 9.0),
                               (1950.0, 2150.0, 3.0), (0.0, 1950.0, 0.0), (0.0, 1951.0, 3.0),
                               (2150.0, math.inf, 9.0), (2150.1, math.inf, 0.0)):  # fmt: skip
        assert floor_region(level, least, below).area == pytest.approx(size * 1e6, abs=1.0)


@pytest.mark.parametrize(
    ("name", "area_m2", "share"),
    [("WoFlV", 4.0 + 0.5 * 8.0, None), ("NDSS, as a room", 8.0, None),
     ("NDSS, eaves solely for storage", 8.0 + 0.5 * 4.0, None), ("1.80 m rule", 4.0 * 1.4, None),
     ("NDSS height", 8.0, 0.2), ("NCC, attic room", 8.0, 0.3),
     # 1900 from y 1800: 1.2 deep, and 600 beyond it.
     ("NS 3940", 4.0 * 1.8, None)],
)  # fmt: skip
def test_published_areas_of_that_room(name, area_m2, share):
    (rule,) = [each for each in RULES if each.name == name]
    found = count_area(sloped().room, rule)
    assert found.area == pytest.approx(area_m2 * 1e6)
    assert found.share == (None if share is None else pytest.approx(share))
    assert found.passes is (None if share is None else False)


def test_where_no_floor_is_high_enough_nothing_counts():
    room = laid(project_of("schemes: {one: []}", "size: 4000 x 3000\nceiling: [{flat: 1400}]")).room
    (rule,) = [each for each in RULES if each.name == "NDSS height"]
    told = count_area(room, rule)
    assert (told.area, told.share, told.passes) == (0.0, None, False)


def test_a_scheme_counted_up():
    """Case 1000 x 400 x 800 on the floor at y 2000; a rack at 1900, in the way below 2000."""
    layout = sloped()
    told = tally(layout)
    assert told.obstructed_m2 == pytest.approx(0.4 + 0.18)
    # From y 2000 on one stands: 4 m² less the case's 0.4 and the rack's 0.18.
    assert told.standing_m2 == pytest.approx(4.0 - 0.58)
    assert told.store_l == told.bodies_l == pytest.approx(320.0 + 72.0)
    # Over the case the ceiling is 2000 to 2200: 1300 on average over its top.
    assert dict(told.above_l)["case"] == pytest.approx(0.4 * 1300.0)
    # Over the rack's top at 2300 it is 2350 to 2500: 125 on average.
    assert dict(told.above_l)["rack"] == pytest.approx(0.18 * 125.0)
    assert obstructed(layout, 1900.0).area == pytest.approx(0.4e6)
    assert obstructed(layout, 1900.1).area == pytest.approx(0.58e6)
    assert [name for name, _ in item_shadows(layout, 1900.0)] == ["case"]
    assert above_item(layout, layout.item("case")) == pytest.approx(0.4e6 * 1300.0)
    # Store between 0 and 600, to 800; the rack from 1900 on is out of reach.
    assert store_by_reach(layout) == pytest.approx((240e6, 80e6, 0.0, 72e6))
    assert store_by_reach(layout, (1900.0, 2100.0)) == pytest.approx((320e6, 36e6, 36e6))


def test_a_beam_is_in_the_way_below_the_headroom():
    beam = SLOPED + "\nfabric: [{name: beam, box: 0..4000 x 2500..2600 x 1950..2100}]"
    layout = laid(project_of(BODY, beam), "one")
    assert [name for name, _ in fabric_shadows(layout.room, 2000.0)] == ["beam"]
    assert fabric_shadows(layout.room, 1950.0) == ()
    assert open_region(layout, 2000.0).area == pytest.approx(3.42e6 - 0.4e6)


def test_wide_parts_and_pieces_of_a_region():
    """A room 900 x 900 with a passage 300 wide, which a strip of 400 does not enter."""
    region = area_box(0, 0, 900, 900).union(area_box(900, 300, 2000, 600))
    assert wide_parts(region, 400.0).area == pytest.approx(810_000.0)
    assert wide_parts(region, 299.0).area == pytest.approx(810_000.0 + 330_000.0)
    assert wide_parts(region, 901.0).is_empty
    pieces = convex_pieces(region)
    assert sum(float(area(ring[None])[0]) for ring in pieces) == pytest.approx(region.area)
    assert all(float(area(ring[None])[0]) > 0 for ring in pieces)
    assert sorted(float(np.ptp(ring[:, 0])) for ring in pieces) == [900.0, 900.0, 2000.0]
    assert convex_pieces(region.difference(region)) == ()
    assert joined(list(pieces)).area == pytest.approx(region.area)


def test_largest_shapes_of_open_floor():
    """An L of 900 and 2000 x 300: the circle is 900 across."""
    region = area_box(0, 0, 900, 900).union(area_box(900, 300, 2000, 600))
    found = largest_circle(region)
    assert found.diameter == pytest.approx(900.0, abs=0.1)
    assert found.centre == pytest.approx((450.0, 450.0), abs=0.2)
    assert largest_circle(region.difference(region)).diameter == 0.0
    layout = laid(project_of(BODY, SLOPED), "one")
    # Between the case (to x 1500, from y 2000) and the east wall, before the rack at y 2700.
    best = largest_rectangle(layout)
    assert best.size[0] * best.size[1] == pytest.approx(max(2500.0 * 700, 4000.0 * 300, 1e3))
    assert (best.low, best.high) == ((1500.0, 2000.0), (4000.0, 2700.0))


def test_boxes_have_their_sizes_turned_or_not():
    box = UsableBox((100.0, 200.0, 300.0), (400.0, 600.0, 800.0), 1e9, proved=True, turn=90.0)
    assert (box.size, box.volume) == ((300.0, 400.0, 500.0), 6e7)
    assert box.ring == pytest.approx(np.array([[-200, 100], [-200, 400], [-600, 400], [-600, 100]]))
    assert size_words(box) == "300 x 400 x 500 at 300, turned 90°"
    points = np.array([[1.0, 2.0]])
    assert spun(points, 0.0) is points
    assert spun(points, 30.0) == pytest.approx(
        np.array([[math.cos(math.pi / 6) - 1.0, 0.5 + 2.0 * math.cos(math.pi / 6)]])
    )
    run = Run("north", 100.0, 900.0, 300.0, 550.0, 320.0)
    assert run.volume == 800.0 * 250.0 * 320.0
    assert run_words(run) == "north wall, 100 to 900 along: 800 x 320 x 250 at 300"
    wedge = Wedge("south", 0.0, 4000.0, 0.0, 600.0, 1000.0, 1300.0)
    assert wedge.volume == 4000.0 * 600.0 * 1150.0
    assert wedge_words(wedge) == (
        "south wall, 0 to 4000 along: 4000 x 600 deep, from 1000 at the wall to 1300 high, at 0"
    )


def test_words_of_boxes_at_their_limits():
    """Near is within 50, under or over is from a quarter of the plan on, a slope is touched."""
    layout = sloped()

    def words(low, high):
        return box_words(layout, UsableBox(tuple(map(float, low)), tuple(map(float, high)), 1e9,
                                           proved=True))  # fmt: skip

    assert words((500, 2000, 800), (1500, 2400, 1200)) == "above case"
    assert words((1249, 2000, 800), (2249, 2400, 1200)) == "above case"
    assert words((1251, 2000, 800), (2251, 2400, 1200)) == "in the middle of the room"
    assert words((1550, 2000, 0), (1900, 2400, 700)) == "beside case"
    assert words((1551, 2000, 0), (1900, 2400, 700)) == "in the middle of the room"
    assert words((3600, 500, 0), (3950, 900, 500)) == "against the east wall"
    assert words((3600, 500, 0), (3949, 900, 500)) == "in the middle of the room"
    assert words((3600, 500, 0), (4000, 900, 1249)) == "against the east wall, under the slope"
    assert words((3600, 500, 0), (4000, 900, 1248)) == "against the east wall"
    low = next(r.low[0, 0] for r in layout.items if r.name == "rack")
    assert words((low, 2700, 1400), (low + 600, 3000, 1900)).startswith(
        "below rack, against the north wall"
    )


@pytest.mark.parametrize("wish", [BoxWish(floor=True, open_front=False, count=1)])
def test_the_largest_box_of_an_empty_sloped_room(wish):
    """4000 x (3000 - y) x (1000 + y/2) is most at y 500: 2500 deep and 1250 high."""
    layout = laid(project_of("schemes: {one: []}", SLOPED), "one")
    (best,) = usable_boxes(layout, Rules(), wish)
    assert best.volume == pytest.approx(4000.0 * 2500.0 * 1250.0, rel=1e-6)
    assert best.size == pytest.approx((4000.0, 2500.0, 1250.0), abs=0.5)
    assert best.bound == pytest.approx(best.volume, rel=1e-6)
    assert best.proved


def test_open_floor_to_reach_in_from_and_runs_and_wedges_beside_it():
    layout = laid(project_of("schemes: {one: []}", SLOPED), "one")
    boxes = aisles(layout, Rules())
    assert boxes[0].tolist() == [0.0, 2000.0, 0.0, 4000.0, 3000.0, 2000.0]
    # A shelf 500 deep along the south wall: up to 1000 high at the wall.
    best = next(run for run in eaves_runs(layout, Rules(), 500.0) if run.wall == "south")
    assert (best.start, best.stop, best.low, best.high) == pytest.approx((0, 4000, 0, 1000))
    (wedge, *_) = eaves_wedges(layout, Rules())
    assert (wedge.wall, wedge.depth) == ("south", pytest.approx(2000.0))
    assert (wedge.at_wall, wedge.at_front) == pytest.approx((1000.0, 2000.0))
    assert wedge.volume == pytest.approx(4000.0 * 2000.0 * 1500.0)


def test_every_litre_by_hand():
    """12 m² under 1000 to 2500: 21 m³; passage 4 m² x 2000; beyond it above and before."""
    layout = laid(project_of("schemes: {one: []}", SLOPED), "one")
    shares = share_out(layout, Rules())
    assert shares.room == pytest.approx(21e9)
    groups = dict(shares.groups)
    assert groups["passage"] == pytest.approx(8e9)
    assert shares.unused == pytest.approx(13e9)
    # Before y 2000: 12 m³, 8 m² x 600 of it below 600; over the passage 4 m² x 250.
    reaches = dict(shares.reaches)
    assert reaches["below 600"] == pytest.approx(4.8e9)
    # 600 to 1500: 900 over y 1000..2000 and 1000 + y/2 - 600 on average 650 over y 0..1000.
    assert reaches["600 to 1500"] == pytest.approx(4.0e9 * 0.9 + 4.0e9 * 0.65)
    # 1500 to 1800: full from y 1600, a triangle from y 1000.
    assert reaches["1500 to 1800"] == pytest.approx(4.0e9 * (0.4 * 0.3 + 0.6 * 0.15))
    assert sum(reaches.values()) == pytest.approx(13e9)
    assert sum(dict(shares.walls).values()) == pytest.approx(13e9)


TWO = (
    BODY
    + """\
  two:
    - {item: case, at: [700, 1900], facing: east}
    - {item: case, name: extra, at: [2500, 2000]}
"""
)


def test_two_schemes_set_side_by_side():
    """The middle of the case goes 100 west and 200 north, and it turns; the rack goes."""
    project = project_of(TWO, SLOPED)
    found = compare(check_scheme(project, "one"), check_scheme(project, "two"))
    (move,) = found.moved
    # Middles: (1000, 2200) before; 400 x 1000 at (700, 1900): (900, 2400) after.
    assert (move.name, move.by, move.turned_deg) == ("case", (-100.0, 200.0, 0.0), 90.0)
    assert (found.coming, found.going) == (("extra",), ("rack",))
    assert found.freed == pytest.approx(0.58e6 - 0.8e6)
    assert (found.before.standing, found.before.obstructed) == pytest.approx((3.42e6, 0.58e6))
    assert found.before.store == pytest.approx((240e6, 80e6, 0.0, 72e6))
    assert found.after.store == pytest.approx((480e6, 160e6, 0.0, 0.0))
    back = compare(check_scheme(project, "two"), check_scheme(project, "one"))
    assert (back.moved[0].by, back.moved[0].turned_deg) == ((100.0, -200.0, 0.0), -90.0)
    assert (back.coming, back.going, back.freed) == (("rack",), ("extra",), -found.freed)


def test_what_moves_along_with_a_thing_has_its_size():
    body = """\
items:
  bench: {body: 900 x 500 x 850, zone: {front: 700, headroom: 1900}, gaps: {left: 50}, motions: \
[{name: drawer, kind: drawer, travel: 300}]}
schemes:
  one:
    - {item: bench, at: [1000, 1500], facing: south}
"""
    layout = laid(project_of(body), "one")
    held = {element.kind: element for element in moving(Rules(), layout.item("bench"))}
    assert list(held) == ["body", "zone", "gap", "motion"]
    sizes = {kind: float(e.solids[0].volume[0]) for kind, e in held.items()}
    assert sizes["body"] == pytest.approx(900 * 500 * 850)
    assert sizes["zone"] == pytest.approx(900 * 700 * 1900)
    assert sizes["gap"] == pytest.approx(50 * 500 * 850)
    assert held["motion"].solids[0].low[0, 1] == pytest.approx(1200.0)
    groups = {group.name: group for group in taken_up(layout, Rules())}
    assert [float(s.volume[0]) for s in groups["bodies"].solids] == [900 * 500 * 850]
    assert sum(float(s.volume[0]) for s in groups["activity"].solids) == pytest.approx(
        900 * 700 * 1900
    )
    assert groups["service gaps"].owners == ("bench",)


def test_what_lies_over_a_thing_of_parts_counts_once():
    """A block on a block over 500 x 500, and a wing of 200 beside them, under 2400."""
    body = (
        "items:\n  thing:\n    parts:\n      - {name: foot, box: 0..500 x 0..500 x 0..300}\n"
        "      - {name: head, box: 0..500 x 0..500 x 300..600}\n"
        "      - {name: wing, box: 500..1000 x 0..500 x 0..200}\n"
        "schemes: {one: [{item: thing, at: [1000, 1000]}]}\n"
    )
    layout = laid(project_of(body), "one")
    (thing,) = layout.items
    assert above_item(layout, thing) == pytest.approx(0.25e6 * (1800.0 + 2200.0))
    assert tally(layout).bodies_l == pytest.approx(0.25 * 800.0)
    assert tally(layout).obstructed_m2 == pytest.approx(0.5)


def test_over_what_meets_the_slope_only_the_wedge_is_left():
    """Ceiling 1100 to 1300 over a chest 1200 high: 1000 x 200 x 100 / 2 over its far half."""
    body = (
        "items:\n  chest: {body: 1000 x 400 x 1200}\n"
        "schemes: {one: [{item: chest, at: [500, 200]}]}\n"
    )
    layout = laid(project_of(body, SLOPED), "one")
    (over,) = share_out(layout, Rules()).above
    assert (over.room, over.unused) == (pytest.approx(1e7), pytest.approx(1e7))


def test_a_thing_is_tried_along_the_long_side_of_its_box_first():
    """Sides that differ by 100 are told apart; of alike ones the lesser turn comes first."""
    room = laid(project_of("schemes: {one: []}"), "one").room

    def turns(wide, deep):
        low = (2000.0 - wide / 2, 1500.0 - deep / 2, 0.0)
        high = (2000.0 + wide / 2, 1500.0 + deep / 2, 500.0)
        return _turns(room, UsableBox(low, high, 1e9, proved=True))

    assert turns(700.0, 600.0) == [0, 180, 90, 270]
    assert turns(600.0, 700.0) == [90, 270, 0, 180]
    # Against the south wall its front looks away from it before all else.
    low = UsableBox((1700.0, 0.0, 0.0), (2400.0, 600.0, 500.0), 1e9, proved=True)
    assert _turns(room, low) == [180, 90, 270, 0]
