"""Where a function crosses a level, against inverses known in closed form."""

import math
from statistics import NormalDist

import pytest

from sparkout.core.crossing import crossing
from sparkout.core.errors import Refusal


@pytest.mark.parametrize("probability", [1e-9, 0.05, 0.5, 0.95, 1 - 1e-9])
def test_a_normal_quantile(probability):
    law = NormalDist(3.0, 0.2)
    assert crossing(law.cdf, -5.0, 20.0, probability) == pytest.approx(law.inv_cdf(probability), abs=1e-8)


@pytest.mark.parametrize(("low", "high"), [(0.0, 2.0), (2.0, 0.0)])
def test_either_direction_and_falling_functions(low, high):
    assert crossing(lambda x: x**3, low, high, 2.0) == pytest.approx(2.0 ** (1 / 3), rel=1e-15)
    assert crossing(lambda x: -(x**3), low, high, -2.0) == pytest.approx(2.0 ** (1 / 3), rel=1e-15)


def test_a_jump_is_found_where_it_is():
    assert crossing(lambda x: math.floor(x + 0.7), -1.0, 1.0, 0.5) == pytest.approx(0.3, abs=1e-14)


def test_a_level_hardly_missed_on_one_side_does_not_stall():
    assert crossing(lambda x: -1e-300 if x < 0.3 else 1.0, -1.0, 1.0) == pytest.approx(0.3, abs=1e-14)


def test_an_end_that_is_the_answer():
    assert crossing(lambda x: x, 0.0, 3.0) == 0.0
    assert crossing(lambda x: x, -3.0, 0.0) == 0.0


def test_few_steps_on_a_smooth_function_and_no_endless_ones_on_a_hard_one():
    for function, most in ((math.exp, 25), (lambda x: x**9, 180), (lambda x: 0.0 if x < 1 / 3 else 1.0, 180)):
        steps = []
        crossing(lambda x, f=function, s=steps: s.append(x) or f(x), -1.0, 1.5, 0.7 if function is math.exp else 1e-300)
        assert len(steps) <= most


def test_next_to_each_other_there_is_nothing_between():
    smallest = math.nextafter(0.0, 1.0)
    assert crossing(lambda x: 1.0 if x > 0.0 else -1.0, 0.0, smallest) == smallest


def test_no_crossing_is_refused():
    with pytest.raises(Refusal, match="no crossing of 5 between 0 and 1"):
        crossing(lambda x: x, 0.0, 1.0, 5.0)
