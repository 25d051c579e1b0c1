"""Wear of a fleet: against a reference library, against simulated fleets, and with little to go on."""

import numpy as np
import pytest

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.season.unit_sums import Readings
from sparkout.core.season.wear import (
    Ahead,
    Fleet,
    Wear,
    chance_reached,
    fleet_wear,
    reached,
    value_ahead,
    value_now,
)

ONE_GROUP = Fleet(np.zeros(60, dtype=np.intp), np.zeros(1, dtype=np.intp))


def drawn(seed, workshops=6, duties=3, units=60, per=5):
    """A fleet of known lines: readings, fleet, and each unit's true intercept and slope."""
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(workshops * duties), units)
    work = np.repeat(np.arange(workshops), duties)
    count = group.size
    start = 127 + rng.normal(0, 0.2, workshops)[work][group] + rng.normal(0, 0.3, count)
    slope = -(0.0015 + rng.normal(0, 0.0002, workshops * duties)[group] + rng.normal(0, 0.0003, count))
    unit = np.repeat(np.arange(count), per)
    hours = np.sort(rng.uniform(0, 900, (count, per)), axis=1).ravel()
    sand = np.floor(hours / 90)
    removed = np.floor(hours / 250) * 0.3
    value = start[unit] + slope[unit] * hours - 0.01 * sand - removed + rng.normal(0, 0.05, hours.size)
    return Readings(unit, hours, value, removed, sand[None]), Fleet(group, work), start, slope


