"""Head height under what stands open overhead: at the boundary, slanting, stooped, mirrored."""

from __future__ import annotations

import math

import pytest

from massing.checks import panels as module
from massing.checks import walked
from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.geometry.plan_parts import convex_parts
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Garage
room:
  size: 4000 x 5000
  ceiling: [{{flat: 2600}}]
  {floor}
  doors: [{{name: panel door, wall: {wall}, along: 500, leaf: 3000 x {leaf} x 40, kind: overhead}}]
items:
  bench:
    body: 1200 x 600 x 900
    weight: 100
    zone: {{name: standing, front: 800}}
  cupboard: {{body: 3000 x 1900 x 1800}}
schemes:
  a: [{rows}]
"""


def panels(rows="", wall="south", leaf=2000, floor="north: 0"):
    text = TEXT.format(rows=rows, wall=wall, leaf=leaf, floor=floor)
    answer = check_scheme(parse_project(text), "a")
    return [f for f in answer.findings if f.check == "open panel"]


# Open, the panel hangs level under its head, 40 thick, over 2000 of floor inside the south wall.
@pytest.mark.parametrize(("leaf", "verdict"), [(2040, None), (2039.9, Verdict.CAUTION)])
def test_people_pass_under_an_open_door(leaf, verdict):
    """2000 clear is asked of a way: 2040 less 40 has it, 0.1 less has not."""
    found = [f for f in panels(leaf=leaf) if f.verdict is not Verdict.CLEAR]
    assert [f.verdict for f in found] == ([] if verdict is None else [verdict])
    if found:
        assert found[0].gap_mm == pytest.approx(1999.9, abs=1e-6)
        # Its free edge is eased to the circle its leading edge runs on.
        reach = math.sqrt(2039.9**2 - 40.0**2) / 1000.0
        assert found[0].area_m2 == pytest.approx(3.0 * reach, abs=1e-4)


@pytest.mark.parametrize(("leaf", "verdict"), [(1940, Verdict.CAUTION), (1939.9, Verdict.CONFLICT)])
def test_stooping_under_it_is_allowed_to_1900(leaf, verdict):
    """1900 clear may be stooped under; 0.1 less may not."""
    [one] = panels(leaf=leaf)
    assert one.verdict is verdict
    assert one.gap_mm == pytest.approx(leaf - 40, abs=1e-6)
    assert one.needs_mm == 2000.0


ZONE = "{{item: bench, at: [1400, {y}], facing: south}}"


@pytest.mark.parametrize(("y", "found"), [(2800, 0), (2799.9, 1), (2700, 1)])
def test_a_zone_under_the_open_panel(y, found):
    """The zone runs 800 south of the bench: at 2800 it ends where the panel does, at y 2000."""
    low = [f for f in panels(ZONE.format(y=y)) if f.items == ("panel door", "bench")]
    bad = [f for f in low if f.verdict is Verdict.CONFLICT]
    assert len(bad) == found
    if y == 2700:
        [one] = bad
        assert one.gap_mm == pytest.approx(1960.0, abs=1e-6)
        assert one.area_m2 == pytest.approx(1.2 * 0.1, abs=1e-4)
        assert "short 40 over 0.120 m²" in one.says
        assert one.nudge is not None
        assert one.nudge.item == "bench"
        assert one.nudge.by_mm == pytest.approx((0.0, 100.0, 0.0), abs=0.11)


@pytest.mark.parametrize(
    ("wall", "at", "facing"),
    [
        ("south", (1400, 2700), "south"),
        ("north", (1400, 1700), "north"),
        ("west", (2700, 1900), "west"),
        ("east", (700, 1900), "east"),
    ],
)
def test_every_wall_says_the_same(wall, at, facing):
    """The same garage turned and mirrored: the same height and the same area."""
    row = f"{{item: bench, at: [{at[0]}, {at[1]}], facing: {facing}}}"
    [one] = [f for f in panels(row, wall=wall) if "bench" in f.items]
    assert (one.gap_mm, one.area_m2) == (pytest.approx(1960.0), pytest.approx(0.12, abs=1e-4))


def test_filled_floor_is_not_passed():
    """With 3000 x 1900 of the floor under it filled, what is left is 3000 x 100 + the strip."""
    [one] = panels("{item: cupboard, at: [500, 5]}")
    # The cupboard stops the panel: that is the door's finding, and the panel is taken as open.
    # South of it 5, north of it 95: the panel's last 95 x 3000 hangs over open floor.
    assert one.area_m2 == pytest.approx(3.0 * 0.095, abs=2e-4)


def test_a_raised_floor_takes_its_height_off():
    """Over a deck 100 up from y 1500 the panel leaves 1860, over the low floor 1960."""
    found = panels(
        floor="floor: [{name: low, level: 0}, {name: deck, from: north, depth: 3500, level: 100}]"
    )
    told = {f.items[1]: (f.verdict, round(f.gap_mm, 6)) for f in found}
    assert told == {"low": (Verdict.CAUTION, 1960.0), "deck": (Verdict.CONFLICT, 1860.0)}


HATCH = """
massing: 1
project: Hatch
room: {{size: 4000 x 3000, ceiling: [{{flat: 2600}}]}}
items:
  hatch:
    body: 1000 x 20 x 500
    mount: wall
    motions:
      - {{name: cover, kind: overhead, side: front, thickness: 20, angle: {angle}, needs: {angle}}}
  bench: {{body: 1000 x 500 x 900, zone: {{name: standing, front: 800}}}}
