"""Places, machines and people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db.models import Count, Q

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import refuse
from sparkout.records.models import Machine, Person, Place, Unit
from sparkout.records.models.workshop import DECIMALS, UNITS, VOCABULARIES
from sparkout.records.operations.units import add_machine, add_place, change_machine, change_place
from sparkout.records.operations.workshop import add_person, change_person
from sparkout.translation import LANGUAGES
from sparkout.visit.words import Text
from sparkout.web.shell.form import Field, Group
from sparkout.web.workshop.kind import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.showing import Showing
    from sparkout.web.workshop.kind import Typed

NAME = Text("", "", 100, 1)


def name_field(meaning: str = "") -> Field:
    """Return the field of a name."""
    return Field("name", takes=NAME, needed=True, help=meaning)


def place_named(name: str | None) -> Place | None:
    """Return the place of this name.

    Raises
    ------
    VisitProblems
        When there is none.
    """
    if name is None:
        return None
    found = Place.objects.filter(name=name).first()
    if found is None:
        raise refuse(
            "place",
            phrase("there is no place called '{name}'", name=AsTyped(name or "")),
            suggestion=phrase("Add it first, or choose another."),
        )
    return found


def chosen_from(names: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return names on file as choices, the empty one first."""
    return (("", phrase("not said")), *((name, name) for name in names))


def place_names(now: str | None = None) -> list[str]:
    """Return the places in use, and the one that stands."""
    asked = Q(ended_on=None) | Q(name=now or "")
    return list(Place.objects.filter(asked).order_by("name").values_list("name", flat=True))


def _place_groups(_: Any) -> list[Group]:
    return [Group("", (name_field(phrase("a course, a green, a ground")),))]


def _on_place(place: Any, _: Showing) -> dict[str, Any]:
    return {"machines": place.machines.filter(ended_on=None).order_by("name"), "units": ()}


PLACES = Kind(
    slug="places",
    model=Place,
    many=phrase("Places"),
    one=phrase("Place"),
    new=phrase("Add a place"),
    groups=_place_groups,
    table=lambda place: {"name": place.name},
    add=lambda actor, typed, key: add_place(actor=actor, name=typed["name"] or "", key=key),
    change=lambda actor, place, typed, key: change_place(actor=actor, place=place, name=typed["name"] or "", key=key),
    listed=lambda: Place.objects.annotate(held=Count("machines", filter=Q(machines__ended_on=None))),
    name="name",
    in_use={"ended_on": None},
    columns=(Column(phrase("machines"), lambda place, _: str(place.held)),),
    extra="workshop/on_it.html",
    more=_on_place,
)


def _machine_groups(machine: Any) -> list[Group]:
    place = machine and machine.place and machine.place.name
    return [Group("", (name_field(), Field("place", choices=chosen_from(place_names(place)))))]


def _change_machine(actor: Person, machine: Any, typed: Typed, key: str) -> object:
    place = place_named(typed["place"])
    return change_machine(actor=actor, machine=machine, name=typed["name"] or "", place=place, key=key)


def _on_machine(machine: Any, _: Showing) -> dict[str, Any]:
    units = Unit.objects.filter(position__machine=machine, active=True).select_related("position__machine")
    return {"units": units.order_by("position__pk"), "machines": ()}


MACHINES = Kind(
    slug="machines",
    model=Machine,
    many=phrase("Machines"),
    one=phrase("Machine"),
    new=phrase("Add a machine"),
    groups=_machine_groups,
    table=lambda machine: {"name": machine.name, "place": machine.place and machine.place.name},
    add=lambda actor, typed, key: add_machine(
        actor=actor, name=typed["name"] or "", place=place_named(typed["place"]), key=key
    ),
    change=_change_machine,
    listed=lambda: Machine.objects.select_related("place").annotate(
        held=Count("positions__unit", filter=Q(positions__unit__active=True))
    ),
    name="name",
    in_use={"ended_on": None},
    columns=(
        Column(phrase("place"), lambda machine, _: machine.place.name if machine.place else ""),
        Column(phrase("cutting units"), lambda machine, _: str(machine.held)),
    ),
    extra="workshop/on_it.html",
    more=_on_machine,
)


VOCABULARY = tuple((value, AsTyped(words)) for value, words in VOCABULARIES)
"""The trade vocabularies, told as they stand: said in the words of one of them, both would read the same."""


def chosen(options: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return the options of a list with their words as they can be told."""
    return tuple((value, phrase(words)) for value, words in options)


def _manner(options: Sequence[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return (("", phrase("as the workshop")), *options)


def _person_groups(person: Any) -> list[Group]:
    manner = (
        Field("units", choices=_manner(chosen(UNITS))),
        Field("vocabulary", choices=_manner(VOCABULARY)),
        Field("decimal", choices=_manner(chosen(DECIMALS))),
        Field("language", choices=(("", phrase("as the workshop")), *LANGUAGES.items())),
    )
    return [Group("", (name_field(),))] + ([] if person is None else [Group(phrase("How to be told"), manner)])


def _change_person(actor: Person, person: Any, typed: Typed, key: str) -> object:
    manner = {name: typed[name] for name in ("units", "vocabulary", "decimal", "language")}
    return change_person(actor=actor, person=person, name=typed["name"] or "", key=key, **manner)


def _told(person: Any, showing: Showing) -> str:
    words = dict(VOCABULARY).get(person.vocabulary)
    found = [person.get_units_display(), words, person.get_decimal_display()]
    language = [LANGUAGES[person.language]] if person.language in LANGUAGES else []
    return ", ".join([showing.say(words) for words in found if words] + language)


PEOPLE = Kind(
    slug="people",
    model=Person,
    many=phrase("People"),
    one=phrase("Person"),
    new=phrase("Add somebody"),
    groups=_person_groups,
    table=lambda person: {
        name: getattr(person, name) for name in ("name", "units", "vocabulary", "decimal", "language")
    },
    add=lambda actor, typed, key: add_person(actor=actor, name=typed["name"] or "", key=key),
    change=_change_person,
    listed=Person.objects.all,
    name="name",
    in_use={"active": True},
    columns=(Column(phrase("told in"), _told),),
    end_words=phrase("Works here no longer"),
    about=phrase("What somebody signed or entered stays under their name."),
)
