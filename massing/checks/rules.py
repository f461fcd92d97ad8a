"""The sizes the checks compare with, where each comes from, and what a project changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from massing.checks.people import (
    POSTURES,
    body_size,
    grip_reach,
    height_needed,
    shoulder_height,
)
from massing.project.file import RuleSpec
from massing.project.project import Project

__all__ = ["RULES", "Rule", "Rules", "rules_of"]


@dataclass(frozen=True, slots=True)
class Rule:
    """One editable size: its default in mm (or the unit said), what it is, and its source."""

    name: str
    default: float
    unit: str
    says: str
    source: str


RULES = {
    rule.name: rule
    for rule in (
        Rule(
            "headroom",
            2000.0,
            "mm",
            "clear height where someone stands",
            "common practice, no source: stature + 100, 2000 when no stature is given",
        ),
        Rule(
            "under", 2000.0, "mm", "clear height below a hung thing", "common practice, no source"
        ),
        Rule(
            "doorway",
            400.0,
            "mm",
            "depth kept free in front of a doorway: a person's own depth",
            "common practice, no source",
        ),
        Rule(
            "window",
            300.0,
            "mm",
            "depth kept free in front of glass, above its sill",
            "common practice, no source",
        ),
        Rule("near", 150.0, "mm", "gaps up to this are listed as near", "this tool's own habit"),
        Rule(
            "support",
            95.0,
            "%",
            "share of a base that must rest on one level",
            "common practice, no source",
        ),
        Rule(
            "door_angle",
            90.0,
            "deg",
            "how far a room door must open",
            "common practice, no source",
        ),
        Rule(
            "step_by_door",
            400.0,
            "mm",
            "level floor kept clear of a door's sweep before a step",
            "published: UK stair guidance (seen second-hand)",
        ),
        Rule(
            "hinge_side",
            20.0,
            "mm",
            "gap beside the hinge of an item's door, where a wall runs on past it",
            "common practice, no source",
        ),
        Rule(
            "passage",
            600.0,
            "mm",
            "clear width of a way to each thing in use; write 900 for a main way",
            "common practice: main way 900, secondary 600 (610 in a US housing manual of 1973, "
            "seen second-hand)",
        ),
        Rule(
            "sidestep",
            450.0,
            "mm",
            "width below which a way is closed: a person passes it only sideways",
            "common practice, no source",
        ),
        Rule("route", 2000.0, "mm", "clear height along a way", "common practice, no source"),
        Rule(
            "stoop",
            1900.0,
            "mm",
            "clear height a way may drop to with a warning",
            "common practice, no source",
        ),
        Rule(
            "step_over",
            150.0,
            "mm",
            "things no higher than this above the floor are stepped over",
            "common practice, no source",
        ),
        Rule(
            "rise",
            220.0,
            "mm",
            "a step in the floor up to this is walked; a higher one is a barrier",
            "common practice, no source",
        ),
        Rule(
            "escape",
            750.0,
            "mm",
            "clear width of the way out from where someone works, with all doors and drawers open",
            "common practice, as UK fire guidance (Approved Document B) is quoted second-hand",
        ),
        Rule(
            "knuckles",
            0.0,
            "mm",
            "width added to a carried thing for hands, both sides together",
            "none by default: hands go above and below; load width + 100 is common practice",
        ),
        Rule(
            "top_shelf",
            1800.0,
            "mm",
            "height above which a store is out of reach",
            "published: British adult tables, grip reach 1806 of the 5th percentile woman, rounded "
            "(seen second-hand); no more than the tallest user's own",
        ),
        Rule(
            "shoulder",
            1400.0,
            "mm",
            "height above which nothing heavier than 10 kg is lifted",
            "common practice, no source: shoulder height, 0.82 of stature, 1400 when none is given",
        ),
        Rule(
            "top_control",
            1650.0,
            "mm",
            "height above which a control that asks for no height of its own is hard to work",
            "common practice, no source: 1650, or 200 over the user's shoulder where that is lower",
        ),
        Rule(
            "breadth",
            567.0,
            "mm",
            "breadth of a person, over both shoulders",
            "published: ANSUR II, the 95th percentile man; the user's own where they say who",
        ),
        Rule(
            "zone_lost",
            10.0,
            "%",
            "share of a zone's depth that walls may take before a person is cramped in it",
            "common practice, no source: what is drawn 1000 deep still works at 900",
        ),
        Rule(
            "water",
            300.0,
            "mm",
            "distance between electrical fittings and what holds water",
            "common practice, no source",
        ),
        Rule(
            "aisle",
            1200.0,
            "mm",
            "clear width between work fronts that face each other",
            "common practice; a US kitchen guideline asks 48 in (1219) for more than one cook "
            "(seen second-hand)",
        ),
        Rule(
            "aisle_least",
            1050.0,
            "mm",
            "the least clear width between work fronts that face each other",
            "common practice; a US kitchen guideline asks 42 in (1067) for one cook "
            "(seen second-hand)",
        ),
        Rule(
            "seat",
            600.0,
            "mm",
            "depth behind the edge of what one sits at",
            "common practice, no source: to pull the chair out and sit down",
        ),
        Rule(
            "seat_passing",
            900.0,
            "mm",
            "that depth where someone passes or works behind",
            "common practice; a US kitchen guideline asks 36 in (914) to edge past a seat "
            "(seen second-hand)",
        ),
        Rule(
            "drawer",
            600.0,
            "mm",
            "floor for a person before a drawer pulled right out",
            "common practice: full travel and a person's 600; a US housing manual of 1973 asks "
            "36 in (914) before a chest of drawers (seen second-hand)",
        ),
        Rule(
            "filler",
            50.0,
            "mm",
            "gap between a drawer's travel and a front beside it that looks at its side",
            "common practice, no source: 50 to 75, or the handle's depth + 10",
        ),
        Rule(
            "vent",
            300.0,
            "mm",
            "air kept free before a vent, a flue or a gas face",
            "common practice, no source",
        ),
        Rule(
            "shut_in",
            150.0,
            "mm",
            "a side with something nearer than this to it is taken as closed off",
            "this tool's own habit",
        ),
        Rule(
            "air_opening",
            645.0,
            "cm2",
            "open area round a thing that takes its air from the room",
            "common practice: never in a sealed cupboard; US codes ask 100 sq in (645 cm2) of a "
            "dryer's cupboard (from memory)",
        ),
    )
}


@dataclass(frozen=True, slots=True)
class Rules:
    """The sizes in force for one project, mm (support in per cent, door_angle in degrees)."""

    headroom: float = RULES["headroom"].default
    under: float = RULES["under"].default
    doorway: float = RULES["doorway"].default
    window: float = RULES["window"].default
    near: float = RULES["near"].default
    support: float = RULES["support"].default
    door_angle: float = RULES["door_angle"].default
    passage: float = RULES["passage"].default
    sidestep: float = RULES["sidestep"].default
    route: float = RULES["route"].default
    stoop: float = RULES["stoop"].default
    step_over: float = RULES["step_over"].default
    rise: float = RULES["rise"].default
    escape: float = RULES["escape"].default
    knuckles: float = RULES["knuckles"].default
    step_by_door: float = RULES["step_by_door"].default
    hinge_side: float = RULES["hinge_side"].default
    top_shelf: float = RULES["top_shelf"].default
    shoulder: float = RULES["shoulder"].default
    top_control: float = RULES["top_control"].default
    water: float = RULES["water"].default
    breadth: float = RULES["breadth"].default
    zone_lost: float = RULES["zone_lost"].default
    aisle: float = RULES["aisle"].default
    aisle_least: float = RULES["aisle_least"].default
    seat: float = RULES["seat"].default
    seat_passing: float = RULES["seat_passing"].default
    drawer: float = RULES["drawer"].default
    filler: float = RULES["filler"].default
    vent: float = RULES["vent"].default
    shut_in: float = RULES["shut_in"].default
    air_opening: float = RULES["air_opening"].default
    stature: float | None = None
    postures: Mapping[str, float] = field(default_factory=dict)

    def height(self, posture: str) -> float:
        """Clear height a posture needs, mm: the project's own, else by the user's stature."""
        if posture == "standing":
            return self.headroom
        own = self.postures.get(posture)
        return height_needed(posture, self.stature)[0] if own is None else own

    def height_source(self, posture: str) -> str:
        """Where that height comes from."""
        if posture == "standing":
            return self.source("headroom")
        source = height_needed(posture, self.stature)[1]
        return f"set in the project file ({source})" if posture in self.postures else source

    def source(self, name: str) -> str:
        """Where the default comes from, or that the project set its own size."""
        rule = RULES[name]
        if getattr(self, name) == rule.default:
            return rule.source
        return f"set in the project file (default {rule.default:g} {rule.unit}: {rule.source})"


def rules_of(project: Project) -> Rules:
    """Rules in force: the defaults, the user's stature, then what the project says.

    The tallest user's stature + 100 replaces the default headroom, and sets the shoulder; a top
    shelf is no higher than that user's own grip.
    """
    found: dict[str, float] = {}
    stature = stature_of(project)
    if stature is not None:
        found["headroom"] = height_needed("standing", stature)[0]
        found["shoulder"] = shoulder_height(stature)
        found["top_control"] = min(RULES["top_control"].default, found["shoulder"] + 200.0)
        found["top_shelf"] = min(RULES["top_shelf"].default, grip_reach(stature))
    people = project.people
    if people.who is not None and people.percentile is not None:
        found["breadth"] = body_size("shoulder", people.who, people.percentile)
    found.update(_written(project.rules))
    own = {
        name: float(size)
        for name in POSTURES
        if (size := getattr(project.rules, name, None)) is not None
    }
    return Rules(**found, stature=stature, postures=own)


def stature_of(project: Project) -> float | None:
    """The tallest user's stature, mm: as written, or a percentile; None when unsaid."""
    people = project.people
    if people.stature is not None:
        return float(people.stature)
    if people.who is not None and people.percentile is not None:
        return body_size("stature", people.who, people.percentile)
    return None


def _written(spec: RuleSpec) -> dict[str, float]:
    """Sizes the project file gives."""
    given = ((name, getattr(spec, name, None)) for name in RULES)
    return {name: float(value) for name, value in given if value is not None}
