"""Everything that can go wrong, as a tree.

::

    MassingError
    ├── InputError          the user's file cannot be read as meant; carries every Fault at once
    ├── GeometryError       a shape that cannot exist (open mesh, upright ceiling, crossing outline)
    └── MissingToolError    an optional library or system part is not installed

A finding (the desk hits the slope) is data and never an exception.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Fault", "GeometryError", "InputError", "Mark", "MassingError", "MissingToolError"]


class MassingError(Exception):
    """Base of every error this package raises on purpose."""


class GeometryError(MassingError):
    """A shape that cannot exist as asked."""


class MissingToolError(MassingError):
    """An optional library or a system part is not installed; the message says how to get it."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a file the user wrote; line and column count from 1.

    >>> str(Mark("attic.yaml", 4, 7))
    'attic.yaml:4:7'
    """

    file: str
    line: int
    column: int
    source: str = ""

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in the user's input, with the place and, when one is near, the right word.

    >>> print(Fault("unknown key 'flor'", Mark("a.yaml", 2, 3, "  flor: 0"), hint="floor"))
    a.yaml:2:3: unknown key 'flor' (did you mean 'floor'?)
          flor: 0
          ^
    """

    says: str
    mark: Mark | None = None
    hint: str | None = None

    def __str__(self) -> str:
        hint = f" (did you mean '{self.hint}'?)" if self.hint else ""
        if self.mark is None:
            return f"{self.says}{hint}"
        head = f"{self.mark}: {self.says}{hint}"
        if not self.mark.source:
            return head
        caret = " " * (self.mark.column - 1) + "^"
        return f"{head}\n    {self.mark.source}\n    {caret}"


class InputError(MassingError):
    """The input cannot be read as meant; ``faults`` holds everything found, in file order.

    >>> raise InputError([Fault("no such item 'wsher'", hint="washer")])
    Traceback (most recent call last):
    ...
    massing.errors.InputError: no such item 'wsher' (did you mean 'washer'?)
    """

    def __init__(self, faults: list[Fault] | tuple[Fault, ...]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
