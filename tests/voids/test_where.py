"""Tests for massing.voids.where and meeting: the stretches of wall a thing can stand along."""

from __future__ import annotations

import io
import json
from itertools import pairwise

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from massing.cli.where_command import command
from massing.errors import InputError
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import hull, prism
from massing.project.project import Project
from massing.project.read import read_project
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.meeting import meeting
from massing.voids.trial import added, conflicts_with, standing_conflicts
from massing.voids.where import WallMap, where_against
from tests.voids.rooms import EXAMPLES, project_of

BOATHOUSE = EXAMPLES / "boathouse.yaml"
STEPPED = (
    "size: 4000 x 3000\n"
    "floor: [{level: 0}, {from: east, depth: 1500, level: 150}]\n"
    "ceiling: [{slopes: {west: 1500, east: 2700}}]\n"
    "doors: [{name: door, wall: north, along: 2500, leaf: 762 x 1981, hinge: left, opens: in}]"
)


def on(maps: tuple[WallMap, ...], wall: str) -> list[tuple[float, float]]:
    (found,) = [one for one in maps if one.wall == wall]
    return [(piece.start, piece.stop) for piece in found.stretches]


def near(rows: list[tuple[float, float]], slack: float = 1e-6) -> list[object]:
    """The stretches, to within a slack."""
    return [pytest.approx(row, abs=slack) for row in rows]


def case(scheme: str, extra: str = "") -> Project:
    """A flat room of 4000 x 3000 with a case to place, 1000 x 500 x 900."""
    return project_of(
        f"items:\n  case: {{body: 1000 x 500 x 900{extra}}}\n  post: {{body: 100 x 100 x 2000}}\n"
        f"schemes: {{one: [{scheme}]}}\n"
    )


def test_an_empty_room():
    """A thing goes anywhere along every wall, up to its own width short of the right end."""
    maps = where_against(case(""), "one", "case")
    assert [on(maps, wall) for wall in ("south", "east", "north", "west")] == [
        [(0.0, 3000.0)],
        [(0.0, 2000.0)],
        [(0.0, 3000.0)],
        [(0.0, 2000.0)],
    ]


def test_a_post_parts_a_wall():
    """A post 2000 from the west on the north wall: up to it, and from behind it on."""
    maps = where_against(case("{item: post, at: [2000, 2900]}"), "one", "case")
    assert on(maps, "north") == near([(0.0, 1000.0), (2100.0, 3000.0)])
    assert on(maps, "south") == [(0.0, 3000.0)]


def test_an_exact_slot():
    """Between two posts 1000 apart there is one place, and touching both is allowed."""
    posts = "{item: post, at: [400, 2900]}, {item: post, name: other, at: [1500, 2900]}"
    maps = where_against(case(posts), "one", "case")
    assert on(maps, "north") == near([(500.0, 500.0), (1600.0, 3000.0)])


def test_zones_and_headroom():
    """A zone of 900 in front with 2000 over it, under a slope along the wall (by hand).

    h = 1500 + 0.3 x: 2000 is reached at x = 1666.7. The north wall's left end is the west.
    """
    project = project_of(
        "items: {case: {body: 1000 x 500 x 900, zone: {front: 900, headroom: 2000}}}\n"
        "schemes: {one: []}\n",
        "size: 4000 x 3000\nceiling: [{slopes: {west: 1500, east: 2700}}]",
    )
    maps = where_against(project, "one", "case")
    ((start, stop),) = on(maps, "north")
    # Within the tolerance of touching, 0.01 of height, which is 0.033 along this slope.
    assert start == pytest.approx(500 / 0.3, abs=0.04)
    assert stop == pytest.approx(3000.0)
    assert on(maps, "west") == []


def test_support_on_a_step():
    """Five per cent of a base may hang over a step: found by halving, no overlap tells it."""
    project = project_of(
        "items: {case: {body: 1000 x 500 x 900}}\nschemes: {one: []}\n",
        "size: 4000 x 3000\nceiling: [{flat: 2400}]\n"
        "floor: [{level: 0}, {from: east, depth: 1500, level: 150}]",
    )
    found = on(where_against(project, "one", "case"), "north")
    # The step is at x 2500; 95 % of 1000 on the upper level is from x 2450 on.
    assert found == near([(0.0, 1500.0), (2450.0, 3000.0)], 0.1)


def test_a_placed_thing_is_lifted_out():
    """A thing does not stand in its own way, nor does what stands on it."""
    scheme = "{item: case, name: mine, against: south, along: 0}, {item: post, on: mine}"
    maps = where_against(case(scheme), "one", "mine")
    assert on(maps, "south") == [(0.0, 3000.0)]


def test_too_short_a_wall():
    """A wall shorter than the thing has no place and no conflict to tell."""
    maps = where_against(
        project_of("items: {long: {body: 3500 x 300 x 300}}\nschemes: {one: []}\n"),
        "one",
        "long",
    )
    short = [one for one in maps if not one.stretches]
    assert [one.wall for one in short] == ["east", "west"]
    assert all(one.blocked == () for one in short)


def test_hung_things_keep_their_height():
    """What hangs passes over low things, at the height asked for."""
    project = case("{item: case, name: low, against: north, along: 0}", ", mount: wall")
    assert on(where_against(project, "one", "case", height=900), "north") == [(0.0, 3000.0)]
    assert on(where_against(project, "one", "case", height=800), "north") == [(1000.0, 3000.0)]


def test_an_unknown_item():
    """A name that leads nowhere is told."""
    with pytest.raises(InputError):
        where_against(case(""), "one", "cassse")


