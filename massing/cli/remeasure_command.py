"""`massing remeasure FILE`: what to take to the site with the tape."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from massing.cli.options import file_argument, open_project, scheme_option

if TYPE_CHECKING:
    from massing.checks.run import Answer

__all__ = ["command"]


@click.command(name="remeasure", short_help="What to measure again, most telling first.")
@file_argument
@scheme_option
def command(file: Path, scheme: str | None) -> int:
    """Rank the measurements by the verdicts that hang on them: a one-page list for the site."""
    from massing.checks.run import check_scheme

    project, name = open_project(file, scheme)
    click.echo(_text(check_scheme(project, name, nudges=False)))
    return 0


def _text(answer: Answer) -> str:
    from massing.checks.words import mm
    from massing.cli.text import wrapped
    from massing.sureness.remeasure import remeasure

    rows = remeasure(answer)
    head = f"{answer.project.name} / {answer.layout.name}: measure again on site"
    lines = [*wrapped(head, "", "  "), ""]
    if not rows:
        lines.append(
            "Nothing hangs on a measurement: no size in the file carries a ± that matters."
        )
        return "\n".join(lines)
    for number, row in enumerate(rows, 1):
        measure = row.measure
        by = f", {measure.method}" if measure.method else ""
        noted = f"{mm(measure.nominal)} ±{mm(measure.half_width)}{by}   now: ____________"
        lines += wrapped(f"[ ] {measure.label}: {noted}", f"{number:>3}  ", "         ")
        near = [
            h for h in row.hanging if h.tolerance is not None or abs(h.slack) < 4 * abs(h.share)
        ]
        for hang in near[:4]:
            words = f"{hang.finding.verdict.value}: {hang.finding.says}"
            lines.extend(wrapped(words, "           - ", "             "))
        if len(row.hanging) > len(near[:4]):
            lines.append(f"           - and {len(row.hanging) - len(near[:4])} that it cannot turn")
        if row.tolerance:
            lines.append(
                f"           to ±{mm(row.tolerance)} it settles {row.settles} of {row.open}"
            )
        elif row.open:
            shared = min(h.together for h in row.hanging if h.together is not None)
            lines.append(
                f"           alone it settles nothing; to ±{mm(shared)}, with the others of its "
                "verdict as much better, it does"
            )
    lines += ["", "Sizes as noted in the file; write what the tape says beside each."]
    return "\n".join(lines)
