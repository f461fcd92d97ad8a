"""Tests for the largest box under half-spaces: slopes by differences, maxima by trying many."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.geometry.space.empty_boxes_bounds import (
    EASE,
    cheap_bound,
    narrow,
    narrow_to_row,
    one_row,
    room_left,
)
from massing.geometry.space.empty_boxes_program import (
    _IMPROVE,
    _SEEK,
    _axis_most,
    _barrier,
    _dual,
    _feasible,
    _newton_step,
    _Program,
    _program,
    _slopes,
    _snap,
    full_bound,
)

NONE = np.zeros(3)


def _span(low, high, inner=None) -> np.ndarray:
    """A range whose sides lie anywhere between two corners, or beyond an inner box."""
    low, high = np.asarray(low, float), np.asarray(high, float)
    if inner is None:
        return np.concatenate([low, high, low, high])
    return np.concatenate([low, inner[0], inner[1], high])


def _case(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A range, smallest sides and rows that some box of it obeys with room to spare."""
    rng = np.random.default_rng([51, seed])
    low, high = rng.uniform(-300, 0, 3), rng.uniform(700, 1500, 3)
    kept = np.concatenate([np.full(3, 260.0), np.full(3, 420.0)])
    span = _span(low, high)
    if seed % 2 == 0:
        kept = np.concatenate([rng.uniform(50, 250, 3), high - 200])
        span = _span(low, high, (kept[:3], kept[3:]))
    mins = rng.uniform(0, 60, 3) * (seed % 3 > 0)
    rows = []
    for _ in range(int(rng.integers(2, 6))):
        n = rng.normal(size=3) * (rng.random(3) < 0.75)
        n = n / np.linalg.norm(n) if n.any() else np.array([0.0, 0.0, 1.0])
        corner = np.where(n > 0.0, kept[:3], kept[3:])
        rows.append([*n, n @ corner - rng.uniform(20, 150)])
    return span, mins, np.array(rows)


def _boxes(span: np.ndarray, rng: np.random.Generator, count: int) -> np.ndarray:
    """Boxes of a range at random, some of their sides at its limits."""
    share = rng.choice([0.0, 1.0, -1.0], (count, 6), p=[0.2, 0.2, 0.6])
    share = np.where(share < 0.0, rng.random((count, 6)), share)
    first = np.concatenate([span[:3], span[6:9]])
    last = np.concatenate([span[3:6], span[9:]])
    return first + share * (last - first)


