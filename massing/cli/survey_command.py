"""`massing survey FILE`: how well the room is known, and whether its measurements agree."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument

if TYPE_CHECKING:
    from massing.sureness.survey import Known, SurveyReport, WallSizes
    from massing.survey.blunders import Blunder
    from massing.survey.surveyed import Observation, Surveyed

__all__ = ["command"]


@click.command(name="survey", short_help="How well the room is known; do its sizes agree?")
@file_argument
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
def command(file: Path, form: str) -> int:
    """Show each wall with its ±, and what the measurements say of one another.

    A size is measured, derived (worked out from others) or guessed. Measurements beyond those
    needed check the rest: what does not fit is named with the likely slip.
    """
    from massing.project.read import read_project
    from massing.sureness.survey import survey_room

    project = read_project(file)
    report = survey_room(project)
    if form == "json":
        found = {"massing": 1, "project": project.name, **_plain(report)}
        click.echo(json.dumps(found, indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_text(project.name, report)))
    return 0


def _text(name: str, report: SurveyReport) -> Iterator[str]:
    from massing.cli.text import wrapped

    yield f"{name}: the survey"
    yield ""
    wide = max(4, *(len(wall.name) for wall in report.walls))
    yield (
        f"  {'wall':{wide}}  {'inside':>8}  {'worst':>6}  {'likely':>6}  {'outside':>8}  "
        f"{'worst':>6}  {'likely':>6}  how it is known"
    )
    for wall in report.walls:
        outside = "" if wall.outside is None else _sized(wall.outside)
        yield f"  {wall.name:{wide}}  {_sized(wall.inside)}  {outside:26}  {_how(wall)}"
    yield ""
    yield from wrapped(
        "Sizes in mm. Worst: every error at its limit and the same way. Likely: the errors' "
        "root-sum-square.",
        "  ",
        "  ",
    )
    for survey in report.surveys:
        yield ""
        yield from _survey(survey)
    if report.spare == 0:
        yield ""
        yield from wrapped(
            "Nothing is measured twice, so no slip of the tape would show. A diagonal from corner "
            "to corner, given with a size or with walls, would begin to check them.",
            "",
            "",
        )


def _sized(known: Known) -> str:
    from massing.checks.words import mm

    return f"{mm(known.nominal):>8}  {_plus_minus(known.worst):>6}  {_plus_minus(known.likely):>6}"


def _plus_minus(half: float) -> str:
    if half < 0.05:
        return "±0"
    return f"±{half:.0f}" if half >= 9.95 else f"±{half:.1f}"


def _how(wall: WallSizes) -> str:
    from massing.checks.words import mm

    told = wall.source if wall.by is None else f"{wall.source}, {wall.by}"
    if wall.source == "derived" and wall.thickness is not None:
        told += f", outside less walls ({mm(wall.thickness.nominal)} here)"
    return told


def _survey(survey: Surveyed) -> Iterator[str]:
    from massing.cli.text import wrapped

    found = survey.adjustment
    spare = "none spare" if found.freedom == 0 else f"{found.freedom} spare"
    yield f"{survey.what}: {len(survey.observations)} measurements, {spare}".capitalize()
    wide = max(11, *(len(held.name) for held in survey.observations))
    yield (
        f"  {'measurement':{wide}}  {'read':>9}  {'±':>6}  {'adjusted':>9}  {'residual':>8}  "
        f"{'standardized':>12}"
    )
    blunder = survey.find() if survey.tested and found.freedom else None
    marks = _marks(blunder)
    for row, held in enumerate(survey.observations):
        yield _row(survey, row, held, wide) + marks.get(row, "")
    if survey.closing is not None:
        one_in = survey.closing.one_in
        told = "exactly" if one_in > 1e9 else f"1:{one_in:.0f}"
        yield (
            f"  misclosure of the walk as read: {survey.closing.distance:.1f} mm in "
            f"{survey.closing.around:.0f}, {told}"
        )
    if survey.turn_error is not None:
        yield f"  the turns as read miss a full circle by {survey.turn_error:.2f} degrees"
    if not survey.tested:
        says = "some sizes have no ±, so nothing can be said of whether they agree"
    else:
        says = survey.says
    yield from wrapped(says, "  ", "    ")
    if blunder is not None:
        yield from wrapped(blunder.says, "  > ", "    ")


def _marks(blunder: Blunder | None) -> dict[int, str]:
    """What to write beside the suspect, or beside each of those it may be."""
    if blunder is None:
        return {}
    if blunder.suspect is not None:
        return {blunder.suspect.row: "  suspect"}
    return {rival.row: "  perhaps" for rival in blunder.rivals}


def _row(survey: Surveyed, row: int, held: Observation, wide: int) -> str:
    found = survey.adjustment
    digits = 2 if held.unit == "deg" else 1
    read, adjusted = held.value, float(found.adjusted[row])
    half = "firm" if held.half_width <= 0.1 else f"{held.half_width:.{digits}f}".removesuffix(".0")
    standardized = float(found.standardized[row])
    told = (
        "unchecked"
        if float(found.redundancy[row]) == 0.0
        else f"{round(standardized, 1) + 0.0:.1f}"
    )
    taken = "  taken as square" if held.method == "square" else ""
    unit = "°" if held.unit == "deg" else " "
    return (
        f"  {held.name:{wide}}  {read:>8.{digits}f}{unit}  {half:>6}  {adjusted:>8.{digits}f}{unit}"
        f"  {round(adjusted - read, digits) + 0.0:>+8.{digits}f}  {told:>12}{taken}"
    )


def _plain(report: SurveyReport) -> dict[str, Any]:
    return {
        "spare": report.spare,
        "walls": [
            {
                "wall": wall.name,
                "source": wall.source,
                "by": wall.by,
                "inside": _plain_known(wall.inside),
                "outside": _plain_known(wall.outside),
                "thickness": _plain_known(wall.thickness),
                "hangs_on": list(wall.hangs_on),
            }
            for wall in report.walls
        ],
        "surveys": [_plain_survey(survey) for survey in report.surveys],
    }


def _plain_known(known: Known | None) -> dict[str, float] | None:
    if known is None:
        return None
    return {
        "mm": _round(known.nominal),
        "worst_mm": _round(known.worst),
        "likely_mm": _round(known.likely),
    }


def _plain_survey(survey: Surveyed) -> dict[str, Any]:
    found = survey.adjustment
    blunder = survey.find() if survey.tested and found.freedom else None
    suspect = None if blunder is None else blunder.suspect
    closing = survey.closing
    return {
        "of": survey.what,
        "spare": found.freedom,
        "agrees": found.agrees if survey.tested else None,
        "chi_square": None if found.chi_square is None else _round(found.chi_square),
        "chi_limit": None if found.chi_limit is None else _round(found.chi_limit),
        "says": survey.says,
        "misclosure": None
        if closing is None
        else {
            "mm": _round(closing.distance),
            "around_mm": _round(closing.around),
            "one_in": None if closing.distance == 0.0 else round(closing.one_in),
        },
        "turn_error_deg": None if survey.turn_error is None else _round(survey.turn_error),
        "suspect": None
        if suspect is None or blunder is None
        else {
            "measure": survey.observations[suspect.row].key,
            "name": suspect.name,
            "disagrees": _round(suspect.disagrees),
            "slip": None if suspect.slip is None else suspect.slip.says,
            "value": None if suspect.slip is None else _round(suspect.slip.value),
        },
        "note": None if blunder is None else blunder.says,
        "measurements": [
            {
                "measure": held.key,
                "name": held.name,
                "unit": held.unit,
                "by": held.method,
                "read": _round(held.value),
                "plus_minus": _round(held.half_width),
                "adjusted": _round(float(found.adjusted[row])),
                "residual": _round(float(found.residuals[row])),
                "standardized": _round(float(found.standardized[row])),
                "redundancy": _round(float(found.redundancy[row])),
            }
            for row, held in enumerate(survey.observations)
        ],
    }


def _round(value: float) -> float:
    return round(value, 3) + 0.0
