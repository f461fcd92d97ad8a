"""What is a colour in glTF? A material in, its glTF material out."""

from __future__ import annotations

from massing.handover.gltf.pool import Json
from massing.handover.model import Material

__all__ = ["linear", "material"]


def linear(srgb: str) -> tuple[float, float, float]:
    """Linear light shares of a screen colour written #RRGGBB.

    glTF multiplies light by ``baseColorFactor``, so the screen's curve must come off first.
    Source: IEC 61966-2-1 (from memory); glTF 2.0 specification, "Metallic-Roughness Material".

    >>> linear("#56B4E9")
    (0.093059, 0.456411, 0.8148466)
    """
    shares = [int(srgb[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    return round(r, 7), round(g, 7), round(b, 7)


def material(look: Material, name: str, *, two_sided: bool) -> Json:
    """Return the glTF material; see-through below alpha 1, two-sided only for open surfaces."""
    out: Json = {
        "name": name,
        "pbrMetallicRoughness": {
            "baseColorFactor": [*linear(look.srgb), round(look.alpha, 7)],
            "metallicFactor": 0.0,
            "roughnessFactor": look.roughness,
        },
        "doubleSided": two_sided,
        "extras": {"kind": look.kind, "name_as_written": look.name, "srgb": look.srgb.upper()},
    }
    if look.alpha < 1.0:
        out["alphaMode"] = "BLEND"
    return out
