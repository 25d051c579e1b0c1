"""Hours and area of many units at once: one grid, one day, one action."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.core.paginator import Paginator
from django.db.models import OuterRef, Subquery
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import HoursEntry, Machine, Unit
from sparkout.records.operations.doing import today
from sparkout.records.operations.turf import CLOCK_CHANGED, Clock, correct_hours, record_hours_of, withdraw_hours
from sparkout.visit.asked import Quantity
from sparkout.visit.problems import Problem, VisitProblems
from sparkout.visit.sections import AREA_MOWN
from sparkout.visit.words import Day
from sparkout.web.shell.form import Field, Form, Group, as_shown, typed_quantity, without_place
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.telling import day, kept_query

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse, QueryDict

    from sparkout.showing import Showing

_A_PAGE = 150
HOURS = Quantity("", "1240 h", "time", 0, 100_000, "h")
_DAY = (Group("", (Field("on", label=phrase("Read on"), takes=Day(""), needed=True),)),)
_ENTRY = (
    Group(
        "",
        (
            Field("on", label=phrase("Read on"), takes=Day(""), needed=True),
            Field("hours", takes=HOURS, needed=True),
            Field("area", takes=AREA_MOWN),
        ),
    ),
)


@dataclass(slots=True)
class Row:
    """One unit in the grid."""

    unit: Unit
    machine: str
    first: bool
    """Whether it is the first of its machine: the machine's own box stands before it."""
    last: str
    last_on: str
    entry: int | None
    hours: str = ""
    area: str = ""
    wrong: str = ""
    asked: bool = False
    """Whether its clock would run backwards, so that somebody has to say that it was changed."""
    changed: bool = False


@somebody
@require_http_methods(["GET", "POST"])
def hours(request: HttpRequest) -> HttpResponse:
    """The grid: all units, or those of one machine."""
    reader = reader_of(request)
    pages, rows = _rows(request, reader.showing)
    form = Form(_DAY, reader.showing, {"on": today().isoformat()})
    if request.method == "POST":
        form.take(request.POST)
        _take(rows, request.POST)
        try:
            done = _record(rows, form, reader.actor)
        except Refusal as refusal:
            _refuse(rows, form, refusal, reader.showing)
        else:
            return redirect(f"{reverse('hours')}?{kept_query(request)}done={done}")
    wrong = form.is_wrong or any(row.wrong for row in rows)
    context = {
        "rows": rows,
        "pages": pages,
        "form": form,
        "machines": Machine.objects.filter(ended_on=None, positions__unit__active=True).order_by("name").distinct(),
        "machine": request.GET.get("machine", ""),
        "summary": [(f"h-{row.unit.pk}", str(row.unit), row.wrong) for row in rows if row.wrong],
        "done": request.GET.get("done", ""),
        "kept_query": kept_query(request),
    }
    return page(request, "workshop/hours.html", context, 422 if wrong else 200)


def _rows(request: HttpRequest, showing: Showing) -> tuple[Any, list[Row]]:
    last = HoursEntry.objects.filter(unit=OuterRef("pk")).order_by("-on", "-pk")
    units = Unit.objects.filter(active=True).select_related("position__machine")
    if request.GET.get("machine"):
        units = units.filter(position__machine__name=request.GET["machine"])
    units = units.annotate(
        last_hours=Subquery(last.values("hours")[:1]),
        last_on=Subquery(last.values("on")[:1]),
        last_entry=Subquery(last.filter(visit=None).values("pk")[:1]),
    )
    pages = Paginator(units.order_by("position__machine__name", "position__pk", "name"), _A_PAGE)
    shown = pages.get_page(request.GET.get("page"))
    rows: list[Row] = []
    found: list[Any] = list(shown.object_list)
    for unit in found:
        machine = "" if unit.position is None else unit.position.machine.name
        first = bool(machine) and (not rows or rows[-1].machine != machine)
        last_read = as_shown(unit.last_hours, HOURS)
        rows.append(Row(unit, machine, first, last_read, day(unit.last_on, showing), unit.last_entry))
    return shown, rows


def _take(rows: list[Row], sent: QueryDict) -> None:
    """Take what was typed; an empty box of a unit takes what stands in its machine's."""
    whole = ""
    for row in rows:
        if row.first or not row.machine:
            whole = sent.get(f"m-{row.unit.pk}", "").strip() if row.machine else ""
        row.hours = sent.get(f"h-{row.unit.pk}", "").strip() or whole
        row.area = sent.get(f"a-{row.unit.pk}", "").strip()
        row.changed = f"c-{row.unit.pk}" in sent


def _record(rows: list[Row], form: Form, actor: Any) -> int:
    typed, said = form.typed(), [row for row in rows if row.hours or row.area]
    if not said:
        raise Refusal(phrase("nothing was typed: write the hours of at least one unit"))
    problems: list[Problem] = []
    for row in said:
        try:
            row.hours = row.hours and typed_quantity(f"{row.unit.pk}.hours", HOURS, row.hours, form.showing)
            row.area = row.area and typed_quantity(f"{row.unit.pk}.area", AREA_MOWN, row.area, form.showing)
        except VisitProblems as wrong:
            problems += wrong.problems
            continue
        if not row.hours:
            problems.append(Problem(f"{row.unit.pk}.hours", None, phrase("hours are needed with an area")))
    if problems:
        raise VisitProblems(problems)
    clocks = [Clock(row.unit, row.hours, row.area or None, row.changed) for row in said]
    return len(record_hours_of(actor=actor, on=typed["on"] or "", clocks=clocks, key=uuid.UUID(form.key)))


def _refuse(rows: list[Row], form: Form, refusal: Refusal, showing: Showing) -> None:
    if not isinstance(refusal, VisitProblems):
        form.refuse(refusal)
        return
    by_unit = {str(row.unit.pk): row for row in rows}
    for problem in refusal.problems:
        row = by_unit.get(problem.path.partition(".")[0])
        if row is None:
            form.refuse(VisitProblems([problem]))
        elif not row.wrong:
            row.wrong = showing.say(without_place(problem))
            row.asked = problem.suggestion == CLOCK_CHANGED


@somebody
@require_http_methods(["GET", "POST"])
def entry(request: HttpRequest, number: int) -> HttpResponse:
    """One entry of hours, to correct by a new one that names it, or to withdraw."""
    reader = reader_of(request)
    found = get_object_or_404(HoursEntry.everything.select_related("unit__position__machine"), pk=number)
    values = {"on": str(found.on or ""), "hours": as_shown(found.hours, HOURS), "area": as_shown(found.area, AREA_MOWN)}
    form = Form(_ENTRY, reader.showing, values)
    if request.method == "POST":
        form.take(request.POST)
        try:
            if "withdraw" in request.POST:
                withdraw_hours(actor=reader.actor, entry=found, key=form.key)
            else:
                typed = form.typed()
                correct_hours(
                    actor=reader.actor,
                    entry=found,
                    on=typed["on"] or "",
                    hours=typed["hours"] or "",
                    area=typed["area"],
                    key=form.key,
                )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect("unit", found.unit.pk)
    context = {"form": form, "entry": found, "chain": _chain(found)}
    return page(request, "workshop/hours_entry.html", context, 422 if form.is_wrong else 200)


def _chain(entry: HoursEntry) -> list[HoursEntry]:
    """Return what this entry corrects, back to the first."""
    found, at = [], entry.corrects
    while at is not None:
        found.append(at)
        at = at.corrects
    return found
