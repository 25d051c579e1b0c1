"""Parts and money of a season in words: parts wanted and to order, the budget with its uncertainty, what the plan costs."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

from sparkout.core.days import dated, month_of
from sparkout.core.phrase import AsTyped, counted, joined, phrase
from sparkout.telling.section import Section, Table
from sparkout.units import from_core, to_core

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sparkout.core.season.cost import Spending
    from sparkout.season.now import SeasonNow, SeasonPlanned
    from sparkout.season.spend import PartAhead
    from sparkout.showing import Showing

LOWEST, LOW, MIDDLE, HIGH, HIGHEST = range(5)
"""Places among `core.season.cost.LEVELS`."""


def tell_orders(now: SeasonNow, showing: Showing) -> tuple[Section, ...]:
    """Return the reels and knives that the season takes, by month and with what to order when; nothing where none is foreseen."""
    rows: list[tuple[str, ...]] = []
    lines: list[str] = []
    none = [AsTyped(one.part) for one in now.parts if not _is_wanted(one)]
    if none:
        lines.append(phrase("none wanted in the season: {parts}", parts=joined("; ", none)))
    for one in now.parts:
        if not _is_wanted(one):
            continue
        wanted = phrase(
            "{part}: {mean} wanted in the season (90 %: {low} to {high})",
            part=AsTyped(one.part), mean=showing.figure(one.mean, 1), low=one.low, high=one.high,
        )  # fmt: skip
        if one.shelf is None:
            wanted = phrase("{wanted}; the season sheet does not say what is on the shelf", wanted=wanted)
        elif one.reorder is not None:
            wanted = counted(
                one.reorder.point,
                "{wanted}; order the next when {n} is left (chance of not running out {chance})",
                "{wanted}; order the next when {n} are left (chance of not running out {chance})",
                wanted=wanted, chance=showing.share(one.reorder.chance),
            )  # fmt: skip
        lines.append(wanted)
        rows += [
            (AsTyped(one.part), dated(o.on), str(o.pieces), dated(o.comes), showing.figure(o.money, 0))
            for o in one.orders
        ]
    if not lines:
        return ()
    head = (phrase("part"), phrase("order on"), phrase("pieces"), phrase("there on"), phrase("money"))
    if not rows:
        lines.append(phrase("nothing is to be ordered"))
    tables = [Table(head, tuple(rows), phrase("Order list"))] if rows else []
    if len(none) < len(now.parts):
        tables.append(_by_month([one for one in now.parts if _is_wanted(one)], showing))
    return (Section("orders", phrase("Parts to order"), tuple(lines), tuple(tables)),)


def _is_wanted(part: PartAhead) -> bool:
    """Return whether the season may take one, or one is to be ordered for what comes after it."""
    return part.high > 0 or part.mean >= 0.05 or bool(part.orders)


def _by_month(parts: Sequence[PartAhead], showing: Showing) -> Table:
    """Return the parts wanted in each month: mean, and between what numbers nine seasons of ten fall."""
    head = (phrase("month"), *(AsTyped(part.part) for part in parts))
    rows = []
    for k, month in enumerate(parts[0].months):
        each = [part.months[k] for part in parts]
        cells = [
            phrase("{mean} (90 %: {low} to {high})", mean=showing.figure(one.mean, 2), low=one.low, high=one.high)
            for one in each
        ]
        rows.append((month_of(month.first), *cells))
    return Table(head, tuple(rows), phrase("Parts wanted, by month"))


def tell_budget(now: SeasonNow, showing: Showing) -> Section:
    """Return what the season will cost, with its uncertainty and what makes it."""
    ahead = now.budget
    lines: list[str] = []
    tables: list[Table] = []
    if ahead.found is None:
        lines.append(phrase("Nothing on file tells what the season will cost."))
    else:
        found = ahead.found
        five = [showing.figure(money, 0) for money in found.levels]
        lines.append(
            phrase(
                "{first} to {last}: {mean}; 50 %: {low} to {high}; 90 %: {lowest} to {highest}",
                first=dated(ahead.first),
                last=dated(ahead.last),
                mean=showing.figure(found.mean, 0),
                low=five[LOW],
                high=five[HIGH],
                lowest=five[LOWEST],
                highest=five[HIGHEST],
            )
        )
        head = (
            phrase("for"), phrase("money"), phrase("50 % between"), phrase("90 % between"),
            phrase("share of the doubt"),
        )  # fmt: skip
        rows = tuple(
            (
                line.cause,
                showing.figure(line.mean, 0),
                _between(line.levels, LOW, HIGH, showing),
                _between(line.levels, LOWEST, HIGHEST, showing),
                showing.share(line.share_of_doubt),
            )
            for line in found.lines
            if line.mean >= 0.5 or line.levels[HIGHEST] >= 0.5
        )
        tables.append(Table(head, rows))
    lines += [phrase("not in it: {what}", what=what) for what in ahead.left_out]
    return Section("budget", phrase("Budget of the season"), tuple(lines), tuple(tables))


def _between(levels: Sequence[float], low: int, high: int, showing: Showing) -> str:
    return joined(" – ", [showing.figure(levels[low], 0), showing.figure(levels[high], 0)])


def tell_spend(planned: SeasonPlanned, showing: Showing) -> Section:
    """Return what the planned work costs: by cause, machine and hectare, month and unit."""
    spent = planned.spent
    money = phrase("money")
    causes = [(cause, showing.figure(each, 0)) for cause, each in spent.by_cause.items()]
    causes.append((phrase("together"), showing.figure(spent.total, 0)))
    months = [(month_of(month), showing.figure(each, 0)) for month, each in by_month(planned).items()]
    tables = (
        Table((phrase("for"), money), tuple(causes), phrase("By cause")),
        _by_machine(spent, showing),
        Table((phrase("month"), money), tuple(months), phrase("By month")),
        Table((phrase("unit"), money), _named(spent.by_unit, showing), phrase("By unit")),
    )
    lines: list[str] = []
    missing = [AsTyped(name) for name in spent.hectares_missing if name]
    if missing:
        lines.append(phrase("No area mown is on file of {names}: no cost by area.", names=joined(", ", missing)))
    return Section("spend", phrase("What the planned work costs"), tuple(lines), tuple(t for t in tables if t.rows))


def by_month(planned: SeasonPlanned) -> dict[datetime.date, float]:
    """Return the planned work's money by the first day of its month; overtime, which has no day of its own, apart."""
    return {
        datetime.date.fromisoformat(f"{month}-01"): money
        for month, money in sorted(planned.spent.by_period.items())
        if month
    }


def _named(by: Mapping[str, float], showing: Showing) -> tuple[tuple[str, ...], ...]:
    return tuple((AsTyped(name), showing.figure(money, 0)) for name, money in by.items() if name)


def _by_machine(spent: Spending, showing: Showing) -> Table:
    acres = showing.system == "inch"
    head = (phrase("machine"), phrase("money"), phrase("money per acre") if acres else phrase("money per hectare"))
    unit = from_core(to_core(1.0, "area", "ha"), "area", "acre") if acres else 1.0
    rows = [
        (
            AsTyped(name),
            showing.figure(money, 0),
            showing.figure(spent.per_hectare[name] / unit, 2) if name in spent.per_hectare else phrase("not known"),
        )
        for name, money in spent.by_machine.items()
        if name
    ]
    return Table(head, tuple(rows), phrase("By machine"))
