"""Care of the person, on file: a day's tasks, and leave to do work. Sparkout tells; it stops nobody."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from sparkout.core.care.authority import Authorisation as Held
from sparkout.core.care.authority import May, may_do
from sparkout.core.phrase import AsTyped, Phrase, joined, phrase
from sparkout.reckoning.exposure import Task, day_of
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import Authorisation, Exposure
from sparkout.records.models.care import WORKS
from sparkout.records.operations.doing import Key, asking, now, operation, today
from sparkout.visit.asked import Quantity
from sparkout.visit.words import Day, Text, Word

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Iterator

    from sparkout.records.models import Person

WORK = Word(phrase("the work it allows"), "mount wheels", tuple(name for name, _ in WORKS))
GIVEN_BY = Text(phrase("who gave it: a person, a course, the workshop"), "the workshop", 100, 1)
SINCE = Day(phrase("first day it holds"), "2026-01-01")
UNTIL = Day(phrase("last day it holds; empty: no end was set"), "2026-12-31")
ON = Day(phrase("the day"), "2026-11-25")
TASK = Text(phrase("what was done"), "spin grind", 100, 1)
HOURS = Quantity(phrase("how long, trigger time for vibration"), "1.5 h", "time", 0.0, 24.0, "h")
VIBRATION = Quantity(phrase("at the hand, vector sum"), "3.5 m/s²", "acceleration", 0.0, 100.0, "m/s²")
LEVEL = Quantity(phrase("at the ear, without hearing protection"), "88 dB(A)", "sound level", 0.0, 150.0, "dB(A)")
DUST = Text(phrase("wet or dry, extraction, mask"), "dry, extraction on, mask worn", 300)
ORIGIN = Text(phrase("where the figures are from"), "measured here, 2026-03-02", 200, 1)


@operation
def add_authorisation(
    *, actor: Person, person: Person, work: str, given_by: str, since: Any, until: Any = None, key: Key = None
) -> Authorisation:
    """Put on file that somebody may do a kind of work, from when till when.

    Raises
    ------
    Refusal
        When an entry is wrong, or it ends before it begins.
    """
    ask = asking(
        "add_authorisation", actor, key, str(person), person=person, work=work, given_by=given_by,
        since=str(since), until=str(until or ""),
    )  # fmt: skip
    if (done := ask.answered(Authorisation)) is not None:
        return done
    first = checked_value("since", SINCE, since)
    last = None if until in (None, "") else checked_value("until", UNTIL, until)
    if last is not None and last < first:
        told = phrase("{day} is before the first day", day=last)
        raise refuse("until", told, value=str(last), allowed=phrase("from {day}", day=first))
    made = Authorisation.objects.create(
        person=person, work=checked_value("work", WORK, work), given_by=checked_value("given_by", GIVEN_BY, given_by),
        since=first, until=last, added_by=actor, added_at=now(),
    )  # fmt: skip
    ask.note(
        made, after={"person": person.name, "work": made.work, "given_by": made.given_by, "since": first, "until": last}
    )
    return made


@operation
def end_authorisation(*, actor: Person, authorisation: Authorisation, key: Key = None) -> Authorisation:
    """Withdraw somebody's leave to do a kind of work; it stays on file.

    Raises
    ------
    Refusal
        When it was withdrawn already.
    """
    ask = asking("end_authorisation", actor, key, str(authorisation), authorisation=authorisation)
    if (done := ask.answered(Authorisation)) is not None:
        return done
    held = Authorisation.objects.select_for_update(of=("self",)).select_related("person").get(pk=authorisation.pk)
    if held.ended_at is not None:
        raise refuse("authorisation", phrase("{what} was withdrawn already", what=AsTyped(str(held))))
    held.ended_at = now()
    held.save()
    ask.note(held, before={"until": held.until})
    return held


@operation
def record_exposure(
    *,
    actor: Person,
    person: Person,
    on: Any,
    task: str,
    hours: Any,
    origin: str,
    vibration: Any = None,
    level: Any = None,
    dust: str = "",
    key: Key = None,
) -> Exposure:
    """Put a task of somebody's day on file: how long, how it shook, how loud it was, what dust.

    Raises
    ------
    Refusal
        When an entry is wrong, the day has not come, or the day's tasks come to more than 24 hours.
    """
    ask = asking(
        "record_exposure", actor, key, task, person=person, on=str(on), task=task, hours=hours, origin=origin,
        vibration=vibration, level=level, dust=dust,
    )  # fmt: skip
    if (done := ask.answered(Exposure)) is not None:
        return done
    day = checked_value("on", ON, on)
    if day > today():
        told = phrase("{day} has not come yet", day=day)
        raise refuse("on", told, value=str(day), allowed=phrase("up to {day}", day=today()))
    entries = {"hours": (HOURS, hours), "vibration": (VIBRATION, vibration), "level": (LEVEL, level)}
    kept = {
        name: None if value in (None, "") and name != "hours" else checked_value(name, takes, value).typed
        for name, (takes, value) in entries.items()
    }
    made = Exposure(
        person=person, on=day, task=checked_value("task", TASK, task), origin=checked_value("origin", ORIGIN, origin),
        dust=checked_value("dust", DUST, dust or ""), added_by=actor, added_at=now(), **kept,
    )  # fmt: skip
    together = math.fsum(hours_of(one) for one in (*exposures_of(person, day), made))
    if together > 24.0:
        told = phrase("the day would have {hours:.1f} hours of work", hours=together)
        raise refuse("hours", told, value=str(hours), allowed=phrase("24 h together"))
    made.save()
    ask.note(made, after={"person": person.name, "on": day, "task": made.task, **kept, "origin": made.origin})
    return made


@operation
def withdraw_exposure(*, actor: Person, exposure: Exposure, key: Key = None) -> Exposure:
    """Withdraw a task that was put on file wrongly; the history keeps it.

    Raises
    ------
    Refusal
        When it was withdrawn already.
    """
    ask = asking("withdraw_exposure", actor, key, str(exposure), exposure=exposure)
    if (done := ask.answered(Exposure)) is not None:
        return done
    held = Exposure.objects.select_for_update(of=("self",)).select_related("person").get(pk=exposure.pk)
    if held.ended_at is not None:
        raise refuse("exposure", phrase("{what} was withdrawn already", what=AsTyped(str(held))))
    held.ended_at = now()
    held.save()
    ask.note(held, before={"task": held.task, "hours": held.hours})
    return held


def exposures_of(person: Person, day: datetime.date) -> list[Exposure]:
    """Return the tasks on file of somebody's day."""
    return list(Exposure.objects.filter(person=person, on=day, ended_at=None).order_by("pk"))


