"""Which GUID has a thing? Its names in, the same GUID every time out.

Nothing is drawn at random: the same wall of the same project keeps its GUID from one file to the
next, so that issues which point at it still do.
"""

from __future__ import annotations

import hashlib
from uuid import UUID

from massing.handover.model import Model
from massing.handover.names import NamedNode, name_model

__all__ = ["element_guids", "ifc_guid", "key_of", "project_key", "uuid_of"]

_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"


def uuid_of(*names: str) -> UUID:
    """UUID made from a hash of the names, marked as of version 8 (RFC 9562, "custom").

    >>> str(uuid_of("loft", "desk")) == str(uuid_of("loft", "desk"))
    True
    >>> uuid_of("a", "bc") == uuid_of("ab", "c")
    False
    """
    told = b"".join(len(data).to_bytes(4, "big") + data for data in map(_bytes, names))
    raw = bytearray(hashlib.sha256(told).digest()[:16])
    raw[6] = raw[6] & 0x0F | 0x80
    raw[8] = raw[8] & 0x3F | 0x80
    return UUID(bytes=bytes(raw))


def _bytes(name: str) -> bytes:
    return name.encode("utf-8", "replace")


def ifc_guid(found: UUID) -> str:
    """The 22 characters IFC writes a UUID with: 128 bits in digits of six, the first of two.

    Source: ISO 16739-1, IfcGloballyUniqueId (from memory).

    >>> ifc_guid(UUID(int=0)), ifc_guid(UUID(int=2**128 - 1))
    ('0000000000000000000000', '3$$$$$$$$$$$$$$$$$$$$$')
    """
    return "".join(_DIGITS[found.int >> 6 * place & 63] for place in range(21, -1, -1))


def project_key(model: Model) -> str:
    """What tells the model's project from others: schemes of one project share it."""
    return str(model.notes.get("project", model.name))


def key_of(named: NamedNode) -> tuple[str, str]:
    """What tells a node of the model from others in its project."""
    return ("element", named.name)


def element_guids(model: Model) -> dict[str, str]:
    """IFC GUID of each node that holds parts of its own, by the name the user wrote.

    A wall is found by its own name too, "north" for "wall north", unless an item has that name.
    """
    project = project_key(model)
    found: dict[str, str] = {}
    walls: dict[str, str] = {}

    def walk(named: NamedNode) -> None:
        said = named.node.name
        if named.parts:
            guid = ifc_guid(uuid_of(project, *key_of(named)))
            found.setdefault(said, guid)
            if said.startswith("wall "):
                walls.setdefault(said.removeprefix("wall "), guid)
        for child in named.children:
            walk(child)

    for named in name_model(model).nodes:
        walk(named)
    return {**walls, **found}
