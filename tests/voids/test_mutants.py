"""Mistakes that planted changes showed no test would notice: one test each."""

from __future__ import annotations

import inspect

import numpy as np
import pytest
from shapely import Polygon, box, union_all

from massing.checks.rules import Rules
from massing.checks.run import check_scheme
from massing.geometry.polygons import Ring
from massing.room.cells import plan_area
from massing.voids.boxes import BoxWish, UsableBox, aisles, eaves_runs
from massing.voids.compare import compare
from massing.voids.fill import _cautions, fill_scheme
from massing.voids.fits import _on_wall
from massing.voids.meeting import _cut
from massing.voids.open_floor import largest_circle
from massing.voids.shares import wall_parts
from massing.voids.space import room_cells, walked_floor
from massing.voids.trial import added
from massing.voids.where import where_against
from massing.voids.where_free import where_up_walls
from massing.voids.where_moves import Moves, _squares
from massing.voids.whereabouts import box_words
from tests.voids.rooms import laid, project_of

ROOM = """\
items:
  case: {body: 1000 x 400 x 800, stores: yes, weight: 60}
  rack: {body: 600 x 300 x 400, mount: wall}
schemes:
  one:
    - {item: case, against: south, along: 500}
    - {item: rack, against: south, along: 2000, height: 1000}
"""


def usable(low, high):
    return UsableBox(low, high, 1e9, proved=True)


def test_what_is_under_a_box_is_not_beside_it():
    """A thing is beside a box only where they share some height; a touch above is above."""
    layout = laid(project_of(ROOM), "one")
    case = next(item for item in layout.items if item.name == "case")
    (x0, y0, _), (x1, y1, z1) = case.low[0], case.high[0]
    beside = usable((float(x1), float(y0), 0.0), (float(x1) + 300.0, float(y1), 600.0))
    above = usable((float(x0), float(y0), float(z1)), (float(x1), float(y1), float(z1) + 300.0))
    higher = usable((float(x1), float(y0), float(z1)), (float(x1) + 300.0, float(y1), 1500.0))
    assert "beside case" in box_words(layout, beside)
    assert "beside case" not in box_words(layout, higher)
    assert "beside case" not in box_words(layout, above)
    assert "above case" in box_words(layout, above)


def test_a_height_asked_for_goes_before_the_height_it_hangs_at():
    """The rack hangs at 1000 and is asked for at 300, where the case of 800 is in its way."""
    project = project_of(ROOM)
    at_own = where_against(project, "one", "rack")
    at_300 = where_against(project, "one", "rack", height=300.0)
    blocked = [{b for wall in maps for b in map(str, wall.blocked)} for maps in (at_own, at_300)]
    assert not any("case" in words for words in blocked[0])
    assert any("case" in words for words in blocked[1])


def test_an_entry_of_the_catalogue_is_used_once_unless_asked():
    """Two boxes filled with two things, not with one thing twice."""
    project = project_of(ROOM.replace("rack", "tub", 1).split("    - {item: rack")[0])
    wish = BoxWish(floor=True, count=2)
    for twice, different in ((True, 1), (False, 2)):
        filling = fill_scheme(project, "one", wish, most=2, twice=twice)
        names = [thing.fit.item for thing in filling.things]
        assert (len(names), len(set(names))) == (2, different)


@pytest.mark.parametrize(("high", "free"), [(900, True), (900.5, False)])
def test_what_hangs_where_nothing_is_said_hangs_at_900(high, free):
    """Over a case all along the south wall: flush at 900, in its way half a millimetre higher."""
    project = project_of(
        f"items:\n  case: {{body: 4000 x 400 x {high}}}\n"
        "  rack: {body: 600 x 300 x 400, mount: wall}\n"
        "schemes: {one: [{item: case, at: [0, 0]}]}\n"
    )
    (south,) = [one for one in where_against(project, "one", "rack") if one.wall == "south"]
    found = [(piece.start, piece.stop) for piece in south.stretches]
    assert found == ([(0.0, pytest.approx(3400.0))] if free else [])


