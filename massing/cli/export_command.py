"""`massing export FILE`: write the scheme as a model, as issues, as masks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, open_project, scheme_option
from massing.cli.progress import Step, progress

if TYPE_CHECKING:
    from massing.checks.run import Answer
    from massing.handover.model import Camera, Model

__all__ = ["FORMATS", "command"]

# What may be asked for, and the ending it is written with.
FORMATS = {
    "glb": "glb",
    "gltf": "gltf",
    "obj": "obj",
    "usd": "usda",
    "usda": "usda",
    "usdc": "usdc",
    "usdz": "usdz",
    "ifc": "ifc",
    "bcf": "bcf",
}
_ISSUES = ".bcf"


@dataclass(frozen=True, slots=True)
class _Wish:
    """What one scheme is written as."""

    targets: tuple[Path, ...]
    inset: float
    zones: bool
    masks: bool
    snapshots: bool
    width: int

    @property
    def stem(self) -> Path:
        """The targets' name without ending or unit."""
        first = self.targets[0]
        return first.with_name(first.stem.removesuffix("_mm"))


def _formats(ctx: click.Context, param: click.Parameter, value: str | None) -> tuple[str, ...]:
    """Words or endings with commas between, each once, in the order asked."""
    del ctx, param
    words = [word.strip().lstrip(".").lower() for word in (value or "glb,obj").split(",")]
    from massing.reading.words import nearest

    for word in words:
        if word not in FORMATS:
            hint = nearest(word, FORMATS)
            tail = f"did you mean '{hint}'?" if hint else f"there are {', '.join(FORMATS)}"
            raise click.BadParameter(f"no format is called '{word}'; {tail}")
    return tuple(dict.fromkeys(FORMATS[word] for word in words))


@click.command(name="export", short_help="Write the scheme as GLB, OBJ, USD, IFC or BCF.")
@file_argument
@scheme_option
@click.option("--all", "every", is_flag=True, help="Every scheme of the file.")
@click.option(
    "--format",
    "-f",
    "endings",
    callback=_formats,
    metavar="LIST",
    help="Any of glb, gltf, obj, usd, usdc, usdz, ifc, bcf, with commas; glb,obj when left out.",
)
@click.option(
    "--out",
    "-o",
    type=click.Path(path_type=Path),
    help="A file, whose ending says the format, or a folder; the project's when left out.",
)
@click.option(
    "--inset",
    type=click.FloatRange(0.0, 20.0),
    default=0.0,
    help="Shrink bodies by this many mm a face.",
)
@click.option("--no-zones", is_flag=True, help="Bodies and shell only.")
@click.option("--masks", is_flag=True, help="Also draw ID masks, a folder a camera.")
@click.option(
    "--width",
    type=click.IntRange(64, 8000),
    default=1500,
    help="Pixels across a mask; 1500 when left out.",
)
@click.option("--snapshots", is_flag=True, help="Draw a picture into each BCF issue.")
def command(  # noqa: PLR0913 - one an option
    file: Path,
    scheme: str | None,
    endings: tuple[str, ...],
    out: Path | None,
    inset: float,
    width: int,
    *,
    every: bool,
    no_zones: bool,
    masks: bool,
    snapshots: bool,
) -> int:
    """Write one scheme, or all, with a sidecar file that lists what was written.

    GLB and USD are in metres, y up; OBJ and IFC in mm, z up. USD and IFC need a library of their
    own, which is named where it is missing. BCF holds what the check found, one issue a finding;
    written together with IFC, its issues point at the IFC's elements. Conflicts do not stop the
    export; what the check says stands in the model too.
    """
    from massing.errors import Fault, InputError
    from massing.project.read import refuse_inputs

    if every and scheme is not None:
        raise click.UsageError("--all writes every scheme; leave --scheme out")
    if every and out is not None and out.suffix:
        raise InputError([Fault(f"--all writes several files; '{out.name}' is one")])
    project, name = open_project(file, scheme)
    names = list(project.arrangements) if every else [name]
    wishes = {
        called: _Wish(
            _targets(file, called, out, endings), inset, not no_zones, masks, snapshots, width
        )
        for called in names
    }
    refuse_inputs(project, [target for wish in wishes.values() for target in wish.targets])
    _can_be_had(wishes)
    written: list[Path] = []
    cameras = 5 if masks else 0
    with progress(sum(len(wish.targets) + 1 + cameras for wish in wishes.values())) as step:
        for called, wish in wishes.items():
            written += _write(project, called, wish, step)
    for path in written:
        click.echo(f"wrote {path}")
    return 0


def _targets(
    file: Path, scheme: str, out: Path | None, endings: tuple[str, ...]
) -> tuple[Path, ...]:
    from massing.handover.targets import target_files

    return target_files(file, scheme, out, endings)


def _can_be_had(wishes: dict[str, _Wish]) -> None:
    """Raise before anything is written: an unknown ending, a missing library, one name twice."""
    from massing.handover.ifc.file import require_ifc
    from massing.handover.pictures.stage import require_gl
    from massing.handover.registry import format_for
    from massing.handover.targets import one_name_each
    from massing.handover.usd.file import require_usd

    needs = {"IFC": require_ifc, "USD": require_usd}
    one_name_each({scheme: wish.stem for scheme, wish in wishes.items()})
    for wish in wishes.values():
        for target in wish.targets:
            if target.suffix.lower() != _ISSUES:
                needs.get(format_for(target).name, lambda: None)()
        if wish.masks or wish.snapshots:
            require_gl()


def _write(project: Any, name: str, wish: _Wish, step: Step) -> list[Path]:
    """Write one scheme; return the files, the sidecar last."""
    from massing.checks.run import check_scheme
    from massing.handover.from_layout import model_of
    from massing.handover.inset import inset_model
    from massing.handover.registry import write
    from massing.handover.sidecar import write_sidecar

    issues = any(target.suffix.lower() == _ISSUES for target in wish.targets)
    answer = check_scheme(project, name, nudges=issues)
    model = model_of(answer, zones=wish.zones)
    if wish.inset:
        model = inset_model(model, wish.inset)
    step(name)
    written: list[Path] = []
    for target in wish.targets:
        if target.suffix.lower() == _ISSUES:
            written.append(_issues(answer, model, target, wish))
        else:
            written += write(model, target)
        step(target.name)
    if wish.masks:
        from massing.handover.masks.write import write_masks

        folder = wish.stem.with_name(f"{wish.stem.name}-masks")
        written += write_masks(model, folder, wish.width, step)
    written.append(
        write_sidecar(model, written, wish.stem.with_name(f"{wish.stem.name}.model.json"))
    )
    return written


def _issues(answer: Answer, model: Model, target: Path, wish: _Wish) -> Path:
    from massing.handover.bcf.file import Beside, write_bcf

    ifc = next((path for path in wish.targets if path.suffix.lower() == ".ifc"), None)
    beside = None if ifc is None else Beside.of(model, ifc)
    return write_bcf(answer, target, beside, _snapshot(model) if wish.snapshots else None)


def _snapshot(model: Model) -> Callable[[Camera, tuple[str, ...]], bytes]:
    """Draws what an issue's camera sees, the things it is about in the alarm colour."""
    from massing.handover.masks.draw import draw_shaded
    from massing.handover.masks.write import part_names, png
    from massing.handover.pictures.paper import LIGHT

    def draw(camera: Camera, items: tuple[str, ...]) -> bytes:
        marked = dict.fromkeys(part_names(model, items), LIGHT.alarm)
        return png(draw_shaded(model, camera, (900, 600), marked=marked, smooth=True))

    return draw
