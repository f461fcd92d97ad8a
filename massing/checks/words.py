"""How findings are worded: numbers as a tape shows them, moves as compass words."""

from __future__ import annotations

import numpy as np

from massing.geometry.solids import Floats

__all__ = ["litres", "mm", "move_words", "place", "square_metres"]


def mm(size: float) -> str:
    """Whole millimetres without a point, else one decimal.

    >>> mm(50.0), mm(13.3333), mm(-0.04)
    ('50', '13.3', '0')
    """
    rounded = round(float(size), 1) + 0.0
    return f"{rounded:.0f}" if rounded == int(rounded) else f"{rounded:.1f}"


def litres(volume: float) -> float:
    """Litres of a volume in mm³."""
    return volume / 1e6


def square_metres(area: float) -> float:
    """Square metres of an area in mm²."""
    return area / 1e6


def place(point: Floats) -> tuple[float, float, float]:
    """Round a point to a tenth of a millimetre, without negative zeros."""
    x, y, z = (np.round(np.asarray(point, dtype=np.float64), 1) + 0.0).tolist()
    return (x, y, z)


def move_words(by: tuple[float, float, float]) -> str:
    """A move in words, compass first.

    >>> move_words((0.0, 40.0, 0.0)), move_words((-5.0, 0.0, -50.0)), move_words((0.0, 0.0, 0.0))
    ('40 north', '5 west and 50 down', 'nowhere')
    """
    words = [
        f"{mm(abs(v))} {plus if v > 0 else minus}"
        for v, plus, minus in zip(
            by, ("east", "north", "up"), ("west", "south", "down"), strict=True
        )
        if abs(v) >= 0.05
    ]
    return " and ".join(words) if words else "nowhere"