def ahead(count, **changed):
    made = {
        "now": np.full(count, 900.0),
        "removed": np.full(count, 0.9),
        "grinds_per_hour": np.full(count, 1 / 250),
        "grind_removes": np.full(count, 0.3),
        "grind_spread": np.zeros(count),
        "counts": np.full((1, count), 10.0),
        "counts_per_hour": np.full((1, count), 1 / 90),
    }
    return Ahead(**(made | changed))


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_fleet_of_one_duty_is_as_a_reference_library_has_it():
    """statsmodels MixedLM by REML, random intercept and slope."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng = np.random.default_rng(2)
    unit = np.repeat(np.arange(60), 6)
    hours = rng.uniform(0, 4, unit.size)
    line = rng.multivariate_normal([0, 0], [[0.3, 0.05], [0.05, 0.1]], 60)
    value = 120 - 0.5 * hours + line[unit, 0] + line[unit, 1] * hours + rng.normal(0, 0.1, unit.size)
    found = fleet_wear(Readings(unit, hours, value, np.zeros(unit.size), np.zeros((0, unit.size))), ONE_GROUP)
    x = np.column_stack([np.ones(unit.size), hours - found.centre[0]])
    other = MixedLM(value - found.centre[1], x, unit, exog_re=x).fit(reml=True, method="bfgs", gtol=1e-9)
    assert found.left_out == ("workshops", "duties")
    assert found.fixed == pytest.approx(other.fe_params, rel=1e-6, abs=1e-8)
    assert found.residual**2 == pytest.approx(other.scale, rel=1e-5)
    assert found.fitted is not None
    assert found.fitted.level_covariances[0] == pytest.approx(np.asarray(other.cov_re), rel=1e-4)
    effects = np.array([other.random_effects[i] for i in range(60)])
    assert found.lines.T - found.fixed == pytest.approx(effects, rel=1e-3, abs=1e-5)


def test_forecasts_cover_what_they_promise():
    readings, fleet, start, slope = drawn(1)
    wear = fleet_wear(readings, fleet)
    found = reached(wear, ahead(start.size), 120.0)
    true = (start + slope * 900 - 1.0 - 120) / -(slope - 0.01 / 90 - 0.3 / 250)
    for chance, hours in zip(found.chances, found.hours, strict=True):
        assert np.mean(true <= hours) == pytest.approx(chance, abs=0.035)
    assert wear.fixed[2] == pytest.approx(-0.01, abs=4 * np.sqrt(wear.fixed_covariance[2, 2]))
    assert wear.left_out == ()
    assert np.all(np.diff(found.hours, axis=0) >= 0)
    assert np.mean(wear.per_hour) == pytest.approx(0.0015, abs=0.0002)


def test_a_crossing_is_the_chance_that_simulation_gives():
    readings, fleet, *_ = drawn(3, units=4, per=3)
    wear = fleet_wear(readings, fleet)
    count = fleet.groups.size
    to_come = ahead(count, grind_spread=np.full(count, 0.2))
    found = reached(wear, to_come, 121.0, chances=(0.1, 0.5, 0.9))
    rng = np.random.default_rng(0)
    for unit in (0, 7):
        lines = rng.multivariate_normal(wear.lines[:, unit], wear.covariances[:, :, unit], 200_000)
        for chance, hours in zip(found.chances, found.hours[:, unit], strict=True):
            x = np.array([1.0, 900.0 + hours - wear.centre[0], 10.0 + hours / 90])
            metal = 0.9 + 0.3 * hours / 250 + rng.normal(0, 0.2 * np.sqrt(hours / 250), 200_000)
            assert np.mean(lines @ x + wear.centre[1] - metal <= 121.0) == pytest.approx(chance, abs=0.005)


def test_units_that_do_not_wear_towards_their_limit_change_nothing_for_the_others():
    """The hours of each unit alone are those it has in the fleet; each is where the value has that chance."""
    readings, fleet, start, _ = drawn(9, units=8)
    wear, count = fleet_wear(readings, fleet), start.size
    wear.lines[1, ::3] *= -1.0  # growing
    wear.covariances[1, 1, 1::3] = 1e-5  # hardly known how fast
    still = ahead(count, grinds_per_hour=np.zeros(count), counts_per_hour=np.zeros((1, count)))
    limit = value_now(wear, still) - np.linspace(-0.5, 3.0, count)
    found = reached(wear, still, limit)
    assert np.isinf(found.hours).any()
    assert (found.hours == 0.0).any()
    for unit in range(count):
        one = Wear(
            wear.fitted, wear.centre, wear.fixed, wear.fixed_covariance, wear.residual,
            wear.lines[:, [unit]], wear.covariances[:, :, [unit]], (),
        )  # fmt: skip
        alone = ahead(1, grinds_per_hour=np.zeros(1), counts_per_hour=np.zeros((1, 1)))
        assert np.array_equal(reached(one, alone, limit[unit]).hours[:, 0], found.hours[:, unit])
        for i, hours in enumerate(found.hours[:, unit]):
            if 0.0 < hours < np.inf:
                there = value_ahead(one, alone, hours, [found.chances[i]])[0, 0, 0]
                assert there == pytest.approx(limit[unit], abs=1e-6)


def test_limits_passed_already_and_never():
    readings, fleet, start, _ = drawn(4, units=5)
    wear = fleet_wear(readings, fleet)
    still = ahead(start.size, grinds_per_hour=np.zeros(start.size), counts_per_hour=np.zeros((1, start.size)))
    assert np.all(reached(wear, still, 130.0).hours == 0.0)
    wear.lines[1] = 0.002  # a reel that grows has no hour at which it is half sure to be small enough
    found = reached(wear, still, 100.0)
    assert np.all(np.isinf(found.hours[found.chances.index(0.5)]))


def test_a_fleet_read_once_each_has_one_line_for_all():
    rng = np.random.default_rng(6)
    hours = rng.uniform(0, 900, 60)
    value = 127 - 0.002 * hours + rng.normal(0, 0.3, 60)
    found = fleet_wear(Readings(np.arange(60), hours, value, np.zeros(60), np.zeros((0, 60))), ONE_GROUP)
    assert found.fitted is None
    assert "units" in found.left_out
    assert found.per_hour == pytest.approx(0.002, abs=0.0006)
    to_come = ahead(60, counts=np.zeros((0, 60)), counts_per_hour=np.zeros((0, 60)))
    forecast = reached(found, to_come, 121.0)
    assert np.all(np.isfinite(forecast.hours[2]))


@pytest.mark.parametrize(
    ("workshops", "duties", "left_out"),
    [(3, 1, ("duties",)), (1, 4, ("workshops",)), (1, 1, ("workshops", "duties")), (4, 2, ())],
)
def test_levels_too_few_to_tell_are_left_out_and_named(workshops, duties, left_out):
    readings, fleet, *_ = drawn(7, workshops=workshops, duties=duties, units=12)
    assert fleet_wear(readings, fleet).left_out == left_out


def test_bad_readings_are_named():
    readings, fleet, *_ = drawn(8, units=3)
    none = np.zeros(0)
    with pytest.raises(NotEnough, match="wear"):
        fleet_wear(Readings(np.zeros(0, dtype=np.intp), none, none, none, np.zeros((0, 0))), fleet)
    with pytest.raises(OutOfRange, match="unit"):
        fleet_wear(readings, Fleet(fleet.groups[:5], fleet.workshops))
    wrong = readings.hours.copy()
    wrong[3] = np.nan
    with pytest.raises(OutOfRange, match=r"hours\[3\]"):
        fleet_wear(Readings(readings.unit, wrong, readings.value, readings.removed, readings.covariates), fleet)
    wear = fleet_wear(readings, fleet)
    count = fleet.groups.size
    with pytest.raises(Contradiction, match="covariates"):
        reached(wear, ahead(count, counts=np.zeros((0, count)), counts_per_hour=np.zeros((0, count))), 120.0)
    with pytest.raises(OutOfRange, match="chance"):
        reached(wear, ahead(count), 120.0, chances=(1.0,))
    with pytest.raises(OutOfRange, match="limit"):
        reached(wear, ahead(count), np.nan)


def test_the_chance_by_an_hour_is_the_inverse_of_the_hours_for_a_chance():
    rng = np.random.default_rng(3)
    units, per = 40, 5
    unit = np.repeat(np.arange(units), per)
    hours = np.tile(np.linspace(0, 800, per), units)
    slopes = rng.normal(0.004, 0.0006, units)
    value = 125.0 - slopes[unit] * hours + rng.normal(0, 0.03, unit.size)
    readings = Readings(unit, hours, value, np.zeros(unit.size), np.zeros((0, unit.size)))
    wear = fleet_wear(readings, Fleet(np.zeros(units, dtype=np.intp), np.zeros(1, dtype=np.intp)))
    flat = np.zeros(units)
    ahead = Ahead(flat + 800.0, flat, flat + 0.01, flat + 0.1, flat + 0.05, np.zeros((0, units)), np.zeros((0, units)))
    found = reached(wear, ahead, 117.0)
    for chance, at in zip(found.chances, found.hours, strict=True):
        assert chance_reached(wear, ahead, 117.0, at[None])[0] == pytest.approx(np.full(units, chance), abs=1e-9)
    assert np.all(np.diff(chance_reached(wear, ahead, 117.0, [0.0, 500.0, 2000.0, 9000.0]), axis=0) >= 0)


def test_the_band_ahead_is_at_the_limit_when_the_limit_is_reached():
    """It is below the limit with chance p at the hours by which `reached` has it there with chance p."""
    readings, fleet, _, _ = drawn(4, workshops=2, units=10)
    wear = fleet_wear(readings, fleet)
    to_come = ahead(60, grind_spread=np.full(60, 0.05))
    hours = reached(wear, to_come, 122.0).hours
    for i in (0, 1, 2, 3, 4):
        for unit in (0, 17, 59):
            band = value_ahead(wear, to_come, hours[i, unit])
            assert band[i, unit, 0] == pytest.approx(122.0, abs=1e-6)
    assert value_ahead(wear, to_come, 0.0, [0.5])[0, :, 0] == pytest.approx(value_now(wear, to_come))
    whole = value_ahead(wear, to_come, [0.0, 100.0, 5000.0])
    assert (np.diff(whole, axis=0) > 0).all()
    for bad in ({"hours": [-1.0]}, {"hours": [np.nan]}, {"hours": [1.0], "chances": [1.0]}):
        with pytest.raises(OutOfRange):
            value_ahead(wear, to_come, **bad)
