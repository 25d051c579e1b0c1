"""Things that are out of use from a day on. They stay on file, with all that was ever done with them."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from sparkout.core.phrase import phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import (
    Fitting,
    Gauge,
    Grinder,
    Knife,
    KnifeType,
    Machine,
    Person,
    Place,
    Reel,
    ReelType,
    Unit,
    Visit,
)
from sparkout.records.models.visits import OPEN
from sparkout.records.operations.doing import Key, asking, happened, operation, today
from sparkout.visit.words import Text

if TYPE_CHECKING:
    import datetime

Thing = TypeVar("Thing", Gauge, Grinder, Knife, KnifeType, Machine, Person, Place, Reel, ReelType, Unit)
_WHY = Text("why", "", 500)


@operation
def end(*, actor: Person, thing: Thing, on: datetime.date | str | None = None, why: str = "", key: Key = None) -> Thing:
    """Put a thing out of use from a day on (else today).

    Raises
    ------
    Refusal
        When it is out of use already, or something in use still hangs on it.
    """
    ask = asking("end", actor, key, str(thing), of=thing._meta.model_name, thing=thing, on=on, why=why)
    if (done := ask.answered(type(thing))) is not None:
        return done
    day = today() if on is None else happened("on", on)
    told = checked_value("why", _WHY, why).strip()
    if _ended(thing):
        raise refuse("on", phrase("{thing} is out of use already", thing=thing), value=str(day))
    _refuse_while_needed(thing)
    _set(thing, ended=True, day=day)
    ask.note(thing, after={"on": day, "why": told or None})
    return thing


@operation
def take_up_again(*, actor: Person, thing: Thing, key: Key = None) -> Thing:
    """Put a thing that was out of use into use again.

    Raises
    ------
    Refusal
        When it is in use.
    """
    ask = asking("take_up_again", actor, key, str(thing), of=thing._meta.model_name, thing=thing)
    if (done := ask.answered(type(thing))) is not None:
        return done
    if not _ended(thing):
        raise refuse("on", phrase("{thing} is in use", thing=thing))
    before = _day_of(thing)
    _set(thing, ended=False, day=None)
    ask.note(thing, before={"on": before})
    return thing


def _ended(thing: Thing) -> bool:
    match thing:
        case Gauge() | Grinder():
            return thing.retired
        case Unit() | Person():
            return not thing.active
        case Reel() | Knife():
            return thing.scrapped_on is not None
        case _:
            return thing.ended_on is not None


def _day_of(thing: Thing) -> datetime.date | None:
    return thing.scrapped_on if isinstance(thing, Reel | Knife) else thing.ended_on


def _set(thing: Thing, *, ended: bool, day: datetime.date | None) -> None:
    if isinstance(thing, Reel | Knife):
        thing.scrapped_on = day
    else:
        thing.ended_on = day
    if isinstance(thing, Gauge | Grinder):
        thing.retired = ended
    elif isinstance(thing, Unit | Person):
        thing.active = not ended
    thing.save()


def _refuse_while_needed(thing: Thing) -> None:
    match thing:
        case Place():
            held = Machine.objects.filter(place=thing, ended_on=None).first()
            says = held and phrase("{held} works there", held=held)
        case Machine():
            on_it = Unit.objects.filter(position__machine=thing, active=True).first()
            says = on_it and phrase("{on_it} sits on it", on_it=on_it.name)
        case Unit():
            opened = Visit.objects.filter(unit=thing, state=OPEN).exists()
            says = phrase("a visit of it is open: sign it or set it aside") if opened else None
        case Reel() | Knife():
            name = "reel" if isinstance(thing, Reel) else "knife"
            fitted = Fitting.objects.filter(until=None, **{name: thing}).select_related("unit").first()
            says = fitted and phrase("it is in {unit}: take it out first", unit=fitted.unit)
        case Person():
            alone = not Person.objects.filter(active=True).exclude(pk=thing.pk).exists()
            says = phrase("nobody else works here: add somebody first") if alone else None
        case _:
            says = None
    if says:
        raise refuse("on", phrase("{thing} is still needed: {says}", thing=thing, says=says))
