"""Published packings and cutting values: found, proved, and taken by the checks as touching."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise, permutations, product

import pytest

from massing.arrange.model import compile_scheme
from massing.arrange.search import search
from massing.checks.run import check_scheme
from massing.geometry.space.packing import Budget, Piece, packings
from massing.geometry.space.packing_most import most
from massing.voids.tally import tally
from tests.arrange.rooms import project
from tests.geometry.cutting import best_value

# The perfect squared square of least order: side 112, 21 squares, rows from the top.
# Source: OEIS A014530, https://oeis.org/A014530 (Duijvestijn 1978).
SQUARED = "(50,35,27)(8,19)(15,17,11)(6,24)(29,25,9,2)(7,18)(16)(42)(4,37)(33)"


def _squares(code: str, side: int) -> list[tuple[int, int, int]]:
    """Corner and side of each square: a row fills the highest gap from its left end on."""
    line = [0] * side
    placed = []
    for row in code.strip("()").split(")("):
        at = line.index(min(line))
        for size in map(int, row.split(",")):
            placed.append((at, line[at], size))
            line[at : at + size] = [line[at] + size] * size
            at += size
    assert line == [side] * side
    return placed


def _cell_room(squares, scale, side):
    items = {
        f"square {s}": f"body: {s * scale} x {s * scale} x 900, weight: 1" for _, _, s in squares
    }
    placed = [
        f"item: square {s}, at: [{x * scale}, {y * scale}], facing: north" for x, y, s in squares
    ]
    return items, placed, f"{side * scale} x {side * scale}"


def test_squared_square_has_no_collision_and_no_floor_left():
    """21 squares fill the square: every side touches, nothing collides, nothing is left over."""
    squares = _squares(SQUARED, 112)
    items, placed, size = _cell_room(squares, 50, 112)
    made = project(items, placed, size=size, doors="")

    answer = check_scheme(made, "as found", nudges=False)

    assert sorted(s for _, _, s in squares) == sorted({s for _, _, s in squares})
    assert [f for f in answer.conflicts if f.check in {"bodies", "walls"}] == []
    assert tally(answer.layout).standing_m2 == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("gone", [33, 16, 8])
def test_one_square_taken_out_goes_back_only_there(gone):
    """With 20 squares where they belong the search finds the one place left for the last."""
    squares = _squares(SQUARED, 112)
    items, placed, size = _cell_room(squares, 50, 112)
    words = [row if f"square {gone}," in row else f"{row}, stays: true" for row in placed]
    moved = [
        f"item: square {gone}, at: [0, 0]" if f"square {gone}," in row else row for row in words
    ]
    model = compile_scheme(project(items, moved, size=size, doors=""), "as found")

    best = search(model, restarts=8, moves=20_000).found[0]

    assert best.hard == 0.0
    (k,) = map(int, model.free)
    x, y, _ = next(square for square in squares if square[2] == gone)
    low = [min(v) for v in zip(*_corners(model, best, k), strict=True)]
    assert low == pytest.approx([x * 50.0, y * 50.0], abs=0.01)


def _corners(model, found, k):
    x0, y0, _, x1, y1, _ = model.fixed["bounds"][0][k]
    x, y, c, s, _ = found.pose[k]
    return [(x + c * u - s * v, y + s * u + c * v) for u in (x0, x1) for v in (y0, y1)]


@lru_cache
def _guillotine(wide: int, deep: int) -> int:
    """The most 2 x 3 tiles from a sheet by cuts from edge to edge, every cut tried."""
    if min(wide, deep) < 2 or max(wide, deep) < 3:
        return 0
    best = 1
    for at in range(1, wide):
        best = max(best, _guillotine(at, deep) + _guillotine(wide - at, deep))
    for at in range(1, deep):
        best = max(best, _guillotine(wide, at) + _guillotine(wide, deep - at))
    return best


def test_layout_beats_cuts_from_edge_to_edge():
    """2 x 3 tiles in 5 x 5: cutting gives three, a packing four, and so does the search.

    Both counted by trying everything.
    """
    items = {f"bench {k}": "body: 1500 x 1000 x 900, weight: 60" for k in range(4)}
    made = project(items, [f"item: {n}, at: [0, 0]" for n in items], size="2500 x 2500", doors="")

    assert _guillotine(5, 5) == 3
    assert most(Piece((3, 2, 1), flat=True), (5, 5, 1)).count == 4
    assert search(compile_scheme(made, "as found"), restarts=6, moves=20_000).found[0].hard == 0.0


@lru_cache
def _bricks() -> list[frozenset[tuple[tuple[int, ...], tuple[int, ...]]]]:
    """Every way of 27 bricks of 4 x 5 x 6 in a cube of 15, three to each line of the three ways.

    A line of three such bricks fits in 15 only as one 4, one 5 and one 6, so each brick's corner
    is known from those before it.
    """
    order = list(product(range(3), repeat=3))
    size: dict[tuple[int, ...], tuple[int, ...]] = {}
    corner: dict[tuple[int, ...], tuple[int, ...]] = {}
    found = []

    def before(cell, axis):
        return [(*cell[:axis], k, *cell[axis + 1 :]) for k in range(cell[axis])]

    def go(n):
        if n == len(order):
            found.append(frozenset((corner[c], size[c]) for c in order))
            return
        cell = order[n]
        at = tuple(sum(size[c][axis] for c in before(cell, axis)) for axis in range(3))
        for way in permutations((4, 5, 6)):
            if any(size[c][axis] == way[axis] for axis in range(3) for c in before(cell, axis)):
                continue
            if any(
                all(a < d + t and d < a + s for a, s, d, t in zip(at, way, corner[c], size[c]))  # noqa: B905
                for c in order[:n]
            ):
                continue
            size[cell], corner[cell] = way, at
            go(n + 1)
            del size[cell], corner[cell]

    go(0)
    return found


def _images(found, side):
    for order in permutations(range(3)):
        for flips in product((False, True), repeat=3):
            yield frozenset(
                (
                    tuple(
                        side - at[a] - way[a] if flip else at[a]
                        for a, flip in zip(order, flips, strict=True)
                    ),
                    tuple(way[a] for a in order),
                )
                for at, way in found
            )


def test_hoffman_packing_has_21_solutions():
    """27 bricks of 4 x 5 x 6 go into a cube of 15 in 21 ways but for its symmetries.

    Hoffman's packing puzzle: https://en.wikipedia.org/wiki/Hoffman%27s_packing_puzzle
    """
    found = _bricks()
    left, classes = set(found), 0
    while left:
        left -= set(_images(next(iter(left)), 15))
        classes += 1

    assert classes == 21
    assert 15**3 - 27 * 4 * 5 * 6 == 135
    for one in found[:21]:
        cells = [
            cell
            for at, way in one
            for cell in product(*(range(a, a + s) for a, s in zip(at, way, strict=True)))
        ]
        assert len(one) == 27
        assert len(set(cells)) == len(cells) == 3240
        assert all(0 <= v < 15 for cell in cells for v in cell)


def test_hoffman_bricks_stand_in_a_room():
    """The lowest nine of a packing, as chests in a room of 1500, touch and do not collide."""
    bricks = sorted(min(_bricks(), key=sorted))
    low = [(at, way) for at, way in bricks if at[2] == 0]
    items = {
        f"chest {k}": f"body: {w * 100} x {d * 100} x {h * 100}"
        for k, (_, (w, d, h)) in enumerate(low)
    }
    placed = [
        f"item: chest {k}, at: [{at[0] * 100}, {at[1] * 100}], facing: south, turn: 180"
        for k, (at, _) in enumerate(low)
    ]
    made = project(items, placed, size="1500 x 1500", doors="")

    answer = check_scheme(made, "as found", nudges=False)

    assert len(low) == 9
    assert [f for f in answer.conflicts if f.check in {"bodies", "walls"}] == []


# Two-dimensional cutting without turning, no more of a piece than there are: sheet, the value that
# is best, whether it is proved here, then length, width, number and worth of each piece.
# Instances: J. E. Beasley, "An exact two-dimensional non-guillotine cutting tree search
# procedure", Operations Research 33, 1985; OR-Library, file ngcutap. Values: the packing library
# of TU Braunschweig.
NGCUT = [
    (10, 10, 164, True, "3 7 2 35,8 2 2 40,10 2 1 27,5 4 3 23,2 9 2 43"),
    (10, 10, 230, True, "1 10 3 28,5 3 2 40,9 3 3 63,6 1 3 13,3 8 3 31,4 1 1 10,7 3 2 44"),
    (
        10,
        10,
        247,
        True,
        (
            "3 2 2 7,7 2 3 20,4 5 2 60,4 1 2 9,1 10 1 14,8 4 1 79,4 2 2 11,3 7 3 52,6 2 3 13"
            ",9 1 2 21"
        ),
    ),
    (15, 10, 268, True, "15 2 2 34,7 3 1 27,9 1 1 14,8 3 1 71,12 2 2 61"),
    (
        15,
        10,
        358,
        True,
        "10 3 2 34,9 3 1 48,12 2 3 72,11 3 1 91,12 3 3 37,11 1 3 15,2 10 1 36",
    ),
    (
        15,
        10,
        289,
        False,
        (
            "2 9 1 50,10 2 3 29,2 4 1 11,2 8 2 30,3 8 1 46,4 1 1 7,6 4 3 32,10 3 1 74,11 2 1 48"
            ",4 5 1 32"
        ),
    ),
    (20, 20, 430, True, "1 9 3 26,16 3 1 113,18 3 1 127,20 2 1 104,3 1 2 4"),
    (
        20,
        20,
        834,
        False,
        "15 3 1 110,6 6 3 93,13 1 2 38,8 7 2 144,18 5 3 185,12 4 1 78,8 3 1 25",
    ),
    (
        20,
        20,
        924,
        True,
        (
            "14 2 1 45,1 5 1 10,20 4 2 139,12 3 3 92,11 8 2 145,11 6 2 123,7 9 1 166,17 5 1 252"
            ",7 14 2 161,1 7 3 12"
        ),
    ),
    (30, 30, 1452, True, "1 30 3 75,25 7 1 279,27 9 3 409,30 2 3 65,26 7 3 235"),
]


@pytest.mark.parametrize(("wide", "deep", "value", "proved", "rows"), NGCUT)
def test_cutting_values(wide, deep, value, proved, rows):
    """The best value of each sheet is found, and where the budget is enough proved."""
    numbers = [int(v) for v in rows.replace(",", " ").split()]
    kinds = list(zip(*(iter(numbers),) * 4, strict=True))
    pieces = [Piece((a, b, 1), count, turns=False) for a, b, count, _ in kinds]
    worth = [kind[3] for kind in kinds]

    best = best_value(pieces, worth, (wide, deep, 1), nodes=60_000 if proved else 20_000)

    assert best.value == value
    assert best.value == sum(worth[n] for n, _, _ in best.packing)
    assert (best.bound == value) if proved else (best.bound >= value)
    cells = [
        cell
        for _, at, way in best.packing
        for cell in product(*(range(a, a + s) for a, s in zip(at, way, strict=True)))
    ]
    assert len(set(cells)) == len(cells)
    assert all(x < wide and y < deep for x, y, _ in cells)


def test_budget_ends_a_search_and_says_so():
    """Much empty space takes for ever: the search stops where it is told to, without a claim."""
    budget = Budget(500)

    assert next(packings([Piece((7, 7, 1), 5)], (20, 20, 1), budget=budget), None) is None
    assert budget.ran_out
    assert budget.nodes == 0


def test_budget_that_is_enough_is_not_said_to_run_out():
    """An end that is one leaves the budget as a proof needs it."""
    budget = Budget(100_000)

    assert next(packings([Piece((3, 2, 1), 4)], (5, 5, 1), budget=budget), None) is not None
    assert next(packings([Piece((4, 4, 1), 2)], (7, 4, 1), budget=budget), None) is None
    assert not budget.ran_out


def test_rows_of_the_squared_square_are_rows():
    """The squares of a row stand side by side, as the code says."""
    placed = {size: (x, y) for x, y, size in _squares(SQUARED, 112)}
    for row in SQUARED.strip("()").split(")("):
        for one, other in pairwise(map(int, row.split(","))):
            assert placed[other] == (placed[one][0] + one, placed[one][1])
