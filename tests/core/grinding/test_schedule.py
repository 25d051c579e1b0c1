import numpy as np
import pytest

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.core.grinding.schedule import infeeds, lag_after, schedule


@pytest.mark.parametrize("stock", [0.001, 0.01, 0.02, 0.0234, 0.1, 0.37, 2.0])
def test_infeeds_add_up_and_none_exceeds_its_setting(stock):
    steps, finishing = infeeds(stock, 0.02, 0.008)
    assert sum(steps) == pytest.approx(stock, abs=1e-12)
    assert all(0.0 < step <= 0.02 + 1e-9 for step in steps)
    assert all(step <= 0.008 + 1e-9 for step in steps[len(steps) - finishing :])
    assert all(step == pytest.approx(0.02) for step in steps[1 : len(steps) - finishing]), (
        "the first takes the odd amount"
    )


def test_stock_less_than_the_finish_stage_is_all_finish():
    steps, finishing = infeeds(0.012, 0.02, 0.008)
    assert len(steps) == finishing == 2


def test_lag_by_following_one_point():
    """Plain following of the highest point, wheel and metal each in their own place."""
    metal, wheel = 60.0, 60.0
    steps = [0.01, 0.02, 0.02, 0.005]
    for step in steps:
        wheel -= step
        metal -= 0.6 * (metal - wheel)
    assert lag_after(np.array(steps), 0.6) == pytest.approx(metal - wheel, abs=1e-13)


def test_spark_out_is_lengthened_until_the_lag_is_allowed_and_not_further():
    feeds = {"rough_infeed": 0.02, "finish_infeed": 0.01, "spark_out_passes": 1}
    plan = schedule(60.3, 60.0, **feeds, give=0.3, lag_allowed=0.002)
    sparks = plan.kinds.count("spark-out")
    steps = -np.diff(plan.wheel[: plan.infeed_passes], prepend=60.3)
    lag = lag_after(steps, 0.3)
    assert sparks > 1
    assert lag * 0.7**sparks <= 0.002 < lag * 0.7 ** (sparks - 1)
    assert schedule(60.3, 60.0, **feeds, give=1.0, lag_allowed=1e-9).kinds.count("spark-out") == 1


def test_wheel_only_comes_closer_and_ends_at_the_finish():
    plan = schedule(60.123, 60.0, rough_infeed=0.02, finish_infeed=0.01, spark_out_passes=2, give=0.7, lag_allowed=1.0)
    assert np.all(np.diff(plan.wheel) <= 0.0)
    assert plan.wheel[-1] == plan.wheel[plan.infeed_passes - 1] == 60.0


def test_nothing_to_grind_thousands_of_passes_or_endless_spark_out_are_refused():
    feeds = {"finish_infeed": 0.0001, "spark_out_passes": 2}
    with pytest.raises(Refusal, match="nothing to grind"):
        schedule(60.0, 60.0, rough_infeed=0.01, give=0.7, lag_allowed=1.0, **feeds)
    with pytest.raises(OutOfRange, match="rough_infeed"):
        schedule(62.0, 60.0, rough_infeed=0.0001, give=0.7, lag_allowed=1.0, **feeds)
    with pytest.raises(OutOfRange, match="give"):
        schedule(60.1, 60.0, rough_infeed=0.01, give=0.02, lag_allowed=1e-5, **feeds)
