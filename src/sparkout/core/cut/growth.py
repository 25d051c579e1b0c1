"""Growth between cuts, and the rule on how much of the grass one cut may take. Imports `math` only."""

from __future__ import annotations

from typing import NamedTuple

from sparkout.core.errors import Contradiction, NotEnough, Refusal, within
from sparkout.core.phrase import phrase

DAY = 86_400.0
"""s."""
AGREES = 0.01
"""Share by which height, interval and share may disagree when all three are given: readings are rounded."""
_TALLEST = 1_000.0
_LONGEST = 400 * DAY
_FASTEST_GROWTH = 200.0 / DAY


class Rule(NamedTuple):
    """The largest share of the standing grass one cut may take, and where the rule comes from."""

    share: float
    origin: str


ONE_THIRD = Rule(
    1.0 / 3.0,
    phrase("practice: never more than a third at one cut (Grounds Management Association, mowing the square; Cornell)"),
)
"""Advice, not a law: some hold it loosely on greens cut daily. A workshop may put its own rule in its place."""


class MowingPlan(NamedTuple):
    """Height kept, time between cuts, growth over it, and the share of the standing grass each cut takes."""

    height: float
    """H after the cut, mm."""
    interval: float
    """T, s."""
    growth: float
    """mm grown between cuts."""
    share: float
    """growth / (H + growth)."""
    rule: Rule = ONE_THIRD

    @property
    def standing(self) -> float:
        """Height the grass stands at before the cut, mm."""
        return self.height + self.growth


class TooMuchAtOnce(Refusal):
    """A plan that takes more than the rule allows; `nearest` holds the plans that would be allowed, one change each."""

    def __init__(self, asked: MowingPlan, nearest: tuple[MowingPlan, MowingPlan]) -> None:
        self.asked = asked
        self.nearest = nearest
        oftener, higher = nearest
        super().__init__(
            phrase(
                "each cut would take {share:.3g} % of the grass standing; the rule allows {most:.3g} % ({origin}). "
                "Instead: every {days:.3g} days at {height:.3g} mm, or {higher:.3g} mm every {asked_days:.3g} days",
                share=100.0 * asked.share,
                most=100.0 * asked.rule.share,
                origin=asked.rule.origin,
                days=oftener.interval / DAY,
                height=oftener.height,
                higher=higher.height,
                asked_days=higher.interval / DAY,
            )
        )


def growth_rate(first_height: float, second_height: float, interval: float) -> float:
    """Return the growth of uncut grass, mm/s, from its height measured twice.

    Equation: g = (h2 - h1) / T.

    Raises
    ------
    OutOfRange
        For any argument outside its range.
    Contradiction
        When the second height is below the first: the grass was cut or laid over in between.

    Validity: the mean over the interval; growth follows season, water and feeding.

    Examples
    --------
    >>> round(growth_rate(4.0, 5.2, 2 * DAY) * DAY, 3)
    0.6

    References
    ----------
    Definition.
    """
    first = within("first_height", first_height, 0.0, _TALLEST, "mm", above=True)
    second = within("second_height", second_height, 0.0, _TALLEST, "mm", above=True)
    time = within("interval", interval, 0.0, _LONGEST, "s", above=True)
    if second < first:
        raise Contradiction(("first_height", "second_height"), phrase("uncut grass does not get shorter"))
    return (second - first) / time


