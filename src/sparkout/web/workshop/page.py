"""The workshop itself: gauges, limits, people, units; each added by a form of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.records.exchange import visit_from_file
from sparkout.records.models import Gauge, Grinder, Limit, Machine, Person, ReelType
from sparkout.records.operations.doing import one_transaction
from sparkout.records.operations.equipment import add_gauge, add_grinder, set_limit
from sparkout.records.operations.parts import add_knife, add_knife_type, add_reel, add_reel_type, fit_knife, fit_reel
from sparkout.records.operations.units import add_machine, add_unit
from sparkout.visit.quantities import GAUGE_KINDS, GAUGE_MEANING, LIMITS
from sparkout.visit.reading import read_visit
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest, HttpResponse

_REEL = ("blades", "diameter", "length", "helix", "land", "relief_angle", "relief_datum", "blade_thickness")
_BLADE = ("top_angle", "front_angle", "lip_height", "front_lip_depth")
_CARRIER = ("thread_pitch", "clicks_per_turn", "lever_ratio", "adjuster_spacing")


@somebody
@require_safe
def workshop(request: HttpRequest) -> HttpResponse:
    """Everything the workshop has, and forms to add to it."""
    say = reader_of(request).showing.say
    return page(
        request,
        "workshop/page.html",
        {
            "gauges": Gauge.objects.filter(retired=False).order_by("name"),
            "limits": Limit.objects.filter(ended_at=None)
            .select_related("reel_type", "knife_type")
            .order_by("quantity"),
            "people": Person.objects.filter(active=True).order_by("name"),
            "machines": Machine.objects.order_by("name"),
            "grinders": Grinder.objects.filter(retired=False).order_by("name"),
            "types": ReelType.objects.order_by("name"),
            "kinds": [(kind, say(GAUGE_MEANING[kind])) for kind in GAUGE_KINDS],
            "quantities": [(name, say(name)) for name in LIMITS],
        },
    )


def _sent(request: HttpRequest, *names: str) -> dict[str, Any]:
    return {name: request.POST[name].strip() for name in names if request.POST.get(name, "").strip()}


def _does(act: Callable[[HttpRequest, Person], object]) -> Callable[[HttpRequest], HttpResponse]:
    """Make a form's action a view: done and back to the workshop, or the refusal told."""

    @somebody
    @require_POST
    def view(request: HttpRequest) -> HttpResponse:
        try:
            act(request, reader_of(request).actor)
        except Refusal as refusal:
            return refused(request, reader_of(request).showing.say(str(refusal)))
        return redirect("workshop")

    return view


def _gauge(request: HttpRequest, actor: Person) -> None:
    names = ("id", "kind", "resolution", "calibration_uncertainty", "repeatability", "calibration_due")
    add_gauge(actor=actor, **_sent(request, *names))


def _limit(request: HttpRequest, actor: Person) -> None:
    sent = _sent(request, "quantity", "at_least", "at_most", "origin")
    set_limit(actor=actor, quantity=sent.pop("quantity", ""), origin=sent.pop("origin", ""), **sent)


def _grinder(request: HttpRequest, actor: Person) -> None:
    names = ("give", "wheel_diameter", "wheel_width", "spindle_speed", "marked_speed", "rough_infeed", "finish_infeed")
    sent = _sent(request, "name", *names)
    add_grinder(actor=actor, name=sent.pop("name", ""), **sent)


def _unit(request: HttpRequest, actor: Person) -> None:
    """Add a unit with its reel and knife, all or nothing."""
    sent = _sent(request, "name", "machine", "position", "type", *_REEL, *_BLADE, *_CARRIER)
    with one_transaction():
        machine = None
        if "machine" in sent:
            machine = Machine.objects.filter(name=sent["machine"]).first() or add_machine(
                actor=actor, name=sent["machine"]
            )
        carrier = {key: sent[key] for key in _CARRIER if key in sent}
        name = sent.get("name", "")
        unit = add_unit(actor=actor, name=name, machine=machine, position=sent.get("position", ""), carrier=carrier)
        told = " ".join(filter(None, (sent.get("machine"), name)))
        kind = ReelType.objects.filter(name=sent.get("type", "")).first()
        if kind is None:
            spec = {key: sent[key] for key in _REEL if key in sent}
            kind = add_reel_type(actor=actor, name=sent.get("type") or f"reel of {told}", spec=spec)
        fit_reel(actor=actor, unit=unit, reel=add_reel(actor=actor, part_type=kind, label=f"reel of {told}"))
        blade = {key: sent[key] for key in _BLADE if key in sent}
        knife = add_knife(
            actor=actor,
            part_type=add_knife_type(actor=actor, name=f"knife of {told}", spec=blade),
            label=f"knife of {told}",
        )
        fit_knife(actor=actor, unit=unit, knife=knife)


def _bring(request: HttpRequest, actor: Person) -> None:
    """Enter a visit that comes in a file."""
    sent = request.FILES.get("file")
    if sent is None:
        raise Refusal("choose a visit file")
    visit_from_file(read_visit(sent.read()), actor)


gauge = _does(_gauge)
limit = _does(_limit)
grinder = _does(_grinder)
unit = _does(_unit)
bring = _does(_bring)
