"""The numbers the checks tell, held against plan clips, separating axes and grown walls.

Rooms are drawn by a seed with a bit of everything in them: an L, a step, slopes that meet, beams,
turned and stacked and hung things, doors of every kind.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from shapely import Polygon, union_all

from massing.checks import ceiling, floor, hung, standing
from massing.checks.context import Context
from massing.checks.entrances import entrances, leaf_angle, obstacles_on_foot
from massing.checks.motions import item_movers, parked
from massing.checks.passage_ways import Plan, best_way
from massing.checks.registry import readings
from massing.checks.rules import Rules, rules_of
from massing.scheme.floor_plan import leaf_block
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values
from tests.everything import drawn_room, project_of
from tests.oracles_checks import (
    Shell,
    _lowest,
    ceiling_gap,
    eased,
    half,
    headroom,
    hung_over,
    shell_solids,
    slab,
    travel,
    widest,
)

SEEDS = range(16)
MOVING = (20, 28, 30, 33, 40, 41, 44, 52, 55, 59)
WALKED = range(8)


@cache
def laid(seed: int) -> tuple[Layout, Rules, Shell]:
    data = drawn_room(seed)
    project = project_of(data)
    return place(project, "only", Values()), rules_of(project), Shell(data["room"])


@cache
def told(seed: int):
    layout, rules, _ = laid(seed)
    checks = (ceiling.read, standing.read, hung.read, floor.read_support)
    return list(readings(Context(layout, rules, reach=1500.0), checks))


def solids_of(item):
    return [part.solid.corners[0] for part in item.parts]


def test_heights_to_the_ceiling():
    """Straight up from every body; beside the edge of a soffit a gap may be to that edge."""
    met = 0
    for seed in SEEDS:
        layout, _, shell = laid(seed)
        found = {r.items[0]: float(r.gap[0]) for r in told(seed) if r.check == "ceiling"}
        stepped = len(shell.pieces) > 1
        for item in layout.items:
            mine = ceiling_gap(solids_of(item), shell)
            gap = found.get(item.name, np.inf)
            if np.isfinite(mine) and mine < 1400.0 and not (stepped and 0.0 < gap < mine):
                assert gap == pytest.approx(mine, abs=1e-3)
                met += 1
    assert met > 50


def test_head_height_and_the_area_short_of_it():
    """Of every zone, above the floor just there."""
    met = short = 0
    for seed in SEEDS:
        layout, rules, shell = laid(seed)
        found = [r for r in told(seed) if r.check == "headroom"]
        for item in layout.items:
            own = [
                (float(r.gap[0]), r.detail().area_m2 or 0.0) for r in found if item.name in r.items
            ]
            for zone in item.zones:
                if zone.posture == "none" and zone.headroom is None:
                    continue
                posture = "standing" if zone.posture == "none" else zone.posture
                need = rules.height(posture) if zone.headroom is None else float(zone.headroom[0])
                clear, low = headroom(zone.polygon[0], need, shell)
                if np.isfinite(clear) and clear < need + 1400.0:
                    # A thing with several zones has a reading of each.
                    near = min(own, key=lambda o: abs(o[0] - clear) + 1e3 * abs(o[1] - low / 1e6))
                    assert near == pytest.approx((clear, low / 1e6), abs=1e-3)
                    met, short = met + 1, short + (low > 0.0)
    assert met > 40
    assert short > 8


def test_heights_and_areas_under_what_hangs():
    """Of every hung thing over every level."""
    met = 0
    for seed in SEEDS:
        layout, rules, shell = laid(seed)
        for reading in (r for r in told(seed) if r.check == "under hung"):
            item = layout.item(reading.items[0])
            level = next(f.level[0] for f in layout.room.floors if f.name == reading.items[1])
            clear, low = hung_over(solids_of(item), shell, float(level), rules.under)
            area = reading.detail().area_m2
            if area is not None and float(reading.gap[0]) == pytest.approx(clear, abs=1e-3):
                assert area == pytest.approx(low / 1e6, abs=1e-4)
                met += 1
    assert met > 8


def test_shares_of_bases_that_rest():
    """Of every standing thing on the floor or on what carries it."""
    partly = 0
    for seed in SEEDS:
        layout, _, shell = laid(seed)
        found = {r.items[0]: float(r.gap[0]) for r in told(seed) if r.check == "support"}
        for item in layout.items:
            if item.footing in {"wall", "ceiling"}:
                continue
            foot = min(s[:, 2].min() for s in solids_of(item))
            base = union_all(
                [slab(s, foot, foot) for s in solids_of(item) if s[:, 2].min() < foot + 1]
            )
            tops = [ground for ground, level in shell.floors if foot - level <= 1.0]
            if item.footing != "floor":
                below = solids_of(layout.item(item.footing))
                top = max(s[:, 2].max() for s in below)
                tops = [slab(s, top - 1, top) for s in below if s[:, 2].max() > top - 1.0]
            mine = 100.0 * (base & union_all([Polygon(), *tops])).area / base.area
            assert found[item.name] == pytest.approx(mine, abs=0.02)
            partly += 0.1 < mine < 99.9
    assert partly > 5


def movers(seed):
    """Each mover that begins free, how far it gets, and how far a scan says."""
    layout, rules, shell = laid(seed)
    context = Context(layout, rules, reach=200.0)
    building = shell_solids(shell, shell.beyond())
    building += [part.corners[0] for fabric in layout.room.fabric for part in fabric.parts]
    for mover in item_movers(layout):
        path, carried = mover.paths[0], [p.solid.corners[0] for p in mover.paths[1:]]
        about = None if path.about is None else path.about[0]
        motion = next(
            m
            for m in layout.item(mover.owner).motions
            if mover.label == f"{m.name} of {mover.owner}"
        )
        own = motion.solid.corners[0]
        own = own if about is None else eased(own, path.axis[0], about)
        free = layout.stack_from(mover.owner) if mover.kind == "rise" else {mover.owner}
        others = [s for i in layout.items if i.name not in free for s in solids_of(i)]
        full, every = float(path.full[0]), [*others, *building]
        mine = min(travel(s, path.axis[0], about, full, every) for s in (own, *carried))
        if mine > 1e-9:
            yield mover, float(parked(context, mover)[0][0]), mine


def test_how_far_things_turn_and_slide():
    """Within 0.1 degrees and 0.2 mm of a scan of every 0.05 degrees and 0.1 mm."""
    seen = stopped = 0
    for seed in MOVING:
        for mover, got, mine in movers(seed):
            slack = math.radians(0.1) if mover.turns else 0.2
            assert got == pytest.approx(mine, abs=slack), (seed, mover.label)
            seen, stopped = seen + 1, stopped + (mine < float(mover.full[0]))
    assert seen > 20
    assert stopped > 10


def walked(seed):
    """The floor a walker has, from the data: less bodies, fabric, low ceiling and steps."""
    layout, rules, shell = laid(seed)
    solids = [s for i in layout.items for s in solids_of(i)]
    solids += [part.corners[0] for fabric in layout.room.fabric for part in fabric.parts]
    taken = []
    for ground, level in shell.floors:
        low, high = level + rules.step_over, level + rules.route
        met = [s for s in solids if s[:, 2].max() > low + 0.01 and s[:, 2].min() < high - 0.01]
        taken += [slab(s, low, high) & ground for s in met]
        for cell, (a, b, c) in shell.cells:
            taken.append(cell & ground & half(a, b, c - high + 0.01))
        for other, rise in shell.floors:
            if rise > level and rise - level > rules.rise + 0.01:
                taken.append(ground.buffer(0.02) & other.buffer(0.02))
    for leaf in layout.leaves:
        ring = leaf_block(leaf, leaf_angle(layout, leaf, rules.door_angle)).ring[0]
        taken.append(Polygon(ring))
    return shell.outline - union_all(taken)


def test_widths_of_ways_through_the_room():
    """To the middle of each thing's zone, from each door, by discs that just get there."""
    met = 0
    for seed in WALKED:
        layout, rules, _ = laid(seed)
        plan = Plan(layout.room, obstacles_on_foot(layout, rules, rules.route))
        free = walked(seed)
        doors = entrances(layout, rules)
        for zone in (zone for item in layout.items for zone in item.zones):
            spot = Polygon(zone.polygon[0]).centroid.buffer(50.0)
            if not doors or not free.contains(spot):
                continue
            mine = 0.0
            for door in doors:
                way = door.threshold[1] - door.threshold[0]
                out = np.array([-way[1], way[0]]) / np.hypot(*way)
                mine = max(mine, min(door.clear, widest(free, tuple(door.threshold), out, spot)))
            assert best_way(plan, doors, [spot]).width == pytest.approx(mine, abs=0.2)
            met += 1
    assert met > 10


