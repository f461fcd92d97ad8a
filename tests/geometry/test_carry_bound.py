"""Proofs that nothing passes: never against a path, and as near to closed forms as a cell is."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.geometry.carry.bound import carry_bound
from massing.geometry.carry.search import Change, Effort, Pose, Stand, carry_path
from massing.geometry.plan_parts import outside
from tests.oracles_corners import rectangle_round_corner

BOX = (0.0, 0.0, 4000.0, 3000.0)


def rect(x0, y0, x1, y1):
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def block(length, width):
    return rect(-length / 2, -width / 2, length / 2, width / 2)


def asked(stones, body, start, goal, levels=((40, 48),), box=BOX, changes=()):
    poses = [Pose("level", [body], stones)]
    return carry_bound(poses, start, goal, changes=changes, bounds=box, levels=levels)


@pytest.mark.parametrize(("step", "turns"), [(20, 72), (40, 48), (50, 36)])
@pytest.mark.parametrize("gap", [300.0, 500.0, 700.0])
def test_a_gap_in_a_screen(step, turns, gap):
    """A 600 square past a screen with a gap: shown where the gap lacks more than two cells.

    What is said to be missing never exceeds what is: half of 600 less the gap, each side.
    """
    stones = [*outside([rect(*BOX)], 400), rect(1900, gap, 2000, 3000)]
    found = asked(stones, block(600, 600), Stand(800, 1500), Stand(3200, 1500), ((step, turns),))
    cell = step / math.sqrt(2) + 300 * math.sqrt(2) * math.pi / turns
    if gap > 600:
        assert not found.shut
    elif 600 - gap > 2 * cell + 5:
        assert found.shut
        assert (600 - gap) / 2 - 2 * cell - 10 <= found.missing <= (600 - gap) / 2 + 1e-6
        assert np.hypot(*(found.where - [1950, gap / 2])) < 600
        assert set(found.against) & {4}


def test_a_scout_says_where():
    """The place may be looked for on a coarser lattice; the proof is the finer one's."""
    stones = [*outside([rect(*BOX)], 400), rect(1900, 480, 2000, 3000)]
    ends = Stand(800, 1500), Stand(3200, 1500)
    found = asked(stones, block(600, 600), *ends, levels=((20, 72), (40, 48)))
    assert found.shut
    assert (found.step, found.turn) == (20, 2 * math.pi / 72)
    assert found.missing <= 60.0
    assert np.hypot(*(found.where - [1950, 240])) < 700


@pytest.mark.parametrize(("a", "b", "t"), [(1200.0, 900.0, 200.0), (900.0, 900.0, 300.0)])
def test_round_a_corner(a, b, t):
    """Shut well beyond the closed form, never within it.

    Source: the least over the turn of (a sin + b cos - t) / (sin cos) for a rectangle.
    """
    limit = rectangle_round_corner(a, b, t)
    far = 1.5 * limit + max(a, b)
    legs = [rect(0, 0, far, a), rect(0, 0, b, far)]
    box = (0.0, 0.0, far, far)
    for share in (0.8, 0.99, 1.2, 1.35):
        long = share * limit
        ends = (Stand(far - long / 2, a / 2), Stand(b / 2, far - long / 2, math.pi / 2))
        found = asked(outside(legs, 400), block(long, t), *ends, ((20, 144),), box)
        assert not found.shut or share > 1.0
        assert found.shut or share < 1.3


@pytest.mark.parametrize("seed", range(12))
def test_never_against_a_path(seed):
    """Among random bodies: where a path is found nothing is ever shown to be shut."""
    rng = np.random.default_rng(seed)
    stones = list(outside([rect(*BOX)], 400))
    for _ in range(7):
        x, y = rng.uniform(700, 3300), rng.uniform(0, 3000)
        w, h = rng.uniform(100, 700, 2)
        stones.append(rect(x - w / 2, y - h / 2, x + w / 2, y + h / 2))
    body = block(900, 250)
    ends = Stand(200, 1500, math.pi / 2), Stand(3800, 1500, math.pi / 2)
    path = carry_path(
        [Pose("level", [body], stones)], *ends, bounds=BOX, effort=Effort(((40.0, 48),))
    )
    found = asked(stones, body, *ends)
    assert not (path.found and found.shut)


def test_some_of_those_are_shut_and_some_are_not():
    """The law above says something: with a wall across it is shut, with none it is not."""
    stones = outside([rect(*BOX)], 400)
    ends = Stand(200, 1500, math.pi / 2), Stand(3800, 1500, math.pi / 2)
    assert not asked(stones, block(900, 250), *ends).shut
    across = asked([*stones, rect(1500, 0, 2500, 3000)], block(900, 250), *ends)
    assert across.shut
    assert across.missing > 50


def test_a_change_joins_two_poses():
    """Shut in one pose, open by way of another, and shut again without the change between."""
    low = outside([rect(*BOX)], 400)
    high = [*low, rect(1500, 0, 2500, 3000)]
    poses = [Pose("high", [block(600, 300)], high), Pose("low", [block(600, 300)], low)]
    ends = Stand(800, 1500), Stand(3200, 1500)
    for changes, shut in (((), True), ((Change((0, 1)),), False)):
        found = carry_bound(poses, *ends, changes=changes, bounds=BOX, levels=((40, 48),))
        assert found.shut is shut


def test_a_planted_fault_is_seen(monkeypatch):
    """With cells taken for a tenth of their size it would call shut what is not."""
    from massing.geometry.carry import bound as module

    real = module._field

    def shrunk(*args):
        field = real(*args)
        field.cell /= 10.0
        return field

    stones = [*outside([rect(*BOX)], 400), rect(1900, 605, 2000, 3000)]
    ends = Stand(800, 1500), Stand(3200, 1520)
    assert not asked(stones, block(600, 600), *ends).shut
    monkeypatch.setattr(module, "_field", shrunk)
    assert asked(stones, block(600, 600), *ends).shut
