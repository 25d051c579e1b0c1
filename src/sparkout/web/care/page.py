"""Care of the person: a day's vibration, noise and dust beside each region's values, and who may do which work."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.care.values import CHECK
from sparkout.core.cautions import cautions_for
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.reckoning.exposure import day_of
from sparkout.records.models import Authorisation, Exposure, Person
from sparkout.records.models.care import WORKS
from sparkout.records.operations import care as operations
from sparkout.records.operations.doing import today
from sparkout.web.shell.form import Field, Form, Group
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.reckoning.exposure import Beside, ExposureDay
    from sparkout.showing import Showing


def _people() -> tuple[tuple[str, str], ...]:
    return tuple((str(p.pk), AsTyped(p.name)) for p in Person.objects.filter(active=True).order_by("name"))


_TASK = {
    "person": phrase("Who"),
    "task": phrase("What was done"),
    "hours": phrase("How long"),
    "vibration": phrase("Vibration at the hand"),
    "level": phrase("Noise at the ear"),
    "dust": phrase("Dust"),
    "origin": phrase("Where the figures are from"),
}
_MAY = {
    "work": phrase("May"),
    "given_by": phrase("Given by"),
    "since": phrase("First day"),
    "until": phrase("Last day"),
}


def _task_form(showing: Showing, person: Person, day: datetime.date) -> Form:
    fields = (
        Field("person", label=phrase("Whose day"), choices=_people(), needed=True),
        Field("on", label=phrase("Day"), takes=operations.ON, needed=True),
        Field("task", label=_TASK["task"], takes=operations.TASK, needed=True),
        Field("hours", label=_TASK["hours"], takes=operations.HOURS, needed=True),
        Field("vibration", label=_TASK["vibration"], takes=operations.VIBRATION),
        Field("level", label=_TASK["level"], takes=operations.LEVEL),
        Field("dust", label=_TASK["dust"], takes=operations.DUST),
        Field("origin", label=_TASK["origin"], takes=operations.ORIGIN, needed=True),
    )
    return Form([Group("", fields)], showing, {"person": str(person.pk), "on": day.isoformat()}, prefix="t")


def _may_form(showing: Showing) -> Form:
    works = tuple((name, phrase(words)) for name, words in WORKS)
    fields = (
        Field("person", label=_TASK["person"], choices=_people(), needed=True),
        Field("work", label=_MAY["work"], choices=works, needed=True),
        Field("given_by", label=_MAY["given_by"], takes=operations.GIVEN_BY, needed=True),
        Field("since", label=_MAY["since"], takes=operations.SINCE, needed=True),
        Field("until", label=_MAY["until"], takes=operations.UNTIL),
    )
    return Form([Group("", fields)], showing, {"since": today().isoformat()}, prefix="m")


@somebody
@require_http_methods(["GET", "POST"])
def care(request: HttpRequest) -> HttpResponse:
    """One person's day with a form for a task of it, and everybody's authorisations."""
    person, day = _asked(request)
    if request.method == "GET":
        return _page(request, person, day)
    reader = reader_of(request)
    form = _task_form(reader.showing, person, day)
    form.take(request.POST)
    try:
        typed: dict[str, Any] = form.typed()
        who = _person(typed.pop("person"))
        made = operations.record_exposure(actor=reader.actor, person=who, key=form.key, **typed)
    except Refusal as refusal:
        form.refuse(refusal)
        return _page(request, person, day, task=form)
    return _to_day(made)


@somebody
@require_POST
def may_do(request: HttpRequest) -> HttpResponse:
    """Put an authorisation on file."""
    reader = reader_of(request)
    form = _may_form(reader.showing)
    form.take(request.POST)
    try:
        typed: dict[str, Any] = form.typed()
        who = _person(typed.pop("person"))
        operations.add_authorisation(actor=reader.actor, person=who, key=form.key, **typed)
    except Refusal as refusal:
        form.refuse(refusal)
        return _page(request, *_asked(request), may=form)
    return redirect(reverse("care") + "?done=added#may")


@somebody
@require_POST
def withdrawn(request: HttpRequest, number: int) -> HttpResponse:
    """Withdraw a task put on file wrongly."""
    found = get_object_or_404(Exposure, pk=number)
    try:
        operations.withdraw_exposure(actor=reader_of(request).actor, exposure=found)
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    return _to_day(found)


@somebody
@require_POST
def ended(request: HttpRequest, number: int) -> HttpResponse:
    """Withdraw an authorisation."""
    found = get_object_or_404(Authorisation, pk=number)
    try:
        operations.end_authorisation(actor=reader_of(request).actor, authorisation=found)
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    return redirect(reverse("care") + "?done=changed#may")


def _to_day(entry: Exposure) -> HttpResponse:
    return redirect(f"{reverse('care')}?person={entry.person_id}&on={entry.on.isoformat()}&done=changed#day")


def _person(number: str) -> Person:
    found = Person.objects.filter(pk=int(number)).first() if number.isdigit() and len(number) < 15 else None
    if found is None:
        raise Refusal(phrase("choose a person of this workshop"))
    return found


def _asked(request: HttpRequest) -> tuple[Person, datetime.date]:
    """Return whose day is looked at: as the address says, else the reader's own today."""
    try:
        person = _person(request.GET.get("person", ""))
    except Refusal:
        person = reader_of(request).actor
    try:
        return person, datetime.date.fromisoformat(request.GET.get("on", ""))
    except ValueError:
        return person, today()


