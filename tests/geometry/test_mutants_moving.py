"""Mistakes that planted changes showed no test would notice, of what moves: exact values."""

# ruff: noqa: RUF005 - an array plus a list is a shift here, no longer list

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.errors import GeometryError
from massing.geometry.motions.leaves import first_touch, leaf_frame, swept_area, swept_ring
from massing.geometry.motions.slide import prism_slide, solid_slide
from massing.geometry.motions.stops import Path, eased, first_contacts, path_bounds, turns_of
from massing.geometry.motions.sweep import all_swept, swept_solids
from massing.geometry.motions.turn import inset, level_shadow, shadow, turn_contact, upright_shadow
from massing.geometry.polygons import area
from massing.geometry.solids import Convex, Faces, box, hull

RIGHT = math.pi / 2.0
WAYS = (1, -1)


def reach(path, obstacle, limit):
    found = first_contacts([path], [obstacle], np.array([[0, 0]]), np.array([limit]))
    return float(found.reach[0, 0]), bool(found.inside[0, 0])


def plain(solid):
    """The same solid, not known to be upright, so that it goes the general way."""
    return Convex(solid.corners, Faces(solid.faces.rings))


def turned(points, degrees):
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.asarray(points) @ np.array([[c, s], [-s, c]])


# ---- a leaf in plan


@pytest.mark.parametrize("swing", [1.0, -1.0])
@pytest.mark.parametrize("shut", [0.0, 90.0, 210.0])
def test_a_leaf_sees_what_is_about_it_in_its_own_frame(swing, shut):
    own = np.array([[300.0, 200.0], [-10.0, 40.0]])
    there = turned(own * [1.0, swing], shut) + [70.0, -30.0]
    way = turned([[1.0, 0.0]], shut)
    found = leaf_frame(there[None], np.array([[70.0, -30.0]]), way, swing)
    assert found[0] == pytest.approx(own)


def test_a_leaf_meets_corners_and_sides_at_known_angles():
    """Its face a corner within 762, its end the side y = 700, its far corner one beyond."""
    wide = np.array([762.0])

    def angle(ring, thick=0.0, full=RIGHT):
        return float(first_touch(np.array([ring], float), wide, np.array([thick]), full)[0])

    box_ = [[300, 400], [600, 400], [600, 700], [300, 700]]
    assert angle(box_) == pytest.approx(math.atan2(400, 600))
    wall = [[-900, 700], [900, 700], [900, 900], [-900, 900]]
    assert angle(wall) == pytest.approx(math.asin(700 / (762 - 0.01)))
    assert angle([[0, 800], [900, 800], [900, 900], [0, 900]]) == pytest.approx(RIGHT)
    assert angle(wall, full=0.5) == 0.5
    # An 80 thick leaf's far corner runs on 766.2: a corner at radius 765 is met by the end.
    x = math.sqrt(765.0**2 - 500.0**2)
    post = [[x, 500], [x + 40, 500], [x + 40, 560], [x, 560]]
    assert angle(post) == pytest.approx(RIGHT)
    lag = math.acos((762 - 0.01) / 765.0)
    assert angle(post, 80.0) == pytest.approx(math.atan2(500, x) + lag)
    # Its far corner crosses a side that no corner of which is near.
    outer = math.hypot(762 - 0.01, 80.0)
    level = [[-900, 764], [900, 764], [900, 900], [-900, 900]]
    assert angle(level, 80.0, 3.0) == pytest.approx(
        math.asin(764 / outer) + math.atan2(80.0, 762 - 0.01)
    )
    assert angle(level, 0.0, 3.0) == 3.0


@pytest.mark.parametrize(("short", "stops"), [(0.005, False), (0.02, True)])
def test_a_touch_of_the_leafs_end_does_not_stop_it(short, stops):
    ring = np.array([[[0.0, 762 - short], [900, 762 - short], [900, 900], [0, 900]]])
    found = first_touch(ring, np.array([762.0]), np.array([0.0]), RIGHT)[0]
    assert bool(found < RIGHT) is stops


def test_what_touches_the_shut_leaf_stops_it_and_what_is_behind_does_not():
    on_it = np.array([[[300.0, 0.0], [400, 0], [400, 50], [300, 50]]])
    behind = on_it - [0.0, 60.0]
    for ring, stop in ((on_it, 0.0), (behind, 2.0)):
        assert first_touch(ring, np.array([762.0]), np.zeros(1), 2.0)[0] == pytest.approx(stop)


