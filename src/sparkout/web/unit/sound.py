"""What a recording tells, under its player: asked for, worked at, shown."""

from __future__ import annotations

import uuid
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.papers.sound import sound_picture
from sparkout.recording.asked import ASKED
from sparkout.recording.kept import hearing_from_data
from sparkout.records.models import Attachment, Hearing
from sparkout.records.models.attachments import RECORDING
from sparkout.records.operations.hearing import blades_of, enter_run_down, hear_recording, heard_soon, last_hearing
from sparkout.telling.sound import told_sound
from sparkout.web.shell.form import Field, Form, Group
from sparkout.web.shell.pages import page, refused, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.showing import Showing
    from sparkout.telling.section import Section

WIDE = 336.0
"""The width inside a sheet on a phone of 390 px, so that its texts stand at their own size there."""
_LABELS = {
    "blades": phrase("Number of blades"),
    "reel_speed": phrase("Reel speed, when known"),
    "balls": phrase("Balls or rollers in the bearing"),
    "ball_diameter": phrase("Diameter of a ball or roller"),
    "pitch_diameter": phrase("Pitch diameter"),
    "contact_angle": phrase("Contact angle"),
    "others": phrase("What else turns"),
}


@somebody
@require_POST
def hear(request: HttpRequest, number: int) -> HttpResponse:
    """Ask what the recording tells; a short one is told with the next page, a long one is worked at meanwhile."""
    found = get_object_or_404(Attachment.objects.select_related("unit", "visit"), pk=number)
    reader = reader_of(request)
    form = _form(found, reader.showing, last_hearing(found))
    form.take(request.POST)
    try:
        heard_soon(hear_recording(actor=reader.actor, attachment=found, key=form.key, **form.typed()))
    except Refusal as refusal:
        form.refuse(refusal)
        context = {"attached": found, **sound_context(found, reader.showing, form)}
        return page(request, "unit/heard.html", context, 422)
    return redirect(reverse("attachment", args=[number]) + f"#heard-{number}")


@somebody
@require_POST
def enter(request: HttpRequest, number: int) -> HttpResponse:
    """Enter a run-down heard as readings of the visit."""
    found = get_object_or_404(Attachment.objects.select_related("visit"), pk=number)
    reader = reader_of(request)
    try:
        enter_run_down(actor=reader.actor, attachment=found, key=request.POST.get("key") or None)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(reverse("visit", args=[found.visit_id]) + "#bearings")


@somebody
@require_safe
def heard(request: HttpRequest, number: int) -> HttpResponse:
    """What it told, or how far it is, for a page that is open."""
    found = get_object_or_404(Attachment, pk=number)
    context = {"attached": found, **sound_context(found, reader_of(request).showing)}
    return HttpResponse(text_of(request, "unit/sound.html", context), headers={"Cache-Control": "no-store"})


def sound_context(attached: Attachment, showing: Showing, form: Form | None = None) -> dict[str, Any]:
    """Return what the page shows of a recording; nothing for a photograph, or for one taken away."""
    if attached.kind != RECORDING or attached.removed_at is not None:
        return {}
    last = last_hearing(attached)
    made: dict[str, Any] = {"hearing": last, "form": form or _form(attached, showing, last)}
    if last is not None and last.told is not None:
        told = hearing_from_data(last.told)
        drawn = sound_picture(told, showing, WIDE, f"heard{attached.pk}", alone=False)
        made["drawn"] = mark_safe(drawn)
        made["run_down"] = told.run_down is not None and attached.visit is not None and attached.visit.is_open
        made["run_down_key"] = uuid.uuid4()
        made["sections"] = [_beside_picture(part) if drawn else part for part in told_sound(told, showing)]
    elif last is not None:
        made["why_not"] = showing.say(last.why_not)
    return made


def _beside_picture(section: Section) -> Section:
    """Return the section without the lines that the picture's own key has."""
    return replace(section, lines=section.lines[:1]) if section.key == "bearing" else section


def _form(attached: Attachment, showing: Showing, last: Hearing | None) -> Form:
    """Return the form, with what was said last time of this recording, else of the last one of this unit."""
    if last is None:
        last = Hearing.objects.filter(attachment__unit_id=attached.unit_id).order_by("-pk").first()
    before = {} if last is None else last.asked
    values = {name: str(before[name]) for name in ASKED if name in before}
    own = blades_of(attached)
    if own is not None:
        values["blades"] = str(own)
    fields = {
        name: Field(name, label=_LABELS[name], takes=takes, needed=name == "blades") for name, takes in ASKED.items()
    }
    inside = ("balls", "ball_diameter", "pitch_diameter", "contact_angle")
    groups = [
        Group(phrase("The reel"), (fields["blades"], fields["reel_speed"])),
        Group(phrase("The bearing's inside: stamped number looked up, or measured"), tuple(fields[n] for n in inside)),
        Group(phrase("Other turning things"), (fields["others"],)),
    ]
    return Form(groups, showing, values, prefix=f"h{attached.pk}")
