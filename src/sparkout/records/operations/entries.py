"""What entries of a visit share: one is corrected by a new one that replaces it, or withdrawn; never overwritten."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any, TypeVar

from django.db.models import Q

from sparkout.records.models import Entry
from sparkout.records.operations.doing import Asking, Conflict, now

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.records.models import Person, Visit

E = TypeVar("E", bound=Entry)


def made_entry(kind: type[E], ask: Asking, content: dict[str, Any], replaces: E | None = None) -> E:
    """Enter something new, or in place of something."""
    made: E = kind.objects.create(
        **content,
        key=ask.key or uuid.uuid4(),
        version=1 if replaces is None else replaces.version + 1,
        replaces=replaces,
        first_id=None if replaces is None else replaces.first_id or replaces.pk,
        entered_by=ask.actor,
        entered_at=now(),
    )
    return made


def bulk_entries(kind: type[E], actor: Person, contents: Iterable[dict[str, Any]]) -> None:
    """Enter many new things at once, each under a key of its own."""
    moment = now()
    kind.objects.bulk_create(
        kind(**content, key=uuid.uuid4(), entered_by=actor, entered_at=moment) for content in contents
    )


def current(kind: type[E], entry: E) -> E:
    """Return what stands now where this entry stands or stood."""
    first = entry.first_id or entry.pk
    found: E = kind.objects.select_for_update().filter(Q(pk=first) | Q(first=first)).order_by("-version")[0]
    return found


def expected_current(kind: type[E], entry: E, expected_version: int, mine: str) -> E:
    """Return what stands now, when it is what the page showed.

    Raises
    ------
    Conflict
        With both values, when it was corrected or withdrawn meanwhile.
    """
    return as_expected(current(kind, entry), expected_version, mine)


def as_expected(found: E, expected_version: int, mine: str) -> E:
    """Return what stands, when it is what the page showed.

    Raises
    ------
    Conflict
        As `expected_current`.
    """
    if found.is_withdrawn:
        raise Conflict(str(found), "withdrawn", mine, found)
    if found.version != expected_version:
        raise Conflict(str(found), _shown(found), mine, found)
    return found


def _shown(entry: Entry) -> str:
    return str(getattr(entry, "shown", None) or getattr(entry, "value", None) or entry)


def withdrawn(entry: E, actor: Person) -> E:
    """Let an entry count no longer; it stays on file."""
    entry.withdrawn_by, entry.withdrawn_at = actor, now()
    entry.save()
    return entry


def of_visit(content: dict[str, Any], visit: Visit) -> dict[str, Any]:
    """Return the columns of an entry that is one table of the visit file."""
    return {"visit": visit, "entry": content}
