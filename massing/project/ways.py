"""The words that say where an item goes: which belong together, and what a move forgets.

An item is placed in one of five ways; some words only mean something in some of them. A word
that would do nothing is a slip, and is told rather than passed over.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["ALONGS", "HIGHS", "WAYS", "forgotten", "stray_words"]

WAYS = ("against", "corner", "on", "at", "centre")
ALONGS = ("along", "from_right", "middle")
HIGHS = ("height", "top", "drop")

_ONLY_WITH = {
    "along": ("against",),
    "from_right": ("against",),
    "middle": ("against",),
    "off": ("against", "corner"),
    "off_side": ("corner",),
    "side": ("against", "corner"),
    "shift": ("on",),
    "facing": ("at", "centre"),
    "height": ("against", "corner", "at", "centre"),
    "top": ("against", "corner", "at", "centre"),
    "drop": ("against", "corner", "at", "centre"),
    "mount": ("against", "corner", "at", "centre"),
}
"""The ways in which a word does something; a word that is not here does so in all of them."""


def _given(value: object) -> bool:
    """Whether a word says anything: not left out, and not a plain no."""
    return value is not None and value is not False


def stray_words(said: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What is wrong with the words of one placement: (the word, what to say of it) pairs.

    said : what the placement says, by field; words left out are absent or None

    >>> stray_words({"at": (0, 0), "along": 300})
    [('along', "'along' goes with against; this is placed by 'at'")]
    >>> stray_words({"against": "north", "along": 300, "middle": True})
    [('middle', 'say only one of along, from-right or middle')]
    """
    ways = [word for word in WAYS if said.get(word)]
    if len(ways) != 1:
        told = " and ".join(ways) if ways else "none of them"
        first = ways[1] if ways else ""
        says = "a placement has exactly one of against, corner, on, at or centre; this has "
        return [(first, says + told)]
    (way,) = ways
    found = []
    for word, homes in _ONLY_WITH.items():
        if _given(said.get(word)) and way not in homes:
            says = f"'{word.replace('_', '-')}' goes with {' or '.join(homes)}"
            found.append((word, f"{says}; this is placed by '{way}'"))
    for group in (ALONGS, HIGHS):
        held = [word for word in group if _given(said.get(word))]
        if len(held) > 1:
            *most, last = (word.replace("_", "-") for word in group)
            found.append((held[1], f"say only one of {', '.join(most)} or {last}"))
    place = said.get("at") or said.get("centre")
    if place is not None and len(place) == 3:
        high = [word for word in HIGHS if _given(said.get(word))]
        found += [(word, f"'{way}' says how high already; leave out '{word}'") for word in high]
    return found


def forgotten(said: Mapping[str, Any]) -> set[str]:
    """The fields of a placement that a move with these words puts out of force.

    A new place forgets all of the old one but how high it was and which side touches the wall,
    and those too where the new place has no use for them.

    >>> sorted(forgotten({"along": 300}))
    ['along', 'from_right', 'middle']
    """
    gone: set[str] = set()
    way = next((word for word in WAYS if said.get(word)), None)
    if way is not None:
        gone.update((*WAYS, *ALONGS, "off", "off_side", "shift", "facing", "turn", "by"))
        gone.update(word for word, homes in _ONLY_WITH.items() if way not in homes)
        place = said[way]
        if way in {"at", "centre"} and len(place) == 3:
            gone.update(HIGHS)
    for group in (ALONGS, HIGHS):
        if any(word in said for word in group):
            gone.update(group)
    return gone
