"""Sampling a 40-item room against a loop that meets each world alone with a collision library.

    python -m tests.bench --only sampling_against_loop [--long]

The loop places each world by itself, builds its boxes and asks coal for the distance of the near
pairs of bodies, which are all that any size moves; ours looks at every finding of every check.
Both place with the same code, so the first line says mostly what placing all worlds at once saves.
The loop is timed on fewer worlds and scaled up by the world, for each costs it the same. A second
line holds the gaps alone against the library's calls alone, boxes built beforehand.
"""

from __future__ import annotations

import numpy as np

from massing.checks.run import check_scheme
from massing.geometry.gaps.compiled import signed_gaps_compiled
from massing.geometry.gaps.signed import candidate_pairs
from massing.geometry.tolerance import TOUCH
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.sureness.sampling import sample
from massing.survey.values import Values
from tests.bench.record import Count, Measured, Times, side_by_side

__all__ = ["forty_items", "measure"]

SEED = 1
TURN = np.eye(3)


def forty_items(seed: int = 0) -> str:
    """A project of 40 boxes in a room of 5.2 by 3.4 m, in rows a few mm apart, sizes ±."""
    random = np.random.default_rng(seed)
    lines = [
        "massing: 1",
        "project: forty boxes",
        "room:",
        "  size: 5200 ±15 x 3400 ±15",
        "  ceiling: [{slopes: {south: 1950 ±10, north: 2600 ±10}}]",
        "items:",
    ]
    placed = []
    for row in range(4):
        x, side = 10.0, ("south", "north")[row % 2]
        for column in range(10):
            width, depth = (int(v) for v in random.integers([380, 300], [480, 550]))
            tall = int(random.integers(500, 1500))
            name = f"box {row * 10 + column + 1}"
            lines.append(f"  {name}: {{body: {width} ±3 x {depth} ±3 x {tall} ±3}}")
            if row < 2:
                placed.append(f"    - {{item: {name}, against: {side}, along: {x:.0f}}}")
            else:
                y = (row - 1) * 950
                placed.append(f"    - {{item: {name}, at: [{x:.0f}, {y}], facing: north}}")
            x += width + float(random.integers(0, 12))
    return "\n".join([*lines, "schemes:", "  all:", *placed, ""])


def _boxes(layout) -> list[tuple[np.ndarray, np.ndarray]]:  # type: ignore[no-untyped-def]
    """Sides and middle of every item of a layout, which are all square to the axes."""
    return [(item.high[0] - item.low[0], (item.low[0] + item.high[0]) / 2) for item in layout.items]


def _built(boxes: list[tuple[np.ndarray, np.ndarray]]):  # type: ignore[no-untyped-def]
    import coal

    return [(coal.Box(*side), coal.Transform3s(TURN, middle)) for side, middle in boxes]


def _asked(bodies, pairs) -> list[float]:  # type: ignore[no-untyped-def]
    import coal

    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.enable_signed_distance = True
    found = []
    for i, j in pairs:
        result.clear()
        (a, at_a), (b, at_b) = bodies[i], bodies[j]
        found.append(coal.distance(a, at_a, b, at_b, request, result))
    return found


def measure(long: bool) -> list[Measured]:
    """Whole sampling against the whole loop, and gaps alone against calls alone."""
    samples, few = (10_000, 100) if long else (4000, 40)
    answer = check_scheme(parse_project(forty_items()), nudges=False)
    solids = [part.solid for item in answer.layout.items for part in item.parts]
    pairs = candidate_pairs(solids, 60.0)
    half = np.array([m.half_width for m in answer.measures])
    # The very worlds that the first of ours are.
    shifts = np.random.default_rng((SEED, 0)).uniform(-1.0, 1.0, (few, len(half))) * half
    values = [Values.shifted(answer.measures, row[None]) for row in shifts]
    project, name = answer.project, answer.layout.name

    def loop() -> None:
        for each in values:
            _asked(_built(_boxes(place(project, name, each))), pairs)

    def calls() -> list[list[float]]:
        return [_asked(each, pairs) for each in bodies]

    whole = _scaled(lambda: sample(answer, samples, seed=SEED), loop, samples / few)
    bodies = [_built(_boxes(place(project, name, each))) for each in values]
    theirs = np.array(calls())
    asked, alike = _alike(answer, sample(answer, few, seed=SEED), pairs, theirs)

    # World by world the very same boxes, so that the gaps must agree.
    drawn = np.random.default_rng(SEED).uniform(-1.0, 1.0, (samples, len(half))) * half
    drawn[:few] = shifts
    worlds = place(project, name, Values.shifted(answer.measures, drawn))
    many = [part.solid for item in worlds.items for part in item.parts]
    ours = signed_gaps_compiled(many, pairs).gap[:few]
    agree = int((np.abs(theirs - ours) <= 1e-6).sum())
    alone = _scaled(lambda: signed_gaps_compiled(many, pairs), calls, samples / few)
    placing = whole.peer_ms / samples - alone.peer_ms / samples
    size = f"{samples:,} worlds of 40 items"
    return [
        Measured(
            f"sampling {size}, every finding",
            "coal, a loop of placing and asking",
            whole,
            100.0,
            (Count("chances alike", alike, asked),),
            note=f"the loop scaled from {few} worlds; of each {whole.peer_ms / samples:.2f} ms "
            f"{placing:.2f} are for placing, which is ours in both",
        ),
        Measured(
            f"gaps in {size}, {len(pairs)} pairs",
            "coal, distance alone, boxes built",
            alone,
            None,
            (Count("gaps alike", agree, theirs.size),),
            note=f"scaled from {few} worlds",
        ),
    ]


def _alike(answer, found, pairs, gaps) -> tuple[int, int]:  # type: ignore[no-untyped-def]
    """Findings of two bodies, and how many have the chance of the loop's gaps in those worlds."""
    names = [item.name for item in answer.layout.items]
    column = {frozenset((names[i], names[j])): k for k, (i, j) in enumerate(pairs.tolist())}
    rows = [row for row in found if row.finding.check == "bodies"]
    chances = [
        float((gaps[:, column[frozenset(row.finding.items)]] >= -TOUCH).mean()) for row in rows
    ]
    alike = sum(abs(row.chance - each) < 1e-12 for row, each in zip(rows, chances, strict=True))
    return len(rows), alike


def _scaled(ours, loop, scale: float) -> Times:  # type: ignore[no-untyped-def]
    times = side_by_side(ours, loop, runs=5)
    return Times(times.ours_ms, times.peer_ms * scale, times.ratio * scale)
