"""Search over everything on file: what holds all the words, in one query for each kind of thing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Q

from sparkout.records.models import (
    Attachment,
    Event,
    Gauge,
    Grinder,
    HistoryLine,
    Knife,
    KnifeType,
    Limit,
    Machine,
    Person,
    Place,
    Reading,
    Reel,
    ReelType,
    Unit,
    Visit,
    WorkDone,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from django.db.models import Model, QuerySet

MOST_FOUND = 20
_MOST_WORDS = 8


@dataclass(frozen=True, slots=True)
class Found:
    """One thing found: its kind and number, what it is called, and what else tells it."""

    kind: str
    pk: int
    label: str
    detail: str
    leads_to: tuple[str, int]
    """The kind and number of what to open: of a note its visit."""


@dataclass(frozen=True, slots=True)
class Sought:
    """One kind of thing that is searched: where, in which columns, and how what is found is told."""

    kind: str
    query: Callable[[], QuerySet[Any]]
    columns: tuple[str, ...]
    detail: Callable[[Any], str] = lambda _: ""
    leads_to: Callable[[Any], tuple[str, int]] | None = None
    label: Callable[[Any], str] = str

    def found(self, thing: Any) -> Found:
        """Return one thing as found."""
        leads = (self.kind, thing.pk) if self.leads_to is None else self.leads_to(thing)
        return Found(self.kind, thing.pk, self.label(thing), self.detail(thing), leads)


def _place_of(unit: Unit) -> str:
    position = unit.position
    return "" if position is None or position.machine.place is None else position.machine.place.name


def _of_part(label: str) -> Callable[[Any], str]:
    return lambda thing: str(getattr(thing, label) or "")


def _of_event(event: Event) -> tuple[str, int]:
    return "event", event.pk


def _where(event: Event) -> str:
    return ", ".join(str(part) for part in (event.place, event.machine, event.unit, event.note) if part)


def _of_visit(entry: Any) -> tuple[str, int]:
    return "visit", entry.visit_id


def _subject(line: HistoryLine) -> tuple[str, int]:
    return ("visit", line.visit_id) if line.visit_id is not None else (line.subject, line.subject_id)


_WHERE = ("position__name", "position__machine__name", "position__machine__place__name")
SOUGHT: tuple[Sought, ...] = (
    Sought("unit", lambda: Unit.objects.select_related("position__machine__place"), ("name", *_WHERE), _place_of),
    Sought(
        "visit",
        lambda: Visit.objects.select_related("unit").defer("as_signed", "own").order_by("-date", "-pk"),
        ("unit__name", "complaint", "notes", "technician", "statement"),
        lambda visit: visit.complaint or visit.notes or "",
    ),
    Sought("machine", lambda: Machine.objects.select_related("place"), ("name", "place__name"), _of_part("place")),
    Sought("place", lambda: Place.objects.all(), ("name",)),  # noqa: PLW0108
    Sought("reel", lambda: Reel.objects.select_related("type"), ("label", "type__name"), _of_part("type")),
    Sought("knife", lambda: Knife.objects.select_related("type"), ("label", "type__name"), _of_part("type")),
    Sought("reeltype", lambda: ReelType.objects.all(), ("name",)),  # noqa: PLW0108
    Sought("knifetype", lambda: KnifeType.objects.all(), ("name",)),  # noqa: PLW0108
    Sought("gauge", lambda: Gauge.objects.all(), ("name", "kind"), _of_part("kind")),  # noqa: PLW0108
    Sought("grinder", lambda: Grinder.objects.all(), ("name",)),  # noqa: PLW0108
    Sought("person", lambda: Person.objects.all(), ("name",)),  # noqa: PLW0108
    Sought("limit", lambda: Limit.objects.filter(ended_at=None), ("quantity", "origin"), _of_part("origin")),
    Sought(
        "event",
        lambda: Event.objects.select_related("place", "machine", "unit__position__machine").order_by("-on", "-pk"),
        ("kind", "note", "place__name", "machine__name", "unit__name"),
        _where,
        _of_event,
        lambda event: f"{event.get_kind_display()}, {event.on}",
    ),
    Sought(
        "note",
        lambda: (
            Reading.objects.filter(replaced_by=None, withdrawn_at=None, note__isnull=False)
            .select_related("visit__unit")
            .order_by("-pk")
        ),
        ("note",),
        lambda reading: f"{reading.visit}: {reading}",
        _of_visit,
        lambda reading: reading.note,
    ),
    Sought(
        "work",
        lambda: (
            WorkDone.objects.filter(replaced_by=None, withdrawn_at=None).select_related("visit__unit").order_by("-pk")
        ),
        ("entry",),
        lambda work: str(work.visit),
        _of_visit,
    ),
    Sought(
        "attachment",
        lambda: Attachment.objects.filter(removed_at=None).select_related("unit__position__machine").order_by("-pk"),
        ("name", "note"),
        lambda attached: f"{attached.unit}",
        None,
        lambda attached: attached.note or attached.name,
    ),
    Sought(
        "history",
        lambda: HistoryLine.objects.select_related("who").order_by("-pk"),
        ("label", "who__name"),
        lambda line: f"{line.action.replace('_', ' ')}, {line.who.name}, {line.at:%Y-%m-%d}",
        _subject,
        lambda line: line.label,
    ),
)
KINDS = tuple(sought.kind for sought in SOUGHT)


def search(text: str, most: int = MOST_FOUND, kinds: Iterable[str] = KINDS) -> list[Found]:
    """Return what holds all the words, best known kinds first; at most so many of each kind.

    One query for each kind of thing.
    """
    words = text.split()[:_MOST_WORDS]
    wanted = set(kinds)
    if not words:
        return []
    return [
        sought.found(thing)
        for sought in SOUGHT
        if sought.kind in wanted
        for thing in sought.query().filter(_holding(words, sought.columns))[:most]
    ]


def _holding(words: Iterable[str], columns: Iterable[str]) -> Q:
    """Return the condition that every word stands in one of the columns."""
    every = Q()
    for word in words:
        either = Q()
        for column in columns:
            for spelling in _spellings(word):
                either |= Q(**{f"{column}__icontains": spelling})
        every &= either
    return every


_GERMAN = (("ae", "ä"), ("oe", "ö"), ("ue", "ü"), ("ss", "ß"))


def _spellings(word: str) -> set[str]:
    """Return how a word may stand on file.

    As small and capital letters where a database knows only ASCII ones to be the same, and with ä for ae or ss for ß:
    not every keyboard has them.
    """
    small = word.lower()
    there, back = small, small
    for two, one in _GERMAN:
        there, back = there.replace(two, one), back.replace(one, two)
    told = {word, there, back}
    return {form for one in told for form in ({one} if one.isascii() else {one, one.upper(), one.capitalize()})}


_NAMED: tuple[tuple[type[Model] | Any, str], ...] = (
    (Unit, "name"),
    (Machine, "name"),
    (Place, "name"),
    (Reel, "label"),
    (Knife, "label"),
    (ReelType, "name"),
    (KnifeType, "name"),
    (Gauge, "name"),
    (Grinder, "name"),
    (Person, "name"),
)


def perhaps_meant(text: str) -> str:
    """Return the text with slips of a letter or two mended to words that names on file hold; '' when none fits.

    For a search that found nothing; one query for each kind of thing that has a name.
    """
    words = [word.casefold() for word in text.split()[:_MOST_WORDS]]
    known = _known_words() if words else set()
    mended = [_nearest(word, known) for word in words]
    found = " ".join(word for word in mended if word)
    return found if all(mended) and mended != words else ""


def _known_words() -> set[str]:
    names = set()
    for model, column in _NAMED:
        names |= set(model._default_manager.values_list(column, flat=True).distinct())
    return {word for name in names for word in re.findall(r"[^\W\d_]{3,}", name.casefold())}


def _nearest(word: str, known: set[str]) -> str:
    """Return the word itself when it stands in a known one or holds a digit, else the nearest known one, or nothing."""
    if any(character.isdigit() for character in word) or any(word in other for other in known):
        return word
    allowed = 1 if len(word) < 6 else 2
    near = [other for other in known if abs(len(other) - len(word)) <= allowed]
    told = min(((slips(word, other), other) for other in near), default=(allowed + 1, ""))
    return told[1] if told[0] <= allowed else ""


def slips(one: str, other: str) -> int:
    """Return how many letters are left out, put in, wrong or swapped with their neighbour, from one word to another.

    Examples
    --------
    >>> slips("geen", "green"), slips("bwoling", "bowling"), slips("fairway", "fairway")
    (1, 1, 0)

    References
    ----------
    Optimal string alignment: Damerau, Comm. ACM 7(3), 1964, with each letter touched once.
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        earlier, before, row = before, row, [i, *[0] * len(other)]
        for j, against in enumerate(other, 1):
            row[j] = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                row[j] = min(row[j], earlier[j - 2] + 1)
    return row[-1]