schemes:
  a:
    - {{item: hatch, at: [{x}, {y}, {z}], facing: {look}}}
    - {{item: bench, at: [{x}, {bench}], facing: {look}{more}}}
"""
ANGLE, LONG, THICK = math.radians(60.0), 500.0, 20.0


def hatch(z, *, mirrored=False, bench=900.0, x=1000.0, more="", tape=""):
    """The cover hangs at y 600 looking south, 60° open; the bench's zone ends at its front."""
    y, look = 600.0, "south"
    if mirrored:
        y, bench, look, x = 3000.0 - y - THICK, 3000.0 - bench - 500.0, "north", 3000.0 - x
    words = {
        "angle": 60,
        "x": x,
        "y": y,
        "z": f"{z}{tape}",
        "bench": bench,
        "look": look,
        "more": more,
    }
    answer = check_scheme(parse_project(HATCH.format(**words)), "a")
    return {f.items[1]: f for f in answer.findings if f.check == "open panel"}


def under_cover(z, run):
    """Height of the slanting cover's underside so far in from its pivot, by hand."""
    along = (run + THICK * math.cos(ANGLE)) / math.sin(ANGLE)
    return z + LONG - along * math.cos(ANGLE) - THICK * math.sin(ANGLE)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("off", [0.1, -0.1])
def test_a_slanting_cover_over_part_of_a_zone(mirrored, off):
    """Its lowest over the zone is over the zone's edge, 280 in from the pivot; 2000 is asked."""
    z = 1700.0 + 2000.0 - under_cover(1700.0, 280.0) + off
    found = hatch(f"{z:.6f}", mirrored=mirrored)["bench"]
    assert found.gap_mm == pytest.approx(2000.0 + off, abs=1e-3)
    assert found.verdict is (Verdict.CONFLICT if off < 0 else Verdict.CLEAR)
    if off < 0:
        # The strip that is low is as deep as the slant takes to fall by 0.1: 0.1 tan 60.
        assert found.area_m2 == pytest.approx(0.1 * math.tan(ANGLE) / 1000.0, abs=1e-4)
        assert found.at_mm[1] == pytest.approx(2100.0 if mirrored else 900.0, abs=0.05)


