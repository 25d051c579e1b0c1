"""What a row does, or why it does nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.interchange.drafts import Draft, NotRead
from sparkout.units import UnitProblem, parse
from sparkout.visit.asked import Depends, Quantity
from sparkout.visit.words import Where

if TYPE_CHECKING:
    from django.db.models import Model

    from sparkout.interchange.fields import Field, Kind

ADDS, SAME, CHANGES, REFUSED, LEFT = "adds", "same", "changes", "refused", "left"
"""Left: it would change a record, and changes were not wanted."""
WHATS = (ADDS, SAME, CHANGES, REFUSED, LEFT)


@dataclass(frozen=True, slots=True)
class Touched:
    """A record that a row made or changed."""

    record: Model
    before: Any = None
    after: Any = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one row (or one column of it) does; `act` does it and returns the records touched."""

    sheet: str
    row: int
    column: str
    what: str
    label: str
    why: str = ""
    act: Callable[[], list[Touched]] | None = field(default=None, compare=False, repr=False)

    def refused(self, why: str) -> Outcome:
        """Return it as refused."""
        return replace(self, what=REFUSED, why=why, act=None)


def outcome(sheet: str, draft: Draft | NotRead, what: str, label: str, why: str = "", act: Any = None) -> Outcome:
    """Return the outcome of a draft."""
    return Outcome(sheet, draft.row, draft.column, what, label, why, act)


def changed(kind: Kind, was: dict[str, Any], entries: dict[str, Any]) -> dict[str, Any]:
    """Return the entries that say something else than what stands: quantities by their size, not their spelling.

    Examples
    --------
    >>> from sparkout.interchange.targets import KINDS
    >>> changed(KINDS["reel type"], {"diameter": "5 in"}, {"diameter": "127 mm", "blades": 11})
    {'blades': 11}
    """
    return {key: value for key, value in entries.items() if not same(kind.by_key[key], was.get(key), value)}


def same(entry: Field, was: Any, value: Any) -> bool:
    """Return whether two entries of a field mean the same."""
    if was == value or str(was) == str(value):
        return True
    if was is None or not isinstance(entry.asked, Quantity | Depends | Where):
        return False
    for kind, unit in _kinds(entry):
        try:
            a, b = parse(was, kind, unit), parse(value, kind, unit)
        except (UnitProblem, TypeError):
            continue
        return abs(a - b) <= 1e-9 * max(abs(a), abs(b))
    return False


def _kinds(entry: Field) -> list[tuple[str, str]]:
    if isinstance(entry.asked, Depends):
        return [("length", "mm"), ("angle", "deg"), ("force", "N"), ("number", "")]
    return [(entry.unit_kind, entry.unit)]


def told_changes(kind: Kind, was: dict[str, Any], now: dict[str, Any]) -> str:
    """Return changes in words: '{field} from {was} to {now}'."""
    return joined(
        "; ",
        [
            phrase(
                "{field} from {was} to {now}",
                field=phrase(kind.by_key[key].words),
                was=_shown(was.get(key)),
                now=_shown(value),
            )
            for key, value in now.items()
        ],
    )


def _shown(value: Any) -> str:
    match value:
        case None | "":
            return phrase("nothing")
        case True:
            return phrase("yes")
        case False:
            return phrase("no")
        case _:
            return AsTyped(str(value))
