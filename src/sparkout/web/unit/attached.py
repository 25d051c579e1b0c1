"""Photographs and recordings in the browser: sent, shown, described, taken away."""

from __future__ import annotations

import re
import uuid
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, cast

from django.http import FileResponse, Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.cautions import STEPS
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.keeping.kinds import ENDINGS, LARGEST_PICTURE, LARGEST_SOUND, PICTURES, SOUNDS
from sparkout.keeping.photographs import LARGE, SMALL
from sparkout.records.models import Attachment, Unit
from sparkout.records.models.attachments import PHOTOGRAPH
from sparkout.records.models.visits import SIGNED
from sparkout.records.operations.attachments import (
    attach_file,
    describe_attachment,
    original_file,
    remove_attachment,
    shown_file,
)
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.unit.shots import shot
from sparkout.web.unit.sound import sound_context
from sparkout.web.visit.entries import short

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from django.http import HttpRequest

    from sparkout.records.models import Visit

MOST_AT_ONCE = 20
ACCEPTED_PICTURES, ACCEPTED_SOUNDS = ",".join(PICTURES), ",".join((*SOUNDS, "audio/x-wav", "audio/x-m4a", ".m4a"))
_RANGE = re.compile(r"bytes=(\d*)-(\d*)\Z")


# sending ---------------------------------------------------------------------------------------------------


@somebody
@require_POST
def attach(request: HttpRequest, number: int) -> HttpResponse:
    """Files for a unit, outside any visit."""
    unit = get_object_or_404(Unit, pk=number)
    return sent(request, unit, None, reverse("unit", args=[number]))


def sent(request: HttpRequest, unit: Unit, visit: Visit | None, back: str) -> HttpResponse:
    """Attach what a form sent, each file under a key made from the form's; a script is told in one line.

    Files before one that is refused are kept: sent again, they are known by their keys.
    """
    files = request.FILES.getlist("file")
    made: list[Attachment] = []
    try:
        if not files:
            raise Refusal(phrase("choose a picture or a recording first"))
        if len(files) > MOST_AT_ONCE:
            told = phrase("{count} files at once; allowed: at most {most}", count=len(files), most=MOST_AT_ONCE)
            raise Refusal(told)
        key = _key(request)
        for which, file in enumerate(files):
            made.append(_attached(request, unit, visit, file, uuid.uuid5(key, str(which))))
    except Refusal as refusal:
        return _not_kept(request, refusal, made)
    if request.headers.get("HX-Request"):
        return HttpResponse(headers={"Outcome": "done", "Made": " ".join(str(entry.pk) for entry in made)})
    return HttpResponseRedirect(f"{back}#attached")


def _attached(request: HttpRequest, unit: Unit, visit: Visit | None, file: Any, key: uuid.UUID) -> Attachment:
    if file.size > max(LARGEST_PICTURE, LARGEST_SOUND):
        raise Refusal(
            phrase(
                "{name} has {size} MB; allowed: at most {pictures} MB for a picture, {sounds} MB for a recording",
                name=AsTyped(file.name), size=file.size // 1_000_000,
                pictures=LARGEST_PICTURE // 1_000_000, sounds=LARGEST_SOUND // 1_000_000,
            )
        )  # fmt: skip
    said = {name: request.POST.get(name, "").strip() or None for name in ("note", "step", "blade", "taken_on")}
    name = file.name or "file"
    try:
        return attach_file(
            actor=reader_of(request).actor, unit=unit, visit=visit, name=name, content=file.read(), key=key, **said
        )
    except Refusal as refusal:
        raise Refusal(joined(": ", [AsTyped(PurePath(name).name), short(refusal)])) from None


def _key(request: HttpRequest) -> uuid.UUID:
    try:
        return uuid.UUID(request.POST.get("key", ""))
    except ValueError:
        raise Refusal(phrase("the form carries no key of its own; load the page again")) from None


def _not_kept(request: HttpRequest, refusal: Refusal, made: list[Attachment]) -> HttpResponse:
    told: str = phrase("not kept: {why}", why=refusal.words)
    if made:
        told = joined(". ", [told, phrase("{count} before it are kept", count=len(made))])
    said = reader_of(request).showing.say(told)
    if request.headers.get("HX-Request"):
        return HttpResponse(said, "text/plain; charset=utf-8", 422, headers={"Outcome": "refused"})
    return refused(request, said)


# showing ---------------------------------------------------------------------------------------------------


def form_context(attach_to: str, steps: Iterable[str], *, opened: bool = True) -> dict[str, Any]:
    """Return what the form for sending needs: where to, a key of its own, the steps to choose from."""
    return {
        "attach_to": attach_to,
        "attach_key": uuid.uuid4(),
        "attach_steps": list(steps),
        "attach_open": opened,
        "pictures_accepted": ACCEPTED_PICTURES,
        "sounds_accepted": ACCEPTED_SOUNDS,
        "largest": LARGEST_SOUND,
    }


