import numpy as np
import pytest

from sparkout.core.errors import BelowServiceLimit, OutOfRange
from sparkout.core.grinding.finish import (
    choose_finish,
    finish_radius,
    shares_of_length,
    trade_curve,
    uncleaned_share,
)
from sparkout.core.measured import Measured

RNG = np.random.default_rng(11)
MAP = 60.0 + RNG.normal(0.0, 0.05, (7, 23))
X = np.linspace(0.0, 500.0, 23)
SHARES = shares_of_length(X, 500.0)
LOWEST = Measured(float(MAP.min()), 0.01)


def share_below(radius_map, level, shares):
    """Brute force: one point at a time."""
    total = 0.0
    for row in radius_map:
        for s, r in enumerate(row):
            if r < level - 1e-12:
                total += shares[s] / len(radius_map)
    return total


def test_finish_radius_goes_below_the_nick_and_the_allowance():
    finish = finish_radius(Measured(62.11, 0.02), 0.05, 0.02)
    assert finish.value == pytest.approx(62.04)
    assert finish.u == 0.02


def test_shares_are_the_length_nearest_each_station():
    x = np.array([0.0, 100.0, 400.0])
    dense = np.linspace(0.0, 500.0, 100_001)
    nearest = np.abs(dense[:, None] - x).argmin(axis=1)
    counted = np.bincount(nearest) / dense.size
    np.testing.assert_allclose(shares_of_length(x, 500.0), counted, atol=2e-5)
    assert shares_of_length([250.0], 500.0).tolist() == [1.0]


@pytest.mark.parametrize("stations", [[], [10.0, 10.0], [20.0, 10.0], [[1.0, 2.0]], [-1.0, 5.0], [0.0, 600.0]])
def test_stations_that_cannot_be_are_refused(stations):
    with pytest.raises(OutOfRange, match="stations"):
        shares_of_length(stations, 500.0)


@pytest.mark.parametrize("shares", [None, SHARES])
def test_trade_leaves_at_most_the_share_allowed_and_the_next_point_would_break_it(shares):
    allowed = (0.0, 0.01, 0.02, 0.05, 0.10, 0.5, 1.0)
    along = np.full(23, 1 / 23) if shares is None else shares
    curve = trade_curve(MAP, LOWEST, nick_depth=0.03, allowance=0.02, shares=shares, allowed=allowed)
    for limit, left_out, radius in zip(allowed, curve.uncleaned, curve.finish_radius, strict=True):
        level = radius + 0.05
        assert left_out == pytest.approx(share_below(MAP, level, along), abs=1e-9)
        assert left_out <= limit + 1e-9
        if level < MAP.max() - 1e-12:
            above = MAP[level + 1e-12 < MAP].min()
            assert share_below(MAP, above, along) > limit
    assert curve.kept[0] == 0.0
    assert np.all(np.diff(curve.kept) >= 0.0)


def test_all_levels_move_down_with_a_lowest_point_below_the_map_but_never_up():
    here = trade_curve(MAP, LOWEST)
    lower = trade_curve(MAP, Measured(LOWEST.value - 0.03, 0.01))
    np.testing.assert_allclose(here.finish_radius - lower.finish_radius, 0.03)
    higher = trade_curve(MAP, Measured(LOWEST.value + 0.5, 0.01))
    np.testing.assert_allclose(here.finish_radius, higher.finish_radius)


@pytest.mark.parametrize("finish", [59.9, 60.0, 60.03])
def test_uncleaned_share_counts_the_length_too_low(finish):
    counted = share_below(MAP, finish + 0.02, SHARES)
    assert uncleaned_share(MAP, finish, depth_needed=0.02, shares=SHARES) == pytest.approx(counted, abs=1e-9)


def test_finish_keeps_its_uncertainty_and_share():
    finish = choose_finish(MAP, LOWEST, 118.0, allowed_share=0.05, shares=SHARES)
    assert finish.radius.u == 0.01
    assert 0.0 < finish.uncleaned_share <= 0.05


def test_below_service_offers_less_allowance_and_a_share_left_uncleaned_that_do_fit():
    service = 2.0 * (LOWEST.value - 0.015)
    with pytest.raises(BelowServiceLimit) as refused:
        choose_finish(MAP, LOWEST, service, shares=SHARES)
    text = refused.value.instead
    assert "no more than 0.01" in text
    percent = float(text.split("leave ")[1].split(" %")[0])
    assert choose_finish(MAP, LOWEST, service, allowed_share=percent / 100, shares=SHARES).radius.value >= service / 2
    assert choose_finish(MAP, LOWEST, service, allowance=0.014, shares=SHARES).radius.value >= service / 2


def test_far_below_service_only_a_share_or_a_new_reel_is_offered():
    with pytest.raises(BelowServiceLimit) as refused:
        choose_finish(MAP, LOWEST, 2.0 * 60.0, shares=SHARES)
    assert "allowance" not in refused.value.instead
    assert "replace the reel" in refused.value.instead


def test_share_offer_is_dropped_when_even_the_highest_point_lacks_the_allowance():
    with pytest.raises(BelowServiceLimit) as refused:
        choose_finish(MAP, LOWEST, 2.0 * float(MAP.max()) - 0.01, shares=SHARES)
    assert refused.value.instead == "replace the reel"


def test_a_reel_wholly_below_the_limit_is_replaced():
    with pytest.raises(BelowServiceLimit, match="already"):
        choose_finish(MAP, LOWEST, 2.0 * float(MAP.max()) + 0.01)
