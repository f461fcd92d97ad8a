"""What the answer rests on: rules in force, how the walls are known, cautions, and drawn sheets."""

from __future__ import annotations

import base64

from massing.checks.rules import RULES
from massing.checks.run import Answer
from massing.checks.words import mm
from massing.handover.answer import cautions
from massing.handover.report.markup import Markup, e
from massing.room.measure import describe_provenance

__all__ = ["assumptions_part", "drawings_part", "sheets_of"]


def assumptions_part(answer: Answer) -> Markup:
    """Rules with their sources, walls with theirs, what is used together, and the cautions."""
    rules = answer.rules
    rows = []
    for name, rule in RULES.items():
        value = getattr(rules, name)
        unit = {"mm": "", "deg": "°", "%": " %"}.get(rule.unit, f" {rule.unit}")
        rows.append(
            e(
                "tr",
                e("th", rule.says, scope="row"),
                e("td", f"{mm(value)}{unit}", class_="number"),
                e("td", rules.source(name), class_="quiet"),
            )
        )
    walls = [e("li", line) for line in describe_provenance(answer.layout.room)]
    people = "No stature is said, so the usual height applies."
    if rules.stature is not None:
        people = f"The tallest user is taken to be {mm(rules.stature)}."
    together = [
        e("li", f"Used at once: {' and '.join(names)}.") for names in answer.layout.together
    ]
    accepted = [
        e("li", f"Accepted in the file for {item.name}: {', '.join(item.accept)}.")
        for item in answer.layout.items
        if item.accept
    ]
    return e(
        "section",
        e("h2", "What this rests on", id="rests"),
        e("h3", "Sizes compared with"),
        e("table", e("tbody", rows), class_="facts rules"),
        e("h3", "How the walls are known"),
        e("ul", walls, class_="plain"),
        e("h3", "Taken as given"),
        e("ul", e("li", people), together, accepted, class_="plain"),
        e("h3", "Cautions"),
        e("ul", [e("li", words) for words in cautions(answer)], class_="plain"),
        aria_labelledby="rests",
    )


def sheets_of(answer: Answer) -> tuple[tuple[str, bytes], ...]:
    """Titles and SVG files of the drawn sheets."""
    from massing.handover.drawings.drawings import drawing_set
    from massing.handover.drawings.svg import svg_of

    return tuple((sheet.title, svg_of(sheet).encode("utf-8")) for sheet in drawing_set(answer))


def drawings_part(answer: Answer) -> Markup | None:
    """The drawn sheets, each as a picture, which no script or style in it can leave."""
    sheets = sheets_of(answer)
    if not sheets:
        return None
    figures = []
    for title, svg in sheets:
        held = base64.b64encode(svg).decode("ascii")
        picture = e("img", src=f"data:image/svg+xml;base64,{held}", alt=title)
        figures.append(e("figure", picture, e("figcaption", title), class_="sheet"))
    return e("section", e("h2", "Drawings", id="drawings"), figures, aria_labelledby="drawings")
