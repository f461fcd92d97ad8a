"""What is built and what must be measured again: partitions' take-off and the list for the tape."""

from __future__ import annotations

from massing.checks.run import Answer
from massing.checks.words import mm
from massing.handover.report.markup import Markup, e
from massing.handover.report.takeoff import KERF_NOTE, TakeOff, take_off
from massing.handover.report.words import VERDICT_WORDS, count
from massing.sureness.remeasure import Remeasure, remeasure

__all__ = ["remeasure_part", "takeoff_part"]


def takeoff_part(answer: Answer) -> Markup | None:
    """Studs, plates and boards of every partition of the scheme; None where there is none."""
    found = take_off(answer)
    if not found:
        return None
    return e(
        "section",
        e("h2", "Take-off of partitions", id="takeoff"),
        e("p", KERF_NOTE, class_="lead"),
        [_partition(one) for one in found],
        aria_labelledby="takeoff",
    )


def _partition(one: TakeOff) -> Markup:
    tall = mm(one.highest)
    if one.highest - one.lowest > 0.5:
        tall = f"{mm(one.lowest)} to {tall}"
    made = one.build_up
    what = (
        f"{made.name}: {made.says}" if made else "No build-up is said, so only its size is given."
    )
    rows: list[tuple[str, str]] = [
        ("Length × height × thickness", f"{mm(one.length)} × {tall} × {mm(one.thickness)}"),
        ("One face, openings out", f"{one.face_m2:.2f} m²"),
    ]
    if one.openings:
        rows.append(("Openings", count(one.openings, "opening")))
    if made and made.studs and one.studs:
        size = " × ".join(mm(float(v)) for v in made.studs.size)
        centres = mm(float(made.studs.centres))
        rows.append((f"Studs {size} at {centres} centres", _stud_list(one)))
        rows += [(f"{what_} {size}".capitalize(), f"{mm(v)} in all") for what_, v in one.plates]
        rows += [
            (
                f"Timber in {mm(b.size[0])} lengths",
                f"{b.count} lengths, {100 * b.waste:.0f} % waste" + (" (least)" if not k else ""),
            )
            for k, b in enumerate(one.timber)
        ]
        if made.studs.insulated:
            rows.append(("Bays to fill", f"{one.face_m2:.2f} m² less the timber"))
    rows += [
        (
            f"Sheets {mm(b.size[0])} × {mm(b.size[1])}",
            f"{b.count} for {count(one.faces, 'face')}, {100 * b.waste:.0f} % waste"
            + (" (least)" if not k else ""),
        )
        for k, b in enumerate(one.boards)
    ]
    body = [e("tr", e("th", head, scope="row"), e("td", told)) for head, told in rows]
    return e(
        "div",
        e("h3", one.name),
        e("p", what, class_="quiet"),
        e("table", e("tbody", body), class_="facts"),
        class_="partition",
    )


def _stud_list(one: TakeOff) -> str:
    """Lengths as cut, equal ones together, the longest first."""
    lengths = sorted((length for _, length in one.studs), reverse=True)
    groups: dict[float, int] = {}
    for length in lengths:
        groups[round(length)] = groups.get(round(length), 0) + 1
    told = ", ".join(f"{number} at {size:g}" for size, number in groups.items())
    return f"{len(lengths)}: {told}"


def remeasure_part(answer: Answer) -> Markup:
    """Measurements ranked by the verdicts that hang on them, with room to write."""
    rows = remeasure(answer)
    lead = (
        "Most telling first. Write what the tape says beside each, put it in the file with its "
        "±, and check again."
        if rows
        else "No size in the file carries a ± that any verdict hangs on."
    )
    return e(
        "section",
        e("h2", "Measure again", id="measure"),
        e("p", lead, class_="lead"),
        e("ol", [_measure(row) for row in rows], class_="tape") if rows else None,
        aria_labelledby="measure",
    )


def _measure(row: Remeasure) -> Markup:
    measure = row.measure
    unit = "°" if measure.unit == "deg" else ""
    by = f", {measure.method}" if measure.method else ""
    noted = f"{mm(measure.nominal)}{unit} ± {mm(measure.half_width)}{unit}{by}"
    near = [h for h in row.hanging if h.tolerance is not None or abs(h.slack) < 4 * abs(h.share)]
    told = [
        e(
            "li",
            e("b", VERDICT_WORDS[h.finding.verdict]),
            f" {h.finding.says}; moves by {mm(abs(h.share))}, {mm(abs(h.slack))} "
            + ("to spare" if h.slack >= 0 else "short"),
        )
        for h in near[:4]
    ]
    rest = len(row.hanging) - len(told)
    if rest:
        told.append(e("li", f"and {rest} that it cannot turn", class_="quiet"))
    return e(
        "li",
        e(
            "p",
            e("b", measure.label[:1].upper() + measure.label[1:]),
            e("span", f"noted {noted}", class_="quiet"),
            e("span", "now", class_="blank"),
            class_="what",
        ),
        e("p", _settles(row), class_="settles") if row.open else None,
        e("ul", told),
    )


def _settles(row: Remeasure) -> str:
    if row.tolerance:
        return (
            f"Taken to ± {mm(row.tolerance)} it settles {row.settles} of {row.open} open "
            f"{'verdict' if row.open == 1 else 'verdicts'} alone."
        )
    shared = min(h.together for h in row.hanging if h.together is not None)
    return (
        f"Alone it settles nothing; taken to ± {mm(shared)}, with the others of its verdict as "
        "much better, it does."
    )
