"""`massing remeasure FILE`: what to take to the site with the tape."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, open_project, scheme_option

if TYPE_CHECKING:
    from massing.checks.run import Answer
    from massing.sureness.remeasure import Hanging, Remeasure

__all__ = ["command"]

_PAGE = 60  # lines of one printed sheet
_FINEST = 1.0  # mm; nobody tapes a room finer than this


@click.command(name="remeasure", short_help="What to measure again, most telling first.")
@file_argument
@scheme_option
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
def command(file: Path, scheme: str | None, form: str) -> int:
    """Rank the measurements by the verdicts that hang on them: a one-page list for the site."""
    from massing.checks.run import check_scheme

    project, name = open_project(file, scheme)
    answer = check_scheme(project, name, nudges=False)
    if form == "json":
        click.echo(json.dumps(_plain(answer), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_page(answer)))
    return 0


def _page(answer: Answer) -> list[str]:
    """The sheet, cut to one page."""
    lines = list(_text(answer))
    if len(lines) <= _PAGE:
        return lines
    left = sum("[ ]" in line for line in lines[_PAGE - 1 :])
    more = f"{left} more, less telling" if left else "more, less telling"
    return [*lines[: _PAGE - 1], f"(... {more}: --format json lists everything)"]


def _text(answer: Answer) -> Iterator[str]:
    from massing.cli.text import wrapped
    from massing.sureness.remeasure import remeasure

    rows = remeasure(answer)
    yield f"{answer.project.name} / {answer.layout.name}: sizes to take again on site"
    for note in (n for survey in answer.layout.room.surveys for n in survey.notes):
        yield from wrapped(f"First: {note}", "", "  ")
    yield ""
    if not rows:
        yield "Nothing here hangs on a size that carries a ±."
        return
    deciding = [row for row in rows if row.open]
    close = [row for row in rows if not row.open and row.near]
    rest = [row for row in rows if not row.near]
    numbers = {row.measure.key: k for k, row in enumerate([*deciding, *close], 1)}
    for head, part in (
        ("THESE DECIDE WHETHER IT FITS", deciding),
        ("NOTHING TURNS ON THESE AS NOTED, BUT A SLIP IN ONE COULD", close),
    ):
        if not part:
            continue
        yield head
        for row in part:
            yield from _row(row, numbers)
        yield ""
    if not deciding:
        yield "No verdict is open: as far as the ± noted reach, every answer stands."
    if rest:
        labels = ", ".join(row.measure.label for row in rest)
        yield from wrapped(f"No need to go back for: {labels}.", "", "  ")
    yield from wrapped(
        "Sizes in mm as noted in the file. Write what the tape says beside each, put it in the "
        "file with its new ±, and check again.",
        "",
        "",
    )


def _row(row: Remeasure, numbers: dict[str, int]) -> Iterator[str]:
    from massing.cli.text import measured, wrapped

    measure = row.measure
    by = f", {measure.method}" if measure.method else ""
    noted = f"{measured(measure, measure.nominal)} ±{measured(measure, measure.half_width)}{by}"
    yield from wrapped(
        f"{measure.label}: noted {noted}", f"{numbers[measure.key]:>3} [ ] ", "        "
    )
    told = f"now: ____________   take it to {_wanted(row, numbers)}"
    yield from wrapped(told, "        ", "          ")
    shown = row.near[:3]
    for hang in shown:
        yield from wrapped(f"{_turns(hang)}: {hang.finding.says}", "        - ", "          ")
    if len(row.near) > len(shown):
        yield f"        - and {len(row.near) - len(shown)} more"


def _wanted(row: Remeasure, numbers: dict[str, int]) -> str:
    """How well it must be measured for a verdict to be settled, as a tape can be held."""
    from massing.cli.text import measured

    half, alone = (row.tolerance, True) if row.tolerance else (row.together, False)
    if half is None:
        return "the nearest mm" if row.measure.unit == "mm" else "the nearest half degree"
    if row.measure.unit == "mm" and half < _FINEST:
        return "the nearest mm; if that does not settle it, allow more room"
    rounded = int(2.0 * half) / 2.0 if row.measure.unit == "mm" else int(20.0 * half) / 20.0
    told = f"±{measured(row.measure, rounded)}"
    others = sorted(_others(row, numbers))
    return told if alone or not others else f"{told}, and {_runs(others)} as much better"


def _others(row: Remeasure, numbers: dict[str, int]) -> set[int]:
    """Numbers of the other measurements that the open verdicts of this one hang on."""
    keys = {key for h in row.hanging if h.tolerance is not None for key, _ in h.finding.turns_on}
    return {numbers[key] for key in keys - {row.measure.key} if key in numbers}


def _runs(numbers: list[int]) -> str:
    """Numbers in words, runs of three or more with a dash.

    >>> _runs([2]), _runs([1, 2, 3, 7])
    ('no. 2', 'nos 1-3, 7')
    """
    if len(numbers) == 1:
        return f"no. {numbers[0]}"
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    told = [
        f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(str(n) for n in run) for run in parts
    ]
    return "nos " + ", ".join(told)


def _turns(hang: Hanging) -> str:
    if hang.tolerance is not None:
        return "decides"
    return f"{hang.finding.verdict.value} now"


def _plain(answer: Answer) -> dict[str, Any]:
    from massing.sureness.remeasure import remeasure

    return {
        "massing": 1,
        "project": answer.project.name,
        "scheme": answer.layout.name,
        "survey": [n for survey in answer.layout.room.surveys for n in survey.notes],
        "remeasure": [
            {
                "measure": row.measure.key,
                "says": row.measure.label,
                "unit": row.measure.unit,
                "nominal": _round(row.measure.nominal),
                "plus_minus": _round(row.measure.half_width),
                "by": row.measure.method,
                "decides": row.open,
                "settles": row.settles,
                "needs_plus_minus": _round(row.tolerance),
                "needs_with_others": _round(row.together),
                "hanging": [_plain_hanging(hang) for hang in row.hanging],
            }
            for row in remeasure(answer)
        ],
    }


def _plain_hanging(hang: Hanging) -> dict[str, Any]:
    return {
        "check": hang.finding.check,
        "verdict": hang.finding.verdict.value,
        "items": list(hang.finding.items),
        "says": hang.finding.says,
        "unit": hang.finding.unit,
        "share": _round(hang.share),
        "slack": _round(hang.slack),
        "settles_at": _round(hang.tolerance),
        "settles_with_others_at": _round(hang.together),
    }


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3) + 0.0
