"""Tests for the search's moves: where each leaves a thing, from exact values and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.arrange.arrays import new_moving
from massing.arrange.model import Model, compile_scheme
from tests.arrange.costs import model_of
from tests.arrange.rooms import project

GRID = 5.0
SLOPES = "{slopes: {south: 1700, north: 2500}}"
ITEMS = {
    "desk": (
        "body: 1200 x 600 x 740, zone: {front: 700}, "
        "gaps: {front: 10, back: 30, left: 50, right: 70}"
    ),
    "kit": (
        "parts: [{name: a, box: 0..300 x 100..400 x 0..600}, "
        "{name: b, box: 300..500 x 0..450 x 0..900}]"
    ),
    "shelf": "body: 900 x 250 x 300, mount: wall, stores: true",
    "lower": "body: 600 x 400 x 500, stores: true, weight: 10",
}


class Room:
    """A model with its records open to single moves."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.record = new_moving(self.model.pose, self.model.on, self.model.yaw)
        self.fixed, self.moving = self.model.fixed[0], self.record[0]
        self.names = [unit.name for unit in self.model.units]
        self.out = np.zeros(6)
        self.placed()

    def __getitem__(self, name):
        return self.record[name][0]

    def of(self, name):
        """A table of what does not change."""
        return self.model.fixed[name][0]

    def seed(self, number):
        """The generator begun with a number, as the search begins it."""
        from massing.arrange.moves_compiled import chance

        self.record["state"] = np.uint64(2 * number + 1)
        for _ in range(16):
            chance(self.moving)

    def placed(self):
        """Everything brought to its pose."""
        from massing.arrange.search_compiled import price_all

        price_all((self.model.fixed, self.record))

    def corners(self, u):
        """Corners in plan of all a unit's boxes where its pose has them (k, 2)."""
        x, y, c, s, _ = self["pose"][u]
        first, last = self.of("box_at")[u], self.of("box_at")[u + 1]
        found = []
        for x0, y0, _, x1, y1, _ in self.of("boxes")[first:last]:
            own = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
            found += [(x + c * a - s * b, y + s * a + c * b) for a, b in own]
        return np.array(found)

    def middle(self, u):
        """The middle of a unit's bounds in plan."""
        low, high = self.corners(u).min(axis=0), self.corners(u).max(axis=0)
        return (low + high) / 2


def test_numbers_as_published():
    """xorshift64* by its definition, in Python's whole numbers; the upper 53 bits are given."""
    from massing.arrange.moves_compiled import chance

    room = Room(model_of(ITEMS))
    state = 12345
    room.record["state"] = np.uint64(state)
    for _ in range(50):
        state ^= state >> 12
        state = (state ^ (state << 25)) % 2**64
        state ^= state >> 27
        said = chance(room.moving)
        assert said == ((state * 2685821657736338717) % 2**64 >> 11) / 2**53
        assert int(room["state"]) == state


def test_a_pick_is_fair():
    """Of four, each about a quarter of the time, and nothing else."""
    from massing.arrange.moves_compiled import pick

    room = Room(model_of(ITEMS))
    room.seed(1)
    picked = np.bincount([pick(room.moving, 4) for _ in range(2000)], minlength=4)

    assert picked.shape == (4,)
    assert picked.min() > 430  # 500 each; three and a half standard deviations
    assert {pick(room.moving, 1) for _ in range(50)} == {0}


@pytest.mark.parametrize("name", ["desk", "kit"])
@pytest.mark.parametrize("wall", range(4))
@pytest.mark.parametrize("quarter", range(4))
def test_to_a_wall(name, wall, quarter):
    """Flush with the wall but for its air, the side asked for towards it, so far along it."""
    from massing.arrange.moves_compiled import to_wall

    room = Room(model_of(ITEMS))
    u = room.names.index(name)
    x, y, ax, ay, ox, oy, face, length, _ = room.of("walls")[wall]
    for along in (-100.0, 0.0, 335.0, 1e9):
        to_wall(room.fixed, room.moving, u, wall, quarter, along, room.out)
        corners = room.corners(u)
        c, s = room["pose"][u, 2:4]
        # the front looks along -y of a thing's own frame
        front = np.array([s, -c])
        # with its left to the wall it looks to the left along it
        toward = np.array([[ox, oy], [-ax, -ay], [-ox, -oy], [ax, ay]])
        # front, left, back, right
        air = (10.0, 50.0, 30.0, 70.0)[quarter] if name == "desk" else 0.0
        assert (corners @ (ox, oy)).max() == pytest.approx(face - air, abs=1e-9)
        reach = corners @ (ax, ay) - (x * ax + y * ay)
        wide = reach.max() - reach.min()
        assert room.out[0] == pytest.approx(wide)
        assert reach.min() == pytest.approx(min(max(along, 0.0), length - wide), abs=1e-9)
        assert front.tolist() == pytest.approx(toward[quarter].tolist())
        assert room["yaw"][u] == 4 * wall + quarter
        assert room.of("yaws")[4 * wall + quarter].tolist() == [c, s]


