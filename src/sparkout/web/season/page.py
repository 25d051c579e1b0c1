"""What is due when: each unit's window, why, and on demand the fan of its wear."""

from __future__ import annotations

import datetime
from itertools import takewhile
from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, capital, joined, phrase, starting_large
from sparkout.papers.season_pictures import wear_picture
from sparkout.records.units_now import units_now
from sparkout.season.sheet import HOUR
from sparkout.season.wearing import WIDENS
from sparkout.telling.season import sand_told, with_names
from sparkout.telling.season_edges import tell_edges
from sparkout.telling.season_wear import FAR, HEADS, LAND_NOTE, day_told, first_at_limit, wear_row
from sparkout.web.season.seen import made_once, seen_now
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.core.phrase import Phrase
    from sparkout.season.forecast import UnitAhead, WearAhead
    from sparkout.showing import Showing
    from sparkout.telling.section import Section
    from sparkout.web.season.seen import Seen


@somebody
@require_safe
def due(request: HttpRequest) -> HttpResponse:
    """Every unit, the one that is due first on top."""
    seen, showing = seen_now(), reader_of(request).showing
    context = {
        "waiting": seen.units.waiting,
        "doubts": [(name, showing.say(why)) for name, why in seen.units.doubts],
        "interval": showing.say(phrase("How often: {where}.", where=seen.now.forecast.interval_from)),
        "sand": [showing.say(text) for text in sand_told(seen.now.forecast, showing)],
        "edges": made_once(("edges", showing), lambda: _edges(seen, showing)),
        "told": made_once(
            ("due", showing), lambda: mark_safe(text_of(request, "season/due_list.html", _due(seen, showing)))
        ),
    }
    return page(request, "season/due.html", context)


def _due(seen: Seen, showing: Showing) -> dict[str, Any]:
    ready = sorted((one for one in seen.now.forecast.units if one.due is not None), key=lambda one: one.due.day)  # type: ignore[union-attr]
    say = showing.say
    return {
        "rows": [_row(one, seen, showing) for one in ready],
        "overdue": sum(1 for one in ready if one.due is not None and one.due.day < 0),
        "unknown": [
            (one.unit.name, say(joined("; ", one.missing))) for one in seen.now.forecast.units if one.due is None
        ],
        "heads": {
            "by": say(phrase("Sharpen by")),
            "goes": say(phrase("Edge goes")),
            "why": say(phrase("Why")),
            "ends": say(phrase("Reel at its limit")),
        },
    }


def _edges(seen: Seen, showing: Showing) -> tuple[Section, ...]:
    own = with_names(seen.now, showing)
    return tuple(section.said(own) for section in tell_edges(seen.now, showing))


def _row(one: UnitAhead, seen: Seen, showing: Showing) -> dict[str, Any]:
    assert one.due is not None
    late = one.due.day < 0
    return {
        "pk": seen.units.numbers.get(one.unit.name),
        "name": one.unit.name,
        "machine": one.unit.machine,
        "mark": "bad" if late else "ask" if one.due.day < 14 else "plain",
        "by": showing.say(_by(seen.today, one.due.day)),
        "goes": [showing.say(line) for line in window(seen.today, one.due.goes)],
        "why": showing.say(_why(one, showing)),
        "ends": [
            *([] if one.ends is None else [showing.say(line) for line in window(seen.today, one.ends.days)]),
            *(_other(each, seen, showing) for each in takewhile(_is_no_reel, first_at_limit(one))),
        ],
        "fan": one.ends is not None or any(each.wearing.sizes for each in one.wears),
    }


def _is_no_reel(one: WearAhead) -> bool:
    return one.wearing.quantity != "diameter"


def _other(one: WearAhead, seen: Seen, showing: Showing) -> str:
    """Return when something beside the reel is at its limit, in a line."""
    assert one.ends is not None
    told = window(seen.today, one.ends.days)
    return showing.say(phrase("{part}: {when}", part=starting_large(one.wearing.words), when=told[0]))


def _by(today: datetime.date, days: int) -> str:
    on = dated(today + datetime.timedelta(days=max(days, -FAR)))
    return phrase("overdue since {day}", day=on) if days < 0 else on


def window(today: datetime.date, days: tuple[float, ...]) -> tuple[Phrase, ...]:
    """Return days at the five chances in lines: the middle, then between what 50 and 90 % fall; none where unknown.

    Examples
    --------
    >>> window(datetime.date(2026, 11, 25), (7.0, 14.0, 21.0, 28.0, float("inf")))
    ('about 16 Dec 2026', '50 %: 9 Dec 2026 to 23 Dec 2026', '90 %: 2 Dec 2026 to no time in sight')
    """
    if len(days) != 5:
        return ()
    lowest, low, middle, high, highest = (day_told(today, each) for each in days)
    return (
        phrase("about {middle}", middle=middle),
        phrase("50 %: {low} to {high}", low=low, high=high),
        phrase("90 %: {low} to {high}", low=lowest, high=highest),
    )


def _why(one: UnitAhead, showing: Showing) -> str:
    hours, since = one.unit.hours or 0.0, one.unit.sharpened or 0.0
    return phrase(
        "{gone} since it was sharpened, every {every}, {weekly} a week",
        gone=AsTyped(_h(hours - since, showing)),
        every=AsTyped(_h(one.interval, showing)),
        weekly=AsTyped(_h(one.weekly or 0.0, showing)),
    )


def _h(hours: float, showing: Showing) -> str:
    return showing.quantity(hours * HOUR, "time", unit="h", places=0 if abs(hours) >= 20.0 else 1)


@somebody
@require_safe
def fan(request: HttpRequest, number: int) -> HttpResponse:
    """What wears in one unit, so far and to come: alone where the open page asks for it, else as a page."""
    seen, showing = seen_now(), reader_of(request).showing
    one = next((each for each in seen.now.forecast.units if seen.units.numbers.get(each.unit.name) == number), None)
    if one is None or not any(each.wearing.sizes for each in one.wears):
        raise Http404
    parts = made_once(("wear", number, showing), lambda: _parts(one, seen, showing))
    if "HX-Request" in request.headers:
        return HttpResponse(text_of(request, "season/wear.html", {"parts": parts}))
    return page(request, "season/wear_page.html", {"parts": parts, "unit": one.unit})


def _parts(one: UnitAhead, seen: Seen, showing: Showing) -> list[dict[str, Any]]:
    """Return everything of a unit that was read: its name, figures with their heads, and its picture."""
    heads = [capital(showing.say(head)) for head in HEADS[2:]]
    own = with_names(seen.now, showing)
    told = []
    for each in one.wears:
        if each.wearing.sizes:
            name, *figures = map(own.say, wear_row(seen.now, each, showing))
            told.append({
                "name": capital(name),
                "figures": [(head, text) for head, text in zip(heads, figures, strict=True) if text],
                "note": showing.say(each.why or (LAND_NOTE if each.wearing.quantity == WIDENS else "")),
                "picture": mark_safe(wear_picture(seen.now.forecast, each, showing)),
            })  # fmt: skip
    return told


@somebody
@require_safe
def figures(request: HttpRequest) -> HttpResponse:
    """Work out a second's worth of the visits whose diameters are not in the forecast yet; the page is asked again."""
    waiting = seen_now().units.waiting
    if waiting:
        waiting = units_now().waiting
    if "HX-Request" not in request.headers:
        return redirect("season")
    if waiting:
        return HttpResponse(text_of(request, "season/waiting.html", {"waiting": waiting}))
    ended = HttpResponse(status=200)
    ended["HX-Refresh"] = "true"
    return ended
