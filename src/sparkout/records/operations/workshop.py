"""The workshop itself and its people."""

from __future__ import annotations

from typing import Any, get_args

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_table, checked_value, refuse
from sparkout.records.models import Person, Workshop
from sparkout.records.operations.doing import Key, asking, operation
from sparkout.translation import LANGUAGES
from sparkout.visit.sections import PaperSize, Units, Vocabulary
from sparkout.visit.words import Switch, Text, Word

_WORKSHOP = {
    "name": Text(phrase("name of the workshop"), "", 100, 1),
    "units": Word("units", "", get_args(Units)),
    "vocabulary": Word("words", "", get_args(Vocabulary)),
    "decimal": Word("decimal mark", "", (".", ",")),
    "language": Word("language", "en", tuple(LANGUAGES)),
    "paper_size": Word("paper", "", get_args(PaperSize)),
    "demonstration": Switch(phrase("whether everything here is invented"), False),
}
_PREFERENCES = {
    **{key: _WORKSHOP[key] for key in ("units", "vocabulary", "decimal", "language")},
    "active": Switch(phrase("whether the person still works here"), True),
}
_PERSON_NAME = Text(phrase("name of the person"), "", 100, 1)


@operation
def set_up_workshop(
    *,
    name: str,
    first_person: str,
    units: str = "mm",
    vocabulary: str = "uk",
    decimal: str = ".",
    language: str = "en",
    paper_size: str = "A4",
    demonstration: bool = False,
) -> Workshop:
    """Set the workshop up, with the first person who works in it (`Person` of that name).

    Raises
    ------
    Refusal
        When there is a workshop already, or an entry is wrong.
    """
    if Workshop.objects.exists():
        raise refuse("name", phrase("the workshop is set up already"), value=name)
    manner = {"units": units, "vocabulary": vocabulary, "decimal": decimal, "language": language}
    entries = _checked(_WORKSHOP, {"name": name, **manner, "paper_size": paper_size, "demonstration": demonstration})
    actor = Person.objects.create(name=checked_value("first_person", _PERSON_NAME, first_person).strip())
    workshop = Workshop.objects.create(**entries)
    asking("set_up_workshop", actor, None).note(workshop, after={**entries, "first_person": actor.name})
    return workshop


@operation
def change_workshop(
    *, actor: Person, wanted: dict[str, Any] | None = None, key: Key = None, **changes: object
) -> Workshop:
    """Change name, units, vocabulary, decimal, language or paper_size; `wanted` is what plans are to reach ([wanted]).

    Raises
    ------
    Refusal
        When there is no workshop yet, or an entry is wrong.
    """
    ask = asking("change_workshop", actor, key, ", ".join(changes), wanted=wanted, **changes)
    if (done := ask.answered(Workshop)) is not None:
        return done
    workshop = Workshop.objects.select_for_update().first()
    if workshop is None:
        raise refuse("name", phrase("there is no workshop yet"), suggestion=phrase("Set it up first."))
    entries: dict[str, Any] = _checked(_WORKSHOP, changes)
    if wanted is not None:
        entries["wanted"] = checked_table("wanted", wanted)
    ask.change(workshop, entries)
    return workshop


@operation
def add_person(*, actor: Person, name: str, key: Key = None) -> Person:
    """Add somebody who works here.

    Raises
    ------
    Refusal
        When the name is empty, too long or taken.
    """
    ask = asking("add_person", actor, key, name, name=name)
    if (done := ask.answered(Person)) is not None:
        return done
    told = checked_value("name", _PERSON_NAME, name).strip()
    if Person.objects.filter(name=told).exists():
        raise refuse("name", phrase("there is already a person called '{name}'", name=AsTyped(told)), value=told)
    person = Person.objects.create(name=told)
    ask.note(person, after={"name": told})
    return person


@operation
def set_preferences(*, actor: Person, person: Person, key: Key = None, **preferences: object) -> Person:
    """Set units, vocabulary, decimal or language of a person (None: the workshop's), or whether they are active.

    Raises
    ------
    Refusal
        When an entry is wrong.
    """
    ask = asking("set_preferences", actor, key, str(person), person=person, **preferences)
    if (done := ask.answered(Person)) is not None:
        return done
    given = {name: value for name, value in preferences.items() if value is not None}
    entries: dict[str, Any] = {**dict.fromkeys(preferences), **_checked(_PREFERENCES, given)}
    ask.change(person, entries)
    return person


@operation
def change_person(*, actor: Person, person: Person, name: str, key: Key = None, **preferences: object) -> Person:
    """Put somebody's name right, and set their preferences as `set_preferences`; what they signed stays as signed.

    Raises
    ------
    Refusal
        When an entry is wrong, or the name taken.
    """
    ask = asking("change_person", actor, key, name, person=person, name=name, **preferences)
    if (done := ask.answered(Person)) is not None:
        return done
    told = checked_value("name", _PERSON_NAME, name).strip()
    if Person.objects.filter(name=told).exclude(pk=person.pk).exists():
        raise refuse("name", phrase("there is already a person called '{name}'", name=AsTyped(told)), value=told)
    given = {entry: value for entry, value in preferences.items() if value is not None}
    entries: dict[str, Any] = {"name": told, **dict.fromkeys(preferences), **_checked(_PREFERENCES, given)}
    ask.change(person, entries)
    return person


def _checked(declared: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    strange = [key for key in given if key not in declared]
    if strange:
        raise refuse(
            strange[0], phrase("there is no '{key}' here", key=AsTyped(strange[0])), allowed=", ".join(declared)
        )
    return {key: checked_value(key, declared[key], value) for key, value in given.items()}
