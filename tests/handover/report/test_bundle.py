"""The kept viewer is what its sources make, and carries the licence of what is in it.

Only who changes the viewer needs three and esbuild, so the rebuild is left out where they are not.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from tests.handover.report.projects import ROOT

VIEWER = ROOT / "massing" / "handover" / "report" / "viewer"


def _modules() -> Path | None:
    asked = os.environ.get("NODE_MODULES")
    places = [Path(asked)] if asked else [ROOT / ".ci" / "node" / "node_modules"]
    return next(
        (p for p in places if (p / ".bin" / "esbuild").exists() and (p / "three").exists()), None
    )


def test_built_from_its_sources(tmp_path):
    modules = _modules()
    if modules is None:
        pytest.skip("three and esbuild are not here; NODE_MODULES names their folder")
    out = tmp_path / "viewer.js"
    env = {**os.environ, "NODE_MODULES": str(modules), "OUT": str(out)}
    subprocess.run([str(VIEWER / "build.sh")], env=env, check=True)
    assert out.read_bytes() == (VIEWER / "viewer.js").read_bytes()


def test_the_licence_is_kept():
    text = (VIEWER / "viewer.js").read_text(encoding="utf-8")
    assert "Copyright © 2010-2026 three.js authors" in text
    assert "The above copyright notice and this permission notice shall be included" in text


def test_nothing_in_it_evaluates_text():
    text = (VIEWER / "viewer.js").read_text(encoding="utf-8")
    assert "eval(" not in text
    assert "new Function(" not in text
