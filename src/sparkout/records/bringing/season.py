"""The season's sheet and its what-ifs as they travel in an export: each whole, as it was typed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.interchange.values import told_by
from sparkout.records.bringing.outcome import ADDS, CHANGES, SAME, Outcome, Touched, outcome
from sparkout.records.operations.season import begin_what_if, set_sheet
from sparkout.records.season import kept_sheet
from sparkout.season.sheet import as_tables, sheet_of

if TYPE_CHECKING:
    from sparkout.interchange.drafts import Draft
    from sparkout.records.models import Person

PARTS = range(1, 17)
"""A cell of a workbook holds a part of a sheet."""


class SeasonSheets:
    """Rows that hold a whole season sheet."""

    def __init__(self, actor: Person) -> None:
        self.actor = actor

    def plan(self, sheet: str, draft: Draft) -> Outcome:
        """Return what the draft does."""
        what_if = str(draft.entries.get("what_if") or "")
        label: str = AsTyped(what_if) if what_if else phrase("the season's sheet")
        try:
            tables = as_tables(sheet_of(_tables("".join(draft.entries.get(f"sheet.{n}") or "" for n in PARTS))))
        except Refusal as refusal:
            return outcome(sheet, draft, ADDS, label).refused(told_by(refusal))
        kept = kept_sheet(what_if)
        if kept is not None and kept.tables == tables:
            return outcome(sheet, draft, SAME, label)
        why = "" if kept is None else _differs(kept.tables, tables)

        def act() -> list[Touched]:
            if kept is None and what_if:
                begin_what_if(actor=self.actor, name=what_if)
            made = set_sheet(actor=self.actor, tables=tables, what_if=what_if)
            return [Touched(made, None if kept is None else kept.tables, tables)]

        return outcome(sheet, draft, ADDS if kept is None else CHANGES, label, why, act)

    def changes_hold(self, entries: dict[str, Any]) -> None:
        """Nothing is remembered of rows before: each is looked up."""


def _tables(text: str) -> dict[str, Any]:
    try:
        told = json.loads(text)
    except ValueError:
        told = None
    if not isinstance(told, dict):
        raise Refusal(phrase("this is not a whole season sheet"))
    return told


def _differs(was: dict[str, Any], now: dict[str, Any]) -> str:
    parts = [name for name in {**was, **now} if was.get(name) != now.get(name)]
    return phrase("other than on file: {parts}", parts=joined(", ", map(AsTyped, parts)))
