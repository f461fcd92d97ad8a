"""A word and the words known, in; the one most likely meant, out."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

__all__ = ["nearest"]

_LIKE_ENOUGH = 0.6
_LONGEST = 80
_MOST = 500


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like ``word``, or nothing when none is near.

    Case, spaces, hyphens and underscores count for little. Of equals the first in the alphabet.
    Among more than 500 known words none is looked for.

    >>> nearest("wsher", ["washer", "dryer"]), nearest("North", ["north"]), nearest("x", ["door"])
    ('washer', 'north', None)
    """
    words = set(map(str, known))
    # A file of thousands of slips and thousands of names would be compared all with all.
    if len(word) > _LONGEST or len(words) > _MOST:
        return None
    best, found = _LIKE_ENOUGH, None
    match = difflib.SequenceMatcher(b=_plain(word))
    for other in sorted(words):
        match.set_seq1(_plain(other))
        if match.real_quick_ratio() < best or match.quick_ratio() < best:
            continue
        if (like := match.ratio()) >= best:
            if like > best or found is None:
                found = other
            best = like
    return found


def _plain(word: str) -> str:
    return "".join(letter for letter in word.casefold() if letter not in " -_")
