"""The whole report: a checked scheme, and one to compare it with, in; one HTML page out.

The page asks nothing of any network: its policy allows only the very script and style written in
it, and pictures that are in the page themselves.
"""

from __future__ import annotations

from importlib.resources import files

from massing.checks.run import Answer
from massing.handover.from_layout import model_of
from massing.handover.report.building import remeasure_part, takeoff_part
from massing.handover.report.findings_part import clear_part, findings_part
from massing.handover.report.markup import Markup, e, hash_of, join, raw
from massing.handover.report.notes import assumptions_part, drawings_part
from massing.handover.report.schedule import schedule
from massing.handover.report.summary import compared, heading
from massing.handover.report.view import view_blocks, view_part
from massing.handover.report.words import numbered

__all__ = ["report_page"]

_PARTS = (
    ("room", "Room"),
    ("compared", "Before and after"),
    ("findings", "Findings"),
    ("measure", "Measure again"),
    ("schedule", "Schedule"),
    ("takeoff", "Take-off"),
    ("drawings", "Drawings"),
    ("rests", "What this rests on"),
)


def report_page(answer: Answer, before: Answer | None = None) -> str:
    """The report as HTML text.

    answer : checked with nudges, so that each conflict says what would clear it
    before : the scheme to compare with; no comparison is made without one
    """
    found = numbered(answer.findings)
    model = model_of(answer)
    body = join(
        [
            heading(answer),
            view_part(answer, found, model),
            compared(answer, before) if before is not None else None,
            findings_part(answer),
            remeasure_part(answer),
            schedule(answer),
            takeoff_part(answer),
            drawings_part(answer),
            clear_part(answer),
            assumptions_part(answer),
        ]
    )
    blocks = view_blocks(answer, found, model)
    return _document(f"{answer.project.name}: {answer.layout.name}", body, blocks)


def _document(title: str, body: Markup, blocks: Markup) -> str:
    style, script = _kept("report.css"), _kept("viewer/viewer.js").replace("</script", "<\\/script")
    policy = "; ".join(
        (
            "default-src 'none'",
            f"script-src {hash_of(script)}",
            f"style-src {hash_of(style)}",
            "img-src data:",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )
    head = e(
        "head",
        e("meta", charset="utf-8"),
        e("meta", http_equiv="Content-Security-Policy", content=policy),
        e("meta", name="viewport", content="width=device-width, initial-scale=1"),
        e("meta", name="color-scheme", content="light dark"),
        e("meta", name="referrer", content="no-referrer"),
        e("link", rel="icon", href="data:,"),
        e("title", title),
        raw(f"<style>{style}</style>"),
    )
    page = e(
        "body",
        e("a", "To the findings", href="#findings", class_="skip"),
        e("main", _contents(body), body),
        e(
            "footer",
            "Made by massing from the project file alone. A check of geometry, not a ruling.",
        ),
        blocks,
        raw(f"<script>{script}</script>"),
    )
    return f"<!DOCTYPE html>\n{e('html', head, page, lang='en')}\n"


def _contents(body: Markup) -> Markup:
    """Links to the parts that this page has."""
    links = [
        e("li", e("a", says, href=f"#{name}")) for name, says in _PARTS if f' id="{name}"' in body
    ]
    return e("nav", e("ul", links, role="list"), aria_label="Parts of this report")


def _kept(name: str) -> str:
    text = files("massing.handover.report").joinpath(name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n")
