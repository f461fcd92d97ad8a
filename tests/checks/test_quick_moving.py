"""What moves, looked at together and by bounds first, is what it is looked at one by one."""

from __future__ import annotations

from itertools import cycle

import numpy as np

from massing.checks import panels
from massing.checks.context import Context
from massing.checks.motions import item_movers
from massing.checks.rules import rules_of
from massing.checks.standing import zone_airs
from massing.checks.together_bounds import zone_bounds
from massing.geometry.motions.stops import path_bounds
from massing.geometry.motions.sweep import all_swept, swept_solids
from tests.catalogue_rooms import layouts


def contexts(count=10):
    return [Context(layout, rules_of(p), reach=250.0) for p, layout in layouts(count)]


def test_the_air_of_zones_reaches_as_far_as_its_solids():
    """Bounds over every world, without the prisms being made."""
    for held in contexts():
        zones = [zone for item in held.layout.items for zone in item.zones]
        if not zones:
            continue
        low, high = zone_bounds(held, zones)
        # A zone over a step has air above each level.
        every = [zone_airs(held, zone) for zone in zones]
        lows, highs = ([[own(s) for s in airs] for airs in every] for own in (least, most))
        assert np.array_equal(low[:, 2], [np.min(each, axis=0)[2] for each in lows])
        assert all((low[k] <= np.min(each, axis=0)).all() for k, each in enumerate(lows))
        assert all((high[k] >= np.max(each, axis=0)).all() for k, each in enumerate(highs))
        plain = [k for k, airs in enumerate(every) if len(airs) == 1]
        assert np.array_equal(low[plain], [lows[k][0] for k in plain])
        assert np.array_equal(high[plain], [highs[k][0] for k in plain])


def least(solid):
    return solid.low.min(axis=0)


def most(solid):
    return solid.high.max(axis=0)


def test_a_slide_reaches_from_where_it_starts_to_where_it_ends():
    found = 0
    for held in contexts():
        paths = [m.paths[0] for m in item_movers(held.layout) if not m.turns]
        if not paths:
            continue
        limits = np.array([float(path.full.max()) for path in paths])
        low, high = path_bounds(paths, limits)
        for k, path in enumerate(paths):
            ends = (path.solid, path.at(float(limits[k])))
            assert np.array_equal(low[k], np.min([e.low.min(axis=0) for e in ends], axis=0))
            assert np.array_equal(high[k], np.max([e.high.max(axis=0) for e in ends], axis=0))
            found += 1
    assert found > 10


def test_panels_swept_together_are_those_swept_alone():
    found = 0
    for held in contexts():
        paths = [m.paths[0] for m in item_movers(held.layout)]
        amounts = [share * p.full for share, p in zip(cycle((1.0, 0.6, 2.2)), paths, strict=False)]
        for path, amount, swept in zip(paths, amounts, all_swept(paths, amounts), strict=True):
            alone = swept_solids(path, amount)
            found += len(alone)
            assert len(alone) == len(swept)
            for one, two in zip(alone, swept, strict=True):
                assert one.corners.shape == two.corners.shape
                assert np.array_equal(one.corners, two.corners)
    assert found > 20


def test_zones_out_of_reach_of_a_panel_tell_nothing(monkeypatch):
    """Every panel against every zone, as the check that leaves far ones out."""
    told = [[(r.check, r.items, r.gap.tolist()) for r in panels.read(h)] for h in contexts()]
    monkeypatch.setattr(panels, "near_rings", lambda things, _rings, _area: list(things))
    plain = [[(r.check, r.items, r.gap.tolist()) for r in panels.read(h)] for h in contexts()]
    assert told == plain
