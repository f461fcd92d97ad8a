"""Carry search against obstacles by convolution.

Run ``python -m tests.bench --only carry_against_fft [--long]``.

The peer rasters the obstacles and the turned footprint on the same lattice and convolves them by
FFT, turn by turn, in single precision with the obstacles transformed once. Both then run the very
same search with every move tested, so the second ratio is that of whole answers. The peer's nodes
are approximate: how many it gets wrong is counted. Both use that half a turn changes nothing.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from scipy.fft import irfft2, next_fast_len, rfft2

from massing.geometry.carry import lattice as carry_lattice
from massing.geometry.carry.lattice import fill_layers, lattice, make_table
from massing.geometry.carry.layers import layer
from massing.geometry.carry.search import Effort, Pose, Stand, carry_path
from massing.geometry.plan_parts import outside
from tests.bench.record import Count, Measured, Times, side_by_side

STEP, TURNS = 20.0, 72
BOX = (0.0, -1820.0, 5000.0, 3000.0)
SOFA = np.array([[-900.0, -300], [900, -300], [900, 300], [-900, 300]])
START, GOAL = Stand(1000, -900), Stand(4050, 2600)


def rect(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def obstacles() -> list[np.ndarray]:
    """A 5 x 3 m room with six bodies, a 760 mm door and a 1.7 m hall."""
    walls = outside(
        [rect(0, 0, 5000, 3000), rect(1000, -120, 1760, 0), rect(0, -1820, 5000, -120)], 400
    )
    bodies = [
        rect(0, 2400, 900, 3000),
        rect(0, 1200, 400, 2200),
        rect(2900, 0, 3500, 600),
        rect(4400, 900, 5000, 1500),
        rect(3600, 0, 5000, 600),
        rect(2200, 2500, 3100, 3000),
    ]
    return walls + bodies


def convolved(stones: list[np.ndarray], on: carry_lattice.Lattice) -> np.ndarray:
    """(turns / 2, rows, columns) blocked nodes from rasters sampled at the nodes."""
    reach = math.ceil(math.hypot(900, 300) / STEP) + 1
    xs = on.grid[0] + STEP * np.arange(-reach, on.columns + reach)
    ys = on.grid[1] + STEP * np.arange(-reach, on.rows + reach)
    solid = np.zeros((len(ys), len(xs)), dtype=np.float32)
    for ring in stones:
        (x0, y0), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
        solid[np.ix_((ys > y0) & (ys < y1), (xs > x0) & (xs < x1))] = 1.0
    size = tuple(next_fast_len(n, real=True) for n in solid.shape)
    stone = rfft2(solid, size)
    x, y = np.meshgrid(STEP * np.arange(-reach, reach + 1), STEP * np.arange(-reach, reach + 1))
    out = np.zeros((TURNS // 2, on.rows, on.columns), dtype=np.uint8)
    for k in range(TURNS // 2):
        turn = on.grid[3] + k * 2 * math.pi / TURNS
        u, v = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)
        body = ((np.abs(u) < 900) & (np.abs(v) < 300)).astype(np.float32)
        met = irfft2(stone * np.conj(rfft2(body, size)), size)
        out[k] = met[: on.rows, : on.columns] > 0.5
    return out


def _wrong(table: np.ndarray, on: carry_lattice.Lattice, count: int) -> int:
    """Of so many nodes at random, those polygon intersection disagrees with."""
    rng = np.random.default_rng(3)
    index = np.stack([rng.integers(0, n, count) for n in table.shape], axis=1)
    solid = shapely.union_all([shapely.Polygon(ring) for ring in obstacles()])
    places = np.array([on.place(k, j, i) for k, j, i in index.tolist()])
    cos, sin = np.cos(places[:, 2]), np.sin(places[:, 2])
    x, y = SOFA[:, 0], SOFA[:, 1]
    rings = np.stack(
        [
            cos[:, None] * x - sin[:, None] * y + places[:, :1],
            sin[:, None] * x + cos[:, None] * y + places[:, 1:2],
        ],
        axis=2,
    )
    area = shapely.area(shapely.intersection(shapely.polygons(rings), solid))
    blocked = table[tuple(index.T)] == 1
    return int((~blocked & (area > 18.0)).sum() + (blocked & (area == 0.0)).sum())


def measure(long: bool) -> list[Measured]:
    """The fill alone, and the whole answer with its search, moves and gap."""
    stones = obstacles()
    pose = Pose("level", [SOFA], stones)
    of = layer([SOFA], stones)
    on = lattice(BOX, np.array([GOAL.x, GOAL.y, GOAL.turn]), STEP, TURNS)

    def exact() -> np.ndarray:
        table, angles = make_table([of], on)
        return fill_layers(table, 1, angles.size, on)[0]

    def peer() -> np.ndarray:
        return convolved(stones, on)

    def answer() -> object:
        return carry_path([pose], START, GOAL, bounds=BOX, effort=Effort(((STEP, TURNS),)))

    ours, theirs = exact(), peer()
    nodes = 20_000 if long else 5000
    fill = side_by_side(exact, peer, runs=9)
    whole = side_by_side(answer, peer, runs=9)
    search = max(whole.ours_ms - fill.ours_ms, 0.0)
    both = Times(whole.ours_ms, whole.peer_ms + search, (whole.peer_ms + search) / whole.ours_ms)
    free = int(((ours == 1) & (theirs == 0)).sum()) * 2
    return [
        Measured(
            f"routes, filling {on.nodes:,} nodes",
            "FFT convolution, single precision",
            fill,
            8.0,
            (
                Count("filled", ours.size * 2, on.nodes),
                Count(
                    f"wrong of {nodes:,} against shapely",
                    _wrong(ours, on, nodes),
                    0,
                    _wrong(theirs, on, nodes),
                ),
            ),
            note=f"the peer calls {free:,} blocked nodes free",
        ),
        Measured(
            f"routes, whole answer over {on.nodes:,} nodes",
            "FFT convolution and the same search",
            both,
        ),
    ]
