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
