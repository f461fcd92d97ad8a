"""Every catalogue entry: placed alone nothing is in conflict, and the sheet shows it."""

from __future__ import annotations

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.items.catalog import item_names, load_item
from massing.items.spec import ItemSpec
from massing.project.read import parse_project

# Wide enough for the longest run of stock, high enough for the tallest thing hung at a hook.
ROOM = """
massing: 1
project: One thing alone
room: {{size: 16 m x 12 m, ceiling: [{{flat: {ceiling}}}]}}
schemes:
  alone:
{placements}
"""


def _hung_at(spec: ItemSpec) -> float:
    """The height of its base on the wall: what its controls ask for, else a usual one."""
    for control in spec.controls:
        if control.between is not None:
            low, high = (float(end) for end in control.between)
            return (low + high) / 2.0 - float(control.height)
    low_by_nature = {"overhead door panel", "side hung garage door", "bicycle on a hook"}
    if str(spec.name) in low_by_nature:
        return 0.0
    under = float(spec.gaps.under) if spec.gaps is not None and spec.gaps.under else 0.0
    return max(900.0, under)


def _placements(spec: ItemSpec) -> list[str]:
    """As it is meant to stand: against a wall, on what it is made for, or hung."""
    name = str(spec.name)
    if spec.mount == "on":
        assert spec.stack is not None
        below = load_item(str(spec.stack.on[0]))
        base = f"{{item: {below.name}, name: below, against: north, along: 7 m, off: 1 m}}"
        return [base, f"{{item: {name}, name: thing, on: below}}"]
    if spec.mount == "wall":
        return [
            f"{{item: {name}, name: thing, against: north, along: 7 m, height: {_hung_at(spec):g}}}"
        ]
    if spec.mount == "ceiling":
        return [f"{{item: {name}, name: thing, centre: [8 m, 6 m], drop: 0}}"]
    if any(zone.back for zone in spec.all_zones):
        return [f"{{item: {name}, name: thing, centre: [8 m, 6 m]}}"]
    behind = float(spec.gaps.back) if spec.gaps is not None and spec.gaps.back else 0.0
    return [f"{{item: {name}, name: thing, against: north, along: 7 m, off: {behind:g}}}"]


def _project(spec, ceiling=4000):
    lines = "\n".join(f"    - {line}" for line in _placements(spec))
    return parse_project(ROOM.format(ceiling=ceiling, placements=lines))


@pytest.mark.parametrize("name", item_names())
def test_it_stands_alone_without_conflict(name):
    answer = check_scheme(_project(load_item(name)), "alone", nudges=False)
    bad = {Verdict.CONFLICT, Verdict.REMEASURE}
    assert [f.says for f in answer.findings if f.verdict in bad] == []
