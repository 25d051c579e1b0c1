"""Drives: each sum against counting it out, each inverse against its sum, and the refusals."""

import math

import pytest

from sparkout.core.cut import drive
from sparkout.core.cut.clip import clip, clip_land_drive
from sparkout.core.errors import Contradiction, OutOfRange

PER_MINUTE = 2 * math.pi / 60


def test_tip_speed_is_the_way_of_one_turn_over_its_time() -> None:
    assert drive.tip_speed(50 * 2 * math.pi, 127.0) == pytest.approx(50 * math.pi * 127.0, rel=1e-14)


def test_tip_speed_of_the_trade_reference() -> None:
    """11.3 m/s stands beside the nip speeds of the trade reference: 63.5 mm radius at 1700 turns a minute."""
    assert drive.tip_speed(1700 * PER_MINUTE, 127.0) == pytest.approx(11_300, abs=50)


def test_belt_by_letting_the_belt_run() -> None:
    """Brute force: a length of belt passes both pulleys; the driven one gets what slip leaves."""
    run = 123_456.0
    driving_turns, driven_turns = run / (math.pi * 62.0), run * (1 - 0.03) / (math.pi * 118.0)
    speed = drive.reel_speed_belt(300.0, 62.0, 118.0, slip=0.03, further_ratio=1.5)
    assert speed == pytest.approx(300.0 * driven_turns / driving_turns / 1.5, rel=1e-14)
    assert drive.driving_pulley_for_reel_speed(300.0, 118.0, speed, slip=0.03, further_ratio=1.5) == pytest.approx(62.0)


def test_hydraulic_by_counting_litres() -> None:
    """Brute force: in one minute 16 litres come, 8 % leak past, every 12 cm³ left is one turn."""
    turns_a_minute = 16_000.0 * 0.92 / 12.0
    speed = drive.reel_speed_hydraulic(16e6 / 60, 12e3, 0.92)
    assert speed == pytest.approx(turns_a_minute * PER_MINUTE, rel=1e-14)
    assert drive.flow_for_reel_speed(speed, 12e3, 0.92) == pytest.approx(16e6 / 60, rel=1e-14)
    assert drive.volumetric_efficiency(16e6 / 60, 12e3, speed) == pytest.approx(0.92, rel=1e-14)


def test_a_motor_faster_than_its_flow_is_a_contradiction() -> None:
    assert drive.volumetric_efficiency(16e6 / 60, 12e3, 1.01 * 16e6 / 60 / 12e3 * 2 * math.pi) == pytest.approx(1.01)
    with pytest.raises(Contradiction, match=r"flow and displacement and reel_speed.*1\.25 times"):
        drive.volumetric_efficiency(16e6 / 60, 12e3, 1.25 * 16e6 / 60 / 12e3 * 2 * math.pi)


def test_electric_line_goes_through_both_its_ends() -> None:
    assert drive.reel_speed_electric(200.0, 5000.0, 0.0) == 200.0
    assert drive.reel_speed_electric(200.0, 5000.0, 2500.0) == pytest.approx(100.0)
    geared = drive.reel_speed_electric(200.0, 5000.0, 5000.0, motor_turns_per_reel_turn=2.0)
    assert geared == pytest.approx(50.0), "half the motor's stall torque at half its speed"
    with pytest.raises(OutOfRange, match="reel_torque"):
        drive.reel_speed_electric(200.0, 5000.0, 5000.0)


def test_land_drive_agrees_with_its_clip_whatever_the_travel() -> None:
    for travel in (500.0, 1250.0, 3000.0):
        speed = drive.reel_speed_land_drive(travel, 187.0, 6.5, 0.04)
        assert clip(travel, 9, speed) == pytest.approx(clip_land_drive(187.0, 6.5, 9, 0.04), rel=1e-14)
    ratio = drive.ratio_for_clip(187.0, 9, 5.0, 0.04)
    assert clip_land_drive(187.0, ratio, 9, 0.04) == pytest.approx(5.0, rel=1e-14)


