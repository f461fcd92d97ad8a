"""`massing where FILE ITEM`: along which walls, on what floor and how high a thing can go."""

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
    from massing.voids.where_free import FloorMap, HeightMap
    from massing.voids.where_hung import HungMap

__all__ = ["command"]

_TOLD = 3  # of what takes the places up, the most first


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
    """Slide a thing along each wall and over the floor, and tell where it is in no conflict.

    ITEM is something the scheme places, which is then lifted out of it, or anything of the
    project or the catalogue.

    What overlaps decide is exact. What a check weighs by share, such as support and the ways
    through the room, is looked at every 250 mm; along walls each change is then narrowed down to
    0.005 mm, on the floor and up the walls the square of 250 mm is left out.
    """
    from massing.voids.where import where_against
    from massing.voids.where_free import where_on_floor, where_up_walls
    from massing.voids.where_hung import where_under_ceiling

    project, name = open_project(file, scheme)
    maps = where_against(project, name, item, height=height)
    floors = where_on_floor(project, name, item) if height is None else ()
    heights = where_up_walls(project, name, item)
    hung = where_under_ceiling(project, name, item) if height is None else ()
    if picture is not None:
        _draw(
            project,
            name,
            item,
            (maps, floors or [found.plan for found in hung]),
            picture,
            dark=dark,
        )
    if form == "json":
        answer = _plain(project.name, name, item, maps)
        answer |= {"floor": [*map(_floor_plain, floors)], "heights": [*map(_height_plain, heights)]}
        answer |= {"hung": [*map(_hung_plain, hung)]}
        click.echo(json.dumps(answer, indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_text(project.name, name, item, maps)))
        for line in (*_floor_text(floors), *_hung_text(hung), *_height_text(heights)):
            click.echo(line)
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


def _floor_text(floors: Sequence[FloorMap]) -> Iterator[str]:

    if not floors:
        return
    yield ""
    yield "on the floor, away from walls too: m² of places for the middle of its body"
    for found in floors:
        yield from _turn_text(found)


def _hung_text(hung: Sequence[HungMap]) -> Iterator[str]:
    from massing.checks.words import mm

    if not hung:
        return
    yield ""
    yield "under the ceiling, away from walls too: m² of places for the middle of its body"
    for found in hung:
        under = ""
        if found.undersides is not None:
            low, high = (mm(z) for z in found.undersides)
            under = f"; its underside at {low}" + ("" if low == high else f" to {high}")
            if found.plan.spot is not None:
                under += f", there {mm(found.spot_over)} above the floor"
        yield from _turn_text(found.plan, under)


def _turn_text(found: FloorMap, more: str = "") -> Iterator[str]:
    from massing.checks.words import mm
    from massing.cli.text import wrapped

    looks = f"front to {found.facing}" if found.facing else f"turned {found.turn:g}°"
    areas = f"{found.body.area / 1e6:.3f} for its body, {found.clear.area / 1e6:.3f} clear"
    play = ""
    if found.spot is not None:
        x, y = (spot - size / 2.0 for spot, size in zip(found.spot, found.size, strict=True))
        play = f"; roomiest at [{mm(x)}, {mm(y)}], {mm(found.slack)} of play each way"
    tight = f"; {len(found.slits)} places without play" if len(found.slits) else ""
    yield from wrapped(areas + play + more + tight, f"{looks:16} ", " " * 17)
    taken = [f"{what} {area / 1e6:.3f}" for what, area in found.blocked[:_TOLD]]
    if taken:
        yield from wrapped("taken up: " + "; ".join(taken), " " * 17, " " * 19)


def _height_text(heights: Sequence[HeightMap]) -> Iterator[str]:
    from massing.checks.words import mm
    from massing.cli.text import wrapped

    if not heights:
        return
    yield ""
    yield "how high: z of its underside, least and most anywhere along the wall"
    for found in heights:
        says = "nowhere"
        if found.heights is not None and found.spot is not None:
            low, high = (mm(z) for z in found.heights)
            says = f"{low} to {high}; roomiest at {mm(found.spot[0])} along, {mm(found.spot[1])} up"
            says += f", {mm(found.slack)} of play each way"
            if found.over is not None and found.over != found.heights:
                low, high = (mm(z) for z in found.over)
                says += f"; above the floor under it {low} to {high}, there {mm(found.spot_over)}"
        taken = "; ".join(f"{what} {area / 1e6:.3f} m²" for what, area in found.blocked[:_TOLD])
        yield from wrapped(
            says + (f" (taken up: {taken})" if taken else ""), f"{found.wall:12} ", "    "
        )


def _floor_plain(found: FloorMap) -> dict[str, Any]:
    return {
        "turn": round(found.turn, 4),
        "facing": found.facing or None,
        "size_mm": [_mm(size) for size in found.size],
        "body_m2": round(found.body.area / 1e6, 6),
        "clear_m2": round(found.clear.area / 1e6, 6),
        "roomiest_mm": None if found.spot is None else [_mm(v) for v in found.spot],
        "play_mm": _mm(found.slack),
        "body_mm": _rings(found.body),
        "clear_mm": _rings(found.clear),
        "without_play_mm": [[_mm(x), _mm(y)] for x, y in found.slits.tolist()],
        "taken_up_m2": {what: round(area / 1e6, 6) for what, area in found.blocked},
    }


def _hung_plain(found: HungMap) -> dict[str, Any]:
    return {
        **_floor_plain(found.plan),
        "underside_mm": None if found.undersides is None else [_mm(z) for z in found.undersides],
        "roomiest_above_floor_mm": None if found.plan.spot is None else _mm(found.spot_over),
    }


def _height_plain(found: HeightMap) -> dict[str, Any]:
    return {
        "wall": found.wall,
        "width_mm": _mm(found.width),
        "underside_mm": None if found.heights is None else [_mm(z) for z in found.heights],
        "above_floor_mm": None if found.over is None else [_mm(z) for z in found.over],
        "roomiest_mm": None if found.spot is None else [_mm(v) for v in found.spot],
        "play_mm": _mm(found.slack),
        "clear_mm": _rings(found.clear),
        "taken_up_m2": {what: round(area / 1e6, 6) for what, area in found.blocked},
    }


def _rings(region: Any) -> list[list[list[list[float]]]]:
    """Polygons, each its outer ring and then its holes, corners once."""
    from massing.voids.regions import polygons_of

    return [
        [
            [[_mm(x), _mm(y)] for x, y in ring.coords[:-1]]
            for ring in (piece.exterior, *piece.interiors)
        ]
        for piece in polygons_of(region)
    ]


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
    maps: tuple[Sequence[WallMap], Sequence[FloorMap]],
    target: Path,
    *,
    dark: bool,
) -> None:
    from importlib import import_module

    from massing.errors import MissingToolError
    from massing.handover.looks import look
    from massing.handover.pictures.fonts import font
    from massing.handover.pictures.paper import DARK, LIGHT
    from massing.reading.files import write_beside_then_rename
    from massing.scheme.place import place
    from massing.survey.values import Values
    from massing.voids.trial import without
    from massing.voids.where_free_picture import with_floor_maps
    from massing.voids.where_picture import Tones, where_png

    try:
        import_module("PIL")
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
    data = where_png(layout, maps[0], title, tones, font)
    if maps[1]:
        data = with_floor_maps(data, layout, maps[1], tones, font)
    write_beside_then_rename(target, data)
