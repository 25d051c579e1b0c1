"""Uncertainty budgets: against the `uncertainties` library (reference library), closed forms and simulation."""

import math

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from sparkout.core.budget import propagate, simulate
from sparkout.core.distributions import Arcsine, Normal, Rectangular, Student
from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.gauges.tape import diameter_from_tape, tape_land_effect
from sparkout.core.measured import Measured, coverage_factor

MODELS = {
    "product": (lambda a, b, c: a * b / c, lambda a, b, c: a * b / c),
    "trigonometric": (lambda a, b, c: a * math.sin(b) + math.exp(-c), lambda a, b, c: a * umath.sin(b) + umath.exp(-c)),
    "root": (lambda a, b, c: math.sqrt(a**2 + b**2) - c**3, lambda a, b, c: umath.sqrt(a**2 + b**2) - c**3),
}
INPUTS = {"a": Measured(63.5, 0.02), "b": Measured(0.7, 0.003), "c": Measured(1.9, 1e-9)}


@pytest.mark.parametrize("name", MODELS)
def test_against_the_uncertainties_library(name: str) -> None:
    ours, theirs = MODELS[name]
    reference = theirs(*(uncertainties.ufloat(item.value, item.u, tag=key) for key, item in INPUTS.items()))
    budget = propagate(ours, INPUTS)
    assert budget.value == pytest.approx(reference.nominal_value, rel=1e-15)
    assert budget.u == pytest.approx(reference.std_dev, rel=1e-9)
    for part, size in reference.error_components().items():
        assert abs(budget.components[part.tag]) == pytest.approx(size, rel=1e-8)


def test_correlated_inputs_against_the_uncertainties_library() -> None:
    correlation = np.array([[1, 0.6, -0.2], [0.6, 1, 0.1], [-0.2, 0.1, 1]])
    values = [(item.value, item.u) for item in INPUTS.values()]
    a, b, c = uncertainties.correlated_values_norm(values, correlation)
    reference = a * umath.sin(b) + umath.exp(-c)
    pairs = {("a", "b"): 0.6, ("a", "c"): -0.2, ("c", "b"): 0.1}
    budget = propagate(MODELS["trigonometric"][0], INPUTS, pairs)
    assert budget.u == pytest.approx(reference.std_dev, rel=1e-8)


def test_shared_calibration_cancels_in_a_difference() -> None:
    inputs = {"left": Measured(127.2, 0.05), "right": Measured(126.9, 0.05)}
    cone = propagate(lambda left, right: right - left, inputs, {("left", "right"): 1.0})
    assert cone.u == pytest.approx(0.0, abs=1e-9)
    assert cone.measured.value == pytest.approx(-0.3)


def test_correlation_does_not_raise_the_degrees_of_freedom() -> None:
    inputs = {"a": Measured(1.0, 0.1, 4.0), "b": Measured(2.0, 0.1, 9.0), "c": Measured(0.0, 0.001)}
    independent = propagate(lambda a, b, c: a + b + c, inputs)
    assert independent.dof == pytest.approx((0.1**2 + 0.1**2 + 1e-6) ** 2 / (1e-4 / 4 + 1e-4 / 9))
    assert propagate(lambda a, b, c: a + b + c, inputs, {("a", "b"): 0.5}).dof == 4.0
    assert propagate(lambda a, b, c: a - b + c, inputs, {("a", "b"): 0.99}).dof == 1.0


def test_degrees_of_freedom_of_one_input_pass_through() -> None:
    assert propagate(lambda a: 3 * a, {"a": Measured(1.0, 0.1, 7.0)}).dof == pytest.approx(7.0)
    assert math.isinf(propagate(lambda a: 3 * a, {"a": Measured(1.0, 0.1)}).dof)


def test_second_order_against_the_exact_variance_of_polynomials() -> None:
    """Closed form: Var(X²) = 4 m² s² + 2 s⁴; Var(XY) with zero means = s² t² (normal inputs)."""
    square = propagate(lambda x: x * x, {"x": Measured(0.3, 0.5)}, second_order=True)
    assert square.u == pytest.approx(math.sqrt(4 * 0.3**2 * 0.5**2 + 2 * 0.5**4), rel=1e-9)
    assert square.second_order_u == pytest.approx(math.sqrt(2) * 0.5**2, rel=1e-9)
    product = propagate(lambda x, y: x * y, {"x": Measured(0, 0.5), "y": Measured(0, 0.2)}, second_order=True)
    assert product.u == pytest.approx(0.1, rel=1e-9)


