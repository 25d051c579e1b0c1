"""Learning from grinds made by a plain loop of known give, and against a posterior found by brute-force integration."""

import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.grinding.learn import WheelReadings, learn_grinder, prediction_against_result
from sparkout.core.measured import Measured

AREA = Measured(11 * 500.0, 100.0)
PRIOR = {"give": Measured(0.7, 0.1), "g_ratio": Measured(60.0, 20.0), "land_area": AREA}
FEEDS = [0.02] * 8 + [0.01] * 2


def a_reel(rng, blades=5, stations=7):
    return 60.0 + rng.normal(0.0, 0.03, (blades, stations)) + 0.05 * np.linspace(-1, 1, stations)


def ground(reel, feeds, give, shift=0.0):
    """Plain loop; `shift` moves the wheel off where its touch was read."""
    left, wheel = reel.copy(), float(reel.max()) + shift
    for feed in feeds:
        wheel -= feed
        left = np.where(left > wheel, left - give * (left - wheel), left)
    return left


def test_give_is_found_where_it_shows():
    rng = np.random.default_rng(1)
    reel = a_reel(rng)
    read = ground(reel, FEEDS, 0.55) + rng.normal(0.0, 0.001, reel.shape)
    told = learn_grinder(FEEDS, reel, read, as_left_u=0.001, **PRIOR)
    assert abs(told.give.value - 0.55) < 4 * told.give.u < 0.05
    assert told.told_of_give
    assert not told.told_of_wheel
    assert told.g_ratio == PRIOR["g_ratio"]
    assert told.wheel_loss is None
    assert told.fits


def test_long_spark_out_hides_the_give_and_the_prior_stays():
    rng = np.random.default_rng(2)
    reel = a_reel(rng)
    feeds = [*FEEDS, *[0.0] * 12]
    read = ground(reel, feeds, 0.6) + rng.normal(0.0, 0.003, reel.shape)
    told = learn_grinder(feeds, reel, read, as_left_u=0.003, shared_u=0.01, **PRIOR)
    assert not told.told_of_give
    assert told.give.value == pytest.approx(0.7, abs=0.02)
    assert told.give.u == pytest.approx(0.1, abs=0.02)


def test_posterior_agrees_with_brute_force_integration():
    """The same beliefs by other means: datum, touch and give sampled outright, weighted by the likelihood alone."""
    rng = np.random.default_rng(3)
    reel = a_reel(rng, 3, 4)
    u, datum, touch = 0.006, 0.005, 0.005
    feeds = [0.03, 0.03, 0.02]
    read = ground(reel, feeds, 0.62, 0.004) + rng.normal(0.0, u, reel.shape) - 0.003
    read[0, 1] = read[2, 3] = np.nan
    seen = ~np.isnan(read)
    draws = 40_000
    give = rng.normal(0.7, 0.1, draws)
    inside = (give >= 0.02) & (give <= 1.0)
    shifts, moved = rng.normal(0.0, touch, draws), rng.normal(0.0, datum, draws)
    left = np.repeat(reel[seen][None, :], draws, axis=0)
    for p in range(3):
        over = left - (reel.max() - sum(feeds[: p + 1]) + shifts[:, None])
        left -= np.where(over > 0.0, give[:, None] * over, 0.0)
    log = -0.5 * np.sum(((read[seen] - left - moved[:, None]) / u) ** 2, axis=1)
    weight = np.exp(log - log.max()) * inside
    weight /= weight.sum()
    mean = weight @ give
    sd = math.sqrt(weight @ (give - mean) ** 2)
    error = sd * math.sqrt(np.sum(weight**2))  # of the sampled mean
    told = learn_grinder(feeds, reel, read, as_left_u=u, shared_u=datum, touch_u=touch, **PRIOR)
    assert told.readings == 10
    assert error < 0.05 * sd
    assert abs(told.give.value - mean) < 0.15 * sd, "points that only just touch are taken as touched or not"
    assert told.give.u == pytest.approx(sd, rel=0.1)


