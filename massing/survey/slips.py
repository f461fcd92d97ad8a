"""A length as read and as it should be in, the likeliest slip of the pen or tape out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["Slip", "likely_slip", "slips"]

_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Slip:
    """A usual mistake and the length it would have hidden, mm."""

    says: str
    value: float


def slips(read: float) -> Iterator[Slip]:
    """Yield what a length may really be if one usual slip was made when it was read.

    Common practice, no source: ten, a hundred or a thousand out, an inch or a foot out, two
    neighbouring digits swapped, inches taken for centimetres, centimetres for millimetres.

    >>> [slip.value for slip in slips(2470.0)][:2]
    [2460.0, 2480.0]
    """
    steps = (
        (10.0, "10"),
        (100.0, "100"),
        (1000.0, "1000"),
        (_INCH, "one inch"),
        (12 * _INCH, "one foot"),
    )
    for size, name in steps:
        yield Slip(f"read {name} too much", read - size)
        yield Slip(f"read {name} too little", read + size)
    yield from _swapped(read)
    yield Slip("inches written as centimetres", read * 2.54)
    yield Slip("centimetres written as inches", read / 2.54)
    yield Slip("centimetres written as millimetres", read * 10.0)
    yield Slip("millimetres written as centimetres", read / 10.0)


def _swapped(read: float) -> Iterator[Slip]:
    digits = str(round(abs(read)))
    part = abs(read) - round(abs(read))
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            other = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            yield Slip(f"digits {digits[i : i + 2]} swapped", float(other) + part)


def likely_slip(read: float, should_be: float, tolerance: float) -> Slip | None:
    """Return the slip whose true length is nearest to ``should_be``, if within the tolerance.

    >>> likely_slip(2470.0, 2742.0, 5.0)
    Slip(says='digits 47 swapped', value=2740.0)
    >>> likely_slip(2470.0, 2420.0, 5.0) is None
    True
    """
    within = [slip for slip in slips(read) if abs(slip.value - should_be) <= tolerance]
    within = [slip for slip in within if slip.value > 0.0]
    return min(within, key=lambda slip: abs(slip.value - should_be), default=None)
