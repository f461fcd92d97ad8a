"""`massing where FILE ITEM`: along which stretches of each wall a thing can stand."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, open_project, scheme_option

if TYPE_CHECKING:
    from massing.project.project import Project
    from massing.voids.where import WallMap

__all__ = ["command"]


@click.command(name="where", short_help="Where one thing can stand at all.")
@file_argument
@click.argument("item")
@scheme_option
@click.option("--height", type=float, help="Above the floor, for a thing that hangs, mm.")
@click.option("--picture", type=click.Path(path_type=Path), help="Also draw it: a .png file.")
@click.option("--dark", is_flag=True, help="On dark paper.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
def command(
    file: Path,
    item: str,
    scheme: str | None,
    height: float | None,
    picture: Path | None,
    form: str,
    *,
    dark: bool,
) -> int:
    """Slide a thing along each wall and tell where it is in no conflict.

    ITEM is something the scheme places, which is then lifted out of it, or anything of the
    project or the catalogue.
    """
    from massing.voids.where import where_against

    project, name = open_project(file, scheme)
    maps = where_against(project, name, item, height=height)
    if picture is not None:
        _draw(project, name, item, maps, picture, dark=dark)
    if form == "json":
        click.echo(json.dumps(_plain(project.name, name, item, maps), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_text(project.name, name, item, maps)))
        if picture is not None:
            click.echo(f"wrote {picture}")
    return 0


def _text(project: str, scheme: str, item: str, maps: Sequence[WallMap]) -> Iterator[str]:
    from massing.checks.words import mm
    from massing.cli.text import wrapped

    yield f"{project} / {scheme}: where {item} can stand, its back to the wall, sizes as noted"
    yield "its left end, mm from the wall's left end as you face it from inside"
    for found in maps:
        yield ""
        told = ", ".join(
            f"at {mm(piece.start)}"
            if piece.stop - piece.start < 0.05
            else f"{mm(piece.start)} to {mm(piece.stop)}"
            for piece in found.stretches
        )
        short = "" if found.stretches or found.blocked else f" ({mm(found.length)} is too short)"
        yield f"{found.wall:12} {told or 'nowhere'}{short}"
        for block in found.blocked:
            says = f"not {mm(block.start)} to {mm(block.stop)}: {block.why[0]}"
            more = len(block.why) - 1
            yield from wrapped(says + (f", and {more} more" if more else ""), "    ", "      ")


def _plain(project: str, scheme: str, item: str, maps: Sequence[WallMap]) -> dict[str, Any]:
    return {
        "massing": 1,
        "project": project,
        "scheme": scheme,
        "item": item,
        "walls": [
            {
                "wall": found.wall,
                "length_mm": _mm(found.length),
                "width_mm": _mm(found.width),
                "depth_mm": _mm(found.depth),
                "stretches_mm": [[_mm(s.start), _mm(s.stop)] for s in found.stretches],
                "blocked": [
                    {"from_mm": _mm(b.start), "to_mm": _mm(b.stop), "why": list(b.why)}
                    for b in found.blocked
                ],
            }
            for found in maps
        ],
    }


def _mm(value: float) -> float:
    return round(float(value), 2) + 0.0


def _draw(
    project: Project,
    scheme: str,
    item: str,
    maps: Sequence[WallMap],
    target: Path,
    *,
    dark: bool,
) -> None:
    from massing.errors import MissingToolError
    from massing.handover.looks import look
    from massing.handover.pictures.paper import DARK, LIGHT
    from massing.reading.files import write_beside_then_rename
    from massing.scheme.place import place
    from massing.survey.values import Values
    from massing.voids.trial import without
    from massing.voids.where_picture import Tones, where_png

    try:
        from PIL import ImageFont
    except ImportError as error:
        raise MissingToolError("pictures need Pillow: pip install pillow") from error
    paper = DARK if dark else LIGHT
    tones = Tones(
        ground=paper.ground,
        floor=paper.surface["floor"],
        wall=paper.surface["wall"],
        ink=paper.ink,
        faint=paper.faint,
        quiet=paper.quiet,
        body=look("body").srgb,
        kept=look("body", stays=True).srgb,
        free=look("void").srgb,
        shut=paper.alarm,
    )
    layout = place(without(project, scheme, {item}), scheme, Values())
    title = f"{project.name}: where {item} can stand"
    data = where_png(layout, maps, title, tones, ImageFont.load_default)
    write_beside_then_rename(target, data)
