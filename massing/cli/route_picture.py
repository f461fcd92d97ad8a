"""A carry route drawn in plan: a layout and a route in, PNG bytes out. Loads Pillow."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from massing.checks.words import mm
from massing.geometry.offset import offset_by
from massing.handover.pictures.fonts import font
from massing.handover.pictures.paper import LIGHT, Paper

if TYPE_CHECKING:
    from massing.geometry.solids import Floats
    from massing.routes.carry import CarryAnswer
    from massing.scheme.layout import Layout

__all__ = ["route_picture"]

_EDGE, _HEAD = 60, 110  # pixels round the plan, and above it
_EVERY = 220.0  # mm the thing moves between two outlines drawn of it
_TURNS = 0.2  # radians it turns between two


def route_picture(
    layout: Layout, found: CarryAnswer, paper: Paper = LIGHT, width: int = 1400
) -> bytes:
    """The room, what stands in it, each stop of the thing, and the tightest place.

    Raises MissingToolError where nothing can draw.
    """
    from massing.errors import MissingToolError

    try:
        from PIL import Image, ImageDraw
    except ImportError as error:
        says = "drawing needs Pillow: pip install pillow"
        raise MissingToolError(says) from error

    sheet = _Sheet(_cloud(layout, found), width)
    image = Image.new("RGB", (width, sheet.height), paper.ground)
    pen = ImageDraw.Draw(image, "RGBA")
    _room(pen, sheet, layout, found, paper)
    _ghosts(pen, sheet, found, paper)
    _tight(pen, sheet, found, paper)
    _words(pen, layout, found, paper, width)
    buffer = io.BytesIO()
    image.save(buffer, "PNG", optimize=False)
    return buffer.getvalue()


class _Sheet:
    """Plan millimetres to pixels, north up."""

    def __init__(self, cloud: Floats, width: int) -> None:
        self.low, self.high = cloud.min(axis=0), cloud.max(axis=0)
        size = np.maximum(self.high - self.low, 1.0)
        self.scale = float(min((width - 2 * _EDGE) / size[0], 1200.0 / size[1]))
        self.height = int(self.scale * size[1]) + _EDGE + _HEAD
        self.left = (width - self.scale * size[0]) / 2.0

    def __call__(self, points: Floats) -> list[tuple[float, float]]:
        off = np.atleast_2d(points) - self.low
        x = self.left + off[:, 0] * self.scale
        y = self.height - _EDGE - off[:, 1] * self.scale
        return [(round(float(a), 2), round(float(b), 2)) for a, b in zip(x, y, strict=True)]


def _cloud(layout: Layout, found: CarryAnswer) -> Floats:
    thick = max(float(wall.thickness[0]) for wall in layout.room.walls)
    outline = layout.room.outline[0]
    points = [outline - thick, outline + thick]
    points += [ring for _, ring in _rows(found)]
    return np.concatenate(points)


def _rows(found: CarryAnswer) -> Iterator[tuple[str, Floats]]:
    """Outlines of the thing along its path: its pose and a placed ring."""
    if found.path is None:
        return
    shapes = dict(found.footprints)
    for pose, (x, y, turn) in zip(*_stops(found), strict=True):
        cos, sin = np.cos(turn), np.sin(turn)
        for ring in shapes[pose]:
            yield pose, ring @ np.array([[cos, sin], [-sin, cos]]) + [x, y]


def _stops(found: CarryAnswer) -> tuple[list[str], Floats]:
    """Poses and places along the path, close enough together to be followed by eye."""
    assert found.path is not None  # noqa: S101
    poses, places = [found.poses[0]], [found.path[0]]
    for pose, place in zip(found.poses[1:], found.path[1:], strict=True):
        by = place - places[-1]
        far = max(float(np.hypot(by[0], by[1])) / _EVERY, abs(float(by[2])) / _TURNS)
        if far < 1.0 and pose == poses[-1]:
            continue
        start = places[-1]
        for k in range(1, max(1, int(far)) + 1):
            places.append(start + by * k / max(1, int(far)))
            poses.append(pose)
    return [*poses, found.poses[-1]], np.array([*places, found.path[-1]])


def _room(pen: Any, sheet: _Sheet, layout: Layout, found: CarryAnswer, paper: Paper) -> None:
    from shapely import Polygon, get_parts

    room = layout.room
    thick = max(1.0, *(float(wall.thickness[0]) for wall in room.walls))
    inside = Polygon(room.outline[0])
    outer = offset_by(inside, thick, join_style="mitre")
    pen.polygon(sheet(np.asarray(outer.exterior.coords)), fill=paper.faint)
    pen.polygon(sheet(room.outline[0]), fill=paper.surface["floor"])
    if found.way is not None:
        pen.polygon(sheet(found.way.reveal), fill=paper.surface["floor"])
    bodies = [(f.name, solid, True) for f in room.fabric for solid in f.parts]
    bodies += [
        (item.name, part.solid, False)
        for item in layout.items
        if item.name != found.item
        for part in item.parts
    ]
    for _, solid, fixed in bodies:
        hull = Polygon(solid.corners[0, :, :2]).convex_hull
        for part in get_parts(hull):
            if part.geom_type == "Polygon":
                fill = paper.faint if fixed else paper.surface["ceiling"]
                ring = sheet(np.asarray(part.exterior.coords))
                pen.polygon(ring, fill=fill, outline=paper.quiet)
    for item in layout.items:
        # A stack is lettered once, tier by tier from the top, where its lowest thing stands.
        if item.mounted != "on" and item.name != found.item:
            held = layout.stack_from(item.name) - {found.item}
            tiers = [other for other in layout.items if other.name in held]
            tiers.sort(key=lambda other: -float(other.low[0, 2]))
            middle = (item.low[0, :2] + item.high[0, :2]) / 2.0
            words = "\n".join(other.name for other in tiers)
            pen.multiline_text(
                sheet(middle)[0], words, font=font(14), fill=paper.ink, anchor="mm", align="center"
            )
    if found.way is not None and found.way.leaf is not None:
        ring = found.way.leaf.ring[0]
        pen.line(sheet(ring[:2]), fill=paper.ink, width=3)


def _ghosts(pen: Any, sheet: _Sheet, found: CarryAnswer, paper: Paper) -> None:
    """Each stop of the thing, its first and last the strongest, and the line its middle takes."""
    rows = list(_rows(found))
    tint = tuple(int(paper.tape[k : k + 2], 16) for k in (1, 3, 5))
    for number, (_, ring) in enumerate(rows):
        last = number == len(rows) - 1
        pen.polygon(
            sheet(ring), fill=(*tint, 70 if last else 16), outline=(*tint, 255 if last else 120)
        )
    if found.path is not None:
        pen.line(sheet(found.path[:, :2]), fill=paper.tape, width=3)


def _tight(pen: Any, sheet: _Sheet, found: CarryAnswer, paper: Paper) -> None:
    if found.where is None or not np.isfinite(found.where).all():
        return
    ((x, y),) = sheet(found.where)
    pen.ellipse((x - 9, y - 9, x + 9, y + 9), outline=paper.alarm, width=4)
    says = f"{mm(found.gap)} to {found.against}" if found.found else _missing(found)
    box = pen.textbbox((x + 14, y - 24), says, font=font(16))
    pen.rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 3), fill=paper.ground)
    pen.text((x + 14, y - 24), says, font=font(16), fill=paper.alarm)


def _missing(found: CarryAnswer) -> str:
    """What the way that lacks least lacks, where nothing passes."""
    lacks = f"lacks {mm(found.missing)} or more each side, " if found.missing >= 0.05 else ""
    return f"{lacks}by {found.against}"


def _words(pen: Any, layout: Layout, found: CarryAnswer, paper: Paper, width: int) -> None:
    pen.text((36, 22), f"{layout.name}: carrying in {found.item}", font=font(24), fill=paper.ink)
    words, line, top = found.says.split(), "", 56
    for word in [*words, ""]:
        longer = f"{line} {word}".strip()
        if not word or pen.textlength(longer, font=font(16)) > width - 72:
            pen.text((36, top), line, font=font(16), fill=paper.quiet)
            line, top = word, top + 20
        else:
            line = longer
