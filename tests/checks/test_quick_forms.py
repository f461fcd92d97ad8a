"""The checks that look by bounds first say what their plain forms say, to the last bit.

Each comparison is put to rooms out of the catalogue with unsure sizes, and a planted fault in what
the quick form leaves out must be seen by it.
"""

from __future__ import annotations

import importlib

import numpy as np
import pytest

from massing.checks import (
    ceiling,
    clearances,
    context,
    daylight,
    floor,
    hung,
    passage,
    passage_out,
    reach,
    sharing,
    standing,
    walls,
)
from massing.checks.alike import alike, item_arrays, near_box, room_arrays
from massing.checks.context import Context, Group, bodies_of, body_group, meetings, near_pairs
from massing.checks.leaves import _reach, obstacles, opens_to
from massing.checks.registry import readings
from massing.checks.rules import rules_of
from massing.checks.strip import Band, item_strip, stretches
from massing.checks.strip_bounds import surely_within
from massing.checks.together import _in_worlds
from massing.geometry.clip import clip_solid
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.gaps.vertical import _faces, clear_under, gap_below, gap_under
from massing.geometry.outline import outline_of, plan_hull
from massing.geometry.polygons import Ring, highest_over, inside_of, overlap, side_lines
from massing.geometry.solids import Convex, box, prism, spread
from massing.geometry.tolerance import EXACT, TOUCH
from massing.scheme.extents import bounds_by_world, extents_of
from massing.scheme.floor_plan import _slab, _straight_up
from massing.scheme.ground import overlaps
from massing.scheme.movement import most_moved
from tests.catalogue_rooms import layouts
from tests.checks.slow_forms import SLOW, every_meeting

ROOMS = 10
REACH = 250.0


def contexts(count=ROOMS):
    return [Context(layout, rules_of(p), reach=REACH) for p, layout in layouts(count)]


def differs(check, held):
    """Whether the plain form tells anything else than the check."""
    slow = sorted((c, items, gap) for c, items, gap in SLOW[check][0](held))
    told = sorted((c, items, gap.tolist()) for c, items, gap in _told(check, held))
    if [row[:2] for row in slow] != [row[:2] for row in told]:
        return True
    # The order of adding up differs: alike to a thousandth of what the kernels promise.
    gaps = zip(slow, told, strict=True)
    return any(np.abs(np.subtract(a[2], b[2])).max() > EXACT / 1000.0 for a, b in gaps)


def _told(check, held):
    module, name = SLOW[check][1].split(".")
    read = getattr(importlib.import_module(f"massing.checks.{module}"), name)
    for r in read(held):
        if r.check == check:
            yield r.check, r.items, np.broadcast_to(r.gap, held.layout.worlds)


@pytest.mark.parametrize("check", sorted(SLOW))
def test_quick_form_tells_what_the_plain_form_tells(check):
    assert not [held.layout.name for held in contexts() if differs(check, held)]
    assert sum(len(list(SLOW[check][0](held))) for held in contexts()) >= 3


def _too_sure(layout, level):
    return sure_above(layout, level) + 400.0


sure_above = floor.surely_above
surely_in = walls._surely_in
FAULTS = {
    "floor": (floor, "surely_above", _too_sure),
    "ceiling": (
        ceiling,
        "clear_under",
        lambda low, high, planes: clear_under(low, high, planes) + 400.0,
    ),
    "control access": (reach, "surely_within", lambda *_: []),
    "escape window": (daylight, "surely_within", lambda *_: []),
    "clearance": (clearances, "_may_meet", lambda *_: False),
    "headroom": (standing, "surely_spare", lambda _room, rings, _needs: np.full(len(rings), 1e6)),
    "zone": (standing, "things_of", lambda layout: list(bodies_of(layout)[::2])),
    "walls": (walls, "_surely_in", lambda wall, parts: surely_in(wall, parts) + 400.0),
    "support": (floor, "on_one_level", lambda layout, *_: [True] * len(layout.items)),
    "shared floor": (sharing, "_near", lambda zones: [(i, i + 1) for i in range(len(zones) - 1)]),
}


