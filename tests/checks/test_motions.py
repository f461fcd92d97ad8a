"""What moves in small rooms worked by hand: reach, cause, need, nudge and what is left out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from massing.checks import motions, motions_doors, motions_hinge
from massing.checks.context import Context
from massing.checks.finding import Verdict
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.checks.verdicts import extreme_shifts
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.sureness.remeasure import remeasure
from massing.survey.values import Values

ROOM = """
massing: 1
project: Small room
room:
  size: {size}
  floor: {floor}
  ceiling: [{ceiling}]
  doors: [{doors}]
  windows: [{windows}]
items:
  cupboard: {{body: 600 x 600 x 900, weight: 60, motions: [
    {{name: door, kind: leaf, hinge: left, angle: 170, needs: 90}}]}}
  chest: {{body: 700 x 460 x 980, weight: 90, motions: [
    {{name: top drawer, kind: drawer, low: 700, height: 200, travel: 400}},
    {{name: low drawer, kind: drawer, low: 100, height: 200, travel: 380, needs: 300}}]}}
  trunk: {{body: 900 x 500 x 500, weight: 20, motions: [{{name: lid, kind: lid}}]}}
  dish: {{body: 600 x 600 x 850, weight: 40, motions: [
    {{name: flap, kind: flap, low: 120, height: 620, thickness: 40}}]}}
  riser: {{body: 1200 x 600 x 740, weight: 40, motions: [
    {{name: top, kind: rise, low: 620, travel: 650, thickness: 30}}]}}
  monitor: {{body: 500 x 200 x 400, weight: 6, mount: 'on'}}
  bin: {{body: 300 x 300 x 600, weight: 5}}
  tower: {{body: 300 x 300 x 1500, weight: 30}}
  post: {{body: 1 x 1 x 1700, weight: 2}}
schemes:
  all:
{rows}
"""


def room(
    *rows: str,
    size: str = "4000 x 3000",
    floor: str = "[]",
    ceiling: str = "{flat: 2400}",
    doors: str = "",
    windows: str = "",
):
    """A project with one scheme of these rows."""
    listed = "\n".join(f"    - {{{row}}}" for row in rows)
    return parse_project(
        ROOM.format(
            rows=listed, size=size, floor=floor, ceiling=ceiling, doors=doors, windows=windows
        )
    )


def found(project, check: str = "motion", *names: str):
    answer = check_scheme(project)
    return [f for f in answer.findings if f.check == check and set(names) <= set(f.items)]


def readings(project, read=motions.read):
    layout = place(project, None, Values())
    rules = rules_of(project)
    return list(read(Context(layout, rules, reach=rules.near + 0.01)))


def test_leaf_is_stopped_by_a_bin():
    """Hinged at (1000, 1400), opening towards -y; the bin's near corner is at (1100, 1000)."""
    [one] = found(
        room("item: cupboard, at: [1000, 1400], facing: south", "item: bin, at: [1100, 700]")
    )
    assert one.verdict is Verdict.CONFLICT
    assert one.items == ("cupboard", "bin")
    assert one.unit == "deg"
    # The bin's far corner (1400, 1000) lies 400 out and 400 along: met by the face at 45°.
    assert one.gap_mm == pytest.approx(45.0, abs=0.01)
    assert one.reaches == pytest.approx(45.0, abs=0.01)
    assert one.of == pytest.approx(170.0)
    assert one.needs_mm == pytest.approx(90.0)
    assert one.says.startswith("door of cupboard opens 45° of 170°, needs 90°, stopped by bin")
    assert one.nudge is not None
    assert one.nudge.starts == ()


