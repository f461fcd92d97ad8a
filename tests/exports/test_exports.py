"""exports/ holds just what the examples give today, byte for byte."""

from __future__ import annotations

from pathlib import Path

from tests.exports.remake import EXPORTS, remake

NOT_COMPARED = {".png", ".pdf"}


def _files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix not in NOT_COMPARED
    }


def test_exports_are_as_made_today(tmp_path):
    """Remaking gives the same names and the same bytes: `python -m tests.exports.remake` renews."""
    remake(tmp_path)
    made, kept = _files(tmp_path), _files(EXPORTS)
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == []
