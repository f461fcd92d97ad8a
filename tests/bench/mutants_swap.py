"""A mistake planted into functions that are loaded already: a module's new text in, swapped or not.

A child that was forked with everything imported need only be given the functions that differ:
whoever imported one holds the same function, so its code is exchanged and nothing is read anew.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import CodeType, ModuleType

from tests.bench.mutants_reach import LOADED, QUIET, plainly

__all__ = ["load", "swap"]


def load(folder: Path, tests: list[str]) -> None:
    """Import the tests of a copied tree, and all they import, uncompiled; run none of them."""
    import pytest

    os.chdir(folder)
    home = str(Path(__file__).resolve().parents[2])
    sys.path[:] = [str(folder), *(p for p in sys.path if p not in ("", home))]
    for name in [n for n in sys.modules if n.split(".")[0] in ("tests", "massing")]:
        del sys.modules[name]
    plainly()
    files = sorted({test.split("::")[0] for test in tests})
    pytest.main(["-q", "-q", "--collect-only", *LOADED, *QUIET, *files])


def swap(module: str, was: str, now: str) -> bool:
    """Give a loaded module's functions their code by the new text; False where more differs."""
    live = sys.modules.get(module.removesuffix(".py").replace("/", "."))
    if live is None:
        return False
    old, new = (compile(t, str(live.__file__), "exec", dont_inherit=True) for t in (was, now))
    changed = list(_changed(old, new))
    if old.co_code != new.co_code or not changed or None in changed:
        return False
    return all(_given(live, code) for code in changed if code is not None)


def _changed(old: CodeType, new: CodeType) -> list[CodeType | None]:
    """Code that differs between two modules; None for something that is no function's."""
    if len(old.co_consts) != len(new.co_consts):
        return [None]
    found: list[CodeType | None] = []
    for one, two in zip(old.co_consts, new.co_consts, strict=True):
        both = isinstance(one, CodeType) and isinstance(two, CodeType)
        if both and one != two:
            found.append(two)
        elif not both and (one != two or type(one) is not type(two)):
            found.append(None)
    return found


def _given(live: ModuleType, code: CodeType) -> bool:
    function = getattr(live, code.co_name, None)
    while hasattr(function, "__wrapped__"):
        if hasattr(function, "cache_clear"):
            function.cache_clear()
        function = function.__wrapped__
    if not hasattr(function, "__code__") or function.__code__.co_freevars != code.co_freevars:
        return False
    function.__code__ = code
    return True
