"""Causes of ribs: the trade reference's table of pitches, the weights before measuring, and the refusals."""

import math

import numpy as np
import pytest

from sparkout.core.cut.clip import clip_land_drive
from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.ribs.machine import (
    LandDrive,
    Machine,
    OwnSpeed,
    Setting,
    Stretch,
    causes,
    counted_pitch,
    prior_weights,
)

KM_H = 1e6 / 3600
PER_MINUTE = 2 * math.pi / 60


def own(km_h: float, per_minute: float) -> Setting:
    return Setting(Measured(km_h * KM_H, 0.02 * km_h * KM_H), Measured(per_minute * PER_MINUTE, 1.0))


def pitches(machine: Machine, setting: Setting) -> dict[str, float]:
    return {cause.name: cause.pitch(setting)[0] for cause in causes(machine, setting.travel_speed.value)}


@pytest.mark.parametrize(
    ("blades", "km_h", "per_minute", "printed"),
    [
        (11, 4.5, 1500, {"clip": 4.5, "turn": 50, "opposite": 25, "small": 157, "large": 198, "bounce": 417}),
        (8, 9.0, 1400, {"clip": 13.4, "turn": 107, "opposite": 54, "large": 198, "bounce": 833}),
    ],
)
def test_trade_reference_table(blades: int, km_h: float, per_minute: float, printed: dict[str, float]) -> None:
    """Trade reference 2.6 (own working there): half of the last printed digit."""
    rollers = {"small": Measured(50.0, 0.1), "large": Measured(63.0, 0.1)}
    machine = Machine(blades, OwnSpeed(), rollers)
    found = {}
    for cause in causes(machine, 1000.0):
        key = next((name for name in rollers if name in cause.name), cause.kind)
        found[key] = cause.pitch(own(km_h, per_minute))[0]
    for key, pitch in printed.items():
        assert found[key] == pytest.approx(pitch, abs=0.051 if pitch != int(pitch) else 0.51), key


def test_belt_marks_once_in_its_own_turn() -> None:
    """Brute force: a 900 mm belt on a 60 mm pulley of the reel; run ten belt turns, count reel turns and ground."""
    turns = math.pi * 60.0 / 900.0
    machine = Machine(11, OwnSpeed(), belts={"reel belt": Measured(turns, 0.01 * turns)}, bounce=None)
    setting = own(4.5, 1500)
    reel_turns = 10 * 900.0 / (math.pi * 60.0)
    ground = setting.travel_speed.value * reel_turns / 25.0
    belt = next(cause for cause in causes(machine, 1000.0) if cause.kind == "belt")
    assert belt.pitch(setting)[0] == pytest.approx(ground / 10)
    assert "reel belt" in belt.name


def test_land_drive_pitches_do_not_know_the_travel() -> None:
    drive = LandDrive(Measured(187.0, 0.5), 6.5, Measured(0.04, 0.01))
    slow, fast = (pitches(Machine(9, drive), Setting(Measured(v, 10.0))) for v in (800.0, 2000.0))
    clip = clip_land_drive(187.0, 6.5, 9, 0.04)
    (clip_name, *_) = slow
    assert slow[clip_name] == pytest.approx(clip)
    assert fast[clip_name] == pytest.approx(clip)
    bounce = next(name for name in slow if "bounces" in name)
    assert fast[bounce] == pytest.approx(2.5 * slow[bounce])


def test_interval_covers_as_often_as_it_says() -> None:
    """Brute force: draw what is uncertain, reckon the pitch, count; 95 % within four standard errors of the count."""
    rng = np.random.default_rng(4)
    machine = Machine(11, LandDrive(Measured(187.0, 2.0), 6.5, Measured(0.04, 0.01)))
    setting = Setting(Measured(1250.0, 50.0))
    turn = next(cause for cause in causes(machine, 1250.0) if cause.kind == "turn")
    drawn = math.pi * rng.normal(187.0, 2.0, 40_000) * (1 + rng.normal(0.04, 0.01, 40_000)) / 6.5
    _, low, high = turn.pitch(setting)
    inside = float(((drawn > low) & (drawn < high)).mean())
    assert inside == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / 40_000) + 0.001)


