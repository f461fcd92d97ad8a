"""An item's name in, its description out: the project's own items first, then the catalogue.

The catalogue keeps one small file an entry, so that only the entries used are ever read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from massing.errors import Fault, InputError
from massing.items.spec import ItemSpec
from massing.reading.catalog_folder import catalog_folder
from massing.reading.faults import nearest, validate
from massing.reading.nodes import mark_of, parse_tree

__all__ = ["item_names", "load_item", "plain_name", "resolve"]

_DEEPEST = 40
"""Items that are like one another, one by one."""
_BASIS_OF = {
    "body": "body",
    "parts": "body",
    "zones": "zone ",
    "zone": "zone ",
    "gaps": "gap ",
    "motions": "motion ",
    "controls": "control ",
    "weight": "weight",
    "stack": "carries",
    "vents": "vent ",
}
"""How the basis of each field begins; a field changed by an heir leaves its old basis behind."""


def plain_name(name: str) -> str:
    """The name as it is compared: case, hyphens, underscores and double spaces do not count.

    >>> plain_name("Front-load  Washer")
    'front load washer'
    """
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


@cache
def item_names() -> tuple[str, ...]:
    """Names of every catalogue entry, sorted; no entry is read for this.

    >>> "front load washer" in item_names()
    True
    """
    entries = catalog_folder().joinpath("items").iterdir()
    stems = [e.name.removesuffix(".yaml") for e in entries if e.name.endswith(".yaml")]
    return tuple(sorted(stem.replace("-", " ") for stem in stems))


@cache
def load_item(name: str) -> ItemSpec:
    """The catalogue entry of that name, with what it is like filled in.

    Raises InputError with the nearest name when there is none.

    >>> load_item("tool chest").weight
    110.0
    """
    return _resolved(name, {}, ())


def resolve(name: str, own: Mapping[str, ItemSpec]) -> ItemSpec:
    """The item of that name: one of the project's ``own`` items, else the catalogue's.

    An own item that says ``like: bench`` takes from that item all it does not say itself. Lists
    (zones, motions, parts) are taken or replaced whole. A new ``body`` without new parts
    stretches the parts it inherits. ``like`` its own name means the catalogue's.
    The answer's ``kin`` names what it is like, nearest first.

    Raises InputError for an unknown name, with the nearest, and for items like one another.

    >>> bench = ItemSpec.model_validate({"like": "work bench", "weight": 60})
    >>> mine = resolve("my bench", {"my bench": bench})
    >>> mine.name, mine.weight, mine.kin, mine.body == load_item("work bench").body
    ('my bench', 60.0, ('work bench',), True)
    """
    return _resolved(name, {plain_name(key): spec for key, spec in own.items()}, ())


def _resolved(name: str, own: Mapping[str, ItemSpec], seen: tuple[str, ...]) -> ItemSpec:
    word = plain_name(name)
    spec = own.get(word) if word not in seen else None
    if len(seen) > _DEEPEST:
        says = f"items are like one another through more than {_DEEPEST} names"
        raise InputError([Fault(says, mark_of(name))])
    if spec is None:
        if f"catalogue {word}" in seen or (word in seen and word not in item_names()):
            own_words = [s for s in seen if not s.startswith("catalogue ")]
            told = " is like ".join((*own_words, word))
            raise InputError([Fault(f"items are like one another: {told}", mark_of(name))])
        if word not in item_names():
            raise InputError([_unknown(name, own)])
        spec = _read(word)
        seen = (*seen, f"catalogue {word}")
    else:
        seen = (*seen, word)
        spec = spec.model_copy(update={"name": spec.name or name})
    return _inherited(spec, _resolved(spec.like, own, seen)) if spec.like else spec


def _unknown(name: str, own: Mapping[str, ItemSpec]) -> Fault:
    known = (*own, *item_names())
    word = plain_name(name)
    near = nearest(word, known) or next((k for k in sorted(known) if word in k.split()), None)
    return Fault(f"there is no item '{name}'", mark_of(name), hint=near or _described(word))


def _described(word: str) -> str | None:
    """The shortest name of an entry whose description has all these words: "washing machine"."""
    wanted, entries = set(word.split()), {name: _read(name) for name in item_names()}
    said = {
        name: set(re.findall(r"\w+", str(e.says or "").casefold())) for name, e in entries.items()
    }
    fits = {name for name, words in said.items() if wanted and wanted <= words}
    fits |= {name for name, entry in entries.items() if entry.like in fits}
    return min(fits, key=lambda name: (len(name), name), default=None)


@cache
def _read(word: str) -> ItemSpec:
    file = f"{word.replace(' ', '-')}.yaml"
    text = catalog_folder().joinpath("items", file).read_bytes()
    return validate(ItemSpec, parse_tree(text, f"catalog/items/{file}"))


def _inherited(spec: ItemSpec, base: ItemSpec) -> ItemSpec:
    """What ``spec`` says, over what ``base`` says."""
    said = spec.model_fields_set
    update: dict[str, Any] = {field: getattr(spec, field) for field in said}
    if said & {"zone", "zones"}:
        update["zone"], update["zones"] = spec.zone, spec.zones
    if "parts" in said and "body" not in said:
        update["body"] = None
    if "body" in said and "parts" not in said and base.parts:
        update["stretch"] = True
    dropped = tuple(start for field, start in _BASIS_OF.items() if field in said)
    kept = {key: text for key, text in base.basis.items() if not key.startswith(dropped)}
    update["basis"] = {**(kept if dropped else base.basis), **spec.basis}
    update["name"] = spec.name
    update["kin"] = (plain_name(base.name), *base.kin)
    return base.model_copy(update=update)
