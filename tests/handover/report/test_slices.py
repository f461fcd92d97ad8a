"""What an upright plane cuts, against volumes and against corners known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.geometry.polygons import area
from massing.geometry.solids import box, prism
from massing.handover.report.slices import Line, cut_room, cut_solid
from tests.handover.report.projects import boathouse

angles = st.floats(0.0, 6.28)


def _line(x, y, angle):
    return Line(np.array([x, y]), np.array([np.cos(angle), np.sin(angle)]))


@given(angles, st.floats(-900, 900))
def test_areas_of_parallel_cuts_add_up_to_the_volume(angle, shift):
    """Law (Cavalieri): the cut areas across a solid integrate to its volume."""
    ring = np.array([[[0.0, 0.0], [900.0, 100.0], [700.0, 800.0], [100.0, 600.0]]])
    solid = prism(ring + shift, 100.0, 700.0)
    left = np.array([-np.sin(angle), np.cos(angle)])
    off = solid.corners[0, :, :2] @ left
    places = np.linspace(off.min(), off.max(), 401)
    step = places[1] - places[0]
    middles = (places[1:] + places[:-1]) / 2
    way = np.array([np.cos(angle), np.sin(angle)])
    total = 0.0
    for place in middles:
        cut = cut_solid(solid, Line(left * place, way))
        total += float(area(cut[None])[0]) * step if len(cut) else 0.0
    assert total == pytest.approx(float(solid.volume[0]), rel=2e-3)


def test_touching_is_not_cut():
    assert len(cut_solid(box([0, 0, 0], [10, 10, 10]), _line(0.0, 10.0, 0.0))) == 0


@given(st.floats(1.0, 2399.0))
def test_a_room_cut_along(y):
    """Across the boathouse: two levels of floor, the ceiling at 1950 + y / 3."""
    pieces = cut_room(boathouse("as found").layout.room, _line(0.0, y, 0.0))
    assert [(round(p[0]), round(p[1]), p[2]) for p in pieces] == [(0, 3600, 0), (3600, 6000, 180)]
    for piece in pieces:
        assert piece[4] == pytest.approx(1950 + y / 3, abs=1e-6)
