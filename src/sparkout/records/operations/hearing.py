"""A recording listened to, in the background: asked for with what is known beside it, and kept beside it."""

from __future__ import annotations

import uuid
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.recording.asked import beside, listened_to
from sparkout.records.checked import checked_row, refuse
from sparkout.records.jobs import Progress, ask_for, soon, work
from sparkout.records.models import Attachment, Fitting, Hearing, Reading
from sparkout.records.models.attachments import RECORDING
from sparkout.records.operations.attachments import original_file
from sparkout.records.operations.doing import Key, asking, now, one_transaction, operation
from sparkout.records.operations.entries import made_entry
from sparkout.records.operations.readings import reading_columns, surroundings
from sparkout.records.operations.visits import still_open

if TYPE_CHECKING:
    from sparkout.records.models import Person

WORK = "listening"


@operation
def hear_recording(
    *,
    actor: Person,
    attachment: Attachment,
    blades: Any = None,
    reel_speed: Any = None,
    balls: Any = None,
    ball_diameter: Any = None,
    pitch_diameter: Any = None,
    contact_angle: Any = None,
    others: Any = None,
    key: Key = None,
) -> Hearing:
    """Ask what a recording tells; the work is done in the background and kept beside the recording.

    Without `blades` the reel's own count is taken.

    Raises
    ------
    Refusal
        When it is no recording, was taken away, or an entry is wrong.
    """
    asked = {
        "blades": blades, "reel_speed": reel_speed, "balls": balls, "ball_diameter": ball_diameter,
        "pitch_diameter": pitch_diameter, "contact_angle": contact_angle, "others": others,
    }  # fmt: skip
    said = {name: value for name, value in asked.items() if value not in (None, "")}
    ask = asking("hear_recording", actor, key, str(attachment), attachment=attachment, **said)
    if (done := ask.answered(Hearing)) is not None:
        return done
    if attachment.kind != RECORDING:
        raise refuse("attachment", phrase("{name} is no recording", name=AsTyped(attachment.name)))
    if attachment.removed_at is not None:
        raise refuse("attachment", phrase("{name} was taken away", name=AsTyped(attachment.name)))
    if "blades" not in said and (own := blades_of(attachment)) is not None:
        said["blades"] = own
    beside(said)
    job = ask_for(WORK, actor, None, said)
    made = Hearing.objects.create(attachment=attachment, asked=said, job=job, asked_by=actor, asked_at=now())
    job.about = made.pk
    job.save()
    ask.note(made, visit=attachment.visit, after=said)
    return made


@operation
def enter_run_down(*, actor: Person, attachment: Attachment, when: str = "as found", key: Key = None) -> Reading:
    """Enter what a recording told of a run-down as readings of its visit, time and speed; the time is returned.

    Raises
    ------
    Refusal
        When the recording is of no open visit, or told no run-down.
    """
    ask = asking("enter_run_down", actor, key, str(attachment), attachment=attachment, when=when)
    if (done := ask.answered(Reading)) is not None:
        return done
    if attachment.visit is None:
        raise refuse("attachment", phrase("this recording is of no visit: attach it to one, at its bearings"))
    visit = still_open(attachment.visit.pk)
    heard = last_hearing(attachment)
    told = None if heard is None or heard.told is None else heard.told.get("run_down")
    if told is None:
        raise refuse("attachment", phrase("no run-down was heard in this recording"))
    found = (("run-down time", f"{told['stop']:.2f} s"), ("run-down speed", f"{told['first_speed']:.0f} 1/min"))
    shared = {"when": when, "by": actor.name, "note": _FROM.format(attachment.pk)}
    rows = [checked_row("readings", {"of": of, "value": value, **shared}, surroundings(visit)) for of, value in found]
    made = [
        made_entry(Reading, replace(ask, key=None if ask.key is None else uuid.uuid5(ask.key, row["of"])),
                   {"visit": visit, **reading_columns(row)})
        for row in rows
    ]  # fmt: skip
    ask.note(made[0], visit=visit, after={"readings": rows})
    return made[0]


_FROM = "recording {}"


@work(WORK, again=True)
def listen(progress: Progress) -> None:
    """Listen to the recording a hearing is of, and keep what it told."""
    assert progress.job.about is not None
    held = Hearing.objects.select_related("attachment").get(pk=progress.job.about)
    try:
        content = original_file(held.attachment).read_bytes()
    except OSError:
        told = phrase("the file of {attachment} is not in the data folder", attachment=AsTyped(str(held.attachment)))
        raise refuse("content", told) from None
    progress.tell(0, 1)
    found = listened_to(content, beside(held.asked)).as_data()
    with one_transaction():
        Hearing.objects.filter(pk=held.pk).update(told=found)
        progress.tell(1, 1, at_once=True)


def heard_soon(hearing: Hearing, seconds: float = 1.0) -> Hearing:
    """Have the work done, and return the hearing as it stands after a moment: long recordings take longer."""
    soon(hearing.job, seconds)
    return Hearing.objects.select_related("job", "attachment", "asked_by").get(pk=hearing.pk)


def blades_of(attachment: Attachment) -> int | None:
    """Return the blades of the reel a recording is of: its visit's, else the unit's of now; None: nobody knows."""
    if attachment.visit is not None:
        reel = attachment.visit.reel
    else:
        fitted = Fitting.objects.filter(unit=attachment.unit, until=None, reel__isnull=False)
        fitting = fitted.select_related("reel__type").first()
        if fitting is None or fitting.reel is None:
            return None
        reel = fitting.reel
    found = {**reel.type.spec, **reel.spec}.get("blades")
    return None if found is None else int(found)


def last_hearing(attachment: Attachment) -> Hearing | None:
    """Return the last time a recording was listened to."""
    return Hearing.objects.filter(attachment=attachment).select_related("job", "asked_by").order_by("-pk").first()


def last_heard(unit: int) -> Hearing | None:
    """Return what the recording of a unit taken last told of its bearing, of those that told something."""
    told = Hearing.objects.filter(attachment__unit=unit, attachment__removed_at=None, told__isnull=False)
    found = [each for each in told.select_related("attachment") if each.told["bearing"] is not None]
    return max(found, key=lambda each: (each.attachment.day, each.pk), default=None)
