"""Tests for massing.voids.shares and space: every litre counted once, and told where it is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.rules import Rules, rules_of
from massing.geometry.polygons import Ring, contains
from massing.project.read import read_project
from massing.room.measure import cells
from massing.room.shape import Room
from massing.scheme.layout import Layout
from massing.voids.shares import Shares, share_out, wall_parts
from massing.voids.tally import tally
from tests.voids.rooms import EXAMPLES, boxes, laid, project_of
from tests.zoo import ROOMS, named_room

FILES = [EXAMPLES / "boathouse.yaml", EXAMPLES / "loft.yaml"]
SCHEMES = [(file, name) for file in FILES for name in read_project(file).arrangements]


def shares_of(file, scheme: str) -> Shares:
    project = read_project(file)
    return share_out(laid(project, scheme), rules_of(project))


@pytest.mark.parametrize(("file", "scheme"), SCHEMES, ids=[f"{f.stem} {s}" for f, s in SCHEMES])
def test_every_litre_once(file, scheme: str):
    """Groups add up to the room; bands, reaches and walls each add up to what is unused."""
    found = shares_of(file, scheme)
    assert sum(v for _, v in found.groups) == pytest.approx(found.room, rel=1e-6)
    assert all(v >= 0 for _, v in found.groups)
    for rows in (found.heights, found.reaches, found.walls):
        assert sum(v for _, v in rows) == pytest.approx(found.unused, rel=1e-6)
    for above in found.above:
        assert -1e-3 <= above.unused <= above.room * (1 + 1e-6) + 1.0


def test_worked_volumes():
    """Boathouse 32.803 m³; loft 29.726 m³ without its breast, which is 1.021 (by hand)."""
    boathouse = shares_of(FILES[0], "first try")
    assert boathouse.room / 1e9 == pytest.approx(32.8032, abs=5e-5)
    loft = shares_of(FILES[1], "as found")
    groups = dict(loft.groups)
    # The breast is 400 deep: 360 of it under the flat, 420 each side under 1900 to 2250.
    breast = 0.4 * (0.36 * 2.25 + 2 * 0.42 * (1.9 + 2.25) / 2)
    assert groups["building"] / 1e9 == pytest.approx(breast, abs=1e-9)
    assert (loft.room - groups["building"]) / 1e9 == pytest.approx(29.726, abs=5e-4)


def test_above_the_bench():
    """1144.7 litres over the boathouse's bench (by hand), none of it in use."""
    found = shares_of(FILES[0], "first try")
    (bench,) = [a for a in found.above if a.item == "bench"]
    assert bench.room / 1e6 == pytest.approx(1144.65, abs=1e-6)
    assert bench.unused == pytest.approx(bench.room, rel=1e-9)


def test_an_empty_room_is_passage_and_the_air_over_it():
    """A flat empty room of 2400: 2000 of it is walked in, 400 is unused height."""
    found = share_out(laid(boxes()), Rules())
    assert dict(found.groups) == pytest.approx({"passage": 24e9, "unused": 4.8e9})
    assert dict(found.heights)["2000 and up"] == pytest.approx(4.8e9)
    # Each wall of 4000 x 3000 has a triangle of the plan or what two of them leave.
    assert dict(found.walls)["west"] == pytest.approx(1500 * 3000 / 2 * 400)
    assert dict(found.walls)["south"] == pytest.approx((6e6 - 1500 * 1500) * 400)


def test_what_counts_where():
    """A cabinet with a door, a zone and an air gap: each has its own share, the first to count."""
    project = project_of(
        "items:\n  case:\n    body: 600 x 600 x 900\n    zone: {front: 900, headroom: 2000}\n"
        "    gaps: {top: 100}\n"
        "    motions: [{name: drawer, kind: drawer, travel: 400, low: 100, height: 200}]\n"
        "schemes: {one: [{item: case, against: north, along: 1000}]}\n"
    )
    groups = dict(share_out(laid(project), rules_of(project)).groups)
    assert groups["bodies"] == pytest.approx(600 * 600 * 900)
    assert groups["service gaps"] == pytest.approx(600 * 600 * 100)
    drawer = groups["motions"]
    assert 0 < drawer <= 600 * 400 * 200 + 1
    assert groups["activity"] == pytest.approx(600 * 900 * 2000 - drawer)
    floor = 4000 * 3000 - 600 * 600 - 600 * 900
    assert groups["passage"] == pytest.approx(floor * 2000)


