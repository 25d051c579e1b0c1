"""Load of the weeks, age of the fleet, how often to sharpen: figures at once, pictures on demand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpResponse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from sparkout.core.days import short
from sparkout.core.phrase import AsTyped, phrase
from sparkout.papers.season_pictures import (
    aged_units,
    how_often,
    season_age,
    season_budget,
    season_demand,
    season_load,
    season_spend,
)
from sparkout.season.sheet import HOUR
from sparkout.telling.season import interval_told, tell_due, tell_plan
from sparkout.web.season.seen import made_once, seen_now
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest

    from sparkout.season.placing import Week
    from sparkout.showing import Showing
    from sparkout.telling.section import Section
    from sparkout.web.season.seen import Seen

PICTURES: dict[str, Callable[[Seen, Showing], str]] = {
    "load": lambda seen, showing: "" if seen.plan is None else season_load(seen.plan, showing, 740.0),
    "age": lambda seen, showing: season_age(seen.now.forecast, showing),
    "spend": lambda seen, showing: "" if seen.plan is None else season_spend(seen.plan, showing),
    "budget": lambda seen, showing: season_budget(seen.now, showing),
    "orders": lambda seen, showing: season_demand(seen.now, showing),
    "interval": lambda seen, showing: how_often(seen.now.forecast, seen.now.sheet, showing),
}
LONG = ("load",)
"""Those drawn wider than a phone: there they move sideways, at the size they are drawn for."""


@somebody
@require_safe
def load(request: HttpRequest) -> HttpResponse:
    """Hours by week, the fleet's age, how often to sharpen, parts and money."""
    seen, showing = seen_now(), reader_of(request).showing

    def told() -> SafeString:
        context = {
            "load": _load(seen, showing),
            "age": _age(seen, showing),
            "interval": _interval(seen, showing),
            "plan": seen.plan is not None,
            "money": _money(seen, showing),
        }
        return mark_safe(text_of(request, "season/load_told.html", context))

    return page(
        request, "season/load.html", {"told": made_once(("load", showing), told), "waiting": seen.units.waiting}
    )


@somebody
@require_safe
def picture(request: HttpRequest, name: str) -> HttpResponse:
    """One picture: alone where the open page asks for it, else with its page about it."""
    seen, showing = seen_now(), reader_of(request).showing
    if name not in PICTURES:
        raise Http404
    svg = drawn(name, seen, showing)
    if not svg:
        raise Http404
    context = {"picture": mark_safe(svg), "here": "load", "long": name in LONG}
    if "HX-Request" in request.headers:
        return HttpResponse(text_of(request, "season/drawn.html", context))
    return page(request, "season/picture.html", context)


def drawn(name: str, seen: Seen, showing: Showing) -> str:
    """Return a picture, drawn once; empty where there is nothing to draw."""
    return made_once(("picture", name, showing), lambda: PICTURES[name](seen, showing))


def _load(seen: Seen, showing: Showing) -> dict[str, Any]:
    """Return hours taken of hours there by week, for each person and grinder."""
    if seen.plan is None:
        return {}
    weeks = seen.plan.weeks
    names = list(weeks[0].there)
    return {
        "weeks": [showing.say(short(week.first)) for week in weeks],
        "rows": [(name, [_cell(week, name, showing) for week in weeks]) for name in names],
    }


def _cell(week: Week, name: str, showing: Showing) -> tuple[str, str, str, str]:
    taken, there = week.taken[name], week.there[name]
    return showing.say(short(week.first)), _h(taken, showing), _h(there, showing), _full(taken, there)


def _full(taken: float, there: float) -> str:
    return "bad" if taken > there + 0.01 else "ask" if taken > 0.9 * there > 0.0 else ""


def _h(hours: float, showing: Showing) -> str:
    return showing.figure(hours, 1 if hours % 1.0 > 0.05 and hours < 100.0 else 0)


def _money(seen: Seen, showing: Showing) -> list[tuple[Section, bool]]:
    """Return parts by month and to order, budget and cost as every door tells them; and whether there is a picture."""
    told = (*tell_due(seen.now, showing), *(() if seen.plan is None else tell_plan(seen.plan, showing)))
    return [
        (section, bool(drawn(section.key, seen, showing)))
        for section in told
        if section.key in ("orders", "budget", "spend")
    ]


def _age(seen: Seen, showing: Showing) -> list[tuple[str, str, list[str]]]:
    rows = []
    for one in aged_units(seen.now.forecast):
        left = showing.length(one.left) if one.left > 0.0 else showing.say(phrase("at its limit"))
        ends = [
            AsTyped(showing.quantity(each * HOUR, "time", unit="h", places=0))
            if math.isfinite(each)
            else phrase("no time in sight")
            for each in one.hours
        ]
        told = (
            ends[2],
            phrase("50 %: {low} to {high}", low=ends[1], high=ends[3]),
            phrase("90 %: {low} to {high}", low=ends[0], high=ends[4]),
        )
        rows.append((one.name, left, [showing.say(line) for line in told]))
    return rows


def _interval(seen: Seen, showing: Showing) -> dict[str, Any]:
    found, best = seen.now.forecast, seen.now.forecast.best
    how_often = phrase("How often: {where}.", where=found.interval_from)
    lines = [showing.say(line) for line in (how_often, *interval_told(found))]
    return {"lines": lines, "picture": best is not None and found.life is not None}
