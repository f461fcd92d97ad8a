"""Tests for the search's bookkeeping: held against a search that prices everything at each move."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.arrange.arrays import CEILING, WALL, new_moving
from massing.arrange.model import compile_scheme
from massing.project.read import parse_project
from tests.arrange.costs import DOOR, model_of, priced
from tests.arrange.rooms import project

HOT = np.array([0.4, 0.002])
ROOM = """\
massing: 1
project: A small room
room:
  size: 3000 x 2400
  floor: [{level: 0}, {from: east, depth: 900, level: 150}]
  ceiling: [{flat: 2400}]
  doors: [{name: entry, wall: west, along: 600, leaf: 762 x 1981, hinge: left, opens: out}]
prefer: {standing: 1, open_floor: 0.3, daily: 0.2, reach: 0.1}
items:
  bench: {body: 1200 x 600 x 900, weight: 60, zone: {front: 700}}
  chest: {body: 700 x 450 x 600, weight: 20, stores: true}
  rack: {body: 700 x 500 x 300, weight: 9, mount: wall}
  shelf: {body: 900 x 250 x 300, weight: 9, mount: wall, stores: true}
  bin: {body: 300 x 300 x 600, weight: 5}
  lid: {body: 300 x 300 x 100, weight: 2, mount: 'on'}
schemes:
  as found:
    - {item: chest, name: chest 1, at: [300, 300]}
    - {item: bench, against: north, along: 200}
    - {item: chest, name: chest 2, on: chest 1}
    - {item: rack, against: south, along: 400, height: 1300}
    - {item: shelf, against: north, along: 400, height: 1300}
    - {item: bin, at: [1200, 900]}
    - {item: lid, on: bin}
"""


class Slow:
    """The same moves by the same numbers, each priced by pricing the whole room afresh."""

    def __init__(self, model, seed):
        self.model = model
        self.record = new_moving(model.pose, model.on, model.yaw)
        self.record["state"] = np.uint64(2 * seed + 1)
        self.fixed, self.moving = model.fixed[0], self.record[0]
        self.mount = model.fixed["mount"][0]
        self.tried = 0

    def keep(self):
        """Where everything is."""
        return [self.record[name][0].copy() for name in ("pose", "on", "yaw")]

    def put(self, kept):
        """Everything back, and brought to its pose."""
        from massing.arrange.search_compiled import fill_costs

        for name, value in zip(("pose", "on", "yaw"), kept, strict=True):
            self.record[name][0][:] = value
        fill_costs(self.fixed, self.moving)

    def cost(self, *, late):
        """The whole cost of where everything is, and the building's share by unit."""
        from massing.arrange.open_compiled import open_rectangle
        from massing.arrange.search_compiled import fill_costs
        from massing.arrange.walking_compiled import shut_in

        fresh = new_moving(*self.keep())
        weights = self.model.fixed["weights"][0]
        hard, soft = fill_costs(self.fixed, fresh[0])
        total = weights[5] * hard + soft
        if late:
            hard, soft = shut_in(self.fixed, fresh[0])
            total += weights[5] * hard + soft
        if weights[1] > 0.0:
            grid, heights = fresh["grid"][0], fresh["heights"][0]
            total -= weights[1] * open_rectangle(self.fixed, fresh[0], grid, heights)
        return total, fresh["shell"][0] @ np.array([weights[5], 1.0])

    def members(self, moved):
        """What moves, and all that stands on it, in the order of standing."""
        on, found = self.record["on"][0], list(moved)
        for below in found:
            found += [v for v in range(len(self.model.units)) if on[v] == below and v not in found]
        return found

    def turn(self, heat, out):
        """Move something; which, or None where nothing was or could be."""
        from massing.arrange.moves_compiled import chance, pick, propose, swap_places

        free, on = self.model.free, self.record["on"][0]
        u = int(free[pick(self.moving, len(free))])
        if chance(self.moving) < 0.06 and len(free) > 1:
            v = int(free[pick(self.moving, len(free))])
            if u == v or on[u] >= 0 or on[v] >= 0 or self.mount[u] != self.mount[v]:
                return None
            moved = self.members([u, v])
            swap_places(self.fixed, self.moving, u, v, out)
            return moved
        was, moved = int(on[u]), self.members([u])
        if not propose(self.fixed, self.moving, u, heat, self.model.sides, out):
            on[u] = was
            return None
        return moved

    def settle(self, moved):
        """What moved brought to its floor, and what stands on it taken along."""
        from massing.arrange.moves_compiled import hang, stand_on
        from massing.arrange.place_compiled import place_bodies

        if self.mount[moved[0]] == CEILING:
            hang(self.fixed, self.moving, moved[0])
        for k, v in enumerate(moved):
            below = int(self.record["on"][0][v])
            if k > 0 and below >= 0:
                stand_on(self.fixed, self.moving, v, below)
            place_bodies(self.fixed, self.moving, v)

    def run(self, moves):
        """The best it met: pose, on, yaw."""
        from massing.arrange.moves_compiled import chance

        for _ in range(16):
            chance(self.moving)
        walks = int(self.model.fixed["walk_rows"][0]) > 0
        late, out = walks and moves < 64, np.zeros(6)
        self.put(self.keep())
        total, shell = self.cost(late=late)
        best, kept = total, self.keep()
        for move in range(moves):
            if move % 64 == 0:
                heat = 1.0 - move / moves
                temperature = HOT[0] * (HOT[1] / HOT[0]) ** (move / moves)
                if walks and not late and move / moves >= 0.35:
                    late = True
                    total, shell = self.cost(late=True)
                    best, kept = total, self.keep()
            was = self.keep()
            moved = self.turn(heat, out)
            if moved is None:
                continue
            self.tried += 1
            self.settle(moved)
            allowed = -temperature * math.log(max(chance(self.moving), 1e-12))
            now, now_shell = self.cost(late=late)
            # What hangs and had something move under it is priced anew only once it is taken.
            others = [
                v
                for v in range(len(self.model.units))
                if v not in moved and self.mount[v] in {WALL, CEILING}
            ]
            beside = float((now_shell - shell)[others].sum())
            if now - beside - total > allowed:
                self.put(was)
                continue
            total, shell = now, now_shell
            self.put(self.keep())
            if total < best - 1e-9:
                best, kept = total, self.keep()
        return kept