def test_second_order_with_third_derivatives_against_simulation() -> None:
    """Brute force: sin about 0.4 with u 0.25; to u⁴ the terms are f_11²/2 + f_1 f_111; the rest is of order u⁶."""
    inputs = {"x": Measured(0.4, 0.25), "y": Measured(1.5, 0.2)}
    budget = propagate(lambda x, y: math.sin(x) * y, inputs, second_order=True)
    found = simulate(lambda x, y: np.sin(x) * y, inputs, 1_000_000, np.random.default_rng(7))
    linear = propagate(lambda x, y: math.sin(x) * y, inputs)
    assert budget.u == pytest.approx(found.u, rel=0.004)
    assert abs(budget.u - found.u) < abs(linear.u - found.u) / 4
    s, c = math.sin(0.4), math.cos(0.4)
    u2x, u2y = 0.25**2, 0.2**2
    terms = (1.5 * s * u2x) ** 2 / 2 - (1.5 * c * u2x) ** 2 + c**2 * u2x * u2y - s**2 * u2y * u2x
    assert budget.u**2 - linear.u**2 == pytest.approx(terms, abs=5e-6)


def test_land_uncertainty_enters_a_diameter() -> None:
    """Two routes: the budget's own derivative and the land effect of the gauge."""
    inputs = {"reading": Measured(125.4185, 0.05), "land": Measured(1.0, 0.2)}
    budget = propagate(lambda reading, land: diameter_from_tape(reading, 11, land), inputs)
    assert budget.components["land"] == pytest.approx(0.2 * tape_land_effect(budget.value, 11, 1.0), rel=1e-8)


def test_model_that_ends_nearby_is_looked_at_closer() -> None:
    """A land of 0.05 +- 0.1 mm: a step of one u would leave the gauge's range."""
    inputs = {"reading": Measured(125.4185, 0.05), "land": Measured(0.05, 0.1)}
    budget = propagate(lambda reading, land: diameter_from_tape(reading, 11, land), inputs)
    assert budget.components["land"] == pytest.approx(0.1 * tape_land_effect(budget.value, 11, 0.05), rel=1e-8)


def test_model_that_ends_exactly_here_refuses() -> None:
    inputs = {"reading": Measured(125.4185, 0.05), "land": Measured(0.0, 0.1)}
    with pytest.raises(OutOfRange, match="land is"):
        propagate(lambda reading, land: diameter_from_tape(reading, 11, land), inputs)


