"""`massing picture FILE`: draw the scheme as a PNG."""

from __future__ import annotations

from pathlib import Path

import click

from massing.cli.options import file_argument, open_project, scheme_option

__all__ = ["command"]

_VIEWS = ("corner", "back corner", "plan", "long section", "cross section")


@click.command(name="picture", short_help="Draw the scheme as a PNG.")
@file_argument
@scheme_option
@click.option("--view", type=click.Choice(_VIEWS), default="corner", help="Where to look from.")
@click.option("--dark", is_flag=True, help="On dark paper.")
@click.option("--out", "-o", type=click.Path(path_type=Path), help="A .png file or a folder.")
@click.option("--size", default="1600x1000", help="Pixels, such as 1600x1000.", metavar="WxH")
def command(
    file: Path, scheme: str | None, view: str, out: Path | None, size: str, *, dark: bool
) -> int:
    """Draw one scheme, its findings numbered as `massing check` numbers them."""
    from massing.checks.run import check_scheme
    from massing.errors import Fault, InputError
    from massing.handover.pictures.paper import DARK, LIGHT
    from massing.handover.pictures.sheet import picture
    from massing.handover.pictures.stage import require_gl
    from massing.handover.targets import target_files
    from massing.reading.files import write_beside_then_rename

    parts = size.lower().split("x")
    if len(parts) != 2 or not all(p.isdecimal() and 600 <= int(p) <= 8000 for p in parts):
        says = f"'{size}' is not a picture size; write such as 1600x1000, each 600 to 8000"
        raise InputError([Fault(says)])
    if out is not None and out.suffix.lower() not in {"", ".png"}:
        raise InputError([Fault(f"a picture is a .png file; '{out.name}' is named as another")])
    require_gl()
    project, name = open_project(file, scheme)
    (target,) = target_files(file, f"{name} {view}", out, ("png",))
    answer = check_scheme(project, name, nudges=False)
    paper = DARK if dark else LIGHT
    data = picture(answer, view, paper, (int(parts[0]), int(parts[1])))
    write_beside_then_rename(target, data)
    click.echo(f"wrote {target}")
    return 0
