"""The tones pictures are drawn in, on light paper and on dark."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DARK", "LIGHT", "Paper"]


@dataclass(frozen=True, slots=True)
class Paper:
    """Colours as #RRGGBB; the alarm tone is a vermilion that colour-blind eyes tell apart."""

    name: str
    ground: str
    ink: str
    faint: str
    quiet: str
    alarm: str
    tape: str
    surface: dict[str, str]
    zone: dict[str, str]


LIGHT = Paper(
    name="light",
    ground="#FBFAF7",
    ink="#2B2E31",
    faint="#8E938F",
    quiet="#5D6265",
    alarm="#D55E00",
    tape="#0072B2",
    surface={"floor": "#DDD5C7", "ceiling": "#F6F3EC", "wall": "#EFEAE0"},
    zone={"person": "#D99A2B", "service": "#A65A8E"},
)

DARK = Paper(
    name="dark",
    ground="#191B1E",
    ink="#E8E6E1",
    faint="#6E7478",
    quiet="#A9AEB1",
    alarm="#F0742A",
    tape="#56B4E9",
    surface={"floor": "#4A4A47", "ceiling": "#3B3D3F", "wall": "#3F4245"},
    zone={"person": "#E0A33A", "service": "#C57AAC"},
)
