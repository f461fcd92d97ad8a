"""Room cells and named groups of solids in, how the room's volume is shared out.

Every litre is counted once: a group counts only what the groups before it do not cover, and what
nothing covers is unused. The parts are cut as polyhedra and each is measured on its own, the
unused too, so their sum is a check of the cutting, not an identity. Should convex cutting not
come out, such as for a solid with a dent, booleans of the mesh library answer instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Faces, Floats
from massing.geometry.space.empty_boxes_room import CeilingCell

__all__ = ["BANDS", "UNUSED", "Balance", "volume_balance"]

BANDS = (900.0, 1500.0, 2000.0)  # mm above the local floor
UNUSED = "unused"


@dataclass(frozen=True, slots=True, eq=False)
class Balance:
    """A room's volume shared out.

    names : the groups in the order given, then ``unused``
    bands : heights above the local floor between one column of ``volumes`` and the next, mm
    volumes : (names, bands + 1) float, mm³    disjoint parts, by group and height band
    room : mm³, from the cells by themselves
    """

    names: tuple[str, ...]
    bands: tuple[float, ...]
    volumes: Floats
    room: float

    @property
    def totals(self) -> dict[str, float]:
        """Volume by name, all bands together, mm³."""
        return dict(zip(self.names, self.volumes.sum(axis=1).tolist(), strict=True))


def volume_balance(
    room: Sequence[CeilingCell],
    groups: Sequence[tuple[str, Sequence[Convex]]],
    *,
    bands: Sequence[float] = BANDS,
) -> Balance:
    """Share a room's volume out among groups of solids and height bands.

    room : cells that may touch in plan but not overlap
    groups : name and one-world solids, the first to count first; solids may overlap each other
        and stick out of the room
    bands : rising heights above the local floor at which the parts are cut, mm; may be empty

    Raises GeometryError for a name given twice, falling bands, or solids of many worlds.

    >>> from massing.geometry.solids import box
    >>> square = np.array([[0, 0], [1000, 0], [1000, 1000], [0, 1000.0]])
    >>> found = volume_balance(
    ...     [CeilingCell(square, 0.0, np.array([0.0, 0.0, 2000.0]))],
    ...     [("bodies", [box([0, 0, 0], [500, 500, 1000])]),
    ...      ("activity", [box([0, 0, 0], [1000, 500, 1000])])],
    ...     bands=[500],
    ... )
    >>> (found.volumes / 1e6).round(6).tolist()
    [[125.0, 125.0], [125.0, 125.0], [250.0, 1250.0]]
    """
    names = [name for name, _ in groups]
    if len({*names, UNUSED}) != len(names) + 1:
        raise GeometryError("every group needs a name of its own, other than 'unused'")
    if any(high <= low for low, high in pairwise(bands)):
        raise GeometryError("height bands must rise")
    if any(solid.worlds != 1 for _, solids in groups for solid in solids):
        raise GeometryError("volumes are balanced in one world at a time")
    given = [list(solids) for _, solids in groups]
    volumes = _cut_up(room, given, bands)
    if volumes is None:
        volumes = _meshed(room, given, bands)
    return Balance(
        names=(*names, UNUSED),
        bands=tuple(float(height) for height in bands),
        volumes=volumes,
        room=float(sum(float(cell.solid.volume[0]) for cell in room)),
    )


def _cut_up(
    room: Sequence[CeilingCell], groups: Sequence[Sequence[Convex]], bands: Sequence[float]
) -> Floats | None:
    """(groups + 1, bands + 1) volumes from convex pieces, None where they do not come out."""
    from massing.geometry.space.balance_compiled import shared_volumes

    rows = [(k, solid) for k, solids in enumerate(groups) for solid in _largest_first(solids)]
    return shared_volumes(
        [cell.solid for cell in room],
        [cell.floor for cell in room],
        [solid for _, solid in rows],
        (len(groups), [k for k, _ in rows]),
        bands,
    )


def _largest_first(solids: Sequence[Convex]) -> list[Convex]:
    """Within a group the order is free, and what lies in a larger solid is soonest done."""
    sizes = [-float(np.prod(np.ptp(solid.corners[0], axis=0))) for solid in solids]
    return [solids[k] for k in np.argsort(sizes, kind="stable")]


def _meshed(
    room: Sequence[CeilingCell], groups: Sequence[Sequence[Convex]], bands: Sequence[float]
) -> Floats:
    """The same from booleans of the mesh library."""
    columns = _columns(room)
    return np.array([_banded(part, columns, bands) for part in _parts(room, groups)])


def _manifold(solid: Convex) -> Any:
    """The solid as a closed mesh in double precision."""
    from manifold3d import Manifold, Mesh64

    return Manifold(Mesh64(np.ascontiguousarray(solid.corners[0]), _triangles(solid.faces)))


@lru_cache(maxsize=256)
def _triangles(faces: Faces) -> NDArray[np.uint64]:
    """The faces' triangles; most solids of a room share the few patterns of faces."""
    return np.ascontiguousarray(faces.triangles.astype(np.uint64))


