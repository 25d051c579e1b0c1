"""What must hold for all inputs of cut and setting."""

import math

from hypothesis import assume, given
from hypothesis import strategies as st

from sparkout.core.cut.clip import clip
from sparkout.core.cut.stubble import stubble
from sparkout.core.cut.trochoid import cusp
from sparkout.core.errors import Refusal
from sparkout.core.setting.clicks import clicks_to_close
from sparkout.core.setting.heat import gap_change_hot
from sparkout.core.setting.pivot import knife_on_reel

DIAMETER = st.floats(80.0, 300.0)
BLADES = st.integers(2, 20)


@given(DIAMETER, st.floats(1.001, 60.0), BLADES)
def test_cusp_lies_between_nothing_and_the_reel_and_is_larger_against_travel(d: float, ratio: float, n: int) -> None:
    omega = ratio * 500.0 / (d / 2)
    against, along = (cusp(500.0, n, omega, d, sense) for sense in (-1, 1))
    assert 0.0 < along < against < d


@given(DIAMETER, st.floats(1.05, 30.0), st.integers(2, 19))
def test_more_blades_never_leave_a_higher_cusp(d: float, ratio: float, n: int) -> None:
    omega = ratio * 500.0 / (d / 2)
    assert cusp(500.0, n + 1, omega, d) <= cusp(500.0, n, omega, d)


@given(DIAMETER, st.floats(1.05, 30.0), BLADES, st.floats(0.1, 5.0))
def test_cusp_depends_on_the_ratio_of_speeds_alone(d: float, ratio: float, n: int, factor: float) -> None:
    omega = ratio * 500.0 / (d / 2)
    assume(omega * factor < 1200.0)
    one, other = cusp(500.0, n, omega, d), cusp(500.0 * factor, n, omega * factor, d)
    assert math.isclose(one, other, rel_tol=1e-6)


@given(st.floats(0.5, 100.0), st.floats(0.01, 100.0))
def test_stubble_is_ordered(height: float, travel: float) -> None:
    left = stubble(height, travel)
    assert height <= left.mean <= left.longest
    assert math.isclose(left.longest - left.spread, height, rel_tol=1e-12)


@given(st.floats(100.0, 5000.0), BLADES, st.floats(20.0, 300.0))
def test_clip_times_cuts_is_the_way_travelled(v: float, n: int, omega: float) -> None:
    assert math.isclose(clip(v, n, omega) * n * omega / (2 * math.pi), v, rel_tol=1e-12)


@given(DIAMETER, st.floats(-200.0, 200.0), st.floats(-150.0, 150.0), st.floats(20.0, 300.0), st.floats(-0.1, 1.0))
def test_edge_lies_on_both_circles_below_the_axis_or_is_refused(
    d: float, behind: float, below: float, arm: float, gap: float
) -> None:
    try:
        at = knife_on_reel(d, behind, below, arm, gap)
    except Refusal:
        return
    assert at.below_centre > 0.0
    assert math.isclose(math.hypot(at.behind_centre, at.below_centre), d / 2 + gap, rel_tol=1e-9)
    assert math.isclose(math.dist((at.behind_centre, at.below_centre), (behind, below)), arm, rel_tol=1e-6)


@given(st.floats(-0.2, 1.0), st.floats(-0.2, 1.0), st.floats(0.0, 0.1), st.floats(0.002, 0.05), st.floats(-0.2, 0.2))
def test_whole_clicks_leave_no_more_than_half_a_click_when_adjusters_stand_at_the_stations(
    left: float, right: float, wanted: float, step: float, bow: float
) -> None:
    plan = clicks_to_close((left, right), wanted, step, length=500.0, bow=bow)
    for gap in plan.gap_after:
        assert abs(gap - wanted) <= step / 2 + 1e-9
    assert plan.least_gap <= min(plan.gap_after) + 1e-12
    assert plan.greatest_gap >= max(plan.gap_after) - 1e-12


@given(DIAMETER, st.floats(-20.0, 60.0), st.floats(-20.0, 60.0))
def test_warming_both_and_cooling_both_undo_each_other(d: float, reel: float, frame: float) -> None:
    assert math.isclose(gap_change_hot(d, reel, frame), -gap_change_hot(d, -reel, -frame), abs_tol=1e-15)
