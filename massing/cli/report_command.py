"""`massing report FILE`: write the page a client and a builder read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from massing.cli.options import file_argument, open_project, scheme_option
from massing.cli.progress import progress

if TYPE_CHECKING:
    from massing.project.project import Project

__all__ = ["command"]


@click.command(name="report", short_help="Write the report as one HTML page.")
@file_argument
@scheme_option
@click.option(
    "--against",
    "-a",
    metavar="NAME",
    help="The scheme to compare with; the first in the file when left out.",
)
@click.option(
    "--out",
    "-o",
    type=click.Path(path_type=Path),
    help="A .html or .pdf file, or a folder; the project's own folder when left out.",
)
@click.option("--pdf", is_flag=True, help="Print a PDF beside the page (needs a Chromium).")
@click.option("--all", "every", is_flag=True, help="A report of every scheme, into a folder.")
def command(
    file: Path, scheme: str | None, against: str | None, out: Path | None, *, pdf: bool, every: bool
) -> int:
    """Write one scheme up as a page that opens anywhere, offline: verdicts, view and schedules.

    Conflicts do not stop the report; they are what it is for.
    """
    if every and scheme is not None:
        raise click.UsageError("--all goes without --scheme")
    project, name = open_project(file, scheme)
    _, before = (
        open_project(file, against) if against else (project, next(iter(project.arrangements)))
    )
    names = list(project.arrangements) if every else [name]
    targets = [_targets(file, one, out, pdf=pdf, every=every) for one in names]
    _apart(names, targets)
    if any(path.suffix == ".pdf" for pair in targets for path in pair):
        _require_browser()
    if not every:
        written = _write(project, name, before, targets[0])
    else:
        written = _write_all(project, names, before, targets)
    for path in written:
        click.echo(f"wrote {path}")
    return 0


def _targets(
    file: Path, scheme: str, out: Path | None, *, pdf: bool, every: bool
) -> tuple[Path, ...]:
    """The files to write for one scheme. Raises InputError for a name that is neither kind."""
    from massing.errors import Fault, InputError
    from massing.handover.targets import target_files

    ending = "" if out is None else out.suffix.lower()
    if ending not in {"", ".html", ".htm", ".pdf"}:
        says = f"a report is a .html or .pdf file; '{out.name if out else ''}' is named as another"
        raise InputError([Fault(says)])
    if every and ending:
        raise InputError([Fault(f"--all writes several files; '{out}' is one, not a folder")])
    endings = ("html", "pdf") if pdf else ("html",)
    if out is None or not ending:
        return target_files(file, f"{scheme} report", out, endings)
    (asked,) = target_files(file, scheme, out, ("html",))
    return (asked, asked.with_suffix(".pdf")) if pdf and ending != ".pdf" else (asked,)


def _apart(names: Sequence[str], targets: Sequence[Sequence[Path]]) -> None:
    from massing.handover.targets import one_name_each

    one_name_each({name: pair[0] for name, pair in zip(names, targets, strict=True)})


def _require_browser() -> None:
    """Say early that nothing can print, before anything is worked out."""
    from massing.errors import MissingToolError
    from massing.handover.report.pdf import browser

    if browser() is None:
        raise MissingToolError(
            "no Chromium found to print a PDF with; install one, name it in MASSING_BROWSER, or "
            "leave the PDF out and print the HTML page from any browser"
        )


def _write(project: Project, scheme: str, before: str, targets: Sequence[Path]) -> list[Path]:
    """Check, write up, and put each file in place whole."""
    from massing.checks.run import check_scheme
    from massing.handover.report.page import report_page
    from massing.handover.report.pdf import printed
    from massing.reading.files import write_beside_then_rename

    answer = check_scheme(project, scheme)
    other = None if before == scheme else check_scheme(project, before, nudges=False)
    page = report_page(answer, other)
    for target in targets:
        paper = target.suffix.lower() == ".pdf"
        data = printed(page) if paper else page.encode("utf-8")
        write_beside_then_rename(target, data)
    return list(targets)


def _write_all(
    project: Project, names: Sequence[str], before: str, targets: Sequence[Sequence[Path]]
) -> list[Path]:
    """Every scheme in turn, with a line of progress where someone is watching."""
    written: list[Path] = []
    with progress(len(names)) as step:
        for name, files in zip(names, targets, strict=True):
            written += _write(project, name, before, files)
            step(name)
    return written