def _walked():
    """A room where ways count, with things to fall behind each other."""
    items = {
        "bench": "body: 1400 x 600 x 900, weight: 60, zone: {front: 700}",
        "screen": "body: 1500 x 60 x 1800, weight: 20",
        "press": "body: 500 x 450 x 1300, weight: 30, zone: {front: 600}",
    }
    placed = [
        "item: bench, against: east, along: 500",
        "item: screen, at: [1200, 0], turn: 90",
        "item: press, against: south, along: 300",
    ]
    return compile_scheme(project(items, placed), "as found")


def _full():
    return compile_scheme(parse_project(ROOM), None)


def _hung():
    """Deep racks with things going about under them, and no doors."""
    items = {
        "rack": "body: 900 x 600 x 300, mount: wall",
        "other": "body: 700 x 500 x 300, mount: wall",
        "chest": "body: 1000 x 700 x 900",
    }
    return model_of(items)


@pytest.mark.parametrize("seed", range(4, 10))
def test_as_if_what_hangs_were_priced_at_each_move(seed):
    """What passes under a deep rack changes what the rack costs, kept as if priced anew."""
    from massing.arrange.search_compiled import anneal

    items = {"rack": "body: 900 x 600 x 300, mount: wall", "chest": "body: 1000 x 700 x 900"}
    model = model_of(items)
    model.pose[0, 4] = 1900.0  # too low to walk under, until the chest is there
    pose, _, yaw = Slow(model, seed).run(192)
    record = new_moving(model.pose, model.on, model.yaw)

    anneal((model.fixed, record), model.free, model.sides, seed, 192, HOT)

    assert record["yaw"][0].tolist() == yaw.tolist()
    np.testing.assert_allclose(record["pose"][0], pose, atol=1e-6)


def _over_one_another():
    """Racks and a chest so long that all three often lie over one another."""
    items = {
        "rack": "body: 2200 x 400 x 300, mount: wall",
        "other": "body: 1800 x 400 x 300, mount: wall",
        "chest": "body: 2000 x 600 x 600",
    }
    return model_of(items)


@pytest.mark.parametrize("seed", range(10))
def test_as_if_floor_under_three_were_counted_at_each_move(seed):
    """What three take at once is in the price of a move and in what it may cost at most."""
    from massing.arrange.search_compiled import anneal, price_all

    model = _over_one_another()
    slow = Slow(model, seed)
    pose, on, yaw = slow.run(256)
    record = new_moving(model.pose, model.on, model.yaw)

    said = anneal((model.fixed, record), model.free, model.sides, seed, 256, HOT)

    assert int(record["tried"][0]) == slow.tried
    assert record["yaw"][0].tolist() == yaw.tolist()
    np.testing.assert_allclose(record["pose"][0], pose, atol=1e-6)
    again = price_all((model.fixed, new_moving(pose, on, yaw)))
    assert said == pytest.approx(again, abs=1e-6)


def _one():
    """One thing alone, with nothing to change places with."""
    return model_of({"chest": "body: 700 x 450 x 600"})


