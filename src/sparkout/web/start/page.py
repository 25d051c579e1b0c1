"""First start: look round the demonstration, or set up a workshop of one's own in one go."""

from __future__ import annotations

import uuid
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.checked import checked_row, refuse
from sparkout.records.models import Person
from sparkout.records.operations.doing import one_transaction
from sparkout.records.operations.equipment import add_gauge, set_limit
from sparkout.records.operations.workshop import set_up_workshop
from sparkout.visit.problems import VisitProblems
from sparkout.web.shell.form import Field, Form, Group
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import WHO, reader_of
from sparkout.web.start.offered import gauges, offered_limits
from sparkout.web.workshop.page import manner_fields
from sparkout.web.workshop.where import NAME

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing
    from sparkout.web.start.offered import Row

_NAMES = ("name", "first_person")
_START = {"units": "mm", "vocabulary": "uk", "paper_size": "A4"}


class _Amiss(Exception):
    """Something beside a row is wrong: nothing of it all is kept."""


def _groups() -> list[Group]:
    who = (
        Field("name", label=phrase("Name of the workshop"), takes=NAME, needed=True),
        Field(
            "first_person",
            label=phrase("Your name"),
            takes=NAME,
            needed=True,
            help=phrase("every entry keeps the name of who made it; the others are added later"),
        ),
    )
    return [Group("", who), Group(phrase("How you want to be told"), manner_fields())]


@require_http_methods(["GET", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """Look round the demonstration workshop, or set up your own."""
    reader = reader_of(request)
    if reader.workshop is not None:
        return redirect("board")
    told = {"language": reader.showing.language, "decimal": reader.showing.decimal}
    form = Form(_groups(), reader.showing, {**_START, **told}, prefix="s")
    rows = {"gauges": gauges(reader.showing), "limits": offered_limits(reader.showing)}
    if request.method == "POST":
        form.take(request.POST)
        for row in (*rows["gauges"], *rows["limits"]):
            row.take(request.POST)
        if _set_up(form, rows, reader.showing):
            request.session[WHO] = Person.objects.order_by("pk")[0].pk
            return redirect("workshop")
    wrong = [
        (f"{row.slug}-{name}", f"{row.title}", text)
        for row in (*rows["gauges"], *rows["limits"])
        for name, text in row.wrong.items()
    ]
    summary = form.summary + wrong
    return page(request, "start/page.html", {"form": form, "summary": summary, **rows}, 422 if summary else 200)


def _set_up(form: Form, rows: dict[str, list[Row]], showing: Showing) -> bool:
    """Set everything up, all or nothing; what is wrong is put beside its box, all of it at once."""
    try:
        with one_transaction():
            actor = _workshop(form)
            done = [_one(row, actor, form, showing) for row in (*rows["gauges"], *rows["limits"]) if row.ticked]
            if form.is_wrong or not all(done):
                raise _Amiss
    except _Amiss:
        return False
    except Refusal as refusal:
        form.refuse(refusal)
        return False
    return True


def _workshop(form: Form) -> Person | None:
    """Set the workshop up and return its first person; None when something is wrong with it."""
    try:
        typed: dict[str, Any] = {name: value or "" for name, value in form.typed().items()}
        set_up_workshop(**typed)
    except Refusal as refusal:
        form.refuse(refusal)
        return None
    return Person.objects.get()


def _chosen(form: Form, showing: Showing) -> Showing:
    """Return how figures on this very form are meant: in the units and with the decimal mark chosen on it."""
    return replace(
        showing,
        system="inch" if form.values["units"] == "inch" else "mm",
        decimal="," if form.values["decimal"] == "," else ".",
    )


def _one(row: Row, actor: Person | None, form: Form, showing: Showing) -> bool:
    """Add one gauge or set one limit; False when something is wrong with it. Without an actor it is only checked."""
    key = uuid.uuid5(uuid.UUID(form.key), row.slug)
    try:
        said = row.said(_chosen(form, showing))
        gauge = {"kind": row.name, **said}
        limit = {"quantity": row.name, "origin": "", **said}
        if row.prefix == "limit" and not limit["origin"]:
            raise refuse("origin", phrase("a limit needs its origin"))
        if actor is None:
            checked_row(f"{row.prefix}s", gauge if row.prefix == "gauge" else limit)
        elif row.prefix == "gauge":
            add_gauge(actor=actor, key=key, **gauge)
        else:
            set_limit(actor=actor, key=key, **limit)
    except VisitProblems as problems:
        row.refuse(problems, showing)
        return False
    return True


@require_POST
def demonstration(request: HttpRequest) -> HttpResponse:
    """Fill the records with the demonstration workshop."""
    if reader_of(request).workshop is None:
        from sparkout.records.demonstration import load_demonstration

        try:
            load_demonstration(reader_of(request).showing.language)
        except Refusal as refusal:
            return refused(request, reader_of(request).showing.say(refusal.words))
    return redirect("board")