def test_of_walls_one_behind_another_the_nearer_has_the_floor():
    """A room round a notch from the east, 500 deep: every place is one wall's, and of one alone.

    Floor beyond the notch lies before the south wall too, and to y 1500 nearer to it than to the
    north wall; but the top of the notch is nearer.
    """
    corners = "[0, 0], [4000, 0], [4000, 500], [1000, 500], [1000, 1000], [4000, 1000]"
    words = f"corners: [{corners}, [4000, 3000], [0, 3000]]\nceiling: [{{flat: 2400}}]"
    room = laid(project_of("schemes: {one: []}", words)).room
    walls = list(room.walls)
    parts = [
        sum(
            plan_area(ring.points[0])
            for cell in room_cells(room)
            for ring in wall_parts(Ring.of(cell.plan), wall, walls)
        )
        for wall in walls
    ]
    # Of two that face each other each has half but for a triangle by the end: 250 and 1000 deep.
    below, above = 3000.0 * 250.0 - 250.0**2 / 2, 3000.0 * 1000.0 - 1000.0**2 / 2
    # West of the notch the triangles of south and north, and the square before the notch's end,
    # which takes what of the south's triangle lies beyond 500.
    south, north, notch = 1000.0**2 / 2 - 500.0**2 / 2, 1000.0**2 / 2, 500.0**2
    west = 1000.0 * 3000.0 - south - north - notch
    low_east, east = 500.0 * 250.0 / 2, 2000.0 * 1000.0 / 2
    assert parts == pytest.approx(
        [south + below, low_east, below, notch, above, east, north + above, west]
    )
    assert sum(parts) == pytest.approx(4000.0 * 3000.0 - 3000.0 * 500.0)


def test_floor_to_reach_in_from_is_open_floor_in_both_directions():
    """An L of 4000 x 1000 and 1000 x 3000, cut level and cut upright, and nothing beyond it.

    Level into 4000 x 1000 and 1000 x 2000; upright into 1000 x 3000 and 3000 x 1000.
    """
    corners = "[[0, 0], [4000, 0], [4000, 1000], [1000, 1000], [1000, 3000], [0, 3000]]"
    layout = laid(
        project_of("schemes: {one: []}", f"corners: {corners}\nceiling: [{{flat: 2400}}]")
    )
    rows = aisles(layout, Rules())[:, [0, 1, 3, 4]].round(3)
    plans = sorted(map(tuple, rows.tolist()))
    assert plans == [
        (0.0, 0.0, 1000.0, 3000.0), (0.0, 0.0, 4000.0, 1000.0),
        (0.0, 1000.0, 1000.0, 3000.0), (1000.0, 0.0, 4000.0, 1000.0),
    ]  # fmt: skip
    for x0, y0, x1, y1 in plans:
        assert walked_floor(layout, Rules()).buffer(1e-3).contains(box(x0, y0, x1, y1))


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_thing_goes_against_the_wall_its_back_is_on(turn):
    """In the middle of a wall that is the one behind it, however far the others."""
    room = laid(project_of("schemes: {one: []}")).room
    front = np.array({0: (0, -1), 90: (1, 0), 180: (0, 1), 270: (-1, 0)}[turn])
    for wall in room.walls:
        ends = (wall.left[0] + along * wall.along[0] for along in (1000.0, 1700.0))
        near, far = ends
        deep = -300.0 * wall.outward[0]
        words = _on_wall(room, np.array([near, far, far + deep, near + deep]), turn, 0.0)
        behind = bool(np.allclose(wall.outward[0], -front))
        told = {"against": wall.name, "along": 1000.0, "height": 0.0}
        assert words == (told if behind else None)


def test_six_things_at_most_are_put_in_unasked():
    assert inspect.signature(fill_scheme).parameters["most"].default == 6


@pytest.mark.parametrize("size", [(900.0, 100.0), (100.0, 900.0), (640.0, 640.0)])
def test_squares_cover_a_region_and_go_no_further_than_they_must(size):
    region = box(1000.0, 2000.0, 1000.0 + size[0], 2000.0 + size[1])
    squares = list(_squares(region))
    assert union_all(squares).contains(region)
    assert all(square.intersection(region).area > 0.0 for square in squares)


def test_shelves_along_a_wall_are_as_long_and_as_high_as_asked():
    """South of a wall of 1500 by a notch: a shelf of 1500 is told where 1500 is the least asked."""
    corners = "[[0, 0], [4000, 0], [4000, 3000], [1500, 3000], [1500, 2400], [0, 2400]]"
    layout = laid(project_of("schemes: {one: []}", f"corners: {corners}\nceiling: [{{flat: 900}}]"))

    def walls(*least):
        runs = eaves_runs(layout, Rules(), 300.0, least=least)
        return {round(run.stop - run.start) for run in runs}

    assert 1500 in walls(1499.0, 899.0)
    assert 1500 not in walls(1501.0, 899.0)
    assert walls(1000.0, 901.0) == set()
    assert min(walls(700.0, 250.0)) >= 700


def test_a_thing_turned_by_a_hair_is_turned_by_nothing():
    """0.0004° clockwise is 0 in thousandths, and not minus nothing."""
    case = "items:\n  case: {body: 1000 x 400 x 800}\nschemes:\n"
    rows = (f"  {name}: [{{item: case, at: [500, 2000], turn: {turn}}}]\n"
            for name, turn in (("one", 0), ("two", 359.9996)))  # fmt: skip
    project = project_of(case + "".join(rows))
    (move,) = compare(check_scheme(project, "one"), check_scheme(project, "two")).moved
    assert str(move.turned_deg) == "0.0"


