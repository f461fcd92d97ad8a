"""Tests for massing.geometry.space.balance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Faces, Floats, box, hull, prism
from massing.geometry.space import balance
from massing.geometry.space.balance import BANDS, volume_balance
from massing.geometry.space.balance_compiled import shared_volumes
from massing.geometry.space.empty_boxes_room import CeilingCell


def rect(x0: float, y0: float, x1: float, y1: float) -> Floats:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


FLAT = (CeilingCell(rect(0, 0, 4000, 3000), 0.0, np.array([0.0, 0.0, 2400.0])),)
SLOPED = (CeilingCell(rect(0, 0, 4000, 3000), 0.0, np.array([0.0, 0.5, 900.0])),)


def cuboids(rng: np.random.Generator, count: int, *, whole: bool) -> Floats:
    """Boxes about the flat room, some sticking out of it; whole ones share faces and edges."""
    low = rng.uniform([-300, -300, -300], [3900, 2900, 2300], (count, 3))
    size = rng.uniform(50, 1500, (count, 3))
    if whole:
        low, size = np.round(low, -2), np.maximum(np.round(size, -2), 100)
    return np.hstack([low, low + size])


def by_compressed_grid(groups: Sequence[Floats], bands: Sequence[float]) -> Floats:
    """Volume by group and band in the flat room: every cell between all the sides counted once."""
    every = np.vstack(groups)
    room = np.array([0, 0, 0, 4000, 3000, 2400.0])
    cuts = []
    for k in range(3):
        extra = list(bands) if k == 2 else []
        sides = np.concatenate([every[:, k], every[:, 3 + k], room[[k, 3 + k]], extra])
        cuts.append(np.unique(np.clip(sides, room[k], room[3 + k])))
    middles = [(cut[1:] + cut[:-1]) / 2 for cut in cuts]
    size = np.einsum("i,j,k->ijk", *(np.diff(cut) for cut in cuts))
    owner = np.full(size.shape, len(groups))
    for number in reversed(range(len(groups))):
        for row in groups[number]:
            inside = [(m > row[k]) & (m < row[3 + k]) for k, m in enumerate(middles)]
            owner[np.ix_(*inside)] = number
    band = np.searchsorted(np.array(bands), middles[2])
    return np.array(
        [
            [
                size[:, :, band == b][owner[:, :, band == b] == n].sum()
                for b in range(len(bands) + 1)
            ]
            for n in range(len(groups) + 1)
        ]
    )


def as_solids(table: Floats) -> list[Convex]:
    return [box(row[:3], row[3:]) for row in table]


class TestAgainstCompressedGrid:
    """Boxes only: against counting the cells between all sides."""

    @pytest.mark.parametrize("seed", range(8))
    def test_boxes(self, seed: int) -> None:
        """Same volume in every group and band, with and without shared faces."""
        rng = np.random.default_rng(seed)
        tables = [cuboids(rng, int(rng.integers(1, 12)), whole=bool(seed % 2)) for _ in range(3)]
        names = ["bodies", "motions", "activity"]
        groups = [(name, as_solids(table)) for name, table in zip(names, tables, strict=True)]
        found = volume_balance(FLAT, groups)
        want = by_compressed_grid(tables, BANDS)
        assert found.volumes == pytest.approx(want, rel=1e-9, abs=1e-9 * found.room)
        assert found.names == (*names, "unused")

    def test_sees_a_missing_body(self) -> None:
        """Planted fault: one body left out shows in the comparison."""
        table = cuboids(np.random.default_rng(1), 6, whole=False)
        found = volume_balance(FLAT, [("bodies", as_solids(table[:-1]))])
        want = by_compressed_grid([table], BANDS)
        assert np.abs(found.volumes - want).max() > 1e-6 * found.room


class TestKnownVolumes:
    """Volumes worked by hand."""

    def test_bands_under_a_slope(self) -> None:
        """Ceiling 900 + y / 2: up to 1200 all but a wedge over the first 600 mm of depth."""
        found = volume_balance(SLOPED, [], bands=[1200.0])
        wedge = 4000 * 600 * 300 / 2
        assert found.room == pytest.approx(4000 * 3000 * 1650, rel=1e-12)
        assert found.volumes[0, 0] == pytest.approx(4000 * 3000 * 1200 - wedge, rel=1e-12)
        assert found.totals["unused"] == pytest.approx(found.room, rel=1e-12)

    def test_bands_follow_the_local_floor(self) -> None:
        """On a 150 mm step the 900 band ends 150 mm higher."""
        level = np.array([0.0, 0.0, 2150.0])
        room = [
            CeilingCell(rect(0, 0, 1000, 1000), 0.0, level),
            CeilingCell(rect(1000, 0, 3000, 1000), 150.0, level),
        ]
        across = box([0, 0, 0], [3000, 1000, 1000])
        found = volume_balance(room, [("bodies", [across])], bands=[900.0])
        assert found.volumes / 1e6 == pytest.approx(
            np.array([[900 + 2 * 850, 100.0], [2 * 50.0, 1150 + 2 * 1100]]), rel=1e-9
        )

    def test_a_tetrahedron_cut_in_bands(self) -> None:
        """A cone's part below height t of h is 1 - (1 - t/h)^3 of it."""
        peak = hull([[500, 500, 0], [1700, 500, 0], [500, 1400, 0], [600, 600, 800]])
        found = volume_balance(FLAT, [("bodies", [peak])], bands=[200.0, 500.0])
        whole = float(peak.volume[0])
        below = whole * (1 - (1 - np.array([200, 500, 800]) / 800) ** 3)
        assert found.volumes[0] == pytest.approx(np.diff(below, prepend=0), rel=1e-9)

    def test_earlier_groups_count_first(self) -> None:
        """The same solid in two groups counts in the first only; outside the room not at all."""
        one = prism([[500, 0], [1000, 500], [500, 1000], [0, 500]], 0, 1000)
        out = one.moved(np.array([3500.0, 0, 0]))
        found = volume_balance(FLAT, [("bodies", [one]), ("activity", [one, out])])
        assert found.totals["bodies"] == pytest.approx(5e8, rel=1e-12)
        assert found.totals["activity"] == pytest.approx(2.5e8, rel=1e-12)


