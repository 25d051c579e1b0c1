"""The season sheet: who works when, on which grinder, what to be fresh for, what it costs; each part a form."""

from __future__ import annotations

import datetime
import json
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sparkout.core.days import dated
from sparkout.core.errors import Refusal
from sparkout.core.phrase import Phrase, phrase
from sparkout.records.models import KnifeType, Machine, Person, Place, ReelType
from sparkout.records.operations.season import set_in_sheet, take_from_sheet
from sparkout.records.season import kept_sheet
from sparkout.season.sheet import DAYS, as_tables, sheet_of
from sparkout.units import split
from sparkout.visit.asked import Quantity
from sparkout.visit.entered import Entered
from sparkout.visit.fields import declared
from sparkout.visit.words import Day
from sparkout.web.season.sections import CHOICE_WORDS, CHOICES, PARTS, boxes_of, groups_of, table_of
from sparkout.web.shell.form import Form, as_shown
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing
    from sparkout.visit.asked import Asked
    from sparkout.web.season.sections import Part


_LABELS = {
    **{name: label for part in PARTS.values() if not part.listed for name, label in part.labels.items()},
    **{part.name: part.many for part in PARTS.values() if part.listed},
}


def what_if_of(request: HttpRequest) -> str:
    """Return the what-if that an address names; empty for the workshop's own season."""
    return str(request.POST.get("of", "") or request.GET.get("of", "")).strip()


def _tables(what_if: str) -> dict[str, Any]:
    kept = kept_sheet(what_if)
    if kept is None and what_if:
        raise Http404
    return {} if kept is None else dict(kept.tables)


@somebody
@require_safe
def sheet(request: HttpRequest) -> HttpResponse:
    """Everything on the sheet, each entry with its form behind it."""
    what_if, showing = what_if_of(request), reader_of(request).showing
    tables = _tables(what_if)
    kept = kept_sheet(what_if)
    context = {
        "of": what_if,
        "query": f"?{urlencode({'of': what_if})}" if what_if else "",
        "lists": [_listed(part, tables, showing) for part in PARTS.values() if part.listed],
        "singles": [_single(part, tables, showing) for part in PARTS.values() if not part.listed],
        "done": request.GET.get("done", ""),
        "history": history(
            showing, *([kept] if kept is not None else []), labels=_LABELS, told=partial(_became, showing=showing)
        ),
    }
    return page(request, "season/sheet.html", context)


def _listed(part: Part, tables: dict[str, Any], showing: Showing) -> dict[str, Any]:
    rows = [
        (i, [(head, _cell(part, row, name, showing)) for name, head in _heads(part, showing)])
        for i, row in enumerate(tables.get(part.name, ()))
    ]
    return {
        "name": part.name,
        "title": showing.say(part.many),
        "add": showing.say(part.add),
        "heads": [head for _, head in _heads(part, showing)],
        "rows": rows,
    }


def _heads(part: Part, showing: Showing) -> list[tuple[str, str]]:
    return [(name, showing.say(label or CHOICES[name].title)) for name, label in part.labels.items()]


def _cell(part: Part, row: dict[str, Any], name: str, showing: Showing) -> str:
    if name in CHOICES:
        have = row.get(name, CHOICES[name].each)
        return ", ".join(showing.say(CHOICE_WORDS[each]) for each in CHOICES[name].each if each in have)
    if name == "week":
        worked = zip(DAYS, row.get("week", ()), strict=False)
        return " · ".join(
            showing.say(phrase("{day} {hours}", day=phrase(day), hours=str(hours)))
            for day, hours in worked
            if split(str(hours))[0] > 0.0
        )
    return _told(row.get(name), declared(part.section, name), showing)


def _told(value: Any, takes: Asked | None, showing: Showing) -> str:
    """Return a value on file as it is read, not typed: a day in words, a number with the reader's decimal mark."""
    shown = as_shown(value, takes)
    if isinstance(takes, Day) and shown:
        return showing.say(dated(datetime.date.fromisoformat(shown)))
    return showing.say(shown) if isinstance(takes, Quantity) else shown


def _became(name: str, value: Any, showing: Showing) -> str | None:
    """Return one of the sheet's lists as it stands on the page, in a line; None for a single figure."""
    part = PARTS.get(name)
    if part is None or not isinstance(value, list):
        return None
    rows = ([cell for each in part.labels if (cell := _cell(part, row, each, showing).strip())] for row in value)
    return "; ".join(", ".join(cells) for cells in rows)