def test_on_another():
    """In its middle, facing as it does, whatever its turn."""
    from massing.arrange.moves_compiled import stand_on

    room = Room(model_of(ITEMS))
    lower, kit = (room.names.index(n) for n in ("lower", "kit"))
    for turn in (0.0, 90.0, 37.0):
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        room["pose"][lower, :4] = 1300.0, 900.0, c, s

        assert stand_on(room.fixed, room.moving, kit, lower)

        own = {u: room.of("bounds")[u] for u in (lower, kit)}
        middles = []
        for u in (lower, kit):
            x, y = (own[u][0] + own[u][3]) / 2, (own[u][1] + own[u][4]) / 2
            px, py, cc, ss, _ = room["pose"][u]
            assert (cc, ss) == (c, s)
            middles.append((px + cc * x - ss * y, py + ss * x + cc * y))
        assert middles[0] == pytest.approx(middles[1], abs=1e-9)
        assert room["on"][kit] == lower
        assert room["yaw"][kit] == room["yaw"][lower]
        room["on"][kit] = -1


def test_changing_places():
    """Free things go to each other's middles, to the nearest 5, facing as the other did."""
    from massing.arrange.moves_compiled import swap_places

    room = Room(model_of(ITEMS))
    desk, kit = room.names.index("desk"), room.names.index("kit")
    room["pose"][desk, :4] = 703.0, 611.0, *room.of("yaws")[5]
    room["pose"][kit, :4] = 1901.0, 1207.0, *room.of("yaws")[8]
    room["yaw"][desk], room["yaw"][kit] = 5, 8
    before = room.middle(desk), room.middle(kit)

    swap_places(room.fixed, room.moving, desk, kit, room.out)

    assert np.abs(room.middle(desk) - before[1]).max() <= GRID / 2 + 1e-9
    assert np.abs(room.middle(kit) - before[0]).max() <= GRID / 2 + 1e-9
    for u, yaw in ((desk, 8), (kit, 5)):
        assert room["yaw"][u] == yaw
        assert room["pose"][u, 2:4].tolist() == room.of("yaws")[yaw].tolist()
        low = room.corners(u).min(axis=0)
        assert np.abs(low / GRID - np.round(low / GRID)).max() < 1e-9


def test_changing_places_along_walls():
    """What was flush with a wall leaves the other flush with it, middle to middle."""
    from massing.arrange.moves_compiled import swap_places, to_wall

    room = Room(model_of(ITEMS))
    desk, kit = room.names.index("desk"), room.names.index("kit")
    to_wall(room.fixed, room.moving, desk, 2, 2, 800.0, room.out)
    to_wall(room.fixed, room.moving, kit, 1, 0, 1000.0, room.out)
    before = room.middle(desk), room.middle(kit)

    swap_places(room.fixed, room.moving, desk, kit, room.out)

    assert (room["yaw"][desk], room["yaw"][kit]) == (4, 10)
    assert room.corners(desk)[:, 0].max() == pytest.approx(2990.0)  # front to the east wall
    assert room.corners(kit)[:, 1].max() == pytest.approx(2400.0)
    assert abs(room.middle(desk)[1] - before[1][1]) <= GRID / 2 + 1e-9
    assert abs(room.middle(kit)[0] - before[0][0]) <= GRID / 2 + 1e-9


def test_heights_to_hang_at():
    """On the floor's 5 mm from the floor, between it and the ceiling, and all kinds of them."""
    from massing.arrange.moves_compiled import hang

    room = Room(model_of(ITEMS, ceiling=SLOPES))
    shelf, desk = room.names.index("shelf"), room.names.index("desk")
    room["pose"][shelf, :4] = 1000.0, 1400.0, 1.0, 0.0  # 1700 + 1400 / 3 is 2166 over its south
    room["pose"][desk, 4] = 0.0
    highest = math.floor((1700 + 1400 / 3 - 300) / GRID) * GRID
    room.seed(3)
    seen = []
    for _ in range(400):
        hang(room.fixed, room.moving, shelf)
        seen.append(float(room["pose"][shelf, 4]))

    assert min(seen) >= 0.0
    assert max(seen) == highest == 1865.0
    assert {round(z % GRID, 6) for z in seen} == {0.0}
    count = {z: seen.count(z) for z in seen}
    assert count[1300.0] > 50  # as it was, a fifth of the time
    assert count[highest] > 100  # as high as may be, and what is over 2000 is brought down to it
    assert count[740.0] > 3  # on the desk
    assert len(count) > 20  # or anywhere


