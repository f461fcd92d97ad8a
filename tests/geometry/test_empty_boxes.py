"""Tests for massing.geometry.space.empty_boxes and its sibling modules."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Floats, box, hull, prism
from massing.geometry.space.empty_boxes import (
    CeilingCell,
    EmptyBoxes,
    Wanted,
    largest_empty_boxes,
    penetrations,
)
from massing.geometry.space.empty_boxes_room import contact_rows, surround
from tests.oracles_voids import (
    blocked_voxels,
    largest_by_every_side,
    largest_by_growing,
    largest_voxel_box,
    overlap_volume,
)
from tests.scenes_voids import SIZE, kept_above, pitched, rect, small_room, tent_scene, turned_body


def assert_useful(found: EmptyBoxes, ceiling: Floats, solids: Sequence[Convex]) -> None:
    """Every box is under the ceiling, clear of every solid and of the other boxes, and proved."""
    assert found.proved.all()
    for k, one in enumerate(found.boxes):
        over = np.array([(x, y, 1.0) for x in one[[0, 3]] for y in one[[1, 4]]])
        assert one[5] <= (over @ ceiling.T).min() + 1e-6
        earlier = [box(other[:3], other[3:]) for other in found.boxes[:k]]
        assert penetrations(one, [*solids, *earlier]).max(initial=-1.0) <= 1e-6
    assert (np.diff(found.volumes) <= found.volumes[:-1] * 1e-9).all()


class TestAgainstEverySide:
    """Square bodies, one slope: against every pair of sides."""

    def test_optimum_of_small_rooms(self) -> None:
        """Equal to the exhaustive answer in 240 rooms, flat and sloping, with and without ties."""
        for seed in range(240):
            size, slope, eaves, obstacles = small_room(seed)
            want = largest_by_every_side(size, slope, eaves, obstacles)
            found = largest_empty_boxes(pitched(size, slope, eaves), obstacles)
            got = float(found.volumes[0]) if len(found.volumes) else 0.0
            assert got == pytest.approx(want, rel=1e-12, abs=1e-3), seed
            assert found.proved.all()

    def test_sees_a_missing_obstacle(self) -> None:
        """Planted fault: a search blind to one body is found out."""
        caught = 0
        for seed in range(30):
            size, slope, eaves, obstacles = small_room(seed)
            blind = largest_empty_boxes(pitched(size, slope, eaves), obstacles[:-1])
            want = largest_by_every_side(size, slope, eaves, obstacles)
            caught += blind.volumes[0] > want * (1 + 1e-9)
        assert caught >= 8

    def test_sees_a_ceiling_read_at_the_wrong_corner(self) -> None:
        """Planted fault: a slope taken at its mean height is found out."""
        size, obstacles = np.array([3000.0, 2000.0]), np.zeros((0, 6))
        wrong = largest_empty_boxes(pitched(size, 0.0, 1000 + 0.5 * 1000), obstacles)
        assert wrong.volumes[0] > 1.1 * largest_by_every_side(size, 0.5, 1000, obstacles)


class TestSlantedRooms:
    """Several slopes, yawed bodies and wedges: against growing and mesh booleans."""

    def test_never_beaten_by_growing(self) -> None:
        """Min-of-planes ceilings with yawed bodies and wedges: nothing grown by hand is larger."""
        closest = 0.0
        for seed in range(25):
            room, ceiling, solids = tent_scene(seed)
            found = largest_empty_boxes(room, None, solids, count=2)
            assert_useful(found, ceiling, solids)
            for one in found.boxes:
                assert sum(overlap_volume(one, solid) for solid in solids) < 1.0
            low, high = np.zeros(3), surround(room).high
            rng = np.random.default_rng(seed)
            grown, _ = largest_by_growing(low, high, ceiling, solids, 6, rng)
            assert grown <= found.volumes[0] * (1 + 1e-9)
            closest = max(closest, grown / found.volumes[0])
        assert closest > 0.98

    def test_growing_beats_a_phantom(self) -> None:
        """Planted fault: a search that believes in a body that is not there is beaten."""
        beaten = 0
        for seed in range(6):
            room, ceiling, solids = tent_scene(seed)
            best = largest_empty_boxes(room, None, solids).boxes[0]
            middle = (best[:3] + best[3:]) / 2
            phantom = np.concatenate([middle - 1, middle + 1])[None]
            shy = largest_empty_boxes(room, phantom, solids)
            high = surround(room).high
            rng = np.random.default_rng(seed)
            grown, _ = largest_by_growing(np.zeros(3), high, ceiling, solids, 12, rng)
            beaten += grown > shy.volumes[0] * (1 + 1e-9)
        assert beaten >= 4

    def test_penetration_sees_one_millimetre(self) -> None:
        """Planted fault: a box pushed 1 mm into a tilted solid is found out, by both judges."""
        solid = hull([[0, 0, 0], [1000, 0, 0], [0, 1000, 0], [0, 0, 1000]])
        clear = np.array([400.0, 400.0, 200.0, 900.0, 900.0, 900.0])
        pushed = clear - 1.0
        assert penetrations(clear, [solid])[0] == pytest.approx(0.0, abs=1e-9)
        assert penetrations(pushed, [solid])[0] == pytest.approx(3**0.5, rel=1e-9)
        assert overlap_volume(clear, solid) == pytest.approx(0.0, abs=1e-6)
        assert overlap_volume(pushed, solid) == pytest.approx(4.5, rel=1e-6)

    def test_contact_planes_part_or_meet(self) -> None:
        """Clear by the contact planes exactly when the mesh boolean finds no common volume."""
        rng = np.random.default_rng(7)
        both = set()
        for _ in range(300):
            solid = turned_body(rng)
            low = rng.uniform([0, 0, 0], [3000, 2000, 1500])
            one = np.concatenate([low, low + rng.uniform(50, 900, 3)])
            depth = float(penetrations(one, [solid])[0])
            if abs(depth) > 1e-3:
                assert (depth > 0) == (overlap_volume(one, solid) > 1e-9)
                both.add(depth > 0)
        assert both == {True, False}


class TestAgainstVoxels:
    """Against cubes, and the cubes against themselves."""

    def test_voxel_box_of_tiny_grids(self) -> None:
        """The voxel oracle itself, against every box of small random grids."""
        rng = np.random.default_rng(3)
        for _ in range(20):
            blocked = rng.random((4, 5, 4)) < 0.25
            best = 0
            spans = [(a, b) for a in range(5) for b in range(a + 1, 6)]
            for x0, x1 in spans:
                for y0, y1 in spans:
                    for z0, z1 in spans:
                        part = blocked[x0:x1, y0:y1, z0:z1]
                        whole = (x1 - x0) * (y1 - y0) * (z1 - z0)
                        if part.size == whole and not part.any():
                            best = max(best, whole)
            assert largest_voxel_box(blocked)[0] == best

    def test_never_beaten_and_close(self) -> None:
        """Cubes of 100 mm among yawed bodies under a slope find less, but not much less."""
        rng = np.random.default_rng(11)
        plane = np.array([0.0, 0.7, 1000.0])
        room = [CeilingCell(rect(0, 0, *SIZE), 0.0, plane)]
        for _ in range(5):
            solids = [s for s in (turned_body(rng) for _ in range(8)) if s.faces.upright]
            blocked = blocked_voxels(
                np.zeros(3), np.array([3000.0, 2000.0, 2400.0]), plane[None], solids, 100.0
            )
            seen = largest_voxel_box(blocked)[0] * 100.0**3
            found = largest_empty_boxes(room, None, solids).volumes[0]
            assert 0.5 * found < seen <= found * (1 + 1e-9)

    def test_sees_a_missing_obstacle(self) -> None:
        """Planted fault: forgetting the body in the middle makes the voxel search win."""
        body = prism([[1000, 500], [2000, 600], [1900, 1500], [1100, 1400]], 0, 2000)
        high, plane = np.array([3000.0, 2000.0, 2000.0]), np.array([[0.0, 0.0, 2000.0]])
        found = largest_empty_boxes(pitched(SIZE, 0.0, 2000.0), None, [body]).volumes[0]
        seen = largest_voxel_box(blocked_voxels(np.zeros(3), high, plane, [], 100.0))[0] * 1e6
        assert seen > found


class TestPublishedValues:
    """Optima with a closed form."""

    @pytest.mark.parametrize(
        ("total", "volume", "corner"), [(6, 4 / 3, (2, 1, 2 / 3)), (9, 4.5, (3, 1.5, 1))]
    )
    def test_box_under_a_plane(
        self, total: float, volume: float, corner: tuple[float, float, float]
    ) -> None:
        """Largest box under x + 2y + 3z = 6 and = 9: abc/27 (textbook calculus problem)."""
        a, b, c = 1000.0 * total, 500.0 * total, 1000.0 * total / 3
        plan = np.array([[0.0, 0.0], [a, 0.0], [0.0, b]])
        found = largest_empty_boxes([CeilingCell(plan, 0.0, np.array([-c / a, -c / b, c]))])
        assert found.volumes[0] == pytest.approx(volume * 1e9, rel=1e-12)
        assert found.boxes[0, 3:] == pytest.approx(1000 * np.array(corner), rel=1e-9)

    @pytest.mark.parametrize(("b", "h"), [(3000.0, 2000.0), (1234.5, 4321.0)])
    def test_rectangle_in_a_right_triangle(self, b: float, h: float) -> None:
        """Largest rectangle in a right triangle is bh/4 (classical, from memory): plan, section."""
        plan = np.array([[0.0, 0.0], [b, 0.0], [0.0, h]])
        flat = largest_empty_boxes([CeilingCell(plan, 0.0, np.array([0.0, 0.0, 2000.0]))])
        assert flat.volumes[0] == pytest.approx(b * h / 4 * 2000, rel=1e-12)
        roof = largest_empty_boxes([CeilingCell(rect(0, 0, b, 700), 0.0, np.array([h / b, 0, 0]))])
        assert roof.volumes[0] == pytest.approx(b * h / 4 * 700, rel=1e-12)


class TestRooms:
    """Rooms of several cells."""

    def test_symmetric_hip(self) -> None:
        """Four slopes rising 1:1 from 500 mm eaves over 4 m square: best by calculus, 1-D."""
        planes = np.array([[1, 0, 500], [-1, 0, 4500], [0, 1, 500], [0, -1, 4500.0]])
        cells = []
        for k, plane in enumerate(planes):
            plan = rect(0, 0, 4000, 4000)
            for other in np.delete(planes, k, axis=0):
                plan = kept_above(plan, other - plane)
            cells.append(CeilingCell(plan, 0.0, plane))
        found = largest_empty_boxes(cells)
        # (4000 - 2 s)^2 (500 + s) is largest at s = 1000 / 3
        s = 1000 / 3
        assert found.volumes[0] == pytest.approx((4000 - 2 * s) ** 2 * (500 + s), rel=1e-9)
        assert found.boxes[0, :2] == pytest.approx([s, s], abs=0.1)

    def test_steps_and_corners_are_solid(self) -> None:
        """In an L with a raised floor and a lower slab the best box stays in one piece."""
        room = [
            CeilingCell(rect(0, 0, 3000, 2000), 0.0, np.array([0.0, 0.0, 2400.0])),
            CeilingCell(rect(3000, 0, 5000, 2000), 150.0, np.array([0.0, 0.0, 2000.0])),
            CeilingCell(rect(0, 2000, 1000, 5000), 0.0, np.array([0.0, 0.0, 2400.0])),
        ]
        found = largest_empty_boxes(room, count=3)
        assert found.boxes.tolist() == [
            [0, 0, 150, 5000, 2000, 2000],
            [0, 2000, 0, 1000, 5000, 2400],
            [0, 0, 2000, 3000, 2000, 2400],
        ]

    @pytest.mark.parametrize(
        ("plans", "missing"),
        [
            (  # an L cut into cells along slanted lines
                [
                    [[0, 0], [2000, 0], [1000, 1000]],
                    [[2000, 0], [4000, 0], [4000, 1000], [1000, 1000]],
                    [[0, 0], [1000, 1000], [1000, 3000], [0, 3000]],
                ],
                [[1000, 1000], [4000, 1000], [4000, 3000], [1000, 3000]],
            ),
            (  # a corner cut off
                [[[0, 0], [4000, 0], [4000, 1000], [1000, 3000], [0, 3000]]],
                [[4000, 1000], [4000, 3000], [1000, 3000]],
            ),
            (  # a wedge driven in from one wall
                [
                    [[0, 0], [2000, 0], [2000, 1500], [1000, 3000], [0, 3000]],
                    [[2000, 0], [4000, 0], [4000, 3000], [3000, 3000], [2000, 1500]],
                ],
                [[1000, 3000], [2000, 1500], [3000, 3000]],
            ),
        ],
    )
    def test_plan_outside_is_solid(
        self, plans: list[list[list[float]]], missing: list[list[float]]
    ) -> None:
        """A plan with a piece missing is the whole plan with that piece solid."""
        level = np.array([0.0, 0.2, 1500.0])
        pieces = [CeilingCell(np.array(plan, dtype=float), 0.0, level) for plan in plans]
        whole = [CeilingCell(rect(0, 0, 4000, 3000), 0.0, level)]
        a = largest_empty_boxes(pieces, count=3)
        b = largest_empty_boxes(whole, None, [prism(missing, -10, 3000)], count=3)
        assert a.proved.all()
        assert a.volumes == pytest.approx(b.volumes, rel=1e-8)

    def test_impossible_rooms_are_refused(self) -> None:
        """No cells, a clockwise or re-entrant plan, a ceiling under its floor, a box inside out."""
        level = np.array([0.0, 0.0, 2000.0])
        arrow = np.array([[0, 0], [2000, 0], [500, 500], [0, 2000.0]])
        for room in (
            [],
            [CeilingCell(rect(0, 0, 1000, 1000)[::-1], 0.0, level)],
            [CeilingCell(arrow, 0.0, level)],
            [CeilingCell(rect(0, 0, 1000, 1000), 2500.0, level)],
        ):
            with pytest.raises(GeometryError):
                largest_empty_boxes(room)
        with pytest.raises(GeometryError, match="high corner"):
            largest_empty_boxes(pitched(SIZE, 0.0, 2000.0), np.array([[0, 0, 0, -1, 1, 1.0]]))


class TestWanted:
    """What makes a box useful."""

    AISLE = np.array([[0.0, 1000.0, 0.0, 5000.0, 1800.0, 2000.0]])
    HALL = (CeilingCell(rect(0, 0, 5000, 3000), 0.0, np.array([0.0, 0.0, 2400.0])),)

    def test_opens_on_an_aisle(self) -> None:
        """The larger side of the room counts until a wall shuts it off."""
        wish = Wanted(aisles=self.AISLE, opening=(500, 500))
        found = largest_empty_boxes(self.HALL, self.AISLE, wanted=wish)
        assert found.boxes.tolist() == [[0, 1800, 0, 5000, 3000, 2400]]
        wall = np.array([[0.0, 1800.0, 0.0, 5000.0, 1850.0, 2400.0]])
        shut = largest_empty_boxes(self.HALL, np.vstack([self.AISLE, wall]), count=3, wanted=wish)
        assert shut.boxes.tolist() == [[0, 0, 0, 5000, 1000, 2400]]
        assert shut.proved.all()

    def test_a_narrow_mouth_is_no_opening(self) -> None:
        """A wall with a 400 mm mouth: the alcove counts for 400 mm openings, not for 401."""
        wall = np.array([[0, 1800, 0, 4600, 1801, 2400.0], [0, 0, 0, 5000, 1000, 2400.0]])
        blocked = np.vstack([self.AISLE, wall])
        for opening, depth in ((400.0, 400.0), (401.0, None)):
            wish = Wanted(aisles=self.AISLE, opening=(opening, 500))
            found = largest_empty_boxes(self.HALL, blocked, wanted=wish)
            if depth is None:
                assert len(found.boxes) == 0
            else:
                assert found.boxes.tolist() == [[4600, 1800, 0, 5000, 3000, 2400]]

    def test_smallest_sides_and_turning(self) -> None:
        """A 500 x 2900 slot is no use for 600 wide; a 2900 deep one only when turned."""
        room = pitched(np.array([500.0, 2900.0]), 0.0, 2000.0)
        for smallest, turnable, count in (
            ((600.0, 400.0, 100.0), False, 0),
            ((600.0, 400.0, 100.0), True, 1),
            ((600.0, 501.0, 100.0), True, 0),
            ((500.0, 2900.0, 2000.0), False, 1),
        ):
            wish = Wanted(smallest=smallest, turnable=turnable)
            assert len(largest_empty_boxes(room, wanted=wish).boxes) == count

    def test_smallest_sides_are_kept_under_a_slope(self) -> None:
        """The best box is 1000 wide; asked for 1400, the best of those is found."""
        room = [CeilingCell(rect(0, 0, 2000, 1000), 0.0, np.array([1.0, 0.0, 0.0]))]
        found = largest_empty_boxes(room, wanted=Wanted(smallest=(1400.0, 1.0, 1.0)))
        assert found.boxes[0] == pytest.approx([600, 0, 0, 2000, 1000, 600], abs=1e-6)

    def test_reach(self) -> None:
        """Nothing above the reach of the top, and nothing based above the reach of the base."""
        room = pitched(SIZE, 0.0, 2400.0)
        low = largest_empty_boxes(room, wanted=Wanted(top_at_most=1800.0))
        assert low.boxes[0, 5] == 1800.0
        shelf = np.array([[0.0, 0.0, 0.0, 3000.0, 2000.0, 1900.0]])
        assert not len(largest_empty_boxes(room, shelf, wanted=Wanted(base_at_most=1800.0)).boxes)

    def test_node_cap_gives_a_bound(self) -> None:
        """Cut short, the boxes are still empty and the truth lies between them and the bound."""
        rng = np.random.default_rng(8)
        room, solids = pitched(SIZE, 0.4, 1200.0), [turned_body(rng) for _ in range(12)]
        true = largest_empty_boxes(room, None, solids).volumes[0]
        for cap in (0, 1, 5, 20):
            found = largest_empty_boxes(room, None, solids, wanted=Wanted(most_nodes=cap))
            assert penetrations(found.boxes[0], solids).max(initial=-1.0) <= 1e-6
            assert found.volumes[0] <= true * (1 + 1e-9)
            assert found.bounds[0] >= true * (1 - 1e-9)
            assert found.proved[0] == (found.volumes[0] >= found.bounds[0] * (1 - 1e-6))
        capped = largest_empty_boxes(room, None, solids, wanted=Wanted(most_nodes=0))
        assert not capped.proved[0]


class TestLaws:
    """What must hold whatever the scene."""

    @settings(deadline=None, max_examples=40)
    @given(st.integers(0, 10_000))
    def test_another_body_frees_nothing(self, seed: int) -> None:
        """Adding an obstacle never enlarges the largest box."""
        room, _, solids = tent_scene(seed)
        extra = turned_body(np.random.default_rng(seed + 1))
        before = largest_empty_boxes(room, None, solids).volumes[0]
        after = largest_empty_boxes(room, None, [*solids, extra]).volumes
        assert after.max(initial=0.0) <= before * (1 + 1e-9)

    @settings(deadline=None, max_examples=40)
    @given(st.integers(0, 10_000), st.sampled_from(["mirror", "quarter", "half", "shift"]))
    def test_moving_everything_keeps_the_optimum(self, seed: int, how: str) -> None:
        """Mirrored, turned by quarters or shifted, the room holds an equally large box."""
        room, _, solids = tent_scene(seed)
        matrix = {
            "mirror": np.diag([-1.0, 1.0]),
            "quarter": np.array([[0.0, -1.0], [1.0, 0.0]]),
            "half": np.diag([-1.0, -1.0]),
            "shift": np.eye(2),
        }[how]
        shift = np.array([4321.5, -77.25])
        cells = []
        for cell in room:
            plan = cell.plan @ matrix.T + shift
            slope = matrix @ cell.plane[:2]
            level = cell.plane[2] - slope @ shift
            plan = plan[::-1] if how == "mirror" else plan
            cells.append(CeilingCell(plan, cell.floor, np.array([*slope, level])))
        moved = []
        for solid in solids:
            corners = solid.corners[0].copy()
            corners[:, :2] = corners[:, :2] @ matrix.T + shift
            moved.append(hull(corners))
        here = largest_empty_boxes(room, None, solids).volumes[0]
        assert largest_empty_boxes(cells, None, moved).volumes[0] == pytest.approx(here, rel=1e-8)

    @settings(deadline=None, max_examples=30)
    @given(st.integers(0, 10_000))
    def test_the_order_of_boxes_changes_nothing(self, seed: int) -> None:
        """Not even which of several equal boxes comes first."""
        size, slope, eaves, obstacles = small_room(seed)
        room = pitched(size, slope, eaves)
        found = largest_empty_boxes(room, obstacles, count=4)
        again = largest_empty_boxes(room, obstacles[::-1], count=4)
        assert found.boxes.tolist() == again.boxes.tolist()

    def test_a_box_and_the_same_box_as_a_solid(self) -> None:
        """Square solids have no tilted planes and count as boxes."""
        for seed in range(12):
            size, slope, eaves, obstacles = small_room(seed)
            room = pitched(size, slope, eaves)
            solids = [box(row[:3], row[3:]) for row in obstacles]
            a = largest_empty_boxes(room, obstacles, count=3)
            b = largest_empty_boxes(room, None, solids, count=3)
            assert a.volumes == pytest.approx(b.volumes, rel=1e-9)
            assert all(len(contact_rows(solid)) == 0 for solid in solids)
