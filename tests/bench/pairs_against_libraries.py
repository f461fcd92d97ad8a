"""Which boxes meet, against the libraries: whole rooms, and one moved thing against the rest.

Run ``python -m tests.bench --only pairs_against_libraries [--long]``. Rooms grow at one density.
What is counted are pairs more than 1e-6 mm deep; how many there are comes from shapely, and what
the peer found, read with the same 1e-6, stands beside. A library's shapes are sized beforehand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from massing.geometry.gaps.pairs import Near, pairs_within, prism_table
from massing.geometry.gaps.pairs_compiled import (
    bounds_table,
    move_within,
    pairs_within_compiled,
)
from massing.geometry.solids import Convex, prism
from tests.bench.record import Count, Measured, Times, side_by_side

DEEP = 1e-6  # mm
SQUARE = np.array([[-1.0, -1.0], [1, -1], [1, 1], [-1, 1]])


def _turn(angle: float) -> np.ndarray:
    return np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])


def yawed(count: int, spacing: float = 600.0) -> list[Convex]:
    """Boxes at any angle and height, one for each square of that spacing."""
    rng = np.random.default_rng(1)
    side = spacing * np.sqrt(count)
    solids = []
    for _ in range(count):
        ring = SQUARE * rng.uniform(100, 400, 2) @ _turn(rng.uniform(0, 2 * np.pi))
        low = rng.uniform(0, 1600)
        solids.append(prism(ring + rng.uniform(0, side, 2), low, low + rng.uniform(200, 800)))
    return solids


def crowded(count: int) -> list[Convex]:
    """The same, close enough that each meets several."""
    return yawed(count, 420.0)


def _rows(count: int, yaw: float, widths: Callable[[], float]) -> list[Convex]:
    """Rows of boxes flush end to end, back to back and on top of each other, the last pushed in."""
    per = max(2, round(count ** (1 / 3) * 1.6))
    turn = _turn(yaw)
    solids: list[Convex] = []
    while len(solids) < count:
        shelf = len(solids) // per
        x, y, z = 0.0, 320.0 * (shelf // 4), 350.0 * (shelf % 4)
        for _ in range(per):
            ring = np.array([[0.0, 0], [1, 0], [1, 320], [0, 320]])
            wide = widths()
            ring = ring * [wide, 1.0] + [x, y]
            x += wide
            solids.append(prism(ring @ turn, z, z + 350.0))
    solids = solids[:count]
    # One in fifty is 12 mm too far along: real overlaps among the touches.
    along = np.array([12.0, 0.0]) @ turn
    return [s.moved(np.array([*along, 0.0])) if k % 50 == 7 else s for k, s in enumerate(solids)]


def shelving(count: int) -> list[Convex]:
    """Equal boxes in square rows."""
    return _rows(count, 0.0, lambda: 400.0)


def flush(count: int) -> list[Convex]:
    """Boxes of all widths in rows askew to the axes."""
    rng = np.random.default_rng(2)
    return _rows(count, 0.4, lambda: float(rng.integers(20, 80)) * 10.0)


SCENES = {"yawed": yawed, "crowded": crowded, "shelving": shelving, "flush": flush}


@dataclass(frozen=True, slots=True, eq=False)
class Sized:
    """What a library's box is made of: sides, rotation and middle of each."""

    sides: list[np.ndarray]
    turns: list[np.ndarray]
    middles: list[np.ndarray]
    solids: list[Convex] = field(default_factory=list)


def sized(solids: list[Convex]) -> Sized:
    """Sizes of upright boxes."""
    sides, turns, middles = [], [], []
    for solid in solids:
        c = solid.corners[0]
        ways = np.stack([c[1] - c[0], c[3] - c[0], c[4] - c[0]])
        long = np.linalg.norm(ways, axis=1)
        sides.append(long)
        turns.append((ways / long[:, None]).T.copy())
        middles.append(c.mean(axis=0))
    return Sized(sides, turns, middles, solids)