class TestLaws:
    """What must hold whatever the scene."""

    @settings(deadline=None, max_examples=25)
    @given(st.integers(0, 10_000))
    def test_parts_make_the_room(self, seed: int) -> None:
        """Yawed bodies and wedges under a slope: parts measured one by one sum to the room."""
        rng = np.random.default_rng(seed)
        groups = []
        for name in ("bodies", "motions", "activity", "service"):
            solids = [
                hull(rng.uniform([0, 0, 0], [4000, 3000, 2000]) + rng.normal(size=(8, 3)) * 300)
                for _ in range(int(rng.integers(0, 6)))
            ]
            groups.append((name, solids))
        found = volume_balance(SLOPED, groups)
        assert (found.volumes >= -1e-9 * found.room).all()
        assert found.volumes.sum() == pytest.approx(found.room, rel=1e-9)

    @settings(deadline=None, max_examples=15)
    @given(st.integers(0, 10_000))
    def test_splitting_a_group_moves_nothing(self, seed: int) -> None:
        """Two groups in a row cover what their union covers."""
        rng = np.random.default_rng(seed)
        solids = as_solids(cuboids(rng, 8, whole=True))
        apart = volume_balance(FLAT, [("a", solids[:4]), ("b", solids[4:])])
        whole = volume_balance(FLAT, [("all", solids)])
        assert apart.volumes[2] == pytest.approx(whole.volumes[1], abs=1e-9 * whole.room)


def test_refusals() -> None:
    """Names must differ, bands must rise, one world only."""
    solid = box([0, 0, 0], [1, 1, 1])
    with pytest.raises(GeometryError, match="name"):
        volume_balance(FLAT, [("a", [solid]), ("a", [])])
    with pytest.raises(GeometryError, match="name"):
        volume_balance(FLAT, [("unused", [solid])])
    with pytest.raises(GeometryError, match="rise"):
        volume_balance(FLAT, [], bands=[900, 900])
    with pytest.raises(GeometryError, match="world"):
        volume_balance(FLAT, [("a", [box([[0, 0, 0], [0, 0, 1]], [9, 9, 9])])])


def by_booleans(groups: Sequence[Sequence[Convex]], room: Sequence[CeilingCell]) -> Floats:
    """Volume by group and band from the mesh library's booleans."""
    return balance._meshed(room, groups, BANDS)


def by_cutting(groups: Sequence[Sequence[Convex]], room: Sequence[CeilingCell]) -> Floats | None:
    return balance._cut_up(room, groups, BANDS)


STEPPED = (
    CeilingCell(rect(0, 0, 2500, 3000), 0.0, np.array([0.0, 0.5, 900.0])),
    CeilingCell(rect(2500, 0, 4000, 3000), 150.0, np.array([-0.2, 0.0, 2600.0])),
)


