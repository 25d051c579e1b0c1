"""The answer to a visit for whatever page asks: worked out once for what is on file, however many ask."""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from sparkout.core.errors import Refusal
from sparkout.reckoning.reckon import found, whole
from sparkout.records.queries import tables_of
from sparkout.records.tables import whole_visit
from sparkout.visit.checking import checked
from sparkout.visit.questions import questions

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable, Hashable

    from sparkout.reckoning.answer import Answer, Found
    from sparkout.records.models import Visit
    from sparkout.records.tables import Taken
    from sparkout.visit.schema import Visit as VisitFile

T = TypeVar("T")
_KEPT = 24
_reckoned: OrderedDict[tuple[str, datetime.date], Reckoned] = OrderedDict()
_lock = threading.Lock()


@dataclass(frozen=True)
class Reckoned:
    """The answer to a visit, each part worked out when it is first asked for; text is what stands against one."""

    file: VisitFile
    today: datetime.date
    _made: dict[Hashable, Any] = field(default_factory=dict, repr=False)
    _making: threading.Lock = field(default_factory=threading.Lock, repr=False)

    @cached_property
    def found(self) -> Found | str:
        """The first part of the answer: what the readings say."""
        try:
            return found(self.file, questions(self.file, self.today))
        except Refusal as refusal:
            return refusal.words

    @cached_property
    def answer(self) -> Answer | str:
        """The whole answer."""
        try:
            return self.found if isinstance(self.found, str) else whole(self.found)
        except Refusal as refusal:
            return refusal.words

    def once(self, name: Hashable, make: Callable[[], T]) -> T:
        """Return what was made of this answer under a name, made when first asked for; whoever asks meanwhile waits."""
        with self._making:
            if name not in self._made:
                self._made[name] = make()
            made: T = self._made[name]
            return made


def reckoned(visit: Visit, today: datetime.date, read: Taken | None = None) -> Reckoned:
    """Return the answer to a visit on file, to be worked out as far as it is asked for; the last few are kept.

    Parameters
    ----------
    visit : looked up whole, when `read`, which is what was read and counts, comes with it

    Raises
    ------
    VisitProblems
        When the records contradict each other, as after a reel with fewer blades was entered.
    """
    held = visit if read is not None or visit.as_signed is not None else whole_visit(visit.pk)
    tables = tables_of(held, read=read)
    asked = (json.dumps(tables, default=str), today)
    with _lock:
        made = _reckoned.get(asked)
    if made is None:
        made = Reckoned(checked(tables, lambda _: None), today)
    with _lock:
        made = _reckoned.setdefault(asked, made)
        _reckoned.move_to_end(asked)
        while len(_reckoned) > _KEPT:
            _reckoned.popitem(last=False)
    return made
