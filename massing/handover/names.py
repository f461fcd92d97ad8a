"""What is everything called in a file? A model in, unique plain-ASCII names out.

The same names go into every format, so a part found in one file is found in all. Names hold only
letters, digits, ``_`` and ``-``: spaces and punctuation are lost or changed by common importers,
and names longer than 63 bytes are cut by some (common practice, no source).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from massing.handover.model import Material, MeshPart, Model, Node

__all__ = ["NamedModel", "NamedNode", "ascii_name", "name_model", "unique_names"]

_LONGEST = 58  # leaves room for _9999 within 63 bytes
_SPELT = str.maketrans(
    {
        "ß": "ss", "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ø": "o", "Ø": "O", "ł": "l",
        "Ł": "L", "đ": "d", "Đ": "D", "ð": "d", "Ð": "D", "þ": "th", "Þ": "Th", "ı": "i",
        "×": "x", "°": "deg", "–": "-", "—": "-", "’": "", "'": "", "‘": "", "±": "+-",
    }
)  # fmt: skip


def ascii_name(text: str, *, otherwise: str = "unnamed") -> str:
    """Spell a name in plain ASCII.

    A letter with no spelling becomes its code point, so that two such names stay apart.

    >>> ascii_name("Küchen-Spüle 2×½ (neu)"), ascii_name("洗衣机"), ascii_name("  ")
    ('Kuchen-Spule_2x1_2_neu', 'u6d17u8863u673a', 'unnamed')
    """
    spelt = text.replace("'", "") if text.isascii() else _spelt(text)
    safe = re.sub(r"[^A-Za-z0-9-]+", "_", spelt)
    return safe.strip("_")[:_LONGEST].rstrip("_") or otherwise


def _spelt(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.translate(_SPELT))
    kept = (c for c in plain if not unicodedata.combining(c))
    return "".join(c if c.isascii() else f"u{ord(c):04x}" if c.isalpha() else "_" for c in kept)


class _Register:
    """Hands out each name once: the second asker gets _2, the third _3."""

    def __init__(self) -> None:
        self._taken: set[str] = set()
        self._last: dict[str, int] = {}

    def take(self, text: str, otherwise: str) -> str:
        name = base = ascii_name(text, otherwise=otherwise)
        number = self._last.get(base, 1)
        while name in self._taken:
            number += 1
            name = f"{base}_{number}"
        self._last[base] = number
        self._taken.add(name)
        return name


def unique_names(texts: Iterable[str], *, otherwise: str = "unnamed") -> tuple[str, ...]:
    """Plain names in the same order, each once.

    >>> unique_names(["bin", "bin_2", "bin", "Bín", "bin"])
    ('bin', 'bin_2', 'bin_3', 'Bin', 'bin_4')
    """
    register = _Register()
    return tuple(register.take(text, otherwise) for text in texts)


@dataclass(frozen=True, slots=True, eq=False)
class NamedNode:
    """A node that holds at least one part somewhere below it, with its names.

    parts : (name in the file, part) pairs; motion : the name of its motion, "" without one
    """

    name: str
    node: Node
    parts: tuple[tuple[str, MeshPart], ...]
    children: tuple[NamedNode, ...]
    motion: str


@dataclass(frozen=True, slots=True, eq=False)
class NamedModel:
    """A model with every name settled; ``materials`` in order of first use."""

    name: str
    model: Model
    nodes: tuple[NamedNode, ...]
    cameras: tuple[str, ...]
    materials: dict[Material, str]


class _Namer:
    def __init__(self) -> None:
        self.places = _Register()
        self.motions = _Register()
        self.looks = _Register()
        self.materials: dict[Material, str] = {}

    def node(self, node: Node, prefix: str, *, item: bool) -> NamedNode | None:
        """Name a node, its parts and all below; None when it holds no part.

        Parts and leaves carry their item's name in front: every item has a body, and "body_37"
        would change whenever an item is added before it. Groups lend no prefix to their items.
        """
        if not _holds_parts(node):
            return None
        said = node.name or ("item" if item else "group")
        name = self.places.take(prefix + said, "item")
        own = f"{name}_"
        parts = []
        for part in node.parts:
            called = part.kind if part.name in ("", node.name) else part.name
            parts.append((self.places.take(own + called, "part"), part))
            if part.material not in self.materials:
                self.materials[part.material] = self.looks.take(part.material.name, "material")
        below = own if item else ""
        named = (self.node(child, below, item=True) for child in node.children)
        children = tuple(child for child in named if child is not None)
        motion = "" if node.motion is None else self.motions.take(node.motion.name or name, "move")
        return NamedNode(name, node, tuple(parts), children, motion)


def _holds_parts(node: Node) -> bool:
    return bool(node.parts) or any(_holds_parts(child) for child in node.children)


def name_model(model: Model) -> NamedModel:
    """Settle every name of the model, in file order.

    Nodes that hold no part, here or below, are left out: an empty node is noise in an outliner.
    """
    namer = _Namer()
    named = (namer.node(node, "", item=False) for node in model.nodes)
    nodes = tuple(node for node in named if node is not None)
    cameras = tuple(namer.places.take(camera.name, "camera") for camera in model.cameras)
    name = ascii_name(model.name, otherwise="model")
    return NamedModel(name, model, nodes, cameras, namer.materials)
