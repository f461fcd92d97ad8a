"""A whole carry route through a furnished room of 5 x 3 m, against filling its maps by FFT.

Run ``python -m tests.bench.route_at_once``. Ours is everything from the layout to the answer:
heights worth carrying at, obstacles part by part, the search, the proof where there is no way,
and how much the way keeps to each side. The peer only fills the lattices of 20 mm and 5 degrees
that the answer turns on, one a pose, by convolution (see ``carry_against_fft``): the first step of
a search that works that way, for a room and a thing of the same size.
"""

# ruff: noqa: T201
# A bench prints.

from __future__ import annotations

import numpy as np

from massing.geometry.carry.lattice import lattice
from massing.project.read import parse_project
from massing.routes.carry import Asked, CarryAnswer, carry_in
from massing.routes.plan import Scene, doorway_of, outer_doors, without_riders
from massing.routes.search import build, stages
from massing.routes.thing import holds_of
from massing.scheme.layout import Layout
from massing.scheme.place import place
from massing.survey.values import Values
from tests.bench.carry_against_fft import BOX, GOAL, STEP, TURNS, convolved, obstacles
from tests.bench.record import Count, Measured, side_by_side

__all__ = ["measure"]

GOAL_MS = 100.0
"""Process time a whole route may take, once warm."""
TEXT = """
massing: 1
project: Furnished room
room:
  size: 5000 x 3000
  thickness: 100
  ceiling: [{flat: 2400}]
  doors:
    - {name: door, wall: west, along: 1100, leaf: 838 x 1981 x 44, hinge: right, opens: in}
items:
  wardrobe: {body: 1200 x 600 x 1900, weight: 50}
  bed: {body: 1400 x 2000 x 500, weight: 60}
  desk: {body: 1200 x 600 x 740, weight: 30}
  shelf: {body: 800 x 300 x 1800, weight: 30}
  chest: {body: 800 x 450 x 900, weight: 40}
  chair: {body: 500 x 500 x 900, weight: 8}
  bin: {body: 300 x 300 x 400, weight: 3}
  bookcase: {body: 300 x WIDE x 2400, weight: 40}
schemes:
  free:
    - {item: wardrobe, at: [3700, 50], facing: north}
    - {item: bed, at: [3500, 950]}
    - {item: desk, at: [1500, 2400]}
    - {item: shelf, at: [2800, 2700]}
    - {item: chest, at: [100, 100]}
    - {item: chair, at: [1800, 1800]}
    - {item: bin, at: [1300, 100]}
  blocked:
    from: free
    add: [{item: bookcase, at: [2300, 0]}]
"""


def layout_of(scheme: str, wide: float = 2250.0) -> Layout:
    """One scheme of the room; the bookcase leaves too little of the way past the desk."""
    return place(parse_project(TEXT.replace("WIDE", f"{wide:g}")), scheme, Values())


def route(layout: Layout, *, tilting: bool) -> CarryAnswer:
    """The wardrobe carried in."""
    return carry_in(layout, "wardrobe", Asked(tilting=tilting))


def maps_of(layout: Layout, found: CarryAnswer, *, tilting: bool) -> int:
    """Poses the answer turns on: those of the plainest stage that found it, or of all."""
    item = layout.item("wardrobe")
    holds = holds_of(item, tilting=tilting)
    rest = without_riders(layout, item.name, empty=False)
    way = doorway_of(rest, outer_doors(layout)[0], hall=None, reach=2.0 * holds[0].radius + 260.0)
    steps = stages(item, Scene(rest, way), holds)
    stage = steps[0] if found.found else steps[-1]
    return len(build(Scene(rest, way), item, stage, 0.0).poses)


def filled(maps: int) -> None:
    """So many maps by convolution."""
    stones = obstacles()
    on = lattice(BOX, np.array([GOAL.x, GOAL.y, GOAL.turn]), STEP, TURNS)
    for _ in range(maps):
        convolved(stones, on)


def measure(long: bool) -> list[Measured]:
    """Free and blocked, upright only and laid down too; long runs each more often."""
    runs = 25 if long else 7
    lines = []
    for scheme, must in (("free", "path"), ("blocked", "impossible")):
        layout = layout_of(scheme)
        for tilting, held in ((False, "upright"), (True, "or laid down")):
            found = route(layout, tilting=tilting)
            maps = maps_of(layout, found, tilting=tilting)
            times = side_by_side(
                lambda layout=layout, tilting=tilting: route(layout, tilting=tilting),
                lambda maps=maps: filled(maps),
                runs=runs,
            )
            lines.append(
                Measured(
                    name=f"route, 5 x 3 m, {scheme}, {held}",
                    peer="its maps filled by FFT",
                    times=times,
                    goal=1.0,
                    counts=(Count(f"answers '{must}'", int(found.proof == must), 1),),
                    note=f"{GOAL_MS:.0f} ms of processor time wanted",
                )
            )
    return lines


def main() -> None:
    """Print each line."""
    for line in measure(long=True):
        assert line.times is not None
        right = all(count.right for count in line.counts)
        print(
            f"{line.name}: {line.times.ours_ms:.1f} ms, {line.peer} {line.times.peer_ms:.1f} ms, "
            f"ratio {line.times.ratio:.1f}; {line.note}; {'right' if right else 'WRONG'}"
        )


if __name__ == "__main__":
    main()
