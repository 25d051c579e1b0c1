"""Sand and stones: what happened on the turf, and corrections of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import refuse
from sparkout.records.models import Event, Machine, Unit
from sparkout.records.models.history import EVENTS
from sparkout.records.operations.doing import today
from sparkout.records.operations.turf import correct_event, record_event, withdraw_event
from sparkout.visit.words import Day, Text
from sparkout.web.shell.form import Field, Form, Group
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history
from sparkout.web.workshop.where import chosen_from, place_named, place_names

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_A_PAGE = 60
_MANY = 500


def _groups(event: Event | None = None) -> list[Group]:
    machines = Machine.objects.filter(ended_on=None).order_by("name").values_list("name", flat=True)[:_MANY]
    units = Unit.objects.filter(active=True).order_by("name").values_list("name", flat=True)[:_MANY]
    place = None if event is None or event.place is None else event.place.name
    return [
        Group(
            "",
            (
                Field(
                    "kind",
                    label=phrase("What happened"),
                    choices=tuple((name, phrase(words)) for name, words in EVENTS),
                    needed=True,
                ),
                Field("on", takes=Day(""), needed=True),
                Field("place", choices=chosen_from(place_names(place)), help=phrase("sand: where it was spread")),
                Field("machine", offered=tuple(machines)),
                Field("unit", offered=tuple(dict.fromkeys(units)), help=phrase("a stone: which unit was hit")),
                Field("note", takes=Text("", "", 500)),
            ),
        )
    ]


def _where(typed: dict[str, str | None]) -> dict[str, Any]:
    """Return where it happened, from the names typed.

    Raises
    ------
    VisitProblems
        When there is nothing of that name, or more than one unit.
    """
    found: dict[str, Any] = {"place": place_named(typed["place"])}
    if typed["machine"] is not None:
        found["machine"] = Machine.objects.filter(name=typed["machine"]).first()
        if found["machine"] is None:
            raise refuse("machine", phrase("there is no machine called '{name}'", name=AsTyped(typed["machine"] or "")))
    if typed["unit"] is not None:
        units = Unit.objects.filter(name=typed["unit"], active=True)
        if found.get("machine") is not None:
            units = units.filter(position__machine=found["machine"])
        match list(units[:2]):
            case [one]:
                found["unit"] = one
            case []:
                raise refuse(
                    "unit", phrase("there is no unit called '{name}' there", name=AsTyped(typed["unit"] or ""))
                )
            case _:
                raise refuse(
                    "unit",
                    phrase("several units are called '{name}'", name=AsTyped(typed["unit"] or "")),
                    suggestion=phrase("Name its machine too."),
                )
    return found


@somebody
@require_http_methods(["GET", "POST"])
def turf(request: HttpRequest) -> HttpResponse:
    """What happened, the last first, and a form to enter more."""
    reader = reader_of(request)
    form = Form(_groups(), reader.showing, {"on": today().isoformat()})
    if request.method == "POST":
        form.take(request.POST)
        try:
            typed = form.typed()
            record_event(
                actor=reader.actor,
                kind=typed["kind"] or "",
                on=typed["on"] or "",
                note=typed["note"] or "",
                key=form.key,
                **_where(typed),
            )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("turf") + "?done=added")
    events = Event.objects.select_related("place", "machine", "unit__position__machine", "corrects")
    pages = Paginator(events.order_by("-on", "-pk"), _A_PAGE).get_page(request.GET.get("page"))
    rows = [(event, reader.showing.say(phrase(event.get_kind_display()))) for event in pages.object_list]
    context = {"form": form, "rows": rows, "pages": pages, "done": request.GET.get("done", "")}
    return page(request, "workshop/turf.html", context, 422 if form.is_wrong else 200)


@somebody
@require_http_methods(["GET", "POST"])
def event(request: HttpRequest, number: int) -> HttpResponse:
    """One event, to correct by a new one that names it, or to withdraw."""
    reader = reader_of(request)
    found = get_object_or_404(Event.everything.select_related("place", "machine", "unit"), pk=number)
    values = {
        "kind": found.kind,
        "on": found.on.isoformat(),
        "note": found.note,
        **{name: str(getattr(found, name).name) for name in ("place", "machine", "unit") if getattr(found, name)},
    }
    form = Form(_groups(found), reader.showing, values)
    if request.method == "POST":
        form.take(request.POST)
        try:
            if "withdraw" in request.POST:
                withdraw_event(actor=reader.actor, event=found, key=form.key)
            else:
                typed = form.typed()
                correct_event(
                    actor=reader.actor,
                    event=found,
                    kind=typed["kind"] or "",
                    on=typed["on"] or "",
                    note=typed["note"] or "",
                    key=form.key,
                    **_where(typed),
                )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("turf") + "?done=changed")
    context = {"form": form, "event": found, "history": history(reader.showing, found, *_corrected(found))}
    return page(request, "workshop/event.html", context, 422 if form.is_wrong else 200)


def _corrected(event: Event) -> list[Event]:
    found, at = [], event.corrects
    while at is not None:
        found.append(at)
        at = at.corrects
    return found