def _room(boxes: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """(boxes, rows) how far each box clears each row at its worst corner."""
    corner = np.where(rows[None, :, :3] > 0.0, boxes[:, None, :3], boxes[:, None, 3:])
    return (corner * rows[None, :, :3]).sum(axis=2) - rows[None, :, 3]


def _volume(boxes: np.ndarray) -> np.ndarray:
    return np.prod(np.maximum(boxes[..., 3:] - boxes[..., :3], 0.0), axis=-1)


@pytest.mark.parametrize("seed", range(6))
def test_room_left_at_the_worst_corner(seed: int) -> None:
    span, _, rows = _case(seed)
    boxes = _boxes(span, np.random.default_rng(seed), 20)

    for box, rooms in zip(boxes, _room(boxes, rows), strict=True):
        assert [room_left(box, row) for row in rows] == pytest.approx(rooms.tolist(), abs=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_a_range_narrowed_loses_nothing_and_is_tight(seed: int) -> None:
    """Each box that was allowed still is, and each new limit is some allowed box's."""
    span, mins, rows = _case(seed)
    rng = np.random.default_rng(seed)
    boxes = _boxes(span, rng, 4000)
    big = (boxes[:, 3:] - boxes[:, :3] >= mins).all(axis=1)
    for row in rows[:3]:
        less = span.copy()
        assert narrow_to_row(less, mins, row)
        held = boxes[big & (_room(boxes, row[None])[:, 0] >= 0.0)]
        low, high = np.concatenate([less[:3], less[6:9]]), np.concatenate([less[3:6], less[9:]])
        assert (held >= low - 1e-6).all()
        assert (held <= high + 1e-6).all()
        for k in range(3):
            # the outermost side along an axis, everything else drawn in as far as it goes
            for side, free in ((k, less[k]), (3 + k, less[9 + k])):
                best = np.concatenate([less[3:6], less[6:9]])
                best[side] = free
                spare = _room(best[None], row[None])[0, 0]
                assert spare >= -2 * EASE or (best[3:] - best[:3] < mins - 1e-9).any()
    tight = span.copy()
    assert narrow(tight, mins)
    assert tight[3:6].tolist() == pytest.approx(np.minimum(span[3:6], span[9:] - mins).tolist())
    assert tight[6:9].tolist() == pytest.approx(np.maximum(span[6:9], span[:3] + mins).tolist())


def test_a_range_with_nothing_in_it() -> None:
    """Too small for the smallest sides, or no box of it on the good side of a row."""
    span = _span([0, 0, 0], [100, 100, 100])

    assert narrow(span.copy(), np.array([100.0, 100.0, 100.0]))
    for k in range(3):
        mins = NONE.copy()
        mins[k] = 100.001
        assert not narrow(span.copy(), mins)
    for k in range(3):
        # low sides no higher than 60, high sides no lower than 20: the row wants 60 and more
        held = _span([0, 0, 0], [100, 100, 100], (np.full(3, 60.0), np.full(3, 20.0)))
        n = np.eye(3)[k]
        assert narrow_to_row(held.copy(), NONE, np.array([*n, 60.0]))
        assert not narrow_to_row(held.copy(), NONE, np.array([*n, 60.001]))
        assert narrow_to_row(held.copy(), NONE, np.array([*-n, -20.0]))
        assert not narrow_to_row(held.copy(), NONE, np.array([*-n, -19.999]))


@pytest.mark.parametrize("seed", range(12))
def test_the_largest_under_one_row(seed: int) -> None:
    """Its box obeys the row, has the volume told, and no other box of the range has more."""
    span, _, rows = _case(seed)
    rng = np.random.default_rng(seed)
    boxes = _boxes(span, rng, 3000)
    for row in rows:
        out = np.empty(6)
        volume = one_row(span, row, out)

        assert volume == pytest.approx(_volume(out))
        assert room_left(out, row) >= -1e-6
        assert (out[:3] >= span[:3] - 1e-9).all()
        assert (out[3:] <= span[9:] + 1e-9).all()
        assert (out[:3] <= span[3:6] + 1e-9).all()
        assert (out[3:] >= span[6:9] - 1e-9).all()
        held = _room(boxes, row[None])[:, 0] >= 0.0
        assert volume >= _volume(boxes[held]).max(initial=0.0) * (1 - 1e-9)
        # nor any near it
        near = np.clip(
            out + rng.normal(size=(3000, 6)) * rng.choice([0.1, 3.0, 40.0], (3000, 1)),
            np.concatenate([span[:3], span[6:9]]),
            np.concatenate([span[3:6], span[9:]]),
        )
        held = _room(near, row[None])[:, 0] >= 0.0
        assert volume >= _volume(near[held]).max(initial=0.0) * (1 - 1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_the_cheap_bound_is_the_tightest_row(seed: int) -> None:
    span, _, rows = _case(seed)
    out, trial = np.empty(6), np.empty(6)

    bound, all_obeyed = cheap_bound(span, rows, out)

    least = min(_volume(span[[0, 1, 2, 9, 10, 11]]), *(one_row(span, row, trial) for row in rows))
    assert bound == pytest.approx(least)
    assert bound == pytest.approx(_volume(out))
    assert all_obeyed == bool((_room(out[None], rows) >= -EASE).all())


@pytest.mark.parametrize("seek", [False, True])
@pytest.mark.parametrize("seed", range(5))
def test_slopes_are_those_of_the_function(seed: int, seek: bool) -> None:
    """Gradient and second derivatives against central differences of the function itself."""
    p, x = _inside(seed)
    x[6] = 30.0 if seek else 0.0
    g, H = np.empty(7), np.empty((7, 7))
    tau = 3.0

    _slopes(x, tau, seek, p, g, H)

    free = [j for j in range(7) if (j < 6 and not p.fixed[j]) or (j == 6 and seek)]
    assert np.isfinite(_barrier(x, tau, seek, p))
    for j in range(7):
        if j not in free:
            assert (g[j], H[j, j]) == (0.0, 1.0)
            assert np.delete(H[j], j).tolist() == [0.0] * 6
            assert np.delete(H[:, j], j).tolist() == [0.0] * 6
            continue
        up, down = x.copy(), x.copy()
        up[j] += 1e-3
        down[j] -= 1e-3
        slope = (_barrier(up, tau, seek, p) - _barrier(down, tau, seek, p)) / 2e-3
        assert g[j] == pytest.approx(slope, rel=1e-4, abs=1e-7)
        ahead, behind, spare = np.empty(7), np.empty(7), np.empty((7, 7))
        _slopes(up, tau, seek, p, ahead, spare)
        _slopes(down, tau, seek, p, behind, spare)
        for i in free:
            bend = (ahead[i] - behind[i]) / 2e-3
            assert H[i, j] == pytest.approx(bend, rel=1e-3, abs=1e-9)


def _inside(seed: int) -> tuple[_Program, np.ndarray]:
    """A program and a place well inside it; one side of it fixed for some."""
    span, mins, rows = _case(seed)
    if seed % 2:
        span[3] = span[0]
    x = np.empty(7)
    p = _program(span, mins, rows, x)
    assert _feasible(x, p)
    return p, x


@pytest.mark.parametrize("seed", range(4))
def test_the_function_by_its_logarithms(seed: int) -> None:
    """Volume, widths beyond the least, sides between their limits, and room under the rows."""
    p, x = _inside(seed)
    sides = x[3:6] - x[:3]
    free = ~p.fixed
    logs = np.log(sides - p.least).sum()
    logs += np.log((x[:6] - p.lower)[free]).sum() + np.log((p.upper - x[:6])[free]).sum()
    rooms = _room(x[None, :6], p.rows)[0] + EASE
    plain = -5.0 * np.log(sides).sum() - logs - np.log(rooms).sum()
    seeking = 5.0 * 40.0 - logs - np.log(rooms + 40.0).sum()

    assert _barrier(x, 5.0, _IMPROVE, p) == pytest.approx(plain, rel=1e-12)
    x[6] = 40.0
    assert _barrier(x, 5.0, _SEEK, p) == pytest.approx(seeking, rel=1e-12)
    for j in range(6):
        if p.fixed[j]:
            continue
        for outside in (p.lower[j], p.upper[j]):
            y = x.copy()
            y[j] = outside
            assert _barrier(y, 5.0, _IMPROVE, p) == np.inf
    x[6] = -rooms.min() - 1e-6
    assert _barrier(x, 5.0, _SEEK, p) == np.inf


def test_a_newton_step_solves() -> None:
    """As a linear algebra library solves it; what is not positive definite is refused."""
    rng = np.random.default_rng(61)
    for _ in range(10):
        A = rng.normal(size=(7, 7))
        H, g, step = A @ A.T + np.eye(7), rng.normal(size=7), np.empty(7)
        solved = np.linalg.solve(H, -g)

        size = _newton_step(g, H.copy(), step)

        assert step == pytest.approx(solved, rel=1e-8)
        assert size == pytest.approx(-g @ solved, rel=1e-8)
    H[3, 3] = -1.0
    assert _newton_step(g, H, step) == -1.0


@pytest.mark.parametrize("seed", range(6))
def test_the_most_along_one_axis(seed: int) -> None:
    """By trying a fine grid of low and high ends, for whatever weights."""
    rng = np.random.default_rng([62, seed])
    for _ in range(6):
        a, b = np.sort(rng.uniform(0, 300, 2))
        c, d = np.sort(rng.uniform(200, 600, 2))
        least = float(rng.choice([0.0, 120.0]))
        up, down = 10.0 ** rng.uniform(-4, -0.5, 2)
        low, high = np.meshgrid(np.linspace(a, b, 801), np.linspace(c, d, 801))
        width = high - low
        fits = (width >= max(least, 1e-9)) & (width > 0.0)
        if not fits.any():
            continue
        value = np.log(width[fits]) + up * low[fits] - down * high[fits]

        said = _axis_most(np.array([a, b, c, d]), least, up, down)

        assert said >= value.max() - 1e-9
        assert said == pytest.approx(value.max(), abs=2e-2)


@pytest.mark.parametrize("seed", range(6))
def test_the_dual_bounds_every_box(seed: int) -> None:
    """For any weights, none negative; with none at all it is the outermost box's volume."""
    span, mins, rows = _case(seed)
    rng = np.random.default_rng(seed)
    best = np.empty(6)
    full_bound(span, mins, rows, best)
    most = math.log(_volume(best)) - 1e-7

    for _ in range(6):
        weight = 10.0 ** rng.uniform(-5, -2, len(rows))
        assert _dual(span, mins, rows, weight) >= most
    whole = math.log(_volume(span[[0, 1, 2, 9, 10, 11]]))
    assert _dual(span, mins, rows, np.zeros(len(rows))) == pytest.approx(whole)


@pytest.mark.parametrize(
    ("base", "slope"), [(300.0, 0.5), (0.0, 1.0), (1000.0, 0.2), (50.0, 2.5), (600.0, 0.9)]
)
def test_under_a_gable(base: float, slope: float) -> None:
    """Eaves at ``base``, a ridge midway of 1000: a box 2a wide is base + slope (500 - a) high.

    The volume 2a * 700 * height is largest at a = (base + 500 slope) / (2 slope), or at a = 500.
    """
    top = base + 500.0 * slope
    a = min(top / (2.0 * slope), 500.0)
    volume = 2.0 * a * 700.0 * (top - slope * a)
    size = math.hypot(1.0, slope)
    rows = np.array([[slope, 0, -1, -base], [-slope, 0, -1, -base - 1000.0 * slope]]) / size
    span, out = _span([0, 0, 0], [1000, 700, 3000]), np.empty(6)

    for order in (rows, rows[::-1].copy(), np.concatenate([rows, rows])):
        bound = full_bound(span, NONE, order, out)

        assert bound == pytest.approx(volume, rel=1e-7)
        assert bound >= volume * (1 - 1e-12)
        assert _volume(out) == pytest.approx(volume, rel=1e-7)
        assert (_room(out[None], rows) >= -2 * EASE).all()
        half = (out[3] - out[0]) / 2
        assert half == pytest.approx(a, abs=0.05)
        assert out[[1, 2, 4]].tolist() == [0.0, 0.0, 700.0]  # sides that may be are at the limit
    # as high as it must be, where that is more than the best
    tall = top - slope * a / 2
    held = full_bound(span, np.array([0.0, 0.0, tall]), rows, out)
    assert held == pytest.approx(2 * (a / 2) * 700.0 * tall, rel=1e-6)
    assert full_bound(span, np.array([0.0, 0.0, top + 1.0]), rows, out) == -1.0


@pytest.mark.parametrize("seed", range(8))
def test_the_largest_under_several_rows(seed: int) -> None:
    """Its box obeys them all and is as large as is proved; none tried at random is larger."""
    span, mins, rows = _case(seed)
    narrowed = span.copy()
    assert narrow(narrowed, mins)
    rng, out = np.random.default_rng(seed), np.empty(6)

    bound = full_bound(narrowed, mins, rows, out)

    assert (_room(out[None], rows) >= -2 * EASE).all()
    assert (out[3:] - out[:3] >= mins - 1e-6).all()
    assert _volume(out) == pytest.approx(bound, rel=1e-6)
    for spread in (0.5, 5.0, 50.0):
        near = np.clip(
            out + rng.normal(size=(4000, 6)) * spread,
            np.concatenate([narrowed[:3], narrowed[6:9]]),
            np.concatenate([narrowed[3:6], narrowed[9:]]),
        )
        fits = (_room(near, rows) >= 0.0).all(axis=1)
        fits &= (near[:, 3:] - near[:, :3] >= mins).all(axis=1)
        assert bound >= _volume(near[fits]).max(initial=0.0)


def test_pushed_onto_its_limit() -> None:
    """A side within a hair of its limit goes onto it, unless a row forbids; others stay."""
    span = _span([0, 0, 0], [100, 100, 100])
    box = np.array([5e-5, 2e-4, 40.0, 99.99995, 99.9998, 99.99995])
    rows = np.array([[0.0, 0.0, -1.0, -99.99995]])

    _snap(span, rows, box)

    assert box.tolist() == [0.0, 2e-4, 40.0, 100.0, 99.9998, 99.99995]
