"""Who may mount a wheel, or do other work that takes an authorisation, and till when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, Phrase, counted, phrase


@dataclass(frozen=True, slots=True)
class Authorisation:
    """A person's leave to do a kind of work, by whom it was given, and from when to when (None: no end was set)."""

    person: str
    work: str
    given_by: str
    since: date
    until: date | None = None


@dataclass(frozen=True, slots=True)
class May:
    """Whether a person may do a kind of work on a day, and what to know about it."""

    may: bool
    until: date | None
    why: Phrase


def may_do(person: str, work: str, day: date, authorisations: Sequence[Authorisation], warn_days: int = 30) -> May:
    """Return whether somebody may do a kind of work on a day; the longest authorisation that holds counts.

    Examples
    --------
    >>> held = Authorisation("A. Example", "mount wheels", "the workshop", date(2026, 1, 1), date(2026, 12, 31))
    >>> may_do("A. Example", "mount wheels", date(2026, 12, 10), [held]).why
    'authorised by the workshop; ends 31 Dec 2026, in 21 days'

    The workshop's own authorisations; check local rules on who may give them.
    """
    mine = [one for one in authorisations if one.person == person and one.work == work]
    held = [one for one in mine if one.since <= day and (one.until is None or day <= one.until)]
    if held:
        best = max(held, key=lambda one: one.until or date.max)
        by = AsTyped(best.given_by)
        if best.until is None:
            return May(True, None, phrase("authorised by {by}; no end was set", by=by))
        left = (best.until - day).days
        if best.until - day <= timedelta(days=warn_days):
            soon = counted(
                left,
                "authorised by {by}; ends {end}, in {n} day",
                "authorised by {by}; ends {end}, in {n} days",
                by=by, end=dated(best.until),
            )  # fmt: skip
            return May(True, best.until, soon)
        return May(True, best.until, phrase("authorised by {by} till {end}", by=by, end=dated(best.until)))
    over = [one.until for one in mine if one.until is not None and one.until < day]
    if over:
        return May(False, max(over), phrase("the authorisation ended {end}", end=dated(max(over))))
    if mine:
        return May(False, None, phrase("the authorisation begins {day}", day=dated(min(one.since for one in mine))))
    return May(False, None, phrase("no authorisation is on file"))
