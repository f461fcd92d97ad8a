"""The published glTF validator, run by node: file in, its report out.

MASSING_GLTF_VALIDATOR names a node_modules folder that holds it; without it ./node_modules is
tried. Tests skip when it is absent, unless MASSING_REQUIRE_ALL=1 says everything must run.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

_SCRIPT = """
const [modules, file] = process.argv.slice(1);
const validator = require(modules + '/gltf-validator');
validator.validateBytes(new Uint8Array(require('fs').readFileSync(file)), {maxIssues: 0})
  .then(report => console.log(JSON.stringify(report)));
"""


def _modules():
    given = os.environ.get("MASSING_GLTF_VALIDATOR")
    place = Path(given) if given else Path(__file__).parents[2] / "node_modules"
    return place if (place / "gltf-validator").is_dir() and shutil.which("node") else None


def validate(path):
    """Severity counts and messages; skips or fails where the validator is not installed."""
    modules = _modules()
    if modules is None:
        says = "gltf-validator not found: npm install gltf-validator, or set MASSING_GLTF_VALIDATOR"
        if os.environ.get("MASSING_REQUIRE_ALL") == "1":
            pytest.fail(says)
        pytest.skip(says)
    command = ["node", "-e", _SCRIPT, "--", str(modules.resolve()), str(path)]
    ran = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    return json.loads(ran.stdout)["issues"]
