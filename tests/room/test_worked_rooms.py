"""Tests of floor, volume and height bands against worked rooms and published solids.

The solids are published or derived values, each with its source. The boathouse and the loft are
this project's own worked examples, worked by hand and kept apart from them.
"""

from __future__ import annotations

import math

import pytest

from massing.room.cells import cells
from massing.room.measure import area_where, floor_area, height_bands, volume
from tests.zoo import named_room, room_from

M2, M3 = 1e6, 1e9


def test_the_boathouse():
    """Own worked example: 14.40 m² of floor, 32.803 m³."""
    room = named_room("boathouse")

    assert floor_area(room) / M2 == pytest.approx(14.40, abs=1e-9)
    # 6 x 2.4 x 2.35 less the second pour, 2.4 x 2.4 x 0.18.
    assert volume(room) / M3 == pytest.approx(33.84 - 1.0368, abs=1e-9)
    assert round(volume(room) / M3, 3) == 32.803
    assert area_where(room, at_least=2000) / M2 == pytest.approx(12.204, abs=1e-9)
    assert area_where(room, at_least=1900) / M2 == pytest.approx(13.464, abs=1e-9)
    assert [w.length[0] for w in room.walls] == [6000, 2400, 6000, 2400]
    assert room.openings[0].sill[0] == 180


def test_the_loft():
    """Own worked example: 18.24 m² of net floor, 29.726 m³ with the breast taken out."""
    room = named_room("loft")
    none, half, full, standing = (band.area / M2 for band in height_bands(room))

    assert floor_area(room) / M2 == pytest.approx(18.24, abs=1e-9)
    assert floor_area(room, net=False) / M2 == pytest.approx(18.72, abs=1e-9)
    assert round(volume(room) / M3, 3) == 29.726
    assert volume(room, net=False) > volume(room)
    assert (none, half) == pytest.approx((0.0, 7.488), abs=1e-9)
    assert full + standing == pytest.approx(10.752, abs=1e-9)
    assert standing == pytest.approx(4.608, abs=1e-9)
    assert area_where(room, at_least=1900) / M2 == pytest.approx(5.760, abs=1e-9)


def test_a_prism_under_one_plane_is_measured_at_its_centroid():
    """14.333333 m³, where the mean of the corners would say 14.25.

    Source: derived; a prism under one plane is area times height at the centroid.
    """
    got = volume(named_room("trapezium")) / M3

    assert got == pytest.approx(43 / 3, abs=1e-12)
    assert got != pytest.approx(14.25, abs=1e-2)


def test_a_hip_roof_with_a_ridge():
    """With a = 6, b = 4, ridge c = 3, h = 2: V = b h (2 a + c) / 6 = 20.

    Source: derived; the prismatoid formula h/6 (A1 + 4 Am + A2) gives the same.
    """
    end = math.degrees(math.atan2(2000, 1500))
    room = room_from(
        f"""
        size: 6000 x 4000
        ceiling:
          - hip: {{eaves: 0, pitch: {{south: 45, north: 45, east: {end:.12f}, west: {end:.12f}}}}}
        """
    )

    assert volume(room) / M3 == pytest.approx(20.0, abs=1e-9)
    assert len(cells(room)) == 4


def test_a_pyramid_frustum():
    """4 x 4 to 2 x 2, height 3: 28.

    Source: derived; h/3 (A1 + A2 + sqrt(A1 A2)).
    """
    room = room_from(
        """
        size: 4000 x 4000
        ceiling: [{hip: {eaves: 0, pitch: "3:1"}, collar: 3000}]
        """
    )

    assert volume(room) / M3 == pytest.approx(28.0, abs=1e-9)
    assert area_where(room, at_least=3000) / M2 == pytest.approx(4.0, abs=1e-9)


def test_a_dual_pitch_with_its_ridge_off_centre():
    """Triangle of area half base times height, wherever the apex. Source: Euclid I.41."""
    room = room_from(
        """
        size: 3000 x 4000
        ceiling: [{ridge: {along: x, at: 1100, height: 2200}, eaves: {south: 0, north: 0}}]
        """
    )

    assert volume(room) / M3 == pytest.approx(3.0 * 0.5 * 4.0 * 2.2, abs=1e-9)


def test_a_bulkhead_lowers_and_a_dormer_replaces():
    """Taking the lower leaves a slope that is already lower alone; replacing does not."""
    base = "size: 4000 x 2000\nceiling:\n  - {slopes: {south: 1000, north: 3000}}\n"
    lowered = room_from(base + "  - {area: 0..1000 x 0..2000, flat: 2000, lowers: yes}\n")
    replaced = room_from(base + "  - {area: 0..1000 x 0..2000, flat: 2000}\n")
    plain = room_from(base)

    # The slope's top half over the metre: a triangle 1000 by 1000.
    assert volume(plain) - volume(lowered) == pytest.approx(1000 * 0.5 * 1000 * 1000)
    assert volume(replaced) == pytest.approx(volume(plain))


def test_clear_height_under_a_beam_is_counted_when_asked_for():
    """A beam 150 wide takes no floor, but its strip is no longer 2000 clear."""
    room = room_from(
        """
        size: 4000 x 3000
        ceiling: [{flat: 2300}]
        fabric: [{name: tie beam, box: 0..4000 x 1200..1350 x 1950..2200}]
        """
    )

    assert floor_area(room) / M2 == pytest.approx(12.0)
    assert area_where(room, at_least=2000) / M2 == pytest.approx(12.0)
    assert area_where(room, at_least=2000, under_fabric=True) / M2 == pytest.approx(12.0 - 0.6)
    assert volume(room) / M3 == pytest.approx(27.6 - 4.0 * 0.15 * 0.25)


def test_two_beams_that_cross_are_taken_out_once():
    room = room_from(
        """
        size: 4000 x 3000
        ceiling: [{flat: 2300}]
        fabric:
          - {name: long beam, box: 0..4000 x 1000..1200 x 2100..2300}
          - {name: cross beam, box: 1000..1200 x -100..3100 x 2000..2400}
        """
    )
    long, cross = 4.0 * 0.2 * 0.2, 0.2 * 3.0 * 0.3

    assert volume(room) / M3 == pytest.approx(27.6 - long - cross + 0.2 * 0.2 * 0.2)


def test_a_pitch_gauge_gives_the_same_slope_as_two_heights():
    by_pitch = room_from("size: 3000 x 2400\nceiling: [{slopes: {south: 1950}, pitch: '1:3'}]")
    by_height = room_from("size: 3000 x 2400\nceiling: [{slopes: {south: 1950, north: 2750}}]")

    assert volume(by_pitch) == pytest.approx(volume(by_height), rel=1e-12)