def _joined(solids: Sequence[Any]) -> Any:
    from manifold3d import Manifold, OpType

    return Manifold.batch_boolean(list(solids), OpType.Add)


def _parts(room: Sequence[CeilingCell], groups: Sequence[Sequence[Convex]]) -> list[Any]:
    """Disjoint pieces of the room: what each group takes of what is left, then the rest."""
    left = _joined([_manifold(cell.solid) for cell in room])
    parts = []
    for solids in groups:
        taken, left = left.split(_joined([_manifold(solid) for solid in solids]))
        parts.append(taken)
    return [*parts, left]


def _columns(room: Sequence[CeilingCell]) -> list[tuple[float, Any]]:
    """Each floor level with the part of the room that stands on it."""
    levels = sorted({cell.floor for cell in room})
    return [
        (level, _joined([_manifold(cell.solid) for cell in room if cell.floor == level]))
        for level in levels
    ]


def _banded(part: Any, columns: list[tuple[float, Any]], bands: Sequence[float]) -> Floats:
    """(bands + 1,) volume of a part in each height band above the floor it stands over."""
    totals = np.zeros(len(bands) + 1)
    for floor, column in columns:
        piece = (part if len(columns) == 1 else part ^ column).to_mesh64()
        corners = np.asarray(piece.vert_properties, dtype=np.float64)[:, :3]
        triangles = corners[np.asarray(piece.tri_verts, dtype=np.int64)]
        below = _volumes_below(triangles, floor, bands)
        totals += np.diff(below, prepend=0.0)
    return totals


def _volumes_below(triangles: Floats, floor: float, heights: Sequence[float]) -> Floats:
    """(heights + 1,) volume of a closed mesh up to each height above a floor, then all, mm³.

    The upright field min(z, height) has divergence one below the height and none above, so the
    volume is its flow out through the triangles: plan area times the mean of min(z, height),
    which on one triangle is a cubic in the height between its corners.
    """
    flat = triangles[:, 1:, :2] - triangles[:, :1, :2]
    area = (flat[:, 0, 0] * flat[:, 1, 1] - flat[:, 0, 1] * flat[:, 1, 0]) / 2
    tilted = area != 0  # upright triangles let nothing of an upright field through
    area = area[tilted]
    z = np.sort(triangles[tilted, :, 2] - floor, axis=1)
    mean = z.mean(axis=1)
    found = [float(area @ _mean_below(z, mean, float(height))) for height in heights]
    return np.array([*found, float(area @ mean)])


def _mean_below(z: Floats, mean: Floats, height: float) -> Floats:
    """(n,) mean of min(z, height) over triangles with rising corner heights z, (n, 3)."""
    found = np.where(z[:, 0] >= height, height, mean)
    low, middle, high = z[(z[:, 0] < height) & (z[:, 2] > height)].T
    with np.errstate(divide="ignore", invalid="ignore"):
        lower = height - (height - low) ** 3 / (3 * (middle - low) * (high - low))
        upper = (low + middle + high) / 3 - (high - height) ** 3 / (
            3 * (high - low) * (high - middle)
        )
    found[(z[:, 0] < height) & (z[:, 2] > height)] = np.where(height <= middle, lower, upper)
    return found