def test_its_nudge_clears_it():
    project = room("item: cupboard, at: [1000, 1400], facing: south", "item: bin, at: [1100, 700]")
    [one] = found(project)
    x, y, _ = one.nudge.by_mm
    moved = {"cupboard": (1000, 1400), "bin": (1100, 700)}
    moved[one.nudge.item] = (moved[one.nudge.item][0] + x, moved[one.nudge.item][1] + y)
    again = room(
        f"item: cupboard, at: [{moved['cupboard'][0]}, {moved['cupboard'][1]}], facing: south",
        f"item: bin, at: [{moved['bin'][0]}, {moved['bin'][1]}]",
    )
    assert not [f for f in found(again) if f.verdict is Verdict.CONFLICT]


def test_leaf_beside_a_wall_opens_square_and_says_so():
    """Flush in the corner it opens 90° and no more: enough, and a near miss."""
    [one] = found(room("item: cupboard, at: [0, 1400], facing: south"))
    assert one.verdict is Verdict.CLEAR
    assert one.gap_mm == pytest.approx(90.0, abs=0.01)
    assert one.items == ("cupboard", "west wall")
    [hinge] = found(room("item: cupboard, at: [0, 1400], facing: south"), "hinge side")
    assert hinge.verdict is Verdict.CAUTION
    assert hinge.gap_mm == pytest.approx(0.0, abs=1e-6)
    assert not found(room("item: cupboard, at: [25, 1400], facing: south"), "hinge side")
    assert not found(room("item: cupboard, at: [3400, 1400], facing: south"), "hinge side")


def test_the_gap_beside_the_hinge_is_that_of_the_leaf_standing_square():
    """A partition from 300 to 600 before the front, 10 beside the hinge at x 1000: 10 off."""
    stub = "{flat: 2400}]\n  fabric: [{name: stub, box: 890..990 x 800..1100 x 0..2400}"
    project = room("item: cupboard, at: [1000, 1400], facing: south", ceiling=stub)
    [hinge] = found(project, "hinge side")
    assert (hinge.items, hinge.gap_mm) == (("cupboard", "stub"), pytest.approx(10.0))


def test_own_body_and_flush_neighbours_never_stop_it():
    project = room(
        "item: cupboard, name: a, at: [1000, 2400], facing: south",
        "item: cupboard, name: b, at: [1600, 2400], facing: south",
        "item: chest, at: [300, 2400], facing: south",
    )
    assert [r for r in readings(project) if r.gap[0] < r.needs] == []


def test_drawer_stops_at_the_exact_distance_and_speaks_for_the_others():
    """Fronts at y 2540; the tower's face at y 2300 leaves 240 for both drawers."""
    project = room("item: chest, at: [1000, 2540], facing: south", "item: tower, at: [1100, 2000]")
    [one] = found(project)
    assert one.unit == "mm"
    assert one.gap_mm == pytest.approx(240.0, abs=1e-6)
    assert one.needs_mm == 400.0
    assert one.says == (
        "top drawer of chest pulls 240 of 400, stopped by tower; it stops low drawer of chest too"
    )
    assert one.nudge.by_mm in {(0.0, -160.0, 0.0), (0.0, 160.0, 0.0)}


def test_drawer_near_miss_tells_its_margin():
    """Full travel 400 ends at y 2140; the tower's face is at 2120: 20 to spare."""
    project = room("item: chest, at: [1000, 2540], facing: south", "item: tower, at: [1100, 1820]")
    [one] = found(project)
    assert one.verdict is Verdict.CLEAR
    assert one.gap_mm - one.needs_mm == pytest.approx(20.0, abs=1e-6)
    assert one.says == "top drawer of chest pulls its full 400, 20 short of tower"


def test_a_post_one_millimetre_thick_stops_both():
    project = room(
        "item: cupboard, at: [1000, 1400], facing: south", "item: post, at: [1300, 1000]"
    )
    [one] = found(project)
    # Its corner (1301, 1001) is 301 along and 399 out.
    assert one.gap_mm == pytest.approx(math.degrees(math.atan2(399, 301)), abs=0.01)