def _page(
    request: HttpRequest, person: Person, day: datetime.date, task: Form | None = None, may: Form | None = None
) -> HttpResponse:
    showing = reader_of(request).showing
    entries = operations.exposures_of(person, day)
    came = day_of(operations.tasks_of(person, day))
    held = list(Authorisation.objects.select_related("person").order_by("person__name", "work", "pk"))
    cautions = [c for step in ("noise and vibration", "dust", "wheel mounting") for c in cautions_for(step)]
    wrong = (task is not None and task.is_wrong) or (may is not None and may.is_wrong)
    context = {
        "person": person,
        "day": day,
        "people": Person.objects.filter(active=True).order_by("name"),
        "entries": [(e, showing.say(e.dust)) for e in entries],
        "came": _came(came, showing),
        "values": [_value(b, showing) for b in came.values],
        "untold": came.untold,
        "alone": [
            (name, showing.quantity(hours * 3600.0, "time", unit="h", places=1)) for name, hours in came.to_action
        ],
        "check": showing.say(CHECK),
        "cautions": [showing.say(text) for text in dict.fromkeys(c.short for c in cautions)],
        "task_form": task or _task_form(showing, person, day),
        "may_form": may or _may_form(showing),
        "held": [(one, showing.say(phrase(one.work)), _standing(one, showing)) for one in held if one.ended_at is None],
        "history": history(showing, *entries, *held, labels={**_TASK, **_MAY}),
        "done": request.GET.get("done", ""),
    }
    return page(request, "care/page.html", context, 422 if wrong else 200)


def _came(day: ExposureDay, showing: Showing) -> list[tuple[str, str]]:
    rows = []
    if day.vibration is not None:
        rows.append((phrase("Vibration, A(8)"), f"{showing.figure(day.vibration, 1)} m/s²"))
    if day.noise is not None:
        rows.append((phrase("Noise, LEX,8h (3 dB exchange)"), f"{showing.figure(day.noise, 1)} dB(A)"))
    if day.noise_5db is not None:
        rows.append((phrase("Noise over 8 h (5 dB exchange)"), f"{showing.figure(day.noise_5db, 1)} dB(A)"))
    return [(showing.say(name), figure) for name, figure in rows]


def _value(beside: Beside, showing: Showing) -> dict[str, Any]:
    say, value = showing.say, beside.value
    return {
        "region": say(value.region),
        "name": say(phrase("{of}: {name}", of=phrase(value.of), name=phrase(value.name))),
        "at": f"{showing.figure(value.value, 1)} {value.unit}, {value.over}",
        "reached": beside.reached,
        "source": say(phrase("{source} ({seen})", source=AsTyped(value.source), seen=phrase(value.seen))),
    }


def _standing(one: Authorisation, showing: Showing) -> tuple[str, bool]:
    """Return whether the person may do it today by everything on file, and in words."""
    found = operations.may(one.person, one.work, today())
    return showing.say(found.why), found.may
