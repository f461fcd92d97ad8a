"""Times the balance of a room against the mesh library's room minus union.

The peer gives one figure, the unused volume; ours also gives every group's, by height band, and
must agree with the peer to 1e-9 of the volume and add up to the room within 1e-6 of a litre.
``python -m tests.bench.balance_against_boolean`` prints the lines alone.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
from manifold3d import Manifold, Mesh64, OpType

from massing.geometry.solids import Convex, box, prism
from massing.geometry.space.balance import UNUSED, volume_balance
from massing.geometry.space.empty_boxes_room import CeilingCell
from tests.bench.record import Count, Measured, side_by_side

PLAN = np.array([[0, 0], [5000, 0], [5000, 3000], [0, 3000.0]])
ROOM = [CeilingCell(PLAN, 0.0, np.array([0.0, 1400 / 3000, 1200.0]))]
HIGH = np.array([5000.0, 3000.0, 2600.0])
SIZES = (10, 50, 200, 1000)
GOAL = 1.0  # at 200 bodies: no slower than the peer


def scattered(count: int, *, turned: bool = False) -> list[Convex]:
    """Bodies all through the room, smaller when there are more of them; they overlap freely."""
    rng = np.random.default_rng(1)
    sizes = rng.uniform(0.25, 1.0, (count, 3)) * 900.0 * (10 / count) ** (1 / 3)
    lows = rng.uniform(0.0, 1.0, (count, 3)) * (HIGH - sizes)
    turns = rng.uniform(0, np.pi, count) if turned else np.zeros(count)
    solids = []
    for low, size, turn in zip(lows, sizes, turns, strict=True):
        half = size[:2] / 2
        c, s = np.cos(turn), np.sin(turn)
        ring = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half @ np.array([[c, s], [-s, c]])
        solids.append(prism(ring + low[:2] + half, low[2], low[2] + size[2]))
    return solids


def racked(count: int, *, share: float) -> list[Convex]:
    """Equal bodies in equal bays, each filling so much of its bay; 1 makes every face flush."""
    across = max(1, round((count / 3) ** 0.5))
    levels = -(-count // (3 * across))
    bay = np.array([5000 / across, 1000.0, 1200 / levels])
    places = [(i, j, k) for k in range(levels) for j in range(3) for i in range(across)]
    return [box(bay * place, bay * (np.array(place) + share)) for place in places[:count]]


SCENES: dict[str, Callable[[int], list[Convex]]] = {
    "random": scattered,
    "shelving": lambda count: racked(count, share=0.7),
    "flush": lambda count: racked(count, share=1.0),
    "yawed": lambda count: scattered(count, turned=True),
}


def room_minus_union(solids: list[Convex]) -> float:
    """The peer: one boolean for the union, one for the difference, in double precision."""
    meshes = [meshed(solid) for solid in solids]
    room = meshed(ROOM[0].solid)
    return float((room - Manifold.batch_boolean(meshes, OpType.Add)).volume())


def meshed(solid: Convex) -> Manifold:
    """The solid as the library takes it; a box's triangles are worked out once."""
    return Manifold(Mesh64(np.ascontiguousarray(solid.corners[0]), triangles(solid)))


_TRIANGLES: dict[int, np.ndarray] = {}


def triangles(solid: Convex) -> np.ndarray:
    key = id(solid.faces)
    if key not in _TRIANGLES:
        _TRIANGLES[key] = np.ascontiguousarray(solid.faces.triangles.astype(np.uint64))
    return _TRIANGLES[key]


def one(name: str, count: int, *, goal: float | None, runs: int = 9) -> Measured:
    """A line: both in the same run, on the same bodies in three groups."""
    solids = SCENES[name](count)
    groups = [(kind, solids[k::3]) for k, kind in enumerate(("bodies", "motions", "activity"))]
    found = volume_balance(ROOM, groups)
    alike = abs(found.totals[UNUSED] / room_minus_union(solids) - 1) <= 1e-9
    whole = abs(found.volumes.sum() - found.room) <= 1.0
    return Measured(
        name=f"volume balance, {name}, {len(solids)}",
        peer="manifold3d, room minus union",
        times=side_by_side(
            lambda: volume_balance(ROOM, groups), lambda: room_minus_union(solids), runs=runs
        ),
        goal=goal,
        counts=(
            Count("unused as the peer's to 1e-9", int(alike), 1),
            Count("sums to the room within 1 mm³", int(whole), 1),
        ),
        curve=f"volume balance, {name}",
        size=len(solids),
        note="ours by three groups and four height bands, the peer one figure",
    )


def measure(long: bool) -> list[Measured]:
    """Growth from 10 to 1000 bodies in every scene; more runs of each when asked for long."""
    return [
        one(name, count, goal=GOAL if count == 200 else None, runs=15 if long else 5)
        for name in SCENES
        for count in SIZES
    ]


def main() -> int:
    """Print the growth; 1 when a goal or a count is missed."""
    lines = measure(long=True)
    for line in lines:
        if line.times is not None:
            sys.stdout.write(
                f"{line.name:<32} {line.times.ours_ms:8.2f} ms  peer {line.times.peer_ms:8.2f} ms  "
                f"{line.times.ratio:5.1f}x  {line.verdict}  "
                f"{', '.join(count.says for count in line.counts)}\n"
            )
    return int(not all(line.met for line in lines))


if __name__ == "__main__":
    sys.exit(main())
