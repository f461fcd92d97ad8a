"""Tests for trying every packing: published dissections, puzzles and impossible boxes."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from massing.geometry.space.packing import Piece, packings, sums
from massing.geometry.space.packing_most import balance_bound, most


def _check(found, pieces, box):
    """Every piece inside, none over another, each as many times as asked."""
    taken = set()
    counts = [0] * len(pieces)
    for number, corner, size in found:
        assert tuple(sorted(size)) == tuple(sorted(pieces[number].size))
        cells = set(product(*(range(c, c + s) for c, s in zip(corner, size, strict=True))))
        assert all(0 <= v < n for cell in cells for v, n in zip(cell, box, strict=True))
        assert not cells & taken
        taken |= cells
        counts[number] += 1
    assert counts == [piece.count for piece in pieces]


def _images(found, box):
    """A packing of a cube under its 48 symmetries, each as a set of corners and sizes."""
    for order in permutations(range(3)):
        for flips in product((False, True), repeat=3):
            made = []
            for number, corner, size in found:
                c = [corner[k] for k in order]
                s = [size[k] for k in order]
                c = [b - v - w if f else v for f, v, w, b in zip(flips, c, s, box, strict=True)]
                made.append((number, tuple(c), tuple(s)))
            yield frozenset(made)


def test_squared_rectangle_33_by_32():
    """Nine unlike squares fill 33 x 32 in one way but for its four mirror images.

    The rectangle of Z. Moron, 1925 (from memory).
    """
    sides = (18, 15, 14, 10, 9, 8, 7, 4, 1)
    pieces = [Piece((s, s, 1), turns=False) for s in sides]

    found = list(packings(pieces, (33, 32, 1)))

    assert len(found) == 4
    for one in found:
        _check(one, pieces, (33, 32, 1))


def test_one_row_less_does_not_fit():
    """The nine squares need every cell: in 33 x 31 there is not even the floor for them."""
    sides = (18, 15, 14, 10, 9, 8, 7, 4, 1)
    pieces = [Piece((s, s, 1), turns=False) for s in sides]

    assert next(packings(pieces, (33, 31, 1)), None) is None


def test_right_area_wrong_shape():
    """The same 1056 cells as 44 x 24 hold no packing of the nine squares: every way was tried."""
    sides = (18, 15, 14, 10, 9, 8, 7, 4, 1)
    pieces = [Piece((s, s, 1), turns=False) for s in sides]

    assert next(packings(pieces, (44, 24, 1)), None) is None


def test_four_tiles_in_a_pinwheel():
    """2 x 3 tiles in 5 x 5: four, round a hole, and never five (counted by hand: 30 > 25)."""
    assert most(Piece((3, 2, 1), flat=True), (5, 5, 1)).count == 4


def test_conway_puzzle_is_unique():
    """Six 1 x 2 x 2 and three unit cubes fill a cube of 3 in one way but for its symmetries.

    The Slothouber-Graatsma puzzle: https://en.wikipedia.org/wiki/Slothouber-Graatsma_puzzle
    """
    pieces = [Piece((2, 2, 1), 6), Piece((1, 1, 1), 3)]

    found = list(packings(pieces, (3, 3, 3)))

    for one in found:
        _check(one, pieces, (3, 3, 3))
    assert {frozenset(one) for one in found} == set(_images(found[0], (3, 3, 3)))


def test_27_bricks_do_not_fill_6_cubed():
    """1 x 2 x 4 bricks never fill a cube of 6, though 27 have its volume (from memory)."""
    assert 27 * 8 == 6**3
    assert balance_bound((1, 2, 4), (6, 6, 6), 2) == 26


def test_colouring_says_nothing_where_a_place_is_lopsided():
    """A bound is only claimed where every place of the piece is balanced."""
    assert balance_bound((1, 2, 2), (6, 6, 6), 2) is None
    assert balance_bound((1, 1, 3), (6, 6, 6), 2) is None


def test_bound_is_never_below_what_fits():
    """In a box that can be filled the bound leaves room for the filling."""
    bound = balance_bound((1, 2, 4), (4, 4, 4), 2)

    assert next(packings([Piece((1, 2, 4), 8)], (4, 4, 4)), None) is not None
    assert bound is None or bound >= 8


def _by_programme(piece, box):
    """The most that go in: an integer programme over every place of a piece, one cell one piece."""
    places = [
        list(product(*(range(c, c + w) for c, w in zip(at, way, strict=True))))
        for way in piece.ways
        for at in product(*(range(b - w + 1) for b, w in zip(box, way, strict=True)))
    ]
    if not places:
        return 0
    number = {cell: n for n, cell in enumerate(product(*map(range, box)))}
    covers = np.zeros((len(number), len(places)))
    for k, cells in enumerate(places):
        covers[[number[cell] for cell in cells], k] = 1
    found = milp(
        -np.ones(len(places)),
        constraints=LinearConstraint(covers, ub=1),
        integrality=1,
        bounds=(0, 1),
    )
    return round(-found.fun)


@pytest.mark.parametrize("flat", [True, False])
def test_most_is_what_an_integer_programme_finds(flat):
    """Small boxes: the number is the best of all, nothing overlaps, and no bound is below it."""
    rng = np.random.default_rng(5)
    proved = 0
    for _ in range(40):
        size = tuple(int(v) for v in rng.integers(1, 5, 3))
        box = tuple(int(v) for v in rng.integers(3, 10 if flat else 6, 3))
        if flat:
            size, box = (*size[:2], 1), (*box[:2], 1)
        piece = Piece(size, flat=flat)
        found = most(piece, box)
        assert found.count == _by_programme(piece, box), (size, box)
        assert found.count <= found.bound
        proved += found.proved
        _check([(0, at, way) for at, way in found.laid], [Piece(size, found.count)], box)
    assert proved >= 38


def test_the_programme_would_notice():
    """A wrong count is another than the programme's: 2 x 3 in 5 x 5 is neither three nor five."""
    assert _by_programme(Piece((3, 2, 1), flat=True), (5, 5, 1)) == 4


