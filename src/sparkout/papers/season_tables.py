"""The season as a workbook: what is due, the plan, its steps, load, orders, cost; units in the headings."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import joined, phrase
from sparkout.core.season.cost import LEVELS
from sparkout.core.season.wear import CHANCES
from sparkout.interchange.writing import PlainTable, write_workbook
from sparkout.season.sand import COVERAGE
from sparkout.telling.season import PHASE_WORDS
from sparkout.telling.season_reels import HEADS, TITLE, relief_told, way_told
from sparkout.units import from_core

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.core.measured import Measured
    from sparkout.interchange.source import Cell
    from sparkout.season.now import SeasonNow, SeasonPlanned
    from sparkout.showing import Showing


def season_workbook(planned: SeasonPlanned, showing: Showing) -> bytes:
    """Return the workbook (XLSX)."""
    target = io.BytesIO()
    write_workbook(target, tables(planned, showing))
    return target.getvalue()


def tables(planned: SeasonPlanned, showing: Showing) -> Iterator[PlainTable]:
    """Yield its sheets."""
    say = showing.say
    yield _due(planned.now, showing)
    yield _wear(planned.now, showing)
    heads = [
        say(phrase("job")), say(phrase("unit")), say(phrase("machine")), say(phrase("place")), say(phrase("day")),
        say(phrase("due")), say(phrase("days late")), say(phrase("fresh for")), say(phrase("day chosen by hand")),
        say(phrase("why late")), say(phrase("new part")),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [
            one.job, one.unit, one.machine, one.place, one.on, one.due, one.days_late, one.fresh_for, one.by_hand,
            say(one.why) if one.why else "", one.new_part,
        ]
        for one in planned.placed
    ]  # fmt: skip
    yield PlainTable(say(phrase("plan")), heads, rows)
    heads = [
        say(phrase("day")), say(phrase("job")), say(phrase("phase")), say(phrase("who")), say(phrase("grinder")),
        say(phrase("from (h after the day begins)")), say(phrase("to (h after the day begins)")),
    ]  # fmt: skip
    rows = [
        [one.on, one.job, say(PHASE_WORDS[step.phase]), step.who, step.grinder, step.start, step.end]
        for one in planned.placed
        for step in one.doing
    ]
    yield PlainTable(say(phrase("steps")), heads, rows)
    rows = [[one.first, name, hours, one.there[name]] for one in planned.weeks for name, hours in one.taken.items()]
    heads = [
        say(phrase("week from")),
        say(phrase("who or grinder")),
        say(phrase("taken (h)")),
        say(phrase("there (h)")),
    ]
    yield PlainTable(say(phrase("load")), heads, rows)
    yield _orders(planned.now, showing)
    yield _by_month(planned.now, showing)
    yield _budget(planned.now, showing)
    yield _cost(planned, showing)
    yield _reels(planned.now, showing)


def _due(now: SeasonNow, showing: Showing) -> PlainTable:
    say = showing.say
    unit = "in" if showing.system == "inch" else "mm"

    def length(value: float | None) -> float | None:
        return None if value is None else round(from_core(value, "length", unit), 4 if unit == "in" else 3)

    heads = [
        say(phrase("unit")), say(phrase("machine")), say(phrase("place")), say(phrase("next sharpening")),
        say(phrase("in hours (h)")), say(phrase("hours a week (h)")), f"{say(phrase('diameter now'))} ({unit})",
        f"{say(phrase('limit'))} ({unit})",
        *(say(phrase("at its limit, chance {chance}", chance=showing.share(chance))) for chance in CHANCES),
        say(phrase("wanted for more")),
    ]  # fmt: skip
    rows: list[list[Cell]] = []
    for one in now.forecast.units:
        ends = one.ends
        days = () if ends is None else ends.days
        rows.append([
            one.unit.name, one.unit.machine, one.unit.place, now.due_on(one),
            None if one.due is None else round(one.due.hours, 2), None if one.weekly is None else round(one.weekly, 2),
            length(None if ends is None else ends.value), length(one.unit.limit),
            *(now.date(day) if math.isfinite(day) else None for day in (*days, *(math.inf,) * (5 - len(days)))),
            say(joined("; ", one.missing)) if one.missing else "",
        ])  # fmt: skip
    return PlainTable(say(phrase("what is due")), heads, rows)


def _wear(now: SeasonNow, showing: Showing) -> PlainTable:
    """Return everything that wears: now, its limit, and hours and days to it for each chance."""
    say = showing.say
    unit, places = ("in", 4) if showing.system == "inch" else ("mm", 3)

    def length(value: float | None, more: int = 0) -> float | None:
        return None if value is None else round(from_core(value, "length", unit), places + more)

    chances = [showing.share(chance) for chance in CHANCES]
    heads = [
        say(phrase("unit")), say(phrase("part")), say(phrase("type")), f"{say(phrase('now'))} ({unit})",
        f"{say(phrase('limit'))} ({unit})", f"{say(phrase('wears in 100 hours'))} ({unit})",
        *(say(phrase("hours to its limit, chance {chance} (h)", chance=chance)) for chance in chances),
        *(say(phrase("at its limit, chance {chance}", chance=chance)) for chance in chances),
        say(phrase("wanted for more")),
    ]  # fmt: skip
    rows: list[list[Cell]] = []
    for one in now.forecast.units:
        for each in one.wears:
            ends, thing = each.ends, each.wearing
            hours = (math.inf,) * 5 if ends is None else ends.hours
            days = (math.inf,) * 5 if ends is None or not ends.days else ends.days
            rows.append([
                one.unit.name, say(thing.words), thing.duty, length(None if ends is None else ends.value),
                length(thing.limit), length(None if ends is None else 100.0 * ends.per_hour, 2),
                *(round(h, 1) if math.isfinite(h) else None for h in hours),
                *(now.date(day) if math.isfinite(day) else None for day in days), say(each.why),
            ])  # fmt: skip
    return PlainTable(say(phrase("wear")), heads, rows)


def _orders(now: SeasonNow, showing: Showing) -> PlainTable:
    say = showing.say
    heads = [
        say(phrase("part")), say(phrase("wanted in the season")), say(phrase("at least (90 %)")),
        say(phrase("at most (90 %)")), say(phrase("order on")), say(phrase("pieces")), say(phrase("there on")),
        say(phrase("money")),
    ]  # fmt: skip
    rows: list[list[Cell]] = []
    for one in now.parts:
        wanted: list[Cell] = [one.part, round(one.mean, 3), one.low, one.high]
        rows += [[*wanted, o.on, o.pieces, o.comes, o.money] for o in one.orders] or [[*wanted, None, 0, None, 0.0]]
    return PlainTable(say(phrase("orders")), heads, rows)


def _by_month(now: SeasonNow, showing: Showing) -> PlainTable:
    say = showing.say
    heads = [
        say(phrase("part")), say(phrase("month from")), say(phrase("wanted")), say(phrase("at least (90 %)")),
        say(phrase("at most (90 %)")),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [one.part, month.first, round(month.mean, 4), month.low, month.high]
        for one in now.parts
        for month in one.months
    ]
    return PlainTable(say(phrase("parts by month")), heads, rows)


def _budget(now: SeasonNow, showing: Showing) -> PlainTable:
    say = showing.say
    heads = [
        say(phrase("for")), say(phrase("money")), say(phrase("standard uncertainty")),
        *(say(phrase("at most, chance {chance}", chance=showing.share(chance))) for chance in LEVELS),
        say(phrase("share of the doubt")),
    ]  # fmt: skip
    found = now.budget.found
    rows: list[list[Cell]] = []
    if found is not None:
        rows = [[say(line.cause), line.mean, line.spread, *line.levels, line.share_of_doubt] for line in found.lines]
        rows.append([say(phrase("together")), found.mean, found.spread, *found.levels, 1.0])
    rows += [[say(phrase("not in it: {what}", what=what)), *(None,) * 8] for what in now.budget.left_out]
    return PlainTable(say(phrase("budget")), heads, rows)


def _cost(planned: SeasonPlanned, showing: Showing) -> PlainTable:
    """Return the planned work's money by cause, machine, month and unit; by hectare where areas are on file."""
    say, spent = showing.say, planned.spent
    heads = [say(phrase("by")), say(phrase("for")), say(phrase("money")), say(phrase("money per hectare"))]
    rows: list[list[Cell]] = [
        [say(phrase("cause")), say(cause), money, None] for cause, money in spent.by_cause.items()
    ]
    rows.append([say(phrase("cause")), say(phrase("together")), spent.total, None])
    rows += [
        [say(phrase("machine")), name, money, spent.per_hectare.get(name)]
        for name, money in spent.by_machine.items()
        if name
    ]
    rows += [[say(phrase("month")), month, money, None] for month, money in sorted(spent.by_period.items()) if month]
    rows += [[say(phrase("unit")), name, money, None] for name, money in spent.by_unit.items() if name]
    return PlainTable(say(phrase("cost")), heads, rows)