def test_lid_under_a_slope():
    """A lid 500 long, hinged at y 400 and z 500 on the low side, opens under z = 600 + y / 4.

    Its tip, at y 400 + 500 cos t and z 500 + 500 sin t, meets the slope where
    500 sin t - 125 cos t = 200.
    """
    project = room(
        "item: trunk, at: [1000, 400], facing: north",
        ceiling="{slopes: {south: 600, north: 1350}}",
    )
    [one] = found(project)
    wanted = math.asin(200 / math.hypot(500, 125)) + math.atan2(125, 500)
    assert one.items == ("trunk", "ceiling")
    assert one.gap_mm == pytest.approx(math.degrees(wanted), abs=0.02)


def test_what_stands_on_a_lid_stops_it():
    project = room(
        "item: trunk, at: [1000, 400], facing: north",
        "item: monitor, on: trunk",
        ceiling="{flat: 2400}",
    )
    [one] = found(project)
    assert one.items == ("trunk", "monitor")
    assert one.gap_mm == pytest.approx(0.0, abs=0.01)


def test_flap_over_a_step():
    """A step 180 up begins 250 out from the hinge, which is 120 up: met 60 above the hinge."""
    project = room(
        "item: dish, at: [1000, 1400], facing: south",
        floor="[{level: 0}, {name: deck, from: south, depth: 1150, level: 180}]",
    )
    [one] = found(project)
    assert one.items == ("dish", "deck")
    assert one.gap_mm == pytest.approx(90 - math.degrees(math.atan2(60, 250)), abs=0.01)


def test_rising_top_takes_what_stands_on_it_along():
    """A monitor 400 high on a top at 620 begins with its head at 1020: 480 is left under 1500."""
    rows = ("item: riser, at: [1000, 1000], facing: south", "item: monitor, on: riser")
    alone = found(room(rows[0], ceiling="{flat: 1500}"))
    assert [f.verdict for f in alone if f.gap_mm < f.needs_mm] == []
    [one] = [f for f in found(room(*rows, ceiling="{flat: 1500}")) if f.gap_mm < f.needs_mm]
    assert one.items == ("riser", "ceiling")
    assert one.gap_mm == pytest.approx(480.0, abs=1e-6)
    assert "lifts 480 of 650, stopped by the ceiling (its top at 1100 of 1270" in one.says


def test_sliding_door_needs_its_park_length():
    """A leaf 800 wide on the south wall parks to its left, where a bin stands 300 along."""
    door = "{name: slider, wall: south, along: 1500, leaf: 800 x 2000 x 40, kind: sliding}"
    # Facing south from inside, left is east: the leaf parks from x 2500 to 3300.
    [one] = found(room("item: bin, at: [2800, 0]", doors=door), "door leaf")
    assert one.items == ("slider", "bin")
    assert one.gap_mm == pytest.approx(300.0, abs=1e-6)
    assert one.says == "slider slides 300 of 800, stopped by bin"
    assert not found(room("item: bin, at: [1000, 0]", doors=door), "door leaf")
    short = door.replace("along: 1500", "along: 500")
    [wall] = found(room("item: bin, at: [100, 2000]", doors=short), "door leaf", "slider")
    assert wall.items == ("slider", "east wall")
    assert wall.gap_mm == pytest.approx(500.0, abs=1e-6)


def test_double_leaves_are_each_measured():
    """Each leaf is 600; a bin 400 out in front of one of them stops that one."""
    door = "{name: pair, wall: south, along: 1400, leaf: 600 x 2000, kind: double}"
    # Facing south, left is east: jambs at x 2600 and 1400.
    [one] = found(room("item: bin, at: [1500, 400]", doors=door), "door leaf")
    assert one.items == ("pair", "bin")
    # Hung at (1400, 0): the bin's corner (1800, 400) is met at 45°.
    assert one.gap_mm == pytest.approx(45.0, abs=0.02)
    assert not [
        f
        for f in found(room("item: bin, at: [1850, 700]", doors=door), "door leaf")
        if f.verdict is Verdict.CONFLICT
    ]


