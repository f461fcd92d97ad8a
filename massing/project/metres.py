"""A file's tree in; bare numbers that read like metres out, as faults.

Every length is millimetres unless a unit is written. A bare ``2.3`` or ``5.2 x 2.6`` is then a
few millimetres, which no size of a room or a thing is: whoever means that writes ``2.3 mm``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from massing.errors import Fault
from massing.reading.nodes import Rows, Scalar, Table

__all__ = ["metres_meant"]

_PARTS = ("room", "people", "rules", "items")
"""Where people write sizes. Schemes are also written by the search, to a tenth of a mm."""
_NOT_LENGTHS = frozenset((
    "name", "says", "like", "why", "basis", "turn", "angle", "angles", "pitch", "square", "needs",
    "weight", "carries", "percentile", "support", "door-angle", "zone-lost", "air-opening",
))  # fmt: skip
_NUMBER = r"[0-9](?:\.[0-9]+)?"
_SMALL = re.compile(rf"{_NUMBER}(?:\s*[x×]\s*{_NUMBER})*", re.IGNORECASE)
_PART = re.compile(r"[0-9]\.[0-9]*[1-9][0-9]*")


def metres_meant(tree: Table) -> list[Fault]:
    """A fault for every size whose every number is below 10, one of them with decimals.

    >>> from massing.reading.nodes import parse_tree
    >>> room = "room: {size: 5.2 x 2.6, north: 2.5, ceiling: [{flat: 2.3 m}]}"
    >>> [fault.says for fault in metres_meant(parse_tree(room, "a.yaml"))]
    ["'5.2 x 2.6' is in mm; write 5.2 m x 2.6 m, or 5.2 mm x 2.6 mm if that is meant"]
    """
    held = (tree.get(part) for part in _PARTS)
    return [_fault(said) for value in held for said in _sizes(value)]


def _sizes(value: object) -> Iterator[Scalar]:
    """Texts that are such sizes; lists of numbers are places, and those may be small."""
    if isinstance(value, Table):
        for name, inner in value.items():
            if name not in _NOT_LENGTHS and (name, value.path) != ("north", "room"):
                yield from _sizes(inner)
    elif isinstance(value, Rows):
        for inner in value:
            if isinstance(inner, Table):
                yield from _sizes(inner)
    elif isinstance(value, Scalar) and not value.quoted:
        said = value.strip()
        if _SMALL.fullmatch(said) and _PART.search(said):
            yield value


def _fault(said: Scalar) -> Fault:
    pieces = re.split(r"\s*[x×]\s*", said.strip(), flags=re.IGNORECASE)
    metres, little = (" x ".join(f"{piece} {unit}" for piece in pieces) for unit in ("m", "mm"))
    says = f"'{said.strip()}' is in mm; write {metres}, or {little} if that is meant"
    return Fault(says, said.mark)