# Length and width of the pallet and of the box, and the most that go on: hard ones, where whole
# blocks and cuts do not reach it. Source: the instances of E. G. Birgin, R. D. Lobato and
# R. Morabito, "An effective recursive partitioning approach for the packing of identical
# rectangles in a rectangle", Journal of the Operational Research Society 61, 2010 (from memory).
PALLETS = [(40, 25, 7, 3, 47), (52, 33, 9, 4, 47), (57, 44, 12, 5, 41), (61, 35, 10, 3, 71)]


@pytest.mark.parametrize(("long", "wide", "a", "b", "published"), PALLETS)
def test_no_claim_goes_past_a_published_number(long, wide, a, b, published):
    """What is found is no more than goes in, and what is said to be beaten by none no less."""
    found = most(Piece((a, b, 1), flat=True), (long, wide, 1), nodes=20_000)

    assert found.count <= published <= found.bound
    assert found.count >= published - 2
    assert not found.proved
    _check(
        [(0, at, way) for at, way in found.laid], [Piece((a, b, 1), found.count)], (long, wide, 1)
    )


@pytest.mark.parametrize(
    ("box", "piece", "count"), [((14, 10), (3, 2), 23), ((22, 16), (5, 3), 23)]
)
def test_pallets_that_need_the_search(box, piece, count):
    """By volume alone 23 go on each: 140 // 6 and 352 // 15."""
    found = most(Piece((*piece, 1), flat=True), (*box, 1))

    assert found.count == box[0] * box[1] // (piece[0] * piece[1]) == count
    assert found.proved


def test_upright_pieces_stand_in_layers():
    """Crates 600 x 400 x 320 in 2400 x 690 x 870, by hand.

    Upright: one row of four deep ways (4 x 600 along, 400 deep) or of six (6 x 400, 600 deep) is
    six, twice as high. Any way up: on their long ends, 600 high and 320 deep, two rows of six.
    """
    box = (2400, 690, 870)

    upright = most(Piece((600, 400, 320), flat=True), box)
    assert (upright.count, upright.bound) == (12, 12)
    assert {at[2] for at, _ in upright.laid} == {0, 320}
    assert most(Piece((600, 400, 320)), box).count >= 16


def test_nothing_goes_into_a_box_that_is_too_low():
    """A crate of 320 does not stand in 319, however wide."""
    for piece in (Piece((600, 400, 320), flat=True), Piece((600, 400, 320), turns=False)):
        found = most(piece, (6000, 6000, 319))
        assert (found.count, found.bound, found.proved) == (0, 0, True)
    assert most(Piece((600, 400, 320)), (6000, 6000, 319)).count == 0


def test_sums_of_sides():
    """Every row of 4s and 6s up to 15; a side longer than the box adds nothing."""
    assert sums((6, 4), 15) == (0, 4, 6, 8, 10, 12, 14)
    assert sums((16,), 15) == (0,)