@pytest.mark.parametrize("check", sorted(FAULTS))
def test_planted_fault_is_seen(check, monkeypatch):
    monkeypatch.setattr(*FAULTS[check])
    assert any(differs(check, held) for held in contexts())


def test_alike_worlds_are_the_same_and_others_are_not():
    for held in contexts(4):
        layout = held.layout
        arrays = [*item_arrays(layout.items[:2]), *room_arrays(layout.room)]
        same = alike(layout.worlds, arrays)
        for world, first in enumerate(same.tolist()):
            many = [each for each in arrays if len(each) == layout.worlds]
            assert all((each[world] == each[first]).all() for each in many)
            before = set(same[:world].tolist())
            assert first == world or first in before
            for other in before - {first}:
                assert any((each[world] != each[other]).any() for each in many)


def test_near_box_keeps_all_that_comes_into_it():
    for held in contexts(4):
        layout = held.layout
        low, high = np.array([500.0, 500.0, 300.0]), np.array([2000.0, 1500.0, 900.0])
        air = [Group("air", (box(low, high),))]
        kept = near_box(layout, low, high)
        for item in layout.items:
            (gap,) = every_meeting([body_group(item)], air).values()
            assert float(gap.min()) >= 0.0 or item.name in {each.name for each in kept.items}
        for fabric in layout.room.fabric:
            (gap,) = every_meeting([Group(fabric.name, fabric.parts)], air).values()
            assert float(gap.min()) >= 0.0 or fabric in kept.room.fabric


def test_strip_bounds_hold_every_stretch():
    for held in contexts(6):
        layout = held.layout
        for item in layout.items[:3]:
            own = alike(layout.worlds, (*item_arrays([item]), *room_arrays(layout.room)))
            for world in range(0, layout.worlds, 3):
                strip, band = item_strip(item, "front", world), Band(600.0, 200.0, 1900.0)
                bound = surely_within(layout, frozenset(), strip, band, int(own[world]))
                for name, left, right in stretches(layout, frozenset(), strip, band, world):
                    assert any(a <= left + 1e-9 and right <= b + 1e-9 for _, a, b in bound), name


def zones_and_bodies(held):
    bodies = [body_group(item) for item in held.layout.items]
    zones = [zone for item in held.layout.items for zone in item.zones]
    return bodies, [Group(z.item, (prism(z.polygon, z.level, z.level + 2000.0),)) for z in zones]


def meetings_missed(held):
    bodies, airs = zones_and_bodies(held)
    every = every_meeting(bodies, airs)
    deep = {pair: gap for pair, gap in every.items() if float(gap.min()) < -TOUCH}
    found = {meeting.numbers: meeting.gap for meeting in meetings(bodies, airs, 0.0)}
    near = set(near_pairs(bodies, airs, 0.0, lambda *_: True))
    return {
        pair
        for pair, gap in deep.items()
        if pair not in found or pair not in near or np.abs(found[pair] - gap).max() > 1e-9
    }


def test_meetings_without_reach_are_all_that_overlap():
    assert not [missed for held in contexts() if (missed := meetings_missed(held))]


def test_overlap_left_out_is_seen(monkeypatch):
    monkeypatch.setattr(context, "_some_overlap", lambda _a, _b, pairs, _g: pairs[:, 0] % 2 == 0)
    assert any(meetings_missed(held) for held in contexts())


def test_meetings_within_reach_are_measured_as_one_by_one():
    for held in contexts(5):
        bodies, airs = zones_and_bodies(held)
        every = every_meeting(bodies, airs)
        found = {meeting.numbers: meeting.gap for meeting in meetings(bodies, airs, REACH)}
        for pair, gap in every.items():
            if float(gap.min()) <= REACH:
                near = np.minimum(gap, REACH)
                assert np.abs(np.minimum(found[pair], REACH) - near).max() <= 1e-9


def under_hung(held):
    return [(r.items, np.asarray(r.gap).tolist()) for r in hung.read(held)]