class Coal:
    """Boxes in the library's tree of bounds, contacts asked for."""

    def __init__(self, of: Sized) -> None:
        import coal

        self.coal = coal
        self.manager = coal.DynamicAABBTreeCollisionManager()
        self.objects = []
        for side, turn, middle in zip(of.sides, of.turns, of.middles, strict=True):
            at = coal.Transform3s(turn, middle)
            self.objects.append(coal.CollisionObject(coal.Box(*side), at))
            self.manager.registerObject(self.objects[-1])
        self.manager.setup()
        self.back = coal.CollisionCallBackDefault()
        self.back.data.request.num_max_contacts = 1_000_000

    def query(self) -> None:
        """Every contact there is."""
        self.back.data.result.clear()
        self.back.data.done = False
        self.manager.collide(self.back)

    def move(self, number: int, to: Any) -> None:
        """Put one box elsewhere and collide it with the rest."""
        thing = self.objects[number]
        thing.setTransform(to)
        thing.computeAABB()
        self.manager.update(thing)
        self.back.data.result.clear()
        self.back.data.done = False
        self.manager.collide(thing, self.back)

    def deep(self) -> int:
        """Contacts of the last call deeper than DEEP."""
        found = self.back.data.result
        return sum(
            found.getContact(k).penetration_depth < -DEEP for k in range(found.numContacts())
        )


class Fcl:
    """The same with python-fcl."""

    def __init__(self, of: Sized) -> None:
        import fcl

        self.fcl = fcl
        self.manager = fcl.DynamicAABBTreeCollisionManager()
        self.objects = [
            fcl.CollisionObject(fcl.Box(*side), fcl.Transform(turn, middle))
            for side, turn, middle in zip(of.sides, of.turns, of.middles, strict=True)
        ]
        self.manager.registerObjects(self.objects)
        self.manager.setup()

    def query(self) -> Any:
        """Every contact there is."""
        asked = self.fcl.CollisionRequest(num_max_contacts=1_000_000, enable_contact=True)
        data = self.fcl.CollisionData(request=asked)
        self.manager.collide(data, self.fcl.defaultCollisionCallback)
        return data.result

    def deep(self) -> int:
        """Pairs with a contact deeper than DEEP."""
        return len(
            {
                frozenset((id(c.o1), id(c.o2)))
                for c in self.query().contacts
                if c.penetration_depth > DEEP
            }
        )


def trimesh_query(solids: list[Convex]) -> Callable[[], object]:
    """Its collision manager, built, asked for every meeting."""
    import trimesh
    from trimesh.collision import CollisionManager

    manager = CollisionManager()
    for k, solid in enumerate(solids):
        mesh = trimesh.Trimesh(solid.corners[0], solid.faces.triangles, process=False)
        manager.add_object(str(k), mesh)
    return lambda: manager.in_collision_internal(return_names=True)


def manifold_query(solids: list[Convex], near: np.ndarray) -> Callable[[], object]:
    """Volume shared by each pair whose bounds meet, bodies built."""
    from manifold3d import Manifold

    bodies = [Manifold.hull_points(np.ascontiguousarray(s.corners[0])) for s in solids]
    return lambda: [(bodies[i] ^ bodies[j]).volume() for i, j in near]


def shapely_pairs(solids: list[Convex]) -> int:
    """Pairs that share area in plan and height, by shapely: the count all others are held to."""
    import shapely

    plans = shapely.polygons([s.corners[0, :4, :2] for s in solids])
    low, high = (np.array([s.corners[0, k, 2] for s in solids]) for k in (0, 4))
    i, j = shapely.STRtree(plans).query(plans, predicate="intersects")
    i, j = i[i < j], j[i < j]
    tall = np.minimum(high[i], high[j]) - np.maximum(low[i], low[j]) > DEEP
    i, j = i[tall], j[tall]
    return int((shapely.area(shapely.intersection(plans[i], plans[j])) > 1e-3).sum())


def deep(near: Near) -> int:
    """Pairs deeper than DEEP."""
    return int((near.gap < -DEEP).sum())