def test_narrow_floor_is_no_passage():
    """A slot of 500 between two cabinets is not walked; one of 600 is."""

    def passage(gap: float) -> float:
        project = boxes((0, 0, 0, 1000, 3000, 900), (1000 + gap, 0, 0, 3000 - gap, 3000, 900))
        return dict(share_out(laid(project), Rules()).groups).get("passage", 0.0)

    assert passage(500) == 0.0
    assert passage(600) == pytest.approx(600 * 3000 * 2000)


PLACES = st.lists(
    st.tuples(
        st.integers(0, 35).map(lambda v: v * 100),
        st.integers(0, 25).map(lambda v: v * 100),
        st.integers(0, 15).map(lambda v: v * 100),
        st.integers(1, 5).map(lambda v: v * 100),
        st.integers(1, 5).map(lambda v: v * 100),
        st.integers(1, 9).map(lambda v: v * 100),
    ),
    min_size=1,
    max_size=4,
)


@given(PLACES)
@settings(max_examples=20, deadline=None)
def test_laws_of_shares(places):
    """Bodies take their own union, and a body more never makes less of them or more unused air.

    Over a floor thing the passage goes, so unused air may grow by what was walked in.
    """
    layout = laid(boxes(*places))
    found = share_out(layout, Rules())
    groups = dict(found.groups)
    assert sum(groups.values()) == pytest.approx(found.room, rel=1e-6)
    assert groups["bodies"] == pytest.approx(tally(layout).bodies_l * 1e6, rel=1e-6)
    fewer = dict(share_out(laid(boxes(*places[:-1])), Rules()).groups)
    assert groups["bodies"] >= fewer.get("bodies", 0.0) - 1e-3
    walked = fewer.get("passage", 0.0) - groups.get("passage", 0.0)
    assert groups["unused"] <= fewer["unused"] + walked + 1.0


def nearest_before(room: Room, point: np.ndarray) -> str:
    """The wall nearest to a point, square to it, of all that it lies before (slow, plain)."""
    best = ("", np.inf)
    for wall in room.walls:
        off = float((wall.left[0] - point) @ wall.outward[0])
        along = float((point - wall.left[0]) @ wall.along[0])
        if off >= 0 and 0 <= along <= float(wall.length[0]) and off < best[1]:
            best = (wall.name, off)
    return best[0]


@pytest.mark.parametrize("name", sorted(set(ROOMS) - {"boathouse"}))
def test_wall_parts_against_points(name: str):
    """Wherever a point falls, the part it lies in belongs to the wall it is nearest to."""
    room = named_room(name)
    walls = [wall for wall in room.walls if not wall.partition]
    rng = np.random.default_rng(3)
    for cell in cells(room):
        parts = [(w.name, r) for w in walls for r in wall_parts(Ring.of(cell.polygon), w, walls)]
        low, high = cell.polygon.min(axis=0), cell.polygon.max(axis=0)
        for point in rng.uniform(low, high, (40, 2)):
            if not contains(cell.polygon[None], point[None, None], -1.0)[0, 0]:
                continue
            holds = [n for n, r in parts if contains(r.points, point[None, None], -1e-3)[0, 0]]
            assert holds in ([nearest_before(room, point)], []), (name, point)
            if not holds:  # on an edge between two parts, or before no wall
                near = [n for n, r in parts if contains(r.points, point[None, None], 1.0)[0, 0]]
                assert near or not nearest_before(room, point)


def test_the_wall_oracle_would_notice():
    """A point a little nearer to one wall is not given to the other."""
    room: Room = named_room("plain")
    assert nearest_before(room, np.array([900.0, 1000.0])) == "west"
    assert nearest_before(room, np.array([1100.0, 990.0])) == "south"


def test_layouts_are_left_as_they_were():
    """Sharing out changes nothing of the layout it is given."""
    layout: Layout = laid(read_project(FILES[0]), "first try")
    before = [part.solid.corners.copy() for item in layout.items for part in item.parts]
    share_out(layout, Rules())
    after = [part.solid.corners for item in layout.items for part in item.parts]
    assert all(np.array_equal(a, b) for a, b in zip(before, after, strict=True))