def test_floor_under_what_hangs_is_filled_by_all_that_stands_there(monkeypatch):
    quick = [under_hung(held) for held in contexts(16)]

    def everything(layout, item, floor_, _shadows):
        low = float(floor_.level[0]) + hung.LOW
        others = [o for o in layout.items if o is not item and float(o.low[0, 2]) < low]
        return [outline_of(part.solid)[0] for other in others for part in other.parts]

    monkeypatch.setattr(hung, "_filled", everything)
    assert quick == [under_hung(held) for held in contexts(16)]
    monkeypatch.setattr(hung, "_filled", lambda *_: [])
    assert quick != [under_hung(held) for held in contexts(16)]


def under_hung_by_all(held, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(hung, "_may_be_low", lambda held, _: [True] * len(held.layout.items))
        patch.setattr(hung, "_met_as_a_body", lambda *_: False)
        return under_hung(held)


def test_what_hangs_is_left_out_only_where_nothing_is_said(monkeypatch):
    every = contexts(16)
    assert not [h.layout.name for h in every if under_hung(h) != under_hung_by_all(h, monkeypatch)]
    none = {
        "_may_be_low": lambda held, _: [False] * len(held.layout.items),
        "_met_as_a_body": lambda *_: True,
    }
    for name, form in none.items():
        with monkeypatch.context() as patch:
            patch.setattr(hung, name, form)
            told = [under_hung(held) for held in every]
        assert told != [under_hung_by_all(held, monkeypatch) for held in every]


def test_floor_is_walked_under_only_where_some_is_left(monkeypatch):
    every = contexts(16)
    told = [under_hung(held) for held in every]
    monkeypatch.setattr(hung, "_surely_walked", lambda *_: False)
    assert told == [under_hung(held) for held in every]
    monkeypatch.setattr(hung, "_surely_walked", lambda *_: True)
    assert told != [under_hung(held) for held in every]


def told_out(held):
    return [(r.items, np.asarray(r.gap).tolist()) for r in passage.read_escape(held)]


def told_out_by_all(held, monkeypatch):
    """The way out read of every zone, in a plan where all that opens is cut to walking height."""
    with monkeypatch.context() as patch:
        patch.setattr(passage, "tight_out", lambda _, zones: zones)
        return told_out(held)


def test_ways_out_are_told_as_of_every_zone(monkeypatch):
    every = contexts(12)
    assert not [h.layout.name for h in every if told_out(h) != told_out_by_all(h, monkeypatch)]
    assert any(told_out(h) for h in every)
    monkeypatch.setattr(passage_out, "surely_covered", lambda *given: [True] * len(given[3]))
    assert [h for h in every if told_out(h) != told_out_by_all(h, monkeypatch)]


def rings(rng, count):
    for _ in range(count):
        corners = rng.normal(size=(rng.integers(3, 9), 2)) * 500.0
        hull = plan_hull(corners[None])[0]
        if len(hull) >= 3:
            yield hull + rng.normal(size=2) * 300.0


def test_overlap_is_that_of_every_side_in_turn():
    rng = np.random.default_rng(4)
    shared = 0
    for one, other in zip(rings(rng, 200), rings(rng, 200), strict=False):
        quick_ = overlap(Ring.of(one), Ring.of(other))
        slow = inside_of(Ring.of(one), side_lines(Ring.of(other)))
        assert (quick_ is None) == (slow is None)
        if quick_ is not None and slow is not None:
            shared += 1
            np.testing.assert_allclose(quick_.points, slow.points, rtol=0.0, atol=EXACT / 1000.0)
            assert quick_.sides == slow.sides
    assert shared > 50


def test_level_undersides_are_as_low_as_the_general_form_says():
    for held in contexts(5):
        for item in held.layout.items:
            for level in held.layout.room.floors:
                for part in item.parts:
                    worlds = held.layout.worlds
                    ground = np.zeros((worlds, 3))
                    ground[:, 2] = level.level
                    slow = np.full(worlds, np.inf)
                    for ring, plane in _faces(part.solid, worlds, up=False):
                        over = highest_over(
                            ring, spread(level.polygon, worlds), ground - plane, TOUCH
                        )
                        slow = np.minimum(slow, -over)
                    assert (
                        gap_below(part.solid, level.polygon, level.level).tolist() == slow.tolist()
                    )


def test_clear_under_is_never_more_than_the_gap():
    for held in contexts(5):
        for piece in held.layout.room.ceilings:
            parts = extents_of(held.layout)
            sure = clear_under(parts.low, parts.high, piece.planes)
            for solid, least in zip(parts.solids, sure.tolist(), strict=True):
                assert float(gap_under(solid, piece.polygon, piece.planes).min()) >= least - 1e-6


def test_extents_are_each_solids_own():
    for held in contexts(3):
        parts = extents_of(held.layout)
        for number, solid in enumerate(parts.solids):
            assert (parts.low[:, number] == solid.low).all()
            assert (parts.high[:, number] == solid.high).all()
        assert extents_of(held.layout) is parts
        low, high = bounds_by_world(parts.solids, held.layout.worlds)
        assert (low == parts.low).all()
        assert (high == parts.high).all()


def test_sharing_floor_is_told_as_by_the_gap():
    rng = np.random.default_rng(9)
    for one, other in zip(rings(rng, 200), rings(rng, 200), strict=False):
        assert overlaps(one[None], other[None]) == (float(polygon_gap(one, other).gap[0]) < -TOUCH)
    left = np.array([[[0.0, 0.0], [10, 0], [10, 10], [0, 10]]])
    assert not overlaps(left, left + np.array([10.0, 0.0]))
    assert overlaps(left, left + np.array([9.9, 9.9]))


def test_a_straight_slab_has_its_own_outline():
    solid = Convex(
        prism([[0, 0], [900, 100], [400, 700]], 100, 900).corners, box([0] * 3, [1] * 3).faces
    )
    for each in [solid, *(p.solid for h in contexts(4) for i in h.layout.items for p in i.parts)]:
        if each.faces.upright or not _straight_up(each.corners[0]):
            continue
        planes = np.array([[0.0, 0.0, 1.0, 800.0], [0.0, 0.0, -1.0, -200.0]])
        cut = clip_solid(each.world(0), planes)
        ring = _slab(each, 200.0, 800.0)
        assert (ring is None) == (cut is None)
        if ring is not None and cut is not None:
            assert ring[0].tolist() == plan_hull(cut.corners[:, :, :2])[0].tolist()


def test_a_leaf_is_stopped_as_by_everything_in_the_room():
    for held in contexts():
        for leaf in held.layout.leaves:
            best, by = leaf.full, ""
            for obstacle in obstacles(held.layout, leaf):
                reach_ = float(_reach(leaf, obstacle.rings)[0])
                if reach_ < best - 1e-9:
                    best, by = reach_, obstacle.name
            assert opens_to(held.layout, leaf) == (best, by)


def test_pairs_in_worlds_are_measured_as_one_by_one():
    for held in contexts(4):
        solids = [part.solid for item in held.layout.items for part in item.parts][:8]
        pairs = np.array([[a, b] for a in range(len(solids)) for b in range(a)])
        every = signed_gaps(solids, pairs).gap
        found = _in_worlds(solids, pairs, every[0], held.layout.worlds)
        assert np.abs(found - every).max() <= 1e-9


def test_no_gap_is_off_by_more_than_twice_the_most_moved():
    """All measures at once, to first order: each pair's own sum of what each measure does."""
    tight = 0.0
    for held in contexts():
        bodies = [body_group(item) for item in held.layout.items]
        most = most_moved(held.layout)
        for (i, j), gap in every_meeting(bodies, bodies).items():
            if i < j and held.layout.worlds > 1:
                off = np.abs(gap[1:] - gap[0]).reshape(-1, 2).max(axis=1).sum()
                assert off <= 2.0 * most + 1e-6
                tight = max(tight, float(off) / max(most, 1e-9))
    assert tight > 0.5


def test_looking_further_finds_nothing_that_is_told():
    """What the shorter reach leaves out is further off than is worth saying, in every world."""
    for held in contexts(4):
        far = Context(held.layout, held.rules, reach=4000.0)
        slack = 2.0 * most_moved(held.layout)
        near = Context(held.layout, held.rules, reach=held.rules.near + TOUCH + slack)
        told = {(r.check, r.items) for r in readings(near)}
        for r in readings(far):
            if (r.check, r.items) in told or r.check in {"passage", "escape"}:
                continue
            assert float(r.gap.min()) - r.needs > held.rules.near - 1e-6, (r.check, r.items)
