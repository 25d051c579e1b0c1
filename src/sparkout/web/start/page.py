"""First start."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.errors import Refusal
from sparkout.records.models import Person
from sparkout.records.models.workshop import DECIMALS, PAPERS, UNITS, VOCABULARIES
from sparkout.records.operations.workshop import set_up_workshop
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import WHO, reader_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_ASKED = ("name", "first_person", "units", "vocabulary", "decimal", "paper_size")


@require_http_methods(["GET", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """Look round the demonstration workshop, or set up your own."""
    if reader_of(request).workshop is not None:
        return redirect("board")
    choices = {"units": UNITS, "vocabulary": VOCABULARIES, "decimal": DECIMALS, "paper_size": PAPERS}
    if request.method == "GET":
        return page(request, "start/page.html", {"choices": choices, "sent": {}})
    sent: dict[str, Any] = {name: request.POST.get(name, "").strip() for name in _ASKED}
    try:
        set_up_workshop(**sent)
    except Refusal as refusal:
        return page(request, "start/page.html", {"choices": choices, "sent": sent, "why": str(refusal)}, 422)
    request.session[WHO] = Person.objects.order_by("pk")[0].pk
    return redirect("workshop")


@require_POST
def demonstration(request: HttpRequest) -> HttpResponse:
    """Fill the records with the demonstration workshop."""
    if reader_of(request).workshop is None:
        from sparkout.records.demonstration import load_demonstration

        try:
            load_demonstration()
        except Refusal as refusal:
            return refused(request, str(refusal))
    return redirect("board")
