"""A word and the words known, in; the one most likely meant, out."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

__all__ = ["nearest"]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like ``word``, or nothing when none is near.

    Case, spaces, hyphens and underscores count for little. Of equals the first in the alphabet.

    >>> nearest("wsher", ["washer", "dryer"]), nearest("North", ["north"]), nearest("x", ["door"])
    ('washer', 'north', None)
    """
    plain = {_plain(other): other for other in sorted(set(map(str, known)), reverse=True)}
    if len(word) > 80:
        return None
    found = difflib.get_close_matches(_plain(word), sorted(plain), n=1, cutoff=0.6)
    return plain[found[0]] if found else None


def _plain(word: str) -> str:
    return "".join(letter for letter in word.casefold() if letter not in " -_")
