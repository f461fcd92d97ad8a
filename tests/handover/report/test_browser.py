"""The page in a real browser, without any network: what it asks for, shows, and answers to.

Chromium is driven through playwright; the tests skip where either is missing, unless
MASSING_REQUIRE_ALL=1 says everything must run.
"""

from __future__ import annotations

import os
from contextlib import contextmanager
from pathlib import Path

import pytest

from massing.checks.run import check_scheme
from massing.handover.report.page import report_page
from massing.handover.report.pdf import browser as found_browser
from tests.handover.report.projects import NASTY, boathouse, boathouse_page, read

FLAGS = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-gpu",
]
NO_GL = "HTMLCanvasElement.prototype.getContext = () => null"


def _absent(says: str) -> None:
    if os.environ.get("MASSING_REQUIRE_ALL") == "1":
        pytest.fail(says)
    pytest.skip(says)


@pytest.fixture(scope="module")
def chromium():
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _absent("playwright is not installed")
    program = found_browser()
    if program is None:
        _absent("no Chromium found")
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield launched
        launched.close()


@pytest.fixture(scope="module")
def page_file(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(boathouse_page(), encoding="utf-8")
    return path


class Opened:
    """A page, what it asked the network for, and what it complained of."""

    def __init__(self, page) -> None:
        self.page = page
        self.asked: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("console", self._said)

    def _said(self, message) -> None:
        if message.type == "error":
            self.complaints.append(message.text)

    def state(self):
        """What the view says of itself."""
        return self.page.evaluate("window.__view.state()")

    def settled(self):
        """The same, once nothing is under way."""
        self.page.wait_for_function("window.__view && window.__view.state().draws > 0")
        self.page.wait_for_function("!window.__view.state().flying")
        return self.state()


@contextmanager
def opened(chromium, path: Path, *, script: str | None = None, view: bool = True, **told):
    """The page in a fresh context that has no network at all."""
    told = {"viewport": {"width": 1000, "height": 700}, "reduced_motion": "reduce", **told}
    context = chromium.new_context(offline=True, **told)
    try:
        if script:
            context.add_init_script(script)
        page = Opened(context.new_page())
        page.page.goto(path.as_uri())
        if view:
            page.settled()
        yield page
    finally:
        context.close()


@pytest.fixture(scope="module")
def shared(chromium, page_file):
    with opened(chromium, page_file) as page:
        yield page


@pytest.fixture
def it(shared):
    """The page as it opens, put back between tests rather than opened again."""
    shared.page.emulate_media(media="screen", reduced_motion="reduce")
    shared.page.mouse.move(1, 1)
    shared.page.locator("[data-reset]").click()
    shared.page.evaluate("document.activeElement.blur(), window.scrollTo(0, 0)")
    shared.settled()
    return shared


def _pixels(it) -> bytes:
    """The picture once it has been drawn again."""
    it.page.evaluate("new Promise((done) => requestAnimationFrame(() => setTimeout(done, 60)))")
    return it.page.locator("#view canvas").screenshot()


def _far(one, other) -> float:
    return sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5


def test_asks_for_nothing_and_complains_of_nothing(chromium, page_file):
    """One request, for the page itself; no policy broken, no error."""
    with opened(chromium, page_file) as it:
        it.page.locator("[data-step='1']").click()
        it.settled()
        assert [url for url in it.asked if not url.startswith("data:")] == [page_file.as_uri()]
        assert it.complaints == []


def test_the_policy_stops_what_is_not_of_the_page(chromium, page_file, tmp_path):
    """A planted script, style and picture: none runs, none is fetched, and each is told of."""
    planted = "<script>window.bad = 1</script><p style='color:red'></p><img src='http://x.test/a'>"
    path = tmp_path / "planted.html"
    path.write_text(page_file.read_text(encoding="utf-8").replace("</body>", f"{planted}</body>"))
    with opened(chromium, path) as it:
        assert it.page.evaluate("window.bad") is None
        assert len(it.complaints) >= 3


def test_names_run_nothing(chromium, tmp_path):
    """Names that try to be markup run nothing, and are read as they are on hovering."""
    path = tmp_path / "nasty.html"
    answer = check_scheme(read(NASTY, tmp_path))
    path.write_text(report_page(answer), encoding="utf-8")
    with opened(chromium, path) as it:
        for item in answer.layout.items:
            it.page.locator("[data-thing]").nth(answer.layout.items.index(item)).focus()
            assert it.page.locator(".tip b").inner_text() == item.name
        it.page.locator("[data-step='1']").click()
        it.settled()
        assert it.page.evaluate("window.pwned") is None
        assert it.complaints == []


@pytest.mark.parametrize(
    ("group", "part"),
    [
        ("shell", "floor_floor"),
        ("ceiling", "ceiling_ceiling"),
        ("kept", "wall_unit_body"),
        ("proposed", "bench_body"),
        ("zones", "bench_zones_bench_standing_zone"),
    ],
)
def test_a_group_goes_and_comes(it, group, part):
    """Unticking a group hides its meshes and only those; ticking brings them back."""
    before, seen = it.state()["visible"], _pixels(it)
    box = it.page.locator(f"input[data-group='{group}']")
    box.uncheck()
    hidden = set(before) - set(it.state()["visible"])
    assert part in hidden
    assert ("bench_body" in hidden) == (group == "proposed")
    assert _pixels(it) != seen
    box.check()
    assert it.state()["visible"] == before


def test_stepping_flies_and_lights(it):
    """Finding 1 turns the camera to it, lights its items, and list, text and disc follow."""
    home = it.state()
    it.page.locator("[data-step='1']").click()
    first = it.settled()
    assert first["chosen"] == 1
    assert first["lit"] == ["kayak"]
    assert _far(home["camera"], first["camera"]) > 0.5
    # The kayak's corner is at 100, 1800, 2600 mm in the room: 0.1, 2.6, -1.8 m in the model.
    assert _far(first["target"], [0.1, 2.6, -1.8]) < 0.75
    assert "kayak passes 50" in it.page.locator("#view-said").inner_text()
    current = it.page.locator("#view [data-finding][aria-current]")
    assert current.get_attribute("data-finding") == "1"
    assert "chosen" in it.page.locator("[data-mark='1']").get_attribute("class")
    it.page.locator("[data-step='-1']").click()
    assert it.settled()["chosen"] == 7
    it.page.locator("[data-reset]").click()
    back = it.settled()
    assert back["chosen"] is None
    assert _far(home["camera"], back["camera"]) < 1e-6


def test_the_list_of_findings_leads_to_the_view(it):
    it.page.locator("#finding-3 .show").click()
    assert it.settled()["lit"] == ["bench"]
    assert "chosen" in it.page.locator("#finding-3").get_attribute("class")


def test_the_door_opens_as_far_as_it_does(it):
    """Finding 2 opens the leaf 31.7 of 90 degrees; its own button opens it fully and shuts it."""
    reach = next(f for f in boathouse("first try").findings if f.check == "door leaf")
    it.page.locator("#view [data-finding='2']").click()
    share = it.settled()["moved"]["side door opens"]
    assert share == pytest.approx(reach.reaches / 90.0, abs=1e-3)
    button = it.page.locator("[data-motion]").first
    button.click()
    assert it.settled()["moved"]["side door opens"] == 0
    button.click()
    assert button.get_attribute("aria-pressed") == "true"
    assert it.settled()["moved"]["side door opens"] == 1


def test_motion_takes_its_time_unless_asked_not_to(it):
    """With motion wanted the camera is under way after a click; without, it is there at once."""
    click = "document.querySelector('[data-look=%s]').click(), window.__view.state().flying"
    it.page.emulate_media(reduced_motion="no-preference")
    assert it.page.evaluate(click % "above") is True
    it.page.emulate_media(reduced_motion="reduce")
    assert it.page.evaluate(click % "front") is False


def test_the_cut_clips(it):
    """At 1000 the kayak at 2200 is cut away: other pixels, nothing to point at, words say so."""
    whole = _pixels(it)
    slider = it.page.locator("#view-cut")
    slider.fill("1000")
    it.page.wait_for_timeout(150)
    assert it.state()["cut"] == 1.0
    assert slider.get_attribute("aria-valuetext") == "1000 above the datum"
    assert _pixels(it) != whole
    at = it.page.evaluate("window.__view.pixelOf('kayak')")
    it.page.mouse.move(at["x"], at["y"])
    assert it.state()["hovering"] != "kayak"
    assert it.page.locator("[data-mark='1']").is_hidden()
    slider.fill(slider.get_attribute("max"))
    it.page.wait_for_timeout(150)
    assert it.state()["cut"] is None


@pytest.mark.parametrize(
    ("name", "size", "verdict", "gaps"),
    [
        (
            "kayak",
            "5200 × 600 × 400",
            "! Conflict",
            ["50 into the ceiling", "touches the north wall", "470 to wall unit"],
        ),
        (
            "rack",
            "3000 × 300 × 1000",
            "✓ Clear",
            ["50 to the ceiling", "touches the south wall", "50 to screen"],
        ),
        (
            "bench",
            "1800 × 650 × 900",
            "! Conflict",
            ["870 to the ceiling", "touches the south wall", "touches chest"],
        ),
    ],
)
def test_pointing_names_and_tells_gaps(it, name, size, verdict, gaps):
    """The pointer over a thing shows what it is, how big, how it stands, and what it is near.

    By hand: the slope is 1950 at the south and 2750 at the north wall, over a floor of 180 where
    the bench stands; the rack's top is 1900 at the south wall; the wall unit's is 1730.
    """
    it.page.locator("#view canvas").scroll_into_view_if_needed()
    at = it.page.evaluate("(name) => window.__view.pixelOf(name)", name)
    it.page.mouse.move(at["x"], at["y"])
    assert it.state()["hovering"] == name
    assert it.page.locator(".tip").inner_text().split("\n") == [name, size, verdict, *gaps]
    it.page.mouse.move(2, 2)
    assert it.page.locator(".tip").is_hidden()


def test_dragging_turns(it):
    frame = it.page.locator("#view canvas")
    frame.scroll_into_view_if_needed()
    box = frame.bounding_box()
    home = it.state()
    it.page.mouse.move(box["x"] + 60, box["y"] + 60)
    it.page.mouse.down()
    it.page.mouse.move(box["x"] + 220, box["y"] + 110, steps=4)
    it.page.mouse.up()
    turned = it.settled()
    assert _far(home["camera"], turned["camera"]) > 0.5
    assert _far(home["target"], turned["target"]) < 1e-9


def test_the_wheel_scrolls_the_page_until_the_view_is_taken_up(it):
    frame = it.page.locator("#view canvas")
    frame.scroll_into_view_if_needed()
    box = frame.bounding_box()
    home = it.state()
    it.page.mouse.move(box["x"] + 40, box["y"] + 40)
    it.page.mouse.wheel(0, -60)
    it.page.wait_for_timeout(200)
    assert it.state()["camera"] == home["camera"]
    frame.focus()
    it.page.mouse.wheel(0, -300)
    it.page.wait_for_timeout(200)
    nearer = it.settled()
    assert _far(nearer["camera"], nearer["target"]) < 0.9 * _far(home["camera"], home["target"])


def test_keys_alone(chromium, page_file):
    """From the top, Tab reaches the picture; arrows, signs, letters and Home work in it."""
    with opened(chromium, page_file) as it:
        keys = it.page.keyboard
        for _ in range(40):
            keys.press("Tab")
            if it.page.evaluate("document.activeElement.tagName") == "CANVAS":
                break
        else:
            pytest.fail("Tab does not reach the picture")
        focus = "getComputedStyle(document.activeElement).outlineStyle"
        assert it.page.evaluate(focus) == "solid"
        home = it.settled()
        for key, moves in (("ArrowLeft", "camera"), ("+", "camera"), ("Shift+ArrowUp", "target")):
            before = it.state()
            keys.press(key)
            assert _far(before[moves], it.settled()[moves]) > 0.01, key
        keys.press("n")
        assert it.settled()["chosen"] == 1
        keys.press("Escape")
        assert it.settled()["chosen"] is None
        keys.press("Home")
        assert _far(home["camera"], it.settled()["camera"]) < 1e-6
        keys.press("Tab")
        keys.press("Tab")
        keys.press("Enter")
        assert it.settled()["chosen"] == 1


def test_a_focused_name_is_shown(it):
    it.page.locator("[data-thing='chest']").focus()
    assert it.page.locator(".tip b").inner_text() == "chest"
    assert it.state()["hovering"] == "chest"


def test_on_a_phone(chromium, page_file):
    """Nothing scrolls sideways, buttons are big enough for a thumb, and a tap points."""
    viewport = {"width": 360, "height": 740}
    with opened(chromium, page_file, viewport=viewport, has_touch=True) as it:
        for width in (360, 390, 320, 768):
            it.page.set_viewport_size({"width": width, "height": 740})
            assert it.page.evaluate("document.documentElement.scrollWidth") <= width
            boxes = [b.bounding_box() for b in it.page.locator("#view fieldset > button").all()]
            assert min(box["height"] for box in boxes) >= 32
            assert max(box["x"] + box["width"] for box in boxes) <= width
        it.page.set_viewport_size(viewport)
        _pixels(it)
        it.page.locator("#view canvas").scroll_into_view_if_needed()
        at = it.page.evaluate("window.__view.pixelOf('rack')")
        it.page.touchscreen.tap(at["x"], at["y"])
        assert it.state()["hovering"] == "rack"


def _contrast(one: list[float], other: list[float]) -> float:
    """Source: W3C, Web Content Accessibility Guidelines 2.2, "contrast ratio"."""

    def light(colour):
        shares = [c / 255 for c in colour]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    low, high = sorted((light(one), light(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out(it, scheme):
    """Every tone words are set in has at least 4.5 to 1 on the paper, in both schemes (WCAG AA)."""
    rgb = """(name) => {
      const one = document.createElement("i"); document.body.append(one);
      one.style.color = getComputedStyle(document.documentElement).getPropertyValue(name);
      return getComputedStyle(one).color.match(/[0-9.]+/g).slice(0, 3).map(Number);
    }"""
    it.page.emulate_media(color_scheme=scheme)
    for paper in ("--paper", "--sheet"):
        ground = it.page.evaluate(rgb, paper)
        for tone in ("--ink", "--quiet", "--conflict", "--re-measure", "--caution", "--clear"):
            assert _contrast(it.page.evaluate(rgb, tone), ground) >= 4.5, (tone, paper)
    assert (sum(it.page.evaluate(rgb, "--paper")) < 300) == (scheme == "dark")


def test_without_gl_the_drawings_stand_in(chromium, page_file):
    with opened(chromium, page_file, script=NO_GL, view=False) as it:
        it.page.wait_for_function("document.documentElement.dataset.view === 'none'")
        assert it.page.locator("#view").is_hidden()
        assert it.page.locator("#stills .drawing").first.is_visible()
        assert it.page.locator("#finding-1 .show").is_hidden()


def test_without_scripts_the_page_reads(chromium, page_file):
    with opened(chromium, page_file, view=False, java_script_enabled=False) as it:
        assert it.page.locator("#view").is_hidden()
        assert it.page.locator("#stills .drawing").first.is_visible()
        assert it.page.locator("article.finding").count() == 7


def test_on_paper_the_drawings_take_the_views_place(it):
    assert it.page.locator("#stills .drawing").first.is_hidden()
    it.page.emulate_media(media="print")
    assert it.page.locator("#stills .drawing").first.is_visible()
    assert it.page.locator("#view").is_hidden()
