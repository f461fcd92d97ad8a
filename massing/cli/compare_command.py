"""`massing compare FILE A B`: one scheme against another."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, open_project

if TYPE_CHECKING:
    from massing.checks.finding import Finding
    from massing.voids.compare import Comparison, Facts

__all__ = ["command"]


@click.command(name="compare", short_help="One scheme against another: before and after.")
@file_argument
@click.argument("before", metavar="A")
@click.argument("after", metavar="B")
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
def command(file: Path, before: str, after: str, form: str) -> int:
    """Set scheme B against scheme A: floor freed, store made, findings gained and lost."""
    from massing.checks.run import check_scheme
    from massing.voids.compare import compare

    project, first = open_project(file, before)
    _, second = open_project(file, after)
    answers = [check_scheme(project, name, nudges=False) for name in (first, second)]
    found = compare(*answers)
    if form == "json":
        click.echo(json.dumps(_plain(project.name, found), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_text(project.name, found)))
    return 0


def _text(project: str, found: Comparison) -> Iterator[str]:
    yield f"{project}: {found.before.scheme} -> {found.after.scheme}"
    yield ""
    names = [found.before.scheme, found.after.scheme, "change"]
    wide = max(12, *(len(name) for name in names))
    yield f"{'':36}" + "".join(f"  {name:>{wide}}" for name in names)
    for words, before, after, form in _rows(found):
        cells = [format(before, form), format(after, form), format(after - before, "+" + form)]
        yield f"{words:36}" + "".join(f"  {cell:>{wide}}" for cell in cells)
    for words, facts in (("before", found.before), ("after", found.after)):
        yield _largest(words, facts)
    freed = found.freed / 1e6
    yield f"floor {'freed' if freed >= 0 else 'taken'}: {abs(freed):.3f} m²"
    yield from _items(found)
    yield from _findings(found)


def _rows(found: Comparison) -> Iterator[tuple[str, float, float, str]]:
    from massing.voids.store import reach_words

    one, two = found.before, found.after
    yield "floor obstructed below 2000, m²", one.obstructed / 1e6, two.obstructed / 1e6, ".3f"
    yield "clear standing floor, m²", one.standing / 1e6, two.standing / 1e6, ".3f"
    yield "largest open circle, mm", one.circle.diameter, two.circle.diameter, ".1f"
    areas = [facts.rectangle.size[0] * facts.rectangle.size[1] / 1e6 for facts in (one, two)]
    yield "largest open rectangle, m²", areas[0], areas[1], ".3f"
    yield "store, litres", sum(one.store) / 1e6, sum(two.store) / 1e6, ".1f"
    for words, first, second in zip(reach_words(), one.store, two.store, strict=True):
        yield f"  {words}", first / 1e6, second / 1e6, ".1f"
    yield "conflicts", one.conflicts, two.conflicts, "d"
    yield "to re-measure", one.remeasure, two.remeasure, "d"
    yield "cautions", one.cautions, two.cautions, "d"


def _largest(words: str, facts: Facts) -> str:
    from massing.checks.words import mm

    (wide, deep), (x, y) = facts.rectangle.size, facts.rectangle.low
    proved = "" if facts.rectangle.proved else ", not proved the largest"
    return (
        f"{words}: circle of {mm(facts.circle.diameter)} about "
        f"{mm(facts.circle.centre[0])}, {mm(facts.circle.centre[1])}; rectangle {mm(wide)} x "
        f"{mm(deep)} from {mm(x)}, {mm(y)}{proved}"
    )


def _items(found: Comparison) -> Iterator[str]:
    from massing.checks.words import move_words
    from massing.cli.text import wrapped

    yield ""
    for words, names in (("in", found.coming), ("out", found.going)):
        yield from wrapped(", ".join(names) or "nothing", f"{words:5}", "     ")
    moves = []
    for move in found.moved:
        turn = f", {_turn_words(move.turned_deg)}" if move.turned_deg else ""
        moves.append(f"{move.name} {move_words(move.by)}{turn}")
    yield from wrapped("; ".join(moves) or "nothing", "moved ", "      ")


def _turn_words(angle: float) -> str:
    """A turn in whole degrees as seen from above; in tenths where it is less than one.

    >>> _turn_words(-179.399), _turn_words(90.0), _turn_words(180.0)
    ('turned 179° clockwise', 'turned 90° anticlockwise', 'turned 180°')
    """
    size = f"{abs(angle):.0f}" if abs(angle) >= 0.95 else f"{abs(angle):.1f}"
    way = "" if size == "180" else " clockwise" if angle < 0 else " anticlockwise"
    return f"turned {size}°{way}"


def _findings(found: Comparison) -> Iterator[str]:
    from massing.cli.text import wrapped

    for words, findings in (("gained", found.gained), ("lost", found.lost)):
        yield ""
        yield f"findings {words}: {len(findings) or 'none'}"
        for finding in findings:
            yield from wrapped(f"{finding.verdict.value}: {finding.says}", "  - ", "    ")
    if found.turned:
        yield ""
        yield f"findings with another verdict: {len(found.turned)}"
        for pair in found.turned:
            says = f"{pair.before.verdict.value} -> {pair.after.verdict.value}: {pair.after.says}"
            yield from wrapped(says, "  - ", "    ")


def _plain(project: str, found: Comparison) -> dict[str, Any]:
    return {
        "massing": 1,
        "project": project,
        "before": _facts(found.before),
        "after": _facts(found.after),
        "freed_m2": _round(found.freed / 1e6, 6),
        "items_in": list(found.coming),
        "items_out": list(found.going),
        "moved": [
            {"item": move.name, "by_mm": list(move.by), "turned_deg": move.turned_deg}
            for move in found.moved
        ],
        "gained": _told(found.gained),
        "lost": _told(found.lost),
        "turned": [
            {"from": pair.before.verdict.value, **_told([pair.after])[0]} for pair in found.turned
        ],
    }


def _facts(facts: Facts) -> dict[str, Any]:
    from massing.voids.store import REACH

    limits = [None, *REACH, None]
    return {
        "scheme": facts.scheme,
        "obstructed_m2": _round(facts.obstructed / 1e6, 6),
        "standing_m2": _round(facts.standing / 1e6, 6),
        "circle": {
            "diameter_mm": _round(facts.circle.diameter, 1),
            "centre_mm": [_round(v, 1) for v in facts.circle.centre],
        },
        "rectangle": {
            "low_mm": [_round(v, 3) for v in facts.rectangle.low],
            "high_mm": [_round(v, 3) for v in facts.rectangle.high],
            "proved": facts.rectangle.proved,
        },
        "store_l": _round(sum(facts.store) / 1e6, 3),
        "store_by_reach": [
            {"from_mm": limits[k], "below_mm": limits[k + 1], "litres": _round(v / 1e6, 3)}
            for k, v in enumerate(facts.store)
        ],
        "conflicts": facts.conflicts,
        "re_measure": facts.remeasure,
        "cautions": facts.cautions,
    }


def _told(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [
        {
            "check": finding.check,
            "verdict": finding.verdict.value,
            "items": list(finding.items),
            "says": finding.says,
        }
        for finding in findings
    ]


def _round(value: float, digits: int) -> float:
    return round(float(value), digits) + 0.0