@somebody
@require_safe
def attachment(request: HttpRequest, number: int) -> HttpResponse:
    """One photograph, large, or one recording; with what is said of it and who did what."""
    related = ("unit__position__machine", "visit", "added_by", "removed_by")
    found = get_object_or_404(Attachment.objects.select_related(*related), pk=number)
    context = {
        "attached": found,
        "shot": shot(found, reader_of(request).showing),
        "steps": STEPS,
        "may_describe": found.visit is None or found.visit.state != SIGNED,
        "lost": not original_file(found).exists(),
        **sound_context(found, reader_of(request).showing),
    }
    return page(request, "unit/attachment.html", context)


@somebody
@require_safe
def small(request: HttpRequest, number: int) -> HttpResponse:  # noqa: ARG001
    """The small upright copy."""
    return _copy(number, SMALL)


@somebody
@require_safe
def large(request: HttpRequest, number: int) -> HttpResponse:  # noqa: ARG001
    """The large upright copy."""
    return _copy(number, LARGE)


def _copy(number: int, size: int) -> HttpResponse:
    found = get_object_or_404(Attachment, pk=number, kind=PHOTOGRAPH, removed_at=None)
    try:
        path = shown_file(found, size)
    except Refusal as refusal:
        raise Http404(str(refusal)) from None
    return _kept_by_browser(HttpResponse(path.read_bytes(), content_type="image/jpeg"))


@somebody
@require_safe
def original(request: HttpRequest, number: int) -> HttpResponse:
    """The file as it came: a recording to be played, in pieces when asked so; a photograph to be downloaded."""
    found = get_object_or_404(Attachment, pk=number, removed_at=None)
    path = original_file(found)
    if not path.exists():
        raise Http404(phrase("the file is not in the data folder"))
    picture = found.kind == PHOTOGRAPH
    name = f"{PurePath(found.name).stem}.{ENDINGS[found.content_type]}"
    answer = _in_pieces(request, path, found.content_type)
    disposition = content_disposition_header(picture or "download" in request.GET, name)
    if disposition:
        answer["Content-Disposition"] = disposition
    return _kept_by_browser(answer)


def _kept_by_browser(answer: HttpResponse) -> HttpResponse:
    """Let the browser keep it for good: what is under a number never changes. Nothing of it may run."""
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _in_pieces(request: HttpRequest, path: Path, content_type: str) -> HttpResponse:
    """Answer with the whole file, or with the piece asked for (RFC 9110, 14.2): some browsers play nothing else."""
    size = path.stat().st_size
    asked = _RANGE.match(request.headers.get("Range", ""))
    start, stop = (0, size) if asked is None else _piece(asked, size)
    if start >= stop:
        return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
    answer = cast("HttpResponse", FileResponse(_read(path, start, stop - start), content_type=content_type))
    answer["Accept-Ranges"] = "bytes"
    answer["Content-Length"] = str(stop - start)
    if asked is not None:
        answer.status_code = 206
        answer["Content-Range"] = f"bytes {start}-{stop - 1}/{size}"
    return answer


def _piece(asked: re.Match[str], size: int) -> tuple[int, int]:
    first, last = asked.groups()
    if not first:
        return (max(0, size - int(last)), size) if last else (size, size)
    return int(first), min(size, int(last) + 1) if last else size


def _read(path: Path, start: int, left: int) -> Iterator[bytes]:
    """Yield a piece of a file, opened when the first of it is wanted: an answer without a body opens nothing."""
    with path.open("rb") as handle:
        handle.seek(start)
        while left > 0:
            piece = handle.read(min(left, 65536))
            if not piece:
                return
            left -= len(piece)
            yield piece


# changing --------------------------------------------------------------------------------------------------


@somebody
@require_POST
def describe(request: HttpRequest, number: int) -> HttpResponse:
    """What it shows, of which step and blade, and the day it was taken."""
    found = get_object_or_404(Attachment, pk=number)
    names = [name for name in ("note", "step", "blade", "taken_on") if name in request.POST]
    changes = {name: request.POST[name].strip() or None for name in names}
    expected = {name: request.POST.get(f"was_{name}") for name in names if f"was_{name}" in request.POST}

    def act() -> None:
        describe_attachment(actor=reader_of(request).actor, attachment=found, expected=expected, **changes)

    return _done(request, act, reverse("attachment", args=[number]))


@somebody
@require_POST
def remove(request: HttpRequest, number: int) -> HttpResponse:
    """Take it away, with the reason."""
    found = get_object_or_404(Attachment, pk=number)

    def act() -> None:
        remove_attachment(actor=reader_of(request).actor, attachment=found, reason=request.POST.get("reason", ""))

    return _done(request, act, reverse("attachment", args=[number]))


def _done(request: HttpRequest, act: Any, back: str) -> HttpResponse:
    try:
        act()
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    return HttpResponseRedirect(back)
