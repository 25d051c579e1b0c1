"""The workshop's own page: what there is of everything; its settings; a visit file brought in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.exchange import visit_from_file
from sparkout.records.models import Event, Gauge, Limit, Workshop
from sparkout.records.models.workshop import DECIMALS, PAPERS, UNITS, VOCABULARIES
from sparkout.records.operations.doing import one_transaction, today
from sparkout.records.operations.meanwhile import agreed
from sparkout.records.operations.workshop import change_workshop
from sparkout.translation import LANGUAGES
from sparkout.visit.reading import read_visit
from sparkout.web.shell.form import Field, Form, Group, given, shown_values
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history
from sparkout.web.workshop.kinds import ALL
from sparkout.web.workshop.sections import WantedSection, fields_of
from sparkout.web.workshop.where import name_field

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.http import HttpRequest, HttpResponse


_MANNER = ("name", "units", "vocabulary", "decimal", "language", "paper_size")
_WANTED = tuple(WantedSection.model_fields)


@somebody
@require_safe
def workshop(request: HttpRequest) -> HttpResponse:
    """Everything the workshop has."""
    say = reader_of(request).showing.say
    soon = Gauge.objects.filter(retired=False, calibration_due__lt=today()).order_by("calibration_due")
    context = {
        "kinds": [
            (kind.slug, say(kind.many), kind.model._default_manager.filter(**kind.in_use).count(), say(kind.new))
            for kind in ALL
        ],
        "limits": Limit.objects.filter(ended_at=None).count(),
        "events": Event.objects.count(),
        "overdue": soon,
    }
    return page(request, "workshop/page.html", context)


def _chosen(options: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple((value, phrase(words)) for value, words in options)


def manner_fields() -> tuple[Field, ...]:
    """Return the fields that say how a workshop wants to be told things."""
    return (
        Field("units", choices=_chosen(UNITS)),
        # As they are, whichever of the two the reader is told in: both would be told alike.
        Field("vocabulary", choices=tuple((value, AsTyped(words)) for value, words in VOCABULARIES)),
        Field("decimal", choices=_chosen(DECIMALS)),
        Field("language", choices=tuple(LANGUAGES.items())),
        Field("paper_size", choices=_chosen(PAPERS)),
    )


def _settings_groups() -> list[Group]:
    return [
        Group("", (name_field(), *manner_fields())),
        Group(phrase("What plans are to reach, unless a visit says otherwise"), fields_of(WantedSection)),
    ]


def _values(found: Workshop) -> dict[str, str]:
    fields = [entry for group in _settings_groups() for entry in group.fields]
    return shown_values(fields, {**{name: getattr(found, name) for name in _MANNER}, **found.wanted})


@somebody
@require_http_methods(["GET", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Name, units, trade words, decimal mark, paper, and what plans are to reach."""
    reader = reader_of(request)
    found = Workshop.objects.get()
    values = _values(found)
    form = Form(_settings_groups(), reader.showing, dict(values), dict(values))
    if request.method == "POST":
        form.take(request.POST)
        try:
            _change(form, reader.actor)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("settings") + "?done=changed")
    context = {"form": form, "history": history(reader.showing, found), "done": request.GET.get("done", "")}
    return page(request, "workshop/settings.html", context, 422 if form.is_wrong else 200)


def _change(form: Form, actor: Any) -> None:
    with one_transaction():
        current = _values(Workshop.objects.select_for_update().get())
        assert form.seen is not None  # of what is on file
        form.values |= agreed(current, form.seen, form.values)
        typed = form.typed()
        if form.values != current:
            manner = {name: typed[name] or "" for name in _MANNER}
            change_workshop(actor=actor, wanted=given(typed, _WANTED), key=form.key, **manner)


@somebody
@require_POST
def bring(request: HttpRequest) -> HttpResponse:
    """Enter a visit that comes in a file."""
    reader = reader_of(request)
    sent = request.FILES.get("file")
    try:
        if sent is None:
            raise Refusal(phrase("choose a visit file"))
        visit_from_file(read_visit(sent.read()), reader.actor)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect("workshop")
