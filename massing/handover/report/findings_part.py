"""Every finding, with its drawings, its odds, what it hangs on, and the move that clears it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.checks.words import mm, move_words
from massing.handover.drawings.facts import datum_of
from massing.handover.folding import Fold, folds
from massing.handover.report.markup import Content, Markup, e, join
from massing.handover.report.views import drawings_of
from massing.handover.report.words import VERDICT_WORDS, and_list, gap_words, odds
from massing.handover.signs import SIGNS

__all__ = ["clear_part", "findings_part"]


def findings_part(answer: Answer) -> Markup:
    """What is not clear, numbered as the check numbers it."""
    found = folds(answer.findings)
    lead = (
        "Numbers are the same in the drawings, in the view above and in the check itself. What "
        "has one cause stands together. Sizes are millimetres."
        if found
        else "Nothing was found that conflicts, hangs on the tape, or is worth a second look."
    )
    labels = {m.key: f"{m.label} (±{mm(m.half_width)})" for m in answer.measures}
    return e(
        "section",
        e("h2", "Findings", id="findings"),
        e("p", lead, class_="lead"),
        [_finding(answer, fold, k, labels) for fold in found for k in range(len(fold.members))],
        aria_labelledby="findings",
    )


def _finding(answer: Answer, fold: Fold, place: int, labels: dict[str, str]) -> Markup:
    """One of those told together; all but the first say only what is their own."""
    number, finding = fold.members[place]
    kind = finding.verdict.value
    alike = place > 0
    drawings = [
        e("figure", svg, e("figcaption", caption), class_="crop")
        for caption, svg in drawings_of(answer, number, finding)
    ]
    told = [
        (head, words)
        for head, words in _facts(answer, finding, labels)
        if not (alike and (head == "Rule" or (fold.nudge and head in {"Clears with", "Starts"})))
    ]
    facts = [join([e("dt", head), e("dd", words)]) for head, words in told]
    return e(
        "article",
        e(
            "div",
            e("span", str(number), class_="number"),
            e("span", SIGNS[finding.verdict], class_="sign", aria_hidden="true"),
            class_="tag",
        ),
        e(
            "div",
            None if alike else e("p", _kind(fold), class_="kind"),
            e("h3", finding.says, id=f"finding-{number}-says"),
            e("dl", facts),
            e(
                "button",
                "Show in the view",
                type="button",
                hidden=True,
                data_finding=number,
                class_="show",
                aria_label=f"Show finding {number} in the view",
            ),
            class_="words",
        ),
        e("div", drawings, class_="crops") if drawings else None,
        class_=f"finding {kind}",
        id=f"finding-{number}",
        aria_labelledby=f"finding-{number}-says",
    )


def _kind(fold: Fold) -> str:
    """The verdict and the check, and which others of the same cause follow."""
    kind = f"{VERDICT_WORDS[fold.lead.verdict]} · {fold.lead.check}"
    others = [str(number) for number, _ in fold.members[1:]]
    if not others:
        return kind
    if fold.nudge is not None:
        return f"{kind} · one move clears {and_list([str(fold.members[0][0]), *others])}"
    return f"{kind} · with {and_list(others)}"


def _facts(
    answer: Answer, finding: Finding, labels: dict[str, str]
) -> Iterator[tuple[str, Content]]:
    unit = {"mm": " mm", "deg": "°", "%": " %"}.get(finding.unit)
    if unit is not None:
        needs = f", needs {mm(finding.needs_mm)}{unit}" if finding.needs_mm else ""
        yield "Measured", gap_words(finding) + needs
    if finding.reaches is not None and finding.of is not None:
        units = "°" if finding.of <= 360 and finding.check == "door leaf" else ""
        yield "Reaches", f"{mm(finding.reaches)}{units} of {mm(finding.of)}{units}"
    if finding.plus_minus_mm > 0.05:
        worst, best = mm(finding.worst_mm), mm(finding.best_mm)
        yield (
            "How sure",
            f"{odds(finding.chance_clear)} chance that it is clear; "
            f"{worst} at worst, {best} at best".replace("-", "−"),
        )
    if finding.at_mm is not None:
        corner = datum_of(answer.layout.room)
        spot = (*(np.array(finding.at_mm[:2]) - corner), finding.at_mm[2])
        x, y, z = (mm(float(v)).replace("-", "−") for v in spot)
        yield "Where", f"{x} east, {y} north, {z} up from the setting-out corner"
    hangs = [labels.get(name, name) for name, _ in finding.turns_on[:4]]
    if hangs:
        yield "Hangs on", ", ".join(hangs)
    if finding.nudge is not None:
        move = f"Move {finding.nudge.item} {move_words(finding.nudge.by_mm)}."
        yield "Clears with", e("strong", move)
        if finding.nudge.starts:
            yield "Starts", e("ul", [e("li", told) for told in finding.nudge.starts])
        else:
            yield "Starts", "Nothing else."
    elif finding.verdict is Verdict.CONFLICT:
        yield "Clears with", "No single move; something has to change place, size or purpose."
    if finding.source:
        yield "Rule", finding.source


def clear_part(answer: Answer) -> Markup | None:
    """What is near or was asked for, and clear: the closest first, folded away."""
    clear = [f for f in answer.findings if f.verdict is Verdict.CLEAR]
    if not clear:
        return None
    near = sorted(clear, key=lambda f: (f.gap_mm - f.needs_mm, f.says))
    told = [e("li", f.says) for f in near]
    return e(
        "section",
        e("h2", "Clear, and near or asked for", id="clear"),
        e(
            "details",
            e("summary", f"{len(near)} that pass at the worst of every measurement"),
            e("ul", told, class_="plain"),
        ),
        aria_labelledby="clear",
    )
