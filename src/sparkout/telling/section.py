"""What a told answer is made of: sections of lines and tables, with the cautions that stand beside them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, phrase
from sparkout.translation import translated

if TYPE_CHECKING:
    from sparkout.reckoning.answer import Found
    from sparkout.showing import Showing


@dataclass(frozen=True, slots=True)
class Table:
    """A heading row and rows of text."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the answer, in the order of the work; `step` names whose cautions belong beside it."""

    key: str
    title: str
    lines: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    cautions: tuple[str, ...] = ()

    def said(self, showing: Showing) -> Section:
        """Return the section in the reader's words and units."""
        say = showing.say
        tables = tuple(
            Table(
                tuple(map(say, table.head)),
                tuple(tuple(map(say, row)) for row in table.rows),
                say(table.title),
            )
            for table in self.tables
        )
        return Section(self.key, say(self.title), tuple(map(say, self.lines)), tables, tuple(map(say, self.cautions)))


def keeping(answer: Found, showing: Showing) -> Showing:
    """Return the showing that leaves the user's own names of gauges and origins of limits as they were typed."""
    own = [f"({gauge.id})" for gauge in answer.visit.gauges]
    own += [
        translated(phrase("gauge {gauge}:", gauge=AsTyped(gauge.id)), showing.language) for gauge in answer.visit.gauges
    ]
    own += [f"({limit.origin})" for limit in answer.visit.limits if limit.origin]
    return replace(showing, kept=tuple(dict.fromkeys(text for text in own if showing.say(text) != text)))
