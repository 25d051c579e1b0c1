"""What must hold for all inputs of drives, growth and ribs."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sparkout.core.cut.clip import clip, clip_land_drive
from sparkout.core.cut.drive import ratio_for_clip, reel_speed_land_drive, slip_from_turns, travel_speed_for_clip
from sparkout.core.cut.growth import DAY, TooMuchAtOnce, cuts_to_lower, mowing_plan
from sparkout.core.cut.stubble import stubble
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.ribs.finder import find_ribs, next_stretch, settings_within
from sparkout.core.ribs.machine import Machine, OwnSpeed, Setting, Stretch
from sparkout.core.ribs.stubble_map import LeafGap, Mowing, knife_over, stubble_map

BLADES = st.integers(1, 40)
TRAVEL = st.floats(100.0, 10_000.0)
TURNING = st.floats(10.0, 600.0)


@given(TRAVEL, BLADES, TURNING)
def test_travel_for_the_clip_of_a_travel_is_that_travel(v: float, n: int, w: float) -> None:
    assert math.isclose(travel_speed_for_clip(w, n, clip(v, n, w)), v, rel_tol=1e-12)


@given(st.floats(50.0, 1500.0), st.floats(1.0, 100.0), BLADES, st.floats(-0.4, 0.9), TRAVEL)
def test_land_drive_sums_agree(d: float, i: float, n: int, s: float, v: float) -> None:
    travelled = clip_land_drive(d, i, n, s)
    assert math.isclose(ratio_for_clip(d, n, travelled, s), i, rel_tol=1e-12)
    turning = reel_speed_land_drive(v, d, i, s)
    assume(turning <= 1200.0)
    assert math.isclose(clip(v, n, turning), travelled, rel_tol=1e-12)
    turns = 50_000.0 / (math.pi * d * (1.0 + s))
    assert math.isclose(slip_from_turns(50_000.0, turns, d), s, abs_tol=1e-12)


@given(st.floats(0.05, 5.0), st.floats(1.0, 100.0), st.floats(0.1, 30.0))
def test_a_plan_keeps_the_rule_or_names_two_that_only_just_do(growth: float, height: float, days: float) -> None:
    rate = growth / DAY
    if growth * days <= 0.5 * height:
        assert mowing_plan(rate, height=height, interval=days * DAY).share <= 1 / 3 + 1e-9
        return
    with pytest.raises(TooMuchAtOnce) as refused:
        mowing_plan(rate, height=height, interval=days * DAY * (1 + 1e-6))
    for nearest in refused.value.nearest:
        allowed = mowing_plan(rate, height=nearest.height, interval=nearest.interval)
        assert math.isclose(allowed.share, 1 / 3, rel_tol=1e-9)
    assert refused.value.nearest[0].height == height


@given(st.floats(1.0, 500.0), st.floats(0.01, 1.0), st.floats(0.0, 2.0), st.floats(0.1, 10.0))
def test_lowering_ends_at_the_height_and_never_takes_more_than_a_third(
    standing: float, share: float, growth: float, days: float
) -> None:
    height = standing * share
    try:
        cuts = cuts_to_lower(standing, height, growth / DAY, days * DAY)
    except TooMuchAtOnce:
        return
    assert cuts[-1] == height
    before = standing
    for cut in cuts:
        assert cut >= before * 2 / 3 * (1 - 2e-4)
        before = cut + growth * days


@settings(deadline=None, max_examples=60)
@given(st.floats(1.0, 5_000.0), st.floats(0.002, 0.3), TRAVEL, TURNING, st.integers(2, 20), st.floats(0.2, 5.0))
def test_chances_sum_to_one_and_another_stretch_never_tells_less(
    pitch: float, share: float, v: float, w: float, n: int, factor: float
) -> None:
    machine = Machine(n, OwnSpeed(), {"front roller": Measured(63.0, 0.5)}, {"belt": Measured(0.3, 0.01)})
    setting = Setting(Measured(v, 0.02 * v), Measured(w, 0.02 * w))
    finding = find_ribs(machine, [Stretch(Measured(pitch, share * pitch), setting)])
    assert math.isclose(math.fsum(each.chance for each in finding.weighed), 1.0, rel_tol=1e-9)
    chances = [each.chance for each in finding.weighed]
    assert chances == sorted(chances, reverse=True)
    ends = (min(v, factor * v), max(v, factor * v))
    assume(ends[0] < ends[1] <= 20_000.0)
    for advice in next_stretch(finding, settings_within(finding, ends)):
        assert advice.before <= advice.tells_apart <= 1.0
        assert 0.0 <= advice.information <= math.log2(len(chances)) + 1e-9


@settings(deadline=None, max_examples=40)
@given(
    st.integers(2, 15), st.floats(-0.6, 0.6), st.floats(1.0, 20.0), st.floats(2.0, 20.0), st.integers(0, 10_000),
    st.floats(0.0, 0.2),
)  # fmt: skip
def test_no_leaf_is_left_shorter_than_the_height_or_longer_than_it_stood(
    n: int, helix: float, wanted: float, height: float, seed: int, clean: float
) -> None:
    reel = Reel(n, 127.0, 200.0, helix)
    x = np.array([0.0, 100.0, 200.0])
    r = 63.5 + np.random.default_rng(seed).normal(0.0, 0.1, (n, 3))
    turning = 2 * math.pi * 1000.0 / (wanted * n)
    assume(turning <= 1200.0)
    how = Mowing(1000.0, turning, height, height, 2.5 * height, leaf_gap=LeafGap(clean, 0.2))
    strip = stubble_map(reel, knife_over(r, x) - r, x, how, travelled=60.0, step=min(2.0, 0.4 * wanted))
    assert float(strip.length.min()) >= height * (1 - 1e-6)
    assert float(strip.length.max()) <= 2.5 * height * (1 + 1e-6)
    true = stubble_map(reel, np.zeros((n, 3)), x, how, travelled=60.0, step=min(2.0, 0.4 * wanted))
    assert float(true.length.max()) <= stubble(height, strip.clip).longest * (1 + 1e-6)
    assert float((true.length - strip.length).max()) <= 1e-4, "a worse reel nowhere leaves shorter grass"
