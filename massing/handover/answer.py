"""The machine-readable answer: a checked scheme in, one JSON object out, in stable order."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

from massing.checks.finding import Finding
from massing.checks.run import Answer
from massing.room.measure import area_where, describe_provenance, floor_area, height_bands, volume
from massing.scheme.layout import Placed
from massing.voids.tally import Tally, tally

if TYPE_CHECKING:
    from massing.sureness.sampling import Sampled

__all__ = ["answer_dict", "answer_json", "cautions"]

GENERAL_CAUTION = (
    "A check of geometry, not a ruling: local codes, makers' instructions and licensed trades "
    "decide loads, fixings, gas, electricity, water, ventilation and escape. Measure on site "
    "before ordering or building."
)


def answer_json(answer: Answer, sampled: tuple[Sampled, ...] | None = None) -> str:
    """The answer as JSON text, two-space indents, no trailing newline."""
    return json.dumps(answer_dict(answer, sampled), indent=2, ensure_ascii=False)


def answer_dict(answer: Answer, sampled: tuple[Sampled, ...] | None = None) -> dict[str, Any]:
    """The answer as plain data; lengths in mm, areas in m², volumes in m³ or litres as named.

    sampled : the findings as sampled, in their order
    """
    counted = tally(answer.layout)
    drawn = sampled or (None,) * len(answer.findings)
    return {
        "massing": 1,
        "project": answer.project.name,
        "scheme": answer.layout.name,
        "room": _room(answer, counted),
        "items": [_item(item, counted) for item in answer.layout.items],
        "findings": [
            _finding(finding, row) for finding, row in zip(answer.findings, drawn, strict=True)
        ],
        "measures": [
            {
                "measure": measure.key,
                "says": measure.label,
                f"nominal_{measure.unit}": _mm(measure.nominal),
                f"plus_minus_{measure.unit}": _mm(measure.half_width),
                "by": measure.method,
            }
            for measure in answer.measures
        ],
        "cautions": cautions(answer),
    }


def cautions(answer: Answer) -> list[str]:
    """What the survey disagrees on, the usual cautions of the items, each once, the general one."""
    told = [
        f"{item.spec.name}: {words}" for item in answer.layout.items for words in item.spec.cautions
    ]
    disagreeing = [note for survey in answer.layout.room.surveys for note in survey.notes]
    return [*(f"survey: {note}" for note in disagreeing), *dict.fromkeys(told), GENERAL_CAUTION]


def _room(answer: Answer, counted: Tally) -> dict[str, Any]:
    room = answer.layout.room
    bands = height_bands(room)
    return {
        "floor_m2": _m2(floor_area(room)),
        "volume_m3": round(volume(room) / 1e9, 6) + 0.0,
        "at_least_1900_m2": _m2(area_where(room, at_least=1900.0)),
        "at_least_2000_m2": _m2(area_where(room, at_least=2000.0)),
        "standing_m2": round(counted.standing_m2, 4) + 0.0,
        "obstructed_m2": round(counted.obstructed_m2, 4) + 0.0,
        "store_l": round(counted.store_l, 2) + 0.0,
        "bands": [
            {
                "from_mm": _mm(band.at_least),
                "below_mm": None if band.below == float("inf") else _mm(band.below),
                "area_m2": _m2(band.area),
            }
            for band in bands
        ],
        "walls": list(describe_provenance(room)),
    }


def _item(item: Placed, counted: Tally) -> dict[str, Any]:
    low, high = item.low[0], item.high[0]
    return {
        "item": item.name,
        "entry": item.spec.name,
        "stays": item.stays,
        "stands_on": item.footing,
        "low_mm": [_mm(v) for v in low],
        "high_mm": [_mm(v) for v in high],
        "weight_kg": item.spec.weight,
        "above_l": round(dict(counted.above_l)[item.name], 2) + 0.0,
    }


def _finding(finding: Finding, sampled: Sampled | None) -> dict[str, Any]:
    nudge = finding.nudge
    found: dict[str, Any] = {
        "check": finding.check,
        "verdict": finding.verdict.value,
        "items": list(finding.items),
        "gap_mm": finding.gap_mm,
        "needs_mm": finding.needs_mm,
        "unit": finding.unit,
        "plus_minus_mm": finding.plus_minus_mm,
        "worst_mm": finding.worst_mm,
        "best_mm": finding.best_mm,
        "chance_clear": finding.chance_clear,
        "at_mm": None if finding.at_mm is None else list(finding.at_mm),
        "overlap_l": finding.overlap_l,
        "area_m2": finding.area_m2,
        "says": finding.says,
        "nudge": None
        if nudge is None
        else {"item": nudge.item, "by_mm": list(nudge.by_mm), "starts": list(nudge.starts)},
        "turns_on": [{"measure": name, "share_mm": share} for name, share in finding.turns_on],
        "linear": finding.linear,
        "source": finding.source,
    }
    if sampled is not None:
        found["sampled"] = {
            "samples": sampled.samples,
            "chance_clear": round(sampled.chance, 5) + 0.0,
            "error": round(sampled.error, 5) + 0.0,
            "low": _finite(sampled.low),
            "middle": _finite(sampled.middle),
            "high": _finite(sampled.high),
            "agrees": sampled.agrees,
        }
    if finding.reaches is not None:
        found["reaches"] = finding.reaches
        found["of"] = finding.of
    return found


def _finite(value: float) -> float | None:
    """A point of the sampled gap, None where the two were out of reach."""
    return _mm(value) if math.isfinite(value) else None


def _mm(value: float) -> float:
    return round(float(value), 3) + 0.0


def _m2(area: float) -> float:
    return round(area / 1e6, 6) + 0.0
