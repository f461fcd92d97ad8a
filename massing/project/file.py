"""The whole project file as one model; its JSON Schema is made from it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator

from massing.items.spec import ItemSpec
from massing.project.scheme_spec import SchemeSpec
from massing.reading.fields import Name, Number, PositiveLength, Spec
from massing.reading.places import Words
from massing.room.spec import RoomSpec

__all__ = [
    "ArrangeSpec",
    "NewPartitionsSpec",
    "PeopleSpec",
    "PreferSpec",
    "ProjectFile",
    "RuleSpec",
    "SurveySpec",
]


class PeopleSpec(Spec):
    """Who uses the room: the tallest user's stature, or a percentile of a survey of bodies."""

    stature: PositiveLength | None = None
    who: Literal["man", "woman"] | None = None
    percentile: Number | None = None

    @model_validator(mode="after")
    def _one_way(self) -> PeopleSpec:
        if self.stature is not None and self.who is not None:
            raise ValueError("people are given by stature or by who and percentile, not both")
        if (self.who is None) != (self.percentile is None):
            raise ValueError("'who' and 'percentile' go together: who: man, percentile: 95")
        if self.percentile is not None and not 1 <= self.percentile <= 99:
            raise ValueError("a percentile lies from 1 to 99")
        return self


class SurveySpec(Spec):
    """How the sizes of the room were got, when a size does not say (``2400 by laser``)."""

    by: Literal["laser", "tape", "client tape", "phone", "photo", "guess"] | None = None


class RuleSpec(Spec):
    """The rules' sizes, where a project changes them.

    headroom : clear height where someone stands; under : below a hung thing
    doorway : depth kept free in front of a doorway; window : in front of glass
    sitting ... jumping : clear height where someone does that
    near : gaps up to this are listed as near misses
    support : share of a base that must rest on one level, per cent
    passage, sidestep : clear width of a way, and the width below which it is closed
    route, stoop : clear height along a way, and the height it may drop to with a warning
    step_over, rise : things stepped over, and floor steps walked, up to this high
    escape : clear width of the way out; knuckles : width added to what is carried, for hands
    top_shelf : height above which a store is out of reach; shoulder : above which nothing heavier
        than 10 kg is lifted
    top_control : height above which a control is hard to work
    water : distance between electrical fittings and what holds water
    breadth : of a person; zone_lost : share of a zone's depth that walls may take, per cent
    aisle, aisle_least : clear width between facing work fronts, and the least of it
    seat, seat_passing : depth behind a seat, and where someone passes behind it
    drawer : floor before a drawer pulled right out; filler : gap beside one in a corner
    vent : air before a vent, flue or gas face
    shut_in : a side with something nearer than this is closed off; air_opening : open area, cm2,
        round a thing that takes its air from the room
    """

    headroom: PositiveLength | None = None
    sitting: PositiveLength | None = None
    rising: PositiveLength | None = None
    kneeling: PositiveLength | None = None
    crawling: PositiveLength | None = None
    lying: PositiveLength | None = None
    pressing: PositiveLength | None = None
    jumping: PositiveLength | None = None
    under: PositiveLength | None = None
    doorway: PositiveLength | None = None
    window: PositiveLength | None = None
    near: PositiveLength | None = None
    support: Number | None = None
    door_angle: Number | None = None
    passage: PositiveLength | None = None
    step_by_door: PositiveLength | None = None
    hinge_side: PositiveLength | None = None
    sidestep: PositiveLength | None = None
    route: PositiveLength | None = None
    stoop: PositiveLength | None = None
    step_over: PositiveLength | None = None
    rise: PositiveLength | None = None
    escape: PositiveLength | None = None
    knuckles: PositiveLength | None = None
    top_shelf: PositiveLength | None = None
    shoulder: PositiveLength | None = None
    top_control: PositiveLength | None = None
    water: PositiveLength | None = None
    breadth: PositiveLength | None = None
    zone_lost: Number | None = None
    aisle: PositiveLength | None = None
    aisle_least: PositiveLength | None = None
    seat: PositiveLength | None = None
    seat_passing: PositiveLength | None = None
    drawer: PositiveLength | None = None
    filler: PositiveLength | None = None
    vent: PositiveLength | None = None
    shut_in: PositiveLength | None = None
    air_opening: Number | None = None

    @field_validator("support", "door_angle")
    @classmethod
    def _in_range(cls, value: float | None, info: ValidationInfo) -> float | None:
        most, unit = (100.0, "per cent") if info.field_name == "support" else (270.0, "degrees")
        if value is not None and not 0 <= value <= most:
            raise ValueError(f"{value:g} is not from 0 to {most:g} {unit}")
        return value


class PreferSpec(Spec):
    """What makes one arrangement better than another, as weights."""

    standing: Number | None = None
    open_floor: Number | None = None
    daily: Number | None = None
    wet: Number | None = None
    reach: Number | None = None


class NewPartitionsSpec(Spec):
    """Stud walls that may be put up to gain wall, where a search for arrangements finds they pay.

    gain : m² of clear standing floor, beyond what it stands on, each has to win to be proposed
        where things fit without it
    """

    build_up: Name | None = None
    thickness: PositiveLength | None = None
    at_most: Literal[1, 2] = 1
    gain: Number = 0.5

    @model_validator(mode="after")
    def _some_thickness(self) -> NewPartitionsSpec:
        if (self.build_up is None) == (self.thickness is None):
            raise ValueError("new partitions have exactly one of build-up and thickness")
        if self.gain < 0:
            raise ValueError("a gain is 0 or more")
        return self


class ArrangeSpec(Spec):
    """What a search for arrangements may do beside moving things."""

    partitions: NewPartitionsSpec | None = None


class ProjectFile(Spec):
    """A project file, as written."""

    massing: Literal[1]
    project: Name
    says: Words | None = None
    people: PeopleSpec = PeopleSpec()
    survey: SurveySpec = SurveySpec()
    rules: RuleSpec = RuleSpec()
    prefer: PreferSpec = PreferSpec()
    arrange: ArrangeSpec = ArrangeSpec()
    room: RoomSpec
    items: dict[Name, ItemSpec] = Field(default_factory=dict)
    schemes: dict[Name, SchemeSpec] = Field(default_factory=dict)

    @field_validator("massing", mode="before")
    @classmethod
    def _known_version(cls, value: object) -> object:
        if value != 1:
            raise ValueError(f"'massing: {value}' is not a version this tool reads; write 1")
        return value