def _room(scene: str, count: int) -> list[Measured]:
    solids = SCENES[scene](count)
    of, table = sized(solids), prism_table(solids)
    coal, fcl = Coal(of), Fcl(of)
    must = shapely_pairs(solids)
    coal.query()
    compiled, arrays = pairs_within_compiled(table, 0.0), pairs_within(table, 0.0)
    name, curve = f"pairs of {scene} boxes, {count:,}", f"pairs of {scene} boxes"
    lines = [
        Measured(
            name,
            "coal, query",
            side_by_side(lambda: pairs_within_compiled(table, 0.0), coal.query),
            10.0 if count >= 200 else None,
            (Count("pairs", deep(compiled), must, coal.deep()),),
            curve,
            count,
        ),
        Measured(
            f"{name}, with building",
            "coal, build and query",
            side_by_side(
                lambda: pairs_within_compiled(prism_table(solids), 0.0),
                lambda: Coal(of).query(),
                runs=3 if count > 1000 else 7,
            ),
        ),
        Measured(
            f"{name}, numpy alone, with building",
            "python-fcl, build and query",
            side_by_side(
                lambda: pairs_within(prism_table(solids), 0.0),
                lambda: Fcl(of).query(),
                runs=3 if count > 1000 else 7,
            ),
            1.0,
            (Count("pairs", deep(arrays), must, fcl.deep()),),
            f"{curve}, numpy alone",
            count,
        ),
    ]
    if scene == "yawed" and count <= 1000:
        near = pairs_within(table, 0.0).pairs
        for who, query in (
            ("trimesh collision manager, query", trimesh_query(solids)),
            ("manifold3d boolean of each near pair", manifold_query(solids, near)),
            ("shapely tree and areas", lambda: shapely_pairs(solids)),
        ):
            times: Times = side_by_side(lambda: pairs_within_compiled(table, 0.0), query, runs=3)
            lines.append(Measured(name, who, times, None, (), curve, count))
    return lines


def _moved(count: int) -> Measured:
    """One box put to and fro between two places."""
    solids = yawed(count)
    of, table = sized(solids), prism_table(solids)
    bounds, coal = bounds_table(table), Coal(of)
    near = pairs_within(table, 0.0)
    number = int(np.bincount(near.pairs[near.gap < -DEEP].reshape(-1)).argmax())
    ours = [solids[number].corners[0], solids[number].moved([250.0, 90.0, 0.0]).corners[0]]
    middle = of.middles[number]
    theirs = [
        coal.coal.Transform3s(of.turns[number], middle + np.array(by))
        for by in ([0.0, 0.0, 0.0], [250.0, 90.0, 0.0])
    ]
    who, gap = np.empty(count, np.int64), np.empty(count)

    def us() -> int:
        move_within(table, bounds, number, ours[1], 0.0, who, gap)
        return int(move_within(table, bounds, number, ours[0], 0.0, who, gap))

    def them() -> None:
        coal.move(number, theirs[1])
        coal.move(number, theirs[0])

    times = side_by_side(us, them)
    found = int((gap[: us()] < -DEEP).sum())
    must = int((near.pairs[near.gap < -DEEP] == number).sum())
    return Measured(
        f"one moved box against {count:,}, twice",
        "coal, update and collide",
        times,
        8.0,
        (Count("pairs", found, must, coal.deep() - 1),),  # it meets itself in its own tree
        "one moved box",
        count,
    )


def measure(long: bool) -> list[Measured]:
    """Rooms of boxes and one moved box against the libraries."""
    sizes = (50, 200, 1000, 3000, 10_000) if long else (200, 1000)
    lines = [line for count in sizes for line in _room("yawed", count)]
    hard = (200, 1000, 10_000) if long else (200, 1000)
    for scene in ("crowded", "shelving", "flush"):
        lines += [line for count in hard for line in _room(scene, count)]
    return [*lines, *(_moved(count) for count in (sizes if long else (200, 1000)))]
