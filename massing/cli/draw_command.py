"""`massing draw FILE`: draw the scheme to scale."""

from __future__ import annotations

from pathlib import Path

import click

from massing.cli.options import file_argument, open_project, scheme_option

__all__ = ["command"]


@click.command(name="draw", short_help="Draw plan, sections and elevations to scale.")
@file_argument
@scheme_option
@click.option(
    "--out",
    "-o",
    type=click.Path(path_type=Path),
    help="A folder, or a .pdf file; the project's own folder when left out.",
)
@click.option(
    "--paper",
    type=click.Choice(("A4", "A3", "A2"), case_sensitive=False),
    help="Sheet size; A3, or A2 where that is too small, when left out.",
)
@click.option("--scale", help="Such as 1:25; the largest that fits when left out.", metavar="1:N")
def command(
    file: Path, scheme: str | None, out: Path | None, paper: str | None, scale: str | None
) -> int:
    """Draw one scheme as a set of sheets: a PDF of them all, and an SVG of each.

    Findings are numbered as `massing check` numbers them.
    """
    from massing.checks.run import check_scheme
    from massing.errors import Fault, InputError
    from massing.handover.drawings.drawings import drawing_set
    from massing.handover.drawings.pdf import pdf_of
    from massing.handover.drawings.svg import svg_of
    from massing.handover.targets import target_files
    from massing.reading.files import write_beside_then_rename

    if out is not None and out.suffix.lower() not in {"", ".pdf"}:
        says = f"drawings go to a folder or a .pdf file; '{out.name}' is named as another"
        raise InputError([Fault(says)])
    ratio = _ratio(scale)
    project, name = open_project(file, scheme)
    (target,) = target_files(file, f"{name} drawings", out, ("pdf",))
    answer = check_scheme(project, name, nudges=False)
    sheets = drawing_set(answer, paper=paper.upper() if paper else None, scale=ratio)
    write_beside_then_rename(target, pdf_of(sheets, f"{project.name}, {name}"))
    click.echo(f"wrote {target}, {len(sheets)} sheets {sheets[0].paper}")
    for number, sheet in enumerate(sheets, 1):
        path = target.with_name(f"{target.stem}-{number}.svg")
        write_beside_then_rename(path, svg_of(sheet).encode())
        click.echo(f"wrote {path}")
    return 0


def _ratio(scale: str | None) -> int | None:
    """The N of 1:N. Raises InputError for a scale that is not a usual one."""
    from massing.errors import Fault, InputError
    from massing.handover.drawings.drawings import SCALES

    if scale is None:
        return None
    told = scale.replace(" ", "").removeprefix("1:")
    if not (told.isascii() and told.isdigit()) or int(told) not in SCALES:
        usual = ", ".join(f"1:{n}" for n in SCALES)
        raise InputError([Fault(f"'{scale}' is not a scale for drawings; they are {usual}")])
    return int(told)
