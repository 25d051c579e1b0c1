"""Growth between cuts: the trade reference's sums, a lawn grown day by day, and plans that are refused."""

import math

import pytest

from sparkout.core.cut.growth import DAY, ONE_THIRD, Rule, TooMuchAtOnce, cuts_to_lower, growth_rate, mowing_plan
from sparkout.core.errors import Contradiction, NotEnough, OutOfRange

A_DAY = 1.0 / DAY


@pytest.mark.parametrize(("height", "growth"), [(4.0, 2.0), (12.0, 6.0), (3.2, 1.6)])
def test_growth_the_rule_allows(height: float, growth: float) -> None:
    """Trade reference 3.4: mow when the grass stands at one and a half times the height."""
    plan = mowing_plan(A_DAY, height=height, share=1 / 3)
    assert plan.growth == pytest.approx(growth)
    assert plan.standing == pytest.approx(1.5 * height)
    assert plan.interval / DAY == pytest.approx(growth)


def test_any_two_fix_the_third() -> None:
    by_share = mowing_plan(0.7 * A_DAY, height=5.0, share=0.2)
    by_interval = mowing_plan(0.7 * A_DAY, height=5.0, interval=by_share.interval)
    by_both = mowing_plan(0.7 * A_DAY, interval=by_share.interval, share=0.2)
    assert by_interval[:4] == pytest.approx(by_share[:4])
    assert by_both[:4] == pytest.approx(by_share[:4])


def test_three_that_agree_are_a_plan_and_three_that_do_not_are_refused() -> None:
    assert mowing_plan(A_DAY, height=4.0, interval=2 * DAY, share=0.333).share == pytest.approx(1 / 3)
    with pytest.raises(
        Contradiction, match=r"height and interval and share .*at 4 mm every 1 days a cut takes 20 %, not 30 %"
    ):
        mowing_plan(A_DAY, height=4.0, interval=DAY, share=0.3)


@pytest.mark.parametrize("given", [{}, {"height": 4.0}, {"interval": DAY}, {"share": 0.2}])
def test_fewer_than_two_are_not_enough(given: dict[str, float]) -> None:
    with pytest.raises(NotEnough, match="two of height, interval and share"):
        mowing_plan(A_DAY, **given)


def test_too_much_at_once_names_the_rule_and_the_nearest_plans_that_it_allows() -> None:
    with pytest.raises(TooMuchAtOnce, match="Grounds Management Association") as refused:
        mowing_plan(A_DAY, height=4.0, interval=7 * DAY)
    oftener, higher = refused.value.nearest
    assert "every 2 days at 4 mm, or 14 mm every 7 days" in str(refused.value)
    assert (oftener.height, oftener.interval / DAY) == pytest.approx((4.0, 2.0))
    assert (higher.height, higher.interval / DAY) == pytest.approx((14.0, 7.0))
    for plan in (oftener, higher):
        again = mowing_plan(A_DAY, height=plan.height, interval=plan.interval)
        assert again.share == pytest.approx(1 / 3), "allowed, and only just"
    assert refused.value.asked.share == pytest.approx(7 / 11)


def test_a_workshop_may_have_its_own_rule() -> None:
    house = Rule(0.25, "house: fescue greens")
    with pytest.raises(TooMuchAtOnce, match=r"allows 25 % \(house: fescue greens\)"):
        mowing_plan(A_DAY, height=4.0, share=0.3, rule=house)
    assert mowing_plan(A_DAY, height=4.0, share=0.25, rule=house).rule is house


def test_growth_from_two_heights() -> None:
    assert growth_rate(4.0, 5.5, 3 * DAY) * DAY == pytest.approx(0.5)
    with pytest.raises(Contradiction, match="does not get shorter"):
        growth_rate(5.0, 4.0, DAY)


def test_lowering_never_breaks_the_rule_on_grass_grown_hour_by_hour() -> None:
    """Brute force: let the grass grow in small steps between the cuts, and look at what each cut takes."""
    growth, interval, standing = 0.6 * A_DAY, 2 * DAY, 30.0
    cuts = cuts_to_lower(standing, 5.0, growth, interval)
    assert cuts[-1] == 5.0
    for height in cuts:
        taken = (standing - height) / standing
        assert taken <= ONE_THIRD.share + 1e-4
        assert height == 5.0 or taken == pytest.approx(ONE_THIRD.share)
        standing = height
        for _ in range(1000):
            standing += growth * interval / 1000


def test_lowering_what_is_low_already_takes_one_cut_and_without_growth_it_goes_by_thirds() -> None:
    assert cuts_to_lower(5.0, 4.9, A_DAY, DAY) == (4.9,)
    assert cuts_to_lower(27.0, 8.0, 0.0, DAY) == pytest.approx((18.0, 12.0, 8.0))


def test_a_height_just_held_by_the_rule_is_reached() -> None:
    """At the rule's very edge every cut halves the rest only; a ten-thousandth off counts as there."""
    cuts = cuts_to_lower(12.0, 4.0, A_DAY, 2 * DAY)
    assert cuts[-1] == 4.0
    assert len(cuts) < 40


def test_a_height_that_cannot_be_held_is_refused() -> None:
    with pytest.raises(TooMuchAtOnce):
        cuts_to_lower(12.0, 4.0, A_DAY, 3 * DAY)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: mowing_plan(0.0, height=4.0, share=0.2), "growth"),
        (lambda: mowing_plan(A_DAY, height=0.0, share=0.2), "height"),
        (lambda: mowing_plan(A_DAY, height=4.0, interval=math.inf), "interval"),
        (lambda: mowing_plan(A_DAY, height=4.0, share=1.0), "share"),
        (lambda: mowing_plan(1e-9 * A_DAY, height=4.0, share=0.3), "interval"),
        (lambda: mowing_plan(A_DAY, height=4.0, share=0.2, rule=Rule(0.0, "house")), "rule"),
        (lambda: growth_rate(0.0, 5.0, DAY), "first_height"),
        (lambda: growth_rate(4.0, 5.0, 0.0), "interval"),
        (lambda: cuts_to_lower(0.0, 4.0, A_DAY, DAY), "standing"),
        (lambda: cuts_to_lower(5.0, 6.0, A_DAY, DAY), "height"),
        (lambda: cuts_to_lower(5.0, 4.0, -A_DAY, DAY), "growth"),
        (lambda: cuts_to_lower(5.0, 4.0, 0.0, 0.0), "interval"),
    ],
)
def test_refusals_name_the_argument(call, named: str) -> None:
    with pytest.raises(OutOfRange, match=rf"^{named}"):
        call()