@pytest.mark.parametrize("swing", [1.0, -1.0])
def test_the_floor_a_leaf_sweeps_is_its_sector_and_a_hair(swing):
    """Thin: 1/2 w² t. Thick: the sector of hypot(w, t) less what leads, held from outside."""
    pin, shut = np.array([[100.0, 200.0]]), np.array([[0.0, 1.0]])
    for wide, thick, full in ((800.0, 0.0, RIGHT), (700.0, 0.0, 2.5), (700.0, 60.0, RIGHT)):
        ring = swept_ring(pin, shut, swing, np.array([wide]), np.array([thick]), full)
        outer, lag = math.hypot(wide, thick), math.atan2(thick, wide)
        # A sector of the far corner up to full - lag, then the triangle on to the leading corner.
        least = 0.5 * outer**2 * (full - lag) + 0.5 * outer * wide * math.sin(lag)
        found = float(area(ring)[0])
        assert least - 1e-6 <= found <= least + 0.05 * outer * full
        far = np.hypot(*(ring[0] - pin[0]).T)
        assert far.max() <= outer + 0.0501
        assert ring[0, np.argmin(far)] == pytest.approx(pin[0])
        off = (ring[0] - pin[0]) @ [-1.0, 0.0] * swing
        assert off.min() >= -1e-9
    assert swept_area(3.0, 4.0, 2.0) == 25.0 + 12.0


# ---- slides


@pytest.mark.parametrize("sign", WAYS)
@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("make", [lambda solid: solid, plain])
def test_a_slide_along_each_axis_stops_at_the_gap(axis, sign, make):
    mover = make(box([-10, -20, -30], [10, 20, 30]))
    way, half = np.zeros(3), [10.0, 20.0, 30.0][axis]
    way[axis] = float(sign)
    centre = way * (half + 70.0 + 5.0)
    other = make(box(centre - 5.0, centre + 5.0))
    path = Path(mover, way[None], None, np.array([200.0]))
    assert reach(path, other, 200.0) == (pytest.approx(70.0), False)
    assert reach(path, other, 60.0) == (60.0, False)
    assert reach(Path(mover, -way[None], None, path.full), other, 200.0) == (200.0, False)
    # Beside its way by a touch more or less than contact.
    aside = np.roll([0.0, 0.0, 0.0], 0)
    other_axis = (axis + 1) % 3
    for deep, stops in ((0.005, False), (0.02, True)):
        aside[other_axis] = [10.0, 20.0, 30.0][other_axis] + 5.0 - deep
        assert (reach(path, other.moved(aside), 200.0)[0] < 200.0) is stops
    # Inside to begin with.
    assert reach(path, make(box([-5, -5, -5], [5, 5, 5])), 200.0) == (0.0, True)


def test_a_slide_at_a_slant_meets_a_corner_and_passes_one():
    """Along (0.6, 0.8): the face x = 10 meets x = 40 after 50, where it has gone 40 up."""
    mover = box([0, 0, 0], [10, 10, 10])
    way = np.array([[0.6, 0.8, 0.0]])
    post = box([40, 45, 0], [60, 60, 10])
    for make in (lambda solid: solid, plain):
        path = Path(make(mover), way, None, np.array([100.0]))
        assert reach(path, make(post), 100.0)[0] == pytest.approx(50.0)
        assert reach(path, make(post.moved([0, 5.5, 0])), 100.0)[0] == pytest.approx(50.625)
        assert reach(path, make(post.moved([0, -20, 0])), 100.0)[0] == pytest.approx(100.0)


def test_a_slide_edge_to_edge_in_two_worlds():
    """Bars on edge, square to each other: the lower one rises 5, or 7, until their edges meet."""
    r = math.sqrt(2.0)
    lower = hull([[x, y, z] for x in (-50, 50) for y, z in ((0, r), (r, 0), (0, -r), (-r, 0))])
    upper = hull([[x, y, z + 2 * r] for y in (-50, 50) for x, z in
                  ((0, r), (r, 0), (0, -r), (-r, 0))])  # fmt: skip
    over = upper.moved(np.array([[0, 0, 5.0], [0, 0, 7.0]]))
    path = Path(lower, np.array([[0.0, 0, 1]]), None, np.array([20.0]))
    found = first_contacts([path], [over], np.array([[0, 0]]), np.array([20.0]))
    assert found.reach[:, 0] == pytest.approx([5.0, 7.0])
    way, limit = np.array([[0.0, 0, 1]] * 2), np.array([20.0, 6.0])
    assert solid_slide(lower, over, way, limit)[0] == pytest.approx([5.0, 6.0])
    assert solid_slide(lower, over, -way, limit)[0] == pytest.approx([20.0, 6.0])


