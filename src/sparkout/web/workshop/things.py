"""One page to list, one to add, one to see and change, for every kind of thing in the workshop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.operations.doing import one_transaction, today
from sparkout.records.operations.ending import end, take_up_again
from sparkout.records.operations.meanwhile import agreed
from sparkout.visit.words import Day, Text
from sparkout.web.shell.form import Field, Form, Group
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history
from sparkout.web.workshop.kind import is_in_use
from sparkout.web.workshop.kinds import KINDS
from sparkout.web.workshop.telling import kept_query

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.web.workshop.kind import Kind

_A_PAGE = 100
ENDING = (
    Group(
        "",
        (
            Field("on", label=phrase("From which day"), takes=Day(""), needed=True),
            Field("why", takes=Text("", "", 500)),
        ),
    ),
)


@somebody
@require_safe
def listed(request: HttpRequest, kind: str) -> HttpResponse:
    """All of a kind, those in use or those out of use; found by name."""
    which, showing = KINDS[kind], reader_of(request).showing
    ended, wanted = "ended" in request.GET, request.GET.get("q", "").strip()
    found = which.listed().exclude(**which.in_use) if ended else which.listed().filter(**which.in_use)
    if wanted:
        found = found.filter(**{f"{which.name}__icontains": wanted})
    pages = Paginator(found.order_by(which.name, "pk"), _A_PAGE).get_page(request.GET.get("page"))
    rows = [
        (thing, getattr(thing, which.name), [(showing.say(c.head), c.cell(thing, showing)) for c in which.columns])
        for thing in pages.object_list
    ]
    context = {
        **_words(which, request),
        "rows": rows,
        "heads": [showing.say(column.head) for column in which.columns],
        "pages": pages,
        "ended": ended,
        "q": wanted,
        "kept_query": kept_query(request),
    }
    return page(request, "workshop/list.html", context)


@somebody
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, kind: str) -> HttpResponse:
    """A new thing of a kind."""
    which, reader = KINDS[kind], reader_of(request)
    form = Form(which.groups(None), reader.showing)
    if request.method == "POST":
        form.take(request.POST)
        try:
            made = which.add(reader.actor, form.typed(), form.key)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("thing", args=[kind, made.pk]) + "?done=added")
    return page(request, "workshop/add.html", {**_words(which, request), "form": form}, 422 if form.is_wrong else 200)


@somebody
@require_http_methods(["GET", "POST"])
def thing(request: HttpRequest, kind: str, number: int) -> HttpResponse:
    """One thing: what is on file, to change; what became of it; putting it out of use."""
    which, reader = KINDS[kind], reader_of(request)
    found = _one(which, number)
    values = which.values(found)
    form = Form(which.groups(found), reader.showing, dict(values), dict(values))
    if request.method == "POST":
        form.take(request.POST)
        try:
            _change(which, number, form, request)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("thing", args=[kind, number]) + "?done=changed")
    return _thing_page(request, which, found, form, _ending_form(request))


def _change(which: Kind, number: int, form: Form, request: HttpRequest) -> None:
    """Change what this person changed; what somebody else changed meanwhile stands, what both changed is asked."""
    with one_transaction():
        held = which.model._default_manager.select_for_update().get(pk=number)
        assert form.seen is not None  # of what is on file
        changed = {entry.name for entry in form.fields}
        current = {name: value for name, value in which.values(held).items() if name in changed}
        form.values |= agreed(current, form.seen, {name: form.values[name] for name in changed})
        typed = form.typed()
        if any(form.values[name] != current[name] for name in changed):
            which.change(reader_of(request).actor, held, typed, form.key)


@somebody
@require_POST
def ended(request: HttpRequest, kind: str, number: int) -> HttpResponse:
    """Put a thing out of use with its day, or into use again."""
    which, reader = KINDS[kind], reader_of(request)
    found = _one(which, number)
    form = _ending_form(request)
    form.take(request.POST)
    try:
        if "again" in request.POST:
            take_up_again(actor=reader.actor, thing=found, key=form.key)
        else:
            typed = form.typed()
            end(actor=reader.actor, thing=found, on=typed["on"], why=typed["why"] or "", key=form.key)
    except Refusal as refusal:
        form.refuse(refusal)
        values = which.values(found)
        return _thing_page(request, which, found, Form(which.groups(found), reader.showing, dict(values), values), form)
    return redirect(reverse("thing", args=[kind, number]) + "?done=changed")


def _ending_form(request: HttpRequest) -> Form:
    return Form(ENDING, reader_of(request).showing, {"on": today().isoformat()}, prefix="e")


def _thing_page(request: HttpRequest, which: Kind, found: Any, form: Form, ending: Form) -> HttpResponse:
    showing = reader_of(request).showing
    context = {
        **_words(which, request),
        "thing": found,
        "title": getattr(found, which.name),
        "form": form,
        "ending": ending,
        "in_use": is_in_use(which, found),
        "ended_on": getattr(found, "scrapped_on", None) or getattr(found, "ended_on", None),
        "end_words": showing.say(which.end_words),
        "sides": [(showing.say(side.words), _side(side.address, found.pk)) for side in which.sides],
        "extra": which.extra,
        "done": request.GET.get("done", ""),
        "history": history(showing, found, *which.related(found)),
        **(which.more(found, showing) if which.more else {}),
    }
    return page(request, "workshop/thing.html", context, 422 if form.is_wrong or ending.is_wrong else 200)


def _side(address: str, number: int) -> str:
    return reverse(address, args=[number])


def _one(which: Kind, number: int) -> Any:
    return get_object_or_404(which.model, pk=number)


def _words(which: Kind, request: HttpRequest) -> dict[str, Any]:
    say = reader_of(request).showing.say
    return {
        "kind": which,
        "many": say(which.many),
        "one": say(which.one),
        "new": say(which.new),
        "about": say(which.about),
    }