def test_stretches_cover_each_wall():
    """Free and blocked stretches follow one another from end to end."""
    project = read_project(BOATHOUSE)
    for found in where_against(project, "first try", "chest"):
        rows = sorted(
            [(s.start, s.stop) for s in found.stretches]
            + [(b.start, b.stop) for b in found.blocked]
        )
        assert rows[0][0] == 0.0
        assert rows[-1][1] == pytest.approx(found.length - found.width)
        assert all(a[1] == pytest.approx(b[0], abs=0.02) for a, b in pairwise(rows))


def test_the_boathouse_bench_by_hand():
    """Along the south wall only wholly on the low slab, clear of the compressor (by hand).

    Faced from inside, along a the bench lies from x 4200 - a to 6000 - a: off the step at 3600
    from a = 2400 on, and east of the compressor's x 800 up to a = 3400. It just passes under the
    rack. On the high slab its zone lacks headroom everywhere along that wall.
    """
    maps = where_against(read_project(BOATHOUSE), "worked out", "bench")
    assert on(maps, "south") == near([(2400.0, 3400.0)])
    assert on(maps, "west") == []


POSTS = st.lists(
    st.tuples(
        st.integers(0, 38), st.integers(0, 28), st.sampled_from([0, 600, 1200]), st.integers(1, 9)
    ),
    min_size=1,
    max_size=4,
)


def placed_by_file(project: Project, wall: str, along: float) -> bool:
    """Whether the thing may stand there when it is placed afresh, as the file would (slow)."""
    trial = added(project, "one", {"item": "case", "against": wall, "along": along})
    known = standing_conflicts(place(project, "one", Values()), trial.rules)
    return not conflicts_with(trial.layout, trial.rules, trial.name, known)


@given(POSTS, st.booleans(), st.integers(0, 2**32 - 1))
@settings(max_examples=2, deadline=None)
def test_against_placing_afresh(posts, zoned: bool, seed: int):
    """At random places on every wall the map says what a fresh placing and check says."""
    items = "".join(
        f"  post {k}: {{body: {100 * w} x 300 x 700}}\n" for k, (_, _, _, w) in enumerate(posts)
    )
    rows = "".join(
        f"    - {{item: post {k}, at: [{100 * x}, {100 * y}, {z}]}}\n"
        for k, (x, y, z, _) in enumerate(posts)
    )
    zone = ", zone: {front: 700, headroom: 1900}" if zoned else ""
    door = ", motions: [{name: door, kind: leaf, hinge: left, angle: 90, needs: 90}]"
    project = project_of(
        f"items:\n  case: {{body: 800 x 500 x 900{zone}{door}}}\n{items}schemes:\n  one:\n{rows}",
        STEPPED,
    )
    rng = np.random.default_rng(seed)
    for found in where_against(project, "one", "case"):
        edges = np.array([v for s in found.stretches for v in (s.start, s.stop)])
        free = max(found.length - found.width, 0.0)
        for along in rng.uniform(0.0, free, 4).round(3).tolist():
            if len(edges) and np.abs(edges - along).min() < 0.1:
                continue
            told = any(s.start <= along <= s.stop for s in found.stretches)
            assert told == placed_by_file(project, found.wall, along), (found.wall, along)


def test_the_fresh_placing_would_notice():
    """The slow answer tells a place just inside a post from one just beside it."""
    project = case("{item: post, at: [2000, 2900]}")
    assert placed_by_file(project, "north", 1000.0)
    assert not placed_by_file(project, "north", 1001.0)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=30, deadline=None)
def test_meeting_against_signed_gaps(seed: int):
    """Inside the stretch the two overlap, at its ends they touch, and outside they are apart."""
    rng = np.random.default_rng(seed)
    a = hull(rng.uniform(0, 400, (7, 3)))
    if rng.random() < 0.5:
        ring = np.array([[0, 0], [300, 40], [260, 300], [20, 280.0]])
        b = prism(ring + rng.uniform(-300, 600, 2), 50.0, 350.0)
    else:
        b = hull(rng.uniform(0, 400, (6, 3)) + rng.uniform(-300, 600, 3))
    angle = rng.uniform(0, 2 * np.pi)
    way = np.array([np.cos(angle), np.sin(angle), 0.0])

    def gap(far: float) -> float:
        return float(signed_gaps([a.moved(way * far), b], np.array([[0, 1]])).gap[0, 0])

    found = meeting(a, b, way)
    if found is None:
        assert min(gap(far) for far in np.linspace(-1500, 1500, 61)) >= -1e-5
        return
    start, stop = found
    assert gap(start) == pytest.approx(0.0, abs=1e-5)
    assert gap(stop) == pytest.approx(0.0, abs=1e-5)
    assert gap((start + stop) / 2) < 1e-6
    assert gap(start - 5) > -1e-6
    assert gap(stop + 5) > -1e-6


def test_command_text_json_and_picture(tmp_path):
    """The same stretches in words and in JSON, and a picture that reads as one."""
    target = tmp_path / "bench.png"
    words = [str(BOATHOUSE), "bench", "--picture", str(target)]
    told = CliRunner().invoke(command, words, standalone_mode=False)
    assert told.exception is None
    assert "south        2400 to 3400" in told.output
    data = target.read_bytes()
    image = Image.open(io.BytesIO(data))
    assert image.size[0] > 1000
    assert len(image.getcolors(maxcolors=1_000_000) or []) > 10
    CliRunner().invoke(command, words, standalone_mode=False)
    assert target.read_bytes() == data
    answer = json.loads(
        CliRunner().invoke(command, [*words[:2], "--format", "json"], standalone_mode=False).output
    )
    south = next(wall for wall in answer["walls"] if wall["wall"] == "south")
    assert south["stretches_mm"] == [[2400.0, 3400.0]]
