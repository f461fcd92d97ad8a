"""A 3D massing and clearance checker for tiny, awkward, low-ceilinged rooms.

>>> import massing
>>> project = massing.parse_project('''
... massing: 1
... project: Lean-to
... room:
...   size: 2400 x 1800
...   ceiling: [{slopes: {south: 1700, north: 2300}}]
... schemes:
...   proposed:
...     - {item: storage box, at: [0, 0]}
... ''')
>>> [str(finding.verdict) for finding in massing.check_scheme(project).conflicts]
[]
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from massing.checks.finding import Finding, Nudge, Verdict
    from massing.checks.run import Answer, check_scheme
    from massing.errors import Fault, InputError, MassingError
    from massing.handover.answer import answer_dict
    from massing.handover.from_layout import model_of
    from massing.handover.registry import write as write_model
    from massing.project.project import Project
    from massing.project.read import parse_project, read_project
    from massing.scheme.place import place
    from massing.survey.values import Values

__all__ = [
    "Answer",
    "Fault",
    "Finding",
    "InputError",
    "MassingError",
    "Nudge",
    "Project",
    "Values",
    "Verdict",
    "answer_dict",
    "check_scheme",
    "model_of",
    "parse_project",
    "place",
    "read_project",
    "write_model",
]

# Names are looked up on first use, so that `import massing` costs nothing.
_HOMES = {
    "Answer": "massing.checks.run",
    "Fault": "massing.errors",
    "Finding": "massing.checks.finding",
    "InputError": "massing.errors",
    "MassingError": "massing.errors",
    "Nudge": "massing.checks.finding",
    "Project": "massing.project.project",
    "Values": "massing.survey.values",
    "Verdict": "massing.checks.finding",
    "answer_dict": "massing.handover.answer",
    "check_scheme": "massing.checks.run",
    "model_of": "massing.handover.from_layout",
    "parse_project": "massing.project.read",
    "place": "massing.scheme.place",
    "read_project": "massing.project.read",
    "write_model": "massing.handover.registry:write",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'massing' has no attribute '{name}'")
    home, _, other = _HOMES[name].partition(":")
    return getattr(import_module(home), other or name)


def __dir__() -> list[str]:
    return sorted(__all__)
