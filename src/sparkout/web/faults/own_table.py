"""The workshop's own rows of fault finding: a TOML text typed here or brought as a file, checked before it is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import FaultTable
from sparkout.records.operations.faults import (
    LONGEST_TABLE,
    end_fault_table,
    keep_fault_table,
    own_fault_table,
    workshop_tables,
)
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import history

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

STARTER = """\
# Rows here replace those of the same id, or add new ones. Every row says in `origin` where it is from.

[[finding]]
id = "oil-on-knife"
says = "Oil stands on the bedknife"
seen = true
without = 0.05
origin = "seen in our sheds"

[[cause]]
id = "seal-gone"
says = "Seal of a reel bearing gone"
weight = 0.3
remedy = "Isolate, then fit a new seal; look at the bearing"
shows = { oil-on-knife = 0.8 }
origin = "seen in our sheds"
"""


@somebody
@require_http_methods(["GET", "POST"])
def table(request: HttpRequest) -> HttpResponse:
    """The table that holds, a form to lay another over ours, and what is wrong with what was sent, line by line."""
    reader, own = reader_of(request), own_fault_table()
    text, name, wrong = (STARTER, "", "") if own is None else (own.text, own.name, "")
    if request.method == "POST":
        name = request.POST.get("name", "").strip()
        try:
            text = _sent(request)
            keep_fault_table(actor=reader.actor, text=text, name=name, key=request.POST.get("key") or None)
        except Refusal as refusal:
            text = request.POST.get("text", "") if not request.FILES else text
            wrong = reader.showing.say(refusal.words)
        else:
            return redirect(reverse("fault-table") + "?done=changed")
    tables = workshop_tables()
    context = {
        "own": own,
        "text": text,
        "name": name,
        "wrong": [line for line in wrong.splitlines() if line.strip()],
        "counts": (len(tables.findings), len(tables.causes)),
        "past": FaultTable.objects.exclude(ended_at=None).select_related("added_by").order_by("-pk")[:20],
        "history": history(reader.showing, *FaultTable.objects.order_by("-pk")[:20]),
        "done": request.GET.get("done", ""),
        "longest": LONGEST_TABLE,
    }
    return page(request, "faults/own_table.html", context, 422 if wrong else 200)


def _sent(request: HttpRequest) -> str:
    """Return the text typed, or that of the file brought."""
    file = request.FILES.get("file")
    if file is None:
        return request.POST.get("text", "").replace("\r\n", "\n")
    if (file.size or 0) > 4 * LONGEST_TABLE:
        told = phrase("the file has {size} bytes; allowed: at most {most}", size=file.size, most=4 * LONGEST_TABLE)
        raise Refusal(told)
    try:
        return str(file.read().decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise Refusal(phrase("the file is not UTF-8 text")) from None


@somebody
@require_POST
def ended(request: HttpRequest, number: int) -> HttpResponse:
    """Go back to the rows that come with Sparkout."""
    reader = reader_of(request)
    try:
        end_fault_table(actor=reader.actor, table=get_object_or_404(FaultTable, pk=number))
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(reverse("fault-table") + "?done=changed")
