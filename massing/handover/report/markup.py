"""HTML that cannot be broken by what people call things: text in, escaped markup out.

Plain strings are always escaped; only ``Markup`` passes as it is, and only these helpers make it.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable
from html import escape
from typing import Any, TypeAlias

__all__ = ["Content", "Markup", "data_block", "e", "hash_of", "join", "raw", "text"]

_VOID = frozenset({"br", "img", "input", "link", "meta", "col"})
# What XML and HTML cannot hold: controls, and halves of surrogate pairs.
_UNFIT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


class Markup(str):
    """Text that is already HTML."""

    __slots__ = ()


Content: TypeAlias = "str | Markup | Iterable[Content] | None"


def text(words: str) -> Markup:
    """Escape words for text and for attributes; a sign HTML cannot hold becomes "?".

    >>> text('<b> & "q"')
    '&lt;b&gt; &amp; &quot;q&quot;'
    """
    if isinstance(words, Markup):
        return words
    return Markup(escape(_UNFIT.sub("?", words), quote=True))


def raw(words: str) -> Markup:
    """Say that words of this program's own making are HTML."""
    return Markup(words)


def join(content: Content) -> Markup:
    """Content as markup: strings escaped, lists run together, None left out."""
    if content is None:
        return Markup("")
    if isinstance(content, str):
        return text(content)
    return Markup("".join(join(part) for part in content))


def e(tag: str, *content: Content, **attributes: str | float | bool | None) -> Markup:
    """One element; ``class_`` is class, other underscores become hyphens.

    None and False leave an attribute out, True writes it bare.

    >>> e("a", "x < y", href="#one", class_="quiet", aria_hidden=True)
    '<a href="#one" class="quiet" aria-hidden>x &lt; y</a>'
    """
    said = []
    for key, value in attributes.items():
        name = key.rstrip("_").replace("_", "-")
        if value is True:
            said.append(f" {name}")
        elif value is not None and value is not False:
            said.append(f' {name}="{text(str(value))}"')
    if tag in _VOID:
        return Markup(f"<{tag}{''.join(said)}>")
    return Markup(f"<{tag}{''.join(said)}>{join(content)}</{tag}>")


def data_block(name: str, data: bytes | dict[str, Any]) -> Markup:
    r"""A block the page's script reads and no browser runs: plain data, or bytes as base64.

    >>> data_block("x", {"says": "</script>"})
    '<script type="application/json" id="x">{"says":"\\u003c/script>"}</script>'
    """
    if isinstance(data, bytes):
        kind, inside = "application/base64", base64.b64encode(data).decode("ascii")
    else:
        kind = "application/json"
        inside = json.dumps(data, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")
    return Markup(f'<script type="{kind}" id="{name}">{inside}</script>')


def hash_of(inline: str) -> str:
    """The source expression that lets exactly this inline script or style run.

    Source: W3C, Content Security Policy Level 3, "hash-source".

    >>> hash_of("")
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"
    """
    digest = hashlib.sha256(inline.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
