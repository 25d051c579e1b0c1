"""Photographs and recordings of a unit: attached, described, taken away."""

from __future__ import annotations

from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Any

from django.conf import settings

from sparkout.core.cautions import STEPS
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.keeping.files import copy_path, digest_of, keep, original_path
from sparkout.keeping.kinds import PICTURES, content_type_of
from sparkout.keeping.photographs import LARGE, SMALL, shown
from sparkout.keeping.recordings import seconds_of
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import Attachment, Fitting
from sparkout.records.models.attachments import PHOTOGRAPH, RECORDING
from sparkout.records.models.visits import SIGNED
from sparkout.records.operations.doing import Conflict, Key, asking, now, operation, today
from sparkout.records.operations.visits import still_open
from sparkout.visit.words import Day, Text, Whole, Word

if TYPE_CHECKING:
    import datetime

    from sparkout.records.models import Person, Reel, Unit, Visit

DESCRIBING = ("note", "step", "blade", "taken_on")
_MOST_BLADES = 40
_NAME = Text(phrase("name of the file"), "", 200, 1)
_NOTE = Text("what it shows", "", 500)
_WHY = Text("why", "", 500, 1)
_DAY = Day("a day", "2026-11-25")
_STEP = Word(phrase("a step of the work"), "look over", STEPS)


def attach_file(
    *,
    actor: Person,
    unit: Unit,
    name: str,
    content: bytes,
    visit: Visit | None = None,
    note: str | None = None,
    step: str | None = None,
    blade: int | str | None = None,
    taken_on: datetime.date | str | None = None,
    key: Key = None,
) -> Attachment:
    """Attach a photograph or recording to a unit, and to a visit when given; what it is is told from its content.

    The file is kept byte for byte; of a photograph, copies are made that carry nothing but the picture. Without
    `taken_on` the day its camera wrote down holds.

    Raises
    ------
    Refusal
        When the visit is closed or another unit's, an entry is wrong, or the file is no picture and no sound, damaged
        or too large.
    """
    digest = digest_of(content)
    seen = _kept(content, digest)  # a large picture takes a second: nobody else's entry waits for it
    described = {"note": note, "step": step, "blade": blade, "taken_on": taken_on}
    return _attached(
        actor, unit, visit, PurePath(name.replace("\\", "/")).name, digest, len(content), seen, described, key
    )


@operation
def _attached(
    actor: Person,
    unit: Unit,
    visit: Visit | None,
    name: str,
    digest: str,
    size: int,
    seen: dict[str, Any],
    described: dict[str, Any],
    key: Key,
) -> Attachment:
    said = {entry: value for entry, value in described.items() if value is not None}
    ask = asking("attach_file", actor, key, name, unit=unit, visit=visit, name=name, sha256=digest, **said)
    if (done := ask.answered(Attachment)) is not None:
        return done
    held = None if visit is None else still_open(visit.pk)
    if held is not None and held.unit_id != unit.pk:
        raise refuse("visit", phrase("this visit is of {unit}, not of {other}", unit=held.unit, other=unit))
    told = checked_value("name", _NAME, name)
    checked = _checked_description(described, _reel_of(unit, held))
    seen = {**seen, **{entry: value for entry, value in checked.items() if value is not None}}
    made = Attachment.objects.create(
        unit=unit, visit=held, name=told, sha256=digest, size=size, added_by=actor, added_at=now(), **seen
    )
    ask.note(made, visit=held, after={"name": told, "sha256": digest, "size": size, **checked})
    return made


def _reel_of(unit: Unit, visit: Visit | None) -> Reel | None:
    if visit is not None:
        return visit.reel
    fitting = Fitting.objects.filter(unit=unit, until=None, reel__isnull=False).select_related("reel__type").first()
    return None if fitting is None else fitting.reel


def _checked_description(described: dict[str, Any], reel: Reel | None) -> dict[str, Any]:
    """Return what is told of an attachment as it will be kept; nothing said stays None."""
    most = _MOST_BLADES if reel is None else int({**reel.type.spec, **reel.spec}.get("blades", _MOST_BLADES))
    asked = {"note": _NOTE, "step": _STEP, "blade": Whole("a blade", "7", 1, most), "taken_on": _DAY}
    found = {
        entry: None if value is None or value == "" else checked_value(entry, asked[entry], value)
        for entry, value in described.items()
    }
    taken = found.get("taken_on")
    if taken is not None and taken > today():
        raise refuse(
            "taken_on",
            phrase("{day} has not come yet", day=taken),
            value=str(taken),
            allowed=phrase("up to {day}", day=today()),
        )
    return found


