"""Where the catalogue's files are: nothing in, the folder out."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from massing.errors import MissingToolError

__all__ = ["catalog_folder"]


@cache
def catalog_folder() -> Path:
    """The folder of ``items`` and ``build-ups``: in the package, or beside it in a checkout.

    Raises MissingToolError when neither is there.

    >>> sorted(entry.name for entry in catalog_folder().iterdir())[:2]
    ['build-ups', 'items']
    """
    # Asking the import system for it takes as long as reading a small project.
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "catalog", package.parent / "catalog"):
        if folder.is_dir():
            return folder
    raise MissingToolError("the catalogue's files are missing; install massing again")
