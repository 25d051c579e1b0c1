"""Tape, jaws and tip-to-tip: against a drawn reel (independent brute force), limits, refusals, the way back."""

import math
import os
import subprocess
import sys

import numpy as np
import pytest
from tests.core.gauges import drawn_reel
from tests.published.evidence import compared

from sparkout.core.errors import OutOfRange
from sparkout.core.gauges.chord import chord_land_effect, chord_reading, diameter_from_chord
from sparkout.core.gauges.jaws import diameter_from_jaws, jaws_land_effect, jaws_reading
from sparkout.core.gauges.solve import Shown, radius_showing
from sparkout.core.gauges.tape import diameter_from_tape, tape_land_effect, tape_reading

GAUGES = {
    "tape": (tape_reading, diameter_from_tape, tape_land_effect),
    "jaws": (jaws_reading, diameter_from_jaws, jaws_land_effect),
    "chord": (chord_reading, diameter_from_chord, chord_land_effect),
}
REELS = [
    (diameter, count, land)
    for diameter, land in ((127.0, 1.0), (127.0, 0.0), (203.2, 3.5), (60.0, 0.2), (254.0, 6.0))
    for count in (3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15)
]


@pytest.mark.parametrize(("diameter", "count", "land"), REELS)
def test_against_a_drawn_reel(diameter: float, count: int, land: float) -> None:
    """Brute force. Arcs drawn with 59 chords fall short of themselves by 1 part in 24 (w/59R)^-2: below 1e-6 here."""
    drawn = drawn_reel.points(diameter, count, land)
    found = {
        "circumference tape": (tape_reading, drawn_reel.tape(drawn)),
        "flat jaws": (jaws_reading, drawn_reel.rocked(drawn, smallest=count % 2 == 1)),
        "tip to tip": (chord_reading, drawn_reel.farthest(drawn)),
    }
    for gauge, (shown, reference) in found.items():
        compared(
            "Gauges on reels drawn as polygons",
            f"{gauge}, {'odd' if count % 2 else 'even'} reels, mm",
            reference=reference,
            obtained=shown(diameter, count, land),
            tolerance=1e-6 * reference,
        )


@pytest.mark.parametrize("share", [0.4, 0.5, 0.75, 0.999])
@pytest.mark.parametrize("count", [3, 5, 11])
def test_wide_lands_against_a_drawn_reel(count: int, share: float) -> None:
    """Lands of a given share of the circle: from half of it on two lands stand opposite, and tip to tip is 2R."""
    land = share * math.pi * 127.0 / count
    drawn = drawn_reel.points(127.0, count, land, per_land=400)
    assert tape_reading(127.0, count, land) == pytest.approx(drawn_reel.tape(drawn), rel=1e-5)
    assert jaws_reading(127.0, count, land) == pytest.approx(drawn_reel.rocked(drawn, smallest=True), rel=1e-5)
    assert chord_reading(127.0, count, land) == pytest.approx(drawn_reel.farthest(drawn), rel=1e-5)


def test_two_blades() -> None:
    """A pair of opposite blades: the tape lies on two lands and two straights, everything else reads 2R."""
    half = 1.0 / 127.0
    assert tape_reading(127.0, 2, 1.0) == pytest.approx((2 * 1.0 + 2 * 127.0 * math.cos(half)) / math.pi, rel=1e-14)
    assert jaws_reading(127.0, 2, 1.0) == chord_reading(127.0, 2, 1.0) == 127.0


def test_figures_of_our_own_trade_model_page() -> None:
    """N = 11, R = 63.5, w = 1: our own page's numbers, so no proof; the drawn reel above is."""
    assert round(jaws_reading(127.0, 11, 1.0), 3) == 124.567
    assert round(chord_reading(127.0, 11, 1.0), 3) == 125.846
    assert round(tape_reading(127.0, 11, 1.0), 4) == 125.4185


@pytest.mark.parametrize("gauge", GAUGES)
@pytest.mark.parametrize(("diameter", "count", "land"), REELS)
def test_there_and_back(gauge: str, diameter: float, count: int, land: float) -> None:
    shown, back, _ = GAUGES[gauge]
    assert back(shown(diameter, count, land), count, land) == pytest.approx(diameter, rel=1e-13)


