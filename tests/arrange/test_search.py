"""Tests for the search: costs against the full checks, repeatable answers, shared work."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from massing.arrange.arrays import new_moving
from massing.arrange.model import compile_scheme
from massing.arrange.search import search
from massing.errors import MassingError
from massing.voids.tally import tally
from tests.arrange.rooms import DOOR, project

ITEMS = {
    "bench": "body: 1400 x 600 x 900, weight: 60, zone: {front: 700}",
    "chest": "body: 700 x 450 x 980, weight: 80, stores: true",
    "shelf": "body: 900 x 300 x 800, weight: 20, mount: wall, stores: true",
    "bin": "body: 300 x 300 x 600, weight: 5",
    "washer": (
        "body: 600 x 600 x 850, weight: 70, zone: {front: 700}, "
        "motions: [{name: door, kind: leaf, hinge: left, shift: 60, low: 280, width: 480, "
        "height: 480, angle: 90, needs: 90}]"
    ),
}
PLACED = [
    "item: bench, against: north, along: 200",
    "item: chest, at: [300, 300]",
    "item: shelf, against: north, along: 400, height: 1300",
    "item: bin, at: [900, 900]",
    "item: washer, against: south, along: 1200",
]


def _priced(model, pose, on, yaw):
    from massing.arrange.search_compiled import price_all

    record = new_moving(pose, on, yaw)
    return price_all((model.fixed, record))


def test_same_seed_same_answer():
    """The same seed, moves and restarts give the same places, alone or shared."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")

    one = search(model, seed=3, restarts=3, moves=4000)
    two = search(model, seed=3, restarts=3, moves=4000)
    with ThreadPoolExecutor(2) as pool:
        shared = search(model, seed=3, restarts=3, moves=4000, executor=pool)

    for other in (two, shared):
        assert [f.seed for f in one.found] == [f.seed for f in other.found]
        for a, b in zip(one.found, other.found, strict=True):
            assert (a.hard, a.soft) == (b.hard, b.soft)
            assert np.array_equal(a.pose, b.pose)


def test_another_seed_another_way():
    """The seed matters."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")

    one, two = (search(model, seed=seed, restarts=1, moves=2000).found[0] for seed in (1, 2))

    assert not np.array_equal(one.pose, two.pose)


def test_kept_costs_are_the_costs():
    """What a run ends with is what pricing its poses afresh gives."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")

    for found in search(model, seed=5, restarts=4, moves=3000).found:
        hard, soft = _priced(model, found.pose, found.on, found.yaw)

        assert (hard, soft) == pytest.approx((found.hard, found.soft), abs=1e-6)


def test_soft_cost_is_the_standing_floor_lost():
    """With nothing stored shut in, the objective is what the tally counts.

    And a little for each thing that stands free, more where it is heavy, which settles equals.
    """
    items = {name: words for name, words in ITEMS.items() if "stores" not in words}
    placed = [words for words in PLACED if "chest" not in words and "shelf" not in words]
    loft = "{slopes: {south: 1700, north: 2500}}"
    made = project(items, placed, ceiling=loft, doors="")
    model = compile_scheme(made, "as found")
    from massing.arrange.polish import polish

    empty = (2400 - 2400 * 300 / 800) * 3000 / 1e6
    compared = 0
    for found in search(model, seed=1, restarts=4, moves=20000).clear:
        done = polish(model, found, "arranged 1", "as found", {})
        if done is None or done.found is not found:
            continue  # a nudge moved something
        standing = tally(done.answer.layout).standing_m2
        free = zip(model.free, done.homes, strict=True)
        loose = sum(model.fixed["loose"][0][k] for k, (_, home) in free if home == "free")
        assert empty - standing + loose == pytest.approx(found.soft, abs=0.004)
        compared += 1
    assert compared


def test_clear_in_the_search_is_clear_in_the_checks():
    """Bodies, ceiling, doors, zones: what the search calls clear, no such check objects to."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")
    from massing.arrange.polish import remaining

    own = {"bodies", "ceiling", "walls", "floor", "support", "door leaf", "doorway", "zone"}
    found = search(model, seed=2, restarts=6, moves=20000).clear

    assert found
    for one in found:
        assert [f.says for f in remaining(model, one) if f.check in own] == []


def test_a_collision_costs():
    """A thing pushed through a wall, the ceiling, another or the door's sweep is not clear."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")
    found = search(model, seed=2, restarts=4, moves=20000).clear[0]
    names = [unit.name for unit in model.units]
    bench, bin_ = names.index("bench"), names.index("bin")

    for move in ((bench, 0, 5000.0), (bench, 1, -5000.0), (names.index("shelf"), 4, 900.0)):
        pose = found.pose.copy()
        pose[move[0], move[1]] += move[2]
        assert _priced(model, pose, found.on, found.yaw)[0] > 20.0
    pose = found.pose.copy()
    pose[bin_] = pose[bench]
    assert _priced(model, pose, found.on, found.yaw)[0] > 20.0
    pose[bin_] = [150.0, 800.0, 1.0, 0.0, 0.0]
    assert _priced(model, pose, found.on, found.yaw)[0] > 20.0