def test_a_zone_slides_with_a_hung_thing_and_does_not_rise_with_it():
    """A rack 600 wide keeps its 700 of floor clear of a post from x 1000 to 1300, at any height.

    Of its 3400 along the north wall 900 are lost, from the floor to 2000.
    """
    project = project_of(
        "items:\n  rack: {body: 600 x 300 x 400, mount: wall, zone: {front: 700}}\n"
        "  post: {body: 300 x 300 x 1200}\nschemes: {one: [{item: post, at: [1000, 2100]}]}\n"
    )
    (north,) = [one for one in where_up_walls(project, "one", "rack") if one.wall == "north"]
    assert north.body.area == pytest.approx(3400.0 * 2000.0)
    assert north.clear.area == pytest.approx((3400.0 - 900.0) * 2000.0, rel=1e-6)


@pytest.mark.parametrize("across", [1.0, -1.0])
@pytest.mark.parametrize("up", [1.0, -1.0])
@pytest.mark.parametrize("legs", [(3000.0, 4000.0), (1200.0, 500.0), (800.0, 1500.0)])
def test_the_circle_in_a_right_triangle_whichever_way_it_lies(across, up, legs):
    """Across it is a + b - c, to 0.1 and never more: 2000, 400 and 600."""
    a, b = legs
    corners = [(100.0, 50.0), (100.0 + across * a, 50.0), (100.0, 50.0 + up * b)]
    found = largest_circle(Polygon(corners))
    across_it = a + b - float(np.hypot(a, b))
    assert across_it - 0.1 <= found.diameter <= across_it + 1e-9
    spot = np.array([100.0 + across * across_it / 2, 50.0 + up * across_it / 2])
    assert np.abs(np.array(found.centre) - spot).max() < 5.0


@pytest.mark.parametrize("off", [0.5, -0.5])
def test_a_cut_through_a_body_takes_only_edges_that_cross_it(off):
    """Two pyramids on a square of 200, their tips 100 below and above: half a millimetre off it."""
    square = [(x, y, off) for x in (-100.0, 100.0) for y in (-100.0, 100.0)]
    ring = _cut(np.array([*square, (0.0, 0.0, -100.0), (0.0, 0.0, 100.0)]))
    assert np.ptp(ring, axis=0) == pytest.approx([200.0 * 100.0 / 100.5] * 2)
    # A pyramid whose tip is only so far beyond the cut has 1 / 201 of its base there.
    base = [(x, y, -200.0 * off) for x, y, _ in square]
    tip = _cut(np.array([*base, (0.0, 0.0, off)]))
    assert np.ptp(tip, axis=0) == pytest.approx([200.0 / 201.0] * 2)


def test_what_is_said_of_a_thing_put_in_is_of_that_thing():
    """A rack hangs there already; what is told of the shelf says nothing of the rack's load."""
    project = project_of(
        "items:\n  rack: {body: 600 x 300 x 400, mount: wall, weight: 60}\n"
        "  shelf: {body: 500 x 200 x 300, mount: wall, weight: 40}\n"
        "schemes:\n  one: [{item: rack, against: north, along: 500, height: 1400}]\n"
    )
    trial = added(project, "one", {"item": "shelf", "against": "south", "along": 500.0,
                                   "height": 1400.0})  # fmt: skip
    findings = check_scheme(trial.project, "one").findings
    assert {f.items for f in findings if f.check == "load"} == {("rack",), ("shelf",)}
    told = list(_cautions(trial, findings))
    assert len(told) == 1
    assert "shelf" in told[0]


@pytest.mark.parametrize(
    ("rise", "low", "high"),
    [((0.5, 0.25), (0, 0), (100, 50)), ((-0.5, 0.25), (100, 0), (0, 50)),
     ((0.5, -0.25), (0, 50), (100, 0)), ((-0.5, -0.25), (100, 50), (0, 0))],
)  # fmt: skip
def test_a_square_is_looked_at_just_inside_its_lowest_and_its_highest_corner(rise, low, high):
    """A thousandth of the way from each to the middle, (50, 25)."""
    moves = Moves(None, None, None, np.eye(3), np.zeros((2, 2)), (), rise=rise)
    ends = moves._ends(box(0.0, 0.0, 100.0, 50.0))
    for end, corner in zip(ends, (low, high), strict=True):
        assert end == pytest.approx(0.999 * np.array(corner) + 0.001 * np.array([50.0, 25.0]))
