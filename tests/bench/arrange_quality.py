"""How good and how fast is the search: `python -m tests.bench.arrange_quality [--cpsat SECONDS]`.

Reports candidate moves a second, what best-of-restarts reaches over time for 5 to 40 items, and
with OR-tools installed (never a dependency) the same 12-item room given to a constraint solver.
The two are given one objective: the floor not covered by bodies or their zones, on a 100 mm grid
for the solver; the search's answer is counted by the same rule.
"""

# ruff: noqa: T201

from __future__ import annotations

import argparse
import time

import numpy as np

from massing.arrange.model import Model, compile_scheme
from massing.arrange.search import search
from massing.project.read import parse_project

WIDE, DEEP = 4800, 2700
_SHELL = "ceiling: [{flat: 2400}], floor: [{level: 0}]"


def room(count: int, seed: int) -> Model:
    """A plain room with so many boxes, half of them used from the front; a third of it filled."""
    rng = np.random.default_rng(seed)
    grow = max(1.0, (count / 12) ** 0.5)
    size = (int(WIDE * grow / 100) * 100, int(DEEP * grow / 100) * 100)
    items, placed = [], []
    for k in range(count):
        w, d = (int(v) * 100 for v in rng.integers((4, 3), (10, 7)))
        zone = ", zone: {front: 600, headroom: 1900}" if k % 2 else ""
        items.append(f"  thing {k}: {{body: {w} x {d} x {int(rng.integers(6, 19)) * 100}{zone}}}")
        placed.append(f"    - {{item: thing {k}, at: [100, 100]}}")
    text = "\n".join(
        [
            "massing: 1",
            "project: bench",
            f"room: {{size: {size[0]} x {size[1]}, {_SHELL}}}",
            "prefer: {open_floor: 1}",
            "items:",
            *items,
            "schemes:",
            "  as found:",
            *placed,
        ]
    )
    return compile_scheme(parse_project(text), "as found")


def speed() -> None:
    """Moves a second of this process, on one core."""
    print("moves a second, one core (CPU time): all moves tried, priced and taken or not")
    for count in (5, 12, 20, 40):
        model = plain(room(count, 1))
        search(model, restarts=1, moves=1000)
        begun = time.process_time()
        found = search(model, restarts=4, moves=200_000)
        took = time.process_time() - begun
        print(f"  {count:3} items: {found.moves / took:12,.0f}")


def plain(model: Model) -> Model:
    """The same with standing floor as the aim."""
    model.fixed["weights"][0][:5] = [1.0, 0.0, 0.0, 0.0, 0.0]
    return model


def over_time() -> None:
    """Best open rectangle, m², of so many restarts."""
    print("largest open rectangle, m², best of 1, 4 and 16 restarts of 100 000 moves (wall s)")
    for count in (5, 12, 20, 40):
        model = room(count, 2)
        row = []
        for restarts in (1, 4, 16):
            begun = time.perf_counter()
            found = search(model, restarts=restarts, moves=100_000)
            took = time.perf_counter() - begun
            best = found.clear[0].soft if found.clear else float("nan")
            row.append(f"{-best:7.3f} ({took:5.1f})")
        print(f"  {count:3} items: {'   '.join(row)}")