def mowing_plan(
    growth: float,
    *,
    height: float | None = None,
    interval: float | None = None,
    share: float | None = None,
    rule: Rule = ONE_THIRD,
) -> MowingPlan:
    """Return the mowing plan that two of height, interval and share fix, when the rule allows it.

    Equation: share = g T / (H + g T). With s the share: T = H s / (g (1 - s)), H = g T (1 - s) / s.

    Parameters
    ----------
    growth
        g, mm/s, above 0.
    height
        H kept, mm.
    interval
        T between cuts, s.
    share
        Share of the standing grass each cut takes, above 0 and below 1.
    rule
        The largest share allowed and its origin; `ONE_THIRD` unless the workshop has its own.

    Raises
    ------
    OutOfRange
        For any number outside its range.
    NotEnough
        When fewer than two of the three are given.
    Contradiction
        When all three are given and do not agree within 1 %: any two fix the third.
    TooMuchAtOnce
        When the plan would take more than the rule allows; names the nearest plans that it would allow.

    Validity: even growth; the sum knows nothing of stress, thatch or play.

    Examples
    --------
    A green at 4 mm that grows 1 mm a day:

    >>> plan = mowing_plan(1.0 / DAY, height=4.0, share=1 / 3)
    >>> round(plan.interval / DAY, 3), round(plan.growth, 3)
    (2.0, 2.0)

    References
    ----------
    Over-specified: Hermann, Mowing management, New Jersey sports-field newsletter (any two fix the third). Rule: see
    `ONE_THIRD`.
    """
    rate = within("growth", growth, 0.0, _FASTEST_GROWTH, "mm/s", above=True)
    most = within("rule", rule.share, 0.0, 0.95, above=True)
    kept = None if height is None else within("height", height, 0.0, _TALLEST, "mm", above=True)
    time = None if interval is None else within("interval", interval, 0.0, _LONGEST, "s", above=True)
    taken = None if share is None else within("share", share, 0.0, 0.99, above=True)
    plan = _two_fix_the_third(rate, kept, time, taken, rule)
    if plan.share > most * (1.0 + 1e-9):
        factor = plan.growth * (1.0 - most) / (plan.height * most)
        raise TooMuchAtOnce(
            plan,
            (
                MowingPlan(plan.height, plan.interval / factor, plan.growth / factor, most, rule),
                MowingPlan(plan.height * factor, plan.interval, plan.growth, most, rule),
            ),
        )
    return plan


def _two_fix_the_third(
    rate: float, height: float | None, interval: float | None, share: float | None, rule: Rule
) -> MowingPlan:
    if height is not None and interval is not None:
        grown = rate * interval
        takes = grown / (height + grown)
        if share is not None and abs(share - takes) > AGREES * takes:
            raise Contradiction(
                ("height", "interval", "share"),
                phrase(
                    "any two fix the third: at {height:.3g} mm every {days:.3g} days a cut takes {takes:.3g} %, "
                    "not {share:.3g} %; leave one of them out",
                    height=height,
                    days=interval / DAY,
                    takes=100.0 * takes,
                    share=100.0 * share,
                ),
            )
        return MowingPlan(height, interval, grown, takes, rule)
    if share is None or (height is None and interval is None):
        raise NotEnough(phrase("mowing plan"), phrase("two of height, interval and share"))
    if height is not None:
        grown = height * share / (1.0 - share)
        return MowingPlan(height, within("interval", grown / rate, 0.0, _LONGEST, "s"), grown, share, rule)
    assert interval is not None
    grown = rate * interval
    return MowingPlan(grown * (1.0 - share) / share, interval, grown, share, rule)


def cuts_to_lower(
    standing: float, height: float, growth: float, interval: float, rule: Rule = ONE_THIRD
) -> tuple[float, ...]:
    """Return the height of each cut, mm, that brings grown-out grass down to a height without breaking the rule.

    Equation: h1 = max(H, (1 - s) S), then h_k = max(H, (1 - s)(h_(k-1) + g T)) until H is reached to a ten-thousandth.

    Parameters
    ----------
    standing
        S, height the grass stands at now, mm.
    height
        H wanted, mm.
    growth, interval
        g, mm/s, 0 or more, and T between the cuts, s.
    rule
        As `mowing_plan`.

    Raises
    ------
    OutOfRange
        For any argument outside its range.
    TooMuchAtOnce
        When the height cannot be held at this interval without breaking the rule, so it is never reached.

    Examples
    --------
    Back from 12 mm to 4 mm, a cut every second day at 0.5 mm a day:

    >>> [round(h, 2) for h in cuts_to_lower(12.0, 4.0, 0.5 / DAY, 2 * DAY)]
    [8.0, 6.0, 4.67, 4.0]

    References
    ----------
    Arithmetic of the rule; see `ONE_THIRD`.
    """
    now = within("standing", standing, 0.0, _TALLEST, "mm", above=True)
    wanted = within("height", height, 0.0, now, "mm", above=True)
    rate = within("growth", growth, 0.0, _FASTEST_GROWTH, "mm/s")
    time = within("interval", interval, 0.0, _LONGEST, "s", above=True)
    if rate > 0.0:
        mowing_plan(rate, height=wanted, interval=time, rule=rule)
    left = 1.0 - within("rule", rule.share, 0.0, 0.95, above=True)
    heights = [_reached(left * now, wanted)]
    while heights[-1] > wanted:
        heights.append(_reached(left * (heights[-1] + rate * time), wanted))
    return tuple(heights)


def _reached(allowed: float, wanted: float) -> float:
    """Return the lowest height the rule allows, or the one wanted once that is near: at the rule's very edge the cuts
    would only creep up to it for ever."""
    return wanted if allowed <= wanted * 1.0001 else allowed
