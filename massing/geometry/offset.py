"""A plan shape and a distance in, the shape grown or shrunk by it out."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["offset_by"]


def offset_by(shape: Any, by: float, **how: Any) -> Any:
    """A shape of the plan library grown by so many mm, or shrunk where that is negative.

    how : its words for corners and ends
    A speck of a shape may shrink to nothing on its way; the library drops it, and what it says of
    that to whoever listens to the processor is kept from the user.

    >>> from shapely import box
    >>> offset_by(box(0, 0, 4, 4), -1.0, join_style="mitre").area
    4.0
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return shape.buffer(by, **how)
