"""The top of the page: what was checked, the verdict at a glance, and what changed."""

from __future__ import annotations

from dataclasses import dataclass

from massing.checks.finding import Verdict
from massing.checks.run import Answer
from massing.checks.words import mm
from massing.handover.report.markup import Markup, e, join
from massing.handover.report.words import (
    VERDICT_WORDS,
    and_list,
    counts,
    opening_sentence,
)
from massing.handover.signs import SIGNS
from massing.room.measure import area_where, floor_area, height_bands, volume
from massing.voids.tally import Tally, tally

__all__ = ["compared", "heading"]


def heading(answer: Answer) -> Markup:
    """Names, the sentence, and how many of each verdict."""
    says = answer.project.arrangements[answer.layout.name].says
    held = counts(answer.findings)
    plain = {
        Verdict.CONFLICT: "fail even at the best case",
        Verdict.REMEASURE: "the tape decides",
        Verdict.CAUTION: "allowed, worth a look",
        Verdict.CLEAR: "near or asked for, and clear",
    }
    tallies = [
        e(
            "li",
            _sign(verdict),
            e("span", str(held[verdict]), class_="big"),
            e("span", _kind(verdict, held[verdict]), class_="kind"),
            e("span", plain[verdict], class_="quiet"),
            class_=verdict.value,
        )
        for verdict in Verdict
    ]
    return e(
        "header",
        e("p", answer.project.name, class_="over"),
        e("h1", answer.layout.name),
        e("p", says, class_="says") if says else None,
        e("p", opening_sentence(answer.findings), class_="verdict"),
        e("ul", tallies, class_="tallies", role="list"),
        _room_line(answer),
        class_="top",
    )


def _sign(verdict: Verdict) -> Markup:
    return e("span", SIGNS[verdict], class_="sign", aria_hidden="true")


def _kind(verdict: Verdict, number: int) -> str:
    word = VERDICT_WORDS[verdict]
    if number == 1 or verdict in {Verdict.REMEASURE, Verdict.CLEAR}:
        return {Verdict.REMEASURE: "to re-measure", Verdict.CLEAR: "clear"}.get(
            verdict, word.lower()
        )
    return f"{word.lower()}s"


def _room_line(answer: Answer) -> Markup:
    room = answer.layout.room
    bands = [band for band in height_bands(room) if band.area > 1.0]
    told = []
    for band in bands:
        where = (
            f"at {mm(band.at_least)} or higher"
            if band.below == float("inf")
            else f"from {mm(band.at_least)} to {mm(band.below)}"
        )
        told.append(f"{band.area / 1e6:.2f} m² {where}")
    tall = f" Of the floor, {and_list(told)}." if len(bands) > 1 else ""
    if len(bands) == 1 and area_where(room, at_least=2000.0) > 0:
        tall = f" All of it is {mm(bands[0].at_least)} or higher."
    return e(
        "p",
        f"The room has {floor_area(room) / 1e6:.2f} m² of floor and {volume(room) / 1e9:.2f} m³ "
        f"of air.{tall}",
        class_="room quiet",
    )


@dataclass(frozen=True, slots=True)
class _Row:
    what: str
    before: str
    after: str
    change: str


def compared(answer: Answer, before: Answer) -> Markup:
    """Two schemes side by side: floor, store, verdicts, and what comes in and goes out."""
    one, other = tally(before.layout), tally(answer.layout)
    rows = [*_floor_rows(one, other), *_verdict_rows(before, answer)]
    body = [
        e(
            "tr",
            e("th", row.what, scope="row"),
            e("td", row.before, class_="number", data_label=before.layout.name),
            e("td", row.after, class_="number", data_label=answer.layout.name),
            e("td", row.change, class_="number change", data_label="change"),
        )
        for row in rows
    ]
    head = e(
        "tr",
        e("td", ""),
        e("th", before.layout.name, scope="col", class_="number"),
        e("th", answer.layout.name, scope="col", class_="number"),
        e("th", "change", scope="col", class_="number"),
    )
    return e(
        "section",
        e("h2", "Before and after", id="compared"),
        e(
            "p",
            f"Compared with “{before.layout.name}”. Obstructed floor lies under something that "
            "starts lower than 2000 above it; standing floor has 2000 or more clear and nothing "
            "in the way.",
            class_="lead",
        ),
        e("table", e("thead", head), e("tbody", body), class_="compare wide-table"),
        _in_and_out(answer, before),
        aria_labelledby="compared",
    )


def _floor_rows(one: Tally, other: Tally) -> list[_Row]:
    def row(what: str, a: float, b: float, unit: str, digits: int) -> _Row:
        change = round(b, digits) - round(a, digits)
        sign = "+" if change > 0 else "−" if change < 0 else "±"
        told = f"{sign}{abs(change):.{digits}f}" if change else "none"
        return _Row(f"{what}, {unit}", f"{a:.{digits}f}", f"{b:.{digits}f}", told)

    return [
        row("Floor obstructed", one.obstructed_m2, other.obstructed_m2, "m²", 2),
        row("Floor clear to stand in", one.standing_m2, other.standing_m2, "m²", 2),
        row("Store made", one.store_l, other.store_l, "litres", 0),
    ]


def _verdict_rows(before: Answer, answer: Answer) -> list[_Row]:
    one, other = counts(before.findings), counts(answer.findings)
    names = {
        Verdict.CONFLICT: "Conflicts",
        Verdict.REMEASURE: "To re-measure",
        Verdict.CAUTION: "Cautions",
    }
    rows = []
    for verdict, name in names.items():
        change = other[verdict] - one[verdict]
        told = f"{'+' if change > 0 else '−'}{abs(change)}" if change else "none"
        rows.append(_Row(name, str(one[verdict]), str(other[verdict]), told))
    return rows


def _in_and_out(answer: Answer, before: Answer) -> Markup:
    """Which things come, go, stay and move."""
    old = {item.name: item for item in before.layout.items}
    new = {item.name: item for item in answer.layout.items}
    shifted = [
        name
        for name in new
        if name in old and float(abs(new[name].low[0] - old[name].low[0]).max()) > 0.05
    ]
    groups = (
        ("Comes in", [name for name in new if name not in old]),
        ("Goes out", [name for name in old if name not in new]),
        ("Moves", shifted),
        ("Stays where it is", [name for name in new if name in old and name not in shifted]),
    )
    told = [join([e("dt", head), e("dd", ", ".join(names))]) for head, names in groups if names]
    return e("dl", told, class_="in-out")