@pytest.mark.parametrize("mirrored", [False, True])
def test_its_free_edge_over_the_way(mirrored):
    """Over open floor the free edge, eased to the circle of its leading edge, is the lowest."""
    edge = math.sqrt(LONG**2 - THICK**2) * math.cos(ANGLE) + THICK * math.sin(ANGLE)
    found = hatch(1600.0, mirrored=mirrored, bench=2000.0)
    floor = next(f for name, f in found.items() if name != "bench")
    assert floor.gap_mm == pytest.approx(2100.0 - edge, abs=1e-3)
    assert floor.verdict is Verdict.CONFLICT
    assert floor.nudge.by_mm == pytest.approx((0.0, 0.0, math.ceil((edge - 100.0) * 10) / 10))


def test_the_tape_decides():
    """2003 ± 10 over the zone: the measurement settles it."""
    z = 1700.0 + 2003.0 - under_cover(1700.0, 280.0)
    found = hatch(f"{z:.4f}", tape=" ±10")["bench"]
    assert found.verdict is Verdict.REMEASURE
    assert (found.worst_mm, found.best_mm) == (
        pytest.approx(1993.0, abs=1e-3),
        pytest.approx(2013.0, abs=1e-3),
    )


def test_a_lid_over_a_low_chest_is_no_ceiling():
    """A chest's lid stands up at 90; a drop flap at 800 is met as a body, not stood under."""
    text = """
massing: 1
project: Chest
room: {size: 4000 x 3000, ceiling: [{flat: 2600}]}
items:
  chest:
    body: 1000 x 600 x 850
    zone: {name: standing, front: 700}
    motions: [{name: lid, kind: lid}, {name: flap, kind: flap, low: 700, height: 150}]
  press: {body: 600 x 600 x 1500, zone: {name: standing, front: 900}}
  desk cover:
    body: 1000 x 300 x 400
    mount: wall
    motions: [{name: flap, kind: flap, side: front}]
schemes:
  a:
    - {item: chest, at: [1000, 2400], facing: south}
    - {item: press, at: [1000, 400], facing: north}
  b:
    - {item: press, at: [1000, 2400], facing: south}
    - {item: desk cover, at: [700, 2100, 1850], facing: south}
  c:
    - {item: press, at: [1000, 2400], facing: south}
    - {item: desk cover, at: [700, 2100, 1850], facing: south, state: {flap: open}}
"""
    project = parse_project(text)
    told = {
        scheme: [f for f in check_scheme(project, scheme).findings if f.check == "open panel"]
        for scheme in "abc"
    }
    assert not told["a"]
    for scheme in "bc":
        [zone] = [f for f in told[scheme] if f.items[1] == "press"]
        assert (zone.verdict, zone.gap_mm) == (Verdict.CONFLICT, pytest.approx(1850.0, abs=1e-6))


def test_a_scheme_may_accept_it():
    """What the file accepts is a caution."""
    found = hatch(1600.0, more=", accept: [open panel]")["bench"]
    assert found.verdict is Verdict.CAUTION


DECK = "floor: [{name: low, level: 0}, {name: deck, from: north, depth: 3500, level: 100}]"


def test_what_is_near_a_panel_is_all_that_tells(monkeypatch):
    """With every ring and zone looked at, however far, the same is said to the last letter."""
    plain = {
        (module, "near_rings"): lambda things, _rings, _area: list(things),
        (walked, "near_rings"): lambda things, _rings, _area: list(things),
        (walked, "_outermost"): lambda rings: rings,
        (walked, "convex_parts"): lambda *rings, **_beside: convex_parts(*rings),
        (module, "_surely_unwalked"): lambda *_: False,
    }
    rooms = [
        (ZONE.format(y=2700), {}),
        ("{item: cupboard, at: [500, 5]}", {}),
        ("", {"floor": DECK}),
    ]
    told = [panels(rows, **more) for rows, more in rooms]
    assert all(told)
    for (where, name), form in plain.items():
        monkeypatch.setattr(where, name, form)
    assert [panels(rows, **more) for rows, more in rooms] == told
