"""The season as plain data: what the command line, the API and a file tell, the same figures everywhere."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.season.cost import LEVELS
from sparkout.core.season.wear import CHANCES
from sparkout.season.sand import COVERAGE
from sparkout.season.sheet import as_tables

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable

    from sparkout.core.measured import Measured
    from sparkout.core.season.interval import BestInterval
    from sparkout.core.season.policies import GrindOrReplace
    from sparkout.season.budget import BudgetAhead
    from sparkout.season.edges import EdgesTold
    from sparkout.season.forecast import UnitAhead, WearAhead
    from sparkout.season.now import SeasonNow, SeasonPlanned
    from sparkout.season.placing import Placed, Week
    from sparkout.season.reel_choice import ReelChoice
    from sparkout.season.sand import EventCost
    from sparkout.season.spend import PartAhead

    Say = Callable[[str], str]

Data = dict[str, Any]


def forecast_data(now: SeasonNow, say: Say = str) -> Data:
    """Return what is due when, and everything the sheet says that nothing answers to."""
    work = now.work
    return {
        "today": now.today.isoformat(),
        "sheet": as_tables(now.sheet),
        "interval_from": say(now.forecast.interval_from),
        "best_interval": _interval(now.forecast.best),
        "units": [_unit(now, one, say) for one in now.forecast.units],
        "without": [] if work is None else [{"unit": one.unit.name, "why": say(why)} for one, why in work.without],
        "notes": [] if work is None else [say(note) for note in work.notes],
        "trouble": say(now.trouble),
        "parts": [_part(one) for one in now.parts],
        "budget": _budget(now.budget, say),
        "events": [_event(one) for one in now.forecast.events],
        "edges": None if now.edges is None else _edges(now.edges, say),
        "events_untold": [say(why) for why in now.forecast.untold],
    }


def plan_data(planned: SeasonPlanned, say: Say = str) -> Data:
    """Return a plan: its jobs, how good it is, the load of each week, what it costs."""
    plan, parts, spent = planned.plan, planned.parts, planned.spent
    work = planned.now.needed
    return {
        "first_day": work.start.isoformat(),
        "days": work.season.days,
        "cost": plan.cost,
        "bound": plan.bound,
        "gap": plan.gap,
        "seconds": plan.seconds,
        "cost_of": {name: getattr(parts, name) for name in ("late", "early", "overtime", "moved", "undone")},
        "jobs": [placed_data(one, say) for one in planned.placed],
        "weeks": [_week(one) for one in planned.weeks],
        "spend": {
            "total": spent.total,
            "by_cause": {say(cause): money for cause, money in spent.by_cause.items()},
            "by_unit": {name: money for name, money in spent.by_unit.items() if name},
            "by_machine": {name: money for name, money in spent.by_machine.items() if name},
            "by_machine_per_ha": spent.per_hectare,
            "by_month": {month: money for month, money in spent.by_period.items() if month},
        },
    }


def placed_data(one: Placed, say: Say = str) -> Data:
    """Return one job as planned."""
    return {
        "job": one.job,
        "unit": one.unit,
        "machine": one.machine,
        "place": one.place,
        "on": _day(one.on),
        "due": one.due.isoformat(),
        "days_late": one.days_late,
        "by_hand": one.by_hand,
        "fresh_for": one.fresh_for,
        "why": say(one.why) if one.why else "",
        "over_h": one.over,
        "new_part": say(one.new_part),
        "doing": [
            {"phase": s.phase, "who": s.who, "grinder": s.grinder, "start_h": s.start, "end_h": s.end}
            for s in one.doing
        ],
    }


def _interval(best: BestInterval | None) -> Data | None:
    if best is None or not math.isfinite(best.hours):
        return None
    flat_to = best.within_high if math.isfinite(best.within_high) else None
    return {
        "hours_h": best.hours,
        "cost_an_hour": best.cost,
        "flat_from_h": best.within_low,
        "flat_to_h": flat_to,
        "flat_share": best.allowed,
    }


def _unit(now: SeasonNow, one: UnitAhead, say: Say) -> Data:
    return {
        "unit": one.unit.name,
        "machine": one.unit.machine,
        "place": one.unit.place,
        "type": one.unit.duty,
        "hours_h": one.unit.hours,
        "hours_a_week_h": one.weekly,
        "interval_h": one.interval,
        "due_on": _day(now.due_on(one)),
        "due_in_h": None if one.due is None else one.due.hours,
        "wears": [_wears(now, each, say) for each in one.wears],
        "missing": [say(text) for text in one.missing],
        "reel_choice": choice_data(now.reel_choices.get(one.unit.name), say),
    }


def _wears(now: SeasonNow, one: WearAhead, say: Say) -> Data:
    ends = one.ends
    return {
        "part": say(one.wearing.words),
        "quantity": one.wearing.quantity,
        "which": one.wearing.which,
        "type": one.wearing.duty,
        "hours_h": one.wearing.hours,
        "now_mm": None if ends is None else ends.value,
        "limit_mm": one.wearing.limit,
        "wear_mm_per_h": None if ends is None else ends.per_hour,
        "ends_in_h": {} if ends is None else _by_chance([h if math.isfinite(h) else None for h in ends.hours]),
        "ends_on": {} if ends is None else _by_chance([_day(now.date(d)) for d in ends.days]),
        "missing": say(one.why),
    }


def choice_data(choice: ReelChoice | Refusal | None, say: Say = str) -> Data | None:
    """Return grind or replace by each way of working, and the ways apart; None where it was not asked."""
    if choice is None:
        return None
    if isinstance(choice, Refusal):
        return {"untold": say(choice.words)}
    return {
        "cheaper": say(choice.cheaper.new.way.name),
        "ways": [_way(found, say) for found in choice.found],
        "relief_costs_more_an_hour": _measured(choice.apart.difference),
        "stock_mm": {"mean": choice.to_choose.ways[0].stock.value, "spread": choice.to_choose.ways[0].stock.u},
        "assumed": [say(text) for text in choice.to_choose.assumed],
    }


def _way(found: GrindOrReplace, say: Say) -> Data:
    return {
        "way": say(found.new.way.name),
        "grind": found.grind,
        "kept_cost_an_hour": _measured(found.kept),
        "new_cost_an_hour": _measured(found.new.cost_an_hour),
        "sharpenings": found.sharpenings,
        "hours_h": found.hours,
        "saved": _measured(found.saved),
        "new_reel_hours_h": float(found.new.hours.mean()),
        "new_reel_sharpenings": float(found.new.spins.mean()),
        "new_reel_reliefs": float(found.new.reliefs.mean()),
        "why": say(found.why),
    }


def _by_chance(values: list[Any]) -> Data:
    return {f"{100 * chance:g} %": value for chance, value in zip(CHANCES, values, strict=False)}


def _week(one: Week) -> Data:
    return {
        "first_day": one.first.isoformat(),
        "load": [{"name": name, "taken_h": hours, "there_h": one.there[name]} for name, hours in one.taken.items()],
    }


def _part(one: PartAhead) -> Data:
    return {
        "part": one.part,
        "mean": one.mean,
        "low_90": one.low,
        "high_90": one.high,
        "on_shelf": None if one.shelf is None else one.shelf.on_shelf,
        "chance_short": one.short,
        "order_when_left": None if one.reorder is None else one.reorder.point,
        "months": [
            {"first_day": m.first.isoformat(), "mean": m.mean, "low_90": m.low, "high_90": m.high} for m in one.months
        ],
        "orders": [
            {"on": o.on.isoformat(), "pieces": o.pieces, "comes": o.comes.isoformat(), "money": o.money}
            for o in one.orders
        ],
    }


def _edges(found: EdgesTold, say: Say) -> Data:
    return {
        "went": found.life.ended,
        "lasted_longer": found.life.running,
        "median_h": found.life.life([1.0]),
        "shape": found.life.shape,
        "effects": [
            {
                "about": say(one.about),
                "went_with": one.with_it,
                "went_without": one.without,
                "ratio": one.ratio.ratio,
                "low_95": one.ratio.low,
                "high_95": one.ratio.high,
                "told_apart": one.ratio.told_apart,
                "more_sharpenings": one.ratio.more_sharpenings,
                "to_tell": one.ratio.to_tell,
                "beside": [say(name) for name in one.beside],
            }
            for one in found.effects
        ],
        "untold": [say(why) for why in found.untold],
    }


def _event(one: EventCost) -> Data:
    return {
        "event": one.event,
        "told": one.is_told,
        "metal_mm": _measured(one.metal),
        "hours_h": _measured(one.hours),
        "days": _measured(one.days),
    }


def _measured(value: Measured | None) -> Data | None:
    if value is None:
        return None
    low, high = value.interval(COVERAGE)
    return {"value": value.value, "u": value.u, "low_90": low, "high_90": high}


def _budget(ahead: BudgetAhead, say: Say) -> Data:
    found = ahead.found
    return {
        "first_day": ahead.first.isoformat(),
        "last_day": ahead.last.isoformat(),
        "mean": None if found is None else found.mean,
        "u": None if found is None else found.spread,
        "by_chance": {} if found is None else _levels(found.levels),
        "causes": [
            {
                "cause": say(line.cause),
                "mean": line.mean,
                "u": line.spread,
                "share_of_doubt": line.share_of_doubt,
                "by_chance": _levels(line.levels),
            }
            for line in (() if found is None else found.lines)
        ],
        "left_out": [say(what) for what in ahead.left_out],
    }


def _levels(levels: tuple[float, ...]) -> Data:
    return {f"{100 * chance:g} %": money for chance, money in zip(LEVELS, levels, strict=True)}


def _day(day: datetime.date | None) -> str | None:
    return None if day is None else day.isoformat()
