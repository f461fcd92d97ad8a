"""Quality over time for 5 to 40 items, drawn: `python -m tests.bench.arrange_curves OUT.svg`.

Each curve is the best objective so far, over the best of all, against processor seconds.
"""

from __future__ import annotations

import math
import sys
import time
from html import escape
from pathlib import Path

from massing.arrange.search import Found, search
from tests.bench.arrange_quality import model_of, things

__all__ = ["curves", "plot"]

_MOVES = 20_000
_SIZES = (5, 10, 20, 40)
_COLOURS = ("#2a7a4b", "#c77f1a", "#3b6ea5", "#8a3b6e")
_WIDE, _HIGH, _LEFT, _TOP = 560, 300, 60, 40

Curve = list[tuple[float, float]]


def curves(long: bool) -> dict[str, Curve]:
    """For each number of items, when (processor s) the best so far became what (m² lost)."""
    found = {}
    for count in _SIZES:
        model = model_of(things(count, 2))
        search(model, restarts=1, moves=1000)
        begun = time.process_time()
        steps: Curve = []

        def note(_: int, best: Found, begun: float = begun, steps: Curve = steps) -> None:
            if best.hard <= 0.0 and (not steps or best.soft < steps[-1][1]):
                steps.append((time.process_time() - begun, best.soft))

        search(model, restarts=400 if long else 100, moves=_MOVES, report=note)
        steps.append((time.process_time() - begun, steps[-1][1]))
        found[f"{count} items"] = steps
    return found


def plot(found: dict[str, Curve]) -> str:
    """The curves as SVG text: time on a log scale, quality as a multiple of the best."""
    first = min(steps[0][0] for steps in found.values())
    last = max(steps[-1][0] for steps in found.values())
    worst = max(steps[0][1] / steps[-1][1] for steps in found.values())
    top = 1.0 + max(math.ceil((worst - 1.0) * 50.0) / 50.0, 0.02)

    def x_of(seconds: float) -> float:
        return _LEFT + _WIDE * math.log(seconds / first) / math.log(last / first)

    def y_of(value: float) -> float:
        return _TOP + _HIGH * (top - value) / (top - 1.0)

    wide, high = _LEFT + _WIDE + 120, _TOP + _HIGH + 60
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" '
        f'height="{high}" font-family="sans-serif" font-size="12">'
    )
    parts = [
        head,
        f'<rect width="{wide}" height="{high}" fill="#fff"/>',
        _text(
            _LEFT,
            22,
            "Floor under bodies and zones, over the least found; restarts of 20 000 moves",
        ),
        _text(_LEFT + _WIDE / 2, high - 14, "processor seconds, one core", "middle"),
    ]
    for k in range(5):
        value = 1.0 + (top - 1.0) * k / 4.0
        y = y_of(value)
        parts.append(_line(_LEFT, y, _LEFT + _WIDE, y, "#ddd"))
        parts.append(_text(_LEFT - 8, y + 4, f"{value:.3f}", "end"))
    for power in range(math.ceil(math.log10(first)), math.floor(math.log10(last)) + 1):
        x = x_of(10.0**power)
        parts.append(_line(x, _TOP, x, _TOP + _HIGH, "#ddd"))
        parts.append(_text(x, _TOP + _HIGH + 18, f"{10.0**power:g}", "middle"))
    for number, (name, steps) in enumerate(found.items()):
        colour, least = _COLOURS[number % len(_COLOURS)], steps[-1][1]
        points, before = [], None
        for seconds, value in steps:
            if before is not None:
                points.append(f"{x_of(seconds):.1f},{before:.1f}")
            before = y_of(value / least)
            points.append(f"{x_of(seconds):.1f},{before:.1f}")
        line = f'<polyline points="{" ".join(points)}" fill="none" stroke="{colour}" '
        parts.append(f'{line}stroke-width="2"/>')
        y = _TOP + 14 + 18 * number
        parts.append(_line(_LEFT + _WIDE + 10, y - 4, _LEFT + _WIDE + 30, y - 4, colour))
        parts.append(_text(_LEFT + _WIDE + 36, y, name))
    return "\n".join([*parts, "</svg>", ""])


def _text(x: float, y: float, words: str, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="#222">{escape(words)}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, stroke: str) -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke}" '
        f'stroke-width="1.5"/>'
    )


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(plot(curves("--long" in sys.argv)), encoding="utf-8")