@pytest.mark.parametrize("gauge", GAUGES)
@pytest.mark.parametrize(("diameter", "count", "land"), REELS)
def test_land_effect_is_the_change_of_the_way_back(gauge: str, diameter: float, count: int, land: float) -> None:
    shown, back, effect = GAUGES[gauge]
    reading, land = shown(diameter, count, max(land, 0.1)), max(land, 0.1)
    change = (back(reading, count, land + 1e-3) - back(reading, count, land - 1e-3)) / 2e-3
    assert effect(diameter, count, land) == pytest.approx(change, abs=1e-6)


@pytest.mark.parametrize("gauge", GAUGES)
def test_lands_that_meet_make_a_round_bar(gauge: str) -> None:
    shown, back, _ = GAUGES[gauge]
    land = math.pi * 127.0 / 11
    assert shown(127.0, 11, land) == pytest.approx(127.0, rel=1e-12)
    assert back(127.0, 11, math.pi * 127.0 / 11) == pytest.approx(127.0, rel=1e-12)


@pytest.mark.parametrize("direction", [0, 1])
@pytest.mark.parametrize("gauge", GAUGES)
@pytest.mark.parametrize(
    ("size", "count", "land", "says"),
    [
        (127_000.0, 11, 1.0, "allowed: 10 to 2000 mm"),
        (0.127, 11, 1.0, "allowed: 10 to 2000 mm"),
        (float("nan"), 11, 1.0, "allowed: 10 to 2000 mm"),
        (127.0, 0, 1.0, "blade_count is 0; allowed: 2 to 40"),
        (127.0, 11.5, 1.0, "blade_count is 11.5; allowed: a whole number, 2 to 40"),
        (127.0, 11, -0.1, "land is -0.1 mm; allowed: 0 to 36"),
        (127.0, 11, 40.0, "land is 40 mm; allowed: 0 to 36"),
        (127.0, 11, float("inf"), "land is inf mm"),
    ],
)
def test_refusals(gauge: str, direction: int, size: float, count: int, land: float, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        GAUGES[gauge][direction](size, count, land)


def test_way_back_survives_a_misleading_slope() -> None:
    """A slope ten times too small throws Newton's rule out of bounds at every step; halving still finds the root."""
    assert radius_showing(127.0, lambda r: Shown(2.0 * r - 5.0, 0.2, 0.0)) == pytest.approx(66.0, rel=1e-12)


def test_way_back_says_nothing_false_when_it_cannot_settle() -> None:
    """A gauge that jumps past the reading: the place of the jump is returned."""
    found = radius_showing(127.0, lambda r: Shown(100.0 if r < 70.0 else 130.0, 1.0, 0.0))
    assert found == pytest.approx(70.0, rel=1e-9)


def test_way_back_that_only_creeps_is_refused() -> None:
    with pytest.raises(OutOfRange, match="reading is 127 mm"):
        radius_showing(127.0, lambda r: Shown(2.0 * r - 5.0, 1e6, 0.0))


def test_no_array_library_is_needed() -> None:
    """Start-up time: the modules must not import numpy."""
    code = (
        "import sys; import sparkout.core.gauges.tape, sparkout.core.gauges.jaws, sparkout.core.gauges.chord;"
        "assert 'numpy' not in sys.modules"
    )
    subprocess.run(
        [sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    )


def test_tape_thickness_adds_pi_times_itself() -> None:
    """Steiner's formula, which the docstring leans on: the hull drawn outward by t/2 is longer by pi t. Brute force."""
    drawn = drawn_reel.points(127.0, 11, 1.0)
    ring = 0.5 * 0.3 * np.column_stack([f(np.linspace(0, 2 * np.pi, 2001)[:-1]) for f in (np.cos, np.sin)])
    grown = (drawn[:, None, :] + ring[None, :, :]).reshape(-1, 2)
    assert drawn_reel.tape(grown) - drawn_reel.tape(drawn) == pytest.approx(0.3, rel=1e-4)
