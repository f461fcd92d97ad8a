"""Where the catalogue's files are: nothing in, the folder out."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from massing.errors import MissingToolError

__all__ = ["catalog_folder"]


@cache
def catalog_folder() -> Traversable:
    """The folder of ``items`` and ``build-ups``: in the package, or beside it in a checkout.

    Raises MissingToolError when neither is there.

    >>> sorted(entry.name for entry in catalog_folder().iterdir())[:2]
    ['build-ups', 'items']
    """
    shipped = files("massing").joinpath("catalog")
    if shipped.is_dir():
        return shipped
    checkout = Path(__file__).resolve().parents[2] / "catalog"
    if checkout.is_dir():
        return checkout
    raise MissingToolError("the catalogue's files are missing; install massing again")
