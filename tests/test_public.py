"""The public names are the listed ones, and starting is cheap."""

from __future__ import annotations

import subprocess
import sys

import massing


def test_listed_names_are_there():
    """Every name in __all__ can be had, and nothing else is offered."""
    assert all(getattr(massing, name) is not None for name in massing.__all__)
    assert dir(massing) == sorted(massing.__all__)
    assert len(massing.__all__) <= 16


def test_help_loads_nothing_heavy():
    """`massing --help` imports neither numpy nor pydantic."""
    code = (
        "import sys\n"
        "from massing.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'pydantic', 'scipy', 'numba', 'trimesh', 'pyvista', 'shapely'}\n"
        "print('HEAVY', sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "HEAVY []" in done.stdout
    assert "check" in done.stdout


def test_check_loads_no_heavy_library():
    """A text check needs none of the libraries that are slow to load."""
    code = (
        "import sys\n"
        "from massing.cli import main\n"
        "try:\n    main(['check', 'examples/boathouse.yaml'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'scipy', 'numba', 'trimesh', 'pyvista', 'vtk', 'fpdf'}\n"
        "print('HEAVY', sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "HEAVY []" in done.stdout
