"""The `massing` command: one file a subcommand, each importing what it needs when it runs."""

from __future__ import annotations

from massing.cli.main import main

__all__ = ["main"]
