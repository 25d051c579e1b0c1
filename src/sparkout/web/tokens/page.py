"""Tokens for programs: made here, shown once, ended here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import Token
from sparkout.records.models.tokens import CALENDAR, SCOPES
from sparkout.records.operations.tokens import TOKEN_NAME, MadeToken, end_token, make_token
from sparkout.web.shell.form import Field, Form, Group
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing


def _form(showing: Showing) -> Form:
    scopes = tuple((scope, phrase(words)) for scope, words in SCOPES)
    name = Field("name", label=phrase("What the token is for"), takes=TOKEN_NAME, needed=True)
    may = Field("scope", label=phrase("What it may do"), choices=scopes, needed=True)
    return Form([Group("", (name, may))], showing, {"scope": SCOPES[0][0]})


@somebody
@require_http_methods(["GET", "POST"])
def tokens(request: HttpRequest) -> HttpResponse:
    """Every token, and a form to make one; the token made is told in the answer to the form and nowhere else."""
    reader = reader_of(request)
    form, made = _form(reader.showing), None
    if request.method == "POST":
        form.take(request.POST)
        try:
            made = _made(form, request)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            form = _form(reader.showing)
    everyone = list(Token.objects.select_related("person").order_by("-pk"))
    context = {
        "form": form,
        "made": made,
        "calendar": _calendar(request, made),
        "address": request.build_absolute_uri(reverse("api:api-root")),
        "tokens": [
            (token, reader.showing.say(phrase(dict(SCOPES)[token.scope]))) for token in everyone if _open(token)
        ],
        "past": [token for token in everyone if not _open(token)],
        "history": history(
            reader.showing,
            *everyone,
            told=lambda name, value: reader.showing.say(phrase(dict(SCOPES)[value])) if name == "scope" else None,
        ),
        "done": request.GET.get("done", ""),
    }
    return page(request, "tokens/page.html", context, 422 if form.is_wrong else 200)


def _calendar(request: HttpRequest, made: MadeToken | None) -> str:
    """Return the address at which a calendar program finds the plan, where the token made is for that."""
    if made is None or made.token.scope != CALENDAR:
        return ""
    return request.build_absolute_uri(reverse("calendar", args=[made.text]))


def _open(token: Token) -> bool:
    return token.ended_at is None


def _made(form: Form, request: HttpRequest) -> MadeToken:
    typed: dict[str, Any] = form.typed()
    return make_token(actor=reader_of(request).actor, name=typed["name"], scope=typed["scope"])


@somebody
@require_POST
def ended(request: HttpRequest, number: int) -> HttpResponse:
    """End a token."""
    reader = reader_of(request)
    try:
        end_token(actor=reader.actor, token=get_object_or_404(Token, pk=number))
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(reverse("tokens") + "?done=changed")
