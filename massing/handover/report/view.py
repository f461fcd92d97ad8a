"""The view one can walk round: a checked scheme in; its controls, its model and its data out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from massing.checks.finding import Finding
from massing.checks.run import Answer
from massing.geometry.clip import volume_and_middle
from massing.handover.gltf.axes import metres
from massing.handover.gltf.file import glb
from massing.handover.model import Material, MeshPart, Model, Motion, Node
from massing.handover.report.markup import Markup, data_block, e, join
from massing.handover.report.near import gaps_told
from massing.handover.report.schedule import own_size
from massing.handover.report.views import clashes_of, key_drawings, room_bounds
from massing.handover.report.words import VERDICT_WORDS
from massing.handover.signs import SIGNS

__all__ = ["view_blocks", "view_part"]

_GROUPS = (
    ("shell", "Shell"),
    ("ceiling", "Ceiling"),
    ("kept", "Kept"),
    ("proposed", "Proposed"),
    ("zones", "Zones"),
)
_CLASH = Material("clash", "#C8451B", kind="void")
_IDLE = (
    "Drag to turn, right drag or two fingers to shift; click, then the wheel brings it nearer. "
    "Point at a thing to read its name, its size and its gaps."
)
_KEYS = (
    "The room. Arrow keys turn it, with Shift they shift it, plus and minus "
    "bring it nearer, Home resets it, N and P step through the findings, Escape lets go."
)
_SLIVER = 1e3
"""mm³; a smaller shared volume is not worth drawing."""


def view_part(answer: Answer, found: Sequence[tuple[int, Finding]], model: Model) -> Markup:
    """The view and its controls, and drawings that stand in for it on paper or without GL."""
    stills = [
        e("figure", svg, e("figcaption", caption), class_="still")
        for caption, svg in key_drawings(answer, found)
    ]
    canvas = e(
        "div",
        e(
            "canvas",
            tabindex="0",
            role="application",
            aria_roledescription="picture to turn",
            aria_label=_KEYS,
            aria_describedby="view-said",
        ),
        e("div", _marks(found), class_="marks", aria_hidden="true"),
        e("div", "", class_="tip", hidden=True, role="status"),
        class_="frame",
    )
    figure = e(
        "figure",
        canvas,
        _steps(found),
        e("p", _IDLE, class_="said", id="view-said", aria_live="polite"),
        e("div", _controls(answer, model), class_="controls"),
        id="view",
        hidden=True,
    )
    return e(
        "section",
        e("h2", "The room", id="room"),
        figure,
        e("div", stills, class_="stills", id="stills"),
        class_="stage",
        aria_labelledby="room",
    )


def _marks(found: Sequence[tuple[int, Finding]]) -> list[Markup]:
    marks = []
    for number, finding in found:
        if finding.at_mm is None:
            continue
        kind = finding.verdict.value
        told = f"{number}{SIGNS[finding.verdict]}"
        marks.append(e("span", "", class_=f"dot {kind}", data_dot=number))
        marks.append(
            e(
                "button",
                told,
                class_=f"disc {kind}",
                type="button",
                tabindex="-1",
                data_mark=number,
            )
        )
    return marks


def _controls(answer: Answer, model: Model) -> list[Markup | None]:
    held = {node.name for node in model.nodes}
    groups = [
        e(
            "label",
            e("input", type="checkbox", checked=True, data_group=name),
            e("span", says),
        )
        for name, says in _GROUPS
        if name in held or name == "ceiling"
    ]
    top = math.ceil(float(room_bounds(answer.layout.room)[1][2]) / 10.0) * 10
    cut = [
        e(
            "input",
            type="range",
            min="0",
            max=top,
            step="10",
            value=top,
            data_cut=True,
            id="view-cut",
        ),
        e("output", "not cut", for_="view-cut"),
    ]
    looks = [
        e("button", says, type="button", data_look=name)
        for name, says in (
            ("corner", "Corner"),
            ("above", "Above"),
            ("front", "Front"),
            ("side", "Side"),
        )
    ]
    return [
        e("fieldset", e("legend", "Show"), groups, class_="toggles"),
        e("fieldset", e("legend", e("label", "Cut at", for_="view-cut")), cut, class_="cut"),
        e(
            "fieldset",
            e("legend", "Look from"),
            looks,
            e("button", "Reset", type="button", data_reset=True),
        ),
        _moves(model),
        _things(answer),
    ]


def _steps(found: Sequence[tuple[int, Finding]]) -> Markup | None:
    if not found:
        return None
    rows = [
        e(
            "li",
            e(
                "button",
                e("span", f"{number}{SIGNS[finding.verdict]}", class_="badge", aria_hidden="true"),
                e("span", f"{number}, {VERDICT_WORDS[finding.verdict]}: ", class_="unseen"),
                e("span", finding.says),
                type="button",
                data_finding=number,
            ),
            class_=finding.verdict.value,
        )
        for number, finding in found
    ]
    return e(
        "fieldset",
        e("legend", f"Findings, {len(found)}"),
        e("button", "← Previous", type="button", data_step="-1"),
        e("button", "Next →", type="button", data_step="1"),
        e("ol", rows, class_="list", role="list"),
        class_="findings-list",
    )


def _motions(nodes: Sequence[Node]) -> list[Motion]:
    found: list[Motion] = []
    for node in nodes:
        if node.motion is not None:
            found.append(node.motion)
        found += _motions(node.children)
    return found


def _moves(model: Model) -> Markup | None:
    motions = _motions(model.nodes)
    if not motions:
        return None
    buttons = [
        e("button", motion.name, type="button", aria_pressed="false", data_motion=motion.name)
        for motion in motions
    ]
    if len(motions) > 1:
        buttons.append(e("button", "All", type="button", data_motions=True))
    return e("fieldset", e("legend", "Move"), buttons)


def _things(answer: Answer) -> Markup | None:
    if not answer.layout.items:
        return None
    buttons = [
        e("li", e("button", item.name, type="button", data_thing=item.name))
        for item in answer.layout.items
    ]
    return e(
        "fieldset",
        e("legend", "Things"),
        e("ul", buttons, class_="things", role="list"),
        class_="wide",
    )


def view_blocks(answer: Answer, found: Sequence[tuple[int, Finding]], model: Model) -> Markup:
    """The exported model, the volumes in conflict, and what the view says, as data blocks."""
    blocks = [data_block("view-data", _data(answer, found, model))]
    blocks.append(data_block("view-model", glb(model)))
    clashes = _clash_model(answer, found)
    if clashes.nodes:
        blocks.append(data_block("view-clashes", glb(clashes)))
    return join(blocks)


def _data(answer: Answer, found: Sequence[tuple[int, Finding]], model: Model) -> dict[str, Any]:
    moving = {motion.name for motion in _motions(model.nodes)}
    worst: dict[str, str] = {}
    for _, finding in reversed(found):
        told = f"{SIGNS[finding.verdict]} {VERDICT_WORDS[finding.verdict]}"
        worst.update(dict.fromkeys(finding.items, told))
    gaps = gaps_told(answer.layout)
    things: dict[str, dict[str, Any]] = {
        item.name: {
            "size": own_size(item),
            "verdict": worst.get(item.name, "✓ Clear"),
            "gaps": list(gaps[item.name]),
        }
        for item in answer.layout.items
    }
    for leaf in answer.layout.leaves:
        size = f"{float(leaf.width[0]):.0f} × {float(leaf.high[0] - leaf.low[0]):.0f}"
        things[leaf.name] = {"size": size, "verdict": worst.get(leaf.name, "✓ Clear")}
    return {
        "idle": _IDLE,
        "things": things,
        "findings": [_one(answer, number, finding, moving) for number, finding in found],
    }


def _one(answer: Answer, number: int, finding: Finding, moving: set[str]) -> dict[str, Any]:
    held = [item for item in answer.layout.items if item.name in finding.items]
    sizes = [float(np.linalg.norm(item.high[0] - item.low[0])) for item in held]
    towards = None
    if finding.at_mm is not None:
        at = np.array(finding.at_mm)
        middle = np.mean([(i.low[0] + i.high[0]) / 2 for i in held], axis=0) if held else at
        # Look a little way in from the place, so that what it is about is in the picture.
        off = (middle - at) * min(0.4, 700.0 / max(float(np.linalg.norm(middle - at)), 1.0))
        x, y, z = (float(v) for v in at + off)
        towards = metres((x, y, z))
    motion = f"{finding.items[0]} opens" if finding.items else ""
    share = None
    if motion in moving and finding.reaches is not None and finding.of:
        share = round(finding.reaches / finding.of, 4)
    return {
        "number": number,
        "verdict": VERDICT_WORDS[finding.verdict],
        "says": finding.says,
        "items": list(finding.items),
        "at": None if finding.at_mm is None else metres(finding.at_mm),
        "towards": towards,
        "reach": round(min(max(max(sizes, default=1500.0), 1300.0), 2600.0) / 1000.0, 3),
        "motion": None if share is None else motion,
        "share": share,
    }


def _clash_model(answer: Answer, found: Sequence[tuple[int, Finding]]) -> Model:
    """The volumes in conflict, one node a finding, named by its number."""
    nodes = []
    for number, finding in found:
        parts = tuple(
            MeshPart(f"clash {number}", solid.corners[0], solid.faces.rings, _CLASH, "void")
            for solid in clashes_of(answer, finding)
            if volume_and_middle(solid)[0] > _SLIVER
        )
        if parts:
            nodes.append(Node(str(number), parts))
    return Model("clashes", tuple(nodes))
