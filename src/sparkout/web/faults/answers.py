"""The answers in a page's address: each finding with y, n or u, in the order they were given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from sparkout.core.faults.diagnosis import Answer

if TYPE_CHECKING:
    from django.http import QueryDict

    from sparkout.core.faults.tables import Tables

MEANT = {"y": 1.0, "n": 0.0, "u": None}
"""Yes, no, cannot tell."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person has answered, and of which unit; `address` is the same as a query, made in one way only."""

    given: tuple[tuple[str, str], ...] = ()
    unit: int | None = None

    @property
    def address(self) -> str:
        """Return the query, with its question mark; alike for alike answers."""
        pairs = [("a", f"{name}.{mark}") for name, mark in self.given]
        if self.unit is not None:
            pairs.append(("unit", str(self.unit)))
        return f"?{urlencode(pairs)}" if pairs else "?"

    @property
    def answers(self) -> tuple[Answer, ...]:
        """Return them as fault finding takes them."""
        return tuple(Answer(name, MEANT[mark]) for name, mark in self.given)

    def then(self, name: str, mark: str) -> Asked:
        """Return the same with one more answer, or another to the same finding."""
        kept = tuple(pair for pair in self.given if pair[0] != name)
        return Asked((*kept, (name, mark)), self.unit)

    def without(self, name: str) -> Asked:
        """Return the same without an answer."""
        return Asked(tuple(pair for pair in self.given if pair[0] != name), self.unit)


def asked_in(query: QueryDict, tables: Tables) -> Asked:
    """Return the answers of an address; what is not in the tables, or is no answer, is left out."""
    known = {finding.id for finding in tables.findings}
    unit = str(query.get("unit") or "")
    asked = Asked(unit=int(unit) if unit.isascii() and unit.isdecimal() and len(unit) < 10 else None)
    for text in query.getlist("a")[:200]:
        name, _, mark = text.rpartition(".")
        if name in known and mark in MEANT:
            asked = asked.then(name, mark)
    return asked
