"""`massing picture FILE`: draw the scheme as a PNG."""

from __future__ import annotations

from pathlib import Path

import click

from massing.cli.options import file_argument, open_project, scheme_option
from massing.cli.progress import progress

__all__ = ["command"]

_VIEWS = ("corner", "back corner", "plan", "long section", "cross section")


@click.command(name="picture", short_help="Draw the scheme as a PNG.")
@file_argument
@scheme_option
@click.option("--all", "every", is_flag=True, help="Every scheme, from everywhere, into a folder.")
@click.option(
    "--view",
    type=click.Choice(_VIEWS),
    help="Where to look from; the corner, or with --all each of these, when left out.",
)
@click.option("--dark", is_flag=True, help="On dark paper.")
@click.option("--out", "-o", type=click.Path(path_type=Path), help="A .png file or a folder.")
@click.option("--size", default="1600x1000", help="Pixels, such as 1600x1000.", metavar="WxH")
def command(
    file: Path,
    scheme: str | None,
    view: str | None,
    out: Path | None,
    size: str,
    *,
    dark: bool,
    every: bool,
) -> int:
    """Draw one scheme, or all, its findings numbered as `massing check` numbers them."""
    from massing.checks.run import check_scheme
    from massing.handover.pictures.paper import DARK, LIGHT
    from massing.handover.pictures.sheet import picture
    from massing.handover.pictures.stage import require_gl
    from massing.reading.files import write_beside_then_rename

    if every and scheme is not None:
        raise click.UsageError("--all draws every scheme; leave --scheme out")
    pixels = _pixels(size)
    _is_picture(out, every=every)
    require_gl()
    project, name = open_project(file, scheme)
    names = list(project.arrangements) if every else [name]
    views = (view,) if view else _VIEWS if every else _VIEWS[:1]
    targets = {one: _targets(file, one, views, out) for one in names}
    _apart(targets)
    with progress(len(names) * len(views)) as step:
        for one, files in targets.items():
            answer = check_scheme(project, one, nudges=False)
            for looked, target in files.items():
                data = picture(answer, looked, DARK if dark else LIGHT, pixels)
                write_beside_then_rename(target, data)
                step(target.name)
    for files in targets.values():
        for target in files.values():
            click.echo(f"wrote {target}")
    return 0


def _pixels(size: str) -> tuple[int, int]:
    """Width and height. Raises InputError for what is not a picture's size."""
    from massing.errors import Fault, InputError

    parts = size.lower().split("x")
    if len(parts) != 2 or not all(p.isdecimal() and 600 <= int(p) <= 8000 for p in parts):
        says = f"'{size}' is not a picture size; write such as 1600x1000, each 600 to 8000"
        raise InputError([Fault(says)])
    return int(parts[0]), int(parts[1])


def _is_picture(out: Path | None, *, every: bool) -> None:
    """Raise InputError for a file that is no picture, or is one where many are asked for."""
    from massing.errors import Fault, InputError

    if out is None or not out.suffix:
        return
    if out.suffix.lower() != ".png":
        raise InputError([Fault(f"a picture is a .png file; '{out.name}' is named as another")])
    if every:
        raise InputError([Fault(f"--all writes several files; '{out.name}' is one")])


def _targets(file: Path, scheme: str, views: tuple[str, ...], out: Path | None) -> dict[str, Path]:
    """The file of each view."""
    from massing.handover.targets import target_files

    return {view: target_files(file, f"{scheme} {view}", out, ("png",))[0] for view in views}


def _apart(targets: dict[str, dict[str, Path]]) -> None:
    from massing.handover.targets import one_name_each

    one_name_each({scheme: next(iter(files.values())) for scheme, files in targets.items()})
