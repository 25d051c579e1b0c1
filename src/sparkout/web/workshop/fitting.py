"""A unit's reel and knife: fit, take out, swap with another unit, each in one action that both histories tell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db.models import Exists, OuterRef
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from sparkout.core.days import dated
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import refuse
from sparkout.records.models import Fitting, HoursEntry, Knife, Reel, Unit
from sparkout.records.operations.doing import today
from sparkout.records.operations.fitted import correct_fitting
from sparkout.records.operations.moving import move_part
from sparkout.visit.asked import Quantity
from sparkout.visit.words import Day
from sparkout.web.shell.form import Field, Form, Group, shown_values
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing

HOURS = Quantity("", "1240 h", "time", 0, 100_000, "h")
MODELS: dict[str, Any] = {"reel": Reel, "knife": Knife}
_SHELF = "shelf"
_OFFERED = 200


def _groups(name: str, held: Fitting | None, unit: Unit, showing: Showing) -> list[Group]:
    what = [("", phrase("choose"))]
    if held is not None:
        what.append(("out", phrase("take it out: to the shelf")))
    what.append(("fit", phrase("fit the one named below; what is in goes to the shelf")))
    if held is not None:
        what.append(("swap", phrase("swap with the unit that holds the one named below")))
    last = HoursEntry.objects.filter(unit=unit).order_by("-on", "-pk").first()
    hours = (
        "" if last is None else showing.say(phrase("last read {hours}, {day}", hours=last.hours, day=dated(last.on)))
    )
    offered = _offered(name, held)
    label = Field(
        "part",
        label=phrase("Which reel") if name == "reel" else phrase("Which knife"),
        offered=offered,
        help=phrase("its label; where it is now is found on file"),
    )
    return [
        Group(
            "",
            (
                Field("what", label=phrase("What is done"), choices=tuple(what), needed=True),
                label,
                Field("on", takes=Day(""), needed=True),
                Field("hours", takes=HOURS, label=phrase("Hours on this unit's clock"), help=hours),
                Field(
                    "hours_there",
                    takes=HOURS,
                    label=phrase("Hours on the other unit's clock"),
                    help=phrase("when the part comes out of another unit"),
                ),
            ),
        )
    ]


def _offered(name: str, held: Fitting | None) -> tuple[str, ...]:
    """Return labels offered while typing: what lies on the shelf, then those of the same type elsewhere."""
    model = MODELS[name]
    usable = model.objects.filter(scrapped_on=None)
    inside = Fitting.objects.filter(until=None, **{name: OuterRef("pk")})
    shelf = list(usable.filter(~Exists(inside)).values_list("label", flat=True)[:_OFFERED])
    if held is None:
        return tuple(shelf)
    alike = usable.filter(Exists(inside), type=held.part.type).exclude(pk=held.part.pk)
    return tuple(dict.fromkeys([*shelf, *alike.values_list("label", flat=True)[:_OFFERED]]))


@somebody
@require_http_methods(["GET", "POST"])
def parts(request: HttpRequest, number: int) -> HttpResponse:
    """What is in a unit, and forms to change it."""
    reader = reader_of(request)
    unit = get_object_or_404(Unit.objects.select_related("position__machine"), pk=number)
    forms = _forms(unit, reader.showing)
    sent = request.POST.get("kind", "")
    if request.method == "POST" and sent in forms:
        held, form = forms[sent]
        form.take(request.POST)
        try:
            _move(sent, unit, held, form, reader.actor)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("parts", args=[number]) + "?done=changed")
    wrong = any(form.is_wrong for _, form in forms.values())
    return page(request, "workshop/parts.html", _context(request, unit, forms), 422 if wrong else 200)


def _forms(unit: Unit, showing: Showing) -> dict[str, tuple[Fitting | None, Form]]:
    fitted = unit.fittings.filter(until=None).select_related("reel__type", "knife__type")
    held = {"reel" if fitting.reel_id else "knife": fitting for fitting in fitted}
    start = {"on": today().isoformat()}
    return {
        name: (held.get(name), Form(_groups(name, held.get(name), unit, showing), showing, dict(start), prefix=name))
        for name in MODELS
    }


def _context(request: HttpRequest, unit: Unit, forms: dict[str, tuple[Fitting | None, Form]]) -> dict[str, Any]:
    showing = reader_of(request).showing
    titles = {"reel": showing.say(phrase("Reel")), "knife": showing.say(phrase("Knife"))}
    return {
        "unit": unit,
        "forms": [(name, titles[name], held, form) for name, (held, form) in forms.items()],
        "summary": [line for _, form in forms.values() for line in form.summary],
        "opened": unit.visits.filter(state="open").first(),
        "fittings": unit.fittings.select_related("reel", "knife").order_by("-since", "-pk"),
        "history": history(showing, unit, *unit.fittings.all()),
        "done": request.GET.get("done", ""),
    }


def _move(name: str, unit: Unit, held: Fitting | None, form: Form, actor: Any) -> None:
    typed = form.typed()
    when: dict[str, Any] = {"on": typed["on"], "key": form.key}
    if typed["what"] == "out" and held is not None:
        move_part(actor=actor, part=held.part, to=None, hours_there=typed["hours"], **when)
        return
    if typed["part"] is None:
        raise refuse("part", "this is needed")
    part = MODELS[name].objects.filter(label=typed["part"]).first()
    if part is None:
        raise refuse(
            "part",
            phrase("there is no {name} called '{part}'", name=name, part=AsTyped(typed["part"] or "")),
            suggestion=phrase("Add it first."),
        )
    swap = typed["what"] == "swap"
    hours = {"hours": typed["hours"], "hours_there": typed["hours_there"]}
    move_part(actor=actor, part=part, to=unit, swap=swap, **hours, **when)


def _when(fitting: Fitting) -> list[Group]:
    went_in = (
        Field("since", label=phrase("Fitted on"), takes=Day(""), needed=True),
        Field("since_hours", label=phrase("Hours on the unit's clock then"), takes=HOURS),
    )
    came_out = (
        Field("until", label=phrase("Taken out on"), takes=Day(""), needed=True),
        Field("until_hours", label=phrase("Hours on the unit's clock when it came out"), takes=HOURS),
    )
    return [Group("", went_in if fitting.until is None else (*went_in, *came_out))]


@somebody
@require_http_methods(["GET", "POST"])
def entry(request: HttpRequest, number: int) -> HttpResponse:
    """When a part was in a unit, to be put right."""
    reader = reader_of(request)
    found = get_object_or_404(Fitting.objects.select_related("unit__position__machine", "reel", "knife"), pk=number)
    groups = _when(found)
    table = {name: getattr(found, name) for name in ("since", "since_hours", "until", "until_hours")}
    values = shown_values(groups[0].fields, table)
    form = Form(groups, reader.showing, values, seen=dict(values))
    if request.method == "POST":
        form.take(request.POST)
        try:
            typed: dict[str, Any] = form.typed()
            correct_fitting(actor=reader.actor, fitting=found, key=form.key, **typed)
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("parts", args=[found.unit_id]) + "?done=changed")
    context = {"form": form, "fitting": found, "history": history(reader.showing, found)}
    return page(request, "workshop/fitting.html", context, 422 if form.is_wrong else 200)
