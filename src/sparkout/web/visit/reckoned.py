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
from sparkout.records.held import held
from sparkout.visit.checking import checked
from sparkout.visit.questions import questions

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable, Hashable

    from sparkout.reckoning.answer import Answer, Found
    from sparkout.records.held import Held
    from sparkout.records.models import Visit
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


def reckoned(visit: Visit, today: datetime.date) -> Reckoned:
    """Return the answer to a visit as it is on file now.

    Raises
    ------
    VisitProblems
        As `reckoned_of`.
    """
    return reckoned_of(held(visit.pk), today)


def reckoned_of(visit: Held, today: datetime.date) -> Reckoned:
    """Return the answer to a visit, to be worked out as far as it is asked for; the last few are kept.

    Raises
    ------
    VisitProblems
        When the records contradict each other, as after a reel with fewer blades was entered.
    """
    tables = visit.tables
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
