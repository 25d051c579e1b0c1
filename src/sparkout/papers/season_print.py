"""The season's plan for the wall: units down, weeks across, on one or more sheets of paper; PDF with real text."""

from __future__ import annotations

import datetime
import json
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sparkout.core.days import dated, short, weekday
from sparkout.core.phrase import AsTyped, counted, phrase
from sparkout.telling.season import how_good, why_told
from sparkout.telling.season_reels import tell_choices
from sparkout.telling.whole import ADVICE, DEMONSTRATION

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.season.now import SeasonPlanned
    from sparkout.season.placing import Placed
    from sparkout.season.sheet import Occasion
    from sparkout.showing import Showing

PAPERS = {"A3": "a3", "A4": "a4", "Letter": "us-letter"}
Item = dict[str, Any]
"""What stands in a cell: marks, and a text beside them."""
MOST_WHYS = 40
"""Late jobs told with their reasons; more than these are counted."""


def season_print(planned: SeasonPlanned, showing: Showing, paper: str = "A3", *, demonstration: bool = False) -> bytes:
    """Return the print as PDF, landscape; the same plan told the same way gives the same bytes.

    Raises
    ------
    ValueError
        For a paper size that is not A3, A4 or Letter.
    """
    import font_source_sans_pro
    import typst

    folder = Path(font_source_sans_pro.__file__).parent / "files"
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)])
    template = (files("sparkout.papers") / "season.typ").read_bytes()
    data = json.dumps(print_data(planned, showing, paper, demonstration=demonstration), ensure_ascii=False)
    made = typst.Compiler(template, font_paths=fonts, sys_inputs={"season": data}).compile(
        format="pdf", pdf_standards=["ua-1"]
    )
    assert isinstance(made, bytes)
    return made


def print_data(planned: SeasonPlanned, showing: Showing, paper: str, *, demonstration: bool = False) -> dict[str, Any]:
    """Return everything the layout prints, as text."""
    if paper not in PAPERS:
        raise ValueError(f"paper is {paper!r}; allowed: {', '.join(PAPERS)}")
    say, work = showing.say, planned.now.needed
    starts = [week.first for week in planned.weeks]
    late = planned.late
    whys = [say(why_told(one)) for one in late[:MOST_WHYS]]
    if len(late) > MOST_WHYS:
        whys.append(say(counted(len(late) - MOST_WHYS, "and {n} more", "and {n} more")))
    first, last = dated(work.start), dated(work.date(work.season.days - 1))
    return {
        "title": say(phrase("The season's plan, {first} to {last}", first=first, last=last)),
        "under": say(how_good(planned, showing)),
        "paper": PAPERS[paper],
        "large": paper == "A3",
        "lang": showing.language,
        "banner": say(DEMONSTRATION) if demonstration else "",
        "footer": say(ADVICE),
        "head": [say(phrase("unit")), *(say(short(day)) for day in starts)],
        "groups": [_group(name, jobs, planned, starts, showing) for name, jobs in _by_machine(planned.placed)],
        "load": _load(planned, showing),
        "late": {"title": say(phrase("Late or left undone")), "lines": whys or [say(phrase("nothing"))]},
        "reels": _reels(planned, showing),
        "legend": [
            {"marks": ["job"], "text": say(phrase("in time"))},
            {"marks": ["late"], "text": say(phrase("late, with days"))},
            {"marks": ["hand"], "text": say(phrase("day chosen by hand"))},
            {"marks": ["fresh"], "text": say(phrase("to be fresh for"))},
        ],
        "undone": say(phrase("left undone")),
    }


def _reels(planned: SeasonPlanned, showing: Showing) -> list[dict[str, Any]]:
    """Return grind or replace, as every door tells it: nothing where no reel is near its limit."""
    told = [section.said(showing) for section in tell_choices(planned.now, showing)]
    return [
        {
            "title": section.title,
            "lines": list(section.lines),
            "tables": [{"head": list(t.head), "rows": [list(row) for row in t.rows]} for t in section.tables],
        }
        for section in told
    ]


def _by_machine(placed: Iterable[Placed]) -> list[tuple[str, list[Placed]]]:
    found: dict[str, list[Placed]] = {}
    for one in placed:
        found.setdefault(one.machine, []).append(one)
    return sorted(found.items())


def _group(
    machine: str, jobs: list[Placed], planned: SeasonPlanned, starts: list[datetime.date], showing: Showing
) -> dict[str, Any]:
    units: dict[str, list[Placed]] = {}
    for one in jobs:
        units.setdefault(one.unit, []).append(one)
    place = jobs[0].place
    concerned = {machine, place, *units}
    marks: list[list[Item]] = [[] for _ in starts]
    for occasion in planned.now.sheet.fresh:
        at = _week(occasion.on, starts)
        if occasion.at in concerned and at is not None:
            marks[at].append(_item(_occasion(occasion, showing), "fresh"))
    return {
        "name": ", ".join(filter(None, (machine, place))),
        "marks": marks,
        "rows": [{"unit": unit, "cells": _cells(mine, starts, showing)} for unit, mine in sorted(units.items())],
    }


def _cells(jobs: list[Placed], starts: list[datetime.date], showing: Showing) -> list[list[Item]]:
    cells: list[list[Item]] = [[] for _ in starts]
    for one in jobs:
        if one.on is None:
            cells[-1].append(_item(showing.say(phrase("left undone")), "late"))
            continue
        at = _week(one.on, starts)
        assert at is not None
        day, by_hand = _in_week(one.on, showing), ("hand",) if one.by_hand else ()
        if one.is_late:
            told = counted(one.days_late or 0, "{day}: {n} day late", "{day}: {n} days late", day=AsTyped(day))
            cells[at].append(_item(showing.say(told), "late", *by_hand))
        else:
            cells[at].append(_item(day, *(by_hand or ("job",))))
    return cells


def _item(text: str, *marks: str) -> Item:
    return {"marks": list(marks), "text": text}


def _week(day: datetime.date, starts: list[datetime.date]) -> int | None:
    if not starts or day < starts[0] or day >= starts[-1] + datetime.timedelta(days=8):
        return None
    return max(i for i, first in enumerate(starts) if first <= day)


def _occasion(occasion: Occasion, showing: Showing) -> str:
    return f"{_in_week(occasion.on, showing)} {occasion.name or occasion.at}"


def _load(planned: SeasonPlanned, showing: Showing) -> list[dict[str, Any]]:
    names = list(planned.weeks[0].taken)
    return [
        {
            "name": f"{name} (h)",
            "cells": [
                f"{_hours(week.taken[name], showing)} / {_hours(week.there[name], showing)}"
                if week.there[name] > 0.0 or week.taken[name] > 0.0
                else "–"
                for week in planned.weeks
            ],
        }
        for name in names
    ]


def _in_week(day: datetime.date, showing: Showing) -> str:
    """Return a day under the head of its week."""
    return showing.say(phrase("{weekday} {day}", weekday=weekday(day), day=day.day))


def _hours(value: float, showing: Showing) -> str:
    return showing.figure(value, 0 if abs(value - round(value)) < 0.05 else 1)
