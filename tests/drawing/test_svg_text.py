"""The element writer, the text estimate and the scales."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.drawing.looking import regular, semibold

from sparkout.core.errors import OutOfRange
from sparkout.drawing.manner import manner_of
from sparkout.drawing.picture import Box, Picture, Spot
from sparkout.drawing.scale import Columns, Scale, round_steps, round_up, spread
from sparkout.drawing.svg import checked_prefix, element, escape, number, path_through
from sparkout.drawing.text import shortened, text_width, wrapped
from sparkout.drawing.words import WORDS


@given(st.floats(-1e6, 1e6))
def test_a_coordinate_has_at_most_two_decimals_and_reads_back(value):
    text = number(value)
    assert "e" not in text
    assert text != "-0"
    assert len(text.partition(".")[2]) <= 2
    assert abs(float(text) - value) <= 0.005 + 1e-9


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_coordinate_that_is_no_number_is_refused(value):
    with pytest.raises(OutOfRange, match="coordinate"):
        number(value)


def test_escaping():
    assert escape('<&>"\x00\ud800\u00a0') == "&lt;&amp;&gt;&quot;   "


def test_elements_and_paths():
    assert element("g", {}, "x") == "<g>x</g>"
    assert path_through([(0, 1), (2, 3)]) == "M0 1L2 3"


@pytest.mark.parametrize("prefix", ["", "1a", "a b", "a\n", 'a"', "é"])
def test_a_prefix_that_cannot_begin_an_id_is_refused(prefix):
    with pytest.raises(OutOfRange, match="prefix"):
        checked_prefix(prefix)


@pytest.mark.parametrize("code", [*range(32, 127), *map(ord, "°±×−–µαβγφ≤≥≈½⅛·äöüßéèáàâêëúùû“”’„")])
def test_width_estimate_is_never_below_the_font_file(code):
    """Against the advance widths in the font itself, both weights."""
    character = chr(code)
    true = max(regular().advance(character), semibold().advance(character))
    assert text_width(character, 1000) >= true
    assert text_width(character, 1000) <= 1.1 * (true + 120)


def test_an_unknown_character_is_taken_as_wide():
    assert text_width("漢", 10) >= 10


def test_every_default_word_can_be_set_in_the_font():
    for word in WORDS.values():
        assert all(regular().has(character) for character in word), word


@given(st.text(st.characters(codec="latin-1", exclude_categories=["Cc"]), max_size=80), st.floats(30, 300))
def test_wrapped_lines_fit_and_lose_nothing(text, width):
    lines = wrapped(text, 12, width)
    assert all(text_width(line, 12) <= width for line in lines)
    kept = "".join(lines).replace("-", "").replace(" ", "")
    assert kept == text.replace("-", "").replace(" ", "").replace("\u00a0", "")


@given(st.text(max_size=40), st.floats(20, 200))
def test_shortened_fits(text, width):
    assert text_width(shortened(text, 12, width), 12) <= max(width, text_width("..", 12))


@given(st.floats(1e-12, 1e12))
def test_round_up_is_at_or_above_and_near(value):
    assert value * (1 - 1e-9) <= round_up(value) <= 2.5 * value * (1 + 1e-9)


@given(st.floats(-1e4, 1e4), st.floats(1e-6, 1e4), st.sampled_from([1.0, 25.4, 0.0254]))
def test_round_steps_lie_inside_and_are_few(low, width, unit):
    steps = round_steps(low, low + width, unit, 5)
    assert len(steps) <= 6
    slack = 1e-6 * width + 1e-9 * (abs(low) + width)
    assert all(low - slack <= step <= low + width + slack for step in steps)


def test_spread_never_collapses():
    for value in (0.0, 1e-12, -5.0, 1e8):
        low, high = spread(value, value)
        assert high > low


@given(st.floats(-100, 700))
def test_columns_put_each_station_in_the_middle_of_its_own(x):
    stations = (0.0, 10.0, 300.0, 600.0)
    columns = Columns(stations, 20.0, 380.0)
    assert columns.width == 90.0
    assert [columns(s) for s in stations] == [65.0, 155.0, 245.0, 335.0]
    assert 20.0 <= columns(x) <= 380.0
    assert columns(x) <= columns(x + 1)


def test_one_column():
    assert Columns((5.0,), 0.0, 10.0)(99.0) == 5.0


def test_scale():
    assert Scale(1.0, 3.0, 0.0, 10.0).per_unit == 5.0


def test_manner_refusals():
    with pytest.raises(OutOfRange, match="width"):
        manner_of("a", {"width": 100})
    with pytest.raises(OutOfRange, match="unit"):
        manner_of("a", {"unit": 0.0})
    with pytest.raises(OutOfRange, match="prefix"):
        manner_of("a", {"prefix": "7"})


def test_manner_words():
    manner = manner_of("a", {"words": {"knife": "bedknife", "gap": "{value} of gap at the {knife}"}})
    assert manner.say("knife_section") == "Bedknife: section and edge"
    assert manner.say("gap", value="2 thou") == "2\u00a0thou of gap at the bedknife"
    assert manner.unit_name(0.5) == "mm"
    plain = manner_of("a", {"length": lambda v: f"{v:g}"})
    assert (plain.figure(0.5), plain.unit_name(0.5)) == ("0.5", "")


def test_a_label_takes_the_first_free_place_or_none():
    picture = Picture(manner_of("a", {}), "t", [])
    picture.text("taken", Spot(50, 50))
    assert picture.label("new", [Spot(50, 52), Spot(50, 90)])
    assert picture.boxes[-1].top > 60
    assert not picture.label("none", [Spot(52, 50), Spot(388, 50), Spot(1, 50, "end")])
    assert not picture.label("none", [Spot(60, 20)], Box(0, 30, 390, 60))
    picture.text("  ", Spot(0, 0))
    assert len(picture.boxes) == 2
