"""`massing export FILE`: write the scheme as a model."""

from __future__ import annotations

from pathlib import Path

import click

from massing.cli.options import file_argument, open_project, scheme_option

__all__ = ["command"]


@click.command(name="export", short_help="Write the scheme as GLB and OBJ.")
@file_argument
@scheme_option
@click.option(
    "--out",
    "-o",
    type=click.Path(path_type=Path),
    help="A file (.glb, .gltf or .obj) or a folder; the project's own folder when left out.",
)
@click.option(
    "--inset",
    type=click.FloatRange(0.0, 20.0),
    default=0.0,
    help="Shrink bodies by this many mm a face.",
)
@click.option("--no-zones", is_flag=True, help="Bodies and shell only.")
def command(
    file: Path, scheme: str | None, out: Path | None, inset: float, *, no_zones: bool
) -> int:
    """Write one scheme as a GLB (metres, y up) and an OBJ (mm, z up), with a sidecar file.

    Conflicts do not stop the export; what the check says stands in the model's extras.
    """
    from massing.checks.run import check_scheme
    from massing.handover.from_layout import model_of
    from massing.handover.inset import inset_model
    from massing.handover.registry import format_for, write
    from massing.handover.sidecar import write_sidecar
    from massing.handover.targets import target_files

    project, name = open_project(file, scheme)
    targets = target_files(file, name, out, ("glb", "obj"))
    for target in targets:
        format_for(target)
    model = model_of(check_scheme(project, name, nudges=False), zones=not no_zones)
    if inset:
        model = inset_model(model, inset)
    written = [path for target in targets for path in write(model, target)]
    stem = targets[0].with_name(targets[0].stem.removesuffix("_mm") + ".model.json")
    written.append(write_sidecar(model, written, stem))
    for path in written:
        click.echo(f"wrote {path}")
    return 0
