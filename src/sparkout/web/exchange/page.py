"""Tables in and out: bring a file, say what its columns are, try it, bring it in; take everything out."""

from __future__ import annotations

import tempfile
from typing import TYPE_CHECKING, Any

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.interchange.mapping import FileMapping
from sparkout.records.bringing.operations import (
    bring_in_table,
    note_columns,
    proposed_again,
    receive_table,
    settle_columns,
    try_table,
)
from sparkout.records.bringing.refused import refused_rows, write_refused
from sparkout.records.bringing.store import ENTERING, TRIAL, Outcomes, folder
from sparkout.records.jobs import ask_to_stop, begin
from sparkout.records.models import TableFile
from sparkout.records.taking_out import FORMS, taken_out
from sparkout.showing import Showing
from sparkout.web.exchange.columns import looks_again, said, shown
from sparkout.web.shell.pages import page, refused, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest
    from django.http.response import HttpResponseBase

    from sparkout.records.models import Job

_A_PAGE = 100
_LAST = 20
_WORDS = {
    TRIAL: {
        "adds": phrase("would be added"),
        "changes": phrase("would change"),
        "same": phrase("there already"),
        "refused": phrase("refused"),
    },
    ENTERING: {
        "adds": phrase("added"),
        "changes": phrase("changed"),
        "left": phrase("left as it was"),
        "same": phrase("there already"),
        "refused": phrase("refused"),
    },
}
_MARKS = {"adds": "good", "same": "plain", "changes": "ask", "left": "plain", "refused": "bad"}


@somebody
@require_safe
def tables(request: HttpRequest) -> HttpResponse:
    """What was brought in lately, a form to bring a table, and everything to take out."""
    files = TableFile.objects.select_related("brought_by", "trial", "entering").order_by("-pk")[:_LAST]
    return page(request, "exchange/page.html", {"files": files, "forms": FORMS})


@somebody
@require_POST
def receive(request: HttpRequest) -> HttpResponse:
    """Take a file, and go on to its columns."""
    sent = request.FILES.get("file")
    reader = reader_of(request)
    try:
        if sent is None:
            raise Refusal(phrase("choose a file"))
        file = receive_table(actor=reader.actor, name=sent.name or "table", chunks=sent.chunks())
    except Refusal as refusal:
        return refused(request, reader.showing.say(_text(refusal)))
    return redirect("table-columns", number=file.pk)


def _text(refusal: Refusal) -> str:
    return refusal.args[0] if refusal.args else str(refusal)


@somebody
@require_http_methods(["GET", "POST"])
def columns(request: HttpRequest, number: int) -> HttpResponse:
    """What each column is: proposed, to be corrected; then the trial."""
    file = get_object_or_404(TableFile, pk=number)
    reader = reader_of(request)
    before = FileMapping.from_data(file.mapping or {})
    if request.method == "GET":
        return _columns(request, file, before)
    now = said(request.POST, before)
    try:
        again = looks_again(before, now)
        if again is not None:
            now = _proposed_again(file, before, now, again)
        if again is not None or request.POST.get("act") == "look":
            return _columns(request, note_columns(file=file, mapping=now), now)
        settle_columns(file=file, mapping=now)
        begin(try_table(actor=reader.actor, file=file))
    except Refusal as refusal:
        file.mapping = now.as_data()
        return _columns(request, file, now, reader.showing.say(_text(refusal)))
    return redirect("table-rows", number=number)


def _proposed_again(file: TableFile, before: FileMapping, now: FileMapping, again: dict[str, Any]) -> FileMapping:
    fresh = proposed_again(file, now.delimiter, again)
    if before.delimiter != now.delimiter:
        return fresh
    by_name = {sheet.name: sheet for sheet in fresh.sheets}
    return FileMapping(
        tuple(by_name[s.name] if again.get(s.name, {}).get("kind") else s for s in now.sheets), now.delimiter
    )


def _columns(request: HttpRequest, file: TableFile, mapping: FileMapping, why: str = "") -> HttpResponse:
    try:
        sheets, delimiters = shown(file, mapping, reader_of(request).showing)
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(_text(refusal)))
    context = {"file": file, "sheets": sheets, "delimiters": delimiters, "why": why}
    return page(request, "exchange/columns.html", context, 422 if why else 200)


def _stage(file: TableFile) -> tuple[str, Job | None]:
    """Return which of the two passes was asked for last."""
    trial, entering = file.trial, file.entering
    if entering is not None and (trial is None or entering.pk > trial.pk):
        return ENTERING, entering
    return TRIAL, trial


