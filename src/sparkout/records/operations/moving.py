"""A reel or knife that goes from where it is to somewhere else, in one action that both units' histories tell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import Fitting, Reel
from sparkout.records.operations.doing import Asking, Key, asking, happened, operation, today
from sparkout.visit.asked import Quantity

if TYPE_CHECKING:
    import datetime

    from sparkout.records.models import Knife, Person, Unit

_HOURS = Quantity(phrase("hours run since new"), "1240 h", "time", 0, 100_000, "h")
Clock = str | float | None


@operation
def move_part(
    *,
    actor: Person,
    part: Reel | Knife,
    to: Unit | None,
    on: datetime.date | str | None = None,
    hours: Clock = None,
    hours_there: Clock = None,
    swap: bool = False,
    key: Key = None,
) -> Fitting | None:
    """Put a reel or knife into a unit, or on the shelf (`to` None), from wherever it is, on a day (else today).

    Returns where it is fitted then. What the unit held goes on the shelf; with `swap`, where the part came from.
    `hours` is the clock of the unit the part goes to, `hours_there` of the one it comes from.

    Raises
    ------
    Refusal
        When the part is where it is to go, is scrapped, or was fitted later than that day.
    """
    name = "reel" if isinstance(part, Reel) else "knife"
    content = {"to": to, "on": on, "hours": hours, "hours_there": hours_there, "swap": swap}
    ask = asking("move_part", actor, key, f"{part} to {to or 'the shelf'}", **{name: part}, **content)
    if ask.was_done():
        return None if to is None else _fitting(**{name: part})
    day = today() if on is None else happened("on", on)
    clock = {"hours": _clock("hours", hours), "hours_there": _clock("hours_there", hours_there)}
    source, held = (
        _fitting(**{name: part}),
        None if to is None else _fitting(unit=to, **{f"{name}__isnull": False}),
    )
    _refuse_moves_that_are_none(name, part, source, to, day)
    if swap and (source is None or held is None):
        raise refuse("swap", phrase("there are not two units with a {name} to swap between", name=name))
    if source is not None:
        _taken_out(source, day, clock["hours_there"])
    if held is not None:
        _taken_out(held, day, clock["hours"])
    fitted = None if to is None else _put_in(name, to, part, day, clock["hours"])
    if swap and source is not None and held is not None:
        _put_in(name, source.unit, held.part, day, clock["hours_there"])
    _note(ask, name, (source, held, fitted), swapped=swap)
    return fitted


def _clock(field: str, hours: Clock) -> Any:
    return None if hours is None else checked_value(field, _HOURS, hours).typed


def _fitting(**which: Any) -> Fitting | None:
    return (
        Fitting.objects.select_related("unit__position__machine", "reel", "knife").filter(until=None, **which).first()
    )


def _refuse_moves_that_are_none(
    name: str, part: Any, source: Fitting | None, to: Unit | None, day: datetime.date
) -> None:
    if part.scrapped_on is not None:
        raise refuse(
            name,
            phrase("{part} was scrapped on {day}", part=part, day=part.scrapped_on),
            value=str(part),
        )
    if to is None and source is None:
        raise refuse(name, phrase("{part} is on the shelf already", part=part), value=str(part))
    if to is not None and source is not None and source.unit_id == to.pk:
        raise refuse(name, phrase("{part} is in {to} already", part=part, to=to), value=str(part))
    ended = [part.fittings.exclude(until=None).order_by("-until").first()]
    if to is not None:
        earlier = to.fittings.exclude(until=None).filter(**{f"{name}__isnull": False})
        ended.append(earlier.order_by("-until").first())
    for last in ended:
        if last is not None and day < last.until:
            raise refuse(
                "on",
                phrase(
                    "{day} lies before the day {part} was taken out of {unit}", day=day, part=last.part, unit=last.unit
                ),
                value=str(day),
                allowed=phrase("from {day}", day=last.until),
            )


def _taken_out(fitting: Fitting, day: datetime.date, hours: Any) -> None:
    if day < fitting.since:
        raise refuse(
            "on",
            phrase(
                "{day} lies before the day {part} was fitted into {unit}", day=day, part=fitting.part, unit=fitting.unit
            ),
            value=str(day),
            allowed=phrase("from {day}", day=fitting.since),
        )
    fitting.until, fitting.until_hours = day, hours
    fitting.save()


def _put_in(name: str, unit: Unit, part: Any, day: datetime.date, hours: Any) -> Fitting:
    return Fitting.objects.create(unit=unit, since=day, since_hours=hours, **{name: part})


def _note(
    ask: Asking, name: str, came_of: tuple[Fitting | None, Fitting | None, Fitting | None], *, swapped: bool
) -> None:
    """One line for each unit concerned; the first carries the key."""
    source, held, fitted = came_of
    if fitted is not None:
        before = {name: None if held is None else str(held.part)}
        ask.note(
            fitted.unit,
            before=before,
            after={name: str(fitted.part), "on": fitted.since, "hours": fitted.since_hours},
        )
        ask = asking(ask.action, ask.actor, None)
    if source is not None:
        there = str(held.part) if swapped and held is not None else None
        after = {name: there, "on": source.until, "hours": source.until_hours}
        ask.note(source.unit, before={name: str(source.part)}, after=after)
