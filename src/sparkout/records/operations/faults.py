"""Keeping what was found of a fault with the unit: one line of its history."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.records.checked import refuse
from sparkout.records.operations.doing import asking, operation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.records.models import HistoryLine, Person, Unit
    from sparkout.records.operations.doing import Key

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