def test_overhead_panel_sweeps_and_hangs():
    """2000 high, it swings 2000 in: a shelf under its open place is met, one beyond is not."""
    door = "{name: garage, wall: south, along: 500, leaf: 3000 x 2000 x 40, kind: overhead}"
    [one] = found(room("item: bin, at: [1500, 1200]", doors=door), "door leaf")
    # Its foot is 1200 in at asin(1200 / 2000), 400 up: below the bin's top.
    assert one.gap_mm == pytest.approx(math.degrees(math.asin(0.6)), abs=0.02)
    assert not found(room("item: bin, at: [1500, 2100]", doors=door), "door leaf")
    low = found(
        room("item: post, at: [1500, 2500]", doors=door, ceiling="{flat: 2000}"), "door leaf"
    )
    # Flush under a ceiling at its head: it hangs at full reach, and touches.
    assert [(f.verdict, round(f.gap_mm, 2)) for f in low] == [(Verdict.CLEAR, 90.0)]


def test_inward_window_needs_its_arc():
    """A casement 600 wide over a sill at 900; a post reaches above the sill."""
    window = "{name: casement, wall: south, along: 1000, size: 600 x 900, sill: 900, opens: in}"
    [one] = found(room("item: post, at: [2700, 300]", windows=window), "window leaf")
    assert one.verdict is Verdict.CAUTION
    # Facing south, left is east: hung at x 3000; the post's corner (2700, 301) is met at 45°.
    assert one.gap_mm == pytest.approx(math.degrees(math.atan2(300, 300)), abs=0.2)
    assert not found(room("item: bin, at: [2650, 300]", windows=window), "window leaf")


def test_step_near_a_door():
    """An inward leaf 762 sweeps to y 762; a step 1000 in is 238 away, under 400."""
    door = "{name: entry, wall: south, along: 1000, leaf: 762 x 1981, opens: in}"
    near = "[{level: 0}, {name: deck, from: north, depth: 2000, level: -150}]"
    [one] = found(room("item: bin, at: [100, 100]", doors=door, floor=near), "step by door")
    assert one.verdict is Verdict.CAUTION
    assert one.gap_mm == pytest.approx(238.0, abs=0.1)
    assert "step down of 150 to the deck" in one.says
    far = near.replace("2000", "1800")
    assert not found(room("item: bin, at: [100, 100]", doors=door, floor=far), "step by door")


def test_partition_stops_a_door():
    text = room("item: cupboard, at: [1000, 1400], facing: south").text
    text += (
        "  split:\n    from: all\n    partitions:\n"
        "      - {name: stud wall, thickness: 100, from: [0, 1000], to: [4000, 1000]}\n"
    )
    [one] = [f for f in found(parse_project(text)) if "stud wall" in f.items]
    # Its near face is at y 1050, 350 out; the leaf's end, 600 from the pin, meets it at asin.
    assert one.gap_mm == pytest.approx(math.degrees(math.asin(350 / 600)), abs=0.01)


def test_accepting_it_makes_a_caution():
    project = room(
        "item: cupboard, at: [1000, 1400], facing: south, accept: [bin]",
        "item: bin, at: [1100, 700]",
    )
    [one] = found(project)
    assert one.verdict is Verdict.CAUTION


def test_a_flush_neighbour_that_the_tape_moves_is_said_once():
    """Where the worlds push a flush neighbour into the cupboard, its body says so, not its door."""
    project = room(
        "item: cupboard, at: [1000, 2400], facing: south", "item: tower, at: ['1600 ±5', 2300]"
    )
    answer = check_scheme(project)
    told = [(f.check, f.verdict) for f in answer.findings if set(f.items) == {"cupboard", "tower"}]
    assert told == [("bodies", Verdict.REMEASURE)]


