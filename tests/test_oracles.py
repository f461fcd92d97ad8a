"""Every slow oracle catches a planted fault: the ones shown nowhere else, and a count of all."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from massing.arrange.plan_compiled import area_of, clipped
from tests.oracles import clear_travel, polygon_gap_by_minkowski
from tests.oracles_corners import tilt_up

TESTS = Path(__file__).parent
TELLS = re.compile(r"plant|sees|notice|caught|misses", re.IGNORECASE)


def oracles():
    """The name and source of every oracle shared by several tests."""
    found = {}
    for path in sorted(TESTS.glob("oracles*.py")):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef):
                found[node.name] = ast.unparse(node)
    return found


def functions_that_tell():
    """The source of each test that plants a fault, with the helpers of its file it calls."""
    for path in sorted(TESTS.rglob("test_*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        every = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
        sources = {n.name: ast.unparse(n) for n in every}
        for node in every:
            if node.name.startswith("test_") and TELLS.search(
                f"{node.name} {ast.get_docstring(node) or ''}"
            ):
                said = sources[node.name]
                called = [sources[name] for name in sources if re.search(rf"\b{name}\(", said)]
                yield "\n".join([said, *called])


def test_every_shared_oracle_is_shown_to_bite():
    """Each is used in a test that plants a fault, or by an oracle that is."""
    told, every = "\n".join(functions_that_tell()), oracles()
    shown: set[str] = set()
    while more := {name for name in every if name not in shown and re.search(rf"\b{name}\b", told)}:
        shown |= more
        told += "\n".join(every[name] for name in more)
    assert sorted(set(every) - shown) == []


def turned(rng):
    """A rectangle of some size, place and turn."""
    (w, d), turn = rng.uniform(50, 900, 2), rng.uniform(0, 6)
    own = np.array([[0, 0], [w, 0], [w, d], [0, d]])
    c, s = np.cos(turn), np.sin(turn)
    return own @ np.array([[c, s], [-s, c]]) + rng.uniform(-900, 900, 2)


def best_axis(one, other):
    """The classical mistake: the best separating axis taken for the distance."""
    best = -np.inf
    for a, b in ((one, other), (other, one)):
        for k in range(4):
            x, y = a[(k + 1) % 4] - a[k]
            n = np.array([y, -x]) / np.hypot(x, y)
            best = max(best, float((b @ n).min() - (a @ n).max()))
    return best


def test_the_plan_gap_oracle_sees_a_planted_fault():
    """Corner to corner, the best axis is short of the distance by centimetres."""
    rng = np.random.default_rng(5)
    off = []
    for _ in range(60):
        one, other = turned(rng), turned(rng)
        off.append(polygon_gap_by_minkowski(one, other) - best_axis(one, other))
    assert max(off) > 10.0
    assert min(off) > -1e-6


def test_the_travel_oracle_sees_a_planted_fault():
    """Bounding boxes taken for the bodies: too far by centimetres for a corner-on square."""
    cube = np.array([[x, y, z] for x in (0, 100) for y in (0, 100) for z in (0, 100)], dtype=float)
    c = np.sqrt(0.5)
    spun = (cube - 50) @ np.array([[c, c, 0], [-c, c, 0], [0, 0, 1]]) + [50, 50, 50]
    shift = np.array([80.0, 80.0, 0.0])
    way = np.array([c, c, 0.0])
    low, high = spun.min(axis=0), spun.max(axis=0)
    boxed = np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (0, 100)]
    )
    right = clear_travel(spun, spun + shift, way)
    wrong = clear_travel(boxed, boxed + shift, way)
    assert right == pytest.approx(100 + 80 / c)
    assert wrong > right + 10.0


def test_the_polygon_library_sees_planted_faults():
    """Planted in the compiled plan polygons: a corner lost, a polygon turned the other way."""
    rng = np.random.default_rng(7)
    wrong = {"lost": 0.0, "turned": 0.0}
    for _ in range(60):
        a, b = turned(rng), turned(rng)
        shared = Polygon(a).intersection(Polygon(b))
        for fault, (ring, n) in {"lost": (b[:3].copy(), 3), "turned": (b[::-1].copy(), 4)}.items():
            one, two = np.zeros((40, 2)), np.zeros((40, 2))
            found = clipped(a, 4, ring, n, one, two)
            area = area_of(one, found) if found >= 3 else 0.0
            wrong[fault] = max(wrong[fault], abs(area - shared.area))
    assert min(wrong.values()) > 100.0


@pytest.mark.parametrize("fault", ["the foot's other corner", "no slope", "half the turn"])
def test_the_dense_turn_sees_planted_faults(fault):
    """A cabinet tilted up under a slope, the dense least against one mistake in the question."""
    h, d, stand, ceiling = 2000.0, 600.0, 100.0, [[2300.0, -0.2]]
    turn = np.linspace(0, np.pi / 2 if fault != "half the turn" else 0.05, 5001)
    corners = [(-d, 0.0), (0.0, 0.0), (0.0, h), (-d, h)]
    if fault == "the foot's other corner":
        corners = corners[:3]
    slope = 0.0 if fault == "no slope" else -0.2
    dense = np.inf
    for x, z in corners:
        at = stand + d + x * np.cos(turn) + z * np.sin(turn)
        up = -x * np.sin(turn) + z * np.cos(turn)
        dense = min(dense, float((2300.0 + slope * at - up).min()))
    assert abs(tilt_up(h, d, stand, ceiling).gap - dense) > 1.0
