"""A gauge's calibration, as its certificate tells it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import refuse
from sparkout.records.models import Gauge
from sparkout.records.operations.equipment import calibrate_gauge
from sparkout.visit.words import Day, Text
from sparkout.web.shell.form import Field, Form, Group, as_shown, given
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.sections import GaugeEntry, fields_of
from sparkout.web.workshop.telling import day

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.records.models import Calibration
    from sparkout.showing import Showing

_FOUND = ("expanded_uncertainty", "k", "calibration_uncertainty", "repeatability")
_LINE = re.compile(r"^(?P<at>.+?)\s*(?::|;|\t|\s=\s)\s*(?P<error>.+)$")


def _groups() -> list[Group]:
    head = (
        Field("on", label=phrase("Calibrated on"), takes=Day("")),
        Field("due", takes=Day(phrase("when the next falls due"))),
        Field("certificate", takes=Text("", "", 100)),
        Field("by", takes=Text("", "", 100)),
    )
    figures = fields_of(GaugeEntry, _FOUND)
    lines = Field(
        "lines",
        takes=Text("", "", 4000),
        long=True,
        help=phrase(
            "one line each, where it was checked and its error (shown less true), such as 125 mm: 0.02 mm. "
            "They are kept and shown; readings are not corrected by them"
        ),
    )
    return [
        Group("", head),
        Group(phrase("What it found; what is left empty stays as it is"), figures),
        Group("", (lines,)),
    ]


def lines_typed(text: str) -> list[dict[str, str]]:
    """Return the lines of a certificate as typed.

    Raises
    ------
    VisitProblems
        When a line is no pair.

    Examples
    --------
    >>> lines_typed("125 mm: 0.02 mm")
    [{'at': '125 mm', 'error': '0.02 mm'}]
    """
    found = []
    for number, line in enumerate(filter(None, map(str.strip, text.splitlines())), 1):
        match = _LINE.match(line)
        if match is None:
            raise refuse(
                "lines",
                phrase("line {number}, '{text}', is no pair", number=number, text=AsTyped(line[:60])),
                allowed=phrase("where, a colon, the error there"),
            )
        found.append({"at": match["at"].strip(), "error": match["error"].strip()})
    return found


@somebody
@require_http_methods(["GET", "POST"])
def calibrate(request: HttpRequest, number: int) -> HttpResponse:
    """Enter a calibration."""
    gauge, reader = get_object_or_404(Gauge, pk=number), reader_of(request)
    form = Form(_groups(), reader.showing)
    form.values["kind"] = gauge.kind
    if request.method == "POST":
        form.take(request.POST)
        try:
            typed = form.typed()
            calibrate_gauge(
                actor=reader.actor,
                gauge=gauge,
                due=typed["due"],
                on=typed["on"],
                certificate=typed["certificate"] or "",
                by=typed["by"] or "",
                lines=lines_typed(typed["lines"] or ""),
                key=form.key,
                **given(typed, _FOUND),
            )
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return redirect(reverse("thing", args=["gauges", number]) + "?done=changed")
    context = {"form": form, "gauge": gauge}
    return page(request, "workshop/calibrate.html", context, 422 if form.is_wrong else 200)


def told_calibration(calibration: Calibration, showing: Showing) -> dict[str, Any]:
    """Return one calibration as its table shows it."""
    fields = {entry.name: entry for entry in fields_of(GaugeEntry, _FOUND)}
    return {
        "on": day(calibration.on, showing),
        "due": day(calibration.due, showing),
        "certificate": calibration.certificate,
        "by": calibration.by,
        "figures": [
            (showing.say(fields[name].words), as_shown(value, fields[name].takes))
            for name, value in calibration.figures.items()
            if name in fields
        ],
        "lines": calibration.lines,
    }
