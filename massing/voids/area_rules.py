"""Published ways of counting floor under slopes: what each counts, its source, how it was seen.

Inch sizes are stored exactly (25.4 mm), never as the rounded millimetres codes print.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CAUTION", "RULES", "AreaRule", "BandRule", "BeyondRule", "ShareRule", "Weight"]

CAUTION = (
    "An area by a published rule, not a ruling: editions, local amendments and what counts as a "
    "room differ. Have the figure confirmed by whoever will rely on it."
)

FOOT = 304.8  # mm
QUOTED = "clause seen quoted"
SECOND_HAND = "seen second-hand"
FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Weight:
    """Floor at least so high and lower than so high, mm, and the share of it that counts."""

    at_least: float
    below: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BandRule:
    """Each band of clear height counts in its own share.

    evidence : how the rule's text was seen by this project
    """

    name: str
    says: str
    source: str
    edition: str
    evidence: str
    bands: tuple[Weight, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareRule:
    """Floor from one height up counts, and a share of it must be higher still.

    counted : mm; tall : mm, over at least ``share`` of what counts
    least : mm² that must count, 0 when the rule asks for none
    """

    name: str
    says: str
    source: str
    edition: str
    evidence: str
    counted: float
    tall: float
    share: float
    least: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BeyondRule:
    """Parts so high over a least width count, and under a slope the floor some way beyond them.

    tall, width, beyond : mm
    """

    name: str
    says: str
    source: str
    edition: str
    evidence: str
    tall: float
    width: float
    beyond: float


AreaRule = BandRule | ShareRule | BeyondRule

_ALL = float("inf")


def _ncc(name: str, tall: float) -> ShareRule:
    """One of the sloping-ceiling limits of the Australian code, which differ only in height."""
    return ShareRule(
        name=f"NCC, {name}",
        says=f"1.5 m and higher; {tall / 1000:g} m over two thirds of that",
        source="National Construction Code, Volume Two, 3.8.2.2(e), Australia",
        edition="2016 and 2019",
        evidence=QUOTED,
        counted=1500.0,
        tall=tall,
        share=2.0 / 3.0,
    )


RULES: tuple[AreaRule, ...] = (
    BandRule(
        name="WoFlV",
        says="2 m and higher in full, 1 m to 2 m by half, lower not at all",
        source="Wohnflächenverordnung, section 4, Germany",
        edition="25 November 2003",
        evidence=SECOND_HAND,
        bands=(Weight(2000.0, _ALL, 1.0), Weight(1000.0, 2000.0, 0.5)),
    ),
    BandRule(
        name="1.80 m rule",
        says="only floor 1.80 m high or higher",
        source="loi 96-1107 (Carrez) and Code de la construction R.111-2, France",
        edition="1996",
        evidence=f"R.111-2: {QUOTED}; Carrez: {SECOND_HAND}",
        bands=(Weight(1800.0, _ALL, 1.0),),
    ),
    BandRule(
        name="NDSS, as a room",
        says="1.5 m and higher",
        source="Nationally described space standard, 10(f), England (paragraph number from memory)",
        edition="March 2015",
        evidence=QUOTED,
        bands=(Weight(1500.0, _ALL, 1.0),),
    ),
    BandRule(
        name="NDSS, eaves solely for storage",
        says="1.5 m and higher in full, 0.9 m to 1.5 m by half where it is solely storage",
        source=(
            "Nationally described space standard, 10(f)-(g), England (paragraph number from memory)"
        ),
        edition="March 2015",
        evidence=QUOTED,
        bands=(Weight(1500.0, _ALL, 1.0), Weight(900.0, 1500.0, 0.5)),
    ),
    ShareRule(
        name="NDSS height",
        says="2.3 m over 75 % of the floor that counts",
        source="Nationally described space standard, England",
        edition="March 2015",
        evidence=SECOND_HAND,
        counted=1500.0,
        tall=2300.0,
        share=0.75,
    ),
    ShareRule(
        name="IRC R304, R305",
        says=(
            "5 ft and higher; half of the required area at 7 ft (told here of all that counts); "
            "70 sq ft at least"
        ),
        source="International Residential Code R304.2-R304.4 and R305.1 exception 1",
        edition="R304 of 2012, R305.1 of 2015",
        evidence=QUOTED,
        counted=5 * FOOT,
        tall=7 * FOOT,
        share=0.5,
        least=70 * FOOT**2,
    ),
    ShareRule(
        name="ANSI Z765",
        says="5 ft and higher; half of the finished area of the room at 7 ft",
        source="ANSI Z765, single-family house measuring",
        edition="2003 to 2021",
        evidence=QUOTED,
        counted=5 * FOOT,
        tall=7 * FOOT,
        share=0.5,
    ),
    BeyondRule(
        name="NS 3940",
        says="1.9 m high over a width of 0.6 m; under a slope to 0.6 m beyond the 1.9 m line",
        source="NS 3940, Norway",
        edition="2012",
        evidence=QUOTED,
        tall=1900.0,
        width=600.0,
        beyond=600.0,
    ),
    _ncc("attic room", 2200.0),
    _ncc("other habitable room", 2400.0),
    _ncc("room not habitable", 2100.0),
    BandRule(
        name="1.5 m line",
        says="only floor 1.5 m high or higher",
        source="NEN 2580, Netherlands, and RICS residential measures",
        edition="not checked",
        evidence=FROM_MEMORY,
        bands=(Weight(1500.0, _ALL, 1.0),),
    ),
)
"""Every rule, in the order it is told."""
