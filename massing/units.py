"""Text a person wrote in, millimetres out: lengths with their ±, angles, sizes and ranges.

A bare number is millimetres. A comma is refused because it means thousands to one reader and a
decimal to the next, and a unit is never guessed where two readings differ.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from massing.errors import Mark

__all__ = [
    "FOOT",
    "INCH",
    "LARGEST",
    "Length",
    "format_feet_inches",
    "format_length",
    "format_mm",
    "parse_angle",
    "parse_box",
    "parse_length",
    "parse_point",
    "parse_range",
    "parse_size",
    "positive",
    "quoted",
]

INCH = 25.4
"""Millimetres in an inch, exactly. Source: the international yard and pound agreement, 1959."""
FOOT = 12 * INCH
LARGEST = 1_000_000.0
"""One kilometre: a longer length in a room is a slip of the pen."""

_METRIC = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 1.0),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 10.0),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1000.0),
}
_SPELLING = str.maketrans("−′’‘″”“\u00a0\u2009\u202f", "-'''\"\"\"   ") | str.maketrans(
    {"½": " 1/2", "¼": " 1/4", "¾": " 3/4"}
)
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_FRACTION = r"[0-9]+/[0-9]+"
_MIXED = rf"(?:{_NUMBER}|[0-9]+[ -]+{_FRACTION}|{_FRACTION})"
_FEET = r"(?:feet|foot|ft\.?|')"
_INCHES = r"(?:inches|inch|ins?\.?|\"|'')"
_PLAIN = re.compile(rf"({_NUMBER})\s*([a-z]*)")
_INCH_TEXT = re.compile(rf"({_MIXED})\s*{_INCHES}")
_FEET_TEXT = re.compile(rf"({_MIXED})\s*{_FEET}(?:\s*-?\s*({_MIXED})\s*(?:{_INCHES})?)?")
_PLUS_MINUS = re.compile(r"±|\+\s*/\s*-|\+-")
# The x of "900 x 700" or "6ftx8ft", but not the one that ends "six".
_TIMES = re.compile(r"\s*(?:×|(?<=\s)x(?=\s)|x(?=\s*[-+−]?[0-9.½¼¾]))\s*", re.IGNORECASE)
_BY = re.compile(r"\s+by\s+([a-z]+(?: [a-z]+)?)\s*$", re.IGNORECASE)
_ADVICE = "write 2400, 2.4 m or 7 ft 10 in"


@dataclass(frozen=True, slots=True)
class Length:
    """A measured length: millimetres, the stated ± (half-width, mm) and how it was taken.

    ``mark`` is where it was written and ``path`` which quantity of the file it is
    (``room.size[0]``); neither takes part in comparing.

    >>> float(Length(2400.0, 10.0)), str(Length(2400.0, 10.0))
    (2400.0, '2400 ±10')
    """

    mm: float
    pm: float | None = None
    method: str | None = None
    mark: Mark | None = field(default=None, compare=False)
    path: str = field(default="", compare=False)

    def __float__(self) -> float:
        return self.mm

    def __str__(self) -> str:
        return format_length(self)


def parse_length(text: str) -> Length:
    """Millimetres from one length as a person writes it, with its ± when stated.

    The ± takes its own unit; without one it is millimetres, and is refused beside a size in
    any other unit, where it could mean either. How it was measured may follow: ``by laser``.

    Raises ValueError, in plain words, for anything else.

    >>> parse_length("1.95 m +/- 5 mm")
    Length(mm=1950.0, pm=5.0, method=None, mark=None, path='')
    >>> parse_length("2400 by client tape").method
    'client tape'
    >>> parse_length("6 ft 8 1/2 in").mm
    2044.7
    >>> parse_length("2,400")
    Traceback (most recent call last):
    ...
    ValueError: the comma in '2,400' could mean thousands or a decimal; write 2400 or 2.400
    """
    said, method = _method(text)
    return _length(said, None, method)


def parse_size(text: str, parts: int) -> tuple[Length, ...]:
    """``parts`` positive lengths split at x, X or ×, each with its own ± if stated.

    A unit after the last number alone counts for all of them (``600 x 450 cm``). A bare number
    after one with a unit other than mm is refused.

    >>> [side.mm for side in parse_size("60 x 45 cm", parts=2)]
    [600.0, 450.0]
    """
    said, method = _method(text)
    pieces = _TIMES.split(said.strip())
    if len(pieces) != parts:
        example = " x ".join(("600", "450", "850", "40")[:parts])
        raise ValueError(f"{quoted(text)} is not {_count(parts)} sizes; write {example}")
    sides = _several(pieces, text, method)
    for side, piece in zip(sides, pieces, strict=True):
        _require_size(side, piece)
    return sides


def parse_range(text: str) -> tuple[Length, Length]:
    """The lower and the upper end of ``0..5200``.

    >>> [end.mm for end in parse_range("-0.2..5.2 m")]
    [-200.0, 5200.0]
    """
    said, method = _method(text)
    low, high = _several(_ends(said, text), text, method)
    _require_order(low, high, text)
    return low, high


def parse_box(text: str) -> tuple[tuple[Length, Length], ...]:
    """Three ranges ``x0..x1 x y0..y1 x z0..z1``: a box at its place.

    >>> box = parse_box("0..5200 x 1200..1350 x 2050..2200")
    >>> [(low.mm, high.mm) for low, high in box]
    [(0.0, 5200.0), (1200.0, 1350.0), (2050.0, 2200.0)]
    """
    said, method = _method(text)
    pieces = _TIMES.split(said.strip())
    if len(pieces) != 3:
        raise ValueError(
            f"{quoted(text)} is not a box; write three ranges such as "
            "0..5200 x 1200..1350 x 2050..2200"
        )
    flat = _several([end for piece in pieces for end in _ends(piece, text)], text, method)
    box = ((flat[0], flat[1]), (flat[2], flat[3]), (flat[4], flat[5]))
    for (low, high), piece in zip(box, pieces, strict=True):
        _require_order(low, high, piece)
    return box


def parse_point(text: str) -> tuple[Length, Length, Length]:
    """x, y and z of ``2100, 0, 0``; one unit after the last counts for all.

    >>> [length.mm for length in parse_point("2.1, 0, -0.5 m")]
    [2100.0, 0.0, -500.0]
    """
    said, method = _method(text)
    pieces = said.split(",")
    if len(pieces) != 3:
        raise ValueError(f"{quoted(text)} is not a point; write three lengths such as 2100, 0, 0")
    x, y, z = _several(pieces, text, method)
    return x, y, z


def parse_angle(text: str) -> float:
    """Degrees from ``30``, ``30 deg``, ``30°`` or a slope as rise to run, ``1:12``.

    >>> parse_angle("30°"), round(parse_angle("1:12"), 3)
    (30.0, 4.764)
    """
    said = text.strip().translate(_SPELLING).casefold()
    turn = re.fullmatch(rf"([+-]?{_NUMBER})\s*(?:°|deg|degs|degrees?)?", said)
    slope = re.fullmatch(rf"([+-]?{_NUMBER})\s*:\s*({_NUMBER})", said)
    if slope and float(slope[2]) > 0:
        return math.degrees(math.atan2(float(slope[1]), float(slope[2])))
    if turn is None:
        raise ValueError(
            f"{quoted(text)} is not an angle; write 30, 30 deg or a slope such as 1:12"
        )
    degrees = float(turn[1])
    if abs(degrees) > 360:
        raise ValueError(f"{quoted(text)} is more than a full turn of 360 degrees")
    return degrees


def format_mm(mm: float) -> str:
    """Millimetres as drawings show them: whole where whole, else one decimal, no comma.

    >>> format_mm(1234.5), format_mm(2400.0), format_mm(-0.04)
    ('1234.5', '2400', '0')
    """
    shown = f"{mm:.1f}".removesuffix(".0")
    return "0" if shown == "-0" else shown


def format_length(length: Length) -> str:
    """A length with its ± in the words :func:`parse_length` reads.

    >>> format_length(Length(1950.0, 5.0))
    '1950 ±5'
    """
    if length.pm is None:
        return format_mm(length.mm)
    return f"{format_mm(length.mm)} ±{format_mm(length.pm)}"


def format_feet_inches(mm: float, denominator: int = 16) -> str:
    """Feet, inches and the nearest 1/``denominator`` of an inch, halves rounding to even.

    >>> format_feet_inches(2044.7), format_feet_inches(-25.4), format_feet_inches(0.0)
    ('6 ft 8 1/2 in', '-1 in', '0 in')
    """
    steps = round(abs(mm) / INCH * denominator)
    inches, over = divmod(steps, denominator)
    feet, inches = divmod(inches, 12)
    shared = math.gcd(over, denominator)
    fraction = f"{over // shared}/{denominator // shared}" if over else ""
    inch_words = " ".join(word for word in (str(inches) if inches else "", fraction) if word)
    words = ([f"{feet} ft"] if feet else []) + ([f"{inch_words} in"] if inch_words else [])
    return ("-" if mm < 0 and steps else "") + (" ".join(words) or "0 in")


def quoted(text: str) -> str:
    """The text in quotes for a message, one line, cut short when long.

    >>> quoted("six")
    "'six'"
    """
    shown = "".join(letter if letter.isprintable() else "�" for letter in text.strip())
    return f"'{shown}'" if len(shown) <= 60 else f"'{shown[:59]}…'"


def _method(text: str) -> tuple[str, str | None]:
    """The text without a closing ``by laser``, and the method named there."""
    found = _BY.search(text[:200])
    return (text, None) if found is None else (text[: found.start()], found[1].casefold())


def _count(parts: int) -> str:
    return {2: "two", 3: "three"}.get(parts, str(parts))


def _length(text: str, borrowed: str | None, method: str | None) -> Length:
    """One length; a bare number takes the ``borrowed`` unit, and its own ``by`` comes first."""
    if len(text) > 200:
        raise ValueError(f"{quoted(text)} is too long to be a length; {_ADVICE}")
    text, own = _method(text)
    said = text.translate(_SPELLING).casefold().strip()
    if not said:
        raise ValueError(f"a length is missing; {_ADVICE}")
    size, *margins = (piece.strip() for piece in _PLUS_MINUS.split(said))
    sign = -1.0 if size.startswith("-") else 1.0
    mm, unit = _quantity(re.sub(r"^[+-]\s*", "", size), text, borrowed)
    if mm > LARGEST:
        raise ValueError(f"{quoted(text)} is more than a kilometre; is the unit right?")
    if len(margins) > 1:
        raise ValueError(f"{quoted(text)} has more than one ±")
    pm = _margin(margins[0], unit, text) if margins else None
    return Length(sign * mm + 0.0, pm, own or method)


def _margin(said: str, unit: str | None, text: str) -> float:
    pm, pm_unit = _quantity(said, text, None)
    if pm_unit is None and unit not in (None, "mm"):
        raise ValueError(f"the ± of {quoted(text)} needs its own unit, such as ±{said} mm")
    if unit is None and pm_unit not in (None, "mm"):
        raise ValueError(f"{quoted(text)} gives a unit to the ± but not to the size; give both")
    if pm > LARGEST:
        raise ValueError(f"the ± of {quoted(text)} is more than a kilometre")
    return pm


def _quantity(said: str, text: str, borrowed: str | None) -> tuple[float, str | None]:
    """Unsigned millimetres and the unit stated (``None`` when bare)."""
    plain = _PLAIN.fullmatch(said)
    if plain and not plain[2]:
        return (float(plain[1]), None) if borrowed is None else _scaled(plain[1], borrowed)
    if plain and plain[2] in _METRIC:
        return _scaled(plain[1], plain[2])
    if inches := _INCH_TEXT.fullmatch(said):
        return _inches(_mixed(inches[1], text)), "in"
    if feet := _FEET_TEXT.fullmatch(said):
        return _feet(feet[1], feet[2], text), "ft" if feet[2] is None else "ft and in"
    raise ValueError(_why_not(said, text))


def _scaled(number: str, unit: str) -> tuple[float, str]:
    """Millimetres of a plain number; decimals are scaled exactly, as if on paper.

    2.4 m must be 2400 and not 2399.9999999999995, so powers of ten go in as an exponent.
    """
    if unit in ("in", "ft"):
        return _inches(float(number) * (1 if unit == "in" else 12)), unit
    factor = _METRIC[unit]
    return float(f"{number}e{round(math.log10(factor))}"), {1.0: "mm", 10.0: "cm"}.get(factor, "m")


def _inches(inches: float) -> float:
    """Millimetres, scaled so that an 80.5 in door is 2044.7 and not 2044.6999999999998."""
    return inches * 254 / 10


def _feet(feet: str, inches: str | None, text: str) -> float:
    if inches is None:
        return _inches(12 * _mixed(feet, text))
    if not feet.isdigit():
        raise ValueError(f"{quoted(text)} has a part of a foot and inches; write whole feet")
    over = _mixed(inches, text)
    if over >= 12:
        raise ValueError(f"{quoted(text)} has 12 inches or more after the feet")
    return _inches(12 * float(feet) + over)


def _mixed(said: str, text: str) -> float:
    """A number, a fraction, or a whole number and a fraction."""
    if "/" not in said:
        return float(said)
    whole, top, bottom = re.fullmatch(r"(?:([0-9]+)[ -]+)?([0-9]+)/([0-9]+)", said).groups()  # type: ignore[union-attr]
    if len(bottom) > 4 or not 0 <= int(top[:9]) < int(bottom):
        raise ValueError(f"the fraction in {quoted(text)} must be less than one, such as 3/4")
    return float(whole or 0) + int(top) / int(bottom)


def _why_not(said: str, text: str) -> str:
    """The plainest reason why the text is no length."""
    if "," in said:
        return (
            f"the comma in {quoted(text)} could mean thousands or a decimal; "
            f"write {said.replace(',', '')[:20]} or {said.replace(',', '.')[:20]}"
        )
    if re.fullmatch(r"[0-9]+(?: [0-9]{3})+(?:\.[0-9]+)?\s*[a-z]*", said):
        return f"{quoted(text)} has a space inside the number; write {said.replace(' ', '')[:20]}"
    if re.fullmatch(_FRACTION, said) or re.fullmatch(rf"[0-9]+[ -]+{_FRACTION}", said):
        return f"the fraction {quoted(text)} needs its unit, in or ft"
    if re.fullmatch(r"\.[0-9]+\s*[a-z]*", said):
        return f"{quoted(text)} is not a length; write 0{said[:20]}"
    plain = _PLAIN.fullmatch(said)
    if plain and plain[2] not in ("e", "x"):
        return f"{quoted(plain[2])} in {quoted(text)} is not a unit; use mm, cm, m, in or ft"
    return f"{quoted(text)} is not a length; {_ADVICE}"


def _several(pieces: list[str], text: str, method: str | None) -> tuple[Length, ...]:
    """Lengths written side by side, where a unit after the last may count for all."""
    units = [_unit_said(piece) for piece in pieces]
    last = units[-1]
    if last not in (None, "mm") and set(units[:-1]) == {None}:
        if last == "ft and in":
            raise ValueError(f"only the last part of {quoted(text)} has a unit; give each its own")
        return tuple(_length(piece, last, method) for piece in pieces)
    if None in units and set(units) - {None, "mm"}:
        raise ValueError(f"{quoted(text)} mixes parts with and without a unit; give each its own")
    return tuple(_length(piece, None, method) for piece in pieces)


def _unit_said(piece: str) -> str | None:
    said = _PLUS_MINUS.split(_method(piece)[0].translate(_SPELLING).casefold().strip())[0].strip()
    return _quantity(re.sub(r"^[+-]\s*", "", said), piece, None)[1]


def _ends(piece: str, text: str) -> list[str]:
    ends = piece.split("..")
    if len(ends) != 2 or not ends[0].strip() or not ends[1].strip() or "..." in piece:
        raise ValueError(f"{quoted(text)} is not a range; write its two ends as 0..5200")
    return ends


def _require_order(low: Length, high: Length, text: str) -> None:
    if not low.mm < high.mm:
        raise ValueError(f"the range {quoted(text)} must run from the lower to the higher end")


def _require_size(length: Length, text: str) -> None:
    if length.mm <= 0:
        raise ValueError(f"{quoted(text)} must be more than 0")
    if length.pm is not None and length.pm >= length.mm:
        raise ValueError(f"the ± of {quoted(text)} is as large as the size itself")


def positive(length: Length, text: str) -> Length:
    """The length, when it is more than 0 and than its own ±; ValueError otherwise.

    >>> positive(parse_length("-20"), "-20")
    Traceback (most recent call last):
    ...
    ValueError: '-20' must be more than 0
    """
    _require_size(length, text)
    return length
