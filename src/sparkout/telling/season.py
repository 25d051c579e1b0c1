"""The season in words: what is due, the plan by day, what is late and why, load, orders and cost."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, Phrase, counted, joined, phrase
from sparkout.season.placing import tally
from sparkout.season.sand import COVERAGE, EVENT_WORDS
from sparkout.telling.season_edges import tell_edges
from sparkout.telling.season_money import tell_budget, tell_orders, tell_spend
from sparkout.telling.season_reels import tell_choices
from sparkout.telling.season_wear import tell_wear, within
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Sequence

    from sparkout.season.forecast import Forecast, UnitAhead
    from sparkout.season.now import SeasonNow, SeasonPlanned
    from sparkout.season.placing import Placed
    from sparkout.season.sand import EventCost
    from sparkout.showing import Showing

PHASE_WORDS = {
    "travel": phrase("fetch and bring back"),
    "strip": phrase("strip"),
    "spin": phrase("spin grind"),
    "relief": phrase("relief grind"),
    "knife": phrase("knife grind"),
    "set": phrase("set"),
}
"""Phases in the trade's words."""
MIDDLE = 2
"""The place of the middle among `CHANCES`."""


def tell_due(now: SeasonNow, showing: Showing) -> tuple[Section, ...]:
    """Return what is due when, and what of the sheet nothing answers to."""
    rows = tuple(_due_row(now, one, showing) for one in _by_day(now))
    head = (
        phrase("unit"), phrase("machine"), phrase("next sharpening"), phrase("after hours"), phrase("diameter now"),
        phrase("reel at its limit, 90 % between"), phrase("wanted for more"),
    )  # fmt: skip
    lines: list[str] = [phrase("interval between sharpenings: {source}", source=now.forecast.interval_from)]
    lines += [*interval_told(now.forecast), *sand_told(now.forecast, showing)]
    due = Section("due", phrase("What is due"), tuple(lines), (Table(head, rows),))
    notes: list[str] = [] if now.work is None else list(now.work.notes)
    if now.trouble:
        notes.insert(0, now.trouble)
    asked = (Section("notes", phrase("To look at"), tuple(notes)),) if notes else ()
    money = (*tell_orders(now, showing), *tell_choices(now, showing), tell_budget(now, showing))
    told = (due, tell_wear(now, showing), *tell_edges(now, showing), *money, *asked)
    own = with_names(now, showing)
    return tuple(section.said(own) for section in told)


def tell_plan(planned: SeasonPlanned, showing: Showing) -> tuple[Section, ...]:
    """Return the plan by day, what is late and why, how good it is, the load of each week and what it costs."""
    told = (
        Section("plan", phrase("Plan by day"), (how_good(planned, showing),), (_days(planned.placed),)),
        Section("late", phrase("Late or left undone"), tuple(map(why_told, planned.late)) or (phrase("nothing"),)),
        Section("load", phrase("Load by week"), (), (_load(planned, showing),)),
        tell_spend(planned, showing),
    )
    own = with_names(planned.now, showing)
    return tuple(section.said(own) for section in told)


def with_names(now: SeasonNow, showing: Showing) -> Showing:
    """Return the showing that leaves the workshop's own names as they were typed."""
    names = {
        name for one in now.forecast.units for name in (one.unit.name, one.unit.machine, one.unit.place, one.unit.duty)
    }
    names |= {edge.who for one in now.forecast.units for edge in one.unit.edges if edge.who}
    names |= {each.name for each in now.sheet.people} | {each.name for each in now.sheet.grinders}
    return replace(showing, kept=tuple(sorted(name for name in names if showing.say(name) != name)))


def how_good(planned: SeasonPlanned, showing: Showing) -> str:
    """Return how good a plan is: its cost, the proven bound and the gap between them."""
    plan = planned.plan
    jobs = counted(len(planned.placed), "{n} job", "{n} jobs")
    late = counted(len(planned.late), "{n} late", "{n} late")
    cost = showing.figure(plan.cost, 0)
    if plan.bound > 0.0 or plan.cost <= 0.0:
        told = phrase(
            "{jobs}, {late}; cost {cost}, no plan can cost less than {bound}: gap {gap}",
            jobs=jobs, late=late, cost=cost, bound=showing.figure(plan.bound, 0), gap=showing.share(plan.gap, 1),
        )  # fmt: skip
    else:
        told = phrase(
            "{jobs}, {late}; cost {cost}; how good a plan can be is not proven yet", jobs=jobs, late=late, cost=cost
        )
    if not plan.cannot:
        return told
    cannot = counted(len(plan.cannot), "{n} fits no day", "{n} fit no day")
    return phrase("{told}; {cannot}: not in the cost", told=told, cannot=cannot)


def tell_what_ifs(named: Sequence[tuple[str, SeasonPlanned]], showing: Showing) -> Section:
    """Return plans side by side: what each comes to."""
    head = (
        phrase("what if"), phrase("jobs"), phrase("late"), phrase("days late"), phrase("cost"), phrase("bound"),
        phrase("gap"), phrase("money for the work"),
    )  # fmt: skip
    rows = []
    for name, one in named:
        told = tally(one.placed)
        figures = (one.plan.cost, one.plan.bound)
        rows.append((
            AsTyped(name), str(told.jobs), str(len(one.late)), str(told.days_late),
            *(showing.figure(value, 0) for value in figures), showing.share(one.plan.gap, 1),
            showing.figure(one.spent.total, 0),
        ))  # fmt: skip
    return Section("what if", phrase("Side by side"), (), (Table(head, tuple(rows)),)).said(showing)


