"""`massing draw FILE`: draw the scheme to scale."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from massing.cli.options import file_argument, open_project, scheme_option
from massing.cli.progress import progress

if TYPE_CHECKING:
    from massing.project.project import Project

__all__ = ["command"]


@click.command(name="draw", short_help="Draw plan, sections and elevations to scale.")
@file_argument
@scheme_option
@click.option("--all", "every", is_flag=True, help="A set of every scheme, into a folder.")
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
    file: Path,
    scheme: str | None,
    out: Path | None,
    paper: str | None,
    scale: str | None,
    *,
    every: bool,
) -> int:
    """Draw one scheme, or all, as a set of sheets: a PDF of them all, and an SVG of each.

    Findings are numbered as `massing check` numbers them.
    """
    from massing.errors import Fault, InputError
    from massing.handover.targets import one_name_each, target_files

    if every and scheme is not None:
        raise click.UsageError("--all draws every scheme; leave --scheme out")
    if every and out is not None and out.suffix:
        raise InputError([Fault(f"--all writes several files; '{out.name}' is one")])
    if out is not None and out.suffix.lower() not in {"", ".pdf"}:
        says = f"drawings go to a folder or a .pdf file; '{out.name}' is named as another"
        raise InputError([Fault(says)])
    ratio = _ratio(scale)
    project, name = open_project(file, scheme)
    names = list(project.arrangements) if every else [name]
    targets = {one: target_files(file, f"{one} drawings", out, ("pdf",))[0] for one in names}
    one_name_each(targets)
    told: list[str] = []
    with progress(len(targets)) as step:
        for one, target in targets.items():
            told += _write(project, one, target, paper.upper() if paper else None, ratio)
            step(one)
    for line in told:
        click.echo(line)
    return 0


def _write(
    project: Project, scheme: str, target: Path, paper: str | None, ratio: int | None
) -> list[str]:
    """Check, draw, and put each file in place whole; what to say of them."""
    from massing.checks.run import check_scheme
    from massing.handover.drawings.drawings import drawing_set
    from massing.handover.drawings.pdf import pdf_of
    from massing.handover.drawings.svg import svg_of
    from massing.reading.files import write_beside_then_rename

    answer = check_scheme(project, scheme, nudges=False)
    sheets = drawing_set(answer, paper=paper, scale=ratio)
    write_beside_then_rename(target, pdf_of(sheets, f"{project.name}, {scheme}"))
    told = [f"wrote {target}, {len(sheets)} sheets {sheets[0].paper}"]
    for number, sheet in enumerate(sheets, 1):
        path = target.with_name(f"{target.stem}-{number}.svg")
        write_beside_then_rename(path, svg_of(sheet).encode())
        told.append(f"wrote {path}")
    return told


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