def test_misfit_agrees_with_the_covariance_matrix_written_out():
    rng = np.random.default_rng(7)
    reel = 60.0 + rng.normal(0.0, 0.002, (2, 3))  # all touched from the first pass
    feeds, u = [0.05, 0.05], 0.004
    read = ground(reel, feeds, 0.6) + rng.normal(0.0, u, reel.shape)
    told = learn_grinder(feeds, reel, read, as_left_u=u, shared_u=0.003, touch_u=0.002, as_found_u=0.001, **PRIOR)
    survives = (1.0 - told.give.value) ** 2
    wheel = (0.002**2 + 0.001**2) * (1.0 - survives) ** 2
    cov = np.eye(6) * (u**2 + (0.001 * survives) ** 2) + 0.003**2 + wheel
    residual = (read - ground(reel, feeds, told.give.value)).ravel()
    assert told.chi_squared == pytest.approx(residual @ np.linalg.inv(cov) @ residual, rel=1e-9)


def test_intervals_cover_the_true_give():
    """600 simulated grinds, give drawn from the prior; 95 % intervals, judged against three binomial sigma."""
    rng = np.random.default_rng(4)
    hits, rounds = 0, 600
    for _ in range(rounds):
        give = float(np.clip(rng.normal(0.7, 0.1), 0.05, 1.0))
        reel = a_reel(rng, 3, 4)
        feeds = [0.03, 0.03, 0.02, 0.02]
        u, touch, datum = 0.004, 0.003, 0.004
        read = ground(reel, feeds, give, rng.normal(0.0, touch)) + rng.normal(0.0, u, reel.shape)
        read += rng.normal(0.0, datum)
        told = learn_grinder(feeds, reel, read, as_left_u=u, shared_u=datum, touch_u=touch, **PRIOR)
        low, high = told.give.interval()
        hits += low <= give <= high
    assert abs(hits / rounds - 0.95) < 3 * math.sqrt(0.95 * 0.05 / rounds)


def test_doubt_about_the_map_as_found_widens_the_answer():
    rng = np.random.default_rng(5)
    reel = a_reel(rng)
    read = ground(reel, FEEDS, 0.6) + rng.normal(0.0, 0.001, reel.shape)
    sharp = learn_grinder(FEEDS, reel, read, as_left_u=0.001, **PRIOR)
    vague = learn_grinder(FEEDS, reel, read, as_left_u=0.001, as_found_u=0.01, **PRIOR)
    assert vague.give.u > sharp.give.u


def test_wheel_loss_teaches_the_g_ratio():
    """A grinding ratio of 40: wheel diameters worked out from the ring's volume, then read without error."""
    reel = np.full((5, 7), 60.0)
    volume = 0.3 * AREA.value
    before = 120.0
    after = 2.0 * math.sqrt(60.0**2 - volume / 40.0 / (math.pi * 10.0))
    wheel = WheelReadings(Measured(before, 0.0005), Measured(after, 0.0005), 10.0)
    told = learn_grinder([0.1] * 3 + [0.0] * 5, reel, reel - 0.3, as_left_u=0.002, wheel=wheel, **PRIOR)
    assert told.told_of_wheel
    assert abs(told.g_ratio.value - 40.0) < 2 * told.g_ratio.u < 6.0
    assert told.wheel_loss.value == pytest.approx((before - after) / 2)
    assert told.volume.value == pytest.approx(volume)


def test_wheel_not_read_afterwards_loses_what_the_believed_ratio_says():
    """A soft wheel, followed pass by pass by hand: the reel is left higher, and the give must not take the blame."""
    ratio = Measured(10.0, 0.5)
    metal, wheel_at, worn = 60.0, 60.0, 0.0
    for _ in range(6):
        wheel_at -= 0.05
        bite = 0.9 * (metal - (wheel_at + worn))
        metal -= bite
        worn += bite * AREA.value / 10.0 / (math.pi * 120.0 * 10.0)
    reel = np.full((5, 7), 60.0)
    wheel = WheelReadings(Measured(120.0, 0.0), None, 10.0)
    known = PRIOR | {"g_ratio": ratio}
    told = learn_grinder([0.05] * 6, reel, np.full((5, 7), metal), as_left_u=0.001, wheel=wheel, **known)
    blind = learn_grinder([0.05] * 6, reel, np.full((5, 7), metal), as_left_u=0.001, **known)
    assert told.wheel_loss is None
    assert told.g_ratio == ratio
    assert abs(told.give.value - 0.9) < 2 * told.give.u
    assert blind.give.value < told.give.value - 0.1


