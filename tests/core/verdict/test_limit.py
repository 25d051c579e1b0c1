import math

import pytest

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, Refusal
from sparkout.core.verdict.limit import Limit


def test_a_limit_keeps_what_it_was_given():
    limit = Limit("cone", -0.05, 0.05, "house: greens reels", set_by="A. Example")
    assert (limit.lower, limit.upper, limit.risk, limit.set_by, limit.on) == (-0.05, 0.05, 0.05, "A. Example", None)


def test_a_limit_without_a_side_is_refused():
    with pytest.raises(NotEnough, match="conformity of cone cannot be told yet; wanted: a lower or an upper limit"):
        Limit("cone", None, None, "house")


@pytest.mark.parametrize(("lower", "upper"), [(0.1, 0.1), (0.2, 0.1)])
def test_sides_out_of_order_contradict_each_other(lower, upper):
    with pytest.raises(Contradiction, match=r"lower .* and upper .* contradict each other"):
        Limit("cone", lower, upper, "house")


@pytest.mark.parametrize("side", [math.nan, math.inf, -math.inf])
def test_a_side_that_is_no_number_is_refused(side):
    with pytest.raises(OutOfRange, match="lower"):
        Limit("cone", side, None, "house")
    with pytest.raises(OutOfRange, match="upper"):
        Limit("cone", None, side, "house")


@pytest.mark.parametrize("risk", [0.0, -0.1, 0.51, math.nan])
def test_a_risk_outside_its_range_is_refused(risk):
    with pytest.raises(OutOfRange, match="risk"):
        Limit("cone", None, 0.05, "house", risk=risk)


def test_a_limit_must_say_what_it_limits_and_whose_it_is():
    with pytest.raises(Refusal, match="name its quantity"):
        Limit(" ", None, 0.05, "house")
    with pytest.raises(Refusal, match="where it comes from"):
        Limit("cone", None, 0.05, "")
