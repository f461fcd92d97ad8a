"""`massing route FILE ITEM`: can it be carried in to its place, and how."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, one_of, open_project, scheme_option

if TYPE_CHECKING:
    from massing.routes.carry import CarryAnswer
    from massing.scheme.layout import Layout

__all__ = ["command"]


@click.command(name="route", short_help="Can a thing be carried in to its place, and how.")
@file_argument
@click.argument("item")
@scheme_option
@click.option("--hall", type=float, metavar="MM", help="Width of the hall outside; open ground.")
@click.option("--through", metavar="DOOR", help="Only by this door.")
@click.option("--empty", is_flag=True, help="Into the room with only what stays in it.")
@click.option(
    "--tilt/--upright", default=None, help="May it be laid down; by its weight if unsaid."
)
@click.option("--fine", is_flag=True, help="Search at 10 mm and 2.5 degrees; slower.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
@click.option(
    "--out", "-o", type=click.Path(path_type=Path), help="Draw it: a .png file or a folder."
)
def command(  # noqa: PLR0913, PLR0917
    file: Path,
    item: str,
    scheme: str | None,
    hall: float | None,
    through: str | None,
    tilt: bool | None,
    form: str,
    out: Path | None,
    *,
    empty: bool,
    fine: bool,
) -> int:
    """Carry one item of a scheme from outside through a door to its place.

    Exit status 0 when a way was found, 1 when not.
    """
    from massing.checks.rules import rules_of
    from massing.errors import Fault, InputError
    from massing.geometry.carry.search import Effort
    from massing.routes.carry import EFFORT, Asked, carry_in
    from massing.scheme.place import place
    from massing.survey.values import Values

    if hall is not None and not (math.isfinite(hall) and 200.0 <= hall <= 20_000.0):
        raise InputError([Fault(f"a hall is 200 to 20000 mm wide, not {hall:g}")])
    if out is not None and out.suffix.lower() not in {"", ".png"}:
        raise InputError([Fault(f"a picture is a .png file; '{out.name}' is named as another")])
    project, name = open_project(file, scheme)
    layout = place(project, name, Values())
    wanted = one_of(item, [placed.name for placed in layout.items], f"item in scheme '{name}'")
    doors = [o.name for o in layout.room.openings if o.kind == "door"]
    if through is not None:
        through = one_of(through, doors, "door")
    asked = Asked(hall, empty, tilt, through, rules_of(project).knuckles)
    effort = Effort(((10.0, 144),), 200_000_000) if fine else EFFORT
    found = carry_in(layout, wanted, asked, effort)
    if form == "json":
        click.echo(json.dumps(_plain(project.name, name, found), indent=2))
    else:
        click.echo("\n".join(_text(project.name, name, found)))
    if out is not None:
        _draw(file, out, layout, found)
    return 0 if found.found else 1


def _text(project: str, scheme: str, found: CarryAnswer) -> Iterator[str]:
    from massing.checks.words import mm
    from massing.cli.text import wrapped

    yield from wrapped(f"{project} / {scheme}: carrying in {found.item}", "", "  ")
    yield ""
    yield from wrapped(found.says, "", "  ")
    if found.found and found.path is not None and found.where is not None:
        x, y = found.where
        yield from wrapped(f"tightest at {mm(x)}, {mm(y)}", "  ", "  ")
        yield from wrapped(f"held {_held(found.poses)}; {len(found.path)} stops", "  ", "  ")
    elif found.proof == "impossible":
        yield from wrapped(
            "Proved, for every way of holding it level and every height worth carrying it at.",
            "  ",
            "  ",
        )
    else:
        yield from wrapped("Not a proof that there is none: try --fine, or --tilt.", "  ", "  ")
    for note in found.notes:
        yield from wrapped(note, "  - ", "    ")


def _held(poses: tuple[str, ...]) -> str:
    """The ways it is held one after another; of lifts one upon another only the last is told."""
    told: list[str] = []
    for before, pose in zip(("", *poses), poses, strict=False):
        if pose == before:
            continue
        hold, _, up = pose.partition(", ")
        if len(told) > 1 and up and told[-1].startswith(f"{hold}, "):
            told[-1] = pose
        else:
            told.append(pose)
    return ", then ".join(told)


def _plain(project: str, scheme: str, found: CarryAnswer) -> dict[str, Any]:
    rows = [] if found.path is None else found.path.tolist()
    return {
        "massing": 1,
        "project": project,
        "scheme": scheme,
        "item": found.item,
        "found": found.found,
        "proof": found.proof,
        "says": found.says,
        "notes": list(found.notes),
        "door": found.door or None,
        "spare_mm": found.spare if found.found else None,
        "gap_mm": _tidy(found.gap) if found.found else None,
        "at_mm": None if found.where is None else [_tidy(v) for v in found.where.tolist()],
        "against": found.against or None,
        "missing_mm": None if math.isnan(found.missing) else _tidy(found.missing),
        "path": [
            {
                "x_mm": _tidy(x),
                "y_mm": _tidy(y),
                "turn_deg": _tidy(math.degrees(turn)),
                "pose": pose,
            }
            for (x, y, turn), pose in zip(rows, found.poses, strict=True)
        ],
        "footprints_mm": {
            name: [[[_tidy(v) for v in corner] for corner in ring.tolist()] for ring in rings]
            for name, rings in found.footprints
        },
    }


def _tidy(value: float) -> float:
    return round(float(value), 3) + 0.0


def _draw(file: Path, out: Path, layout: Layout, found: CarryAnswer) -> None:
    from massing.cli.route_picture import route_picture
    from massing.handover.targets import target_files
    from massing.reading.files import write_beside_then_rename

    (target,) = target_files(file, f"{layout.name} route {found.item}", out, ("png",))
    write_beside_then_rename(target, route_picture(layout, found))
    click.echo(f"wrote {target}", err=True)