def test_wheel_read_too_coarsely_leaves_the_ratio_as_believed():
    reel = np.full((5, 7), 60.0)
    wheel = WheelReadings(Measured(120.0, 0.1), Measured(119.9, 0.1), 10.0)
    told = learn_grinder([0.1, 0.0, 0.0, 0.0], reel, reel - 0.1, as_left_u=0.002, shared_u=0.02, wheel=wheel, **PRIOR)
    assert not told.told_of_wheel
    assert told.g_ratio.value == pytest.approx(60.0, rel=0.1)


def test_readings_that_no_give_explains_are_said_not_to_fit():
    rng = np.random.default_rng(6)
    reel = a_reel(rng)
    told = learn_grinder(
        FEEDS, reel, ground(reel, FEEDS, 0.6) + rng.normal(0.0, 0.05, reel.shape), as_left_u=0.001, **PRIOR
    )
    assert not told.fits


def test_a_give_held_for_certain_is_not_moved():
    reel = np.full((2, 2), 60.0)
    certain = PRIOR | {"give": Measured(0.8, 0.0)}
    told = learn_grinder([0.05], reel, reel - 0.02, as_left_u=0.001, **certain)
    assert told.give == Measured(0.8, 0.0)


@pytest.mark.parametrize(
    ("change", "wanted"),
    [
        ({"infeeds": []}, NotEnough),
        ({"infeeds": [0.0, 0.0]}, NotEnough),
        ({"infeeds": [-0.1]}, OutOfRange),
        ({"as_left": np.full((2, 2), np.nan)}, NotEnough),
        ({"as_left": np.full((3, 2), 60.0)}, OutOfRange),
        ({"as_left": np.full((2, 2), 6000.0)}, OutOfRange),
        ({"as_left_u": 0.0}, OutOfRange),
        ({"as_left_u": [0.1, 0.1, 0.1]}, OutOfRange),
        ({"as_found_u": -1.0}, OutOfRange),
        ({"shared_u": math.inf}, OutOfRange),
        ({"touch_u": -0.1}, OutOfRange),
        ({"give": Measured(1.4, 0.1)}, OutOfRange),
        ({"g_ratio": Measured(0.0, 0.1)}, OutOfRange),
        ({"wheel": WheelReadings(Measured(120, 0.0), Measured(119, 0.0), 10.0)}, OutOfRange),
        ({"wheel": WheelReadings(Measured(120, 0.1), Measured(119, 0.1), 0.0)}, OutOfRange),
    ],
)
def test_bad_input_is_refused(change, wanted):
    reel = np.full((2, 2), 60.0)
    good = {"infeeds": [0.05], "as_found": reel, "as_left": reel - 0.03, "as_left_u": 0.001} | PRIOR | change
    with pytest.raises(wanted):
        learn_grinder(good.pop("infeeds"), good.pop("as_found"), good.pop("as_left"), **good)


def test_prediction_against_result_names_what_both_hold():
    rows = prediction_against_result(
        {"diameter": Measured(124.18, 0.02), "cone": Measured(0.0, 0.01), "land": Measured(1.3, 0.05)},
        {"cone": Measured(0.05, 0.01), "diameter": Measured(124.19, 0.0), "drag": Measured(1.0, 1.0)},
    )
    assert [row.name for row in rows] == ["diameter", "cone"]
    assert rows[0].consistent
    assert rows[1].deviation == pytest.approx(0.05 / math.sqrt(2e-4))
    assert not rows[1].consistent


def test_exact_figures_agree_exactly_or_not_at_all():
    same, other = prediction_against_result(
        {"a": Measured(1.0, 0.0), "b": Measured(1.0, 0.0)}, {"a": Measured(1.0, 0.0), "b": Measured(0.9, 0.0)}
    )
    assert (same.deviation, same.consistent) == (0.0, True)
    assert (other.deviation, other.consistent) == (-math.inf, False)


def test_nothing_in_common_is_refused():
    with pytest.raises(NotEnough, match="as-left reading"):
        prediction_against_result({"cone": Measured(0.0, 0.1)}, {"land": Measured(1.0, 0.1)})
