"""The plan as a calendar other programs read (iCalendar, RFC 5545): an entry for each phase of each job on its day."""

from __future__ import annotations

import datetime
import uuid
from typing import TYPE_CHECKING

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.telling.season import PHASE_WORDS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from icalendar import Event

    from sparkout.season.placing import Doing, Placed
    from sparkout.showing import Showing

_OURS = uuid.UUID("6f0b6d2e-5d1f-4f0e-9c37-1d2b5f7a9c11")
"""With it every entry's name is made, so that the same job and phase have the same name each time they are fetched."""


def season_calendar(placed: Iterable[Placed], showing: Showing, made_at: datetime.datetime | None = None) -> bytes:
    """Return the calendar of a plan; jobs left undone are not in it. No entry reminds anybody of itself.

    Parameters
    ----------
    made_at : when the plan was made; the first day's midnight (UTC) where not said, so that the same plan gives the
        same bytes
    """
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//Sparkout//season plan//EN")
    made.add("version", "2.0")
    made.add("name", showing.say(phrase("The season's plan")))
    jobs = [one for one in placed if one.on is not None]
    first = min((one.on for one in jobs if one.on is not None), default=datetime.date(1970, 1, 1))
    stamp = made_at or datetime.datetime.combine(first, datetime.time(), datetime.UTC)
    for one in jobs:
        for step in one.doing:
            made.add_component(_entry(one, step, showing, stamp))
    return bytes(made.to_ical())


def _entry(one: Placed, step: Doing, showing: Showing, stamp: datetime.datetime) -> Event:
    from icalendar import Event

    say = showing.say
    assert one.on is not None
    made = Event()
    made.add("uid", str(uuid.uuid5(_OURS, f"{one.job}, {step.phase}")))
    made.add("dtstamp", stamp.astimezone(datetime.UTC))
    made.add("dtstart", one.on)
    made.add("dtend", one.on + datetime.timedelta(days=1))
    made.add("transp", "TRANSPARENT")
    title = phrase("{job}: {phase}, {who}", job=AsTyped(one.job), phase=PHASE_WORDS[step.phase], who=AsTyped(step.who))
    made.add("summary", say(title))
    where = ", ".join(filter(None, (one.machine, one.place)))
    lines: list[str] = [
        phrase(
            "{hours} h, from {start} h after the day begins",
            hours=showing.figure(step.end - step.start, 2), start=showing.figure(step.start, 2),
        ),
        phrase("due {day}", day=dated(one.due)),
    ]  # fmt: skip
    if where:
        lines.insert(0, AsTyped(where))
    if one.fresh_for:
        lines.append(phrase("fresh for {occasion}", occasion=AsTyped(one.fresh_for)))
    if one.why:
        lines.append(one.why)
    made.add("description", say(joined("\n", lines)))
    if step.grinder:
        made.add("location", step.grinder)
    return made