def test_heights_over_and_under_others():
    """Just clear over another's top and under its foot, to the 5 mm: three tenths of the time."""
    from massing.arrange.moves_compiled import hang

    room = Room(model_of({k: ITEMS[k] for k in ("desk", "shelf")}))
    shelf, desk = room.names.index("shelf"), room.names.index("desk")
    room["pose"][shelf, :4] = 1000.0, 1400.0, 1.0, 0.0
    room.seed(4)
    seen = []
    for _ in range(600):
        room["pose"][desk, 4] = 903.0  # its top at 1643
        room["pose"][shelf, 4] = 903.0
        hang(room.fixed, room.moving, shelf)
        seen.append(float(room["pose"][shelf, 4]))

    over, under = seen.count(1645.0), seen.count(600.0)
    assert over > 20  # a fifth, by half for the desk
    assert under > 60  # of either
    assert seen.count(1640.0) < 10 > seen.count(605.0)
    assert seen.count(1205.0) > 20  # over itself as it hung


def test_every_move_leaves_things_in_order():
    """Facing by the table, on the 5 mm or flush with a wall, on nothing that stands on it."""
    from massing.arrange.moves_compiled import propose
    from massing.arrange.place_compiled import place_unit

    room = Room(model_of(ITEMS))
    sides = np.full(len(room.names), 0.5)
    faced, flush, moved, quarters, walls_kept = set(), 0, 0, 0, 0
    for seed in range(30):
        room.seed(seed)
        for _ in range(10):
            for u in range(len(room.names)):
                was, was_yaw, middle = room["pose"][u].copy(), room["yaw"][u], room.middle(u)
                changed = propose(room.fixed, room.moving, u, 0.5, sides, room.out)
                yaw = int(room["yaw"][u])
                assert room["pose"][u, 2:4].tolist() == room.of("yaws")[yaw].tolist()
                faced.add((u, yaw))
                if not changed:
                    assert room["pose"][u].tolist() == was.tolist()
                    continue
                moved += 1
                place_unit(room.fixed, room.moving, u)
                corners = room.corners(u)
                walls = room.of("walls")[:4]
                off = [w[6] - (corners @ w[4:6]).max() for w in walls]
                near = min(abs(o - a) for o in off for a in {0.0, *room.of("side_gap")[u]})
                low = corners.min(axis=0)
                grid = np.abs(low / GRID - np.round(low / GRID)).max() * GRID
                assert near < 1e-6 or grid < 1e-6
                flush += near < 1e-6
                still = np.abs(room.middle(u) - middle).max() <= GRID / 2 + 1e-9
                quarters += still and yaw != was_yaw and yaw // 4 == was_yaw // 4
                walls_kept += yaw == was_yaw
                if room.names[u] == "shelf":  # its back is to a wall, always
                    assert yaw % 4 == 2
    assert moved > 800
    assert 0.4 < flush / moved < 0.95
    assert quarters / moved > 0.015  # about their middle, by the moves meant for it
    assert 0.2 < walls_kept / moved < 0.6
    assert {yaw for u, yaw in faced if room.names[u] == "kit"} == set(range(16))


def test_boxes_go_onto_each_other():
    """Things alike are stood on one another, never both ways, and come off again."""
    from massing.arrange.moves_compiled import propose

    words = {"chest": "body: 600 x 400 x 500, stores: true, weight: 10"}
    placed = [f"item: chest, name: {n}, at: [{1000 + 700 * k}, 1000]" for k, n in enumerate("abc")]
    room = Room(compile_scheme(project(words, placed, doors=""), "as found"))
    sides = np.full(len(room.names), 0.5)
    room.seed(2)
    seen = set()
    for _ in range(300):
        for u in range(len(room.names)):
            propose(room.fixed, room.moving, u, 0.5, sides, room.out)
            on = room["on"][: len(room.names)].tolist()
            seen.add(tuple(on))
            assert on.count(0) <= 1
            assert on.count(1) <= 1
            for start in range(len(on)):
                at, steps = start, 0
                while on[at] >= 0:
                    at, steps = on[at], steps + 1
                    assert steps <= len(on)
    assert {(-1, -1), (-1, 0), (1, -1)} <= {s[:2] for s in seen}
