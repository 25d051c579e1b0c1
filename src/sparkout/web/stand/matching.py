"""The units of one machine side by side: heights typed, what to turn, what stays unmatched and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_safe

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, phrase
from sparkout.reckoning.matching import UnitTyped, matching
from sparkout.records.heights import heights_of
from sparkout.records.models import Machine
from sparkout.telling.matching import matching_sections
from sparkout.visit.asked import Quantity, a_length, a_number
from sparkout.visit.words import Text, Word
from sparkout.web.shell.form import Field, Group
from sparkout.web.shell.kept import kept_page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.stand.live import Live, Told, answer, asked, in_boxes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from django.http import HttpRequest, HttpResponse

    from sparkout.core.phrase import Phrase
    from sparkout.records.heights import HeightsOnFile
    from sparkout.showing import Showing

MOST = 7
"""Units on one page."""
_LOCKED = Word(phrase("both turn unless said"), "no", ("no", "left", "right", "both"))
COMMON = Group(
    phrase("For all of them"),
    (
        Field(
            "rise", phrase("Edge rises for one turn"), a_length(0.01, 20, phrase("at the adjuster turned"), "0.75 mm")
        ),
        Field("smallest_turn", phrase("Least part of a turn that can be set"), a_number(0.001, 10, "", "0.25")),
        Field(
            "wanted", phrase("Height of cut wanted"), a_length(-5, 200, phrase("or empty: the least turning"), "4 mm")
        ),
        Field("ends", phrase("Ends of a unit may differ by"), a_length(0, 20, phrase("your own limit"), "0.05 mm")),
        Field("between", phrase("Units may differ by"), a_length(0, 20, phrase("your own limit"), "0.1 mm")),
        Field(
            "bar",
            phrase("Setting bar: standard uncertainty"),
            a_length(0, 5, phrase("alike in all readings"), "0.02 mm"),
        ),
        Field("reading", phrase("One reading: standard uncertainty"), a_length(0, 5, "", "0.01 mm")),
        Field(
            "guard",
            phrase("Safety, in standard uncertainties"),
            Quantity(phrase("0: none"), "2", "number", 0.0, 10.0, ""),
        ),
    ),
)
EXAMPLE = {
    "rise": "0.75 mm", "smallest_turn": "0.125", "ends": "0.05 mm", "between": "0.1 mm", "bar": "0.02 mm",
    "reading": "0.01 mm",
    "name1": "front left", "left1": "3.9 mm", "right1": "3.95 mm",
    "name2": "front right", "left2": "4 mm", "right2": "4.2 mm",
    "name3": "centre", "left3": "4.15 mm", "right3": "4.1 mm", "locked3": "right",
}  # fmt: skip
"""Invented."""


def _group(number: int, folded: bool) -> Group:
    height = a_length(-5, 200, "", "4 mm")
    return Group(
        phrase("Unit {number}", number=number),
        (
            Field(f"name{number}", phrase("Name"), Text("", "", 100)),
            Field(f"left{number}", phrase("Height, left"), height),
            Field(f"right{number}", phrase("Height, right"), height),
            Field(f"locked{number}", phrase("Adjuster that does not turn"), _LOCKED),
        ),
        folded=folded,
    )


def _tell(values: dict[str, Any], showing: Showing) -> Told:
    rows = []
    wanting = [name for name in ("rise",) if name not in values]
    for number in range(1, MOST + 1):
        left, right = values.get(f"left{number}"), values.get(f"right{number}")
        if left is None and right is None:
            continue
        if left is None or right is None:
            wanting.append(f"left{number}" if left is None else f"right{number}")
            continue
        name = str(values.get(f"name{number}", "")) or str(number)
        rows.append(UnitTyped(name, left, right, values.get(f"locked{number}", "no")))
    if not rows:
        wanting += ["left1", "right1"]
    if wanting:
        return Told(tuple(dict.fromkeys(wanting)))
    return Told((), matching_sections(matching(rows, **common(values)), showing))


def common(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what holds for all units of what was typed."""
    return {entry.name: values[entry.name] for entry in COMMON.fields if values.get(entry.name) is not None}


PAGE = Live(
    "matching",
    phrase("Units matched"),
    phrase(
        "The units of one machine to one height of cut with the least turning: read both ends of all of them with one "
        "bar."
    ),
    _tell,
    {"height_per_turn": "rise", "end_tolerance": "ends", "unit_tolerance": "between", "bar_u": "bar"},
)


def _in_boxes(units: Sequence[HeightsOnFile], showing: Showing) -> dict[str, str]:
    """Return names and heights on file as they stand in the boxes."""
    heights: dict[str, float | str | None] = {}
    for number, unit in enumerate(units, 1):
        heights |= {f"name{number}": unit.name, f"left{number}": unit.left, f"right{number}": unit.right}
    return in_boxes(heights, {}, showing)


def _from(unit: HeightsOnFile) -> Phrase:
    """Say where a unit's heights in the boxes come from."""
    name = AsTyped(unit.name)
    if unit.visit is None:
        return phrase("{unit}: no height of cut is on file", unit=name)
    when = phrase("as left") if unit.when == "as left" else phrase("as found")
    if unit.visit.date is None:
        return phrase("{unit}: {when}", unit=name, when=when)
    return phrase("{unit}: {when}, {day}", unit=name, when=when, day=dated(unit.visit.date))


@somebody
@require_safe
@kept_page
def matched(request: HttpRequest) -> HttpResponse:
    """The page; with a machine's units by name and the heights measured last where its address names one."""
    showing = reader_of(request).showing
    number = request.GET.get("machine", "")
    pk = int(number) if number.isascii() and number.isdecimal() and len(number) < 10 else 0
    machine = get_object_or_404(Machine, pk=pk) if number else None
    units = [] if machine is None else heights_of(machine)[:MOST]
    start = _in_boxes(units, showing)
    start |= {"ends": "0.05 mm", "between": "0.1 mm"} if not units else {}
    shown = max(len(units), 3)
    groups = [COMMON, *(_group(i, folded=i > shown) for i in range(1, MOST + 1))]
    made = asked(request, PAGE, groups, start, {"machine": number} if machine else {}, showing)
    return answer(
        request,
        PAGE,
        made,
        reverse("matching"),
        machine=machine,
        sources=[(showing.say(_from(unit)), unit.visit) for unit in units],
        of="",
        of_machine=f"?machine={number}" if machine else "",
        example="" if machine else f"?{urlencode(EXAMPLE)}",
    )