def test_a_reach_is_told_no_less_than_nothing():
    """A bin's corner is 605 from the pin of a door 600 wide: it opens all its 170 degrees.

    10 nearer along either way it is met at about 45; both shares added up come to less than none.
    """
    project = room(
        "item: cupboard, at: [1000, 2400], facing: south",
        "item: bin, at: ['1428 ±10', '1672 ±10']",
    )
    [one] = found(project)
    assert one.unit == "deg"
    assert one.worst_mm == 0.0
    assert one.summed_mm is not None
    assert one.summed_mm[0] < -50.0
    assert one.best_mm == one.summed_mm[1]
    # What it would take to be sure goes by the shares as they add up.
    free = replace(one, worst_mm=one.summed_mm[0], best_mm=one.summed_mm[1], summed_mm=None)
    answer = check_scheme(project)
    rows = [
        [(row.measure.key, row.settles, row.tolerance, row.together) for row in remeasure(told)]
        for told in (
            replace(answer, findings=(one,)),
            replace(answer, findings=(free,)),
        )
    ]
    assert len(rows[0]) == 2
    assert rows[0] == rows[1]


def test_a_reach_is_told_no_more_than_the_whole_travel():
    """340 of 400, both off by 40: 260 at worst, and 400 at best rather than 420."""
    project = room(
        "item: chest, at: [1000, '2540 ±40'], facing: south",
        "item: tower, at: [1100, '1900 ±40']",
    )
    [one] = found(project)
    assert one.gap_mm == pytest.approx(340.0, abs=1e-6)
    assert (one.worst_mm, one.best_mm) == (260.0, 400.0)
    assert one.summed_mm == (260.0, 420.0)


def test_shares_within_the_travel_are_told_as_they_are():
    """±10 each way: 240 at 220 to 260, and nothing is held."""
    project = room(
        "item: chest, at: [1000, '2540 ±10'], facing: south",
        "item: tower, at: [1100, '2000 ±10']",
    )
    [one] = found(project)
    assert (one.worst_mm, one.best_mm) == (pytest.approx(220.0), pytest.approx(260.0))
    assert one.summed_mm is None


@pytest.mark.parametrize("kind", ["hinged", "double"])
def test_a_thick_leaf_leaves_its_own_frame(kind):
    """A bin flush beside the opening is not met by a leaf 60 thick, whose free edge is eased."""
    leaf = "700 x 1981 x 60" if kind == "hinged" else "350 x 1981 x 60"
    door = f"{{name: entry, wall: south, along: 1000, leaf: {leaf}, kind: {kind}}}"
    # Facing south, left is east: the opening runs from x 3000 to 2300.
    for x in (3000, 2000):
        project = room(f"item: bin, at: [{x}, 0]", doors=door)
        assert [f for f in found(project, "door leaf") if f.verdict is not Verdict.CLEAR] == []


# ---------------------------------------------------------------------------- laws


def test_mirroring_the_room_changes_no_reach():
    """East for west, left for right."""
    mirrored = []
    for row in ROWS:
        head, tail = row.split("at: [")
        x, rest = tail.split(",", 1)
        wide = {"cupboard": 600, "bin": 300, "chest": 700, "riser": 1200, "trunk": 900}
        size = wide[head.split("item: ")[1].split(",")[0]]
        east, _, pm = x.partition(" ")
        mirrored.append(
            f"{head}at: [{4000 - float(east) - size:.0f} {pm},{rest}".replace(" ,", ",")
        )
    one = {r.items: float(r.gap[0]) for r in readings(room(*ROWS, ceiling=SLOPE))}
    text = room(*mirrored, ceiling=SLOPE).text.replace("hinge: left", "hinge: right")
    other = {r.items: float(r.gap[0]) for r in readings(parse_project(text))}
    assert len(one) >= 3
    assert other == pytest.approx(one, abs=1e-6)


