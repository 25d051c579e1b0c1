"""What operations share: one transaction, one writer at a time, one history line, done once however often sent."""

from __future__ import annotations

import functools
import hashlib
import json
import threading
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.models import Model
from django.utils import timezone

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import HistoryLine
from sparkout.records.worded import Worded
from sparkout.visit.words import Day

if TYPE_CHECKING:
    from datetime import date, datetime

    from sparkout.records.models import Person, Token, Visit

P = ParamSpec("P")
T = TypeVar("T")
M = TypeVar("M", bound=Model)
Key = uuid.UUID | str | None
_DAY = Day("a day", "2026-11-25")

_writer = threading.RLock()
"""SQLite lets one writer in at a time; waiting here is fair and quick, its own waiting is neither."""
_moment: ContextVar[datetime | None] = ContextVar("moment", default=None)
_through: ContextVar[Token | None] = ContextVar("through", default=None)
_gathered: ContextVar[list[HistoryLine] | None] = ContextVar("gathered", default=None)


class Conflict(Refusal):
    """Somebody else changed the same thing meanwhile: what stands now, and what was asked; a person decides."""

    def __init__(self, what: str, theirs: str, mine: str, current: Any = None) -> None:
        self.what = what
        self.theirs = theirs
        self.mine = mine
        self.current = current
        """The entry that stands now."""
        super().__init__(
            phrase(
                "{what} was changed meanwhile: it now reads '{theirs}', you enter '{mine}'. Which holds?",
                what=what,
                theirs=AsTyped(theirs),
                mine=AsTyped(mine),
            )
        )


class KeyUsed(Refusal):
    """The same key was sent before with something else in it."""

    def __init__(self, first: str, now_sent: str) -> None:
        self.first = first
        self.now_sent = now_sent
        super().__init__(
            phrase(
                "this was sent before as '{first}' and now comes as '{now_sent}'; the first is kept",
                first=first,
                now_sent=now_sent,
            )
        )


class NotKept(Refusal):
    """Nothing was written, for a reason outside the records."""


def now() -> datetime:
    """Return the moment at which things are recorded."""
    return _moment.get() or timezone.now()


def today() -> date:
    """Return the day at which things are recorded."""
    return timezone.localtime(now()).date()


def happened(field: str, on: date | str) -> date:
    """Return the day of something that has happened.

    Up to a year ahead is taken, because the clock of a machine in a workshop may be wrong; further is a slip of the
    pen, and a part fitted in 2062 would stay fitted for as long.

    Raises
    ------
    VisitProblems
        When it is no day, or more than a year ahead.
    """
    day: date = checked_value(field, _DAY, on)
    most = today() + timedelta(days=366)
    if day > most:
        told = phrase("{day} is more than a year ahead", day=str(day))
        raise refuse(field, told, value=str(day), allowed=phrase("up to {day}", day=str(most)))
    return day


@contextmanager
def at_moment(moment: datetime) -> Iterator[None]:
    """Record as of another moment: for history brought in from elsewhere, and the demonstration's."""
    token = _moment.set(moment)
    try:
        yield
    finally:
        _moment.reset(token)


@contextmanager
def acting_through(token: Token) -> Iterator[None]:
    """Let every history line say that a program did it, by its token."""
    before = _through.set(token)
    try:
        yield
    finally:
        _through.reset(before)


@contextmanager
def history_gathered() -> Iterator[list[HistoryLine]]:
    """Gather history lines instead of writing them: a table brought in writes one line, and where each row went."""
    lines: list[HistoryLine] = []
    token = _gathered.set(lines)
    try:
        yield lines
    finally:
        _gathered.reset(token)


@contextmanager
def one_transaction() -> Iterator[None]:
    """Write all or nothing, one writer at a time.

    Raises
    ------
    NotKept
        When the database could not write: nothing of it was kept.
    """
    with _writer if connection.vendor == "sqlite" else nullcontext():
        try:
            with transaction.atomic():
                yield
        except OperationalError as error:
            raise NotKept(_why_not(str(error))) from error


@contextmanager
def as_if() -> Iterator[None]:
    """Do what is done inside, let it be looked at there, and then take all of it back: nothing of it is kept.

    Raises
    ------
    NotKept
        As `one_transaction`.
    """
    with one_transaction():
        yield
        transaction.set_rollback(True)


