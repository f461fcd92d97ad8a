"""What pairs are asked about and what is told of them: solids and pair numbers in, both checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Floats, Ints

__all__ = ["Gaps", "checked"]


@dataclass(frozen=True, slots=True, eq=False)
class Gaps:
    """Signed gaps of m pairs.

    gap : (worlds, m) mm
    normal : (worlds, m, 3) unit direction from the first to the second; moving the first by
        ``normal * gap`` brings an overlapping pair to touch, and so it does a separate one
    at : (worlds, m, 3) mm, midway between the closest points, or a point inside the overlap
    """

    gap: Floats
    normal: Floats
    at: Floats


def checked(solids: Sequence[Convex], pairs: Ints) -> Ints:
    """The pairs as an (m, 2) array; GeometryError as signed_gaps says."""
    pairs = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    counts = sorted({solid.worlds for solid in solids} - {1})
    if len(counts) > 1:
        raise GeometryError(f"solids disagree on the number of worlds: {counts}")
    if len(pairs) and not (pairs.min() >= 0 and pairs.max() < len(solids)):
        raise GeometryError(f"a pair names a solid that is not among the {len(solids)} given")
    return pairs
