"""How far apart are a few pairs, asked again and again: solids and pairs in, gaps and points out.

A few pairs of many kinds of solids cost the array code more in calls than in work, and compiled
they cost next to nothing; but loading what is compiled takes longer than most answers do. So the
first questions of a run are answered by the array code, and the later ones compiled. Which of the
two answered cannot be told: both are rounded to more than they differ by.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from massing.geometry.gaps.asked import Gaps
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex, Floats, Ints

__all__ = ["gaps_alongside", "gaps_often"]

_PATIENCE = 300  # pairs of prisms, those of some four full rooms: who asks more will ask again
_GENERAL = 4  # pairs of prisms that take as long as one of other solids
_GAP, _POINT = 9, 4  # decimals of a millimetre


class _Spent:
    """What the array code has cost so far in this run, in pairs of prisms."""

    pairs = 0


def gaps_often(solids: Sequence[Convex], pairs: Ints) -> tuple[Floats, Floats]:
    """Nominal gaps (m,) and points (m, 3) of pairs of solids, as ``signed_gaps`` has them.

    solids : of one world; gaps are rounded to 1e-9 mm and points to 1e-4 mm

    >>> from massing.geometry.solids import box
    >>> gap, at = gaps_often([box([0, 0, 0], [9, 9, 9]), box([8, 0, 0], [20, 9, 9])], [[0, 1]])
    >>> gap.tolist(), at.tolist()
    ([-1.0], [[8.5, 4.5, 4.5]])
    """
    numbers = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    if _Spent.pairs >= _PATIENCE:
        from massing.geometry.gaps.compiled import signed_gaps_compiled

        found = signed_gaps_compiled(solids, numbers)
    else:
        upright = np.array([solid.faces.upright for solid in solids], dtype=bool)
        others = int((~upright[numbers].all(axis=1)).sum())
        _Spent.pairs += len(numbers) + (_GENERAL - 1) * others
        found = signed_gaps(solids, numbers)
    return found.gap[0].round(_GAP) + 0.0, found.at[0].round(_POINT) + 0.0


def gaps_alongside(solids: Sequence[Convex], pairs: Ints) -> Gaps:
    """Gaps in every world as ``signed_gaps`` has them, compiled where ``gaps_often`` is by now.

    Asking this loads nothing. Gaps are rounded to 1e-9 mm, normals to 1e-9 and points to 1e-4 mm,
    of the nominal world alone.

    >>> from massing.geometry.solids import box
    >>> gaps_alongside([box([0, 0, 0], [9, 9, 9]), box([8, 0, 0], [20, 9, 9])], [[0, 1]]).gap
    array([[-1.]])
    """
    numbers = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    if _Spent.pairs >= _PATIENCE:
        from massing.geometry.gaps.compiled import signed_gaps_compiled

        found = signed_gaps_compiled(solids, numbers)
    else:
        found = signed_gaps(solids, numbers)
    normal, at = found.normal[:1].round(_GAP) + 0.0, found.at[:1].round(_POINT) + 0.0
    return Gaps(found.gap.round(_GAP) + 0.0, normal, at)
