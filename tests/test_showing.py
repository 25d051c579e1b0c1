"""Numbers to text: digits from the uncertainty, both unit systems, both vocabularies."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped
from sparkout.showing import Showing
from sparkout.units import split, to_core

MM, INCH = Showing("mm", "uk"), Showing("inch", "us")


@pytest.mark.parametrize(
    ("value", "mm", "inch"),
    [
        (127.0, "127.00 mm", "5.0000 in"),
        (0.0508, "0.051 mm", "2.0 thou"),
        (-0.3, "−0.300 mm", "−11.8 thou"),
        (0.0, "0.000 mm", "0.0 thou"),
        (-1e-9, "0.000 mm", "0.0 thou"),
        (4.0, "4.000 mm", "0.1575 in"),
    ],
)
def test_lengths(value: float, mm: str, inch: str) -> None:
    assert MM.length(value) == mm
    assert INCH.length(value) == inch


def test_digits_come_from_the_uncertainty() -> None:
    assert MM.measured(Measured(127.0312, 0.11)) == "127.03 ± 0.22 mm"
    assert MM.measured(Measured(127.0312, 1.1)) == "127.0 ± 2.2 mm"
    assert INCH.measured(Measured(0.3127, 0.0312)) == "12.3 ± 2.4 thou"
    assert MM.measured(Measured(0.2, 0.0)) == "0.200 mm"


def test_finite_degrees_of_freedom_widen() -> None:
    assert MM.measured(Measured(1.0, 0.1, 4)) == "1.00 ± 0.28 mm"


def test_interval() -> None:
    assert MM.interval(0.012, 0.353) == "0.01 to 0.35 mm"


def test_angles_temperatures_shares_and_times() -> None:
    assert MM.quantity(to_core(30, "angle", "deg"), "angle") == "30.0°"
    assert MM.quantity(293.15, "temperature") == "20.0 °C"
    assert INCH.quantity(293.15, "temperature") == "68.0 °F"
    assert MM.share(0.125, 1) == "12.5 %"
    assert [MM.probability(p) for p in (0.0, 1e-5, 0.015, 0.5, 0.985, 0.99999, 1.0)] == [
        "under 0.1 %", "under 0.1 %", "1.5 %", "50 %", "98.5 %", "over 99.9 %", "over 99.9 %",
    ]  # fmt: skip
    assert [MM.duration(s) for s in (12, 100, 5400, 5700)] == ["12 s", "2 min", "1 h 30 min", "1 h 35 min"]


def test_what_somebody_typed_with_a_comma_is_not_taken_apart() -> None:
    assert INCH.say("it now reads 126,4 mm") == "it now reads 126,4 mm"
    assert INCH.say("moves at 3,5 mm/s") == "moves at 3,5 mm/s"


def test_decimal_comma() -> None:
    comma = Showing("mm", "uk", ",")
    assert comma.length(0.05) == "0,050 mm"
    assert comma.say("gap 0.05 mm") == "gap 0,05 mm"
    assert comma.say("give 0.7 (practice); 29 CFR 1910.215(b)(3)") == "give 0,7 (practice); 29 CFR 1910.215(b)(3)"
    assert comma.say("29 CFR 1910.215. The give is 0.7.") == "29 CFR 1910.215. The give is 0,7."


@pytest.mark.parametrize(
    ("text", "uk", "us"),
    [
        ("Reel and bedknife", "Cylinder and bottom blade", "Reel and bedknife"),
        ("bedknives, reels", "bottom blades, cylinders", "bedknives, reels"),
        ("at the centre", "at the centre", "at the center"),
        ("at the center", "at the centre", "at the center"),
        ("unreeled", "unreeled", "unreeled"),
        ("if the edge shows colour", "if the edge shows colour", "if the edge shows color"),
        ("behind-centre distance", "behind-centre distance", "behind-center distance"),
    ],
)
def test_vocabularies(text: str, uk: str, us: str) -> None:
    assert MM.say(text) == uk
    assert INCH.say(text) == us


def test_lengths_standing_in_a_text_are_told_in_inches() -> None:
    assert INCH.say("take 0.23 mm to 0.25 mm off") == "take 9.1 thou to 9.8 thou off"
    assert INCH.say("0.31 ± 0.06 mm") == "12.2 ± 2.4 thou"
    assert INCH.say("12.5 mm³/s and 40 J/mm³ stay") == "12.5 mm³/s and 40 J/mm³ stay"
    assert INCH.say("traverse speed 40 mm/s") == "traverse speed 1.6 in/s"
    assert MM.say("traverse speed 40 mm/s") == "traverse speed 40 mm/s"


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("37 mm", "1.46 in"),
        ("1.5 mm", "59 thou"),
        ("0.1 mm", "4 thou"),
        ("0.03 mm", "1.2 thou"),
        ("12.70 mm", "0.5000 in"),
    ],
)
def test_a_length_in_a_text_is_told_as_finely_as_it_was_written(written: str, told: str) -> None:
    assert INCH.say(written) == told


def test_places_along_the_reel_are_told_to_a_tenth_of_an_inch() -> None:
    assert INCH.say("rest gap 736.6 mm from the left") == "rest gap 29.0 in from the left"
    assert MM.say("rest gap 736.6 mm from the left") == "rest gap 736.6 mm from the left"


def test_next_to_nothing_is_told_as_under_a_step() -> None:
    assert MM.residue(4e-8) == MM.residue(0.0) == "under 0.001 mm"
    assert MM.residue(0.012) == "0.012 mm"
    assert INCH.residue(0.001) == "under 0.1 thou"
    assert INCH.residue(0.0508) == "2.0 thou"


def test_what_the_user_typed_stands_as_typed() -> None:
    own = Showing("inch", "uk", ",", kept=("(reel dial, 1 mm)", "(reel)"))
    assert own.say("reel 25.4 mm (reel dial, 1 mm)") == "cylinder 1,000 in (reel dial, 1 mm)"
    assert own.say(AsTyped("reel, 0.05 mm")) == "reel, 0.05 mm"


@given(st.floats(-500, 500))
def test_what_is_shown_reads_back(value: float) -> None:
    for showing in (MM, INCH):
        number, unit = split(showing.length(value))
        assert to_core(number, "length", unit) == pytest.approx(value, abs=0.0051)


def test_a_knife_alone_is_a_bedknife_in_us_words() -> None:
    assert INCH.say("under the resting knife; Knife up; knives") == "under the resting bedknife; Bedknife up; bedknives"
    assert MM.say("under the resting knife") == "under the resting bottom blade"
    assert INCH.say("bedknife") == "bedknife"