def against_solver(seconds: float) -> None:
    """Twelve things back to a wall with zones; cover as few 100 mm cells as can be."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        print("OR-tools is not installed: the comparison was left out")
        return
    rng = np.random.default_rng(5)
    things = [
        (int(w), int(d), int(z)) for w, d, z in rng.integers((4, 3, 3), (10, 7, 7), size=(12, 3))
    ]
    grid_w, grid_d = WIDE // 100, DEEP // 100
    solver_best, bound, took = _solve(cp_model, things, (grid_w, grid_d), seconds)
    print(f"12 things with zones, {grid_w} x {grid_d} cells, fewest covered cells")
    print(f"  constraint solver, {took:.1f} s, 2 workers: {solver_best} (bound {bound})")
    for restarts in (1, 8, 32):
        begun = time.perf_counter()
        best = _ours(things, (grid_w, grid_d), restarts)
        took_ours = time.perf_counter() - begun
        print(f"  search, {restarts:2} restarts, {took_ours:5.2f} s: {best}")


def _ours(things: list[tuple[int, int, int]], grid: tuple[int, int], restarts: int) -> float:
    """The same room by the search; zones are taken as floor it should not cover either."""
    items = [
        f"  thing {k}: {{body: {w * 100} x {d * 100} x 900, zone: {{front: {z * 100}}}}}"
        for k, (w, d, z) in enumerate(things)
    ]
    placed = [f"    - {{item: thing {k}, at: [100, 100]}}" for k in range(len(things))]
    text = "\n".join(
        [
            "massing: 1",
            "project: bench",
            f"room: {{size: {grid[0] * 100} x {grid[1] * 100}, {_SHELL}}}",
            "items:",
            *items,
            "schemes:",
            "  as found:",
            *placed,
        ]
    )
    model = plain(compile_scheme(parse_project(text), "as found"))
    # Each zone's floor is covered too, and zones may share: feet take the zone in.
    _cover_zones(model)
    search(model, restarts=1, moves=1000)
    found = search(model, restarts=restarts, moves=200_000, seed=1)
    if not found.clear:
        return float("nan")
    return min(_covered(model, one.pose) for one in found.clear)


def _cover_zones(model: Model) -> None:
    """Count floor under a zone as taken, shared floor once for a pair."""
    fixed = model.fixed
    for k in range(len(model.units)):
        first = int(fixed["feet_at"][0][k])
        zone = int(fixed["zone_at"][0][k])
        fixed["feet"][0][first, 1] = fixed["zones"][0][zone, 1]


def _covered(model: Model, pose: np.ndarray) -> float:
    """Cells (100 mm squares) under bodies and zones, exact union."""
    from shapely import Polygon, union_all

    rings = []
    for k in range(len(model.units)):
        first = int(model.fixed["feet_at"][0][k])
        x0, y0, x1, y1, _ = model.fixed["feet"][0][first]
        own = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        x, y, c, s, _ = pose[k]
        rings.append(
            Polygon(
                np.stack([x + c * own[:, 0] - s * own[:, 1], y + s * own[:, 0] + c * own[:, 1]], 1)
            )
        )
    return round(float(union_all(rings).area) / 1e4, 2)


def _solve(cp_model, things, grid, seconds):
    """Rectangles and zones on the grid, in one of four turns each; fewest cells covered."""
    wide, deep = grid
    model = cp_model.CpModel()
    cover = {(i, j): model.new_bool_var(f"c{i},{j}") for i in range(wide) for j in range(deep)}
    bodies_x, bodies_y, zones = [], [], []
    for k, (w, d, z) in enumerate(things):
        turns = [model.new_bool_var(f"t{k},{q}") for q in range(4)]
        model.add_exactly_one(turns)
        for q, turn in enumerate(turns):
            bw, bd = (w, d) if q % 2 == 0 else (d, w)
            x, y = model.new_int_var(0, wide - bw, ""), model.new_int_var(0, deep - bd, "")
            bodies_x.append(model.new_optional_fixed_size_interval_var(x, bw, turn, ""))
            bodies_y.append(model.new_optional_fixed_size_interval_var(y, bd, turn, ""))
            dx, dy = ((0, -z), (z, 0), (0, z), (-z, 0))[q]
            zw, zd = (bw, z) if q % 2 == 0 else (z, bd)
            zx = x + (bw if dx > 0 else (min(0, dx)))
            zy = y + (bd if dy > 0 else (min(0, dy)))
            for value, low, high in ((zx, 0, wide - zw), (zy, 0, deep - zd)):
                model.add(value >= low).only_enforce_if(turn)
                model.add(value <= high).only_enforce_if(turn)
            zones.append((k, turn, zx, zy, zw, zd))
            whole_x, whole_y = (x if dx >= 0 else zx), (y if dy >= 0 else zy)
            whole_w, whole_d = bw + (zw if dx else 0), bd + (zd if dy else 0)
            _mark(model, cover, (whole_x, whole_y, whole_w, whole_d), turn)
    model.add_no_overlap_2d(bodies_x, bodies_y)
    for k, turn, zx, zy, zw, zd in zones:
        sx = model.new_optional_fixed_size_interval_var(zx, zw, turn, "")
        sy = model.new_optional_fixed_size_interval_var(zy, zd, turn, "")
        for j in range(len(things)):
            if j != k:
                at = slice(4 * j, 4 * j + 4)
                for bx, by in zip(bodies_x[at], bodies_y[at], strict=True):
                    model.add_no_overlap_2d([sx, bx], [sy, by])
    model.minimize(sum(cover.values()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    begun = time.perf_counter()
    status = solver.solve(model)
    took = time.perf_counter() - begun
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return "nothing", solver.best_objective_bound, took
    return int(solver.objective_value), solver.best_objective_bound, took


def _mark(model, cover, rectangle, turn) -> None:
    """Cells under a rectangle are covered: by rows and columns it spans."""
    x, y, w, d = rectangle
    wide, deep = max(i for i, _ in cover) + 1, max(j for _, j in cover) + 1
    columns = _span(model, x, w, wide, turn)
    rows = _span(model, y, d, deep, turn)
    for (i, j), cell in cover.items():
        model.add_bool_or([cell, ~columns[i], ~rows[j]])


def _span(model, start, size, count, turn):
    """One truth a line: whether it lies in start..start + size, when the turn holds."""
    inside = []
    for i in range(count):
        one, low, high = (model.new_bool_var("") for _ in range(3))
        model.add(start <= i).only_enforce_if(low)
        model.add(start >= i + 1).only_enforce_if(~low)
        model.add(start + size >= i + 1).only_enforce_if(high)
        model.add(start + size <= i).only_enforce_if(~high)
        model.add_bool_or([~turn, ~low, ~high, one])
        inside.append(one)
    return inside


def main() -> None:
    """Run all three."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cpsat", type=float, default=40.0, help="seconds for the solver")
    seconds = parser.parse_args().cpsat
    speed()
    over_time()
    against_solver(seconds)


if __name__ == "__main__":
    main()
