"""Tests for reading and writing lengths, angles, sizes and ranges."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.errors import Mark
from massing.units import (
    FOOT,
    INCH,
    Length,
    format_feet_inches,
    format_length,
    format_mm,
    parse_angle,
    parse_box,
    parse_length,
    parse_range,
    parse_size,
    positive,
)


def test_an_inch_is_exactly_25_4_mm():
    """The international yard and pound agreement, 1959: one inch is 25.4 mm, one foot 304.8 mm."""
    assert INCH == 25.4
    assert pytest.approx(304.8, abs=1e-12) == FOOT
    assert parse_length("1 in").mm == 25.4
    assert parse_length("1 ft").mm == 304.8


@pytest.mark.parametrize(
    ("text", "mm", "pm"),
    [
        ("2400", 2400.0, None),
        ("  2400  ", 2400.0, None),
        ("-20", -20.0, None),
        ("- 20", -20.0, None),
        ("−20", -20.0, None),
        ("+150", 150.0, None),
        ("0", 0.0, None),
        ("010", 10.0, None),
        ("2400.5", 2400.5, None),
        ("2400 mm", 2400.0, None),
        ("2400MM", 2400.0, None),
        ("240 cm", 2400.0, None),
        ("2.4 m", 2400.0, None),
        ("1.005 m", 1005.0, None),
        ("2.4 metres", 2400.0, None),
        ("2400 ±10", 2400.0, 10.0),
        ("2400±10", 2400.0, 10.0),
        ("2400 ± 10 mm", 2400.0, 10.0),
        ("2400 mm ±10", 2400.0, 10.0),
        ("2400+/-10", 2400.0, 10.0),
        ("2400 +- 10", 2400.0, 10.0),
        ("2400 ±0", 2400.0, 0.0),
        ("-20 ±30", -20.0, 30.0),
        ("1.95 m +/- 5 mm", 1950.0, 5.0),
        ("240 cm ±1 cm", 2400.0, 10.0),
        ("80 in", 2032.0, None),
        ("80 inches", 2032.0, None),
        ('80"', 2032.0, None),
        ("80″", 2032.0, None),
        ("3/4 in", 19.05, None),
        ("8 1/2 in", 215.9, None),
        ('8-1/2"', 215.9, None),
        ("8½ in", 215.9, None),
        ("½ in", 12.7, None),
        ("6 ft", 1828.8, None),
        ("6'", 1828.8, None),
        ("6 ft 8 in", 2032.0, None),
        ("6' 8\"", 2032.0, None),
        ("6'-8\"", 2032.0, None),
        ("6’ 8”", 2032.0, None),
        ("6ft8", 2032.0, None),
        ("6ft8in", 2032.0, None),
        ("-6 ft 8 in", -2032.0, None),
        ("6 ft 8 1/2 in", 2044.7, None),
        ("6'-8 1/2\"", 2044.7, None),
        ("6 ft 8 1/2 in ± 1/4 in", 2044.7, 6.35),
        ("6.5 ft", 1981.2, None),
        ("1000 m", 1_000_000.0, None),
    ],
)
def test_lengths_as_people_write_them(text, mm, pm):
    """Each way of writing a length gives the millimetres worked out by hand."""
    length = parse_length(text)

    assert length.mm == pytest.approx(mm, abs=1e-9)
    assert length.pm == (None if pm is None else pytest.approx(pm, abs=1e-9))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "missing"),
        ("   ", "missing"),
        ("six", "'six' is not a length; write 2400, 2.4 m or 7 ft 10 in"),
        ("2,400", "write 2400 or 2.400"),
        ("2,4", "write 24 or 2.4"),
        ("2 400", "has a space inside the number; write 2400"),
        ("2 400 mm", "write 2400mm"),
        ("2_400", "not a length"),
        ("0x10", "not a length"),
        ("1e3", "not a length"),
        ("nan", "not a length"),
        ("inf", "not a length"),
        ("-inf", "not a length"),
        ("٢٤٠٠", "not a length"),
        ("1 m 20 cm", "not a length"),
        ("2400 + 10", "not a length"),
        ("--20", "not a length"),
        ("24..30", "not a length"),
        ("2400.", "not a length"),
        (".5 m", "write 0.5 m"),
        ("3 yd", "'yd' in '3 yd' is not a unit; use mm, cm, m, in or ft"),
        ("1/2", "needs its unit, in or ft"),
        ("8 1/2", "needs its unit, in or ft"),
        ("1/0 in", "must be less than one"),
        ("5/4 in", "must be less than one"),
        ("8 4/4 in", "must be less than one"),
        ("1/2 m", "not a length"),
        ("6 ft 12 in", "12 inches or more"),
        ("6.5 ft 3 in", "whole feet"),
        ("6 ft 200 mm", "not a length"),
        ("2400 ±", "not a length"),
        ("±10", "not a length"),
        ("2400 ±10 ±5", "more than one ±"),
        ("2400 ±-10", "not a length"),
        ("2400 ±2%", "not a length"),
        ("1.95 m ±5", "the ± of '1.95 m ±5' needs its own unit, such as ±5 mm"),
        ("240 ±1 cm", "gives a unit to the ± but not to the size"),
        ("2400 ±2000000", "± of '2400 ±2000000' is more than a kilometre"),
        ("1001 m", "more than a kilometre"),
        ("9" * 60, "more than a kilometre"),
        ("9" * 500, "too long"),
        ("2400 by 600", "not a length"),
    ],
)
def test_what_is_refused_and_why(text, says):
    """A text that is no single clear length is refused, saying why and quoting it."""
    with pytest.raises(ValueError, match=r".") as caught:
        parse_length(text)

    assert says in str(caught.value)
    if text.strip() and len(text) < 50:
        assert text.strip() in str(caught.value) or f"'{text.strip()}" in str(caught.value)


def test_how_it_was_measured_may_follow():
    """``by laser`` names the method, for every part of a size."""
    assert parse_length("2400 ±10 by Client Tape") == Length(2400.0, 10.0, "client tape")
    assert [side.method for side in parse_size("900 x 700 by laser", 2)] == ["laser", "laser"]
    assert [end.method for end in parse_range("0..5200 by tape")] == ["tape", "tape"]


def test_place_and_path_do_not_take_part_in_comparing():
    """Two lengths of one size are equal and hash alike wherever they were written."""
    here = Length(20.0, 1.0, mark=Mark("a.yaml", 1, 1), path="a")
    there = Length(20.0, 1.0, mark=Mark("b.yaml", 9, 9), path="b")

    assert here == there
    assert len({here, there}) == 1
    assert here != Length(20.0, 2.0)


@pytest.mark.parametrize(
    ("text", "parts", "sizes"),
    [
        ("600 x 600 x 850", 3, [600, 600, 850]),
        ("600x450", 2, [600, 450]),
        ("600 X 450", 2, [600, 450]),
        ("600×450", 2, [600, 450]),
        ("60 x 45 cm", 2, [600, 450]),
        ("2 ft x 3 ft", 2, [609.6, 914.4]),
        ("2ftx3ft", 2, [609.6, 914.4]),
        ("2 x 3 ft", 2, [609.6, 914.4]),
        ("600 mm x 45 cm", 2, [600, 450]),
        ("600 x 450 mm", 2, [600, 450]),
        ("600 mm x 450", 2, [600, 450]),
    ],
)
def test_sizes(text, parts, sizes):
    """Parts split at x; one unit after the last counts for all that have none."""
    assert [side.mm for side in parse_size(text, parts)] == pytest.approx(sizes, abs=1e-9)


def test_each_part_of_a_size_has_its_own_margin():
    """``5200 ±20 x 2600`` leaves the second part without one."""
    assert parse_size("5200 ±20 x 2600", 2) == (Length(5200.0, 20.0), Length(2600.0))


@pytest.mark.parametrize(
    ("text", "parts", "says"),
    [
        ("600 x 450", 3, "is not three sizes; write 600 x 450 x 850"),
        ("600 x 450 x", 3, "not three sizes"),
        ("600", 2, "not two sizes"),
        ("600 x six", 2, "'six' is not a length"),
        ("2.4 m x 1.8", 2, "mixes parts with and without a unit"),
        ("600 x 2 ft x 80 in", 3, "mixes parts"),
        ("600 x 6 ft 8 in", 2, "only the last part"),
        ("600 x 450 ±5 cm", 2, "gives a unit to the ±"),
        ("600 ±5 x 45 cm", 2, "needs its own unit"),
        ("600 x 0", 2, "'0' must be more than 0"),
        ("600 x -5", 2, "'-5' must be more than 0"),
        ("600 ±600 x 5", 2, "as large as the size itself"),
        ("2,400 x 600", 2, "comma"),
    ],
)
def test_sizes_refused(text, parts, says):
    """A size whose parts do not say clearly what they are is refused."""
    with pytest.raises(ValueError, match=r".") as caught:
        parse_size(text, parts)

    assert says in str(caught.value)


def test_ranges_and_boxes():
    """Ends may be negative, carry units and margins; a unit at the very end counts for all."""
    assert [end.mm for end in parse_range("-200..300")] == [-200.0, 300.0]
    assert parse_range("0 .. 5200 ±10") == (Length(0.0), Length(5200.0, 10.0))
    assert [end.mm for end in parse_range("0.5..1.25 m")] == [500.0, 1250.0]
    assert parse_box("0..1 x 1..2 x 2..3 m")[2] == (Length(2000.0), Length(3000.0))


@pytest.mark.parametrize("text", ["5200", "0...5200", "0..1..2", "..5", "5..", "", "5..5", "9..2"])
def test_ranges_refused(text):
    """Two ends, the lower first."""
    with pytest.raises(ValueError, match="range"):
        parse_range(text)


@pytest.mark.parametrize("text", ["0..1 x 0..1", "0..1", "1 x 2 x 3", "0..1 x 2..1 x 0..1"])
def test_boxes_refused(text):
    """Three ranges, each running upwards."""
    with pytest.raises(ValueError, match=r"box|range"):
        parse_box(text)


def test_angles():
    """Degrees with or without their sign; a slope of 1 in 12 is 4.764 degrees, by hand."""
    assert [parse_angle(text) for text in ("30", "30 deg", "30°", "-30 degrees")] == [
        30,
        30,
        30,
        -30,
    ]
    assert parse_angle("1:1") == pytest.approx(45.0, abs=1e-12)
    assert parse_angle("1:12") == pytest.approx(4.763642, abs=1e-6)
    assert parse_angle("0:12") == 0.0


@pytest.mark.parametrize(
    "text", ["", "x", "1:0", "1:", ":12", "1:2:3", "nan", "361", "30 rad", "1,5"]
)
def test_angles_refused(text):
    """What is no angle is quoted back."""
    with pytest.raises(ValueError, match=r"angle|turn"):
        parse_angle(text)


def test_a_margin_may_not_swallow_a_size():
    """A positive length keeps above its ±."""
    assert positive(Length(20.0, 5.0), "20 ±5") == Length(20.0, 5.0)
    with pytest.raises(ValueError, match="as large as the size"):
        positive(Length(20.0, 20.0), "20 ±20")


@pytest.mark.parametrize(
    ("mm", "shown"),
    [(2400.0, "2400"), (1234.5, "1234.5"), (-0.04, "0"), (0.05, "0.1"), (99.96, "100"), (-5, "-5")],
)
def test_millimetres_as_shown(mm, shown):
    """Whole where whole, else one decimal; never a minus before nothing."""
    assert format_mm(mm) == shown


@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        (0.0, "0 in"),
        (0.1, "0 in"),
        (-0.1, "0 in"),
        (12.7, "1/2 in"),
        (2032.0, "6 ft 8 in"),
        (2133.6, "7 ft"),
        (304.7, "1 ft"),
        (-2044.7, "-6 ft 8 1/2 in"),
    ],
)
def test_feet_and_inches_as_shown(mm, shown):
    """The nearest sixteenth, in the lowest terms, carrying into feet."""
    assert format_feet_inches(mm) == shown


tenths = st.integers(-9_999_999, 9_999_999).map(lambda n: n / 10)


@given(tenths, st.none() | st.integers(0, 99_999).map(lambda n: n / 10))
def test_a_length_written_and_read_again_is_the_same(mm, pm):
    """To a tenth of a millimetre nothing is lost, the ± included."""
    assert parse_length(format_length(Length(mm, pm))) == Length(mm, pm)


@given(st.integers(-39_000, 39_000), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_feet_and_inches_round_trip(steps, denominator):
    """A whole number of steps of an inch comes back to within rounding of the last bit."""
    mm = steps / denominator * INCH

    assert parse_length(format_feet_inches(mm, denominator)).mm == pytest.approx(mm, abs=1e-9)


@given(st.floats(-900_000, 900_000))
def test_feet_and_inches_are_the_nearest_sixteenth(mm):
    """Never further off than half a step."""
    assert abs(parse_length(format_feet_inches(mm)).mm - mm) <= INCH / 32 + 1e-9


@given(st.decimals(0, 900, places=3))
def test_metres_are_scaled_as_if_on_paper(metres):
    """Three decimals of a metre are whole millimetres, exactly."""
    assert parse_length(f"{metres} m").mm == float(int(metres * 1000))


@given(st.text(max_size=40) | st.text("0123456789 .,'\"/-+±xmcinft", max_size=25))
def test_any_text_is_a_finite_length_or_a_plain_refusal(text):
    """Whatever is typed, the answer is a bearable number or a ValueError with words."""
    for parse in (parse_length, parse_range, parse_box, lambda t: parse_size(t, 3), parse_angle):
        found, says = _attempt(parse, text)
        assert says is None or (says and "\n" not in says)
        if isinstance(found, Length):
            assert math.isfinite(found.mm)
            assert abs(found.mm) <= 1_000_000
            assert found.pm is None or 0 <= found.pm <= 1_000_000


def _attempt(parse, text):
    try:
        return parse(text), None
    except ValueError as error:
        return None, str(error)