@somebody
@require_safe
def rows(request: HttpRequest, number: int) -> HttpResponse:
    """What each row would do, or did."""
    file = get_object_or_404(TableFile.objects.select_related("trial", "entering"), pk=number)
    stage, job = _stage(file)
    if job is None:
        return redirect("table-columns", number=number)
    outcomes, asked = Outcomes(file, stage), request.GET.get("show", "")
    counts = outcomes.counts() if not job.is_going_on else {}
    asked = asked if counts.get(asked) else ""
    total = counts.get(asked, 0) if asked else sum(counts.values())
    pages = Paginator(range(total), _A_PAGE).get_page(request.GET.get("page"))
    lines = outcomes.read(asked, pages.start_index() - 1 if total else 0, _A_PAGE) if not job.is_going_on else []
    showing = reader_of(request).showing
    say = showing.say
    context = {
        "file": file,
        "stage": stage,
        "job": job,
        "asked": asked,
        "total": total,
        "pages": pages,
        "counts": [(w, say(words), counts.get(w, 0), _MARKS[w]) for w, words in _WORDS[stage].items()],
        "lines": [
            (line, say(_WORDS[stage].get(line.what, line.what)), _MARKS[line.what], say(line.why)) for line in lines
        ],
        "many_sheets": len({line.sheet for line in lines}) > 1,
        "count": counts,
        **_progress(job),
    }
    return page(request, "exchange/rows.html", context)


def _progress(job: Job) -> dict[str, Any]:
    return {"done": job.done, "of": job.of, "going": job.is_going_on}


@somebody
@require_safe
def progress(request: HttpRequest, number: int) -> HttpResponse:
    """How far the work is; when it has ended the page is asked for again."""
    file = get_object_or_404(TableFile.objects.select_related("trial", "entering"), pk=number)
    stage, job = _stage(file)
    if job is None or not job.is_going_on:
        ended = HttpResponse(status=200)
        ended["HX-Refresh"] = "true"
        return ended
    return HttpResponse(
        text_of(request, "exchange/progress.html", {"file": file, "job": job, "stage": stage, **_progress(job)})
    )


@somebody
@require_POST
def enter(request: HttpRequest, number: int) -> HttpResponse:
    """Bring the rows in."""
    file = get_object_or_404(TableFile.objects.select_related("trial"), pk=number)
    reader = reader_of(request)
    try:
        if file.trial is None or file.trial.state != "done":
            raise Refusal(phrase("try the table first, to see what would happen"))
        begin(bring_in_table(actor=reader.actor, file=file, with_changes="with_changes" in request.POST))
    except Refusal as refusal:
        return refused(request, reader.showing.say(_text(refusal)))
    return redirect("table-rows", number=number)


@somebody
@require_POST
def stop(request: HttpRequest, number: int) -> HttpResponse:  # noqa: ARG001 - every view takes it
    """Ask the work to stop; what is done stays."""
    file = get_object_or_404(TableFile.objects.select_related("trial", "entering"), pk=number)
    _, job = _stage(file)
    if job is not None:
        ask_to_stop(job)
    return redirect("table-rows", number=number)


@somebody
@require_safe
def refused_file(request: HttpRequest, number: int, form: str) -> HttpResponseBase:
    """The refused rows as they stood, each with the reason, to be put right and brought again."""
    file = get_object_or_404(TableFile.objects.select_related("trial", "entering"), pk=number)
    stage, job = _stage(file)
    if job is None or form not in ("csv", "xlsx"):
        raise Http404
    showing = reader_of(request).showing
    try:
        made = tempfile.TemporaryFile(dir=folder())  # noqa: SIM115 - the answer closes it
        write_refused(made, form, refused_rows(file, stage, showing.say), showing.decimal)
    except (Refusal, OSError) as trouble:
        return refused(request, showing.say(trouble.words if isinstance(trouble, Refusal) else str(trouble)))
    made.seek(0)
    return FileResponse(made, as_attachment=True, filename=f"refused rows.{form}")


@somebody
@require_safe
def out(request: HttpRequest, form: str) -> HttpResponseBase:
    """Everything, as one file; in the reader's units and trade words."""
    if form not in FORMS:
        raise Http404
    showing = reader_of(request).showing
    words = Showing(showing.system, showing.vocabulary)  # English headings: they are known again when they come back
    try:
        made = taken_out(form, showing.system, words.say, showing.decimal)
    except Refusal as refusal:
        return refused(request, showing.say(_text(refusal)))
    return FileResponse(made, as_attachment=True, filename=f"sparkout records.{form}")
