"""The file `massing new` writes: a small room that checks clean, with every idea shown once."""

from __future__ import annotations

from massing.project.edit import yaml_text
from massing.reading.values import LONGEST_NAME

__all__ = ["template"]

_TEXT = """\
# A massing project. Lengths are millimetres unless they say otherwise, with a ± where it is
# known: 2400, 2400 ±10, 1.95 m ±5 mm, 6 ft 8 in. x runs from the south-west inside corner to the
# east, y to the north, z up from the lowest floor. Try it as it is:
#   massing check {file}
massing: 1
project: {name}

# people: {{stature: 1790}}          # the tallest user; head height asked for is this + 100

room:
  measured: inside                  # or outside, with a build-up or thickness for the walls
  size: 3600 ±5 x 2400 ±5           # west-east x south-north; or walls: [...], or corners: [...]
  # build-up: timber frame 95 stud clad and lined      # `massing catalog --walls` lists them
  # floor:
  #   - {{level: 0}}
  #   - {{from: east, depth: 1200, level: 150}}          # a step
  ceiling:
    # or {{flat: 2400}}, or a ridge with eaves, or a hip, or three points of a plane
    - {{slopes: {{south: 2100 ±10, north: 2600 ±10}}}}
  # fabric:
  #   - {{name: tie beam, box: 0..3600 x 1200..1300 x 2050..2200}}
  doors:
    # along: from the wall's left end as you face it from inside
    - {{name: door, wall: west, along: 800, leaf: 762 x 1981 x 44, hinge: left, opens: out}}
  # windows:
  #   - {{name: window, wall: east, along: 700, size: 900 x 900, sill: 1000}}

items:
  # Your own things; the rest comes from the catalogue: `massing catalog` lists it.
  potting bench:
    body: 1200 x 500 x 900          # width x depth x height
    weight: 30
    zone: {{front: 800}}             # floor someone needs in front of it

schemes:
  as found:
    # stays: yes  means it is not to be moved
    - {{item: shelving bay, against: north, from-right: 100, stays: yes}}
  proposed:
    from: as found                  # everything as above, and then:
    add:
      - {{item: potting bench, against: north, along: 300}}
      # other places: corner: [north, east] / on: washer / at: [2100, 0] / centre: [1800, 1200]
      # other heights: height: 1200 (above the floor) / top: 2000 / drop: 50 (below the ceiling)
"""


def template(name: str, file: str = "") -> str:
    """Text of a starting file for a project of that name.

    file : what the file is called, where its name is not the project's and .yaml

    Letters that cannot be printed are left out, and a long name is cut to the longest allowed.

    >>> template("Potting shed").splitlines()[5]
    'project: Potting shed'
    """
    plain = _plain(name)[:LONGEST_NAME].strip() or "My room"
    return _TEXT.format(name=yaml_text(plain), file=_plain(file) or f"{plain}.yaml")


def _plain(words: str) -> str:
    """The words on one line, with single spaces, without what cannot be printed."""
    return "".join(letter for letter in " ".join(words.split()) if letter.isprintable())