def test_rows_of_slides_do_not_mix():
    ring = np.array([[[0.0, 0], [10, 0], [10, 10], [0, 10]]] * 3)
    mover = (ring, np.zeros(3), np.full(3, 10.0))
    other = (ring + [[[30.0, 0.0]], [[0.0, -45.0]], [[0.0, 0.0]]], np.array([0.0, 0, 60]),
             np.array([10.0, 10, 70]))  # fmt: skip
    way = np.array([[1.0, 0, 0], [0, -1.0, 0], [0, 0, 1.0]])
    travel, inside = prism_slide(mover, other, way, np.full(3, 99.0))
    assert travel == pytest.approx([20.0, 35.0, 50.0])
    assert inside.tolist() == [False] * 3


# ---- turns


@pytest.mark.parametrize("axis", [[0, 0, 1.0], [0, 0, -1.0], [1.0, 0, 0], [0, -1.0, 0],
                                  [0.6, 0.8, 0], [0.6, 0, 0.8]])  # fmt: skip
def test_a_panel_turns_onto_a_post_at_a_known_angle(axis):
    """In the panel's own frame a thin panel 0..1000 is met at (300, 400): atan(4/3)."""
    axis = np.array(axis)
    helper = np.array([0, 0, 1.0]) if abs(axis[2]) < 0.9 else np.array([1.0, 0, 0])
    shut = np.cross(helper, axis)
    shut /= np.linalg.norm(shut)
    ahead = np.cross(axis, shut)
    frame = np.stack([shut, ahead, axis])
    about = np.array([200.0, -300.0, 500.0])

    def made(low, high):
        solid = box(low, high)
        return Convex(solid.corners @ frame + about, Faces(solid.faces.rings))

    panel = made([0, -0.03, 0], [1000, 0, 600])
    path = Path(panel, axis[None], about[None], np.array([2.0]))
    post = made([290, 400, 100], [300, 500, 200])
    told = math.atan2(400, 300)
    assert reach(path, post, 2.0)[0] == pytest.approx(told, abs=1e-4)
    assert reach(path, post, 0.5) == (0.5, False)
    # Past either end of the axis it passes, and so it does by a touch over the end.
    assert reach(path, post.moved(550 * axis), 2.0)[0] == 2.0
    assert reach(path, post.moved(-250 * axis), 2.0)[0] == 2.0
    assert reach(path, post.moved(499.995 * axis), 2.0)[0] == 2.0
    assert reach(path, post.moved(499.98 * axis), 2.0)[0] == pytest.approx(told, abs=1e-4)
    assert reach(path, post.moved(-199.995 * axis), 2.0)[0] == 2.0
    assert reach(path, made([400, -5, 100], [500, 5, 200]), 2.0) == (0.0, True)
    there = path.at(told).corners[0] - about
    assert there[1] @ frame.T == pytest.approx(turned([[1000, -0.03]], math.degrees(told))[0]
                                               .tolist() + [0.0])  # fmt: skip
    low, high = path_bounds([path], np.array([2.0]))
    every = np.concatenate([path.at(t).corners[0] for t in np.linspace(0, 2.0, 4001)])
    assert low[0] == pytest.approx(every.min(axis=0), abs=1e-3)
    assert high[0] == pytest.approx(every.max(axis=0), abs=1e-3)


def test_upright_panels_known_upright_meet_what_others_do():
    """The same turn, with solids that are known to be upright, opening either way."""
    for sign in WAYS:
        panel = box(*np.sort([[0, 0, 0], [1000, -sign * 0.03, 600]], axis=0))
        path = Path(panel, np.array([[0.0, 0, sign]]), np.zeros((1, 3)), np.array([2.0]))
        post = box(*np.sort([[290, sign * 400, 100], [300, sign * 500, 200]], axis=0))
        assert reach(path, post, 2.0)[0] == pytest.approx(math.atan2(400, 300), abs=1e-4)
        for up, stops in ((499.995, False), (499.98, True), (-199.995, False), (-199.98, True)):
            assert (reach(path, post.moved([0, 0, up]), 2.0)[0] < 2.0) is stops
        assert path.at(0.3).faces.upright
        assert not Path(panel, np.array([[1.0, 0, 0]]), np.zeros((1, 3)),
                        np.ones(1)).at(0.3).faces.upright  # fmt: skip