def test_slip_counted_out() -> None:
    """20 m covered in 30 turns of a 200 mm roller: it rolled 18.85 m and skidded the rest."""
    assert drive.slip_from_turns(20_000.0, 30.0, 200.0) == pytest.approx(20_000 / (30 * math.pi * 200) - 1, rel=1e-14)
    assert drive.slip_from_turns(20_000.0, 35.0, 200.0) < 0.0, "more turns than ground: it spins"
    with pytest.raises(Contradiction, match="slip of 218 %; allowed: -50 to 100 %"):
        drive.slip_from_turns(20_000.0, 10.0, 200.0)


def test_worn_roller_changes_the_clip_by_its_own_share() -> None:
    change = drive.clip_change_from_roller_wear(200.0, 196.0)
    assert change == pytest.approx(-0.02)
    assert clip_land_drive(196.0, 6.0, 10) == pytest.approx((1 + change) * clip_land_drive(200.0, 6.0, 10), rel=1e-14)


def test_travel_speed_is_the_inverse_of_clip() -> None:
    assert clip(drive.travel_speed_for_clip(160.0, 11, 4.4), 11, 160.0) == pytest.approx(4.4, rel=1e-14)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: drive.tip_speed(0.0, 127.0), "reel_speed"),
        (lambda: drive.tip_speed(100.0, 10.0), "reel_diameter"),
        (lambda: drive.travel_speed_for_clip(100.0, 11, 0.0), "clip"),
        (lambda: drive.reel_speed_belt(0.0, 60.0, 110.0), "engine_speed"),
        (lambda: drive.reel_speed_belt(300.0, 0.0, 110.0), "driving_pulley"),
        (lambda: drive.reel_speed_belt(300.0, 60.0, -1.0), "driven_pulley"),
        (lambda: drive.reel_speed_belt(300.0, 60.0, 110.0, slip=0.6), "slip"),
        (lambda: drive.reel_speed_belt(300.0, 60.0, 110.0, further_ratio=0.0), "further_ratio"),
        (lambda: drive.driving_pulley_for_reel_speed(300.0, 110.0, 0.0), "reel_speed"),
        (lambda: drive.reel_speed_hydraulic(0.0, 1e4, 0.9), "flow"),
        (lambda: drive.reel_speed_hydraulic(1e5, 0.0, 0.9), "displacement"),
        (lambda: drive.reel_speed_hydraulic(1e5, 1e4, 1.01), "volumetric_efficiency"),
        (lambda: drive.flow_for_reel_speed(1e5, 1e4, 0.9), "reel_speed"),
        (lambda: drive.reel_speed_electric(0.0, 1e3, 0.0), "no_load_speed"),
        (lambda: drive.reel_speed_electric(100.0, 0.0, 0.0), "stall_torque"),
        (lambda: drive.reel_speed_electric(100.0, 1e3, -1.0), "reel_torque"),
        (lambda: drive.reel_speed_land_drive(0.0, 190.0, 6.0), "travel_speed"),
        (lambda: drive.reel_speed_land_drive(1e3, 190.0, 6.0, 2.0), "slip"),
        (lambda: drive.ratio_for_clip(0.0, 10, 5.0), "roller_diameter"),
        (lambda: drive.slip_from_turns(0.0, 10.0, 190.0), "distance"),
        (lambda: drive.slip_from_turns(1e4, 0.0, 190.0), "turns"),
        (lambda: drive.clip_change_from_roller_wear(0.0, 190.0), "new_diameter"),
        (lambda: drive.clip_change_from_roller_wear(190.0, math.nan), "worn_diameter"),
    ],
)
def test_refusals_name_the_argument(call, named: str) -> None:
    with pytest.raises(OutOfRange, match=rf"^{named}"):
        call()
