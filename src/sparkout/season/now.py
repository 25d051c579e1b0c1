"""The season as it stands on a day: forecast, work and, with a plan, everything that is told of it at every door."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from sparkout.core.errors import NotEnough, Refusal
from sparkout.core.season.cost import Spending
from sparkout.core.season.plan import CostParts, Plan, Progress, cost_parts
from sparkout.season.budget import BudgetAhead, budget_ahead
from sparkout.season.edges import EdgesTold, edges_told
from sparkout.season.forecast import BOUGHT, Forecast, UnitAhead, UnitNow, forecast
from sparkout.season.placing import Placed, Week, days_of, placed, weeks
from sparkout.season.reel_choice import ReelChoice, choice_or_why, luck
from sparkout.season.sheet import SeasonSheet
from sparkout.season.spend import PartAhead, hectares_ahead, parts_ahead, spent
from sparkout.season.wearing import Ends
from sparkout.season.work import Work, moved, plan_kept, plan_of, work_of

NEAR = 1.0
"""mm of diameter above its limit, below which a reel is near it. Own choice."""


@dataclass(frozen=True)
class SeasonNow:
    """What is known on a day, before any plan."""

    sheet: SeasonSheet
    today: datetime.date
    forecast: Forecast
    work: Work | None
    trouble: str
    """Why there is no work to plan; empty where there is."""

    def due_on(self, one: UnitAhead) -> datetime.date | None:
        """Return the date on which a unit's next sharpening is due; None where that is not known."""
        return None if one.due is None else self.date(one.due.day)

    def date(self, days: float) -> datetime.date | None:
        """Return the date so many days from today; None where that is no day a calendar has."""
        try:
            return self.today + datetime.timedelta(days=days)
        except (OverflowError, ValueError):
            return None

    @cached_property
    def parts(self) -> tuple[PartAhead, ...]:
        """Which reels and knives the season will take, and what to order when."""
        units = [
            (one.unit.name, each.bought_as(one.unit), each.ends)
            for one in self.forecast.units
            for each in one.wears
            if each.wearing.quantity in BOUGHT
        ]
        return parts_ahead(units, self.sheet, self.today, self.start, max(1, -(-(self.end - self.start).days // 7)))

    @cached_property
    def edges(self) -> EdgesTold | None:
        """What makes an edge last longer or less long here; None where too few edges went to tell."""
        return edges_told([one.unit for one in self.forecast.units])

    @cached_property
    def reel_choices(self) -> dict[str, ReelChoice | Refusal]:
        """Grind or replace, by unit, of those whose reel may reach its limit within the season or is near it."""
        season, drawn = (self.end - self.today).days, luck()
        return {
            one.unit.name: choice_or_why(self.forecast, one, self.sheet, drawn)
            for one in self.forecast.units
            if one.ends is not None and _ends_soon(one.ends, one.unit.limit, season)
        }

    @property
    def start(self) -> datetime.date:
        """The first day that is still to come of the season."""
        return max(self.sheet.start or self.today, self.today)

    @property
    def end(self) -> datetime.date:
        """The day after the season's last."""
        return (self.sheet.start or self.today) + datetime.timedelta(weeks=self.sheet.weeks)

    @cached_property
    def budget(self) -> BudgetAhead:
        """What the season will cost, with its uncertainty; no plan is needed for it."""
        return budget_ahead(self.forecast, self.sheet, self.parts, self.today, self.start, self.end)

    @property
    def needed(self) -> Work:
        """The work.

        Raises
        ------
        NotEnough
            Where there is none, and why.
        """
        if self.work is None:
            raise self.refusal
        return self.work

    @property
    def refusal(self) -> NotEnough:
        """What is said when a plan is asked for and there is no work to plan."""
        made = NotEnough("", "")
        made.args = (self.trouble,)
        return made


@dataclass(frozen=True)
class SeasonPlanned:
    """A plan of the season, told job by job."""

    now: SeasonNow
    plan: Plan
    placed: tuple[Placed, ...]
    weeks: tuple[Week, ...]
    parts: CostParts

    @cached_property
    def spent(self) -> Spending:
        """What the planned work costs."""
        hectares = hectares_ahead(self.now.forecast, self.now.needed.season.days)
        return spent(self.placed, self.parts.overtime, self.now.sheet, hectares)

    @property
    def late(self) -> tuple[Placed, ...]:
        """The jobs done after they are due or not at all."""
        return tuple(one for one in self.placed if one.is_late)


def season_now(sheet: SeasonSheet, units: Sequence[UnitNow], today: datetime.date) -> SeasonNow:
    """Return the season as it stands: what is due when, and the work there is, or why there is none to plan."""
    ahead = forecast(units, sheet)
    try:
        return SeasonNow(sheet, today, ahead, work_of(ahead, sheet, today), "")
    except NotEnough as why:
        return SeasonNow(sheet, today, ahead, None, why.words)


def told(now: SeasonNow, plan: Plan) -> SeasonPlanned:
    """Return a plan with all that is told of it."""
    work = now.needed
    return SeasonPlanned(now, plan, placed(work, plan), weeks(work, plan), cost_parts(plan))


def planned(
    now: SeasonNow,
    seconds: float = 10.0,
    before: Sequence[Placed] = (),
    progress: Callable[[Progress], bool] | None = None,
) -> SeasonPlanned:
    """Return the plan of the season; with an earlier plan's placements, one that changes as few of them as pays.

    Raises
    ------
    NotEnough
        No work to plan, and why.
    """
    work = now.needed
    return told(now, plan_of(work, seconds, days_of(before, work.start) or None, progress))


def held(now: SeasonNow, made: Sequence[Placed], bound: float = 0.0) -> SeasonPlanned:
    """Return a plan that was kept as it stands today: its days, choices by hand going before them."""
    work = now.needed
    return told(now, plan_kept(work, _with_choices(work, days_of(made, work.start)), bound))


def moved_to(now: SeasonNow, made: Sequence[Placed], job: str, on: datetime.date) -> SeasonPlanned:
    """Return the plan with one job on another date and all others where they are: what a move would cost."""
    work = now.needed
    days = _with_choices(work, days_of(made, work.start))
    return told(now, moved(work, days, job, (on - work.start).days))


def _with_choices(work: Work, days: Mapping[str, int]) -> dict[str, int]:
    return {**days, **{job.unit: job.fixed for job in work.season.jobs if job.fixed is not None}}


def _ends_soon(ends: Ends, limit: float | None, season: float) -> bool:
    """Whether a reel reaches its limit within so many days with a chance of 5 % or more, or is near it."""
    return any(days <= season for days in ends.days[:1]) or ends.value - (limit or 0.0) < NEAR
