"""Photographs and recordings."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

from django.http import FileResponse

from sparkout.core.cautions import STEPS
from sparkout.core.phrase import AsTyped, phrase
from sparkout.keeping.kinds import LARGEST_SOUND
from sparkout.keeping.photographs import LARGE, SMALL
from sparkout.recording.asked import ASKED
from sparkout.records import models
from sparkout.records.checked import refuse
from sparkout.records.models.attachments import PHOTOGRAPH
from sparkout.records.operations import attachments
from sparkout.records.operations.hearing import enter_run_down, hear_recording, heard_soon
from sparkout.visit.taken import When
from sparkout.visit.words import Day, Text, Whole, Word
from sparkout.web.api import records
from sparkout.web.api.body import Body, plain_table, text, typed
from sparkout.web.api.making import by_number, by_presence, by_record, doing, listed, one
from sparkout.web.api.route import Route
from sparkout.web.api.told.happened import AttachmentTold, HearingTold, ReadingTold

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sparkout.web.api.route import Ask

_DESCRIBING = (
    typed("note", Text("what it shows", "nick on blade 7", 500)),
    typed("step", Word("the step of the work it belongs to", "look over", STEPS)),
    typed("blade", Whole("the blade it shows", 7, 1, 40)),
    typed("taken_on", Day("when it was taken; else the day its camera wrote down", "2026-11-25")),
)


def _attach(ask: Ask) -> models.Attachment:
    content = ask.request.read(LARGEST_SOUND + 1)
    described = {name: value for name, value in ask.query.items() if value is not None}
    return attachments.attach_file(actor=ask.actor, unit=ask.record, content=content, key=ask.key, **described)


def _taken_away(found: models.Attachment) -> str:
    return phrase(
        "this {kind} was taken away by {who}: {why}",
        kind=phrase(found.kind),
        who=AsTyped(str(found.removed_by)),
        why=AsTyped(found.removed_why or ""),
    )


def _file(of: Callable[[models.Attachment], Path], *, kept_as_it_is: bool) -> Callable[[Ask], FileResponse]:
    def does(ask: Ask) -> FileResponse:
        found: models.Attachment = ask.record
        if found.removed_at is not None:
            raise refuse("attachment", _taken_away(found))
        if not kept_as_it_is and found.kind != PHOTOGRAPH:
            told = phrase("{name} is no photograph: it has no copies to show", name=AsTyped(found.name))
            raise refuse("attachment", told)
        try:
            handle = of(found).open("rb")
        except OSError:
            told = phrase("the file of {attachment} is not in the data folder", attachment=AsTyped(str(found)))
            raise refuse("content", told) from None
        kind = found.content_type if kept_as_it_is else "image/jpeg"
        response = FileResponse(handle, as_attachment=kept_as_it_is, filename=found.name, content_type=kind)
        response["Cache-Control"] = "private, no-cache"
        return response

    return does


def _hear(ask: Ask) -> models.Hearing:
    """Ask for it, and have it done; a short recording is told at once, a long one at its list of hearings."""
    made = hear_recording(actor=ask.actor, attachment=ask.record, key=ask.key, **ask.entries)
    return heard_soon(made)


_FORMS = "a picture or a recording"

ROUTES = (
    listed(
        "attachments", "attachments", "attachments", AttachmentTold, records.attachments,
        "Photographs and recordings, those taken away included.",
        filters=(by_number("unit", "unit"), by_number("visit", "visit"),
                 by_presence("removed", "whether it was taken away")),
        lookups={"removed": "removed_at__isnull"},
    ),
    Route(
        "POST", "units/{int:number}/attachments", "attach_file", "attachments", _attach, AttachmentTold,
        about=records.UNIT, writes=True, status=201, operation=attachments.attach_file, takes_form=_FORMS,
        asks=Body((
            typed("name", Text("name of the file", "nick.jpg", 200, 1), needed=True),
            by_record("visit", models.Visit, "the visit it belongs to, by its id"),
            *_DESCRIBING,
        )),
    ),
    one("attachments/{int:number}", "attachment", "attachments", records.ATTACHMENT, AttachmentTold,
        "What is on file of a photograph or recording."),
    doing(
        "PATCH", "attachments/{int:number}", attachments.describe_attachment, "attachments", AttachmentTold,
        about=records.ATTACHMENT, changes=True,
        takes=(*_DESCRIBING,
               plain_table("expected", "what you saw before of entries that change: asked back if it is otherwise")),
    ),
    doing(
        "POST", "attachments/{int:number}/remove", attachments.remove_attachment, "attachments", AttachmentTold,
        about=records.ATTACHMENT, takes=(text("reason", "why it is taken away", "shows a person", needed=True),),
    ),
    Route(
        "POST", "attachments/{int:number}/hear", "hear_recording", "attachments", _hear, HearingTold,
        about=records.ATTACHMENT, writes=True, status=202, operation=hear_recording,
        takes=Body(tuple(typed(name, asked) for name, asked in ASKED.items())),
    ),
    doing(
        "POST", "attachments/{int:number}/run-down", enter_run_down, "attachments", ReadingTold,
        about=records.ATTACHMENT, status=201,
        takes=(typed("when", Word("before or after the work; as found when not given", "as found", get_args(When))),),
    ),
    listed(
        "attachments/{int:number}/hearings", "hearings", "attachments", HearingTold, records.hearings,
        "What a recording told each time it was listened to.", about=records.ATTACHMENT, within="attachment",
    ),
    Route(
        "GET", "attachments/{int:number}/original", "attachment_original", "attachments",
        _file(attachments.original_file, kept_as_it_is=True), about=records.ATTACHMENT, form=_FORMS,
        words="The file as it came.",
    ),
    Route(
        "GET", "attachments/{int:number}/large", "attachment_large", "attachments",
        _file(lambda found: attachments.shown_file(found, LARGE), kept_as_it_is=False),
        about=records.ATTACHMENT, form="image/jpeg",
        words="A large copy of a photograph, upright, without what the camera noted.",
    ),
    Route(
        "GET", "attachments/{int:number}/small", "attachment_small", "attachments",
        _file(lambda found: attachments.shown_file(found, SMALL), kept_as_it_is=False),
        about=records.ATTACHMENT, form="image/jpeg",
        words="A small copy of a photograph, upright, without what the camera noted.",
    ),
)  # fmt: skip
