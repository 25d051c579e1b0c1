"""When a part was in a unit, put right: the day and the clock of a fitting that were entered wrongly."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db.models import Q

from sparkout.core.phrase import phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import Fitting
from sparkout.records.operations.doing import Key, asking, happened, operation
from sparkout.visit.asked import Quantity

if TYPE_CHECKING:
    import datetime

    from sparkout.records.models import Person

_HOURS = Quantity(phrase("hours run since new"), "1240 h", "time", 0, 100_000, "h")


@operation
def correct_fitting(
    *,
    actor: Person,
    fitting: Fitting,
    since: datetime.date | str,
    since_hours: str | float | None = None,
    until: datetime.date | str | None = None,
    until_hours: str | float | None = None,
    key: Key = None,
) -> Fitting:
    """Put right when a part went into a unit and came out again; `until` only where it has come out.

    Which part, and into which unit, stays: a part fitted to the wrong unit is moved. The history keeps what was said
    before; visits signed keep their own file.

    Raises
    ------
    Refusal
        When it has not come out or has, a day is still to come, or the part or the unit was elsewhere then.
    """
    told = {"since": since, "since_hours": since_hours, "until": until, "until_hours": until_hours}
    ask = asking("correct_fitting", actor, key, str(fitting), fitting=fitting, **told)
    if (done := ask.answered(Fitting)) is not None:
        return done
    before = _told(fitting)
    came_out = fitting.until is not None
    if came_out and until is None:
        raise refuse("until", phrase("it has come out again: say on which day"))
    if not came_out and (until is not None or until_hours is not None):
        raise refuse("until", phrase("it is still in: take it out first"), value=str(until or until_hours))
    fitting.since = happened("since", since)
    fitting.until = None if until is None else happened("until", until)
    if fitting.until is not None and fitting.until < fitting.since:
        raise refuse(
            "until",
            phrase("{day} lies before the day it was fitted", day=fitting.until),
            value=str(fitting.until),
            allowed=phrase("from {day}", day=fitting.since),
        )
    fitting.since_hours, fitting.until_hours = _clock("since_hours", since_hours), _clock("until_hours", until_hours)
    _refuse_two_at_once(fitting)
    fitting.save()
    ask.note(fitting, before=before, after=_told(fitting))
    return fitting


def _clock(field: str, hours: str | float | None) -> Any:
    return None if hours is None else checked_value(field, _HOURS, hours).typed


def _told(fitting: Fitting) -> dict[str, Any]:
    return {name: getattr(fitting, name) for name in ("since", "since_hours", "until", "until_hours")}


def _refuse_two_at_once(fitting: Fitting) -> None:
    """Refuse a time in which the part was in another unit, or the unit held another part; a day may be shared."""
    kind, part = ("reel", fitting.reel_id) if fitting.reel_id else ("knife", fitting.knife_id)
    of_either = Q(**{f"{kind}_id": part}) | Q(unit=fitting.unit_id, **{f"{kind}__isnull": False})
    others = Fitting.objects.filter(of_either).exclude(pk=fitting.pk).filter(Q(until=None) | Q(until__gt=fitting.since))
    if fitting.until is not None:
        others = others.filter(since__lt=fitting.until)
    other = others.select_related("unit__position__machine", "reel", "knife").order_by("since", "pk").first()
    if other is None:
        return
    told = phrase("{part} was in {unit} from {day}", part=other.part, unit=other.unit, day=other.since)
    if other.until is not None:
        told = phrase("{told} to {day}", told=told, day=other.until)
    raise refuse("since", told, value=str(fitting.since), suggestion=phrase("Put that right first."))
