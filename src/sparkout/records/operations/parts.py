"""Reels and knives: their types, themselves, and in which unit they are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import BLADE_KEYS, Table, checked_table, checked_value, only, refuse
from sparkout.records.models import Fitting, Knife, KnifeType, Reel, ReelType
from sparkout.records.operations.doing import Asking, Key, asking, happened, operation, today
from sparkout.visit.asked import Quantity
from sparkout.visit.words import Text

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable, Mapping

    from sparkout.records.models import Person, Unit

_NAME = Text("a name", "", 100, 1)
_HOURS = Quantity(phrase("hours run since new"), "1240 h", "time", 0, 100_000, "h")
Named = TypeVar("Named", ReelType, KnifeType)
Part = TypeVar("Part", Reel, Knife)


@operation
def add_reel_type(*, actor: Person, name: str, spec: Mapping[str, Any], key: Key = None) -> ReelType:
    """Add a type of reel: `spec` are entries of [reel], of which blades, diameter and length are needed.

    Raises
    ------
    Refusal
        When an entry is wrong, or the name taken.
    """
    ask = asking("add_reel_type", actor, key, name, name=name, spec=dict(spec))
    return _add_type(ReelType, ask, name, lambda: checked_table("reel", spec))


@operation
def add_knife_type(*, actor: Person, name: str, spec: Mapping[str, Any], key: Key = None) -> KnifeType:
    """Add a type of knife: `spec` are entries of [knife] that belong to the knife itself.

    Raises
    ------
    Refusal
        When an entry is wrong, or the name taken.
    """
    ask = asking("add_knife_type", actor, key, name, name=name, spec=dict(spec))
    return _add_type(KnifeType, ask, name, lambda: _blade(spec))


@operation
def change_type(
    *, actor: Person, part_type: Named, spec: Mapping[str, Any], name: str | None = None, key: Key = None
) -> Named:
    """Put name or whole spec of a type of reel or knife right; signed visits keep what they were signed with.

    Raises
    ------
    Refusal
        When an entry is wrong, or the name taken.
    """
    kind = type(part_type)
    of = kind._meta.model_name
    ask = asking("change_type", actor, key, str(part_type), of=of, part_type=part_type, spec=dict(spec), name=name)
    if (done := ask.answered(kind)) is not None:
        return done
    told = part_type.name if name is None else checked_value("name", _NAME, name).strip()
    if kind._default_manager.filter(name=told).exclude(pk=part_type.pk).exists():
        raise refuse("name", phrase("there is already a type called '{name}'", name=AsTyped(told)), value=told)
    before = {"name": part_type.name, **part_type.spec}
    part_type.name = told
    part_type.spec = checked_table("reel", spec) if isinstance(part_type, ReelType) else _blade(spec)
    part_type.save()
    ask.note(part_type, before=before, after={"name": told, **part_type.spec})
    return part_type


def _add_type(kind: type[Named], ask: Asking, name: str, checked_spec: Callable[[], Table]) -> Named:
    if (done := ask.answered(kind)) is not None:
        return done
    spec = checked_spec()
    told = checked_value("name", _NAME, name).strip()
    if kind.objects.filter(name=told).exists():
        raise refuse("name", phrase("there is already a type called '{name}'", name=AsTyped(told)), value=told)
    made = kind.objects.create(name=told, spec=spec)
    ask.note(made, after={"name": told, **spec})
    return made


def _word(part: Reel | Knife) -> str:
    return "reel" if isinstance(part, Reel) else "knife"


def _blade(spec: Mapping[str, Any]) -> Table:
    return only(checked_table("knife", spec), BLADE_KEYS, phrase("to the unit, not to the knife"))


@operation
def add_reel(
    *, actor: Person, part_type: ReelType, label: str, spec: Mapping[str, Any] | None = None, key: Key = None
) -> Reel:
    """Add a reel; `spec` holds entries of [reel] in which it differs from its type, such as marked_blade.

    Raises
    ------
    Refusal
        When an entry is wrong, or the label taken.
    """
    ask = asking("add_reel", actor, key, label, part_type=part_type, label=label, spec=dict(spec or {}))
    if (done := ask.answered(Reel)) is not None:
        return done
    told = checked_value("label", _NAME, label).strip()
    if Reel.objects.filter(label=told).exists():
        raise refuse("label", phrase("there is already a reel '{name}'", name=AsTyped(told)), value=told)
    whole = checked_table("reel", {**part_type.spec, **(spec or {})})
    own = {name: value for name, value in whole.items() if part_type.spec.get(name) != value}
    reel = Reel.objects.create(type=part_type, label=told, spec=own)
    ask.note(reel, after={"type": part_type.name, **own})
    return reel


@operation
def add_knife(
    *, actor: Person, part_type: KnifeType, label: str, spec: Mapping[str, Any] | None = None, key: Key = None
) -> Knife:
    """Add a knife; `spec` holds entries of [knife] in which it differs from its type.

    Raises
    ------
    Refusal
        When an entry is wrong, or the label taken.
    """
    ask = asking("add_knife", actor, key, label, part_type=part_type, label=label, spec=dict(spec or {}))
    if (done := ask.answered(Knife)) is not None:
        return done
    told = checked_value("label", _NAME, label).strip()
    if Knife.objects.filter(label=told).exists():
        raise refuse("label", phrase("there is already a knife '{name}'", name=AsTyped(told)), value=told)
    own = {name: value for name, value in _blade(spec or {}).items() if part_type.spec.get(name) != value}
    knife = Knife.objects.create(type=part_type, label=told, spec=own)
    ask.note(knife, after={"type": part_type.name, **own})
    return knife


@operation
def change_part(
    *, actor: Person, part: Part, label: str, spec: Mapping[str, Any] | None = None, key: Key = None
) -> Part:
    """Put the label of a reel or knife right, or the entries in which it differs from its type (all of them).

    Raises
    ------
    Refusal
        When an entry is wrong, or the label taken.
    """
    own = None if spec is None else dict(spec)
    ask = asking("change_part", actor, key, label, of=_word(part), part=part, label=label, spec=own)
    if (done := ask.answered(type(part))) is not None:
        return done
    told = checked_value("label", _NAME, label).strip()
    if type(part)._default_manager.filter(label=told).exclude(pk=part.pk).exists():
        raise refuse(
            "label", phrase("there is already a {word} '{name}'", word=_word(part), name=AsTyped(told)), value=told
        )
    whole: Table = {**part.type.spec, **(spec or {})}
    whole = checked_table("reel", whole) if isinstance(part, Reel) else _blade(whole)
    before = {"label": part.label, **part.spec}
    part.label, part.spec = told, {name: v for name, v in whole.items() if part.type.spec.get(name) != v}
    part.save()
    ask.note(part, before=before, after={"label": told, **part.spec})
    return part


@operation
def fit_reel(
    *,
    actor: Person,
    unit: Unit,
    reel: Reel,
    on: datetime.date | None = None,
    hours: str | float | None = None,
    key: Key = None,
) -> Fitting:
    """Fit a reel into a unit, on a day (else today) and at the unit's hours.

    Raises
    ------
    Refusal
        When the unit holds another reel, or the reel is in another unit.
    """
    return _fit("fit_reel", actor, unit, {"reel": reel}, on, hours, key)


@operation
def fit_knife(
    *,
    actor: Person,
    unit: Unit,
    knife: Knife,
    on: datetime.date | None = None,
    hours: str | float | None = None,
    key: Key = None,
) -> Fitting:
    """Fit a knife into a unit, as `fit_reel`.

    Raises
    ------
    Refusal
        When the unit holds another knife, or the knife is in another unit.
    """
    return _fit("fit_knife", actor, unit, {"knife": knife}, on, hours, key)


@operation
def remove_reel(
    *, actor: Person, unit: Unit, on: datetime.date | None = None, hours: str | float | None = None, key: Key = None
) -> Fitting:
    """Take the reel out of a unit, on a day (else today) and at the unit's hours.

    Raises
    ------
    Refusal
        When the unit holds none.
    """
    return _remove("remove_reel", actor, unit, "reel", on, hours, key)


@operation
def remove_knife(
    *, actor: Person, unit: Unit, on: datetime.date | None = None, hours: str | float | None = None, key: Key = None
) -> Fitting:
    """Take the knife out of a unit, as `remove_reel`.

    Raises
    ------
    Refusal
        When the unit holds none.
    """
    return _remove("remove_knife", actor, unit, "knife", on, hours, key)


def _fit(
    action: str, actor: Person, unit: Unit, part: dict[str, Any], on: datetime.date | None, hours: Any, key: Key
) -> Fitting:
    (name, fitted), day = next(iter(part.items())), today() if on is None else happened("on", on)
    ask = asking(
        action,
        actor,
        key,
        f"{fitted} into {unit}",
        unit=unit,
        part=fitted,
        on=on,
        hours=hours,
    )
    if (done := ask.answered(Fitting)) is not None:
        return done
    clock = None if hours is None else checked_value("hours", _HOURS, hours).typed
    held = Fitting.objects.filter(unit=unit, until=None, **{f"{name}__isnull": False}).first()
    if held is not None:
        raise refuse(
            name,
            phrase("{unit} holds the {name} {part}", unit=unit, name=name, part=held.part),
            value=str(fitted),
            suggestion=phrase("Take that out first, with its date and hours."),
        )
    elsewhere = Fitting.objects.filter(until=None, **part).select_related("unit").first()
    if elsewhere is not None:
        raise refuse(
            name,
            phrase("the {name} {part} is in {unit}", name=name, part=fitted, unit=elsewhere.unit),
            suggestion=phrase("Take it out there first."),
        )
    fitting = Fitting.objects.create(unit=unit, since=day, since_hours=clock, **part)
    ask.note(fitting, after={"unit": str(unit), name: str(fitted), "on": day, "hours": clock})
    return fitting


def _remove(
    action: str, actor: Person, unit: Unit, name: str, on: datetime.date | None, hours: Any, key: Key
) -> Fitting:
    ask = asking(action, actor, key, f"{name} out of {unit}", unit=unit, on=on, hours=hours)
    if (done := ask.answered(Fitting)) is not None:
        return done
    fitting = Fitting.objects.filter(unit=unit, until=None, **{f"{name}__isnull": False}).first()
    if fitting is None:
        raise refuse(name, phrase("{unit} holds no {name}", unit=unit, name=name))
    day = today() if on is None else happened("on", on)
    if day < fitting.since:
        raise refuse(
            "on",
            phrase("{day} lies before the day it was fitted", day=day),
            value=str(day),
            allowed=phrase("from {day}", day=fitting.since),
        )
    fitting.until = day
    fitting.until_hours = None if hours is None else checked_value("hours", _HOURS, hours).typed
    fitting.save()
    ask.note(fitting, after={"unit": str(unit), name: str(fitting.part), "on": day, "hours": fitting.until_hours})
    return fitting
