"""Short ways to write down an address: an operation to open, a list to page through, a record to look at."""

from __future__ import annotations

import base64
import binascii
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.visit.problems import printable
from sparkout.visit.words import Whole
from sparkout.web.api.body import Body, Field, read, record
from sparkout.web.api.route import Ask, Named, Route

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from django.db.models import Model, QuerySet
    from ninja import Schema

_A_PAGE, _MOST = 100, 500
_FARTHEST = 2**62


def doing(
    method: str,
    path: str,
    operation: Callable[..., Any],
    tag: str,
    tells: type[Schema] | None,
    *,
    about: Named | None = None,
    takes: Body | tuple[Field, ...] = (),
    name: str = "",
    status: int = 200,
    changes: bool = False,
    many: bool = False,
    looked_at_anew: bool = False,
) -> Route:
    """Return the address that opens an operation: what it names and what is sent are the operation's arguments.

    With `looked_at_anew` the record named is told as it is afterwards, in place of what the operation returns.
    """

    def does(ask: Ask) -> Any:
        named = {} if about is None else {about.argument: ask.record}
        outcome = operation(actor=ask.actor, key=ask.key, **named, **ask.entries)
        if looked_at_anew and about is not None and ask.number is not None:
            return about.found(ask.number)
        return {"items": outcome, "next": None} if many else outcome

    return Route(
        method=method,
        path=path,
        name=name or operation.__name__,
        tag=tag,
        does=does,
        tells=tells,
        about=about,
        takes=takes if isinstance(takes, Body) else Body(takes),
        writes=True,
        changes=changes,
        many=many,
        status=status,
        operation=operation,
    )


def one(path: str, name: str, tag: str, about: Named, tells: type[Schema], words: str) -> Route:
    """Return the address at which one record is looked at."""
    return Route("GET", path, name, tag, lambda ask: ask.record, tells, about, words=words)


def listed(
    path: str,
    name: str,
    tag: str,
    tells: type[Schema],
    records: Callable[[], QuerySet[Any]],
    words: str,
    *,
    filters: tuple[Field, ...] = (),
    lookups: Mapping[str, str] | None = None,
    about: Named | None = None,
    within: str = "",
    newest_first: bool = False,
) -> Route:
    """Return the address of a list, a page at a time; `within` is the column that holds the record named."""
    columns = dict(lookups or {})

    def does(ask: Ask) -> Any:
        found = records()
        if within:
            found = found.filter(**{within: ask.record})
        for field in filters:
            if ask.query.get(field.name) is not None:
                found = found.filter(**{columns.get(field.name, field.name): ask.query[field.name]})
        return page_of(found, ask.query, newest_first=newest_first)

    return Route(
        "GET", path, name, tag, does, tells, about, asks=Body((*filters, *PAGING)), many=True, words=words
    )  # fmt: skip


def _cursor(path: str, given: Any) -> int:
    try:
        found = int(base64.urlsafe_b64decode(str(given).encode("ascii")).decode("ascii"))
        if not 0 <= found < _FARTHEST:
            raise ValueError
        return found
    except (ValueError, binascii.Error, UnicodeError):
        told = phrase("'{given}' is no place in this list", given=AsTyped(printable(str(given), 40)))
        raise refuse(path, told, allowed=phrase("what 'next' told")) from None


AFTER = Field(
    "after", "where the page before ended: what its `next` told", {"type": "string"}, example=None, read=_cursor
)
LIMIT = read("limit", Whole(f"how many on a page; {_A_PAGE} when not said", None, 1, _MOST))
PAGING = (AFTER, LIMIT)


def page_of(found: QuerySet[Any], query: Mapping[str, Any], *, newest_first: bool = False) -> dict[str, Any]:
    """Return a page of records, and where the next one begins: nothing entered meanwhile is missed or told twice."""
    most = query.get("limit") or _A_PAGE
    after = query.get("after")
    if after is not None:
        found = found.filter(**{"pk__lt" if newest_first else "pk__gt": after})
    items = list(found.order_by("-pk" if newest_first else "pk")[: most + 1])
    more = len(items) > most
    last = str(items[most - 1].pk) if more else ""
    return {"items": items[:most], "next": base64.urlsafe_b64encode(last.encode()).decode() if more else None}


def by_number(name: str, meaning: str) -> Field:
    """Return what a list can be asked by: the number of a record."""
    return read(name, Whole(f"only those of this {meaning}, by its id", 1, 1, _FARTHEST))


def by_record(name: str, model: type[Model], meaning: str) -> Field:
    """Return what is named behind the question mark: a record."""
    found = record(name, model, meaning)
    whole = Whole(meaning, 1, 1, _FARTHEST)
    return Field(
        name, meaning, {"type": "integer"}, example=1,
        read=lambda path, given: found.read(path, checked_value(path, whole, given)),
    )  # fmt: skip


def by_truth(name: str, meaning: str) -> Field:
    """Return what a list can be asked by: true or false."""
    return Field(name, meaning, {"type": "boolean"}, example=True, read=_truth)


def by_presence(name: str, meaning: str) -> Field:
    """Return what a list can be asked by: whether a column holds something; its lookup ends in isnull."""
    return Field(name, meaning, {"type": "boolean"}, example=True, read=lambda path, given: not _truth(path, given))


def _truth(path: str, given: Any) -> bool:
    words = {"true": True, "false": False}
    if given not in words:
        told = phrase("'{given}' is neither true nor false", given=AsTyped(printable(str(given), 40)))
        raise refuse(path, told, allowed="true, false")
    return words[given]