ROWS = (
    "item: cupboard, at: [1000 ±10, 1400], facing: south",
    "item: bin, at: [1100, 700 ±30]",
    "item: chest, at: [2200, 2540 ±5], facing: south",
    "item: bin, name: other, at: [2300 ±5, 1950]",
    "item: riser, at: [3000, 300], facing: north",
    "item: trunk, at: [100, 100], facing: north",
)
SLOPE = "{slopes: {south: 1100 ±10, north: 2300}}"


def shapes(layout, rules, worlds: int):
    context = Context(layout, rules, reach=rules.near + 200)
    reads = (motions.read, motions_doors.read, motions_hinge.read)
    return {
        (r.check, r.items): np.broadcast_to(r.gap, (worlds,))
        for read in reads
        for r in read(context)
    }


def test_many_worlds_are_one_world_at_a_time():
    project = room(*ROWS, ceiling=SLOPE)
    values = Values()
    place(project, None, values)
    measures = values.measures
    shifts = extreme_shifts(measures)
    rules = rules_of(project)
    whole = shapes(place(project, None, Values.shifted(measures, shifts)), rules, len(shifts))
    assert len(whole) >= 3
    for k in range(len(shifts)):
        layout = place(project, None, Values.shifted(measures, shifts[k : k + 1]))
        alone = shapes(layout, rules, 1)
        for key, gap in whole.items():
            if key in alone:
                assert gap[k] == pytest.approx(alone[key][0], abs=1e-6), (key, k)


def test_another_item_never_lets_anything_further():
    rng = np.random.default_rng(3)
    before = {r.items: float(r.gap[0]) for r in readings(room(*ROWS, ceiling=SLOPE))}
    for _ in range(8):
        x, y = rng.uniform(0, 3600), rng.uniform(0, 2600)
        more = room(*ROWS, f"item: bin, name: new, at: [{x:.1f}, {y:.1f}]", ceiling=SLOPE)
        after = {r.items: float(r.gap[0]) for r in readings(more)}
        for key, gap in before.items():
            assert after[key] <= gap + 1e-6


def test_focus_reads_only_what_was_asked():
    project = room(*ROWS, ceiling=SLOPE)
    layout, rules = place(project, None, Values()), rules_of(project)
    context = Context(layout, rules, reach=rules.near + 0.01)
    every = {r.items: float(r.gap[0]) for r in motions.read(context)}
    for name in ("bin", "chest", "trunk"):
        some = {
            r.items: float(r.gap[0])
            for r in motions.read(replace(context, focus=frozenset({name})))
        }
        assert some == {items: gap for items, gap in every.items() if name in items}


HUNG = """
massing: 1
project: hung
room:
  size: 4000 x 3000
  ceiling: [{flat: 2400}]
items:
  hoist:
    body: 1800 x 620 x 1080
    mount: ceiling
    motions: [{name: lowering, kind: rise, low: -720, travel: 1800, thickness: 1080}]
  trunk: {body: 600 x 400 x %(tall)s, weight: 20}
schemes:
  a:
    - {item: hoist, at: [500, 1000], drop: 50}
    - {item: trunk, at: [%(east)s, 1100]}
"""


def test_what_is_let_down_ends_on_the_floor():
    """1270 under it and 1800 of cord: on the floor it has come down, and the floor is no bar."""
    [one] = found(parse_project(HUNG % {"tall": 600, "east": 3000}, "hung.yaml"))
    assert one.verdict is Verdict.CLEAR
    assert one.says == "hoist goes up its full 1800 from its lowest, 50 short of the ceiling"


def test_what_is_let_down_is_stopped_by_what_stands_below():
    """From 1270 down to a trunk of 600: 670, and told from up there."""
    [one] = found(parse_project(HUNG % {"tall": 600, "east": 900}, "hung.yaml"), "motion", "trunk")
    assert (one.items, one.gap_mm) == (("hoist", "trunk"), 0.0)
    assert one.says == "hoist comes down 670 of 1800, stopped by trunk"
    assert (one.reaches, one.of) == (670.0, 1800.0)