def tasks_of(person: Person, day: datetime.date) -> list[Task]:
    """Return the tasks of somebody's day in core's terms: hours, m/s², dB(A)."""
    return list(map(_task, exposures_of(person, day)))


def hours_of(entry: Exposure) -> float:
    """Return how long a task took, h."""
    return float(HOURS.read(entry.hours)) / 3600.0


def may(person: Person, work: str, day: datetime.date) -> May:
    """Return whether somebody may do a kind of work on a day, by what is on file."""
    return may_do(
        person.name,
        work,
        day,
        _held(Authorisation.objects.filter(person=person, ended_at=None, work=work), person.name),
    )


@dataclass(frozen=True, slots=True)
class Warned:
    """Something about a person's safety that wants seeing to, in words; `already`: so now, else soon."""

    person: int
    on: datetime.date
    words: Phrase
    already: bool


def warned_of(day: datetime.date, days: int = 14) -> list[Warned]:
    """Return authorisations that ended or end within 30 days, and days up to `days` ago that reached a region's value.

    Two queries. Of several authorisations for one work the longest counts; one withdrawn, or of somebody who is not
    here any more, is not told of.
    """
    return [*_running_out(day), *_over_exposed(day, days)]


def _running_out(day: datetime.date) -> Iterator[Warned]:
    held: dict[tuple[int, str], list[Authorisation]] = defaultdict(list)
    for one in Authorisation.objects.filter(ended_at=None, person__active=True).select_related("person").order_by("pk"):
        held[one.person_id, one.work].append(one)
    for (person, work), those in held.items():
        name = those[0].person.name
        found = may_do(name, work, day, _held(those, name))
        soon = found.may and found.until is not None and found.until - day <= timedelta(days=30)
        if found.until is not None and (soon or (not found.may and found.until < day)):
            words = phrase("{person}, {work}: {why}", person=AsTyped(name), work=phrase(work), why=found.why)
            yield Warned(person, day, words, not found.may)


def _over_exposed(day: datetime.date, days: int) -> Iterator[Warned]:
    lately = Exposure.objects.filter(ended_at=None, on__gt=day - timedelta(days=days), on__lte=day)
    by_day: dict[tuple[datetime.date, int], list[Exposure]] = defaultdict(list)
    for entry in lately.select_related("person").order_by("-on", "person__name", "pk"):
        by_day[entry.on, entry.person_id].append(entry)
    for (on, person), entries in by_day.items():
        reached = [beside.value for beside in day_of(map(_task, entries)).values if beside.reached]
        if reached:
            told = dict.fromkeys(phrase("{of}: {name}", of=phrase(v.of), name=phrase(v.name)) for v in reached)
            name = AsTyped(entries[0].person.name)
            words = phrase(
                "{person}, {day}: reached {values}; check local rules",
                person=name, day=AsTyped(on.isoformat()), values=joined(", ", tuple(told)),
            )  # fmt: skip
            yield Warned(person, on, words, True)


def _task(entry: Exposure) -> Task:
    return Task(
        entry.task,
        hours_of(entry),
        None if entry.vibration is None else float(VIBRATION.read(entry.vibration)) / 1e3,
        None if entry.level is None else float(LEVEL.read(entry.level)),
    )


def _held(found: Iterable[Authorisation], name: str) -> list[Held]:
    return [Held(name, one.work, AsTyped(one.given_by), one.since, one.until) for one in found]