def _reels(now: SeasonNow, showing: Showing) -> PlainTable:
    """Return grind or replace by each way of working, for the reels near their limit; or what is wanted to tell it."""
    say = showing.say
    unit, way, cheaper, kept, new, left, hours, saved = (say(head) for head in (phrase("unit"), *HEADS))
    heads = [unit, way, cheaper]
    for head in (kept, new, saved):
        heads += [head, *(f"{head}: {say(end)}" for end in (phrase("at least (90 %)"), phrase("at most (90 %)")))]
    heads += [left, f"{hours} (h)", say(phrase("why"))]
    rows: list[list[Cell]] = []
    for name, choice in now.reel_choices.items():
        if isinstance(choice, Refusal):
            rows.append([name, *(None,) * 13, say(choice.words)])
            continue
        rows += [
            [
                name, say(found.new.way.name), say(way_told(found)),
                *_money(found.kept), *_money(found.new.cost_an_hour),
                *_money(found.saved if found.grind else None), found.sharpenings, round(found.hours, 1), say(found.why),
            ]
            for found in choice.found
        ]  # fmt: skip
        rows.append([name, *(None,) * 13, say(relief_told(choice, showing))])
    return PlainTable(say(TITLE), heads, rows)


def _money(value: Measured | None) -> list[Cell]:
    return [None] * 3 if value is None else [round(part, 4) for part in (value.value, *value.interval(COVERAGE))]
