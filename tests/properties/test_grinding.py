"""What must hold for every spin grind: it takes no more than it says, meets its limits, and has no handedness."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sparkout.core.errors import BelowServiceLimit
from sparkout.core.grinding.grinder import Grinder
from sparkout.core.grinding.passes import simulate
from sparkout.core.grinding.spin import spin_plan
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.land import land_after_grind, radius_for_land

gives = st.floats(0.2, 1.0)


@st.composite
def reels(draw):
    blades = draw(st.integers(3, 11))
    stations = draw(st.integers(2, 15))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    t = np.linspace(-1.0, 1.0, stations)
    radii = 60.0 + draw(st.floats(-0.3, 0.3)) * t + rng.normal(0.0, draw(st.floats(0.0, 0.1)), (blades, stations))
    reel = Reel(blades, 120.0, 500.0, draw(st.floats(-0.4, 0.4)), blade_thickness=6.0)
    return reel, radii, np.linspace(0.0, 500.0, stations)


@st.composite
def grinders(draw):
    rough = draw(st.floats(0.005, 0.05))
    return Grinder(
        give=Measured(draw(gives), 0.1),
        g_ratio=Measured(draw(st.floats(20.0, 200.0)), 10.0),
        wheel_diameter=draw(st.floats(80.0, 200.0)),
        wheel_width=draw(st.floats(10.0, 40.0)),
        spindle_speed=300.0,
        traverse_speed=40.0,
        work_speed=30.0,
        rough_infeed=rough,
        finish_infeed=rough * draw(st.floats(0.2, 1.0)),
        spark_out_passes=draw(st.integers(0, 4)),
        mount_spacing=650.0,
        thread_pitch=1.5,
        divisions_per_turn=50.0,
        specific_energy=5e4,
        one_way=draw(st.booleans()),
    )


def planned(case, grinder, **change):
    reel, radii, x = case
    lowest = change.pop("lowest", Measured(float(radii.min()), 0.01))
    wanted = {"cone": Measured(0.1, 0.02), "land": Measured(1.0, 0.1)} | change
    return spin_plan(reel, radii, x, lowest, grinder, 100.0, **wanted)


@settings(max_examples=60, deadline=None)
@given(reels(), grinders(), st.floats(0.0, 0.2), st.floats(0.001, 0.1))
def test_no_plan_removes_more_than_it_says(case, grinder, share, allowance):
    made = planned(case, grinder, uncleaned_share=share, allowance=allowance)
    _, radii, _ = case
    assert np.all(made.as_left >= np.minimum(radii, made.finish_radius.value)), "no tolerance"
    assert np.all(made.as_left <= radii)
    assert np.all(radii - made.as_left <= made.heaviest_stock + 1e-12)
    assert made.volume == pytest.approx(sum(p.volume for p in made.passes))
    last = made.passes[-1].dial_total
    assert last <= made.heaviest_stock + made.wheel_loss + 1e-9
    assert all(0.0 <= p.touched <= 1.0 for p in made.passes)
    assert made.uncleaned_share <= share + 1e-9


@settings(max_examples=60, deadline=None)
@given(reels(), grinders(), st.floats(0.01, 0.05), st.floats(0.01, 0.05))
def test_after_the_plan_the_simulated_reel_meets_its_limits(case, grinder, run_out, cone):
    made = planned(case, grinder, wanted_run_out=run_out, wanted_cone=cone)
    left = made.as_left
    assert np.ptp(left, axis=0).max() <= run_out
    assert abs(made.as_left_cone) <= cone
    ends = 2.0 * abs(left[:, -1].mean() - left[:, 0].mean())
    assert ends <= 2.0 * cone, "end to end, whatever the fitted line says"
    assert made.run_out_met
    assert made.cone_met
    assert np.all(left < case[1]), "every point of the edge is reached"


@settings(max_examples=40, deadline=None)
@given(reels(), grinders())
def test_mirroring_left_and_right_changes_nothing_but_the_hand(case, grinder):
    reel, radii, x = case
    grinder = replace(grinder, g_ratio=Measured(1e5, 0.0))  # only the wheel's wear knows its direction
    here = planned(case, grinder)
    there = planned((reel, radii[:, ::-1], 500.0 - x[::-1]), grinder, cone=Measured(-0.1, 0.02))
    assert there.finish_radius == here.finish_radius
    assert len(there.passes) == len(here.passes)
    assert there.volume == pytest.approx(here.volume, rel=1e-6)
    assert there.set_up.move.offset == -here.set_up.move.offset
    assert [e.most for e in there.stock_by_end] == pytest.approx([e.most for e in here.stock_by_end[::-1]], abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(reels(), grinders(), st.floats(0.001, 0.1), st.floats(0.001, 0.1))
def test_more_allowance_never_keeps_more_diameter(case, grinder, one, other):
    less, more = sorted((one, other))
    kept = planned(case, grinder, allowance=less).finish_diameter.value
    assert planned(case, grinder, allowance=more).finish_diameter.value <= kept


@settings(max_examples=60, deadline=None)
@given(reels(), gives, st.lists(st.floats(0.001, 0.05), min_size=1, max_size=30))
def test_order_of_heights_survives_every_grind(case, give, feeds):
    _, radii, _ = case
    done = simulate(radii, radii.max() - np.cumsum(feeds), give)
    order = np.argsort(radii, axis=None, kind="stable")
    assert np.all(np.diff(done.left.ravel()[order]) >= -1e-12)
    assert np.all(np.diff(done.touched) >= -1e-12), "once touched, always touched"
    assert float((radii - done.left).mean()) == pytest.approx(float(done.mean_bite.sum()), abs=1e-11)


@settings(max_examples=40, deadline=None)
@given(reels(), grinders(), st.floats(119.0, 121.0))
def test_a_plan_is_above_its_service_limit_or_refused(case, grinder, service):
    reel, radii, x = case
    possible = 2.0 * (float(radii.min()) - 0.02) >= service

    def plan():
        lowest = Measured(float(radii.min()), 0.01)
        return spin_plan(reel, radii, x, lowest, grinder, service, cone=Measured(0.0, 0.1), land=Measured(1.0, 0.1))

    if possible:
        assert plan().finish_diameter.value >= service
    else:
        with pytest.raises(BelowServiceLimit, match="Instead: "):
            plan()


@given(st.floats(0.0, 3.0), st.floats(15.0, 75.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_land_only_grows_and_two_grinds_are_one(land, degrees, first, second):
    alpha = math.radians(degrees)
    assume(first + second < 60.0 * (1.0 - math.cos(alpha)))
    at_once = land_after_grind(land, alpha, first + second, 120.0)
    assert at_once >= land - 1e-12
    assert radius_for_land(land, alpha, max(at_once, land), 120.0) == pytest.approx(first + second, abs=1e-6)
