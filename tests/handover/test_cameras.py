"""Tests for the standard views: each shows what it is for."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from massing.handover.cameras import standard_cameras
from massing.handover.model import Model
from massing.handover.registry import write
from tests.handover.validator import validate

ROOMS = [
    ((0, 0, 0), (6000, 2400, 2750)),
    ((-900, 4000, -180), (100, 9000, 1900)),
    ((0, 0, 0), (100, 100, 9000)),
]


def seen(camera, point):
    """Right, up and ahead of the eye, mm."""
    ahead = np.subtract(camera.target, camera.eye).astype(float)
    ahead /= np.linalg.norm(ahead)
    right = np.cross(ahead, camera.up)
    right /= np.linalg.norm(right)
    away = np.subtract(point, camera.eye)
    return away @ right, away @ np.cross(right, ahead), away @ ahead


@pytest.mark.parametrize(("low", "high"), ROOMS)
def test_parallel_views_hold_the_whole_room(low, high):
    """Every corner of the bounds lies inside the frame, and nearer than far."""
    for camera in standard_cameras(low, high)[1:]:
        for corner in itertools.product(*zip(low, high, strict=True)):
            right, up, ahead = seen(camera, corner)
            assert abs(right) < camera.height * camera.aspect / 2
            assert abs(up) < camera.height / 2
            assert ahead < camera.far


@pytest.mark.parametrize(("low", "high"), ROOMS)
def test_plan_has_the_back_up_and_sections_have_the_ceiling_up(low, high):
    _, plan, long, cross = standard_cameras(low, high)
    middle = np.add(low, high) / 2

    assert seen(plan, np.add(middle, (0, 10, 0)))[1] > seen(plan, middle)[1]
    assert seen(plan, np.add(middle, (10, 0, 0)))[0] > seen(plan, middle)[0]
    for section in (long, cross):
        assert seen(section, np.add(middle, (0, 0, 10)))[1] > seen(section, middle)[1]
        assert seen(section, middle)[2] == 0.0
    assert seen(long, np.add(middle, (10, 0, 0)))[0] > 0
    assert seen(cross, np.add(middle, (0, -10, 0)))[0] > 0


def test_the_eye_stands_inside_at_its_height_and_looks_level():
    eye = standard_cameras((0, 0, 100), (6000, 2400, 2750), eye_height=1500)[0]

    assert (eye.eye[2], eye.target[2]) == (1600, 1600)
    assert 0 < eye.eye[0] < 6000
    assert 0 < eye.eye[1] < 2400


def test_a_cut_plan_leaves_out_what_is_higher():
    plan = standard_cameras((0, 0, 100), (6000, 2400, 2750), cut=1200)[1]

    assert seen(plan, (0, 0, 1299))[2] > 0 > seen(plan, (0, 0, 1301))[2]


def test_they_are_valid(tmp_path):
    model = Model("views", (), standard_cameras(*ROOMS[0]))

    assert validate(write(model, tmp_path / "views.glb")[0])["messages"] == []
