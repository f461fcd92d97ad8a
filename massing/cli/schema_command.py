"""`massing schema`: print the JSON Schema of project files."""

from __future__ import annotations

import click

__all__ = ["command"]


@click.command(name="schema", short_help="Print the JSON Schema of project files.")
def command() -> int:
    """Print the JSON Schema that an editor can check a project file against.

    Save it beside the file and begin the file with
    `# yaml-language-server: $schema=./massing.schema.json`.
    """
    from massing.project.schema import project_schema

    click.echo(project_schema())
    return 0
