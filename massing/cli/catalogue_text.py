"""The catalogue as a person reads it in a terminal."""

from __future__ import annotations

from massing.checks.words import mm
from massing.cli.text import wrapped
from massing.items.body import build_item
from massing.items.catalog import item_names, load_item
from massing.items.spec import ItemSpec
from massing.survey.buildups import build_up_names, load_build_up
from massing.survey.values import Values

__all__ = ["build_ups_text", "catalogue_text", "entry_text"]

_MOUNTS = {
    "floor": "  stands    on the floor",
    "wall": "  hangs     on a wall",
    "ceiling": "  hangs     from the ceiling",
    "on": "  stands    on something",
}


def _size(spec: ItemSpec) -> str:
    shape = build_item(spec, Values(), key=str(spec.name))
    return " x ".join(mm(value) for value in shape.high[0] - shape.low[0])


def catalogue_text() -> str:
    """Every entry by group: name, size, weight."""
    groups: dict[str, list[ItemSpec]] = {}
    for name in item_names():
        spec = load_item(name)
        groups.setdefault(str(spec.group), []).append(spec)
    lines = []
    for group in sorted(groups):
        lines.append(group)
        for spec in groups[group]:
            weight = f"{spec.weight:g} kg" if spec.weight is not None else ""
            lines.append(f"  {spec.name:<30} {_size(spec):<20} {weight}".rstrip())
    lines.append("sizes are width x depth x height, mm; `massing catalog NAME` shows one in full")
    return "\n".join(lines)


def entry_text(name: str) -> str:
    """One entry in full, with where each size comes from. Raises InputError for an unknown one."""
    spec = load_item(name)
    shape = build_item(spec, Values(), key=str(spec.name))
    lines = [f"{spec.name} ({spec.group})", f"  {spec.says}" if spec.says else ""]
    lines.append(f"  body      {_size(spec)}{_from(spec, 'body', 'parts')}")
    lines.extend(f"            part: {part.name} ({part.kind})" for part in spec.parts)
    for zone in shape.zones:
        low, high = zone.polygon[0].min(axis=0), zone.polygon[0].max(axis=0)
        need = "" if zone.headroom is None else f", {mm(zone.headroom[0])} high"
        told = f"{mm(high[0] - low[0])} x {mm(high[1] - low[1])}{need}"
        lines.append(f"  zone      {zone.name}, for a {zone.kind}: {told}{_from(spec, 'zone')}")
    lines.extend(
        f"  gap       {gap.side} {mm(gap.depth[0])}, {gap.why}{_from(spec, 'gap')}"
        for gap in shape.gaps
    )
    for motion in spec.motions:
        reach = f"{motion.angle:g}°" if motion.angle is not None else ""
        reach = mm(motion.travel.mm) if motion.travel is not None else reach
        lines.append(f"  moves     {motion.name} ({motion.kind}) {reach}{_from(spec, 'motion')}")
    for control in spec.controls:
        source = _from(spec, f"control {control.name}")
        lines.append(f"  control   {control.name}, {mm(control.height.mm)} above its base{source}")
    if spec.weight is not None:
        lines.append(f"  weight    {spec.weight:g} kg{_from(spec, 'weight')}")
    lines.append(_MOUNTS[spec.mount])
    lines.extend(f"  caution   {words}" for words in spec.cautions)
    return "\n".join(shown for line in lines if line for shown in _shown(line))


def _shown(line: str) -> list[str]:
    """The line, run on under its words where it is too long."""
    words = line.lstrip()
    indent = line[: len(line) - len(words)]
    return wrapped(words, indent, " " * 12 if indent else "  ")


def _from(spec: ItemSpec, *starts: str) -> str:
    """Where a size comes from, as the entry says."""
    told = [words for key, words in spec.basis.items() if key.startswith(starts)]
    return f"  [{told[0]}]" if told else ""


def build_ups_text() -> str:
    """Every wall build-up with its thickness."""
    lines = []
    for name in build_up_names():
        entry = load_build_up(name)
        lines.append(f"  {name:<46} {entry.thickness}")
    return "\n".join(["wall build-ups, thickness in mm", *lines])