def why_told(one: Placed) -> str:
    """Return a late job with why and what would clear it."""
    if one.days_late is None:
        return phrase("{job}: left undone; {why}", job=AsTyped(one.job), why=one.why or phrase("no day takes it"))
    job, why = AsTyped(one.job), one.why or phrase("no reason is known")
    return counted(one.days_late, "{job}: {n} day late; {why}", "{job}: {n} days late; {why}", job=job, why=why)


def doing_told(one: Placed) -> str:
    """Return who does which phases of a job where: 'technician A: strip, spin grind (bench grinder)'."""
    people = []
    for who, steps in groupby(one.doing, key=lambda step: step.who):
        phases = [
            phrase("{phase} ({grinder})", phase=PHASE_WORDS[step.phase], grinder=AsTyped(step.grinder))
            if step.grinder
            else PHASE_WORDS[step.phase]
            for step in steps
        ]
        people.append(phrase("{who}: {phases}", who=AsTyped(who), phases=joined(", ", phases)))
    return joined("; ", people)


def interval_told(found: Forecast) -> list[Phrase]:
    """Return the interval that costs least, and how flat its cost is about it; nothing where none is known."""
    best = found.best
    if best is None or not math.isfinite(best.hours):
        return []
    ends = math.isfinite(best.within_high)
    high = phrase("{hours:.0f} h", hours=best.within_high) if ends else phrase("any number of hours")
    return [
        phrase(
            "It costs least to sharpen every {hours:.0f} h: {cost:.2f} an hour. Anything from {low:.0f} h to "
            "{high} costs at most {share:.0%} more, so it need not be kept to the hour.",
            hours=best.hours, cost=best.cost, low=best.within_low, high=high, share=best.allowed,
        )
    ]  # fmt: skip


def sand_told(found: Forecast, showing: Showing) -> list[str]:
    """Return what one sanding and one stone cost in metal and days, each with its interval; or why that is not known."""
    if found.wear is None:
        return []
    return [*(_event_told(one, showing) for one in found.events), *found.untold]


def _event_told(one: EventCost, showing: Showing) -> str:
    low, high = one.metal.interval(COVERAGE)
    event = EVENT_WORDS[one.event]
    ends = {"low": showing.residue(low), "high": showing.residue(high)}
    if not one.is_told:
        told = phrase("{event} costs anything from {low} to {high} of diameter (90 %)", event=event, **ends)
        return phrase("{told}: the readings on file cannot tell it from nothing", told=told)
    told = phrase(
        "{event} costs {metal} of diameter (90 %: {low} to {high})",
        event=event,
        metal=showing.residue(one.metal.value),
        **ends,
    )
    if one.days is None:
        return told
    low, high = one.days.interval(COVERAGE)
    return phrase(
        "{told}: {days} days of mowing (90 %: {low} to {high})",
        told=told, days=showing.figure(one.days.value, 1), low=showing.figure(low, 1), high=showing.figure(high, 1),
    )  # fmt: skip


def _by_day(now: SeasonNow) -> list[UnitAhead]:
    return sorted(now.forecast.units, key=lambda one: (one.due is None, one.due.day if one.due else 0))


def _due_row(now: SeasonNow, one: UnitAhead, showing: Showing) -> tuple[str, ...]:
    ends, due = one.ends, one.due
    between = "" if ends is None or not ends.days else within(now, ends.days[0], ends.days[-1])
    return (
        AsTyped(one.unit.name),
        AsTyped(one.unit.machine),
        _day(now.due_on(one)),
        "" if due is None else showing.duration(due.hours * 3600.0) if due.hours > 0 else phrase("overdue"),
        "" if ends is None else showing.length(ends.value),
        between,
        joined("; ", one.missing) if one.missing else "",
    )


def _day(day: datetime.date | None) -> str:
    return phrase("not known") if day is None else dated(day)


def _days(placed: Iterable[Placed]) -> Table:
    head = (
        phrase("day"),
        phrase("job"),
        phrase("machine"),
        phrase("due"),
        phrase("fresh for"),
        phrase("who does what"),
    )
    rows = []
    for one in placed:
        day = phrase("left undone") if one.on is None else dated(one.on)
        mark = phrase("{day}, by hand", day=day) if one.by_hand else day
        due: str = dated(one.due)
        if one.is_late and one.days_late is not None:
            due = counted(one.days_late, "{day}: {n} day late", "{day}: {n} days late", day=due)
        rows.append((mark, _job(one), AsTyped(one.machine), due, AsTyped(one.fresh_for), _who(one)))
    return Table(head, tuple(rows))


def _job(one: Placed) -> str:
    if not one.new_part:
        return AsTyped(one.job)
    return phrase("{job} (new: {part})", job=AsTyped(one.job), part=AsTyped(one.new_part))


def _who(one: Placed) -> str:
    return joined(", ", map(AsTyped, dict.fromkeys(step.who for step in one.doing)))


def _load(planned: SeasonPlanned, showing: Showing) -> Table:
    names = list(planned.weeks[0].taken)
    head = (phrase("week from"), *map(AsTyped, names))
    rows = []
    for week in planned.weeks:
        cells = [
            phrase(
                "{taken} of {there} h",
                taken=showing.figure(week.taken[name], 1),
                there=showing.figure(week.there[name], 1),
            )
            for name in names
        ]
        rows.append((dated(week.first), *cells))
    return Table(head, tuple(rows))
