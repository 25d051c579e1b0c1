"""Who is at the bench, and how they want to be told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import Person
from sparkout.records.operations.workshop import add_person, set_preferences
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import LANGUAGE, WHO, reader_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


@require_http_methods(["GET", "POST"])
def who(request: HttpRequest) -> HttpResponse:
    """Choose who you are, or add somebody."""
    reader = reader_of(request)
    if reader.workshop is None:
        return redirect("start")
    people = Person.objects.filter(active=True).order_by("name")
    if request.method == "GET":
        return page(request, "shell/who.html", {"people": people, "next": back(request, request.GET.get("next", "/"))})
    name = request.POST.get("name", "").strip()
    try:
        if name:
            first = reader.person or people.first()
            assert first is not None  # setting up makes the first person
            person = add_person(actor=first, name=name)
        else:
            chosen = request.POST.get("person", "")
            found = people.filter(pk=int(chosen)).first() if chosen.isdigit() else None
            if found is None:
                raise Refusal(phrase("choose one of the people listed"))
            person = found
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    request.session[WHO] = person.pk
    return redirect(back(request, request.POST.get("next", "/")))


@require_POST
def manner(request: HttpRequest) -> HttpResponse:
    """Change language, units, words or decimal mark for this person; everything is told anew at once.

    Somebody who has not said who they are chooses a language for as long as that lasts.
    """
    chosen = {
        name: request.POST[name] for name in ("units", "vocabulary", "decimal", "language") if name in request.POST
    }
    reader = reader_of(request)
    if reader.person is None:
        request.session[LANGUAGE] = chosen.get("language")
    else:
        try:
            set_preferences(actor=reader.person, person=reader.person, **chosen)
        except Refusal as refusal:
            return refused(request, reader.showing.say(refusal.words))
    return redirect(back(request, request.POST.get("next", "/")))


def back(request: HttpRequest, address: str) -> str:
    """Return an address on this server, else the board's."""
    fits = url_has_allowed_host_and_scheme(address, {request.get_host()})
    return address if fits and address.startswith("/") else "/"