def test_how_axes_lie_and_what_cannot_turn():
    thin = box([0, 0, 0], [10, 1, 5])
    zero = np.zeros((1, 3))
    paths = [
        Path(thin, np.array([[0, 0, -1.0]]), zero, np.ones(1)),
        Path(thin, np.array([[1.0, 0, 0]]), zero, np.ones(1)),
    ]
    turn = turns_of(paths, 2)
    assert turn.kinds == ("upright", "level")
    assert turn.ends[:, 0].tolist() == [[-5.0, 0.0], [0.0, 10.0]]
    assert turn.section.shape == (2, 2, 4, 2)
    for k in range(2):
        assert float(area(turn.section[k])[0]) == pytest.approx([10.0, 5.0][k])
        frame = np.stack([turn.right[k, 0], turn.up[k, 0], turn.axis[k, 0]])
        assert np.linalg.det(frame) == pytest.approx(1.0)
    askew = Path(thin, np.array([[0.6, 0.8, 0]]), zero, np.ones(1))
    with pytest.raises(GeometryError, match="one of its own ways"):
        turns_of([askew], 1)


@pytest.mark.parametrize("axis", [[0, 0, 1.0], [0, 0, -1.0]])
def test_an_eased_leaf_keeps_its_face_and_loses_its_far_corner(axis):
    """600 x 50: the free edge goes from (600, 50) to (sqrt(600² - 50²), 50)."""
    leaf = box([0, 0, 0], [600, 50, 800])
    path = Path(leaf, np.array([axis]), np.zeros((1, 3)), np.array([1.0]))
    (found,) = eased([path])
    moved = found.solid.corners[0] - leaf.corners[0]
    which = (leaf.corners[0, :, 0] == 600) & (leaf.corners[0, :, 1] == 50)
    assert moved[~which] == pytest.approx(np.zeros((6, 3)))
    assert moved[which] == pytest.approx(
        np.array([[math.sqrt(600.0**2 - 50.0**2) - 600.0, 0, 0]] * 2)
    )
    assert found.solid.faces.upright
    lid = Path(leaf, np.array([[0, 1.0, 0]]), np.zeros((1, 3)), np.array([1.0]))
    assert not eased([lid])[0].solid.faces.upright
    off = Path(leaf, np.array([axis]), np.array([[5.0, -5.0, 0]]), np.array([1.0]))
    drawer = Path(leaf, np.array([[1.0, 0, 0]]), None, np.array([1.0]))
    assert eased([drawer, off, path])[:2] == (drawer, off)
    assert eased([]) == ()


def test_shadows_of_what_lies_between_two_ends():
    """A wedge seen along an axis, cut at its ends; nothing where it is past them."""
    wedge = hull([[0, 0, 0], [10, 0, 0], [0, 8, 0], [0, 0, 20.0]])
    edges = wedge.corners[:, wedge.faces.edges]
    ring, casts = shadow(edges[:, :, 0], edges[:, :, 1], np.array([[5.0, 50.0]]))
    assert casts.tolist() == [True]
    assert float(area(ring)[0]) == pytest.approx(40.0 * 0.75**2)
    assert shadow(edges[:, :, 0], edges[:, :, 1], np.array([[25.0, 50.0]]))[1].tolist() == [False]
    plan = np.array([[[0.0, 0], [10, 0], [10, 8], [0, 8]]])
    ring, some = level_shadow(plan, np.array([2.0]), np.array([5.0]), np.array([[4.0, 6.0]]),
                              np.array([[0.6, 0.8, 0]]), np.array([[0.8, -0.6, 0]]))  # fmt: skip
    # Along is 0.6 x + 0.8 y: 4..6 of it is crossed by x = 0 at y 5..7.5 and y = 0 at x 6.7..10.
    assert some.tolist() == [True]
    # across is 0.8 x - 0.6 y: at (0, 7.5) it is -4.5, at (10, 0) it is 8.
    assert ring[0] == pytest.approx(np.array([[-4.5, 2], [8, 2], [8, 5], [-4.5, 5]]))
    up, right = np.array([[0, 1.0, 0]]), np.array([[1.0, 0, 0]])
    for low, high, met in ((0, 4, False), (0, 4.1, True), (6, 9, False), (5.9, 9, True)):
        found, on = upright_shadow(plan, np.array([float(low)]), np.array([float(high)]),
                                   np.array([[4.0, 6.0]]), right, up)  # fmt: skip
        assert found.tolist() == plan.tolist()
        assert on.tolist() == [met]
    mirrored, _ = upright_shadow(plan, np.zeros(1), np.ones(1), np.zeros((1, 2)), -right, up)
    assert float(area(mirrored)[0]) == 80.0


