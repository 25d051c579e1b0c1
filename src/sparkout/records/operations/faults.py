"""Keeping what was found of a fault with the unit: one line of its history."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from sparkout.core.faults.reading import overlaid_tables, usual_tables
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import FaultTable
from sparkout.records.operations.doing import asking, now, operation
from sparkout.visit.words import Text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.core.faults.tables import Tables
    from sparkout.records.models import HistoryLine, Person, Unit
    from sparkout.records.operations.doing import Key

LONGEST_TABLE = 400_000
TABLE_NAME = Text(phrase("what the table is called"), "our workshop's own", 200, 1)
MEANINGS = {"y": "yes", "n": "no", "u": "cannot tell"}


@operation
def keep_ranking(
    *, actor: Person, unit: Unit, answers: Mapping[str, str], causes: Mapping[str, float], key: Key = None
) -> HistoryLine | None:
    """Keep what was answered and which causes led, in the unit's history; None when the same key kept it before.

    `answers`: finding to y, n or u, as in the page's address. `causes`: cause to its chance then.

    Raises
    ------
    VisitProblems
        When nothing was answered, or an answer is none of the three.
    """
    if not answers:
        raise refuse("answers", phrase("nothing was answered, so there is nothing to keep"))
    for name, mark in answers.items():
        if mark not in MEANINGS:
            raise refuse("answers", phrase("{name} is answered by y, n or u", name=name), value=mark)
    ask = asking("keep_ranking", actor, key, str(unit), unit=unit, answers=dict(answers))
    if ask.was_done():
        return None
    told = [{"finding": name, "answer": MEANINGS[mark]} for name, mark in answers.items()]
    led = [{"cause": name, "chance": chance} for name, chance in causes.items()]
    return ask.note(unit, after={"answers": told, "causes": led})


@operation
def keep_fault_table(*, actor: Person, text: str, name: str, key: Key = None) -> FaultTable:
    """Lay the workshop's own rows of fault finding, TOML, over those that come with Sparkout; the one before ends.

    Raises
    ------
    Refusal
        With everything wrong in it, each with its line.
    """
    ask = asking("keep_fault_table", actor, key, name, text=text, name=name)
    if (done := ask.answered(FaultTable)) is not None:
        return done
    told = checked_value("name", TABLE_NAME, name)
    if not isinstance(text, str) or not text.strip():
        raise refuse("text", phrase("the table is empty"))
    if len(text) > LONGEST_TABLE:
        allowed = phrase("at most {most}", most=LONGEST_TABLE)
        raise refuse("text", phrase("the table has {count} characters", count=len(text)), allowed=allowed)
    overlaid_tables(text, told)
    FaultTable.objects.filter(ended_at=None).update(ended_at=now())
    made = FaultTable.objects.create(text=text, name=told, added_by=actor, added_at=now())
    ask.note(made, after={"name": told, "characters": len(text)})
    return made


@operation
def end_fault_table(*, actor: Person, table: FaultTable, key: Key = None) -> FaultTable:
    """Go back to the rows that come with Sparkout; the workshop's own stay on file.

    Raises
    ------
    Refusal
        When it holds no longer.
    """
    ask = asking("end_fault_table", actor, key, str(table), table=table)
    if (done := ask.answered(FaultTable)) is not None:
        return done
    held = FaultTable.objects.select_for_update().get(pk=table.pk)
    if held.ended_at is not None:
        raise refuse("table", phrase("{table} holds no longer", table=AsTyped(held.name)))
    held.ended_at = now()
    held.save()
    ask.note(held, before={"name": held.name})
    return held


def own_fault_table() -> FaultTable | None:
    """Return the workshop's own table that holds."""
    return FaultTable.objects.filter(ended_at=None).order_by("-pk").first()


def workshop_tables() -> Tables:
    """Return the tables of fault finding as this workshop has them: its own rows laid over the usual ones."""
    own = own_fault_table()
    return usual_tables() if own is None else _overlaid(own.text, own.name)


@lru_cache(4)
def _overlaid(text: str, name: str) -> Tables:
    """Return a table read once: it is asked for by every page of fault finding, and its text never changes."""
    return overlaid_tables(text, name)