def _kept(content: bytes, digest: str) -> dict[str, Any]:
    """Keep the file and its copies; return what was seen in it.

    The files go first: one that no record names does no harm, a record without its file would.
    """
    folder = Path(settings.MEDIA_ROOT)
    try:
        content_type = content_type_of(content)
        if content_type not in PICTURES:
            seconds = seconds_of(content, content_type)
            keep(original_path(folder, digest), content)
            return {"kind": RECORDING, "content_type": content_type, "seconds": seconds}
        copies = shown(content)
        keep(original_path(folder, digest), content)
        keep(copy_path(folder, digest, SMALL), copies.small)
        keep(copy_path(folder, digest, LARGE), copies.large)
    except Refusal as refusal:
        raise refuse("content", str(refusal)) from None
    size = {"width": copies.width, "height": copies.height, "taken_on": copies.taken_on}
    return {"kind": PHOTOGRAPH, "content_type": content_type, **size}


def original_file(attachment: Attachment) -> Path:
    """Return where the file lies as it came."""
    return original_path(Path(settings.MEDIA_ROOT), attachment.sha256)


def shown_file(attachment: Attachment, size: int) -> Path:
    """Return where the copy lies that is `SMALL` or `LARGE` pixels long; made again when it was lost.

    Raises
    ------
    Refusal
        When the original is lost too.
    """
    path = copy_path(Path(settings.MEDIA_ROOT), attachment.sha256, size)
    if not path.exists():
        try:
            copies = shown(original_file(attachment).read_bytes())
        except OSError:
            raise refuse(
                "content", phrase("the file of {attachment} is not in the data folder", attachment=attachment)
            ) from None
        keep(path, copies.small if size == SMALL else copies.large)
    return path


@operation
def describe_attachment(
    *, actor: Person, attachment: Attachment, expected: dict[str, Any] | None = None, key: Key = None, **changes: Any
) -> Attachment:
    """Change note, step, blade or taken_on. `expected` holds, for keys in `changes`, what the page showed before.

    Raises
    ------
    Conflict
        When something expected stands otherwise now.
    Refusal
        When its visit is signed, it was taken away, or an entry is wrong.
    """
    ask = asking("describe_attachment", actor, key, ", ".join(changes), attachment=attachment, **changes)
    if (done := ask.answered(Attachment)) is not None:
        return done
    strange = [name for name in changes if name not in DESCRIBING]
    if strange:
        raise refuse(
            strange[0], phrase("there is no '{key}' to change", key=AsTyped(strange[0])), allowed=", ".join(DESCRIBING)
        )
    held = _standing(attachment)
    if held.visit is not None and held.visit.state == SIGNED:
        still_open(held.visit.pk)
    before = {name: getattr(held, name) for name in changes}
    for name, shown_before in (expected or {}).items():
        if name in before and str(before[name] or "") not in (str(shown_before or ""), str(changes[name] or "")):
            raise Conflict(
                phrase("the {kind}'s {name}", kind=held.kind, name=name), str(before[name]), str(changes[name]), held
            )
    for name, value in _checked_description(changes, _reel_of(held.unit, held.visit)).items():
        setattr(held, name, value)
    held.save()
    ask.note(held, visit=held.visit, before=before, after=changes)
    return held


def _standing(attachment: Attachment) -> Attachment:
    held = Attachment.objects.select_for_update(of=("self",)).select_related("visit", "unit").get(pk=attachment.pk)
    if held.removed_at is not None:
        raise refuse(
            "attachment",
            phrase(
                "this {kind} was taken away by {person}: {why}",
                kind=held.kind,
                person=held.removed_by,
                why=AsTyped(held.removed_why),
            ),
        )
    return held


@operation
def remove_attachment(*, actor: Person, attachment: Attachment, reason: str, key: Key = None) -> Attachment:
    """Take a photograph or recording away: it is shown no longer; who did so and why is. The file stays in its folder.

    A signed visit's may be taken away too, as one that shows a person: that it was there, and why it went, stays told.

    Raises
    ------
    Refusal
        When it was taken away already, or no reason is given.
    """
    ask = asking("remove_attachment", actor, key, str(attachment), attachment=attachment, reason=reason)
    if (done := ask.answered(Attachment)) is not None:
        return done
    held = _standing(attachment)
    held.removed_why = checked_value("reason", _WHY, reason)
    held.removed_by, held.removed_at = actor, now()
    held.save()
    ask.note(held, visit=held.visit, before={"sha256": held.sha256}, after={"reason": held.removed_why})
    return held