@pytest.mark.parametrize("made", [_full, _walked, _hung, _one])
@pytest.mark.parametrize(("seed", "moves"), [(1, 40), (2, 130), (3, 130)])
def test_as_if_all_were_priced_at_each_move(made, seed, moves):
    """Kept tables, early stops and what rides along come to what pricing everything comes to."""
    from massing.arrange.search_compiled import anneal, price_all

    model = made()
    slow = Slow(model, seed)
    pose, on, yaw = slow.run(moves)
    record = new_moving(model.pose, model.on, model.yaw)

    said = anneal((model.fixed, record), model.free, model.sides, seed, moves, HOT)

    assert int(record["tried"][0]) == slow.tried > moves // 3
    assert record["on"][0].tolist() == on.tolist()
    assert record["yaw"][0].tolist() == yaw.tolist()
    np.testing.assert_allclose(record["pose"][0], pose, atol=1e-6)
    again = price_all((model.fixed, new_moving(pose, on, yaw)))
    assert said == pytest.approx(again, abs=1e-6)


def test_a_fault_in_the_tables_would_show():
    """Leaving the building's share out of what is priced ends elsewhere."""

    class Forgetful(Slow):
        def cost(self, *, late):
            total, shell = super().cost(late=late)
            return total - float(shell.sum()), shell

    ends = [cls(_walked(), 3).run(130)[0].tolist() for cls in (Slow, Forgetful)]

    assert ends[0] != ends[1]


def test_stops_along_walls():
    """Each side to each wall, a stop every step and one at the end, all of them flush."""
    from massing.arrange.exhaustive_compiled import wall_stops

    model = model_of({"box": "body: 500 x 400 x 600", "bin": "body: 300 x 300 x 900"})
    record = new_moving(model.pose, model.on, model.yaw)

    stops = wall_stops((model.fixed, record), 0, 250.0)

    # 3000 and 2400 long: 12 and 9 whole steps, and on each as many again as begin or end it
    assert stops.shape == (4 * 2 * (14 + 11), 6)
    for x, y, c, s, z, yaw in stops:
        ends = [(x + c * a - s * b, y + s * a + c * b) for a in (0, 500) for b in (0, 400)]
        low, high = np.min(ends, axis=0), np.max(ends, axis=0)
        wall = int(yaw) // 4
        assert [low[1], 3000 - high[0], 2400 - high[1], low[0]][wall] == pytest.approx(
            0.0, abs=1e-6
        )
        assert low.min() > -1e-6
        assert (high <= np.array([3000, 2400]) + 1e-6).all()
        assert z == 0.0
        assert model.fixed["yaws"][0][int(yaw)].tolist() == [c, s]
    south = stops[(stops[:, 5] == 2)]
    along = np.sort(3000.0 - (south[:, 0] + np.where(south[:, 2] > 0, 500.0, 0.0)))
    assert along.tolist() == pytest.approx([*range(0, 2500, 250), *[2500.0] * 4])


def test_which_stops_are_clear():
    """Alone and in pairs as pricing the whole room says."""
    from massing.arrange.exhaustive_compiled import clear_alone, clear_together, wall_stops

    items = {"box": "body: 900 x 600 x 600, zone: {front: 600}", "bin": "body: 500 x 400 x 900"}
    room = DOOR + "\nfabric: [{name: pier, box: 1300..1600 x 0..300 x 0..2400}]"
    model = model_of(items, room=room)
    record = new_moving(model.pose, model.on, model.yaw)
    records = (model.fixed, record)
    stops = [wall_stops(records, u, 700.0) for u in range(2)]
    far = {"box": (1000, 1000), "bin": (1000, 1000)}
    clear = []
    for u, name in enumerate(items):
        alone = clear_alone(records, u, stops[u])
        clear.append(alone)
        for row, good in zip(stops[u], alone, strict=True):
            place = (row[0], row[1], math.degrees(math.atan2(row[3], row[2])))
            cost = priced(model, **{**far, name: place})
            assert good == (cost.shell[name][0] + cost.pair[u, 2, 0] <= 1e-9)
        assert 0 < alone.sum() < len(alone)

    one, two = (stops[u][clear[u]][::2] for u in range(2))
    table = clear_together(records, 0, one, 1, two)

    assert table.any()
    assert not table.all()
    for k, a in enumerate(one):
        for j, b in enumerate(two):
            places = [(r[0], r[1], math.degrees(math.atan2(r[3], r[2]))) for r in (a, b)]
            cost = priced(model, box=places[0], bin=places[1])
            assert table[k, j] == (cost.pair[0, 1, 0] <= 1e-9)
