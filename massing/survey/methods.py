"""How a length was measured in, its default ± out.

The figures are what one person gets in a furnished room, not what an instrument promises.
Most are common practice with no source; each row says which.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

from massing.errors import Fault, InputError
from massing.survey.combine import Shape

__all__ = ["METHODS", "Method", "default_half_width", "method_named", "method_names"]


@dataclass(frozen=True, slots=True)
class Method:
    """A way of measuring and its half-width: ``fixed`` mm plus ``per_length`` of the length.

    >>> Method("rule", 1.0, 0.001, "rectangular", "an example").half_width(2000.0)
    3.0
    """

    name: str
    fixed: float
    per_length: float
    shape: Shape
    basis: str

    def half_width(self, length_mm: float) -> float:
        """Half-width at that length, mm; the sign of the length does not matter."""
        return self.fixed + self.per_length * abs(length_mm)


METHODS: tuple[Method, ...] = (
    Method(
        "tape",
        3.0,
        0.0002,
        "rectangular",
        "±3 to ±5 for one person over a room: common practice, no source. The tape itself may be "
        "out ±0.8 up to 1.8 m and ±1.6 up to 9 m (NIST Handbook 44).",
    ),
    Method(
        "laser",
        3.0,
        0.0001,
        "rectangular",
        "±3 to ±5 in use (tilt, skirting, gloss): common practice, no source. Makers publish "
        "±1.5 to ±2.5.",
    ),
    Method(
        "client tape",
        10.0,
        0.001,
        "rectangular",
        "±10 to ±20 over a room: common practice, no source. Slips of 10, 100 or an inch come "
        "on top and are looked for separately.",
    ),
    Method(
        "phone",
        10.0,
        0.002,
        "rectangular",
        "phone depth scan, ±10 to ±30 over a room: common practice, no source.",
    ),
    Method(
        "photo",
        0.0,
        0.05,
        "rectangular",
        "one photo with a known size in the same plane, the poorer end of 2 to 5 %: common "
        "practice, no source. Out of plane it is 10 % or worse.",
    ),
    Method(
        "guess",
        0.0,
        0.10,
        "rectangular",
        "10 %, the poorer end of pacing (5 to 10 %): common practice, no source.",
    ),
    Method(
        "catalogue",
        5.0,
        0.0,
        "rectangular",
        "body sizes ±5: common practice, no source. A catalogue depth often leaves out handles, "
        "hoses and the plug.",
    ),
)

_BY_NAME = {method.name: method for method in METHODS}


def method_names() -> tuple[str, ...]:
    """Names of the methods, best first.

    >>> method_names()
    ('tape', 'laser', 'client tape', 'phone', 'photo', 'guess', 'catalogue')
    """
    return tuple(_BY_NAME)


def method_named(name: str) -> Method:
    """Return the method of that name.

    Raises InputError with the nearest name.

    >>> method_named("client tape").half_width(5000.0)
    15.0
    """
    try:
        return _BY_NAME[name]
    except KeyError:
        near = get_close_matches(name, _BY_NAME, n=1)
        fault = Fault(f"no such way of measuring {name!r}", hint=near[0] if near else None)
        raise InputError([fault]) from None


def default_half_width(method: str, length_mm: float) -> float:
    """Half-width to assume for a length measured that way when none is written, mm.

    Raises InputError for an unknown method.

    >>> default_half_width("tape", 5000.0), default_half_width("guess", 900.0)
    (4.0, 90.0)
    """
    return method_named(method).half_width(length_mm)
