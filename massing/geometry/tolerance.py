"""The project's two tolerances, in one place.

Touching is not colliding: a gap counts as a conflict only when it is below ``-TOUCH``.
Arithmetic on millimetres in float64 is good to about 1e-10 in a room; ``EXACT`` is the
accuracy the kernels promise, ``TOUCH`` is what a person would call touching.
"""

from __future__ import annotations

__all__ = ["EXACT", "TOUCH"]

EXACT = 1e-6  # mm, promised accuracy of every distance
TOUCH = 0.01  # mm, overlaps up to this are contact
