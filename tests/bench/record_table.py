"""Measured lines in, one table out: for the screen, and as Markdown."""

from __future__ import annotations

from collections.abc import Sequence

from tests.bench.record import Measured

__all__ = ["cells", "digits", "markdown", "text"]

_HEADS = ("what", "ours", "held against", "takes", "ratio", "goal", "", "exact counts")


def digits(value: float) -> str:
    """Three digits that matter, thousands apart.

    >>> digits(0.004321), digits(12.345), digits(12345.6)
    ('0.00432', '12.3', '12,346')
    """
    return f"{value:,.0f}" if value >= 100.0 else f"{value:#.3g}"


def cells(line: Measured) -> tuple[str, ...]:
    """The words of one line, in the order of the heads."""
    times = line.times
    return (
        line.name + (f" ({line.note})" if line.note else ""),
        f"{digits(times.ours_ms)} ms" if times else "",
        line.peer,
        f"{digits(times.peer_ms)} ms" if times else "",
        f"{digits(times.ratio)}x" if times else "",
        f"{line.goal:g}x" if line.goal is not None else "",
        line.verdict,
        ", ".join(count.says for count in line.counts),
    )


def text(lines: Sequence[Measured]) -> str:
    """The table for a screen, columns lined up, and how many goals were met."""
    rows = [_HEADS, *map(cells, lines)]
    wide = [max(len(row[k]) for row in rows) for k in range(len(_HEADS))]
    right = (1, 3, 4, 5)
    out = [
        "  ".join(
            word.rjust(wide[k]) if k in right else word.ljust(wide[k]) for k, word in enumerate(row)
        ).rstrip()
        for row in rows
    ]
    return "\n".join([*out, _summary(lines)])


def markdown(lines: Sequence[Measured], where: str) -> str:
    """The table as Markdown, where it ran and how many goals were met beneath."""
    rows = ["| " + " | ".join(_HEADS) + " |", "|---|--:|---|--:|--:|--:|---|---|"]
    rows += ["| " + " | ".join(cells(line)) + " |" for line in lines]
    return "\n".join([*rows, "", f"{_summary(lines)} {where}.", ""])


def _summary(lines: Sequence[Measured]) -> str:
    asked = [line for line in lines if line.verdict != "told"]
    missed = [line.name for line in asked if not line.met]
    words = f"{len(asked) - len(missed)} of {len(asked)} lines met."
    return words + (f" Not met: {'; '.join(missed)}." if missed else "")
