"""Measured lines in, one SVG out: a bar for each ratio on a log scale, and growth curves below.

Written by hand, so that a bench needs no plotting library.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape

from tests.bench.record import Measured
from tests.bench.record_table import digits

__all__ = ["plot"]

_WIDE, _LEFT, _ROW = 900, 360, 18
_CURVE_WIDE, _CURVE_HIGH = 270, 190
_MET, _MISSED, _TOLD, _PEER = "#2a7a4b", "#b3392f", "#667", "#c77f1a"


def plot(lines: Sequence[Measured]) -> str:
    """The whole picture as SVG text."""
    whole = [line for line in lines if line.times is not None and line.times.ratio > 0.0]
    timed = [line for line in whole if line.goal is not None]
    curves: dict[str, list[Measured]] = {}
    for line in whole:
        if line.curve:
            curves.setdefault(line.curve, []).append(line)
    curves = {k: found for k, found in curves.items() if len({m.size for m in found}) > 1}
    bars_high = 50 + _ROW * len(timed)
    rows = math.ceil(len(curves) / 3)
    high = bars_high + rows * (_CURVE_HIGH + 50) + 10
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {high}" '
        f'width="{_WIDE}" height="{high}" font-family="sans-serif" font-size="11">'
    )
    parts = [
        head,
        f'<rect width="{_WIDE}" height="{high}" fill="#fff"/>',
        *_bars(timed, bars_high),
    ]
    for number, (name, found) in enumerate(curves.items()):
        x, y = (
            40 + (number % 3) * (_CURVE_WIDE + 20),
            bars_high + (number // 3) * (_CURVE_HIGH + 50),
        )
        parts += _growth(name, sorted(found, key=lambda m: m.size), x, y + 20)
    return "\n".join([*parts, "</svg>", ""])


def _text(x: float, y: float, words: str, *, anchor: str = "start", fill: str = "#222") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}">{escape(words)}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, stroke: str) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke}"/>'


def _decades(values: Sequence[float]) -> tuple[int, int]:
    """The powers of ten that hold all values."""
    low = math.floor(math.log10(min(values)) + 1e-9)
    return low, max(low + 1, math.ceil(math.log10(max(values)) - 1e-9))


def _bars(lines: Sequence[Measured], high: int) -> Iterator[str]:
    if not lines:
        return
    yield _text(10, 16, "times faster than what it is held against (log scale; | marks the goal)")
    ratios = [line.times.ratio for line in lines if line.times] + [1.0]
    low, top = _decades(ratios + [line.goal for line in lines if line.goal])
    span = _WIDE - _LEFT - 70

    def across(ratio: float) -> float:
        return _LEFT + span * (math.log10(ratio) - low) / (top - low)

    for power in range(low, top + 1):
        x = across(10.0**power)
        yield _line(x, 24, x, high - 22, "#888" if power == 0 else "#ddd")
        yield _text(x, high - 8, f"{10.0**power:g}x", anchor="middle")
    for number, line in enumerate(lines):
        ratio = line.times.ratio if line.times else 1.0
        y = 30 + number * _ROW
        x0, x1 = sorted((across(1.0), across(ratio)))
        colour = {"met": _MET, "not met": _MISSED}.get(line.verdict, _TOLD)
        yield _text(_LEFT - 8, y + 9, f"{line.name} / {line.peer}"[:64], anchor="end")
        yield (
            f'<rect x="{x0:.1f}" y="{y}" width="{max(x1 - x0, 1.0):.1f}" height="11" '
            f'fill="{colour}"/>'
        )
        if line.goal:
            yield (
                f'<rect x="{across(line.goal) - 1:.1f}" y="{y - 2}" width="2" height="15" '
                'fill="#000"/>'
            )
        yield _text(max(x1, across(line.goal or 1.0)) + 5, y + 9, f"{digits(ratio)}x", fill=colour)


def _growth(name: str, lines: Sequence[Measured], left: int, top: int) -> Iterator[str]:
    """Milliseconds against items, ours and every peer's, both scales logarithmic."""
    points: dict[str, list[tuple[int, float]]] = {"ours": []}
    for line in lines:
        if line.times:
            if all(size != line.size for size, _ in points["ours"]):
                points["ours"].append((line.size, line.times.ours_ms))
            points.setdefault(line.peer, []).append((line.size, line.times.peer_ms))
    sizes = [size for found in points.values() for size, _ in found]
    spent = [ms for found in points.values() for _, ms in found]
    (a, b), (c, d) = _decades(sizes), _decades(spent)
    wide, high = _CURVE_WIDE - 100, _CURVE_HIGH - 30

    def place(size: float, ms: float) -> tuple[float, float]:
        x = left + wide * (math.log10(size) - a) / (b - a)
        return x, top + high - high * (math.log10(ms) - c) / (d - c)

    yield _text(left - 20, top - 8, name)
    for power in range(a, b + 1):
        x = place(10.0**power, 10.0**c)[0]
        yield _line(x, top, x, top + high, "#ddd")
        yield _text(x, top + high + 13, f"{10**power:,}", anchor="middle")
    for power in range(c, d + 1):
        y = place(10.0**a, 10.0**power)[1]
        yield _line(left, y, left + wide, y, "#ddd")
        yield _text(left - 4, y + 4, f"{10.0**power:g}", anchor="end")
    yield _text(left + wide, top + high + 26, "items; ms upwards", anchor="end", fill=_TOLD)
    for number, (who, found) in enumerate(points.items()):
        colour = _MET if who == "ours" else (_PEER, _MISSED, _TOLD, "#3b6ea8")[(number - 1) % 4]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in (place(*point) for point in found))
        yield f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>'
        x, y = place(*found[-1])
        yield _text(x + 4, y + 4, who.split(",")[0][:20], fill=colour)
