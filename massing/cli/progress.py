"""How far has it got? A number of steps in; a bar on the terminal while they are taken, out."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator
from typing import Any, TypeAlias

import click

__all__ = ["Step", "progress"]

Step: TypeAlias = Callable[[str], None]
"""Called when a step is done, with what to say of it."""


@contextlib.contextmanager
def progress(steps: int) -> Iterator[Step]:
    """A bar beside the answer, on stderr; nothing at all where nobody watches a terminal."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    bar: Any
    with click.progressbar(
        length=steps, file=sys.stderr, item_show_func=lambda said: said or ""
    ) as bar:
        yield lambda said: bar.update(1, said)