def test_everything_moved_and_turned_costs_the_same():
    """A room mirrored end for end has the same best standing floor."""
    one = project(ITEMS, PLACED, doors=DOOR)
    other = project(
        ITEMS,
        PLACED,
        doors=DOOR.replace("west", "east").replace("left", "right").replace("600", "1038"),
    )
    best = [
        search(compile_scheme(p, "as found"), restarts=6, moves=30000).found[0]
        for p in (one, other)
    ]

    assert best[0].hard == best[1].hard == 0.0
    assert best[0].soft == pytest.approx(best[1].soft, abs=0.15)


def test_nothing_may_move():
    """A scheme in which all stays is refused."""
    made = project({"bin": ITEMS["bin"]}, ["item: bin, at: [900, 900], stays: true"])

    with pytest.raises(MassingError, match="nothing in 'as found' may move"):
        compile_scheme(made, "as found")


def test_stack_moves_as_one_and_boxes_come_apart():
    """A kit and dryer ride on their washer; boxes alike are stacked or not as is best."""
    items = {
        "bottom": "body: 600 x 600 x 850, weight: 70, zone: {front: 700}",
        "top": "body: 600 x 600 x 850, weight: 40",
        "box": "body: 600 x 400 x 350, weight: 10, stores: true",
    }
    placed = [
        "item: bottom, at: [300, 300]",
        "item: top, on: bottom",
        "item: box, name: box 1, at: [2000, 200]",
        "item: box, name: box 2, at: [2000, 900]",
    ]
    model = compile_scheme(project(items, placed), "as found")

    assert [(u.name, u.riders) for u in model.units] == [
        ("bottom", ("top",)),
        ("box 1", ()),
        ("box 2", ()),
    ]
    best = search(model, restarts=4, moves=20000).found[0]
    assert best.hard == 0.0
    assert sorted(best.on.tolist())[:2] == [-1, -1]
    assert max(best.on.tolist()) > 0  # one box on the other saves floor


def test_keyboard_keeps_the_best():
    """A stop from the keyboard ends the search with what was found."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")

    def stop(done, best):
        if done == 2 and best.seed >= 0:
            raise KeyboardInterrupt

    found = search(model, restarts=5, moves=2000, report=stop)

    assert found.stopped == "keyboard"
    assert len(found.found) == 2


def test_time_is_a_cap():
    """Out of time, what is done so far is ranked and the reason said."""
    model = compile_scheme(project(ITEMS, PLACED), "as found")

    found = search(model, restarts=50, moves=2000, seconds=0.0)

    assert found.stopped == "time"
    assert len(found.found) == 1


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_shares_the_work():
    """A distributed engine's own executor gives the same answer."""
    distributed = pytest.importorskip("distributed")
    model = compile_scheme(project(ITEMS, PLACED), "as found")
    alone = search(model, seed=4, restarts=3, moves=3000)

    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        shared = search(model, seed=4, restarts=3, moves=3000, executor=client.get_executor())

    assert [(f.hard, f.soft) for f in shared.found] == [(f.hard, f.soft) for f in alone.found]


@pytest.mark.parametrize("seed", range(4))
def test_open_rectangle_is_the_largest(seed):
    """The raster's largest open rectangle is what trying all of them gives."""
    from massing.arrange.search_compiled import open_now

    model = compile_scheme(project(ITEMS, PLACED), "as found")
    found = search(model, seed=seed, restarts=1, moves=500).found[0]
    record = new_moving(found.pose, found.on, found.yaw)

    said = open_now((model.fixed, record))

    rows, columns = (int(model.fixed[name][0]) for name in ("rows", "columns"))
    grid = record["grid"][0][:rows, :columns]
    assert 0 < grid.sum() < rows * columns
    best = max(
        (r1 - r0) * (c1 - c0)
        for r0 in range(rows)
        for r1 in range(r0 + 1, rows + 1)
        for c0 in range(columns)
        for c1 in range(c0 + 1, columns + 1)
        if (r1 - r0) * (c1 - c0) * 0.01 > said - 1e-6 and grid[r0:r1, c0:c1].all()
    )
    assert said == pytest.approx(best * 0.01)