def _single(part: Part, tables: dict[str, Any], showing: Showing) -> dict[str, Any]:
    """Return a part's figures with where each comes from: the workshop's own, or what stands here until then."""
    own = tables if part.name == "season" else tables.get(part.name, {})
    usual = part.section()
    rows = []
    for name, label in part.labels.items():
        takes = declared(part.section, name)
        value = own.get(name, getattr(usual, name))
        shown = value.typed if isinstance(value, Entered) else value
        whose = phrase("the workshop's own") if name in own else phrase("common practice, no source")
        if name == "start" and name not in own:
            shown, whose = phrase("the day it is asked"), phrase("not said")
        told = showing.say(shown) if isinstance(shown, Phrase) else _told(shown, takes, showing)
        rows.append((showing.say(label), told, showing.say(whose)))
    return {"name": part.name, "title": showing.say(part.many), "rows": rows}


@somebody
@require_http_methods(["GET", "POST"])
def entry(request: HttpRequest, name: str, which: int | None = None) -> HttpResponse:
    """The form of one entry of the sheet, or of one of its parts without a list."""
    part, what_if, reader = PARTS.get(name), what_if_of(request), reader_of(request)
    if part is None:
        raise Http404
    tables = _tables(what_if)
    table = _row(part, tables, which)
    form = Form(groups_of(part, _offered(part, tables)), reader.showing, boxes_of(part, table))
    if request.method == "POST":
        form.take(request.POST)
        try:
            _unchanged(request, table)
            made = table_of(part, form.typed())
            gone = {key: None for key in table if key in part.labels and key not in made}
            set_in_sheet(
                actor=reader.actor,
                part="" if part.name == "season" else part.name,
                entry={**gone, **made},
                which=which,
                what_if=what_if,
                key=form.key,
            )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            told = {"done": "kept", **({"of": what_if} if what_if else {})}
            return redirect(f"{reverse('season-sheet')}?{urlencode(told)}#{part.name}")
    context = {
        "form": form,
        "part": part,
        "title": reader.showing.say(part.one),
        "of": what_if,
        "query": f"?{urlencode({'of': what_if})}" if what_if else "",
        "which": which,
        "was": _digest(table),
    }
    return page(request, "season/entry.html", context, 422 if form.is_wrong else 200)


@somebody
@require_POST
def remove(request: HttpRequest, name: str, which: int) -> HttpResponse:
    """Take one entry from the sheet; the sheet before stays on file."""
    part, what_if, reader = PARTS.get(name), what_if_of(request), reader_of(request)
    if part is None or not part.listed:
        raise Http404
    try:
        _unchanged(request, _row(part, _tables(what_if), which))
        key = request.POST.get("key") or None
        take_from_sheet(actor=reader.actor, part=part.name, which=which, what_if=what_if, key=key)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    told = {"done": "kept", **({"of": what_if} if what_if else {})}
    return redirect(f"{reverse('season-sheet')}?{urlencode(told)}#{part.name}")


def _row(part: Part, tables: dict[str, Any], which: int | None) -> dict[str, Any]:
    if not part.listed:
        made: dict[str, Any] = tables if part.name == "season" else tables.get(part.name, {})
        usual = as_tables(sheet_of({})) if part.name == "season" else {}
        return {**usual, **made}
    if which is None:
        return {}
    rows = tables.get(part.name, ())
    if which >= len(rows):
        raise Http404
    return dict(rows[which])


_NAMED: dict[str, tuple[str, tuple[Any, ...], dict[str, Any]]] = {
    "machines": ("name", (Machine,), {"ended_on": None}),
    "parts": ("part", (ReelType, KnifeType), {"ended_on": None}),
    "people": ("name", (Person,), {"active": True}),
    "fetching": ("place", (Place,), {}),
}
"""By part of the sheet: the field that offers names, whose, and which of them are in use."""


def _offered(part: Part, tables: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    """Return names on file, by field: machines, places, people, grinders, types of reel and knife."""
    if part.name in _NAMED:
        field, kinds, in_use = _NAMED[part.name]
        found = [kind.objects.filter(**in_use).order_by("name").values_list("name", flat=True)[:100] for kind in kinds]
        return {field: tuple(chain.from_iterable(found))}
    if part.name == "away":
        here = [row["name"] for table in ("people", "grinders") for row in tables.get(table, ())]
        return {"who": tuple(here)}
    if part.name == "fresh":
        named = [*Place.objects.order_by("name").values_list("name", flat=True)[:50]]
        machines = Machine.objects.filter(ended_on=None).order_by("name").values_list("name", flat=True)[:50]
        return {"at": (*named, *machines)}
    return {}


def _digest(table: dict[str, Any]) -> str:
    return json.dumps(table, sort_keys=True, default=str)


def _unchanged(request: HttpRequest, table: dict[str, Any]) -> None:
    """Refuse when the entry is no longer what was seen: rows of a list move when one is taken out.

    Raises
    ------
    Refusal
        When somebody else changed it meanwhile.
    """
    was = request.POST.get("was")
    if was is not None and was != _digest(table):
        raise Refusal(
            phrase("somebody else changed this entry meanwhile: look at the season sheet, then enter it again")
        )
