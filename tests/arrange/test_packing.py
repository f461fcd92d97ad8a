"""Tests for trying every packing: published dissections, puzzles and impossible boxes."""

from __future__ import annotations

from itertools import permutations, product

from massing.arrange.packing import Piece, balance_bound, most, packings


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
    assert most(Piece((3, 2, 1), flat=True), (5, 5, 1)) == 4


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
