"""Imports go one way: each folder may use only those named above it."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "massing"

# The order data flows in. A module may import from its own layer and from any above it.
LAYERS = (
    ("errors",),
    ("units",),
    ("reading",),
    ("geometry",),
    ("survey",),
    ("room", "items"),
    ("project",),
    ("scheme",),
    ("checks",),
    ("sureness", "voids", "routes"),
    ("arrange",),
    ("handover",),
    ("cli",),
)
# The same within geometry: first what a solid is, then how far apart two are, and so on.
GEOMETRY = ("", "gaps", "motions", "carry", "passage", "space")
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}
# Asked for here but not by the order: the two readers that need no more than errors.
FREE_OF = {"geometry": {"reading", "units"}, "room": {"items"}, "items": {"room"}}


def _imports(path: Path) -> list[tuple[int, str]]:
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.append((node.lineno, node.module))
            if node.module == "massing":
                found += [(node.lineno, f"massing.{alias.name}") for alias in node.names]
    return [(line, name) for line, name in found if name.startswith("massing.")]


def _layer(parts: tuple[str, ...]) -> str:
    return parts[0].removesuffix(".py")


def _wrong(path: Path, text_layer: str) -> list[str]:
    wrong = []
    for line, name in _imports(path):
        other = name.split(".")[1]
        if other == text_layer:
            continue
        if RANK[other] > RANK[text_layer] or other in FREE_OF.get(text_layer, set()):
            wrong.append(f"{path.relative_to(ROOT)}:{line} imports {name}")
    return wrong


def test_imports_go_one_way():
    """No module imports from a layer below its own."""
    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        layer = _layer(path.relative_to(PACKAGE).parts)
        if layer not in {"__init__", "__main__"}:
            wrong += _wrong(path, layer)
    assert wrong == []


def test_the_test_would_notice(tmp_path):
    """A planted backward import is found in each of its three forms."""
    for text in (
        "import massing.cli.main",
        "from massing.checks import run",
        "from massing import scheme",
    ):
        planted = tmp_path / "planted.py"
        planted.write_text(text)
        names = [name for _, name in _imports(planted)]
        assert any(RANK[name.split(".")[1]] > RANK["geometry"] for name in names), text


def test_every_folder_has_a_layer():
    """A new folder takes a place in the order."""
    folders = {p.name for p in PACKAGE.iterdir() if p.is_dir() and (p / "__init__.py").exists()}
    assert folders <= set(RANK)


def test_no_file_is_too_long():
    """Every module stays within 400 lines."""
    long = {
        str(path.relative_to(ROOT)): count
        for path in sorted(PACKAGE.rglob("*.py"))
        if (count := len(path.read_text().splitlines())) > 400
    }
    assert long == {}


def test_each_module_says_what_it_does():
    """Every module opens with a docstring of a full sentence."""
    silent = [
        str(path.relative_to(ROOT))
        for path in sorted(PACKAGE.rglob("*.py"))
        if len(ast.get_docstring(ast.parse(path.read_text())) or "") < 20
    ]
    assert silent == []


def _folder(name: str) -> str:
    """Which folder of geometry a module is in, nothing for what all share."""
    parts = name.split(".")
    return parts[2] if len(parts) > 3 and parts[2] in GEOMETRY else ""


def test_geometry_goes_one_way_too():
    """What all share imports no folder; each folder only those named before it."""
    wrong = []
    for path in sorted((PACKAGE / "geometry").rglob("*.py")):
        here = _folder(".".join(path.relative_to(ROOT).with_suffix("").parts))
        for line, name in _imports(path):
            if not name.startswith("massing.geometry."):
                continue
            there = _folder(name + ".")
            if there and GEOMETRY.index(there) > GEOMETRY.index(here):
                wrong.append(f"{path.relative_to(ROOT)}:{line} imports {name}")
    assert wrong == []
    folders = {path.name for path in (PACKAGE / "geometry").iterdir() if path.is_dir()}
    assert folders - {"__pycache__"} == set(GEOMETRY) - {""}


def _module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def test_every_module_is_used():
    """No module is there for the tests alone: another imports it, or a list of names loads it."""
    from massing.cli.main import COMMANDS
    from massing.handover.registry import _FOLDERS

    named = {f"massing.cli.{name}_command" for name in COMMANDS}
    named |= {f"massing.handover.{folder}" for folder in _FOLDERS}
    used = {name for path in PACKAGE.rglob("*.py") for _, name in _names(path)}
    unused = [
        _module(path)
        for path in sorted(PACKAGE.rglob("*.py"))
        if path.stem not in {"__init__", "__main__"} and _module(path) not in used | named
    ]
    assert unused == []


def _names(path: Path) -> list[tuple[int, str]]:
    """As imported, and what is taken from a folder as well."""
    found = _imports(path)
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            found += [(node.lineno, f"{node.module}.{alias.name}") for alias in node.names]
    return found