def test_the_roads_see_planted_faults():
    """A lower ceiling and a panel a fifth shorter change what is said."""
    data = drawn_room(0)["room"]
    plain, lower = Shell(data), Shell({**data, "ceiling": [{"flat": 1500}]})
    block = np.array([[x, y, z] for z in (0, 1400) for y in (300, 600) for x in (300, 700)], float)
    assert ceiling_gap([block], plain) > ceiling_gap([block], lower) == 100.0
    panel = np.array([[x, y, z] for z in (0, 900) for y in (0, 20) for x in (0, 600)], float)
    post = np.array([[x, y, z] for z in (0, 900) for y in (300, 310) for x in (400, 410)], float)
    turns = [
        travel(panel * [size, 1, 1], np.array([0.0, 0, 1]), np.zeros(3), np.pi / 2, [post])
        for size in (1.0, 0.8)
    ]
    corner = math.atan2(300, 410) - math.asin(20 / math.hypot(300, 410))
    assert turns[0] == pytest.approx(corner, abs=2e-3)
    assert turns[1] == np.pi / 2


def test_the_other_roads_see_planted_faults_too():
    """A ceiling lowered, a thing hung lower, a block cut short, a panel not eased."""
    data = drawn_room(0)["room"]
    plain, lower = Shell(data), Shell({**data, "ceiling": [{"flat": 1500}]})
    ring = np.array([[300.0, 300], [700, 300], [700, 600], [300, 600]])
    assert headroom(ring, 2000.0, lower) == pytest.approx((1500.0, 400.0 * 300.0))
    assert headroom(ring, 2000.0, plain)[0] > 1500.0
    square = Polygon(ring)
    assert _lowest(square, (0.0, 0.0, 1500.0), [(0.0, 0.0, 1500.0), (0.0, 0.0, 1400.0)]).area == 0.0
    block = np.array(
        [[x, y, z] for z in (1400, 1800) for y in (300, 600) for x in (300, 700)], float
    )
    level = plain.floors[0][1]
    assert hung_over([block], plain, level, 2000.0)[0] == pytest.approx(1400.0 - level)
    assert hung_over([block - [0, 0, 100]], plain, level, 2000.0)[0] == pytest.approx(
        1300.0 - level
    )
    assert slab(block, 1300, 1500).area == pytest.approx(400.0 * 300.0)
    assert slab(block, 1300, 1390).area == 0.0
    assert len(shell_solids(plain, [])) < len(shell_solids(plain, [square]))
    panel = np.array([[x, y, z] for z in (0, 900) for y in (0, 40) for x in (0, 600)], float)
    held = eased(panel, np.array([0.0, 0, 1]), np.zeros(3))
    assert np.linalg.norm(held[:, :2], axis=1).max() == pytest.approx(600.0)
    assert np.linalg.norm(panel[:, :2], axis=1).max() > 601.0
