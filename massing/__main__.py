"""Lets `python -m massing` stand for the `massing` command."""

from __future__ import annotations

from massing.cli.main import main

if __name__ == "__main__":
    main()