def test_certain_inputs_contribute_nothing() -> None:
    budget = propagate(lambda a, b: a * b, {"a": Measured(0.0, 0.0), "b": Measured(1.0, 0.1)}, second_order=True)
    assert budget.components["a"] == 0.0
    assert budget.u == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("correlation", "says"),
    [
        ({("a", "b"): 1.1}, "correlation of a and b is 1.1; allowed: -1 to 1"),
        ({("a", "a"): 1.0}, "allowed: pairs of a, b, c"),
        ({("a", "z"): 0.5}, "allowed: pairs of a, b, c"),
        ({("z", "a"): 0.5}, "allowed: pairs of a, b, c"),
    ],
)
def test_correlation_refusals(correlation, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        propagate(lambda a, b, c: a + b + c, INPUTS, correlation)


def test_correlations_that_cannot_all_hold() -> None:
    impossible = {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}
    with pytest.raises(Contradiction, match="no set of quantities"):
        propagate(lambda a, b, c: a + b + c, INPUTS, impossible)
    with pytest.raises(Contradiction, match="independent inputs only"):
        propagate(lambda a, b, c: a + b + c, INPUTS, {("a", "b"): 0.5}, second_order=True)


def test_model_without_a_number() -> None:
    with pytest.raises(OutOfRange, match="finite values"):
        propagate(lambda a: a * math.nan, {"a": Measured(1.0, 0.1)})


def test_gauge_block_by_simulation() -> None:
    """JCGM 101:2008 9.5, the end gauge of JCGM 100 H.1, by both routes. Printed figures from memory, not seen:

    linear 838, u 32, 99 % [745, 931]; simulation 838, u 36, 99 % shortest [745, 932]. The half widths of the two
    temperature differences are themselves known to 10 % and 50 % (curvilinear trapezoids).
    Bands stated beforehand for 1e6 draws: mean +-0.3, u +-0.3, ends +-2, about 838, 35.8, 744.2, 931.5.
    """

    def model(over, d, repeat, random, systematic, alpha_s, theta, swing, half_a, place_a, half_t, place_t):
        """Return the length over 50 mm, nm."""
        theta, ls = theta + swing, 50e6 + over
        return over + d + repeat + random + systematic - ls * (half_a * place_a * theta + alpha_s * half_t * place_t)

    inputs = {
        "over": Student(623.0, 25.0, 18),
        "d": Normal(215.0, 0.0),
        "repeat": Student(0.0, 6.0, 24),
        "random": Student(0.0, 4.0, 5),
        "systematic": Student(0.0, 7.0, 8),
        "alpha_s": Rectangular(11.5e-6, 2e-6),
        "theta": Normal(-0.1, 0.2),
        "swing": Arcsine(0.0, 0.5),
        "half_a": Rectangular(1e-6, 0.1e-6),
        "place_a": Rectangular(0.0, 1.0),
        "half_t": Rectangular(0.05, 0.025),
        "place_t": Rectangular(0.0, 1.0),
    }
    found = simulate(model, inputs, 1_000_000, np.random.default_rng(101))
    low, high = found.shortest(0.99)
    assert found.mean == pytest.approx(838.0, abs=0.3)
    assert found.u == pytest.approx(35.8, abs=0.3)
    assert low == pytest.approx(744.2, abs=2.0)
    assert high == pytest.approx(931.5, abs=2.0)
    linear = propagate(model, {name: item.measured() for name, item in inputs.items()})
    assert linear.value == pytest.approx(found.mean, abs=0.3)
    assert 30.0 < linear.u < found.u, "the product of two uncertain differences is beyond the linear route"
    assert linear.u / found.u == pytest.approx(32 / 36, abs=0.03)


def test_coverage_intervals_of_known_shapes() -> None:
    """Closed forms: a normal, and an exponential whose shortest interval starts at zero."""
    generator = np.random.default_rng(3)
    normal = simulate(lambda a: a, {"a": Normal(2.0, 0.5)}, 400_000, generator)
    half = 0.5 * coverage_factor(0.95)
    assert normal.symmetric() == pytest.approx((2.0 - half, 2.0 + half), abs=0.01)
    assert normal.shortest() == pytest.approx((2.0 - half, 2.0 + half), abs=0.05)
    skew = simulate(lambda a: -np.log(a), {"a": Rectangular(0.5, 0.5)}, 400_000, generator)
    assert skew.symmetric(0.9) == pytest.approx((-math.log(0.95), -math.log(0.05)), abs=0.02)
    assert skew.shortest(0.9) == pytest.approx((0.0, -math.log(0.1)), abs=0.02)


def test_coverage_intervals_by_counting() -> None:
    """100 equally spaced values: 95 of the steps between them lie inside, the rest split evenly (JCGM 101 7.7.2)."""
    grid = simulate(lambda a: np.arange(100.0) + 0 * a, {"a": Normal(0, 1)}, 100, np.random.default_rng(0))
    assert grid.symmetric(0.95) == (2.0, 97.0)
    assert grid.shortest(0.95) == (0.0, 95.0)
    assert grid.symmetric(0.99) == (0.0, 99.0)


def test_simulation_is_reproducible_and_takes_measured_values() -> None:
    inputs = {"a": Measured(1.0, 0.1, 3.0), "b": Measured(2.0, 0.2)}
    one = simulate(lambda a, b: a + b, inputs, 1000, np.random.default_rng(5))
    other = simulate(lambda a, b: a + b, inputs, 1000, np.random.default_rng(5))
    assert np.array_equal(one.values, other.values)


@pytest.mark.parametrize("draws", [0, 99, 1e9, math.nan])
def test_draws_out_of_range(draws) -> None:
    with pytest.raises(OutOfRange, match="draws"):
        simulate(lambda a: a, {"a": Normal(0, 1)}, draws, np.random.default_rng(0))


@pytest.mark.parametrize("model", [lambda a: a.sum(), lambda a: a[:-1], lambda a: a * np.nan])
def test_models_that_do_not_return_a_number_per_draw(model) -> None:
    with pytest.raises(OutOfRange, match="one per draw"):
        simulate(model, {"a": Normal(0, 1)}, 100, np.random.default_rng(0))


@pytest.mark.parametrize("coverage", [0.0, 1.0, 0.9999])
def test_coverage_beyond_the_draws(coverage: float) -> None:
    found = simulate(lambda a: a, {"a": Normal(0, 1)}, 100, np.random.default_rng(0))
    with pytest.raises(OutOfRange, match="coverage"):
        found.shortest(coverage)
