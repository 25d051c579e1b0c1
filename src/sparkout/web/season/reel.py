"""Grind or replace for one unit, on demand: worked out when it is asked for, not with the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import capital, starting_large
from sparkout.season.reel_choice import choice_or_why
from sparkout.telling.season import with_names
from sparkout.telling.season_reels import HEADS, ONLY_THE_SIMULATION, assumed_told, relief_told, way_rows, why_told
from sparkout.web.season.seen import made_once, seen_now
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.season.reel_choice import ReelChoice
    from sparkout.showing import Showing


@somebody
@require_safe
def choice(request: HttpRequest, number: int) -> HttpResponse:
    """One unit's reel ground on or replaced: alone where the open page asks for it, else as a page."""
    seen = seen_now()
    one = next((each for each in seen.now.forecast.units if seen.units.numbers.get(each.unit.name) == number), None)
    if one is None:
        raise Http404
    found = made_once(("reel", number), lambda: choice_or_why(seen.now.forecast, one, seen.now.sheet))
    told = _told(found, with_names(seen.now, reader_of(request).showing))
    if "HX-Request" in request.headers:
        return HttpResponse(text_of(request, "season/reel.html", told))
    return page(request, "season/reel_page.html", {**told, "unit": one.unit})


def _told(found: ReelChoice | Refusal, showing: Showing) -> dict[str, Any]:
    say = showing.say
    if isinstance(found, Refusal):
        return {"untold": say(found.words)}
    assumed = found.to_choose.assumed
    return {
        "why": say(why_told(found.cheaper)),
        "relief": say(starting_large(relief_told(found, showing))),
        "sides": [_side(row, showing) for row in way_rows(found, showing)],
        "note": say(ONLY_THE_SIMULATION),
        "assumed": say(assumed_told(assumed)) if assumed else "",
    }


def _side(row: tuple[str, ...], showing: Showing) -> dict[str, Any]:
    way, *figures = (showing.say(cell) for cell in row)
    heads = map(showing.say, HEADS[1:])
    return {
        "way": capital(way),
        "figures": [(capital(head), told) for head, told in zip(heads, figures, strict=True) if told],
    }
