"""What is said of an element? A node's flat extras in, names, IFC types and values out."""

from __future__ import annotations

from massing.handover.model import Extras

__all__ = ["property_values"]

_SIDES = ("SizeX", "SizeY", "SizeZ")


def property_values(extras: Extras) -> list[tuple[str, str, str | float | bool]]:
    """One row a property, in the order of the extras' names.

    Lengths end in ``_mm``, masses in ``_kg``, angles in ``_deg``; a size of three sides is three
    lengths.

    >>> property_values({"mass_kg": 61.5, "size_mm": "600 x 480 x 850", "verdict": "clear"})[:2]
    [('Mass', 'IfcMassMeasure', 61.5), ('SizeX', 'IfcLengthMeasure', 600.0)]
    """
    rows: list[tuple[str, str, str | float | bool]] = []
    for key in sorted(extras):
        rows += _rows(key, extras[key])
    return rows


def _rows(key: str, value: str | float | bool) -> list[tuple[str, str, str | float | bool]]:
    if key == "size_mm" and isinstance(value, str) and value.count(" x ") == 2:
        sides = [float(side) for side in value.split(" x ")]
        return [(n, "IfcLengthMeasure", v) for n, v in zip(_SIDES, sides, strict=True)]
    if isinstance(value, bool):
        return [(_camel(key), "IfcBoolean", value)]
    if isinstance(value, str):
        return [(_camel(key), "IfcText", value.encode("utf-8", "replace").decode("utf-8"))]
    if isinstance(value, int) and not key.endswith(("_mm", "_kg")):
        return [(_camel(key), "IfcInteger", value)]
    for ending, kind in (("_mm", "IfcLengthMeasure"), ("_kg", "IfcMassMeasure")):
        if key.endswith(ending):
            return [(_camel(key.removesuffix(ending)), kind, float(value))]
    return [(_camel(key), "IfcReal", float(value))]


def _camel(key: str) -> str:
    """Property names as the trade writes them.

    >>> _camel("stands_on")
    'StandsOn'
    """
    return "".join(word[:1].upper() + word[1:] for word in key.split("_") if word)
