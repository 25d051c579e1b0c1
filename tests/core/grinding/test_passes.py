"""The simulation against a plain loop over single points, which shares no code and no closed form with it."""

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.core.grinding.passes import WheelWear, simulate


def plain_loop(heights, wheel, give, shares=None):
    """One point at a time, in the direct coordinates: what `simulate` must equal."""
    points = [list(map(float, row)) for row in heights]
    blades, stations = len(points), len(points[0])
    share = [1.0 / stations] * stations if shares is None else list(shares)
    touched, largest, mean = [], [], []
    for u in wheel:
        t, most, total = 0.0, 0.0, 0.0
        for row in points:
            for s in range(stations):
                rim = u if np.isscalar(u) else u[s]
                over = row[s] - rim
                if over > 1e-12:
                    t += share[s] / blades
                    most = max(most, give * over)
                    total += give * over * share[s] / blades
                    row[s] -= give * over
        touched.append(t)
        largest.append(most)
        mean.append(total)
    return np.array(touched), np.array(largest), np.array(mean), np.array(points)


def a_reel(seed=0, blades=5, stations=13):
    rng = np.random.default_rng(seed)
    return 60.0 + rng.normal(0.0, 0.05, (blades, stations)) + 0.1 * np.linspace(-1, 1, stations)


def a_feed(reel, passes=25, sparks=3):
    steps = np.linspace(0.0, 0.35, passes)
    return np.concatenate([reel.max() - steps, np.full(sparks, reel.max() - 0.35)])


