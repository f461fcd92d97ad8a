"""Is the search as good as a constraint solver, and how much sooner: one scene given to both.

`python -m tests.bench --only arrange_quality`. Twelve things with the floor each is used from,
in a room of 4800 x 2700: bodies and zones inside, no body on another or on another's zone, zones
may share; the least floor covered wins, in cells of 100 mm. Both take the same list of sizes and
are counted by the same rule, the union of bodies and zones. The solver places on the 100 mm grid
and has two workers; the search places on 5 mm and has one core. The short form gives the solver
10 s, the long form 40 s.
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from massing.arrange.model import Model, compile_scheme
from massing.arrange.search import search
from massing.project.read import parse_project, read_project
from tests.bench.record import Measured, Times

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
WIDE, DEEP = 4800, 2700
SHORT, LONG = 10.0, 40.0  # s, for the solver
MOVES = 2_000_000  # about a second of one core for twelve things
_SHELL = "ceiling: [{flat: 2400}], floor: [{level: 0}]"

Thing: TypeAlias = tuple[int, int, int]
"""Cells wide, deep, and of zone before it."""


def things(count: int = 12, seed: int = 5) -> list[Thing]:
    """The one scene both are given."""
    rows = np.random.default_rng(seed).integers((4, 3, 3), (10, 7, 7), size=(count, 3))
    return [(int(w), int(d), int(z)) for w, d, z in rows]


def model_of(scene: list[Thing]) -> Model:
    """The scene as a project: the floor of bodies and zones is what should be little.

    The room of twelve things is 4800 x 2700; for more or fewer it is as much larger or smaller.
    """
    items = [
        f"  thing {k}: {{body: {w * 100} x {d * 100} x 900, zone: {{front: {z * 100}}}}}"
        for k, (w, d, z) in enumerate(scene)
    ]
    model = _model(items, len(scene), _size(len(scene)))
    fixed = model.fixed
    for k in range(len(scene)):
        first, zone = int(fixed["feet_at"][0][k]), int(fixed["zone_at"][0][k])
        fixed["feet"][0][first, 1] = fixed["zones"][0][zone, 1]
    return model


def room(count: int, seed: int) -> Model:
    """A plain room with so many boxes, half of them used from the front; a third of it filled."""
    rng = np.random.default_rng(seed)
    items = []
    for k in range(count):
        w, d = (int(v) * 100 for v in rng.integers((4, 3), (10, 7)))
        zone = ", zone: {front: 600, headroom: 1900}" if k % 2 else ""
        items.append(f"  thing {k}: {{body: {w} x {d} x {int(rng.integers(6, 19)) * 100}{zone}}}")
    return _model(items, count, _size(max(count, 12)))


def _size(count: int) -> tuple[int, int]:
    grow = (count / 12) ** 0.5
    return (round(WIDE * grow / 100) * 100, round(DEEP * grow / 100) * 100)


def _model(items: list[str], count: int, size: tuple[int, int]) -> Model:
    """A room without doors whose aim is standing floor alone."""
    placed = [f"    - {{item: thing {k}, at: [100, 100]}}" for k in range(count)]
    lines = ["massing: 1", "project: bench", f"room: {{size: {size[0]} x {size[1]}, {_SHELL}}}"]
    text = "\n".join([*lines, "items:", *items, "schemes:", "  as found:", *placed])
    model = compile_scheme(parse_project(text), "as found")
    model.fixed["loose"][0][:] = 0.0
    return model


def covered(model: Model, pose: np.ndarray) -> float:
    """Cells (100 mm squares) under bodies and zones, exact union."""
    from shapely import Polygon, union_all

    rings = []
    for k in range(len(model.units)):
        first = int(model.fixed["feet_at"][0][k])
        x0, y0, x1, y1, _ = model.fixed["feet"][0][first]
        own = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        x, y, c, s, _ = pose[k]
        ring = np.stack([x + c * own[:, 0] - s * own[:, 1], y + s * own[:, 0] + c * own[:, 1]], 1)
        rings.append(Polygon(ring))
    return round(float(union_all(rings).area) / 1e4, 2)


def best_of(model: Model, seed: int, moves: int = MOVES) -> tuple[float, float]:
    """Least cells of ten restarts, and the processor seconds they took."""
    begun = time.process_time()
    clear = search(model, seed=seed, restarts=10, moves=moves // 10).clear
    took = time.process_time() - begun
    return min((covered(model, one.pose) for one in clear), default=float("inf")), took


def time_to(model: Model, value: float, seed: int, most: float = 20.0) -> float:
    """Processor seconds until some restart is as good as a value; the cap where none is."""
    begun = time.process_time()
    for number in range(10_000):
        clear = search(model, seed=1000 * seed + number, restarts=1, moves=50_000).clear
        took = time.process_time() - begun
        if clear and covered(model, clear[0].pose) <= value:
            return took
        if took > most:
            break
    return most


def speed(*, long: bool) -> list[Measured]:
    """A million moves of one core against the second they are asked to take."""
    rooms = [(f"{n} items", room(n, 1)) for n in (5, 12, 20, 40)]
    made = read_project(EXAMPLES / "boathouse.yaml")
    rooms.append(("the boathouse", compile_scheme(made, "first try")))
    found = []
    for name, model in rooms:
        search(model, restarts=1, moves=1000)
        each = []
        for _ in range(5 if long else 3):
            begun = time.process_time()
            tried = search(model, restarts=3, moves=100_000).moves
            each.append((time.process_time() - begun) / tried * 1e9)
        ms = min(each)
        times = Times(ms, 1000.0, 1000.0 / ms)
        note = f"{1e9 / ms:,.0f} moves a processor second, best of {len(each)}"
        words = f"a million moves, {name}"
        found.append(Measured(words, "a second, as asked", times, 1.0, note=note))
    return found


def against_solver(*, long: bool) -> list[Measured]:
    """As good as the solver within a second of one core, and how much sooner as good."""
    seconds = LONG if long else SHORT
    scene = things()
    answer = solve(scene, seconds)
    model = model_of(scene)
    search(model, restarts=1, moves=1000)
    runs = [best_of(model, seed) for seed in range(10)]
    ours = statistics.median(cells for cells, _ in runs)
    took = statistics.median(cpu for _, cpu in runs)
    told = f"{ours:g} cells (median of 10 seeds, {min(c for c, _ in runs):g} at best)"
    if answer is None or answer[0] is None:
        peer = "no solver installed" if answer is None else f"solver: nothing in {seconds:g} s"
        return [Measured("12 things with zones", peer, None, note=told)]
    value, bound, better = answer
    note = f"{told} in {took:.2f} s; {value:g} (bound {bound:g}) by the solver in {seconds:g} s"
    as_good = Measured(
        "12 things, as good within a second",
        f"constraint solver, {seconds:g} s, 2 workers",
        Times(ours, value, value / ours),
        1.0,
        note=f"cells, not ms: {note}",
    )
    came = next(when for when, cells in better if cells == value)
    each = [time_to(model, value, seed) for seed in range(10 if long else 5)]
    mine = statistics.median(each)
    sooner = Measured(
        "12 things, to the solver's best",
        f"constraint solver, {seconds:g} s, 2 workers",
        Times(mine * 1e3, came * 1e3, came / mine),
        20.0,
        note=f"median of {len(each)} seeds, processor s; the solver's wall s to its last answer",
    )
    return [as_good, sooner]


def measure(long: bool) -> list[Measured]:
    """Speed, quality against a solver, and speed to equal quality."""
    return [*speed(long=long), *against_solver(long=long)]


def solve(
    scene: list[Thing], seconds: float
) -> tuple[float | None, float, list[tuple[float, float]]] | None:
    """Rectangles and zones on the grid, in one of four turns each; fewest cells covered.

    The least number of cells, the bound, and when (wall s) each better answer came; None without
    the solver installed.
    """
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        return None
    model = cp_model.CpModel()
    _state(model, scene, (WIDE // 100, DEEP // 100))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    begun = time.perf_counter()
    better: list[tuple[float, float]] = []

    class Watch(cp_model.CpSolverSolutionCallback):  # type: ignore[misc, name-defined]
        def on_solution_callback(self) -> None:
            better.append((time.perf_counter() - begun, self.objective_value))

    status = solver.solve(model, Watch())
    bound = solver.best_objective_bound
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, bound, better
    return solver.objective_value, bound, better


def _state(model: Any, scene: list[Thing], grid: tuple[int, int]) -> None:
    """Say the scene to the solver: each thing is a body with its zone, moved and turned as one."""
    wide, deep = grid
    cover = {(i, j): model.new_bool_var(f"c{i},{j}") for i in range(wide) for j in range(deep)}
    bodies: list[list[tuple[Any, Any]]] = []
    zones: list[list[tuple[Any, Any]]] = []
    for k, (w, d, z) in enumerate(scene):
        turns = [model.new_bool_var(f"t{k},{q}") for q in range(4)]
        model.add_exactly_one(turns)
        x, y = model.new_int_var(0, wide, f"x{k}"), model.new_int_var(0, deep, f"y{k}")
        wholes = [(w, d + z), (d + z, w), (w, d + z), (d + z, w)]
        over = [sum(whole[e] * turn for whole, turn in zip(wholes, turns)) for e in (0, 1)]  # noqa: B905
        model.add(x + over[0] <= wide)
        model.add(y + over[1] <= deep)
        sizes = [(w, d), (d, w), (w, d), (d, w)]
        fronts = [(w, z), (z, w), (w, z), (z, w)]
        bodies.append(_boxes(model, (x, y), turns, [(0, z), (0, 0), (0, 0), (z, 0)], sizes))
        zones.append(_boxes(model, (x, y), turns, [(0, 0), (d, 0), (0, d), (0, 0)], fronts))
        columns, rows = _span(model, x, over[0], wide), _span(model, y, over[1], deep)
        for (i, j), cell in cover.items():
            model.add_bool_or([cell, ~columns[i], ~rows[j]])
    # Bodies keep apart anyway, so each zone may be put into one constraint with all of the others.
    for k, own in enumerate(zones):
        kept = [*own, *(box for n, others in enumerate(bodies) if n != k for box in others)]
        model.add_no_overlap_2d([x for x, _ in kept], [y for _, y in kept])
    every = [box for boxes in bodies for box in boxes]
    model.add_no_overlap_2d([x for x, _ in every], [y for _, y in every])
    model.minimize(sum(cover.values()))


def _boxes(
    model: Any,
    at: tuple[Any, Any],
    turns: list[Any],
    offsets: list[tuple[int, int]],
    sizes: list[tuple[int, int]],
) -> list[tuple[Any, Any]]:
    """A rectangle for each turn, there when the turn is taken."""
    make = model.new_optional_fixed_size_interval_var
    return [
        tuple(make(at[e] + off[e], size[e], turn, "") for e in (0, 1))
        for turn, off, size in zip(turns, offsets, sizes, strict=True)
    ]


def _span(model: Any, start: Any, size: Any, count: int) -> list[Any]:
    """One truth a line: whether it lies in start..start + size."""
    inside = []
    for i in range(count):
        one, low, high = (model.new_bool_var("") for _ in range(3))
        model.add(start <= i).only_enforce_if(low)
        model.add(start >= i + 1).only_enforce_if(~low)
        model.add(start + size >= i + 1).only_enforce_if(high)
        model.add(start + size <= i).only_enforce_if(~high)
        model.add_bool_or([~low, ~high, one])
        inside.append(one)
    return inside