def _why_not(told: str) -> str:
    if "full" in told or "No space" in told:
        return phrase("nothing was kept: the disk is full. Make room, then enter it again")
    if "locked" in told:
        return phrase("nothing was kept: another program is writing to the records. Enter it again in a moment")
    return phrase("nothing was kept: the records cannot be written ({reason})", reason=" ".join(told.split())[:200])


def operation(function: Callable[P, T]) -> Callable[P, T]:
    """Make a function an operation: all of it is kept, or none of it.

    Two requests with one key at the same moment may both find nothing done yet; the database lets one in, and the
    other is asked again and then finds it done.
    """

    @functools.wraps(function)
    def whole(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            with one_transaction():
                return function(*args, **kwargs)
        except IntegrityError:
            return again(*args, **kwargs)

    def again(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            with one_transaction():
                return function(*args, **kwargs)
        except IntegrityError as error:
            raise NotKept(phrase("nothing was kept: it contradicts what is on file ({error})", error=error)) from error

    return whole


_RECEIPT = Worded(HistoryLine, HistoryLine.objects.filter, "key")


@dataclass(frozen=True, slots=True)
class Asking:
    """One thing asked of the records: by whom, under which key, and a digest of what."""

    action: str
    actor: Person
    key: uuid.UUID | None
    digest: str
    words: str

    def answered(self, kind: type[M]) -> M | None:
        """Return what came of it when the same was asked before under the same key.

        Raises
        ------
        KeyUsed
            When the key came before with something else.
        """
        line = self._line()
        return None if line is None else kind._base_manager.get(pk=line.subject_id)

    def was_done(self) -> bool:
        """Return whether the same was asked before under the same key.

        Raises
        ------
        KeyUsed
            As `answered`.
        """
        return self._line() is not None

    def _line(self) -> HistoryLine | None:
        line = None if self.key is None else _RECEIPT.first(key=self.key)
        if line is not None and (line.action, line.asked) != (self.action, self.digest):
            raise KeyUsed(f"{line.action.replace('_', ' ')}: {line.label}", self.words)
        return line

    def change(self, subject: Model, entries: Mapping[str, Any]) -> None:
        """Set entries of something on file, and leave what was and what became in its history."""
        before = {name: getattr(subject, name) for name in entries}
        for name, value in entries.items():
            setattr(subject, name, value)
        subject.save()
        self.note(subject, before=before, after=entries)

    def note(
        self, subject: Model, visit: Visit | None = None, before: object = None, after: object = None
    ) -> HistoryLine:
        """Write the history line; while history is gathered, hand it to who gathers instead."""
        line = HistoryLine(
            at=now(),
            who=self.actor,
            through=_through.get(),
            action=self.action,
            subject=subject._meta.model_name or "",
            subject_id=subject.pk,
            label=str(subject)[:300],
            visit=visit,
            before=_plain(before),
            after=_plain(after),
            key=self.key,
            asked=self.digest if self.key else "",
        )
        gathered = _gathered.get()
        if gathered is None:
            line.save(force_insert=True)
        else:
            gathered.append(line)
        return line


def asking(action: str, actor: Person, key: Key, words: str = "", **content: object) -> Asking:
    """Return what is asked; `words` tell it in short, `content` is all that makes it the same or another."""
    text = json.dumps(_plain(content), sort_keys=True, ensure_ascii=False)
    told = words or action.replace("_", " ")
    return Asking(action, actor, as_key(key), hashlib.sha256(text.encode()).hexdigest(), told)


def as_key(key: Key) -> uuid.UUID | None:
    """Return the key as a UUID.

    Raises
    ------
    VisitProblems
        When it is none.
    """
    if key is None or isinstance(key, uuid.UUID):
        return key
    try:
        return uuid.UUID(key)
    except (ValueError, AttributeError, TypeError):
        raise refuse("key", phrase("the key is no UUID"), value=str(key)[:60]) from None


def _plain(content: Any) -> Any:
    """Return content fit for JSON: records by number, days and times as text."""
    match content:
        case None | bool() | int() | float() | str():
            return content
        case Mapping():
            return {str(key): _plain(value) for key, value in content.items()}
        case list() | tuple():
            return [_plain(value) for value in content]
        case Model():
            return content.pk
        case _:
            return str(content)