class TestAgainstBooleans:
    """Convex cutting and the mesh library, which share nothing but the corners."""

    @pytest.mark.parametrize("seed", range(12))
    def test_scenes(self, seed: int) -> None:
        """Boxes, yawed prisms and hulls, whole, flush and doubled, in rooms of one cell and two."""
        rng = np.random.default_rng(seed)
        solids = as_solids(cuboids(rng, 12, whole=True)) + as_solids(cuboids(rng, 6, whole=False))
        for _ in range(8):
            angle = rng.uniform(0, np.pi)
            c, s = np.cos(angle), np.sin(angle)
            ring = rect(-400, -200, 400, 200) @ np.array([[c, s], [-s, c]])
            solids.append(prism(ring + rng.uniform(0, 3000, 2), 0, rng.uniform(200, 2000)))
        solids += [hull(rng.uniform(0, 2500, 3) + rng.normal(size=(9, 3)) * 400) for _ in range(6)]
        solids += [solids[k].moved(np.zeros(3)) for k in (0, 20, 27)]
        solids += [solids[20].moved(np.array([0, 0, float(np.ptp(solids[20].corners[0, :, 2]))]))]
        order = rng.permutation(len(solids))
        groups = [[solids[k] for k in part] for part in np.array_split(order, 3)]
        room = STEPPED if seed % 2 else SLOPED
        found, want = by_cutting(groups, room), by_booleans(groups, room)
        assert found is not None
        whole = want.sum()
        assert found == pytest.approx(want, rel=1e-9, abs=1e-9 * whole)
        assert found.sum() == pytest.approx(whole, abs=1.0)

    def test_everything_flush(self) -> None:
        """A room filled to the last litre has none left, and each body keeps its own."""
        bay = np.array([500.0, 375.0, 400.0])
        places = [np.array([i, j, k]) for i in range(8) for j in range(8) for k in range(6)]
        groups = [[box(bay * p, bay * (p + 1)) for p in places[k::2]] for k in range(2)]
        found = by_cutting(groups, FLAT)
        assert found is not None
        assert found.sum(axis=1) == pytest.approx([1.44e10, 1.44e10, 0.0], abs=1.0)

    def test_a_dent_goes_to_the_mesh_library(self) -> None:
        """A solid that is not convex is refused by the cutting and still measured right."""
        ring = [(0, 0), (900, 0), (900, 900), (450, 300), (0, 900)]
        corners = np.array([(x, y, z) for z in (0.0, 1000.0) for x, y in ring])
        faces = [(4, 3, 2, 1, 0), (5, 6, 7, 8, 9)]
        faces += [(k, (k + 1) % 5, 5 + (k + 1) % 5, 5 + k) for k in range(5)]
        # The dent's corner first, so that the fans of the two flat faces stay inside them.
        faces[:2] = [(3, 2, 1, 0, 4), (8, 9, 5, 6, 7)]
        dented = Convex(corners[None], Faces(tuple(faces)))
        assert by_cutting([[dented]], FLAT) is None
        found = volume_balance(FLAT, [("bodies", [dented])])
        assert found.totals["bodies"] == pytest.approx((900 * 900 - 450 * 600) * 1000, rel=1e-12)

    def test_the_check_of_the_cutting_can_fail(self) -> None:
        """A solid read with a face missing does not come out, and is refused."""
        whole = box([500, 500, 0], [1500, 1500, 1000])
        open_box = Convex(whole.corners, Faces(whole.faces.rings[:-1]))
        cells = [FLAT[0].solid]
        cutter = box([600, 600, 100], [1400, 1400, 2000])
        assert shared_volumes(cells, [0.0], [whole, cutter], (1, [0, 0]), BANDS) is not None
        assert shared_volumes(cells, [0.0], [cutter, open_box], (1, [0, 0]), BANDS) is None


def test_what_comes_out_and_what_does_not() -> None:
    """Kept and covered make the whole in each band, to a tenth of a mm³ and a hair."""
    from massing.geometry.space.balance_compiled import _comes_out

    whole = np.array([4e8, 6e8])
    parts = np.array([[1e8, 2e8], [3e8, 4e8], whole])
    assert _comes_out(parts)
    for band in range(2):
        for part in range(3):
            for by, good in ((0.19, True), (-0.19, True), (0.3, False), (-0.3, False)):
                off = parts.copy()
                off[part, band] += by
                # 1e9 in all allows 0.1 and 0.1
                assert _comes_out(off) == good
    assert not _comes_out(np.array([[0.0], [0.0], [0.2]]))