def test_a_section_drawn_in_and_turned_onto_a_corner():
    section = np.array([[[0.0, -40.0], [762, -40], [762, 0], [0, 0]]])
    assert inset(section)[0] == pytest.approx(
        np.array([[0.01, -39.99], [761.99, -39.99], [761.99, -0.01], [0.01, -0.01]])
    )
    sliver = inset(np.array([[[0.0, -0.004], [9, -0.004], [9, 0], [0, 0]]]))[0]
    assert np.ptp(sliver[:, 1]) == pytest.approx(0.004 * 0.002)
    two = np.repeat(section, 2, axis=0)
    rings = np.array([[[300.0, 400], [310, 400], [310, 500], [300, 500]],
                      [[100.0, -50], [110, -50], [110, -10], [100, -10]]])  # fmt: skip
    angle, inside = turn_contact(two, rings, np.array([2.0, 2.0]))
    assert inside.tolist() == [False, True]
    assert angle == pytest.approx([math.atan2(400, 310), 0.0])
    # The far side: turned three quarters on, its back meets what stands below it.
    below = np.array([[[-5.0, -300], [5, -300], [5, -200], [-5, -200]]])
    assert turn_contact(section, below, np.array([6.0]))[0] == pytest.approx(
        [1.5 * math.pi - math.atan2(5.0, 200.0)]
    )


# ---- sweeps


def test_a_drawn_out_drawer_and_one_at_a_slant():
    drawer = Path(box([0, 0, 100], [600, 500, 300]), np.array([[0.0, -1, 0]]), None,
                  np.array([480.0]))  # fmt: skip
    ((swept,), (out,)) = all_swept([drawer, drawer], [np.array([480.0]), np.array([100.0])])
    assert (swept.low.tolist(), swept.high.tolist()) == ([[0, -480, 100]], [[600, 500, 300]])
    assert out.volume.tolist() == [600 * 600 * 200]
    wedge = Path(hull([[0, 0, 7], [4, 0, 7], [0, 4, 7], [0, 0, 11.0]]), np.array([[0.6, 0.8, 0]]),
                 None, np.array([10.0]))  # fmt: skip
    (around,) = swept_solids(wedge, wedge.full)
    assert (around.low.tolist(), around.high.tolist()) == ([[0, 0, 7]], [[10, 12, 11]])


@pytest.mark.parametrize("axis", [[0, 0, 1.0], [0, 0, -1.0], [1.0, 0, 0]])
@pytest.mark.parametrize("angle", [0.4, RIGHT, 3.0])
def test_a_turning_panel_sweeps_its_sector(axis, angle):
    """Thin: 1/2 r² t long; the rounding is 0.05 mm about an upright axis, 1 mm about a level."""
    low, high = ([0, -1e-3, 0], [900, 1e-3, 500]) if axis[2] else ([0, -1e-3, 0], [500, 1e-3, 900])
    path = Path(box(low, high), np.array([axis]), np.zeros((1, 3)), np.array([angle]))
    (swept,) = swept_solids(path, path.full)
    exact = 0.5 * 900.0**2 * angle * 500.0
    assert exact * (1 - 1e-5) <= float(swept.volume[0])
    slack = 0.05 if axis[2] else 1.0
    assert float(swept.volume[0]) <= exact * (1 - 1e-5) + 900 * angle * 500 * slack
    many = all_swept([Path(path.solid, path.axis, path.about, np.array([4.0]))], [np.array([4.0])])
    assert len(many[0]) == 2
    assert sum(float(s.volume[0]) for s in many[0]) == pytest.approx(
        0.5 * 900.0**2 * 4.0 * 500.0, rel=3e-3
    )
