"""The colours of a handover: what a thing is, in; its material, out.

Calm material colours, told apart in grey too: nothing is said by colour alone.
"""

from __future__ import annotations

from massing.handover.model import Material

__all__ = ["LOOKS", "look"]

LOOKS = {
    material.name: material
    for material in (
        Material("floor", "#C9BEAC", kind="floor"),
        Material("ceiling", "#F3EFE7", kind="ceiling"),
        Material("wall", "#E6DFD2", kind="wall"),
        Material("fabric", "#A98558", kind="fabric"),
        Material("partition", "#D8CFBE", kind="partition"),
        Material("leaf", "#B7905A", kind="door"),
        Material("pane", "#BFD6DC", alpha=0.4, kind="glass", roughness=0.1),
        Material("kept body", "#8D9092", kind="body"),
        Material("new body", "#4E7F9E", kind="body"),
        Material("store body", "#6F9277", kind="body"),
        Material("door", "#D9DEE0", kind="door", roughness=0.5),
        Material("glass", "#A9C7CF", alpha=0.5, kind="glass", roughness=0.1),
        Material("handle", "#3B3F42", kind="handle", roughness=0.4),
        Material("top", "#C8A67A", kind="top"),
        Material("metal", "#A3A8AB", kind="metal", roughness=0.35),
        Material("frame", "#54616B", kind="frame", roughness=0.5),
        Material("soft", "#B4796A", kind="soft", roughness=1.0),
        Material("person zone", "#E0A33A", alpha=0.16, kind="zone"),
        Material("service zone", "#B4659A", alpha=0.16, kind="zone"),
        Material("void", "#5FA8A0", alpha=0.2, kind="void"),
    )
}


def look(kind: str, *, stays: bool = False, stores: bool = False) -> Material:
    """Material of a part of an item.

    >>> look("body", stays=True).name, look("handle").name
    ('kept body', 'handle')
    """
    if kind == "body":
        return LOOKS["kept body" if stays else "store body" if stores else "new body"]
    return LOOKS[kind]
