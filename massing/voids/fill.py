"""Put things into the unused space: a project and a scheme in, the file's text with a new one out.

One thing at a time goes where it uses most, on floors, things and walls or hung from a ceiling, and
stays only when the whole scheme, with what the tape leaves open, gains no conflict and nothing to
re-measure by it. What to mind about its weight and fixing comes with it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from massing.checks.finding import Finding, Verdict
from massing.checks.rules import Rules, rules_of
from massing.checks.run import check_scheme
from massing.checks.stacking import LOAD
from massing.checks.words import mm
from massing.errors import Fault, InputError, MassingError
from massing.project.edit import insert_entry, yaml_text
from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.boxes import BoxWish, UsableBox, usable_boxes
from massing.voids.fits import Candidate, Fit, Words, candidates, fits_in, plain_words
from massing.voids.trial import Trial, added
from massing.voids.whereabouts import box_words

__all__ = ["Filled", "Filling", "fill_scheme", "filled_text"]

Key = tuple[str, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Filled:
    """One thing put in: its name in the new scheme, where, and the words that place it.

    cautions : what to mind about its weight and what carries it
    """

    name: str
    fit: Fit
    where: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Filling:
    """What was put into a scheme; project has it in the scheme of the same name."""

    project: Project
    scheme: str
    things: tuple[Filled, ...]

    @property
    def litres(self) -> float:
        """Of all that was put in."""
        return sum(thing.fit.litres for thing in self.things)


def fill_scheme(
    project: Project, scheme: str, wish: BoxWish, *, most: int = 6, twice: bool = True
) -> Filling:
    """Fill the largest voids of a scheme with the project's homeless things, then the catalogue's.

    most : things at most; twice : a catalogue entry may be used more than once
    """
    held = _troubles(project, scheme)
    choices = list(candidates(project, scheme))
    refused: set[Words] = set()
    now, done = project, list[Filled]()
    while len(done) < most:
        step = _one_more(now, scheme, wish, choices, held, refused)
        if step is None:
            break
        now, thing = step
        done.append(thing)
        if thing.fit.own or not twice:
            choices = [c for c in choices if c.name != thing.fit.item]
    return Filling(now, scheme, tuple(done))


def _troubles(project: Project, scheme: str) -> set[Key]:
    """What is in conflict or for the tape to decide, by what it is about."""
    return _troubling(check_scheme(project, scheme, nudges=False).findings)


def _troubling(findings: Iterable[Finding]) -> set[Key]:
    return {_key(finding) for finding in findings if _is_trouble(finding)}


def _is_trouble(finding: Finding) -> bool:
    return finding.verdict in {Verdict.CONFLICT, Verdict.REMEASURE}


def _key(finding: Finding) -> Key:
    return finding.check, frozenset(finding.items)


def _one_more(
    project: Project,
    scheme: str,
    wish: BoxWish,
    choices: Sequence[Candidate],
    held: set[Key],
    refused: set[Words],
) -> tuple[Project, Filled] | None:
    """The scheme with one thing more, homeless ones first, then the largest; None when full."""
    layout = place(project, scheme, Values())
    spaces = _spaces(layout, rules_of(project), wish, choices)
    options = [
        (not fit.own, -round(fit.litres, 6), number, fit)
        for number, (box, takes) in enumerate(spaces)
        for fit in fits_in(project, layout, box, takes, most=2, refused=refused)
    ]
    for *_, fit in sorted(options, key=lambda option: option[:3]):
        trial = added(project, scheme, plain_words(fit.words))
        findings = check_scheme(trial.project, scheme, nudges=False).findings
        if _troubling(findings) <= held:
            told = tuple(_cautions(trial, findings))
            return trial.project, Filled(trial.name, fit, _where_words(layout, trial), told)
        refused.add(fit.words)
    return None


def _spaces(
    layout: Layout, rules: Rules, wish: BoxWish, choices: Sequence[Candidate]
) -> list[tuple[UsableBox, list[Candidate]]]:
    """Boxes and what may go into each; things for the ceiling go to what is left up there.

    Nobody reaches into those from the floor, so they need no open front and may be flat; the
    highest come first.
    """
    hung = [choice for choice in choices if choice.spec.mount == "ceiling"]
    held = [choice for choice in choices if choice.spec.mount != "ceiling"]
    wish = replace(wish, turned=False)
    spaces = [(box, held) for box in usable_boxes(layout, rules, wish)]
    if hung:
        flat = min(choice.size[2] for choice in hung)
        least = (*wish.smallest[:2], min(flat, wish.smallest[2]))
        high = replace(wish, smallest=least, reach=math.inf, open_front=False)
        boxes = usable_boxes(layout, rules, high)
        spaces += [(box, hung) for box in sorted(boxes, key=lambda box: -round(box.high[2], 3))]
    return spaces


def _where_words(layout: Layout, trial: Trial) -> str:
    """Where a thing went, by its own bounds; layout : without it."""
    item = trial.layout.item(trial.name)
    (x, y, z), (u, v, w) = item.low[0].tolist(), item.high[0].tolist()
    own = UsableBox((x, y, z), (u, v, w), bound=0.0, proved=True)
    where = box_words(layout, own)
    if item.footing != "ceiling":
        return where
    return f"hung from the ceiling, its underside at {mm(z)}, {where}"


def _cautions(trial: Trial, findings: Sequence[Finding]) -> Iterator[str]:
    """What its entry, its weight and the checks of loads say of a thing."""
    item = trial.layout.item(trial.name)
    told = [f.says for f in findings if f.check == LOAD and trial.name in f.items]
    yield from told
    if item.footing not in {"wall", "ceiling"}:
        return
    if item.spec.weight is None:
        yield f"its weight is not given: have the fixing to the {item.footing} checked"
    elif not told:
        yield f"hangs {item.spec.weight:g} kg on the {item.footing}: have the fixing checked"
    yield from item.spec.cautions


def filled_text(project: Project, filling: Filling, name: str) -> str:
    """The project's text with what was filled in as a new scheme; nothing else is disturbed.

    Raises InputError where a scheme of that name is there already, MassingError where the file
    cannot take it or the new scheme does not check as it did.
    """
    if name in project.arrangements:
        raise InputError([Fault(f"there is a scheme '{name}' already; give another name")])
    if not filling.things:
        raise MassingError("nothing fits; no scheme is written")
    base = filling.scheme
    text = _inserted(
        project, base, name, [plain_words(thing.fit.words) for thing in filling.things]
    )
    again = parse_project(text, project.path)
    if not _troubles(again, name) <= _troubles(project, base):
        raise MassingError("the new scheme does not check as its parts did; nothing is written")
    return text


def _inserted(project: Project, base: str, name: str, rows: Sequence[dict[str, Any]]) -> str:
    says = "Things put into the unused space; each checked."
    block = [
        f"{yaml_text(name)}:",
        f"  from: {yaml_text(base)}",
        f"  says: {yaml_text(says)}",
        "  add:",
        *(f"    - {_flow(row)}" for row in rows),
    ]
    if not project.schemes:
        entry = ["schemes:", f"  {yaml_text(base)}: []", *("  " + line for line in block)]
        return insert_entry(project.text, (), entry)
    added_rows = ", ".join(_flow(row) for row in rows)
    line = (
        f"{yaml_text(name)}: {{from: {yaml_text(base)}, says: {yaml_text(says)}, "
        f"add: [{added_rows}]}}"
    )
    try:
        return insert_entry(project.text, ("schemes",), block)
    except MassingError:
        return insert_entry(project.text, ("schemes",), [line])


def _flow(row: dict[str, Any]) -> str:
    """A placement on one line."""
    return "{" + ", ".join(f"{key}: {_value(value)}" for key, value in row.items()) + "}"


def _value(value: Any) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_value(part) for part in value) + "]"
    return yaml_text(value) if isinstance(value, str) else f"{value:g}"
