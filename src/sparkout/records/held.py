"""One visit as the records hold it at one moment; what one entry leaves as it was is not asked for again after it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from functools import cached_property
from typing import TYPE_CHECKING, Any

from sparkout.records.stamp import stamp
from sparkout.records.tables import besides, signed_tables, taken, whole_visit, with_read

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.records.models import Cell, Reading, Visit
    from sparkout.records.tables import Taken

_KEPT = 12
_held: OrderedDict[tuple[int, str], Held] = OrderedDict()
_lock = threading.Lock()


class Held:
    """A visit looked up whole, what was read during it, and the tables of all besides, each asked for once."""

    name = ""
    """What the records were called when it was looked up; empty when nobody knows."""

    def __init__(self, visit: Visit, read: Callable[[], Taken] | None = None) -> None:
        self.visit = visit
        self._read = read or (lambda: taken(visit))

    @cached_property
    def read(self) -> Taken:
        """What was read and counts."""
        return self._read()

    @cached_property
    def besides(self) -> dict[str, Any]:
        """The tables of all that was not read."""
        return besides(self.visit)

    @property
    def tables(self) -> dict[str, Any]:
        """The tables of the visit file; a signed visit is the file that was signed."""
        return with_read(self.besides, self.read) if self.visit.as_signed is None else signed_tables(self.visit)

    def followed(self) -> Callable[[Reading | Cell | None], Held]:
        """Return what makes of it, as it is known now, the visit after one entry (None: one taken out), and no other.

        Ask for it before the entry is made.
        """
        visit, before, known = self.visit, self.read, self.__dict__.get("besides")

        def after(made: Reading | Cell | None) -> Held:
            found = Held(visit, None if made is None else lambda: before.after(made, visit))
            if known is not None:
                found.besides = known
            return found

        return after


def held(number: int) -> Held:
    """Return a visit by its number: the one kept while nothing was written to the records.

    Raises
    ------
    Visit.DoesNotExist
        When there is none of this number.
    """
    now = stamp()
    with _lock:
        found = _held.get((number, now))
    return found or keep(now, Held(whole_visit(number)))


def keep(name: str, visit: Held) -> Held:
    """Keep a visit under a name of the records, and return what is kept there: the first to come counts."""
    with _lock:
        found = _held.setdefault((visit.visit.pk, name), visit)
        found.name = name
        _held.move_to_end((visit.visit.pk, name))
        while len(_held) > _KEPT:
            _held.popitem(last=False)
    return found
