"""Clip: worked rows of the trade reference (own working there), a second field's form, and the refusals."""

import math
import subprocess
import sys

import pytest

from sparkout.core.cut.clip import (
    blades_in_contact,
    clip,
    clip_land_drive,
    cuts_per_length,
    reel_speed_for_clip,
    whole_blades,
)
from sparkout.core.errors import OutOfRange

PER_MINUTE = 2 * math.pi / 60
KM_H = 1e6 / 3600


@pytest.mark.parametrize(
    ("km_h", "mm", "per_metre"),
    [(3.5, 3.54, 283), (4.0, 4.04, 247), (4.5, 4.55, 220), (5.0, 5.05, 198), (5.5, 5.56, 180)],
)
def test_greens_mower_of_11_blades_at_1500_per_minute(km_h: float, mm: float, per_metre: float) -> None:
    travelled = clip(km_h * KM_H, 11, 1500 * PER_MINUTE)
    assert travelled == pytest.approx(mm, abs=0.005 + 1e-9)
    assert 1000 * cuts_per_length(travelled) == pytest.approx(per_metre, abs=0.5)


@pytest.mark.parametrize(
    ("height", "km_h", "blades", "per_minute"),
    [
        (4, 4.0, 10, 1667),
        (4, 4.5, 11, 1705),
        (3.175, 4.8, 11, 2291),
        (9, 6.0, 8, 1389),
        (12, 9.0, 8, 1563),
        (15, 4.5, 6, 833),
    ],
)
def test_reel_speed_that_clip_equal_to_height_would_demand(
    height: float, km_h: float, blades: int, per_minute: float
) -> None:
    assert reel_speed_for_clip(km_h * KM_H, blades, height) / PER_MINUTE == pytest.approx(per_minute, abs=0.51)


def test_same_form_as_marks_per_inch_of_a_wood_planer() -> None:
    """Marks per inch = rpm x knives / (12 x feed in ft/min): the same sum from the timber trade, in its own units."""
    rpm, knives, feet_per_minute = 3600, 4, 40
    marks_per_inch = rpm * knives / (12 * feet_per_minute)
    ours = clip(feet_per_minute * 304.8 / 60, knives, rpm * PER_MINUTE)
    assert 25.4 * cuts_per_length(ours) == pytest.approx(marks_per_inch, rel=1e-12)


def test_land_drive_agrees_with_counting_turns() -> None:
    """Brute force: let the roller turn once, count the blades, divide the ground covered."""
    diameter, ratio, blades, skid = 180.0, 9.25, 9, 0.03
    ground = math.pi * diameter * (1 + skid)
    assert clip_land_drive(diameter, ratio, blades, skid) == pytest.approx(ground / (ratio * blades), rel=1e-14)
    v, roller_speed = 1400.0, 1400.0 / (math.pi * diameter * (1 + skid)) * 2 * math.pi
    assert clip(v, blades, ratio * roller_speed) == pytest.approx(clip_land_drive(diameter, ratio, blades, skid))


@pytest.mark.parametrize(
    ("blades", "degrees", "contacts"),
    [(11, 15, 3.9), (11, 20, 5.3), (11, 25, 6.9), (5, 15, 1.8), (5, 20, 2.4), (5, 25, 3.1)],
)
def test_blades_in_contact(blades: int, degrees: float, contacts: float) -> None:
    for hand in (-1, 1):
        found = blades_in_contact(blades, 533.0, hand * math.radians(degrees), 127.0)
        assert found == pytest.approx(contacts, abs=0.051)


def test_blades_in_contact_agrees_with_counting_blades_over_the_knife_in_one_turn() -> None:
    """Brute force: at each of many reel angles, count the blades whose helix crosses the knife's line."""
    blades, length, helix, diameter = 7, 400.0, math.radians(22.0), 150.0
    wrap = length * math.tan(helix) / (diameter / 2)
    turns = 20_000
    crossings = 0
    for i in range(turns):
        for b in range(blades):
            lead = (2 * math.pi * (i / turns + b / blades)) % (2 * math.pi)
            crossings += lead < wrap
    assert blades_in_contact(blades, length, helix, diameter) == pytest.approx(crossings / turns, abs=1e-3)


def test_inverse() -> None:
    assert clip(1250.0, 11, reel_speed_for_clip(1250.0, 11, 4.2)) == pytest.approx(4.2, rel=1e-14)


@pytest.mark.parametrize("blades", [0, -3, 41, 10.5, math.nan, math.inf])
def test_blade_count_refused(blades: float) -> None:
    with pytest.raises(OutOfRange, match="blade_count"):
        whole_blades(blades)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: clip(0.0, 11, 100.0), "travel_speed"),
        (lambda: clip(1000.0, 11, -1.0), "reel_speed"),
        (lambda: cuts_per_length(0.0), "clip"),
        (lambda: clip_land_drive(-1.0, 8.0, 11), "roller_diameter"),
        (lambda: clip_land_drive(200.0, 0.0, 11), "reel_turns_per_roller_turn"),
        (lambda: clip_land_drive(200.0, 8.0, 11, 3.0), "slip"),
        (lambda: reel_speed_for_clip(1e6, 11, 4.0), "travel_speed"),
        (lambda: reel_speed_for_clip(1e3, 11, math.nan), "clip"),
        (lambda: blades_in_contact(11, 0.0, 0.3, 127.0), "reel_length"),
        (lambda: blades_in_contact(11, 533.0, 1.5, 127.0), "helix_angle"),
        (lambda: blades_in_contact(11, 533.0, 0.3, 127_000.0), "reel_diameter"),
    ],
)
def test_refusals_name_the_argument(call, named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        call()


@pytest.mark.parametrize(
    "module",
    [
        "cut.clip",
        "cut.trochoid",
        "cut.stubble",
        "setting.pivot",
        "cut.drive",
        "cut.band",
        "cut.growth",
        "ribs.bounce",
        "ribs.depth",
    ],
)
def test_quick_sums_import_neither_numpy_nor_dataclasses(module: str) -> None:
    asks = (
        f"import sys, sparkout.core.{module}; print([m for m in ('numpy', 'scipy', 'dataclasses') if m in sys.modules])"
    )
    answer = subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"


def test_heat_with_its_uncertainty_imports_no_numpy() -> None:
    asks = "import sys, sparkout.core.setting.heat; print([m for m in ('numpy', 'scipy') if m in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"
