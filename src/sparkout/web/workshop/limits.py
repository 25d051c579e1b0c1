"""The workshop's limits, each with its origin. Setting one anew ends the old one; both stay on file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import KnifeType, Limit, ReelType
from sparkout.records.operations.equipment import end_limit, set_limit
from sparkout.units import parse
from sparkout.visit.quantities import LIMITS, QUANTITIES
from sparkout.web.shell.form import Field, Form, Group, given
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history
from sparkout.web.workshop.sections import LimitEntry, fields_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing

ORIGINS = (
    phrase("the machine's book"),
    phrase("the house"),
    phrase("common practice, no source"),
    phrase("a standard"),
)


def limit_groups(showing: Showing) -> list[Group]:
    """Return the form that sets a limit."""
    types = [(f"reel_type={kind.pk}", kind.name) for kind in ReelType.objects.filter(ended_on=None).order_by("name")]
    types += [(f"knife_type={kind.pk}", kind.name) for kind in KnifeType.objects.filter(ended_on=None).order_by("name")]
    meanings = (
        (name, phrase("{name}: {meaning}", name=phrase(name), meaning=phrase(QUANTITIES[name].meaning)))
        for name in LIMITS
    )
    quantity = Field("quantity", choices=(("", phrase("choose")), *meanings), needed=True)
    whose = Field(
        "for",
        label=phrase("Holds for"),
        choices=(("", phrase("everything")), *types),
        help=phrase("a limit for one type goes before the one for everything"),
    )
    origin = Field(
        "origin",
        takes=fields_of(LimitEntry, ("origin",))[0].takes,
        needed=True,
        offered=tuple(showing.say(text) for text in ORIGINS),
    )
    sides = fields_of(LimitEntry, ("at_least", "at_most"))
    rest = fields_of(LimitEntry, ("set_by", "on", "risk"))
    return [
        Group("", (quantity, whose, *sides, origin)),
        Group(phrase("Who set it, when, at what risk"), rest, folded=True),
    ]


def _type_of(chosen: str | None) -> dict[str, Any]:
    name, _, number = (chosen or "").partition("=")
    models: dict[str, Any] = {"reel_type": ReelType, "knife_type": KnifeType}
    if name not in models or not number.isdigit():
        return {}
    return {name: get_object_or_404(models[name], pk=int(number))}


def told_limits(found: Iterable[Limit], showing: Showing) -> list[dict[str, Any]]:
    """Return limits as their table shows them, in the reader's units."""
    return [
        {
            "limit": limit,
            "origin": showing.typed(limit.origin),
            "quantity": showing.say(phrase(limit.quantity)),
            "at_least": _figure(limit, limit.at_least, showing),
            "at_most": _figure(limit, limit.at_most, showing),
            "for": limit.reel_type or limit.knife_type or showing.say(phrase("everything")),
        }
        for limit in found
    ]


def _figure(limit: Limit, value: Any, showing: Showing) -> str:
    if value is None:
        return ""
    quantity = QUANTITIES[limit.quantity]
    if quantity.kind in ("number", "fraction", "count"):
        return str(value)
    return showing.quantity(parse(value, quantity.kind, quantity.unit), quantity.kind)


@somebody
@require_http_methods(["GET", "POST"])
def limits(request: HttpRequest) -> HttpResponse:
    """All limits that hold, a form to set one, and those that have ended."""
    reader = reader_of(request)
    asked = {name: request.GET.get(name, "") for name in ("quantity", "for")}
    form = Form(limit_groups(reader.showing), reader.showing, asked)
    if request.method == "POST":
        form.take(request.POST)
        try:
            typed = form.typed()
            entries: dict[str, Any] = given(typed, ("at_least", "at_most", "set_by", "on", "risk"))
            set_limit(
                actor=reader.actor,
                quantity=typed["quantity"] or "",
                origin=typed["origin"] or "",
                key=form.key,
                **_type_of(typed["for"]),
                **entries,
            )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("limits") + "?done=changed")
    everything = list(Limit.objects.select_related("reel_type", "knife_type").order_by("quantity", "pk"))
    context = {
        "form": form,
        "limits": told_limits((limit for limit in everything if limit.ended_at is None), reader.showing),
        "past": told_limits((limit for limit in everything if limit.ended_at is not None), reader.showing),
        "history": history(reader.showing, *everything),
        "done": request.GET.get("done", ""),
    }
    return page(request, "workshop/limits.html", context, 422 if form.is_wrong else 200)


@somebody
@require_POST
def ended(request: HttpRequest, number: int) -> HttpResponse:
    """End a limit."""
    limit = get_object_or_404(Limit, pk=number)
    end_limit(actor=reader_of(request).actor, limit=limit, key=request.POST.get("key") or None)
    return redirect(reverse("limits") + "?done=changed")
