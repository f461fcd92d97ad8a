"""The command's front door: finds the subcommand, and turns errors into an exit status.

0 no conflict, 1 a conflict, 2 the input cannot be read, 3 something needed is missing,
130 stopped from the keyboard, 141 whoever was reading the answer went away.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import io
import os
import sys

import click

from massing.errors import InputError, MassingError, MissingToolError

__all__ = ["COMMANDS", "main"]

COMMANDS = {
    "new": "Write a commented starting file.",
    "check": "Check a scheme: what collides, what is too low, how sure that is.",
    "survey": "How well the room is known, and whether its measurements agree.",
    "route": "Can a thing be carried in to its place, and how.",
    "remeasure": "What to measure again, and how well, the most telling first.",
    "export": "Write the scheme as a model others open: GLB, OBJ, USD, IFC, BCF.",
    "picture": "Draw the scheme as a PNG.",
    "report": "Write the page a client and a builder read, as HTML or PDF.",
    "draw": "Draw plan, sections and elevations to scale: PDF and SVG.",
    "voids": "Find unused height: how much, where, and what would go there.",
    "where": "Find where one thing can stand, wall by wall.",
    "arrange": "Search for better arrangements that pass the checks.",
    "areas": "Count the floor under slopes by published rules.",
    "compare": "Set one scheme against another: floor freed, store made.",
    "catalog": "List what is in the catalogue, or show one entry.",
    "schema": "Print the JSON Schema of project files, for editors.",
}


class _Commands(click.Group):
    """Loads a subcommand's file only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"massing.cli.{cmd_name}_command")
        command: click.Command = module.command
        return command

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            _hush()
            return 141

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        word = args[0] if args else ""
        if word and word not in COMMANDS and not word.startswith("-"):
            from massing.reading.words import nearest

            hint = nearest(word, COMMANDS)
            tail = f" Did you mean '{hint}'?" if hint else ""
            ctx.fail(f"there is no command '{word}'.{tail}")
        return super().resolve_command(ctx, args)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="massing")
def _group() -> None:
    """Check tiny, awkward, low-ceilinged rooms in three dimensions.

    Write the room and what goes in it as a YAML file; get collisions, head height and doors
    checked in millimetres, with how sure that is given the tape, and a model to hand over.
    """


def _hush() -> None:
    """Send what is still to be written nowhere, so that leaving stays quiet."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _lenient() -> None:
    """Let a terminal that lacks a letter show its code instead of failing on it."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def main(args: list[str] | None = None) -> None:
    """Run the command and leave with its exit status."""
    # Loading modules makes many objects and few cycles; looking for cycles that often would cost
    # a short run a twentieth of its time.
    gc.set_threshold(100_000, 20, 20)
    _lenient()
    try:
        status = _group.main(args, prog_name="massing", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except click.Abort:
        click.echo("stopped", err=True)
        sys.exit(130)
    except InputError as error:
        click.echo(str(error), err=True)
        count = len(error.faults)
        click.echo(f"{count} fault{'s' if count != 1 else ''} in the input", err=True)
        sys.exit(2)
    except MissingToolError as error:
        click.echo(f"missing: {error}", err=True)
        sys.exit(3)
    except MassingError as error:
        click.echo(str(error), err=True)
        sys.exit(2)
    except OSError as error:
        click.echo(f"{error.filename or ''}: {error.strerror or error}".strip(": "), err=True)
        sys.exit(2)
    sys.exit(status if isinstance(status, int) else 0)
