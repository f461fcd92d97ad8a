"""What stands open in a scheme: `state` in the file, a body in the layout."""

from __future__ import annotations

import pytest

from massing.checks.run import check_scheme
from massing.errors import InputError
from massing.project.read import parse_project

TEXT = """
massing: 1
project: Scullery
room: {{size: 3000 x 2400, ceiling: [{{flat: 2300}}]}}
schemes:
  a:
    - {{item: front load washer, name: washer, at: [1000, 1500], facing: south, state: {{{state}}}}}
    - {{item: storage box, name: box, at: [700, 1100]}}
"""


def _findings(state):
    answer = check_scheme(parse_project(TEXT.format(state=state)), "a", nudges=False)
    return {(f.check, f.items): f for f in answer.conflicts}


def test_an_open_door_is_a_body():
    """The box clears the shut washer's body and not its door standing open."""
    assert ("bodies", ("washer", "box")) not in _findings("door: shut")
    assert ("bodies", ("washer", "box")) in _findings("door: open")


def test_a_misspelt_motion_is_a_fault():
    """At its place, with the nearest word."""
    with pytest.raises(InputError, match="has no motion 'dor'") as caught:
        parse_project(TEXT.format(state="dor: open"))
    (fault,) = caught.value.faults
    assert fault.hint == "door"
    assert fault.mark.line == 7


def test_a_misspelt_state_is_a_fault():
    """Open, up, out or shut."""
    with pytest.raises(InputError, match="'ajar'"):
        parse_project(TEXT.format(state="door: ajar"))