def agree(done, wanted):
    touched, largest, mean, left = wanted
    np.testing.assert_allclose(done.left, left, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(done.largest_bite, largest, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(done.mean_bite, mean, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(done.touched, touched, rtol=0.0, atol=1e-12)


@pytest.mark.parametrize("give", [0.05, 0.3, 0.7, 1.0])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_closed_form_equals_the_plain_loop(give, seed):
    reel = a_reel(seed)
    wheel = a_feed(reel)
    done = simulate(reel, wheel, give)
    agree(done, plain_loop(reel, wheel.tolist(), give))
    assert done.by_station is None


def test_closed_form_equals_the_plain_loop_with_unequal_shares():
    reel = a_reel(3)
    shares = np.random.default_rng(4).uniform(0.5, 1.5, reel.shape[1])
    shares /= shares.sum()
    wheel = a_feed(reel)
    agree(simulate(reel, wheel, 0.7, shares=shares), plain_loop(reel, wheel.tolist(), 0.7, shares))


@pytest.mark.parametrize("give", [0.3, 0.7, 1.0])
def test_wheel_that_backs_off_equals_the_plain_loop(give):
    reel = a_reel(5)
    wheel = np.concatenate([a_feed(reel), a_feed(reel)[::-1], a_feed(reel)])
    done = simulate(reel, wheel, give)
    agree(done, plain_loop(reel, wheel.tolist(), give))
    assert done.by_station is not None


def test_shaped_wheel_equals_the_plain_loop():
    reel = a_reel(6)
    shape = 0.02 * np.linspace(0.0, 1.0, reel.shape[1]) ** 2
    wheel = a_feed(reel)[:, None] + shape
    shares = np.full(reel.shape[1], 1.0 / reel.shape[1])
    shares[0], shares[1] = 0.5 * shares[0], 1.5 * shares[1]
    agree(simulate(reel, wheel, 0.6, shares=shares), plain_loop(reel, wheel, 0.6, shares))


def test_both_routes_agree():
    reel = a_reel(7, 11, 40)
    wheel = a_feed(reel)
    closed = simulate(reel, wheel, 0.7, area=3.0)
    stepped = simulate(reel, wheel, 0.7, area=np.full(40, 3.0 / 40))
    np.testing.assert_allclose(closed.left, stepped.left, rtol=0, atol=1e-12)
    np.testing.assert_allclose(closed.volume, stepped.volume, rtol=0, atol=1e-12)


def test_untouched_points_keep_every_bit_and_nothing_falls_below_the_wheel():
    reel = a_reel(8)
    for wheel in (a_feed(reel), a_feed(reel)[:, None] + np.zeros(reel.shape[1])):
        left = simulate(reel, wheel, 0.7).left
        under = reel <= wheel.min()
        assert under.any()
        assert np.array_equal(left[under], reel[under])
        assert np.all(left[~under] >= wheel.min())


def wearing_plain_loop(heights, wheel, give, recession, one_way, made_good, rounds=400):
    """Station by station in the wheel's direction; its own half loss found by plain repetition."""
    points = np.array(heights, dtype=float)
    worn, losses = 0.0, []
    for p, u in enumerate(wheel):
        if p < made_good:
            worn = 0.0
        order = range(points.shape[1]) if one_way or p % 2 == 0 else range(points.shape[1] - 1, -1, -1)
        lost = 0.0
        for s in order:
            here = 0.0
            for _ in range(rounds):
                bite = give * np.maximum(points[:, s] - (u + worn + lost + 0.5 * here), 0.0)
                here = recession[s] * bite.mean()
            points[:, s] -= bite
            lost += here
        worn += lost
        losses.append(lost)
    return points, np.array(losses)


@pytest.mark.parametrize(("one_way", "made_good"), [(True, 0), (False, 0), (True, 28), (False, 25)])
def test_wearing_wheel_equals_the_plain_loop(one_way, made_good):
    reel = a_reel(9)
    wheel = a_feed(reel)
    recession = np.full(reel.shape[1], 0.02 / reel.shape[1])  # twenty times a workshop's, to be seen
    done = simulate(reel, wheel, 0.7, wheel_wear=WheelWear(recession, one_way, made_good))
    left, losses = wearing_plain_loop(reel, wheel, 0.7, recession, one_way, made_good, rounds=30)
    np.testing.assert_allclose(done.wheel_loss, losses, rtol=1e-8, atol=1e-13)
    np.testing.assert_allclose(done.left, left, rtol=0, atol=1e-11)


def cone_left(one_way):
    true = np.full((8, 101), 60.0)
    wheel = 60.0 - np.arange(1, 21) * 0.01
    wear = WheelWear(np.full(101, 0.02 / 101), one_way, made_good=20)
    left = simulate(true, wheel, 1.0, wheel_wear=wear).left
    return 2.0 * float(left[0, -1] - left[0, 0])


def test_one_way_traverse_grinds_a_cone_of_twice_the_loss_large_where_it_ends():
    """Steady state by hand: with no give left, each pass takes the infeed of 0.01 mm off every point, so the wheel
    loses 0.02 x 0.01 = 0.2 um from end to end of a traverse, and the reel keeps twice that as cone."""
    assert cone_left(one_way=True) == pytest.approx(2 * 0.02 * 0.01, rel=0.03)


def test_turning_back_each_time_leaves_the_last_traverse_only():
    """Where nothing gives, the last traverse shapes the reel: same size, other end, since it ran from the right."""
    assert cone_left(one_way=False) == pytest.approx(-2 * 0.02 * 0.01, rel=0.06)


def test_spark_out_in_both_directions_removes_most_of_that_cone():
    true = np.full((8, 101), 60.0)
    wheel = np.concatenate([60.0 - np.arange(1, 21) * 0.01, np.full(6, 59.8)])
    recession = np.full(101, 0.02 / 101)
    ends = {}
    for one_way in (True, False):
        left = simulate(true, wheel, 0.7, wheel_wear=WheelWear(recession, one_way, made_good=20)).left
        ends[one_way] = abs(2.0 * float(left[0, -1] - left[0, 0]))
    assert ends[False] < 0.25 * ends[True]


def test_a_wheel_softer_than_its_work_is_refused():
    reel = a_reel()
    with pytest.raises(Refusal, match="G-ratio"):
        simulate(reel, a_feed(reel), 0.7, wheel_wear=WheelWear(np.full(reel.shape[1], 1e3)))


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"heights": [60.0, 60.1]}, "heights"),
        ({"heights": np.empty((0, 3))}, "heights"),
        ({"heights": [[60.0, np.nan]]}, "heights"),
        ({"wheel": []}, "wheel"),
        ({"wheel": [[60.0, 60.0, 60.0]]}, "wheel"),
        ({"wheel": [[[60.0]]]}, "wheel"),
        ({"wheel": [-1.0]}, "wheel"),
        ({"give": 0.0}, "give"),
        ({"give": 1.2}, "give"),
        ({"shares": [0.5, 0.2]}, "shares"),
        ({"shares": [1.0]}, "shares"),
        ({"area": [1.0, 2.0, 3.0]}, "area"),
        ({"area": -1.0}, "area"),
    ],
)
def test_bad_input_is_named(change, named):
    good = {"heights": [[60.0, 60.1]], "wheel": [60.05], "give": 0.7, "shares": None, "area": 1.0} | change
    with pytest.raises(OutOfRange, match=named):
        simulate(good["heights"], good["wheel"], good["give"], shares=good["shares"], area=good["area"])