def test_three_blades_have_no_opposite() -> None:
    kinds = [cause.kind for cause in causes(Machine(3, OwnSpeed()), 1000.0)]
    assert "opposite" not in kinds
    assert kinds[-2:] == ["unlisted rolling", "unlisted shaking"]


def test_pitch_counted_over_a_length() -> None:
    pitch = counted_pitch(20, Measured(1000.0, 5.0), miscount=0.2)
    assert pitch.value == 50.0
    assert pitch.u == pytest.approx(50.0 * math.hypot(0.005, 0.01))


def test_weights_are_shared_within_a_kind_and_sum_to_one() -> None:
    machine = Machine(11, OwnSpeed(), {"front": Measured(63.0, 1.0), "rear": Measured(50.0, 1.0)})
    found = causes(machine, 1000.0)
    even = dict(zip([cause.name for cause in found], prior_weights(found), strict=True))
    assert math.fsum(even.values()) == pytest.approx(1.0)
    own_weights = prior_weights(found, {"turn": 2.0, "roller": 1.0})
    by_kind: dict[str, list[float]] = {}
    for cause, weight in zip(found, own_weights, strict=True):
        by_kind.setdefault(cause.kind, []).append(weight)
    assert by_kind["turn"] == pytest.approx([0.6])
    assert by_kind["roller"] == pytest.approx([0.15, 0.15])
    assert by_kind["clip"] == [0.0]
    assert math.fsum(own_weights) == pytest.approx(1.0)
    with pytest.raises(Contradiction, match="given any weight"):
        prior_weights(found, {"belt": 1.0})
    with pytest.raises(OutOfRange, match="weight of clip"):
        prior_weights(found, {"clip": -1.0})


def test_reel_speed_is_asked_for_where_the_reel_keeps_its_own() -> None:
    (clip, *_) = causes(Machine(11, OwnSpeed()), 1000.0)
    with pytest.raises(NotEnough, match="the reel's speed on that stretch"):
        clip.log_pitch(Setting(Measured(1250.0, 10.0)))


GOOD = Measured(1250.0, 10.0)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: Machine(0, OwnSpeed()), "blade_count"),
        (lambda: Machine(11, OwnSpeed(), {"front": Measured(0.0, 1.0)}), "diameter of front"),
        (lambda: Machine(11, OwnSpeed(), {"front": Measured(60.0, 50.0)}), "uncertainty of diameter of front"),
        (lambda: Machine(11, OwnSpeed(), belts={"a": Measured(-1.0, 0.0)}), "turns of a"),
        (lambda: Machine(11, OwnSpeed(), bounce=Measured(1e3, 1.0)), "bounce"),
        (lambda: LandDrive(Measured(0.0, 1.0), 6.0), "diameter"),
        (lambda: LandDrive(Measured(190.0, 1.0), 0.0), "reel_turns_per_roller_turn"),
        (lambda: LandDrive(Measured(190.0, 1.0), 6.0, Measured(2.0, 0.1)), "slip"),
        (lambda: Setting(Measured(0.0, 1.0)), "travel_speed"),
        (lambda: Setting(GOOD, Measured(2e3, 1.0)), "reel_speed"),
        (lambda: Stretch(Measured(0.1, 0.01), Setting(GOOD)), "pitch"),
        (lambda: Stretch(Measured(10.0, 9.0), Setting(GOOD)), "uncertainty of pitch"),
        (lambda: counted_pitch(0, GOOD), "ribs"),
        (lambda: counted_pitch(10, Measured(0.0, 1.0)), "over"),
        (lambda: counted_pitch(1, GOOD, miscount=0.7), "miscount"),
        (lambda: causes(Machine(11, OwnSpeed()), 0.0), "reference_travel"),
    ],
)
def test_refusals_name_the_argument(call, named: str) -> None:
    with pytest.raises(OutOfRange, match=rf"^{named}"):
        call()
